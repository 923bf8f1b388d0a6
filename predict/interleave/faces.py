"""Insulation at the faces between neighbouring pieces of a build, as its present steps have it.

Between two circuits an arrangement gets the insulation that the design uses between those two circuits: the
thickest if it uses several; if they are not neighbours in the design, everything that lies between the two
now, including the insulation of the windings in between. Two circuits that the design separates by a
partition, or on legs of their own, get the thickest insulation that it uses between any two circuits, which
is less (``kept`` decides which arrangements have it). Pieces of one circuit get what lies between those
windings now, else nothing (in flat builds, whose tracks would touch, the thinnest insulation of the design).
The insulation is repeated from the design, not judged.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..design import Design, SpacerStep, Step, TapeStep, WindStep
from ..winding import (
    ROUNDING,
    Pair,
    Separation,
    circuit_of,
    merged,
    pair_of,
    separations,
    thickness_of,
    wraps_of,
)
from .rules import Rules, circuit_named, rule_error

Insulation = tuple[Step, ...]


def _circuits_of(design: Design, step: Step) -> frozenset[str]:
    """The circuits of a wind step with its companions, or of a shield (the circuit it is tied to)."""
    return frozenset(circuit_of(design, name) for name in step.names)


def name_of(step: Step) -> str:
    """Name of a piece: its winding, with those wound together with it, or its shield."""
    return "+".join(step.names)


def lowest(steps: Sequence[Step]) -> tuple[Step, ...]:
    """The lowest steps of a piece: its first, and those beside it."""
    count = 1
    while count < len(steps) and _beside(steps[count]):
        count += 1
    return tuple(steps[:count])


def highest(steps: Sequence[Step]) -> tuple[Step, ...]:
    """The highest steps of a piece: its last, and those that it lies beside."""
    start = len(steps) - 1
    while start > 0 and _beside(steps[start]):
        start -= 1
    return tuple(steps[start:])


def _beside(step: Step) -> bool:
    return isinstance(step, WindStep) and step.beside


@dataclass(frozen=True, kw_only=True)
class Faces:
    """Insulation between the pieces of a build.

    Attributes
    ----------
    design : Design
    circuits : dict of frozenset of str to Insulation, insulation between two circuits now
    windings : dict of frozenset of str to Insulation, insulation between two pieces of one circuit now
    most : Insulation, thickest insulation of the design between any two circuits
    least : Insulation, thinnest insulation of the design between any two pieces
    tape : tuple of (str, str, int), fewest wraps that the rules require between two windings, count
    required : dict of Pair to Separation
        What separates every two windings now, without pairs that may be bare.
    floor, cover : Insulation
        Thickest insulation of the design below the first and above the last piece of a place; every place in
        use gets it.
    """

    design: Design
    circuits: dict[frozenset[str], Insulation]
    windings: dict[frozenset[str], Insulation]
    most: Insulation
    least: Insulation
    tape: tuple[tuple[str, str, int], ...]
    required: dict[Pair, Separation]
    floor: Insulation = ()
    cover: Insulation = ()

    def between(self, inner: Sequence[Step], outer: Sequence[Step]) -> Insulation:
        """The insulation between two neighbouring pieces, without chamber and leg.

        Parameters
        ----------
        inner : sequence of Step, ``highest`` steps of the inner piece
        outer : sequence of Step, ``lowest`` steps of the outer piece
        """
        facing = [
            (first, second)
            for low in inner
            for high in outer
            for first in low.names
            for second in high.names
            if circuit_of(self.design, first) != circuit_of(self.design, second)
        ]
        flat = self.design.build.direction == "up"
        insulation: Insulation = ()
        if not facing:
            pair = frozenset({name_of(inner[-1]), name_of(outer[0])})
            insulation = self.windings.get(pair, self.least if flat else ())
        for first, second in facing:
            now = frozenset({circuit_of(self.design, first), circuit_of(self.design, second)})
            between_circuits = self.circuits.get(now)
            if between_circuits is None and pair_of(first, second) not in self.required:
                between_circuits = self.most
            if between_circuits is not None and thickness_of(between_circuits) > thickness_of(insulation):
                insulation = between_circuits
        for first, second in facing:
            needed = self.required.get(pair_of(first, second))
            if needed is None:
                continue
            if needed.kind != "stacked":
                insulation = max((insulation, self.most), key=thickness_of)
                continue
            thin = thickness_of(insulation) < needed.thickness - ROUNDING
            few = wraps_of(insulation) < (needed.wraps or 0)
            if thin and few:
                insulation = tuple(needed.steps)
            elif thin or few:
                insulation = merged((*insulation, *needed.steps))  # type: ignore[arg-type]
        return self._at_least(insulation, inner, outer)

    def _at_least(self, insulation: Insulation, inner: Sequence[Step], outer: Sequence[Step]) -> Insulation:
        """The insulation with the wraps that the rules require between two windings."""
        inner_names = {name for step in inner for name in step.names}
        outer_names = {name for step in outer for name in step.names}
        for first, second, least in self.tape:
            meets = (first in inner_names and second in outer_names) or (
                second in inner_names and first in outer_names
            )
            missing = least - wraps_of(insulation)
            if not meets or missing <= 0:
                continue
            tape_indices = [k for k, step in enumerate(insulation) if isinstance(step, TapeStep)]
            if tape_indices:
                last = insulation[tape_indices[-1]]
                assert isinstance(last, TapeStep)
                more = replace(last, wraps=int(np.asarray(last.wraps)) + missing)
                insulation = (*insulation[: tape_indices[-1]], more, *insulation[tape_indices[-1] + 1 :])
            else:
                insulation = (*insulation, replace(self._thickest_tape(), wraps=missing))
        return insulation

    def _thickest_tape(self) -> TapeStep:
        tapes = [step for step in self.design.build.steps if isinstance(step, TapeStep)]
        if not tapes:
            raise rule_error(
                "option --tape",
                "a design without tape",
                "a design whose steps have the tape to use",
                "Give a { tape = … } step in the design file.",
            )
        return replace(max(tapes, key=lambda step: float(np.asarray(step.thickness))), chamber=None, leg=1)


def faces_of(design: Design, rules: Rules) -> Faces:
    """The insulation of the present build, sorted by what it lies between.

    Parameters
    ----------
    design : Design of one or B builds
    rules : Rules
    """
    circuits: dict[frozenset[str], Insulation] = {}
    windings: dict[frozenset[str], Insulation] = {}
    last: dict[tuple[int, int | None], Step] = {}
    between: dict[tuple[int, int | None], list[Step]] = {}
    floors: list[Insulation] = []
    for step in design.build.steps:
        chamber_key = (step.leg, step.chamber)
        if isinstance(step, TapeStep | SpacerStep):
            between.setdefault(chamber_key, []).append(replace(step, chamber=None, leg=1))
            continue
        insulation = tuple(between.get(chamber_key, []))
        if chamber_key not in last:
            floors.append(insulation)
        elif not (isinstance(step, WindStep) and step.beside):
            together = _circuits_of(design, last[chamber_key]) | _circuits_of(design, step)
            table, key = circuits, together
            if len(together) == 1:
                table, key = windings, frozenset({name_of(last[chamber_key]), name_of(step)})
            if thickness_of(insulation) >= thickness_of(table.get(key, ())):
                table[key] = insulation
        last[chamber_key] = step
        between[chamber_key] = []
    covers = [tuple(between[chamber_key]) for chamber_key in last]
    every = [*circuits.values(), *windings.values()]
    some = [insulation for insulation in every if insulation] or [()]
    bare = {frozenset(circuit_named(design, name) for name in names) for names in rules.bare}
    return Faces(
        design=design,
        circuits=circuits,
        windings=windings,
        most=max(circuits.values(), key=thickness_of, default=()),
        least=min(some, key=thickness_of),
        tape=rules.tape,
        required={
            pair: what
            for pair, what in separations(design).items()
            if frozenset(circuit_of(design, name) for name in pair) not in bare
        },
        floor=max(floors, key=thickness_of, default=()),
        cover=max(covers, key=thickness_of, default=()),
    )
