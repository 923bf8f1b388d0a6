"""What separates every two circuits in a build, at the place where the separation is least.

Two conductors of different circuits are separated by what lies between them: tape, spacers and shields
between two layers, the bobbin's partitions between two chambers, covers and air between two legs, a bare
stretch of layer between two that lie side by side, and the margins around the ends of their layers. For every
pair of windings (or shields) each of these is taken where it is least,

    thickness = min over all their sections of Σ tape + Σ spacer + Σ partition,
    creepage  = min over their faces and both ends of (margin of one + margin of the other),

so that two builds can be compared: a smaller figure means less separation somewhere. Windings in between add
nothing of their own. Nothing is judged here: how much is enough follows from the applicable safety standard
and the decision of a qualified person. A wire's own insulation belongs to its winding and is not counted.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from ..design import Design, ShieldStep, SpacerStep, Step, TapeStep, WindStep, first_build
from ..notation import format_quantity
from .facing_windings import FaceKind, circuit_of, laid_between, laid_over, lies_between, side_by_side
from .layering import ROUNDING
from .layout import Layout, lay_out
from .space import WindingSpace, place_of, winding_space

Pair = tuple[str, str]
"""Names of two windings or shields, in alphabetical order."""


ShieldKind = tuple[str, float, float]
"""To what a shield is tied, its thickness and width (m): shields of one kind can stand for each other."""


@dataclass(frozen=True, kw_only=True)
class Separation:
    """What separates two windings or shields of different circuits.

    Attributes
    ----------
    kind : FaceKind, of the place at which they are nearest, as ``Face.kind``
    steps : tuple of TapeStep or SpacerStep, tape and spacers at that place
    partitions : float, thickness of the bobbin's partitions there, m
    clearance : float, bare layer between two that lie side by side, m
    wraps : int or None, of tape where they are stacked with the fewest, count; None: nowhere stacked
    shields : frozenset of ShieldKind
        Kinds of shields that lie between them everywhere; none where they are not stacked everywhere.
    creepage : float, distance around the ends of their layers, m; infinite where no two faces of them meet
    """

    kind: FaceKind
    steps: tuple[TapeStep | SpacerStep, ...] = ()
    partitions: float = 0.0
    clearance: float = 0.0
    wraps: int | None = None
    shields: frozenset[ShieldKind] = frozenset()
    creepage: float = math.inf

    @property
    def thickness(self) -> float:
        """Thickness of everything between them where it is least, m."""
        return thickness_of(self.steps) + self.partitions

    @property
    def walled(self) -> bool:
        """Whether a wall separates them everywhere: each has chambers, or a leg, of its own."""
        return self.kind in ("chambers", "legs") and self.wraps is None

    @property
    def shielded(self) -> bool:
        """Whether a shield lies between them wherever they are."""
        return bool(self.shields)

    @property
    def apart(self) -> float:
        """Thickness plus the bare layer between two that lie side by side, m."""
        return self.thickness + self.clearance


def thickness_of(steps: Sequence[Step]) -> float:
    """Thickness of the tape and spacers among build steps, m."""
    total = 0.0
    for step in steps:
        if isinstance(step, TapeStep):
            total += first_build(step.thickness) * wraps_of([step])
        elif isinstance(step, SpacerStep):
            total += first_build(step.thickness)
    return total


def wraps_of(steps: Sequence[Step]) -> int:
    """Number of wraps of tape among build steps, count."""
    return sum(int(np.asarray(step.wraps).flat[0]) for step in steps if isinstance(step, TapeStep))


def shield_kind(step: ShieldStep) -> ShieldKind:
    """The kind of a shield: to what it is tied, its thickness and its width, m."""
    return step.tied, first_build(step.thickness), first_build(step.width)


def pair_of(first: str, second: str) -> Pair:
    """The key of two names.

    Parameters
    ----------
    first : str, one name
    second : str, the other name
    """
    return (first, second) if first <= second else (second, first)


def merged(steps: Sequence[TapeStep | SpacerStep]) -> tuple[TapeStep | SpacerStep, ...]:
    """The same insulation, with neighbouring tapes of one kind joined into one step and no place given.

    Steps without wraps are left out.

    Parameters
    ----------
    steps : sequence of TapeStep or SpacerStep, insulation in winding order

    Returns
    -------
    tuple of TapeStep or SpacerStep, joined insulation; chamber None, leg 1
    """
    result: list[TapeStep | SpacerStep] = []
    for step in steps:
        step = replace(step, chamber=None, leg=1)
        last = result[-1] if result else None
        if isinstance(step, TapeStep) and wraps_of([step]) == 0:
            continue
        if isinstance(step, TapeStep) and isinstance(last, TapeStep) and _same_tape(step, last):
            result[-1] = replace(last, wraps=wraps_of([last, step]))
        else:
            result.append(step)
    return tuple(result)


def _same_tape(first: TapeStep, second: TapeStep) -> bool:
    return (
        first_build(first.thickness) == first_build(second.thickness)
        and first.permittivity == second.permittivity
    )


def separations(design: Design) -> dict[Pair, Separation]:
    """What separates every two windings or shields of different circuits, in the nominal build.

    Sectors of a ring have only air between them. A build that can be laid out raises nothing.

    Parameters
    ----------
    design : Design, of many builds the first counts
    """
    steps = design.build.steps
    conducting = [k for k, step in enumerate(steps) if step.conducts]
    layout, space = lay_out(design), winding_space(design)
    circuits = {name: circuit_of(design, name) for k in conducting for name in steps[k].names}
    by_pair: dict[Pair, list[tuple[Separation, bool]]] = {}

    def note(first_name: str, second_name: str, what: Separation, direct: bool) -> None:
        if circuits[first_name] != circuits[second_name]:
            by_pair.setdefault(pair_of(first_name, second_name), []).append((what, direct))

    for number in conducting:
        for first_name, second_name in combinations(steps[number].names, 2):
            note(first_name, second_name, Separation(kind="together", wraps=0), True)
    for first, second in combinations(conducting, 2):
        what, direct = _between(design, layout, space, first, second)
        for first_name in steps[first].names:
            for second_name in steps[second].names:
                note(first_name, second_name, what, direct)
    return {pair: _least(places) for pair, places in by_pair.items()}


def _least(places: Sequence[tuple[Separation, bool]]) -> Separation:
    """The least of each figure over all places where two names meet."""
    nearest = min((what for what, _ in places), key=lambda what: what.apart)
    wraps = [what.wraps for what, _ in places if what.wraps is not None]
    faces = [what for what, direct in places if direct and what.creepage < math.inf]
    around = faces or [what for what, _ in places]
    return replace(
        nearest,
        wraps=min(wraps, default=None),
        shields=frozenset.intersection(*(what.shields for what, _ in places)),
        creepage=min(what.creepage for what in around),
    )


def _between(
    design: Design, layout: Layout, space: WindingSpace, first: int, second: int
) -> tuple[Separation, bool]:
    """What lies between two steps, and whether no conductor lies between them."""
    steps = design.build.steps
    first_place, second_place = place_of(steps[first]), place_of(steps[second])
    if first_place.leg != second_place.leg:
        covers = [step for number in (first, second) for step in laid_over(design, number)]
        return Separation(kind="legs", steps=merged(covers)), False
    if (
        first_place.chamber is not None
        and second_place.chamber is not None
        and first_place.chamber != second_place.chamber
    ):
        walls = abs(first_place.chamber - second_place.chamber) * first_build(design.bobbin.partition)
        return Separation(
            kind="chambers", partitions=walls, creepage=_over_partitions(design, layout, first, second, walls)
        ), False
    if not first_place.overlaps(second_place):
        return Separation(kind="sectors"), False
    if side_by_side(design, first, second):
        return Separation(kind="beside", clearance=_gap_along(layout, first, second)), False
    laid = laid_between(design, first, second)
    shields: set[ShieldKind] = set()
    direct = True
    for number in range(first + 1, second):
        step = steps[number]
        if not step.conducts or not lies_between(step, first_place, second_place):
            continue
        direct = direct and (side_by_side(design, first, number) or side_by_side(design, number, second))
        if isinstance(step, ShieldStep):
            shields.add(shield_kind(step))
    ends = _ends(design, space, first), _ends(design, space, second)
    around = min(a + b for a, b in zip(*ends, strict=True))
    return Separation(
        kind="stacked", steps=merged(laid), wraps=wraps_of(laid), shields=frozenset(shields), creepage=around
    ), direct


def _over_partitions(design: Design, layout: Layout, first: int, second: int, walls: float) -> float:
    """Creepage (m) from a step in one chamber to a step in another: up the partition from the outermost layer
    of the one, over its top, and down to that of the other; infinite where the file gives no height."""
    if design.bobbin.partition_height is None:
        return math.inf
    top = first_build(design.bobbin.wall) + first_build(design.bobbin.partition_height)
    heights = layout.stacked(layout.extent)[0, :, 1]
    path = walls
    for number in (first, second):
        path += max(top - float(heights[layout.of_step(number)].max()), 0.0)
    return path


def _gap_along(layout: Layout, first: int, second: int) -> float:
    """Bare layer (m) between two steps that lie side by side."""
    (low, high), (other_low, other_high) = layout.run_of(first), layout.run_of(second)
    return max(other_low - high, low - other_high, 0.0)


def ends_of(design: Design, step: Step, room: float) -> tuple[float, float]:
    """Bare layer at the lower and the upper end of a step's layers.

    Parameters
    ----------
    design : Design of one or B builds
    step : Step, winding or shield step
    room : float, breadth of the room for the layer, m

    Returns
    -------
    tuple of two float, bare layer at the lower end and at the upper end, m
    """
    if isinstance(step, ShieldStep):
        bare = max(room - first_build(step.width), 0.0) / 2
        return bare, bare
    assert isinstance(step, WindStep)
    margin = first_build(design.build.margin if step.margin is None else step.margin)
    low = margin if step.from_end is None else first_build(step.from_end)
    high = margin if step.breadth is None else max(room - low - first_build(step.breadth), 0.0)
    return low, high


def _ends(design: Design, space: WindingSpace, number: int) -> tuple[float, float]:
    if design.core.dimensions.ring:
        return math.inf, math.inf
    step = design.build.steps[number]
    return ends_of(design, step, space.bay(place_of(step)).breadth)


def shortfalls(before: Separation, after: Separation) -> tuple[str, ...]:
    """The respects in which one separation is less than another.

    Parameters
    ----------
    before : Separation, separation to compare with
    after : Separation that may be less

    Returns
    -------
    tuple of str
        Any of "thickness", "wraps", "wall" (no longer in chambers, or on legs, of their own), "shield" and
        "creepage"; empty where nothing is less.
    """
    short_of = []
    if before.walled and (not after.walled or (before.kind == "legs") != (after.kind == "legs")):
        short_of.append("wall")
    if after.apart < before.apart - ROUNDING:
        short_of.append("thickness")
    if before.wraps is not None and after.wraps is not None and after.wraps < before.wraps:
        short_of.append("wraps")
    if before.shields - after.shields:
        short_of.append("shield")
    if after.creepage < before.creepage - ROUNDING and before.creepage < math.inf:
        short_of.append("creepage")
    return tuple(short_of)


def separation_text(what: Separation) -> str:
    """What separates two circuits, in words.

    For example "3 wraps of tape 60.0 µm", "partition 1.50 mm" or "nothing but the wires' own insulation".

    Parameters
    ----------
    what : Separation, separation to describe
    """
    told = []
    for step in what.steps:
        each = format_quantity(first_build(step.thickness), "m", 3)
        if isinstance(step, TapeStep):
            wraps = wraps_of([step])
            told.append(f"{wraps} {'wrap' if wraps == 1 else 'wraps'} of tape {each}")
        else:
            told.append(f"a spacer of {each}")
    if what.partitions > 0:
        told.append(f"partition {format_quantity(what.partitions, 'm', 3)}")
    if what.clearance > 0:
        told.append(f"{format_quantity(what.clearance, 'm', 3)} of bare layer")
    if what.shields:
        told.append("a shield" if len(what.shields) == 1 else f"{len(what.shields)} shields")
    if what.kind == "legs":
        told.append("the window, on legs of their own")
    return " and ".join(told) or "nothing but the wires' own insulation"
