"""A design as the shop builds it: its steps in winding order, and the height that each should reach.

Heights are those of the layout (``step_tops``) after every step. Their range comes from random builds with
the design's own tolerances (``tolerances``) and the layers as designed, without errors of a model. Wire
lengths are those of the layout, Σ turns × mean turn, plus the leads; masses m = γ A l use the densities of
IEC 60028 and IEC 60889 (from memory) for bare metal.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ..copper import conductor_area
from ..design import Design, FloatArray, Step, TapeStep, WindStep, first_build
from ..production import (
    BUILDS,
    FEWEST,
    HIGH,
    LOW,
    as_designed,
    height_cautions,
    layer_counts,
    normal_draws,
    parameters,
    random_builds,
    tipping_cautions,
    tippings,
)
from ..winding import Face, Layout, check_fit, insulated_faces, lay_out, place_of, winding_space
from .materials import DENSITY


@dataclass(frozen=True)
class Interval:
    """A value of the nominal build, and where 95 % of production lie.

    Attributes
    ----------
    nominal, low, high : float, nominal build, lower end and upper end, SI
    """

    nominal: float
    low: float
    high: float


@dataclass(frozen=True)
class StepSection:
    """The turns of one winding in one build step.

    Attributes
    ----------
    winding : str, name of the winding
    ordinal : int, section of the winding, count from 1
    count : int, count
    layers : tuple of int, count
    length : float, of one wire without leads, m
    """

    winding: str
    ordinal: int
    count: int
    layers: tuple[int, ...]
    length: float

    @property
    def turns(self) -> int:
        """Turns of this section, count."""
        return sum(self.layers)


@dataclass(frozen=True, kw_only=True)
class Operation:
    """One build step.

    Attributes
    ----------
    number : int, build step, count from 1
    step : Step, the step
    sections : tuple of StepSection
        For a winding step its own winding first, then those wound together with it; else empty.
    along : tuple[float, float] or None
        From where to where its layers run, m: direction out: above the lower yoke; up: from the surface of
        the leg. None on a ring and for tape and spacers.
    tight : bool, whether it is wound tight rather than spread over the breadth
    height : Interval
        Height of the build above the bobbin at the place of the step, once it has gone on, m. Measured from
        the bobbin's wall (out), from the lower flange of its chamber (up), or from the coating (ring).
    remaining : float or None
        Room left for the build at that place, m; for a ring the diameter of the hole; None where both legs of
        a U core are wound.
    tape_length : float or None, length of tape around the leg in a tape step, m; else None
    """

    number: int
    step: Step
    sections: tuple[StepSection, ...]
    along: tuple[float, float] | None
    tight: bool
    height: Interval
    remaining: float | None
    tape_length: float | None


@dataclass(frozen=True)
class WireNeed:
    """What one winding takes of its wire.

    Attributes
    ----------
    winding : str, name of the winding
    length : float, of one wire with its leads, m
    pieces : int, wires wound in hand, count
    mass : float, of the bare metal of all of them, kg
    """

    winding: str
    length: float
    pieces: int
    mass: float


@dataclass(frozen=True, kw_only=True)
class BuildSheet:
    """The steps of a design in winding order.

    Attributes
    ----------
    design : Design of the sheet
    layout : Layout, its layout
    operations : tuple of Operation, the steps
    wires : tuple of WireNeed, wire for each winding
    faces : tuple of Face, faces between different circuits
    cautions : tuple of str, sentences about builds that differ in kind
    """

    design: Design
    layout: Layout
    operations: tuple[Operation, ...]
    wires: tuple[WireNeed, ...]
    faces: tuple[Face, ...]
    cautions: tuple[str, ...]


def build_sheet(design: Design, *, builds: int = BUILDS, seed: int = 1) -> BuildSheet:
    """The build sheet of a design.

    Parameters
    ----------
    design : Design of one build
    builds : int, random builds behind the ranges, count
    seed : int, random builds are drawn from this seed

    Raises
    ------
    BuildError
        Where the build does not fit.
    """
    check_fit(design)
    layout = lay_out(design)
    chosen = tuple(parameter for parameter in parameters(design) if parameter.origin == "build")
    z = normal_draws([item.name for item in chosen], builds, seed)
    some = random_builds(design, chosen, z)
    varied = lay_out(some)
    heights = _heights(design, layout)[0]
    spread = np.broadcast_to(_heights(some, varied), (builds, len(heights)))
    counts = layer_counts(some, builds)
    among = as_designed(design, counts)
    ranges = np.quantile(spread[among] if np.sum(among) >= FEWEST else spread, [LOW, HIGH], axis=0)
    operations = tuple(
        _operation(design, layout, number, Interval(float(heights[number]), *map(float, ranges[:, number])))
        for number in range(len(design.build.steps))
    )
    cautions = [*tipping_cautions(tippings(design, counts)), *height_cautions(design)]
    wires = tuple(_wire_need(design, layout, winding.name) for winding in design.windings)
    return BuildSheet(
        design=design,
        layout=layout,
        operations=operations,
        wires=wires,
        faces=insulated_faces(design),
        cautions=tuple(cautions),
    )


def _heights(design: Design, layout: Layout) -> FloatArray:
    """(B, S) height (m) of the build above the bobbin at the place of every step, once that step has gone
    on."""
    space = winding_space(design)
    floors = np.stack([space.bay(place_of(step)).floor for step in design.build.steps], axis=-1)
    return np.asarray(layout.step_tops - floors)


def _operation(design: Design, layout: Layout, number: int, height: Interval) -> Operation:
    step = design.build.steps[number]
    space = winding_space(design)
    bay = space.bay(place_of(step))
    along = layout.run_of(number) if layout.of_step(number) and not space.ring else None
    top = float(layout.step_tops[0, number])
    remaining = float(bay.ceiling[0]) - top if space.legs == 1 or space.flat else None
    length = None
    if isinstance(step, TapeStep) and not space.flat and not space.ring:
        thickness = first_build(step.height)
        around = design.core.dimensions.perimeter + math.tau * (top - thickness / 2)
        length = around * int(np.asarray(step.wraps).flat[0])
    return Operation(
        number=number + 1,
        step=step,
        sections=_sections(layout, number, step),
        along=along,
        tight=isinstance(step, WindStep) and step.close,
        height=height,
        remaining=2 * remaining if remaining is not None and space.ring else remaining,
        tape_length=length,
    )


def _sections(layout: Layout, number: int, step: Step) -> tuple[StepSection, ...]:
    if not isinstance(step, WindStep):
        return ()
    sections = []
    for name in step.windings:
        branches = [branch for branch in layout.branches if branch.winding == name]
        here = [
            index
            for index, section in enumerate(layout.sections)
            if section.step == number and section.winding == name and layout.turns[0, index] > 0
        ]
        sections.append(
            StepSection(
                name,
                1 + next(branch.ordinal for branch in branches if branch.step == number),
                len(branches),
                tuple(round(float(layout.turns[0, index])) for index in here),
                float(sum(layout.turns[0, index] * layout.turn_length[0, index] for index in here)),
            )
        )
    return tuple(sections)


def _wire_need(design: Design, layout: Layout, name: str) -> WireNeed:
    winding = design.winding(name)
    wound = sum(
        float(layout.turns[0, index] * layout.turn_length[0, index])
        for index, section in enumerate(layout.sections)
        if section.winding == name
    )
    length = wound + winding.lead_length
    area = first_build(conductor_area(winding.wire) * winding.wire.lay_factor)
    return WireNeed(name, length, winding.wire.in_hand, DENSITY[str(winding.metal)] * area * length)
