"""What a layout consists of: sections (one layer of one winding each) and branches (sections in series)."""

from __future__ import annotations

from dataclasses import dataclass

from ..design import FloatArray
from .boxes import ACROSS, UPRIGHT


@dataclass(frozen=True, kw_only=True)
class Section:
    """What one layer of one winding is, apart from where it lies.

    winding : its name. step : its build step (from 0). branch : index of its ``Branch``: sections of one
    branch are in series. layer : from 0 in its step. companion : place in the turn-by-turn group (0 for the
    step's own winding). group : the same for all sections wound together in one layer. block : a section of
    uniform current density without separate wires.
    leg : 1, or 2 on a U core, whose x is from that leg's surface. chamber : from 1, or None. shield : a
    screen, one turn without load current. descending : its turns run from the far end (the upper flange; in
    flat builds the outer wall) to the near one. scramble : wound without order.
    from_angle, sector : where it lies on a ring (rad); None: all round.
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
    """All layers of one winding in one build step, in series. ``ordinal``: from 0 among its winding's own."""

    winding: str
    step: int
    ordinal: int


@dataclass(frozen=True, kw_only=True)
class Layout:
    """The layers as laid: n sections, B builds.

    extent : (B, n, 4) x0, x1, y0, y1 over the insulation (m); on a toroid y is 0.
    copper : (B, n, 4) the same of the current-carrying block: as thick as the copper; as broad as the layer,
    of tracks from the first one's edge to the last one's.
    turns : (B, n). turn_length : (B, n) mean length of one turn (m), that at the section's mean x.
    top : (B,) where the finished build ends (m): from the leg; of flat builds above the lower yoke.
    fill : (B,) the part of the window's width, of flat builds of the height between the flanges, that is
    filled; on a U core by both legs together.
    step_tops : (B, S) where the build ends at the place of each of the S steps once that has gone on (m),
    before a build that is too high is pressed into the window.
    flat : layers lie flat (direction "up"): they stack along y and run across x.
    layers, sheet : (B, n) where sections are packs (``packs``): how many layers each holds, and the thickness
    of one layer's copper (m); None where each section is a layer.
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
        """(B, n, 2): where ``boxes`` (``extent`` or ``copper``) begin and end on the axis along which the
        build stacks (m)."""
        return boxes[..., UPRIGHT] if self.flat else boxes[..., ACROSS]

    def along(self, boxes: FloatArray) -> FloatArray:
        """(B, n, 2): where ``boxes`` begin and end along the layer (m)."""
        return boxes[..., ACROSS] if self.flat else boxes[..., UPRIGHT]
