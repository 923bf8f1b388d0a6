"""What a layout consists of: sections (one layer of one winding each) and branches (sections in series)."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from ..design import FloatArray
from .boxes import ACROSS, UPRIGHT


@dataclass(frozen=True, kw_only=True)
class Section:
    """One layer of one winding, apart from where it lies.

    Attributes
    ----------
    winding : str, name of the winding
    step : int, build step, index from 0
    branch : int, ``Branch`` it belongs to, index; sections of one branch are in series
    layer : int, layer within its step, index from 0
    companion : int, place in the turn-by-turn group, index; 0 for the step's own winding
    group : int, number shared by all sections wound together in one layer, index
    block : bool, whether it is a section of uniform current density without separate wires
    leg : int, leg it lies on, count from 1; 2 only on a U core, where x runs from the surface of that leg
    chamber : int or None, chamber, count from 1; None on an undivided bobbin
    shield : bool, whether it is a shield: one turn without load current
    descending : bool
        Whether its turns run from the far end (the upper flange; in flat builds the outer wall) to the near
        end.
    scramble : bool, whether it is wound at random
    from_angle : float, angle at which it begins on a ring, rad
    sector : float or None, angle that it covers on a ring, rad; None: all round
    """

    winding: str
    step: int
    branch: int
    layer: int
    companion: int
    group: int
    block: bool
    leg: int = 1
    chamber: int | None = None
    shield: bool = False
    descending: bool = False
    scramble: bool = False
    from_angle: float = 0.0
    sector: float | None = None


@dataclass(frozen=True)
class Branch:
    """All layers of one winding in one build step, in series.

    Attributes
    ----------
    winding : str, name of the winding
    step : int, build step, index from 0
    ordinal : int, place among the branches of its winding, index from 0
    """

    winding: str
    step: int
    ordinal: int


@dataclass(frozen=True, kw_only=True)
class Layout:
    """The layers as laid: n sections, B builds, S build steps.

    Attributes
    ----------
    sections : tuple of Section, the n sections
    branches : tuple of Branch, the branches
    extent : (B, n, 4) array, x0, x1, y0, y1 over the insulation, m; on a toroid y is 0
    copper : (B, n, 4) array
        The same for the block that carries current, m: as thick as the copper; as broad as the layer, or from
        the edge of the first track to that of the last.
    turns : (B, n) array, of each section, count
    turn_length : (B, n) array, mean length of a turn, at the mean x of the section, m
    top : (B,) array, where the finished build ends, m: from the leg; in flat builds above the lower yoke
    fill : (B,) array
        Filled part of the window's width (flat builds: of the height between the flanges), dimensionless; on
        a U core with both legs together.
    step_tops : (B, S) array
        Height of the build at the place of each step once it has gone on, m, before a build that is too high
        is pressed into the window.
    flat : bool, whether layers lie flat (direction "up"): they stack along y and run across x
    layers : (B, n) array or None
        Where sections are packs (``packs``), layers in each, count; None where each section is one layer.
    sheet : (B, n) array or None, where sections are packs, thickness of the copper of one layer, m
    """

    sections: tuple[Section, ...]
    branches: tuple[Branch, ...]
    extent: FloatArray
    copper: FloatArray
    turns: FloatArray
    turn_length: FloatArray
    top: FloatArray
    fill: FloatArray
    step_tops: FloatArray
    flat: bool = False
    layers: FloatArray | None = None
    sheet: FloatArray | None = None

    def stacked(self, boxes: FloatArray) -> FloatArray:
        """Where boxes begin and end on the axis along which the build stacks.

        Parameters
        ----------
        boxes : (B, n, 4) array, ``extent`` or ``copper``, m

        Returns
        -------
        (B, n, 2) array, beginning and end, m
        """
        return boxes[..., UPRIGHT] if self.flat else boxes[..., ACROSS]

    def along(self, boxes: FloatArray) -> FloatArray:
        """Where boxes begin and end along the layer.

        Parameters
        ----------
        boxes : (B, n, 4) array, ``extent`` or ``copper``, m

        Returns
        -------
        (B, n, 2) array, beginning and end, m
        """
        return boxes[..., ACROSS] if self.flat else boxes[..., UPRIGHT]

    @cached_property
    def groups(self) -> tuple[tuple[int, ...], ...]:
        """Sections wound together in one layer, by their indices."""
        found: dict[int, list[int]] = {}
        for index, section in enumerate(self.sections):
            found.setdefault(section.group, []).append(index)
        return tuple(map(tuple, found.values()))

    def of_step(self, step: int) -> list[int]:
        """The sections of a build step (index): indices in order."""
        return [index for index, section in enumerate(self.sections) if section.step == step]

    def run_of(self, step: int) -> tuple[float, float]:
        """Where the layers of a build step (index) begin and end along the layer in the first build, m."""
        runs = self.along(self.extent)[0, self.of_step(step)]
        return float(runs[:, 0].min()), float(runs[:, 1].max())
