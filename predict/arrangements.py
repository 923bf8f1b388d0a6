"""The interleavings of a design: which orders and divisions of its windings can be wound, each as a design.

An arrangement is a change like any other: the build's steps in another order, windings divided into other
sections, with the design's own insulation at every face (``arrangement_faces``). What cannot be wound (a
layer that does not fit its breadth, a build that is higher than the window) is left out and counted.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from .arrangement_faces import Face, faces_between_circuits, faces_of, name_of
from .arrangement_orders import Sequences, sequences
from .arrangement_rules import Rules, Split, check_rules, refuse
from .arrangement_units import Bay, Space, Unit, section_steps, space_of
from .design import Design, ShieldStep, Step, ToroidDimensions, Winding, WindStep
from .errors import BuildError
from .layout import Layout, lay_out
from .winding_space import window_of

_TRIED = 60
"""Orders looked at, at most, for each arrangement that is considered: a space in which next to nothing can be
wound is left after so many."""


@dataclass(frozen=True)
class Arrangement:
    """One way to wind the design. ``order``: names of what is laid, in the order of the build. ``joints``:
    one for each joint of two sections in series, two for each section in parallel beyond the first.
    ``faces``: where circuits meet. ``present``: as the design has it."""

    design: Design
    layout: Layout
    order: tuple[str, ...]
    joints: int
    faces: tuple[Face, ...]
    present: bool = False

    @property
    def fill(self) -> float:
        """The part of the window that is filled."""
        return float(self.layout.fill[0])


@dataclass(frozen=True)
class Arrangements:
    """All that were found. ``tried``: distinct orders looked at. ``breadth``, ``height``: how many of them
    cannot be wound because a layer does not fit its breadth, the build its window. ``cut_off``: whether the
    limit of ``Rules.most`` ended the search; then ``sections`` is the number of sections up to which it is
    complete. ``notes``: what was kept as it is, in words."""

    found: tuple[Arrangement, ...]
    tried: int
    breadth: int
    height: int
    cut_off: bool
    sections: int
    notes: tuple[str, ...]


def joints_of(design: Design) -> int:
    """Joints between sections: of n in series n − 1, in parallel 2 (n − 1) (two ends of each further
    section)."""
    total = 0
    for winding in design.windings:
        count = sum(
            winding.name in (step.winding, *step.companions)
            for step in design.build.steps
            if isinstance(step, WindStep)
        )
        total += (count - 1) * (2 if winding.sections == "parallel" else 1)
    return total


def order_of(design: Design) -> tuple[str, ...]:
    """Names of what is laid, in the order of the build."""
    return tuple(name_of(step) for step in design.build.steps if isinstance(step, WindStep | ShieldStep))


def find_arrangements(
    design: Design, rules: Rules | None = None, *, progress: Callable[[int, int], None] | None = None
) -> Arrangements:
    """Every distinct arrangement of ``design`` that ``rules`` allow and that can be wound; the present one
    first.

    Those with fewer sections come first; the search ends at ``rules.most`` of them. progress(done, whole) is
    called now and then. Raises DesignError for rules that name what is not there and for builds that are not
    enumerated (``space_of``).
    """
    rules = rules or Rules()
    check_rules(design, rules)
    faces = faces_of(design, rules)
    space = space_of(design, rules, faces)
    found = [_finished(design, lay_out(design), present=True)]
    fits = _Fits(space)
    tried = breadth = height = 0
    cut_off = False
    complete = 0
    for splits, order in _orders(space, rules):
        sections = sum(split.sections for split in splits)
        if len(found) >= rules.most or tried >= _TRIED * rules.most:
            cut_off = True
            break
        complete = sections
        if progress is not None and tried % 64 == 0:
            progress(len(found), rules.most)
        if _is_present(space, splits, order):
            continue
        tried += 1
        if any(fits.height(k, splits[k]) is None for k in range(len(splits))):
            breadth += 1
            continue
        if fits.too_high(splits, order):
            height += 1
            continue
        changed = arranged(space, splits, order)
        try:
            layout = lay_out(changed, strict=True)
        except BuildError:
            height += 1
            continue
        found.append(_finished(changed, layout))
    if cut_off:
        complete -= 1
    return Arrangements(tuple(found), tried, breadth, height, cut_off, complete, _notes(space, rules))


def _finished(design: Design, layout: Layout, *, present: bool = False) -> Arrangement:
    return Arrangement(
        design, layout, order_of(design), joints_of(design), faces_between_circuits(design), present
    )


def _notes(space: Space, rules: Rules) -> tuple[str, ...]:
    kept = [unit.name for unit in space.units if not unit.turns and not unit.shield]
    notes = []
    if kept:
        notes.append(
            f"{', '.join(dict.fromkeys(kept))}: build steps kept as they are, in another order only (boards, "
            "steps beside each other, or sections that differ in more than their turns)."
        )
    over = [u.name for u in space.units if u.now.sections > rules.most_of(u.windings) and u.turns]
    if over:
        notes.append(
            f"{', '.join(over)}: now in more sections than the search goes to; the present arrangement is "
            "shown all the same."
        )
    return tuple(notes)


# --- enumeration ----------------------------------------------------------------------------------------


def _orders(space: Space, rules: Rules) -> Iterator[tuple[tuple[Split, ...], Sequences]]:
    """Every combination of divisions, those with fewer sections (then fewer joints) first, in every order."""
    units = space.units

    def cost(splits: tuple[Split, ...]) -> tuple[int, int]:
        return sum(split.sections for split in splits), sum(
            (split.sections - 1) * (2 if split.connection == "parallel" else 1) for split in splits
        )

    combinations = sorted(itertools.product(*(unit.splits for unit in units)), key=cost)
    if (rules.innermost or rules.outermost) and len(space.bays) > 1:
        raise refuse(
            "option --innermost, --outermost",
            f"a build at {len(space.bays)} places (chambers or legs)",
            "a build of one stack, which has one innermost and one outermost winding",
        )
    first, last = _ends(space, rules.innermost), _ends(space, rules.outermost)
    for splits in combinations:
        if rules.most_joints is not None and _joints(space, splits) > rules.most_joints:
            continue

        def allowed(before: int | None, symbol: int) -> bool:
            if before is None:
                return symbol in first
            if units[before].shield and units[symbol].shield:
                return False
            return before != symbol or units[symbol].repeats or _kin(units[before], units[symbol])

        def ends(symbol: int | None) -> bool:
            return symbol is None or symbol in last

        counts = [split.sections for split in splits]
        for order in sequences(counts, len(space.bays), allowed, ends):
            yield splits, order


def _kin(one: Unit, other: Unit) -> bool:
    """Whether two are different sections of one winding that keeps its steps."""
    return one is not other and bool(set(one.windings) & set(other.windings))


def _ends(space: Space, named: tuple[str, ...]) -> set[int]:
    """Units that may lie innermost or outermost: those named, or all; shields only where the design has one
    there."""
    return {
        k
        for k, unit in enumerate(space.units)
        if (not named or set(named) & set(unit.windings)) and (not unit.shield or space.end_shields)
    }


def _joints(space: Space, splits: tuple[Split, ...]) -> int:
    """Joints of a combination of divisions, without building it."""
    own: dict[str, int] = {}
    twice = {}
    for unit, split in zip(space.units, splits, strict=True):
        for name in unit.windings if not unit.shield else ():
            own[name] = own.get(name, 0) + split.sections
            fixed = split.connection == "fixed" and space.design.winding(name).sections == "parallel"
            twice[name] = fixed or split.connection == "parallel"
    return sum((count - 1) * (2 if twice[name] else 1) for name, count in own.items())


# --- one arrangement as a design --------------------------------------------------------------------------


def arranged(space: Space, splits: tuple[Split, ...], order: Sequences) -> Design:
    """The design with its windings divided by ``splits`` and laid in ``order``."""
    design = space.design
    laid = [0] * len(space.units)
    steps: list[Step] = list(space.lead)
    for bay, symbols in zip(space.bays, order, strict=True):
        before: Step | None = None
        for symbol in symbols:
            section = section_steps(space.units[symbol], splits[symbol], laid[symbol])
            laid[symbol] += 1
            if before is not None:
                steps += [_at(step, bay) for step in space.faces.between(before, section[0])]
            steps += [_at(step, bay) for step in section]
            before = section[-1]
    steps += space.tail
    windings = tuple(_connected(space, splits, winding) for winding in design.windings)
    return replace(design, windings=windings, build=replace(design.build, steps=tuple(steps)))


def _at(step: Step, bay: Bay) -> Step:
    return replace(step, leg=bay[0], chamber=bay[1])


def _connected(space: Space, splits: tuple[Split, ...], winding: Winding) -> Winding:
    """A winding joined, and with as many wires in hand, as its division asks for."""
    for unit, split in zip(space.units, splits, strict=True):
        wires = dict(unit.wires)
        if winding.name not in wires or split.connection == "fixed":
            continue
        parallel = split.connection == "parallel"
        hands = winding.wire.in_hand
        if space.shared and not unit.blocks:
            hands = wires[winding.name] // (split.sections if parallel else 1)
        return replace(
            winding,
            sections="parallel" if parallel else "series",
            wire=replace(winding.wire, in_hand=hands),
            total_turns=_checksum(unit, split, winding),
        )
    return winding


def _checksum(unit: Unit, split: Split, winding: Winding) -> int | None:
    """``total_turns`` as the file's reader checks it: the sum over the steps."""
    if winding.total_turns is None:
        return None
    turns = dict(unit.turns).get(winding.name)
    if turns is None or split == unit.now:
        return winding.total_turns
    return turns * (split.sections if split.connection == "parallel" else 1)


