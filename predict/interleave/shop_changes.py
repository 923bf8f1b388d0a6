"""What a shop can change in an arrangement without touching turns, wire or core.

Each change is a function from design to design: more wraps of tape or a spacer where two circuits lie on each
other, wider margins around a winding, the wall between two chambers moved or made thicker, more wires in
hand. Every change adds something: no two circuits come nearer to each other, and no copper is taken away.
Amounts go in the steps in which a shop works (``MARGIN_STEP`` and so on), up to stated limits and as far as
the window has room. Changes can be combined: each finds its place in whatever design it is given.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from ..design import Design, ShieldStep, SpacerStep, Step, TapeStep, WindStep
from ..notation import millimetres
from ..winding import Face, circuit_of, ends_of, insulated_faces, place_of, winding_space
from .adjustment import Adjustment, multiples, room_of, with_steps
from .divisions import wire_in_hand

MOST_WRAPS = 12
"""Most wraps added to a face (judged by what a shop does; no source, as for those below)."""
MOST_SPACER = 3e-3
"""Thickest spacer laid in a face (m; judged)."""
MOST_MARGIN = 1 / 4
"""Most by which each margin grows, as part of the breadth (judged)."""
MOST_CHAMBER = 1 / 3
"""Most that is moved from one chamber to the other, as part of its breadth; also the most that a partition
takes from the chambers (judged)."""
MOST_HANDS = 2
"""Most wires in hand added (judged)."""
SPACER_STEP = 0.05e-3
"""Spacers come in multiples of this (m), the thinnest film (common practice)."""
MARGIN_STEP = 0.5e-3
"""Margins are whole multiples of this (m), as margin tape is cut (common practice)."""
BOBBIN_STEP = 0.1e-3
"""Chambers and partitions change by multiples of this (m; common practice)."""


def adjustments(design: Design) -> tuple[Adjustment, ...]:
    """Everything that can be changed in a design."""
    found = [*_at_faces(design), *_breadths(design), *_chambers(design), *_in_hand(design)]
    return tuple(adjustment for adjustment in found if adjustment.amounts)


# --- between circuits ------------------------------------------------------------------------------------


def _at_faces(design: Design) -> list[Adjustment]:
    faces: dict[tuple[str, str], list[Face]] = {}
    for face in insulated_faces(design):
        if face.kind == "stacked" and face.first is not None:
            first, second = circuit_of(design, face.first_names[0]), circuit_of(design, face.second_names[0])
            faces.setdefault((min(first, second), max(first, second)), []).append(face)
    result = []
    for (first, second), met in faces.items():
        where = f"{first}/{second}"
        tapes = [_last_tape(design, face) for face in met]
        taped = [step for step in tapes if step is not None]
        if len(taped) == len(met):
            result.append(_wraps(design, where, taped))
        result.append(_spacer(design, where, sorted({face.second for face in met})))
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
    """More wraps of the tape in the steps ``numbers``, found again in a changed design as the same ones of
    its tapes."""
    steps = design.build.steps
    tape_numbers = {sum(isinstance(step, TapeStep) for step in steps[:number]) for number in numbers}

    def change(changed: Design, amount: float) -> Design:
        result: list[Step] = []
        tapes = 0
        for step in changed.build.steps:
            if isinstance(step, TapeStep):
                if tapes in tape_numbers:
                    step = replace(step, wraps=int(np.asarray(step.wraps)) + round(amount))
                tapes += 1
            result.append(step)
        return with_steps(changed, result)

    def told(changed: Design) -> str:
        tapes = [step for step in changed.build.steps if isinstance(step, TapeStep)]
        mine = [tapes[number] for number in sorted(tape_numbers)]
        wraps = dict.fromkeys(str(int(np.asarray(step.wraps))) for step in mine)
        each = millimetres(float(np.asarray(mine[0].thickness)))
        return f"{' and '.join(wraps)} wraps of tape {each} between {where.replace('/', ' and ')}"

    amounts = tuple(float(k) for k in range(1, MOST_WRAPS + 1))
    return Adjustment(kind="wraps", where=where, amounts=amounts, change=change, told=told, design=design)


def _spacer(design: Design, where: str, before: list[int]) -> Adjustment:
    """A spacer right below the conductors of the steps ``before``, found again as the same ones of all that
    conduct."""

    conductor_numbers = {sum(step.conducts for step in design.build.steps[:number]) for number in before}

    def change(changed: Design, amount: float) -> Design:
        steps: list[Step] = []
        conductors = 0
        for step in changed.build.steps:
            if step.conducts:
                if conductors in conductor_numbers:
                    steps.append(SpacerStep(amount, chamber=step.chamber, leg=step.leg))
                conductors += 1
            steps.append(step)
        return with_steps(changed, steps)

    def told(changed: Design) -> str:
        steps = changed.build.steps
        over = [number for number, step in enumerate(steps) if step.conducts][min(conductor_numbers)]
        laid = next(step for step in reversed(steps[:over]) if isinstance(step, SpacerStep))
        thickness = millimetres(float(np.asarray(laid.thickness)))
        return f"a spacer of {thickness} between {where.replace('/', ' and ')}"

    amounts = multiples(MOST_SPACER, SPACER_STEP)
    return Adjustment(kind="spacer", where=where, amounts=amounts, change=change, told=told, design=design)


# --- along the layers ------------------------------------------------------------------------------------


def _breadths(design: Design) -> list[Adjustment]:
    """For every winding of one breadth: wider margins at both its ends."""
    if design.core.dimensions.ring:
        return []
    result = []
    for winding in design.windings:
        steps = _wound(design, winding.name)
        free = all(step.breadth is None and step.from_end is None and not step.beside for step in steps)
        if not steps or not free or winding.wire.flat:
            continue
        rooms = [room_of(design, step) for step in steps]
        margins = [ends_of(design, step, room)[0] for step, room in zip(steps, rooms, strict=True)]
        if max(rooms) - min(rooms) > 1e-6 or max(margins) - min(margins) > 1e-9:
            continue
        result.append(_breadth(design, winding.name, rooms[0], margins[0]))
    return result


def _wound(design: Design, name: str) -> list[WindStep]:
    return [step for step in design.build.steps if isinstance(step, WindStep) and step.winding == name]


def _breadth(design: Design, name: str, room: float, margin: float) -> Adjustment:
    """Margins that are whole multiples of ``MARGIN_STEP``, from the next wider one on."""

    def change(changed: Design, amount: float) -> Design:
        return with_steps(
            changed,
            [
                replace(step, margin=margin + amount)
                if isinstance(step, WindStep) and step.winding == name
                else step
                for step in changed.build.steps
            ],
        )

    def told(changed: Design) -> str:
        step = _wound(changed, name)[0]
        wide = float(np.asarray(step.margin))
        breadth = millimetres(room_of(changed, step) - 2 * wide)
        return f"{' and '.join((name, *step.companions))} over {breadth} (margins of {millimetres(wide)})"

    first = math.floor(margin / MARGIN_STEP + 1e-6) + 1
    last = math.floor((margin + MOST_MARGIN * room) / MARGIN_STEP + 1e-6)
    amounts = tuple(round(MARGIN_STEP * k - margin, 9) for k in range(first, last + 1))
    return Adjustment(kind="breadth", where=name, amounts=amounts, change=change, told=told, design=design)


def _chambers(design: Design) -> list[Adjustment]:
    """The wall between two chambers moved, or made thicker; not where something with a breadth of its own
    lies in them, as its bare ends would shrink."""
    space = winding_space(design)
    in_chambers = any(
        isinstance(step, ShieldStep) or (isinstance(step, WindStep) and step.breadth is not None)
        for step in design.build.steps
    )
    if space.ring or len(space.walls) != 2 or in_chambers:
        return []
    breadths, _, free = _walls(design)
    ups, downs = (multiples(MOST_CHAMBER * breadth, BOBBIN_STEP) for breadth in breadths)
    both = (*(-amount for amount in reversed(downs)), *ups)
    thicker = multiples(free + MOST_CHAMBER * min(breadths), BOBBIN_STEP)
    return [
        Adjustment(
            kind="chambers",
            where="bobbin",
            amounts=both,
            change=_wall_moved,
            told=_chambers_told,
            design=design,
        ),
        Adjustment(
            kind="partition",
            where="bobbin",
            amounts=thicker,
            change=_wall_thicker,
            told=_partition_told,
            design=design,
        ),
    ]


def _walls(design: Design) -> tuple[tuple[float, float], float, float]:
    """Breadths of the two chambers, thickness of the partition, and what they leave of the window (m)."""
    space = winding_space(design)
    lower, upper = (float((high - low).flat[0]) for low, high in space.walls)
    partition, flange = float(np.asarray(design.bobbin.partition)), float(np.asarray(design.bobbin.flange))
    return (lower, upper), partition, max(space.height - 2 * flange - partition - lower - upper, 0.0)


def _with_walls(design: Design, lower: float, upper: float, partition: float) -> Design:
    chambers = (round(lower, 9), round(upper, 9))
    return replace(design, bobbin=replace(design.bobbin, chambers=chambers, partition=round(partition, 9)))


def _wall_moved(design: Design, amount: float) -> Design:
    (lower, upper), partition, _ = _walls(design)
    return _with_walls(design, lower - amount, upper + amount, partition)


def _wall_thicker(design: Design, amount: float) -> Design:
    """A thicker partition takes what is free of the window first, then of both chambers alike."""
    (lower, upper), partition, free = _walls(design)
    each = max(amount - free, 0.0) / 2
    return _with_walls(design, lower - each, upper - each, partition + amount)


def _chambers_told(design: Design) -> str:
    return f"chambers of {' and '.join(map(millimetres, _walls(design)[0]))}"


def _partition_told(design: Design) -> str:
    return f"partition of {millimetres(_walls(design)[1])}, {_chambers_told(design)}"


# --- copper ----------------------------------------------------------------------------------------------


def _in_hand(design: Design) -> list[Adjustment]:
    """For every winding, with those wound together with it as one."""
    result = []
    for names in _wound_together(design):
        wires = [design.winding(name).wire for name in names]
        alike = len({(wire.kind, wire.in_hand) for wire in wires}) == 1
        if alike and not wires[0].flat:
            result.append(_hands(design, names))
    return result


def _wound_together(design: Design) -> list[tuple[str, ...]]:
    """The windings in groups: those that share a layer turn by turn form one group."""
    group = {winding.name: {winding.name} for winding in design.windings}
    for step in design.build.steps:
        if isinstance(step, WindStep):
            joined = set().union(*(group[name] for name in step.windings))
            for name in joined:
                group[name] = joined
    names = [winding.name for winding in design.windings]
    return list(
        dict.fromkeys(tuple(name for name in names if name in group[winding_name]) for winding_name in names)
    )


def _hands(design: Design, names: tuple[str, ...]) -> Adjustment:
    now = design.winding(names[0]).wire.in_hand

    def change(changed: Design, amount: float) -> Design:
        hands = now + round(amount)
        windings = tuple(
            replace(winding, wire=wire_in_hand(winding.wire, hands)) if winding.name in names else winding
            for winding in changed.windings
        )
        return replace(changed, windings=windings)

    def told(changed: Design) -> str:
        each = " each" if len(names) > 1 else ""
        return f"{' and '.join(names)}{each} with {changed.winding(names[0]).wire.in_hand} wires in hand"

    amounts = tuple(float(k) for k in range(1, MOST_HANDS + 1))
    return Adjustment(
        kind="in_hand", where="+".join(names), amounts=amounts, change=change, told=told, design=design
    )
