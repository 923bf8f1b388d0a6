"""The interleavings of a design: which orders and divisions of its windings can be wound, each as a design.

An arrangement is a change like any other: the steps of the build in another order, windings divided into
other sections, with the design's own insulation at every face (``faces``). What cannot be wound (a layer that
does not fit its breadth, a build that is higher than the window) is left out and counted.
"""

from __future__ import annotations

import itertools
import math
from collections import Counter
from collections.abc import Callable, Hashable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property, partial

import numpy as np

from ..capacitance import Batch, design_as_batch
from ..design import Design, ShieldStep, WindStep
from ..winding import Face, Layout, Pair, Separation, faces_between_circuits, lay_out, separations, shortfalls
from .divisible_parts import Rearrangement, rearrangement_of
from .divisions import arranged, joints, pins_needed
from .faces import faces_of, name_of
from .kept import Kept
from .notes import notes_of
from .orders import Sequences, sequences
from .rules import Rules, Split, check_rules, rule_error
from .stacking import Placed, Stacking

_TRIED = 60
"""Most orders tried for each arrangement that is considered; the search then gives up a space in which almost
nothing can be wound (bounds work)."""
_CHUNK = 512
"""Orders laid at one time (bounds work, not results)."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Arrangement:
    """One way to wind the design.

    Attributes
    ----------
    batch : Batch of arrangements that are laid together
    row : int, its place in the batch, index
    order : tuple of str, names of what is laid, in the order of the build
    joints : int
        Joints, count: one for each joint of two sections in series, two for each section in parallel beyond
        the first.
    made : callable () to Design, builds the design when it is needed
    present : bool, whether it is the arrangement of the design itself
    """

    batch: Batch
    row: int
    order: tuple[str, ...]
    joints: int
    made: Callable[[], Design]
    present: bool = False

    @cached_property
    def design(self) -> Design:
        """The design wound in this way."""
        return self.made()

    @cached_property
    def layout(self) -> Layout:
        """Its layers, in the order of its build."""
        return lay_out(self.design)

    @cached_property
    def faces(self) -> tuple[Face, ...]:
        """Faces where two circuits meet."""
        return faces_between_circuits(self.design)

    @cached_property
    def apart(self) -> dict[Pair, Separation]:
        """What separates every two windings of different circuits."""
        return separations(self.design)

    def less_apart(self, than: Design) -> dict[Pair, tuple[Separation, Separation]]:
        """The pairs that are separated by less than in another design.

        Parameters
        ----------
        than : Design, the other design

        Returns
        -------
        dict[Pair, tuple[Separation, Separation]]
            For each such pair what separates it there, and what separates it here.
        """
        before = separations(than)
        return {
            pair: (before[pair], what)
            for pair, what in self.apart.items()
            if pair in before and shortfalls(before[pair], what)
        }

    @property
    def fill(self) -> float:
        """Filled part of the window, dimensionless."""
        return float(self.batch.layout.fill[self.row])


@dataclass(frozen=True, kw_only=True)
class Arrangements:
    """All arrangements that were found.

    Attributes
    ----------
    arrangements : tuple of Arrangement, arrangements, the present one first
    tried : int, distinct orders tried, count
    breadth : int, orders that cannot be wound because a layer does not fit its breadth, count
    height : int, orders that cannot be wound because the build does not fit its window, count
    apart : int, orders held back because two circuits would be separated by less than in the design, count
    cut_off : bool, whether the limit ``Rules.most`` ended the search
    sections : int, if so, number of sections up to which the search is complete, count
    notes : tuple of str, what was kept as it is, in words
    """

    arrangements: tuple[Arrangement, ...]
    tried: int
    breadth: int
    height: int
    apart: int
    cut_off: bool
    sections: int
    notes: tuple[str, ...]


def joints_of(design: Design) -> int:
    """Joints between sections, count: n − 1 for n in series, 2 (n − 1) for n in parallel."""
    total = 0
    for winding in design.windings:
        count = sum(
            winding.name in step.windings for step in design.build.steps if isinstance(step, WindStep)
        )
        total += (count - 1) * (2 if winding.sections == "parallel" else 1)
    return total


def order_of(design: Design) -> tuple[str, ...]:
    """Names of what is laid, in the order of the build."""
    return tuple(name_of(step) for step in design.build.steps if step.conducts)


def find_arrangements(
    design: Design, rules: Rules | None = None, *, progress: Callable[[int, int], None] | None = None
) -> Arrangements:
    """Every distinct arrangement of a design that the rules allow and that can be wound.

    The present arrangement comes first, then those with fewer sections; the search ends at ``rules.most`` of
    them.

    Parameters
    ----------
    design : Design of one or B builds
    rules : Rules or None, of the search; None: the defaults
    progress : callable (int, int) or None, called now and then with the arrangements found and the limit

    Raises
    ------
    DesignError
        For rules that name what the design does not have, and for builds that cannot be enumerated
        (``rearrangement_of``).
    """
    rules = rules or Rules()
    check_rules(design, rules)
    space = rearrangement_of(design, rules, faces_of(design, rules))
    stacking, kept = Stacking(space), Kept(space)
    search = _Search([_as_it_is(design)], Counter(), rules.most)
    complete, cut_off = 0, False
    for splits in divisions(space, rules):
        sections = sum(split.sections for split in splits)
        cut_off = not search.goes_on(
            _windable(stacking, kept, splits, orders(space, splits, rules, kept)), progress
        )
        if cut_off:
            complete = sections - 1
            break
        complete = sections
    return search.result(complete, cut_off, notes_of(space, rules, kept))


@dataclass(frozen=True)
class _Search:
    """What the search has met so far. found: arrangements that can be wound. outcomes: number of orders with
    each verdict. most: number of arrangements at which it ends."""

    arrangements: list[Arrangement]
    outcomes: Counter[str]
    most: int

    def goes_on(self, verdicts: Iterator[Verdict], progress: Callable[[int, int], None] | None) -> bool:
        """Take in the verdicts on the orders of one division; False if the limit ended the search."""
        for verdict in verdicts:
            if len(self.arrangements) >= self.most or self.tried >= _TRIED * self.most:
                return False
            if progress is not None and self.tried % 64 == 0:
                progress(len(self.arrangements), self.most)
            if isinstance(verdict, Arrangement):
                self.arrangements.append(verdict)
            self.outcomes["wound" if isinstance(verdict, Arrangement) else verdict] += 1
        return True

    @property
    def tried(self) -> int:
        """Orders tried besides the design's own."""
        return self.outcomes.total() - self.outcomes["present"]

    def result(self, complete: int, cut_off: bool, notes: tuple[str, ...]) -> Arrangements:
        """The result of the search as a value."""
        return Arrangements(
            arrangements=tuple(self.arrangements),
            tried=self.tried,
            breadth=self.outcomes["breadth"],
            height=self.outcomes["height"],
            apart=self.outcomes["apart"],
            cut_off=cut_off,
            sections=complete,
            notes=notes,
        )


