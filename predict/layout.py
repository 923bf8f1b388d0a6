"""From build steps to layers: which turns lie where in the window.

Coordinates: x from the surface of the leg outwards (on a toroid: from the core's surface, on all faces),
y along the leg from the lower yoke. All arrays have a leading axis of builds (length 1 for a single
build). A layer that some builds do not have (they tip into fewer layers) has zero turns there.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from .design import (
    Design,
    Dimensions,
    EDimensions,
    FloatArray,
    PotDimensions,
    RoundDimensions,
    TapeStep,
    ToroidDimensions,
    UDimensions,
    WindStep,
    builds,
)
from .errors import BuildError, Fault
from .layering import ROUNDING, Lane, extent_along, lane, share_turns


@dataclass(frozen=True)
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


@dataclass(frozen=True)
class Layout:
    """The layers as laid: n sections, B builds.

    extent : (B, n, 4) x0, x1, y0, y1 over the insulation (m); on a toroid y is 0.
    copper : (B, n, 4) the same of the current-carrying block.
    turns : (B, n). turn_length : (B, n) mean length of one turn (m).
    top : (B,) height of the finished build (m). fill : (B,) top over the window's width.
    """

    sections: tuple[Section, ...]
    branches: tuple[Branch, ...]
    extent: FloatArray
    copper: FloatArray
    turns: FloatArray
    turn_length: FloatArray
    top: FloatArray
    fill: FloatArray


def window_of(dimensions: Dimensions) -> tuple[float, float]:
    """Width and height (m) of the winding window: leg surface to outer wall; of a toroid the hole's radius
    and infinity."""
    if isinstance(dimensions, ToroidDimensions):
        return dimensions.inner_diameter / 2, math.inf
    if isinstance(dimensions, EDimensions | UDimensions):
        return dimensions.window_width, dimensions.window_height
    return (dimensions.window_diameter - dimensions.leg_diameter) / 2, dimensions.window_height


def leg_perimeter(dimensions: Dimensions) -> float:
    """Length (m) of a turn lying on the bare leg (on a toroid: around the ring's section)."""
    if isinstance(dimensions, RoundDimensions | PotDimensions):
        return math.pi * dimensions.leg_diameter
    if isinstance(dimensions, ToroidDimensions):
        return 2 * dimensions.height + dimensions.outer_diameter - dimensions.inner_diameter
    corner = dimensions.leg_corner if isinstance(dimensions, EDimensions) else 0.0
    return 2 * (dimensions.leg_width + dimensions.leg_depth) - (8 - 2 * math.pi) * corner


@dataclass(frozen=True)
class _Stack:
    """The build so far: its top, and start height and end along the leg of the step before; (B,) each."""

    top: FloatArray
    start: FloatArray
    end_along: FloatArray


@dataclass(frozen=True)
class _Row:
    section: Section
    x0: FloatArray
    x1: FloatArray
    y0: FloatArray
    y1: FloatArray
    copper: FloatArray
    turns: FloatArray


def lay_out(design: Design, *, strict: bool = False) -> Layout:
    """The layers of ``design`` (all its builds).

    strict : raise BuildError when a build does not fit its window or a layer its breadth, saying by how much.
    Without it (spread, causes) layers tip into one more, and a build that is too high is pressed evenly into
    the window, as a shop would.
    """
    count = builds(design) or 1
    wall = np.asarray(design.bobbin.wall) * np.ones(count)
    stack = _Stack(wall, wall, np.zeros(count))
    rows: list[_Row] = []
    branches: list[Branch] = []
    faults: list[Fault] = []
    for number, step in enumerate(design.build.steps):
        if isinstance(step, WindStep):
            room = _lane_of(design, step, stack)
            if strict:
                faults += _breadth_faults(design, step, number, room)
            shares = _shares(step, number, room, faults if strict else None)
            new = _rows(design, step, number, room, shares, branches, len(rows))
            rows += new
            stack = _stacked(step, room, shares, new, stack)
        else:
            wraps = np.asarray(step.wraps) if isinstance(step, TapeStep) else 1
            stack = _Stack(stack.top + step.thickness * wraps, stack.top, stack.end_along)
    width, _ = window_of(design.core.dimensions)
    if strict:
        faults += _height_faults(design, stack.top)
    if faults:
        raise BuildError(faults)
    return _assembled(design, rows, branches, wall, stack.top, width)


def check_fit(design: Design) -> None:
    """Raise BuildError (all faults together) if the build does not fit window and breadth."""
    lay_out(design, strict=True)


def _lane_of(design: Design, step: WindStep, stack: _Stack) -> Lane:
    """The room of a step: where it may lie along the leg and on what height it begins."""
    whole = np.ones_like(stack.top)
    dimensions = design.core.dimensions
    wires = [design.winding(name).wire for name in (step.winding, *step.companions)]
    hole = dimensions.inner_diameter / 2 if isinstance(dimensions, ToroidDimensions) else None
    if hole is not None:
        low = high = np.zeros_like(whole)
    else:
        _, height = window_of(dimensions)
        margin = (design.build.margin if step.margin is None else step.margin) * whole
        bottom, ceiling = design.bobbin.flange * whole, (height - np.asarray(design.bobbin.flange)) * whole
        if step.from_end is not None:
            low = bottom + step.from_end
        else:
            low = stack.end_along if step.beside else bottom + margin
        high = low + step.breadth if step.breadth is not None else ceiling - margin
    return lane(
        step,
        wires,
        stack.start if step.beside else stack.top,
        low,
        high,
        allowance=design.build.allowance,
        interlayer=design.build.interlayer if step.interlayer is None else step.interlayer,
        hole_radius=hole,
    )


def _shares(step: WindStep, number: int, room: Lane, faults: list[Fault] | None) -> list[FloatArray]:
    """Turns of each layer; a fault (and all turns in one layer) if they do not fit and ``faults``
    collects."""
    turns = np.asarray(step.turns) * np.ones_like(room.base)
    shares = share_turns(room, turns, step.layers, tips=faults is None)
    if shares is not None:
        return shares
    if faults is not None and np.all(room.breadth >= 0):
        holds = int(np.min(room.capacity(0, turns)))
        layers = f" in {step.layers} layer{'s' if step.layers > 1 else ''}" if step.layers else ""
        asked = f"{int(np.max(turns))} turns{layers}"
        faults.append(
            Fault(
                _place(step, number),
                asked,
                f"{holds} turns in a layer of this breadth and wire",
                "It does not fit: more layers, a thinner wire, fewer wires in hand or fewer turns.",
            )
        )
    return [turns]


def _rows(
    design: Design,
    step: WindStep,
    number: int,
    room: Lane,
    shares: list[FloatArray],
    branches: list[Branch],
    laid: int,
) -> list[_Row]:
    """The sections of one step; appends its branches."""
    names = (step.winding, *step.companions)
    first = len(branches)
    for name in names:
        branches.append(Branch(name, number, sum(branch.winding == name for branch in branches)))
    style = step.style or design.build.style
    foil_width = design.winding(step.winding).wire.foil_width
    _, height = window_of(design.core.dimensions)
    result: list[_Row] = []
    for layer, share in enumerate(shares):
        inner = room.inner(layer)
        if room.hole_radius is None:
            low, high = extent_along(step, style, room, shares, layer, foil_width)
            beyond = np.maximum(high - height, 0.0) - np.maximum(-low, 0.0)
            low, high = np.maximum(low - beyond, 0.0), np.minimum(high - beyond, height)
        else:
            low = high = room.low
        group = laid + len(result)
        for companion, name in enumerate(names):
            section = Section(
                name,
                number,
                first + companion,
                layer,
                companion,
                group,
                room.block,
                descending=style == "back_and_forth" and layer % 2 == 1,
            )
            result.append(_Row(section, inner, inner + room.thickness, low, high, room.copper, share))
    return result


def _stacked(step: WindStep, room: Lane, shares: list[FloatArray], rows: list[_Row], stack: _Stack) -> _Stack:
    """The stack after a step; ``beside`` steps share a start height and leave the higher top."""
    layers = np.sum(np.stack([share > 0 for share in shares]), axis=0)
    end = np.max(np.stack([np.where(row.turns > 0, row.y1, room.low) for row in rows]), axis=0)
    top = room.top(layers)
    if step.beside:
        return _Stack(np.maximum(stack.top, top), stack.start, end)
    return _Stack(top, room.base, end)


def _assembled(
    design: Design, rows: list[_Row], branches: list[Branch], wall: FloatArray, top: FloatArray, width: float
) -> Layout:
    room = np.where(top > width, (0.999 * width - wall) / np.maximum(top - wall, 1e-12), 1.0)

    def column(values: list[FloatArray]) -> FloatArray:
        return np.stack([value * np.ones_like(top) for value in values], axis=-1)

    x0 = wall[:, None] + (column([row.x0 for row in rows]) - wall[:, None]) * room[:, None]
    x1 = wall[:, None] + (column([row.x1 for row in rows]) - wall[:, None]) * room[:, None]
    y0, y1 = column([row.y0 for row in rows]), column([row.y1 for row in rows])
    middle = (x0 + x1) / 2
    half = np.minimum(column([row.copper for row in rows]), x1 - x0) / 2
    scale = np.reshape(design.build.mean_turn_scale * np.ones_like(top), (-1, 1))
    return Layout(
        sections=tuple(row.section for row in rows),
        branches=tuple(branches),
        extent=np.stack([x0, x1, y0, y1], axis=-1),
        copper=np.stack([middle - half, middle + half, y0, y1], axis=-1),
        turns=column([row.turns for row in rows]),
        turn_length=(leg_perimeter(design.core.dimensions) + 2 * math.pi * middle) * scale,
        top=top,
        fill=top / width,
    )


def _place(step: WindStep, number: int) -> str:
    return f"step {number + 1} ({step.winding})"


def _height_faults(design: Design, top: FloatArray) -> list[Fault]:
    width, _ = window_of(design.core.dimensions)
    over = float(np.max(top)) - width
    if over <= ROUNDING * width:
        return []
    toroid = isinstance(design.core.dimensions, ToroidDimensions)
    return [
        Fault(
            "build",
            f"a build {np.max(top) * 1e3:.3f} mm high",
            f"at most {width * 1e3:.3f} mm, the window from "
            + ("the ring to the centre of its hole" if toroid else "the leg outwards"),
            f"It does not fit by {over * 1e3:.3f} mm: fewer or thinner layers, or another core.",
        )
    ]


def _breadth_faults(design: Design, step: WindStep, number: int, room: Lane) -> list[Fault]:
    """Faults of a step that leaves its flanges or whose single turn is wider than its breadth."""
    place, turn = _place(step, number), float(np.max(room.pitch * room.slack))
    if room.hole_radius is not None:
        if room.block or np.all(room.capacity(0, room.base) >= 1):
            return []
        return [Fault(place, f"a turn {turn * 1e3:.3f} mm broad", "a turn that goes through the hole")]
    faults = []
    _, height = window_of(design.core.dimensions)
    limit = float(np.min(height - np.asarray(design.bobbin.flange)))
    over = float(np.max(room.high)) - limit
    if over > ROUNDING * height:
        faults.append(
            Fault(
                place,
                f"layers that end {np.max(room.high) * 1e3:.3f} mm above the lower yoke",
                f"at most {limit * 1e3:.3f} mm, the upper flange",
                f"They do not fit by {over * 1e3:.3f} mm: a smaller breadth or from_end.",
            )
        )
    breadth = float(np.min(room.breadth))
    if breadth <= 0:
        found = f"a breadth of {breadth * 1e3:.3f} mm"
        faults.append(Fault(place, found, "a breadth above 0", "Margins or flanges leave no room."))
    elif not room.block and turn > breadth * (1 + ROUNDING):
        faults.append(
            Fault(
                place,
                f"a turn {turn * 1e3:.3f} mm broad",
                f"at most the breadth of {breadth * 1e3:.3f} mm",
                f"It does not fit by {(turn - breadth) * 1e3:.3f} mm: fewer wires in hand, a "
                "narrower foil or margin.",
            )
        )
    return faults
