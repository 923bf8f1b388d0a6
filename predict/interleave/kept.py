"""Which arrangements separate every two circuits at least as much as the design does.

Every arrangement has at least the separation that the design has between two windings where it is least
(``separations``): thickness and wraps between sections that lie on each other, with a shield if the design
has one wherever they are stacked; a partition, or legs of their own, if those separate them; the margins
around the ends. Pairs that a rule allows to be bare are left out.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import combinations

from ..design import Design, ShieldStep, SpacerStep, Step, first_build
from ..winding import (
    ROUNDING,
    Pair,
    Separation,
    ShieldKind,
    circuit_of,
    ends_of,
    pair_of,
    place_of,
    separations,
    shield_kind,
    shortfalls,
    thickness_of,
    winding_space,
    wraps_of,
)
from .divisible_parts import Rearrangement
from .faces import highest, lowest
from .orders import Sequences
from .rules import rule_error


@dataclass(frozen=True)
class _Piece:
    """Steps at one height, and the insulation from them to the next steps of their unit."""

    steps: tuple[Step, ...]
    names: tuple[str, ...]
    thickness: float
    wraps: int
    shields: frozenset[ShieldKind]


class Kept:
    """Judges the orders of a space; remembers what lies between its units."""

    def __init__(self, space: Rearrangement) -> None:
        self.space = space
        self.required = space.faces.required
        self.partition = first_build(space.design.bobbin.partition)
        steps = [step for step in space.design.build.steps if step.conducts]
        self._circuits = {name: circuit_of(space.design, name) for step in steps for name in step.names}
        self._pieces = [_pieces(unit.steps) for unit in space.units]
        self._follows: dict[tuple[int, int], bool] = {}
        self._between: dict[tuple[int, int], tuple[float, int]] = {}
        self._apart: dict[tuple[frozenset[int], ...], bool] = {}
        self._check_groups()
        self._by_neighbours = self._neighbours_suffice()

    def _check_groups(self) -> None:
        """DesignError for a group of windings that would lie on each other with less insulation than now."""
        for unit, pieces in zip(self.space.units, self._pieces, strict=True):
            if unit.turns and not self._stack_holds(pieces):
                raise rule_error(
                    "option --group",
                    ",".join(unit.windings),
                    "windings that may lie on each other; these are kept further apart now",
                    "Allow less between them with --bare, as in --bare P/S.",
                )

    def pairs(self, inner: Sequence[str], outer: Sequence[str]) -> list[tuple[Pair, Separation]]:
        """What is required between any of some windings and any of others.

        Parameters
        ----------
        inner, outer : sequence of str, names of the inner and outer windings
        """
        keys = {pair_of(first, second) for first in inner for second in outer if first != second}
        return [(key, self.required[key]) for key in keys if key in self.required]

    def between(self, inner: int, outer: int) -> tuple[float, int]:
        """Thickness and wraps of the insulation between two neighbouring units.

        Parameters
        ----------
        inner, outer : int, index

        Returns
        -------
        tuple of (float, int), thickness, m, and wraps, count
        """
        if (inner, outer) not in self._between:
            low, high = self.space.units[inner], self.space.units[outer]
            laid = self.space.faces.between(highest(low.steps), lowest(high.steps))
            self._between[inner, outer] = thickness_of(laid), wraps_of(laid)
        return self._between[inner, outer]

    def may_follow(self, inner: int, outer: int) -> bool:
        """Whether a unit may lie directly on another.

        Parameters
        ----------
        inner, outer : int, index
        """
        if (inner, outer) not in self._follows:
            self._follows[inner, outer] = self._face_holds(inner, outer)
        return self._follows[inner, outer]

    def _face_holds(self, inner: int, outer: int) -> bool:
        thickness, wraps = self.between(inner, outer)
        for low in highest(self.space.units[inner].steps):
            for high in lowest(self.space.units[outer].steps):
                for _, needed in self.pairs(low.names, high.names):
                    if not _held(needed, thickness, wraps, frozenset()):
                        return False
                    if self._creepage(low, high) < needed.creepage - ROUNDING and needed.creepage < math.inf:
                        return False
        return True

    def _creepage(self, low: Step, high: Step) -> float:
        """Distance around the ends of two steps that lie on each other (m), at the place where the first lies
        now."""
        space = winding_space(self.space.design)
        if space.ring:
            return math.inf
        room = min(
            space.bay(place_of(step)).breadth
            for step in self.space.design.build.steps
            if step.conducts and set(step.names) & set(low.names)
        )
        first, second = ends_of(self.space.design, low, room), ends_of(self.space.design, high, room)
        return min(a + b for a, b in zip(first, second, strict=True))

    def withheld(self) -> list[tuple[Pair, Separation]]:
        """What is required between windings that no insulation of this build separates when stacked."""
        needed_by_pair: dict[Pair, Separation] = {}
        for inner in range(len(self.space.units)):
            for outer in range(len(self.space.units)):
                if not self.may_follow(inner, outer):
                    needed_by_pair |= dict(self.pairs(self._names(inner), self._names(outer)))
        needed_by_pair |= {pair: needed for pair, needed in self.required.items() if needed.shielded}
        return sorted(needed_by_pair.items())

    def partitions_hold(self, made: Callable[[], Design]) -> bool:
        """Whether the creepage over the top of the partitions is at least that of the design, where the file
        gives their height. ``made`` makes the design of an arrangement whose neighbours and chambers hold."""
        if self.space.design.bobbin.partition_height is None:
            return True
        separated = separations(made())
        walled = {pair: needed for pair, needed in self.required.items() if needed.kind == "chambers"}
        return not any(
            "creepage" in shortfalls(walled[pair], separated[pair]) for pair in walled.keys() & separated
        )

    # --- shields --------------------------------------------------------------------------------------

    def shields_may_meet(self, inner: int, outer: int) -> bool:
        """Whether two shields may lie on each other: as they do in the design, in either order.

        Parameters
        ----------
        inner, outer : int, index of the lower and upper shield's unit
        """
        wanted = {self._shield(inner), self._shield(outer)}
        last: dict[tuple[int, int | None], Step] = {}
        for step in self.space.design.build.steps:
            if not step.conducts:
                continue
            before = last.get((step.leg, step.chamber))
            last[step.leg, step.chamber] = step
            both = {shield_kind(laid) for laid in (before, step) if isinstance(laid, ShieldStep)}
            if isinstance(before, ShieldStep) and isinstance(step, ShieldStep) and both == wanted:
                return True
        return False

    def copies_needed(self, order: Sequences, copied: frozenset[int]) -> bool:
        """Whether every shield of some units lies between two sections that the design keeps apart by such a
        shield: none is added where no face asks for it.

        Parameters
        ----------
        order : Sequences
        copied : frozenset of int, indices of the units with more shields than the design has
        """
        for symbols in order:
            for index, symbol in enumerate(symbols):
                if symbol in copied and not self._parts(symbols, index):
                    return False
        return True

    def _parts(self, symbols: Sequence[int], index: int) -> bool:
        """Whether the shield at a place of a stack parts what lies below it from what lies above."""
        wound = [k for k, symbol in enumerate(symbols) if not self.space.units[symbol].shield]
        below = max((k for k in wound if k < index), default=None)
        above = min((k for k in wound if k > index), default=None)
        if below is None or above is None:
            return False
        kind = self._shield(symbols[index])
        sides = self._names(symbols[below]), self._names(symbols[above])
        return any(kind in needed.shields for _, needed in self.pairs(*sides))

    def _shield(self, unit: int) -> ShieldKind:
        step = self.space.units[unit].steps[0]
        assert isinstance(step, ShieldStep)
        return shield_kind(step)

    # --- whole orders -----------------------------------------------------------------------------------

    def holds(self, order: Sequences) -> bool:
        """Whether an order whose neighbours may all follow each other separates every two circuits."""
        if not self._by_neighbours and not all(self._stack_holds(self._stack(symbols)) for symbols in order):
            return False
        if len(order) == 1:
            return True
        if len({leg for leg, _ in self.space.bays}) > 1 and not self._legs_hold(order):
            return False
        key = tuple(frozenset(symbols) for symbols in order)
        if key not in self._apart:
            self._apart[key] = self._places_hold(key)
        return self._apart[key]

    def _stack(self, symbols: Sequence[int]) -> list[_Piece]:
        return [piece for index in range(len(symbols)) for piece in self._laid(symbols, index)]

    def _laid(self, symbols: Sequence[int], index: int) -> tuple[_Piece, ...]:
        """The pieces of one unit in a stack, the last with the insulation up to the next unit."""
        pieces = self._pieces[symbols[index]]
        if index + 1 == len(symbols):
            return pieces
        thickness, wraps = self.between(symbols[index], symbols[index + 1])
        last = pieces[-1]
        return (*pieces[:-1], _Piece(last.steps, last.names, thickness, wraps, last.shields))

    def _stack_holds(self, stack: Sequence[_Piece]) -> bool:
        for first in range(len(stack)):
            thickness, wraps = stack[first].thickness, stack[first].wraps
            shields: frozenset[ShieldKind] = frozenset()
            for second in range(first + 1, len(stack)):
                for _, needed in self.pairs(stack[first].names, stack[second].names):
                    if not _held(needed, thickness, wraps, shields):
                        return False
                thickness += stack[second].thickness
                wraps += stack[second].wraps
                shields |= stack[second].shields
        return True

    def _places_hold(self, sides: tuple[frozenset[int], ...]) -> bool:
        named = [sorted({name for k in held for name in self._names(k)}) for held in sides]
        for first, second in combinations(range(len(sides)), 2):
            first_bay, second_bay = self.space.bays[first], self.space.bays[second]
            if first_bay[0] != second_bay[0]:
                continue
            assert first_bay[1] is not None
            assert second_bay[1] is not None
            separation = Separation(
                kind="chambers", partitions=abs(first_bay[1] - second_bay[1]) * self.partition
            )
            if any(shortfalls(needed, separation) for _, needed in self.pairs(named[first], named[second])):
                return False
        return True

    def _names(self, unit: int) -> tuple[str, ...]:
        return tuple(name for piece in self._pieces[unit] for name in piece.names)

    def _legs_hold(self, order: Sequences) -> bool:
        """Whether what lies on two legs is separated: the insulation over each counts, the air between does
        not."""
        cover = thickness_of(self.space.faces.cover)
        laid: list[tuple[int, tuple[str, ...], float]] = []
        for (leg, _), symbols in zip(self.space.bays, order, strict=True):
            over = cover
            for piece in reversed(self._stack(symbols)):
                laid.append((leg, piece.names, over + piece.thickness))
                over += piece.thickness
        for (leg, names, over), (other_leg, others, other_over) in combinations(laid, 2):
            if leg == other_leg:
                continue
            separation = Separation(kind="legs", steps=(SpacerStep(over + other_over),))
            if any(shortfalls(needed, separation) for _, needed in self.pairs(names, others)):
                return False
        return True

    def _neighbours_suffice(self) -> bool:
        """Whether an order is good whenever its neighbours are: no shield is required, and no path through
        other units has less insulation than the direct one."""
        units = range(len(self.space.units))
        if any(needed.shielded or needed.walled for needed in self.required.values()):
            return False
        if any(len(pieces) > 1 for pieces in self._pieces):
            return False
        shortest = [
            [self.between(i, j) if self.may_follow(i, j) else (math.inf, 10**6) for j in units] for i in units
        ]
        for middle in units:
            for i in units:
                for j in units:
                    through = [shortest[i][middle][k] + shortest[middle][j][k] for k in (0, 1)]
                    best = min(shortest[i][j][0], through[0]), min(shortest[i][j][1], int(through[1]))
                    shortest[i][j] = best
        return all(
            _held(needed, *shortest[i][j], frozenset())
            for i in units
            for j in units
            for _, needed in self.pairs(self._names(i), self._names(j))
            if shortest[i][j][0] < math.inf
        )


def _pieces(steps: Sequence[Step]) -> tuple[_Piece, ...]:
    pieces: list[_Piece] = []
    rest = tuple(steps)
    while rest:
        heap = lowest(rest)
        rest = rest[len(heap) :]
        laid: list[Step] = []
        while rest and not rest[0].conducts:
            laid.append(rest[0])
            rest = rest[1:]
        names = tuple(name for step in heap for name in step.names)
        shields = frozenset(shield_kind(step) for step in heap if isinstance(step, ShieldStep))
        pieces.append(_Piece(heap, names, thickness_of(laid), wraps_of(laid), shields))
    return tuple(pieces)


def _held(needed: Separation, thickness: float, wraps: int, shields: frozenset[ShieldKind]) -> bool:
    """Whether this much between two sections that lie on each other is at least what is needed."""
    return (
        not needed.walled
        and thickness >= needed.apart - ROUNDING
        and wraps >= (needed.wraps or 0)
        and needed.shields <= shields
    )