def _as_it_is(design: Design) -> Arrangement:
    batch = design_as_batch(design, lay_out(design))
    return Arrangement(
        batch=batch,
        row=0,
        order=order_of(design),
        joints=joints_of(design),
        made=lambda: design,
        present=True,
    )


# --- enumeration ----------------------------------------------------------------------------------------


def divisions(space: Rearrangement, rules: Rules) -> list[tuple[Split, ...]]:
    """Every combination of divisions, those with fewer sections (then fewer joints) first.

    Parameters
    ----------
    space : Rearrangement
    rules : Rules

    Raises
    ------
    DesignError
        For a rule about the innermost or outermost winding in a build of several places.
    """

    def cost(splits: tuple[Split, ...]) -> tuple[int, int]:
        return sum(split.sections for split in splits), sum(
            (split.sections - 1) * (2 if split.connection == "parallel" else 1) for split in splits
        )

    if (rules.innermost or rules.outermost) and len(space.bays) > 1:
        raise rule_error(
            "option --innermost, --outermost",
            f"a build at {len(space.bays)} places (chambers or legs)",
            "a build of one stack, which has one innermost and one outermost winding",
        )
    combinations = sorted(itertools.product(*(unit.splits for unit in space.units)), key=cost)
    most = math.inf if rules.most_joints is None else rules.most_joints
    pins = space.design.bobbin.pins
    now = tuple(unit.now for unit in space.units)
    return [
        splits
        for splits in combinations
        if joints(space, splits) <= most
        and _shields_find_room(space, splits)
        and (pins is None or splits == now or pins_needed(space, splits) <= pins)
    ]


def _shields_find_room(space: Rearrangement, splits: tuple[Split, ...]) -> bool:
    """Whether shields beyond those of the design have faces to part."""
    both = list(zip(space.units, splits, strict=True))
    wound = sum(split.sections for unit, split in both if not unit.shield)
    added = [split.sections for unit, split in both if unit.shield and split != unit.now]
    return max(added, default=0) < wound