def _is_present(space: Space, splits: tuple[Split, ...], order: Sequences) -> bool:
    """Whether an arrangement is the design's own (apart from the insulation, which is the design's)."""
    if any(split != unit.now for unit, split in zip(space.units, splits, strict=True)):
        return False
    built = arranged(space, splits, order)

    def key(design: Design) -> list[tuple[object, ...]]:
        rows = []
        for step in design.build.steps:
            if isinstance(step, WindStep):
                rows.append((step.leg, step.chamber, name_of(step), int(np.asarray(step.turns))))
            elif isinstance(step, ShieldStep):
                rows.append((step.leg, step.chamber, step.name, 0))
        return sorted(rows, key=lambda row: (row[0], row[1] or 0))

    return key(built) == key(space.design)


# --- what fits --------------------------------------------------------------------------------------------


class _Fits:
    """Height of the sections of every division, remembered: a quick look before a build is laid out."""

    def __init__(self, space: Space) -> None:
        self.space = space
        design = space.design
        self.ring = isinstance(design.core.dimensions, ToroidDimensions)
        self.single = len(space.bays) == 1 and not self.ring and design.build.direction == "out"
        width, _ = window_of(design.core.dimensions)
        self.room = width - float(np.asarray(design.bobbin.wall))
        self.known: dict[tuple[int, Split], float | None] = {}

    def height(self, unit: int, split: Split) -> float | None:
        """Height (m) of all sections of a unit together, each on its own on the floor; None if one does not
        fit its breadth (in one stack; of several places and on rings the whole build is looked at)."""
        key = (unit, split)
        if key not in self.known:
            self.known[key] = self._measured(unit, split) if self.single else 0.0
        return self.known[key]

    def _measured(self, unit: int, split: Split) -> float | None:
        total = 0.0
        space = self.space
        all_splits = tuple(split if k == unit else other.splits[0] for k, other in enumerate(space.units))
        windings = tuple(_connected(space, all_splits, winding) for winding in space.design.windings)
        for ordinal in range(split.sections):
            steps = section_steps(space.units[unit], split, ordinal)
            steps = tuple(_at(step, space.bays[0]) for step in steps)
            build = replace(space.design.build, steps=steps)
            try:
                layout = lay_out(replace(space.design, windings=windings, build=build), strict=True)
            except BuildError as error:
                if all(fault.place.startswith("build") for fault in error.faults):
                    return math.inf
                return None
            total += float(layout.top[0]) - float(np.asarray(space.design.bobbin.wall))
        return total

    def too_high(self, splits: tuple[Split, ...], order: Sequences) -> bool:
        """Whether the sections alone, without the insulation between them, are higher than the window."""
        del order
        if not self.single:
            return False
        total = sum(self.height(k, split) or 0.0 for k, split in enumerate(splits))
        return total > self.room * (1 + 1e-9)
