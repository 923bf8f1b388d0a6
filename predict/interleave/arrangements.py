"""The interleavings of a design: which orders and divisions of its windings can be wound, each as a design.

An arrangement is a change like any other: the build's steps in another order, windings divided into other
sections, with the design's own insulation at every face (``arrangement_faces``). What cannot be wound (a
layer that does not fit its breadth, a build that is higher than the window) is left out and counted.
"""

from __future__ import annotations

import itertools
import math
from collections import Counter
from collections.abc import Callable, Hashable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property, partial

import numpy as np

from ..design import Design, ShieldStep, WindStep
from ..winding import Face, Layout, Pair, Separation, faces_between_circuits, lay_out, separations, shortfalls
from .batches import Batch, design_as_batch
from .divisible_parts import Rearrangement, rearrangement_of
from .divisions import arranged, joints, pins_needed
from .faces import faces_of, name_of
from .kept import Kept
from .notes import notes_of
from .orders import Sequences, sequences
from .rules import Rules, Split, check_rules, rule_error
from .stacking import Placed, Stacking

_TRIED = 60
"""Orders looked at, at most, for each arrangement that is considered: a space in which next to nothing can be
wound is left after so many."""
_CHUNK = 512
"""Orders laid at a time."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Arrangement:
    """One way to wind the design. ``batch``, ``row``: as one of many that are laid together. ``order``: names
    of what is laid, in the order of the build. ``joints``: one for each joint of two sections in series, two
    for each section in parallel beyond the first. ``made``: the design, built when it is asked for.
    ``present``: as the design has it."""

    batch: Batch
    row: int
    order: tuple[str, ...]
    joints: int
    made: Callable[[], Design]
    present: bool = False

    @cached_property
    def design(self) -> Design:
        """The design wound so."""
        return self.made()

    @cached_property
    def layout(self) -> Layout:
        """Its layers, in the order of its build."""
        return lay_out(self.design)

    @cached_property
    def faces(self) -> tuple[Face, ...]:
        """Where circuits meet."""
        return faces_between_circuits(self.design)

    @cached_property
    def apart(self) -> dict[Pair, Separation]:
        """What keeps every two windings of different circuits apart."""
        return separations(self.design)

    def less_apart(self, than: Design) -> dict[Pair, tuple[Separation, Separation]]:
        """The pairs that are less apart than in another design: what is there, and what is here."""
        before = separations(than)
        return {
            pair: (before[pair], what)
            for pair, what in self.apart.items()
            if pair in before and shortfalls(before[pair], what)
        }

    @property
    def fill(self) -> float:
        """The part of the window that is filled."""
        return float(self.batch.layout.fill[self.row])


@dataclass(frozen=True, kw_only=True)
class Arrangements:
    """All that were found. ``tried``: distinct orders looked at. ``breadth``, ``height``: how many of them
    cannot be wound because a layer does not fit its breadth, the build its window; ``apart``: how many are
    held back because two circuits would be less apart than the design keeps them. ``cut_off``: whether the
    limit of ``Rules.most`` ended the search; then ``sections`` is the number of sections up to which it is
    complete. ``notes``: what was kept as it is, in words."""

    found: tuple[Arrangement, ...]
    tried: int
    breadth: int
    height: int
    apart: int
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
    enumerated (``rearrangement_of``).
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
    """What the search has met. found : arrangements that can be wound. outcomes : how many orders came to
    which verdict. most : arrangements after which it ends."""

    found: list[Arrangement]
    outcomes: Counter[str]
    most: int

    def goes_on(self, verdicts: Iterator[Verdict], progress: Callable[[int, int], None] | None) -> bool:
        """Take in the verdicts on the orders of one division; False where the limit ended the search."""
        for verdict in verdicts:
            if len(self.found) >= self.most or self.tried >= _TRIED * self.most:
                return False
            if progress is not None and self.tried % 64 == 0:
                progress(len(self.found), self.most)
            if isinstance(verdict, Arrangement):
                self.found.append(verdict)
            self.outcomes["wound" if isinstance(verdict, Arrangement) else verdict] += 1
        return True

    @property
    def tried(self) -> int:
        """Orders looked at, beside the design's own."""
        return self.outcomes.total() - self.outcomes["present"]

    def result(self, complete: int, cut_off: bool, notes: tuple[str, ...]) -> Arrangements:
        """The search as a value."""
        return Arrangements(
            found=tuple(self.found),
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
    """Every combination of divisions, those with fewer sections (then fewer joints) first."""

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
        and (pins is None or splits == now or pins_needed(space, splits) <= pins)
    ]


def orders(space: Rearrangement, splits: tuple[Split, ...], rules: Rules, kept: Kept) -> Iterator[Sequences]:
    """Every order of the sections of ``splits`` in which each may lie on the one below it."""
    units = space.units
    first, last = _ends(space, rules.innermost), _ends(space, rules.outermost)

    def allowed(before: int | None, symbol: int) -> bool:
        if before is None:
            return symbol in first
        if units[before].shield and units[symbol].shield:
            return False
        if before == symbol and not units[symbol].repeats:
            return False
        return kept.may_follow(before, symbol)

    def ends(symbol: int | None) -> bool:
        return symbol is None or symbol in last

    return sequences([split.sections for split in splits], len(space.bays), allowed, ends)


def _ends(space: Rearrangement, named: tuple[str, ...]) -> set[int]:
    """Units that may lie innermost or outermost: those named, or all; shields only where the design has one
    there."""
    return {
        k
        for k, unit in enumerate(space.units)
        if (not named or set(named) & set(unit.windings)) and (not unit.shield or space.end_shields)
    }


def _is_present(space: Rearrangement, splits: tuple[Split, ...], order: Sequences) -> bool:
    """Whether an arrangement is the design's own (apart from the insulation, which is the design's)."""
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
less apart than in the design)."""


def _windable(
    stacking: Stacking, kept: Kept, splits: tuple[Split, ...], orders: Iterator[Sequences]
) -> Iterator[Verdict]:
    """Of every order what becomes of it."""
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
                verdicts[number] = _arrangement(stacking.space, splits, orders[number], batch, row)
    return verdicts


def _arrangement(
    space: Rearrangement, splits: tuple[Split, ...], order: Sequences, batch: Batch, row: int
) -> Arrangement:
    names = tuple(
        name_of(step)
        for symbols in order
        for symbol in symbols
        for step in space.units[symbol].steps
        if isinstance(step, WindStep | ShieldStep)
    )
    made = partial(arranged, space, splits, order)
    return Arrangement(batch=batch, row=row, order=names, joints=joints(space, splits), made=made)