def orders(space: Rearrangement, splits: tuple[Split, ...], rules: Rules, kept: Kept) -> Iterator[Sequences]:
    """Every order of the sections in which each may lie on the one below it.

    Shields beyond those of the design lie only where two circuits meet that they part in the design.

    Parameters
    ----------
    space : Rearrangement
    splits : tuple of Split, one for each unit
    rules : Rules
    kept : Kept
    """
    units = space.units
    first, last = _ends(space, rules.innermost), _ends(space, rules.outermost)

    def allowed(before: int | None, symbol: int) -> bool:
        if before is None:
            return symbol in first
        if units[before].shield and units[symbol].shield and not kept.shields_may_meet(before, symbol):
            return False
        if before == symbol and not units[symbol].repeats:
            return False
        return kept.may_follow(before, symbol)

    def ends(symbol: int | None) -> bool:
        return symbol is None or symbol in last

    candidates = sequences([split.sections for split in splits], len(space.bays), allowed, ends)
    copied = frozenset(k for k, unit in enumerate(units) if unit.shield and splits[k] != unit.now)
    return (order for order in candidates if kept.copies_needed(order, copied)) if copied else candidates


def _ends(space: Rearrangement, named: tuple[str, ...]) -> set[int]:
    """Units that may lie innermost or outermost: the named ones, or all; shields only where the design has
    one there."""
    return {
        k
        for k, unit in enumerate(space.units)
        if (not named or set(named) & set(unit.windings)) and (not unit.shield or space.end_shields)
    }


def _is_present(space: Rearrangement, splits: tuple[Split, ...], order: Sequences) -> bool:
    """Whether an arrangement is the design's own (apart from the insulation, which is always the
    design's)."""
    if any(split != unit.now for unit, split in zip(space.units, splits, strict=True)):
        return False

    def key(design: Design) -> list[tuple[object, ...]]:
        rows = []
        for step in design.build.steps:
            if isinstance(step, WindStep):
                rows.append((step.leg, step.chamber, name_of(step), int(np.asarray(step.turns))))
            elif isinstance(step, ShieldStep):
                rows.append((step.leg, step.chamber, step.name, 0))
        return sorted(rows, key=lambda row: (row[0], row[1] or 0))

    return key(arranged(space, splits, order)) == key(space.design)


# --- what can be wound ------------------------------------------------------------------------------------

Verdict = Arrangement | str
"""An arrangement, or why there is none: "present" (the design's own), "breadth", "height", "apart" (circuits
separated by less than in the design)."""


def _windable(
    stacking: Stacking, kept: Kept, splits: tuple[Split, ...], orders: Iterator[Sequences]
) -> Iterator[Verdict]:
    """The verdict on every order."""
    while chunk := list(itertools.islice(orders, _CHUNK)):
        yield from _laid_together(stacking, kept, splits, chunk)


def _laid_together(
    stacking: Stacking, kept: Kept, splits: tuple[Split, ...], orders: Sequence[Sequences]
) -> list[Verdict]:
    verdicts: list[Verdict] = ["height"] * len(orders)
    groups: dict[Hashable, list[tuple[int, Placed]]] = {}
    for number, order in enumerate(orders):
        if _is_present(stacking.space, splits, order):
            verdicts[number] = "present"
            continue
        if not kept.holds(order):
            verdicts[number] = "apart"
            continue
        placed = stacking.placed(splits, order)
        if isinstance(placed, str):
            verdicts[number] = placed
        else:
            groups.setdefault(placed.structure, []).append((number, placed))
    for group in groups.values():
        batch, fits = stacking.stacked(splits, [placed for _, placed in group])
        for row, (number, _) in enumerate(group):
            if fits[row]:
                arrangement = _arrangement(stacking.space, splits, orders[number], batch, row)
                verdicts[number] = arrangement if kept.partitions_hold(arrangement.made) else "apart"
    return verdicts


def _arrangement(
    space: Rearrangement, splits: tuple[Split, ...], order: Sequences, batch: Batch, row: int
) -> Arrangement:
    names = tuple(
        name_of(step)
        for symbols in order
        for symbol in symbols
        for step in space.units[symbol].steps
        if step.conducts
    )
    made = partial(arranged, space, splits, order)
    return Arrangement(batch=batch, row=row, order=names, joints=joints(space, splits), made=made)
