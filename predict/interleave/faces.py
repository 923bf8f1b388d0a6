"""Insulation at the faces between neighbouring pieces of a build, as its present steps have it.

Between two circuits an arrangement gets what the design uses between those two circuits: where it uses
several, the thickest; where they are no neighbours in the design, the thickest that it uses between any two
circuits. Pieces of one circuit get what lies between those windings now, else nothing (in flat builds, whose
tracks would touch, the thinnest insulation of the design). It is repeated from the design, not judged.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..design import Design, ShieldStep, SpacerStep, Step, TapeStep, WindStep
from ..winding.insulated_faces import circuit_of
from .rules import Rules, refuse

Insulation = tuple[Step, ...]


def circuits_of(design: Design, step: Step) -> frozenset[str]:
    """The circuits of a wind step with its companions, or of a shield (that to which it is tied)."""
    if isinstance(step, ShieldStep):
        return frozenset({circuit_of(design, step.name)})
    assert isinstance(step, WindStep)
    return frozenset(circuit_of(design, name) for name in (step.winding, *step.companions))


def insulation_thickness(insulation: Sequence[Step]) -> float:
    """Thickness (m) of tape and spacers together."""
    total = 0.0
    for step in insulation:
        if isinstance(step, TapeStep):
            total += float(np.asarray(step.thickness)) * int(np.asarray(step.wraps))
        elif isinstance(step, SpacerStep):
            total += float(np.asarray(step.thickness))
    return total


def wraps_of(insulation: Sequence[Step]) -> int:
    """Wraps of tape."""
    return sum(int(np.asarray(step.wraps)) for step in insulation if isinstance(step, TapeStep))


def name_of(step: Step) -> str:
    """What a piece is called: its winding, with those wound together with it; a shield's name."""
    if isinstance(step, ShieldStep):
        return step.name
    assert isinstance(step, WindStep)
    return "+".join((step.winding, *step.companions))


@dataclass(frozen=True)
class Faces:
    """``circuits``: insulation between two circuits now; ``windings``: between two pieces of one circuit.
    ``most``, ``least``: the thickest and the thinnest of the design between any two."""

    design: Design
    circuits: dict[frozenset[str], Insulation]
    windings: dict[frozenset[str], Insulation]
    most: Insulation
    least: Insulation
    tape: tuple[tuple[str, str, int], ...]

    def between(self, inner: Step, outer: Step) -> Insulation:
        """What is to lie between two neighbouring pieces, without chamber and leg."""
        together = circuits_of(self.design, inner) | circuits_of(self.design, outer)
        flat = self.design.build.direction == "up"
        if len(together) > 1:
            found = self.circuits.get(together, self.most)
        else:
            pair = frozenset({name_of(inner), name_of(outer)})
            found = self.windings.get(pair, self.least if flat else ())
        return self._at_least(found, inner, outer)

    def _at_least(self, found: Insulation, inner: Step, outer: Step) -> Insulation:
        """With the wraps that the rules ask for between two windings."""
        one, other = set(name_of(inner).split("+")), set(name_of(outer).split("+"))
        for first, second, least in self.tape:
            meets = (first in one and second in other) or (second in one and first in other)
            missing = least - wraps_of(found)
            if not meets or missing <= 0:
                continue
            places = [k for k, step in enumerate(found) if isinstance(step, TapeStep)]
            if places:
                last = found[places[-1]]
                assert isinstance(last, TapeStep)
                more = replace(last, wraps=int(np.asarray(last.wraps)) + missing)
                found = (*found[: places[-1]], more, *found[places[-1] + 1 :])
            else:
                found = (*found, replace(self._thickest_tape(), wraps=missing))
        return found

    def _thickest_tape(self) -> TapeStep:
        tapes = [step for step in self.design.build.steps if isinstance(step, TapeStep)]
        if not tapes:
            raise refuse(
                "option --tape",
                "a design without tape",
                "a design whose steps have the tape to use",
                "Give a { tape = … } step in the design file.",
            )
        return replace(max(tapes, key=lambda step: float(np.asarray(step.thickness))), chamber=None, leg=1)


def faces_of(design: Design, rules: Rules) -> Faces:
    """The insulation of the present build, by what it lies between."""
    circuits: dict[frozenset[str], Insulation] = {}
    windings: dict[frozenset[str], Insulation] = {}
    last: dict[tuple[int, int | None], Step] = {}
    between: dict[tuple[int, int | None], list[Step]] = {}
    for step in design.build.steps:
        place = (step.leg, step.chamber)
        if isinstance(step, TapeStep | SpacerStep):
            between.setdefault(place, []).append(replace(step, chamber=None, leg=1))
            continue
        if place in last and not (isinstance(step, WindStep) and step.beside):
            found = tuple(between.get(place, []))
            together = circuits_of(design, last[place]) | circuits_of(design, step)
            table, key = circuits, together
            if len(together) == 1:
                table, key = windings, frozenset({name_of(last[place]), name_of(step)})
            if insulation_thickness(found) >= insulation_thickness(table.get(key, ())):
                table[key] = found
        last[place] = step
        between[place] = []
    every = [*circuits.values(), *windings.values()]
    some = [found for found in every if found] or [()]
    most = max(circuits.values(), key=insulation_thickness, default=())
    return Faces(design, circuits, windings, most, min(some, key=insulation_thickness), rules.tape)
