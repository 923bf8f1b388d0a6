"""What a shop can change in an arrangement without touching turns, wire or core: each is a change of the
design.

The changes are wraps of tape or a spacer where two circuits lie on each other, the breadth over which a
winding is wound (wider margins), the breadth of the chambers, the partition between them, and wires in hand.
Every change adds something: no two circuits come nearer to each other, and no copper is taken away. Amounts
end at stated limits, and at what still fits the window.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from ..design import Design, ShieldStep, SpacerStep, Step, TapeStep, WindStep
from ..errors import BuildError
from ..winding import Face, check_fit, circuit_of, ends_of, insulated_faces, place_of, winding_space
from .divisions import wire_in_hand

MOST_WRAPS = 12
"""Most wraps added to a face."""
MOST_SPACER = 3e-3
"""Thickest spacer laid in a face (m)."""
MOST_MARGIN = 1 / 4
"""Most by which each margin grows, as part of the breadth."""
MOST_CHAMBER = 1 / 3
"""Most that is moved from one chamber to the other, as part of its breadth; also the most that a partition
takes from the chambers."""
MOST_HANDS = 2
"""Most wires in hand added."""


@dataclass(frozen=True)
class Adjustment:
    """One thing that can be changed.

    Attributes
    ----------
    kind : str
        "wraps", "spacer", "breadth", "chambers", "partition" or "in_hand".
    where : str
        Circuits, windings or part that it changes.
    amounts : tuple of float
        What may be added, rising, m or count; for "chambers" what is moved to the upper one, negative to the
        lower one.
    change : callable (Design, float) to Design
        The design with an amount added.
    words : callable float to str
        What is then built, in words.
    """

    kind: str
    where: str
    amounts: tuple[float, ...]
    change: Callable[[Design, float], Design]
    words: Callable[[float], str]

    def fitting(self, design: Design) -> tuple[float, ...]:
        """The amounts with which a design still fits its window.

        They are found by bisection: where one amount fits, so do the smaller ones.

        Parameters
        ----------
        design : Design
            Design of one build.

        Returns
        -------
        tuple of float
            Amounts that fit, rising, m or count.
        """
        below = tuple(amount for amount in reversed(self.amounts) if amount < 0)
        above = tuple(amount for amount in self.amounts if amount >= 0)
        return tuple(sorted((*self._first_that_fit(design, below), *self._first_that_fit(design, above))))

    def _first_that_fit(self, design: Design, amounts: tuple[float, ...]) -> tuple[float, ...]:
        low, high = 0, len(amounts)
        while low < high:
            middle = (low + high + 1) // 2
            if self._fits(design, amounts[middle - 1]):
                low = middle
            else:
                high = middle - 1
        return amounts[:low]

    def _fits(self, design: Design, amount: float) -> bool:
        try:
            check_fit(self.change(design, amount))
        except BuildError:
            return False
        return True


def adjustments(design: Design) -> tuple[Adjustment, ...]:
    """Everything that can be changed in a design."""
    found = [*_at_faces(design), *_breadths(design), *_chambers(design), *_in_hand(design)]
    return tuple(one for one in found if one.amounts)


def _millimetres(metres: float) -> str:
    return f"{metres * 1e3:.4g} mm"


# --- between circuits ------------------------------------------------------------------------------------


def _faces(design: Design) -> dict[tuple[str, str], list[Face]]:
    """Faces of sections that lie on each other, by their two circuits."""
    found: dict[tuple[str, str], list[Face]] = {}
    for face in insulated_faces(design):
        if face.kind == "stacked" and face.first is not None:
            one, other = circuit_of(design, face.first_names[0]), circuit_of(design, face.second_names[0])
            found.setdefault((min(one, other), max(one, other)), []).append(face)
    return found


def _at_faces(design: Design) -> list[Adjustment]:
    result = []
    for (one, other), faces in _faces(design).items():
        where = f"{one}/{other}"
        tapes = [_last_tape(design, face) for face in faces]
        own = [step for step in tapes if step is not None]
        if len(own) == len(faces):
            result.append(_wraps(design, where, own))
        result.append(_spacer(where, [face.second for face in faces]))
    return result


def _last_tape(design: Design, face: Face) -> int | None:
    """The step of the outermost tape in a face."""
    assert face.first is not None
    steps = design.build.steps
    over = place_of(steps[face.second])
    for number in range(face.second - 1, face.first, -1):
        if isinstance(steps[number], TapeStep) and place_of(steps[number]).overlaps(over):
            return number
    return None


def _wraps(design: Design, where: str, numbers: list[int]) -> Adjustment:
    own = set(numbers)

    def change(one: Design, amount: float) -> Design:
        def more(number: int, step: Step) -> Step:
            if number not in own:
                return step
            assert isinstance(step, TapeStep)
            return replace(step, wraps=int(np.asarray(step.wraps)) + round(amount))

        return _with_steps(one, [more(number, step) for number, step in enumerate(one.build.steps)])

    tape = design.build.steps[numbers[0]]
    assert isinstance(tape, TapeStep)
    each = _millimetres(float(np.asarray(tape.thickness)))
    present = [int(np.asarray(design.build.steps[number].wraps)) for number in numbers]  # type: ignore[union-attr]

    def words(amount: float) -> str:
        told = dict.fromkeys(f"{wraps + round(amount)}" for wraps in present)
        return f"{' and '.join(told)} wraps of tape {each} between {where.replace('/', ' and ')}"

    return Adjustment("wraps", where, tuple(float(k) for k in range(1, MOST_WRAPS + 1)), change, words)


def _spacer(where: str, before: list[int]) -> Adjustment:
    def change(one: Design, amount: float) -> Design:
        steps: list[Step] = []
        for number, step in enumerate(one.build.steps):
            if number in before:
                steps.append(SpacerStep(amount, chamber=step.chamber, leg=step.leg))
            steps.append(step)
        return _with_steps(one, steps)

    def words(amount: float) -> str:
        return f"a spacer of {_millimetres(amount)} between {where.replace('/', ' and ')}"

    return Adjustment("spacer", where, _even(MOST_SPACER, 0.05e-3), change, words)


def _with_steps(design: Design, steps: list[Step]) -> Design:
    return replace(design, build=replace(design.build, steps=tuple(steps)))


def _even(most: float, step: float) -> tuple[float, ...]:
    """Whole multiples of ``step`` up to ``most``."""
    return tuple(round(step * k, 9) for k in range(1, int(most / step + 1e-9) + 1))


# --- along the layers ------------------------------------------------------------------------------------


def _breadths(design: Design) -> list[Adjustment]:
    """For every winding of one breadth: wider margins at both its ends."""
    if design.core.dimensions.ring:
        return []
    space = winding_space(design)
    result = []
    for winding in design.windings:
        steps = [
            step for step in design.build.steps if isinstance(step, WindStep) and step.winding == winding.name
        ]
        free = all(step.breadth is None and step.from_end is None and not step.beside for step in steps)
        if not steps or not free or winding.wire.flat:
            continue
        bays = [space.bay(place_of(step)) for step in steps]
        rooms = [float((bay.end - bay.start).flat[0]) for bay in bays]
        margins = [ends_of(design, step, room)[0] for step, room in zip(steps, rooms, strict=True)]
        if max(rooms) - min(rooms) > 1e-6 or max(margins) - min(margins) > 1e-9:
            continue
        result.append(_breadth(winding.name, rooms[0], margins[0]))
    return result


def _breadth(name: str, room: float, margin: float) -> Adjustment:
    def change(one: Design, amount: float) -> Design:
        return _with_steps(
            one,
            [
                replace(step, margin=margin + amount)
                if isinstance(step, WindStep) and step.winding == name
                else step
                for step in one.build.steps
            ],
        )

    def words(amount: float) -> str:
        wide = _millimetres(room - 2 * (margin + amount))
        return f"{name} over {wide} (margins of {_millimetres(margin + amount)})"

    return Adjustment("breadth", name, _even(MOST_MARGIN * room, 0.1e-3), change, words)


def _chambers(design: Design) -> list[Adjustment]:
    """The wall between two chambers moved, or made thicker; not where something with a breadth of its own
    lies in them, as its bare ends would shrink."""
    space = winding_space(design)
    own = any(
        isinstance(step, ShieldStep) or (isinstance(step, WindStep) and step.breadth is not None)
        for step in design.build.steps
    )
    if space.ring or len(space.walls) != 2 or own:
        return []
    breadths = [float((high - low).flat[0]) for low, high in space.walls]
    partition = float(np.asarray(design.bobbin.partition))
    flange = float(np.asarray(design.bobbin.flange))
    free = max(space.height - 2 * flange - partition - sum(breadths), 0.0)

    def narrowed(amount: float) -> tuple[float, float]:
        """The chambers' breadths beside a partition thicker by so much: what is free of the window goes
        first."""
        each = max(amount - free, 0.0) / 2
        return breadths[0] - each, breadths[1] - each

    def bobbin(one: Design, low: float, high: float, wall: float) -> Design:
        chambers = (round(low, 9), round(high, 9))
        return replace(one, bobbin=replace(one.bobbin, chambers=chambers, partition=round(wall, 9)))

    def moved(one: Design, amount: float) -> Design:
        return bobbin(one, breadths[0] - amount, breadths[1] + amount, partition)

    def thicker(one: Design, amount: float) -> Design:
        return bobbin(one, *narrowed(amount), partition + amount)

    ups, downs = (_even(MOST_CHAMBER * breadth, 0.1e-3) for breadth in breadths)
    return [
        Adjustment(
            "chambers",
            "bobbin",
            (*(-amount for amount in reversed(downs)), *ups),
            moved,
            lambda amount: (
                f"chambers of {_millimetres(breadths[0] - amount)} and {_millimetres(breadths[1] + amount)}"
            ),
        ),
        Adjustment(
            "partition",
            "bobbin",
            _even(free + MOST_CHAMBER * min(breadths), 0.1e-3),
            thicker,
            lambda amount: (
                f"partition of {_millimetres(partition + amount)}, chambers of "
                + " and ".join(map(_millimetres, narrowed(amount)))
            ),
        ),
    ]


# --- copper ----------------------------------------------------------------------------------------------


def _in_hand(design: Design) -> list[Adjustment]:
    """For every winding, with those wound together with it as one."""
    result = []
    for names in _wound_together(design):
        wires = [design.winding(name).wire for name in names]
        alike = len({(wire.kind, wire.in_hand) for wire in wires}) == 1
        if alike and not wires[0].flat:
            result.append(_hands(names, wires[0].in_hand))
    return result


def _wound_together(design: Design) -> list[tuple[str, ...]]:
    """The windings in groups: those that share a layer turn by turn form one group."""
    group = {winding.name: {winding.name} for winding in design.windings}
    for step in design.build.steps:
        if isinstance(step, WindStep):
            joined = set().union(*(group[name] for name in (step.winding, *step.companions)))
            for name in joined:
                group[name] = joined
    names = [winding.name for winding in design.windings]
    return list(dict.fromkeys(tuple(name for name in names if name in group[one]) for one in names))


def _hands(names: tuple[str, ...], now: int) -> Adjustment:
    def change(one: Design, amount: float) -> Design:
        hands = now + round(amount)
        windings = tuple(
            replace(winding, wire=wire_in_hand(winding.wire, hands)) if winding.name in names else winding
            for winding in one.windings
        )
        return replace(one, windings=windings)

    def words(amount: float) -> str:
        each = " each" if len(names) > 1 else ""
        return f"{' and '.join(names)}{each} with {now + round(amount)} wires in hand"

    return Adjustment(
        "in_hand", "+".join(names), tuple(float(k) for k in range(1, MOST_HANDS + 1)), change, words
    )
