"""The build sheet's steps and faces in words, one row a step."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from ...compare.plan import ShopReading
from ...predict.design import Design, ShieldStep, SpacerStep, TapeStep, WindStep
from ...predict.notation import format_quantity
from ...predict.shop import BuildSheet, Operation
from ...predict.winding import Face, steps_in_layers


@dataclass(frozen=True, kw_only=True)
class ShopSheet:
    """What the shop is handed: the steps, the readings on the way, and how they were found.

    Attributes
    ----------
    build : BuildSheet
    readings : tuple[ShopReading, ...], readings on the way, in order
    builds : int, random builds behind the ranges, count
    seed : int, seed of the random builds
    copies : int, parts that have boxes for their readings, count
    lot : int, parts for which material is counted, count
    """

    build: BuildSheet
    readings: tuple[ShopReading, ...]
    builds: int
    seed: int
    copies: int = 1
    lot: int = 1


@dataclass(frozen=True, kw_only=True)
class StepRow:
    """One build step in words.

    Attributes
    ----------
    number : str, its number, as text
    work : str, what goes on
    turns : str, turns, with the layers
    ends : str, direction, start and finish
    place : str, margins, sleeving, chamber, where along the layer
    height : tuple[str, str], height of the build once the step is on, and its range, as texts in mm
    left : str, room that is left
    checks : tuple[ShopReading, ...], what to read then
    """

    number: str
    work: str
    turns: str
    ends: str
    place: str
    height: tuple[str, str]
    left: str
    checks: tuple[ShopReading, ...]


def step_rows(whole: ShopSheet) -> list[StepRow]:
    """Every step as a row."""
    design = whole.build.design
    return [
        StepRow(
            number=str(operation.number),
            work=_work(design, operation),
            turns=_turns(design, operation),
            ends=_ends(design, operation),
            place=_place(design, operation),
            height=_height(operation),
            left="" if operation.remaining is None else _millimetres(operation.remaining),
            checks=tuple(reading for reading in whole.readings if reading.after == operation.number),
        )
        for operation in whole.build.operations
    ]


def _millimetres(metres: float) -> str:
    return f"{metres * 1e3:.2f} mm"


def _height(operation: Operation) -> tuple[str, str]:
    low, high = operation.height.low * 1e3, operation.height.high * 1e3
    return f"{operation.height.nominal * 1e3:.2f}", f"{low:.2f} … {high:.2f}"


def _work(design: Design, operation: Operation) -> str:
    """What is wound or laid, in words."""
    step = operation.step
    if isinstance(step, WindStep):
        told = []
        for section in operation.sections:
            wire = design.winding(section.winding).wire
            part = f", section {section.ordinal} of {section.count}" if section.count > 1 else ""
            told.append(f"{section.winding}{part}: {wire.label or wire.kind}")
        track = design.winding(operation.sections[0].winding).wire.track
        return ("Lay " if track else "Wind ") + " together, turn by turn, with ".join(told)
    if isinstance(step, TapeStep):
        wraps = int(np.asarray(step.wraps))
        each = format_quantity(float(np.asarray(step.thickness)), "m", 3)
        length = "" if operation.tape_length is None else f", about {operation.tape_length:.2f} m"
        return f"Tape {each}: {wraps} {'wrap' if wraps == 1 else 'wraps'}{length}"
    if isinstance(step, SpacerStep):
        return f"Spacer {format_quantity(float(np.asarray(step.thickness)), 'm', 3)}"
    assert isinstance(step, ShieldStep)
    thickness, width = float(np.asarray(step.thickness)), float(np.asarray(step.width))
    size = f"{format_quantity(thickness, 'm', 3)} × {_millimetres(width)}"
    tied = f"tie to {_tied_to(design, step.tied)}" if step.tied else "leave its end open"
    closed = (
        "ends TOUCH as drawn: a shorted turn" if step.closed else "insulate its overlap: ends must not touch"
    )
    return f"Shield {step.name}, {size}: {tied}; {closed}"


def _tied_to(design: Design, tied: str) -> str:
    """The core, or an end of a winding with its pin: "P start, pin 1"."""
    if tied == "core":
        return "the core"
    name, _, end = tied.rpartition(".")
    winding = design.winding(name)
    pin = winding.start if end == "start" else winding.finish
    return f"{name} {end}" + (f", pin {pin}" if pin else "")


def _turns(design: Design, operation: Operation) -> str:
    """Turns and layers of the step's own winding."""
    if not isinstance(operation.step, WindStep):
        return ""
    section = operation.sections[0]
    if not steps_in_layers(design)[operation.number - 1]:
        return f"{section.turns} {'turn' if section.turns == 1 else 'turns'}, random-wound"
    count = len(section.layers)
    layers = "1 layer" if count == 1 else f"{count} layers"
    each = f" ({_layers(section.layers)})" if count > 1 else ""
    return f"{section.turns} {'turn' if section.turns == 1 else 'turns'} in {layers}{each}"


def _layers(turns: Sequence[int]) -> str:
    """Turns of the layers: "24 + 24 + 12", many alike "11 × 24 + 12"."""
    told: list[str] = []
    layer_index = 0
    while layer_index < len(turns):
        alike = layer_index
        while alike < len(turns) and turns[alike] == turns[layer_index]:
            alike += 1
        number = alike - layer_index
        told.append(
            f"{number} × {turns[layer_index]}"
            if number > 2
            else " + ".join([str(turns[layer_index])] * number)
        )
        layer_index = alike
    return " + ".join(told)


def _ends(design: Design, operation: Operation) -> str:
    told = []
    for section in operation.sections:
        winding = design.winding(section.winding)
        way = "clockwise" if winding.turning == "cw" else "counter-clockwise"
        start = (
            _end(winding.start, "start") if section.ordinal == 1 else f"on from section {section.ordinal - 1}"
        )
        finish = _end(winding.finish, "finish")
        if section.ordinal < section.count:
            finish = f"on to section {section.ordinal + 1}"
        if section.count > 1 and winding.sections == "parallel":
            start, finish = _end(winding.start, "start"), _end(winding.finish, "finish")
        name = f"{section.winding}: " if len(operation.sections) > 1 else ""
        told.append(f"{name}{way}, {start} → {finish}")
    return "; ".join(told)


def _end(pin: str, word: str) -> str:
    return f"{word} pin {pin}" if pin else f"{word} (no pin given)"


def _place(design: Design, operation: Operation) -> str:
    """Chamber, leg, breadth, margins, sleeving, manner."""
    told = []
    if operation.step.chamber is not None:
        told.append(f"chamber {operation.step.chamber}")
    if any(step.leg > 1 for step in design.build.steps):
        told.append(f"leg {operation.step.leg}")
    if isinstance(operation.step, WindStep):
        told += [
            *_extent(design, operation, operation.step),
            *_manner(design, operation, operation.step),
            *_notes(design, operation),
        ]
    return ", ".join(told)


def _extent(design: Design, operation: Operation, step: WindStep) -> Iterator[str]:
    """Where along the leg or the ring the layers of a step lie."""
    build = design.build
    if step.beside:
        yield "beside the previous step, at the same height"
    margin = build.margin if step.margin is None else step.margin
    if float(np.asarray(margin)) > 0 and not design.core.dimensions.ring:
        where = "from each edge of the board" if _etched(design, step) else "at each end"
        yield f"margin {_millimetres(float(np.asarray(margin)))} {where}"
    if step.sector is not None:
        yield f"sector {np.degrees(step.from_angle):.0f} … {np.degrees(step.from_angle + step.sector):.0f}°"
    if operation.along is not None and (step.breadth is not None or step.from_end is not None):
        low, high = (end * 1e3 for end in operation.along)
        base = "from the leg" if build.direction == "up" else "above the lower yoke"
        yield f"from {low:.1f} to {high:.1f} mm {base}"


def _etched(design: Design, step: WindStep) -> bool:
    return design.winding(step.winding).wire.track


def _manner(design: Design, operation: Operation, step: WindStep) -> Iterator[str]:
    """How the layers of a step are wound."""
    build = design.build
    style, several = step.style or build.style, len(operation.sections[0].layers) > 1
    if several and style == "same_side":
        yield "every layer from the same side"
    kind = design.winding(step.winding).wire.kind
    if design.core.dimensions.ring and operation.sections[0].turns == 1:
        yield "once through the hole"
    elif kind in ("round", "litz") and style != "scramble" and step.thickness is None:
        over = "ring" if step.sector is None else "sector"
        over = over if design.core.dimensions.ring else "breadth"
        yield "wind tight from the start" if operation.tight else f"spread over the {over}"
    between = build.interlayer if step.interlayer is None else step.interlayer
    if float(np.asarray(between)) > 0 and several:
        yield f"{format_quantity(float(np.asarray(between)), 'm', 3)} between its layers"


def _notes(design: Design, operation: Operation) -> Iterator[str]:
    """Sleeving and note of every winding of a step."""
    for section in operation.sections:
        winding = design.winding(section.winding)
        if winding.sleeving:
            yield f"sleeving of {section.winding}: {winding.sleeving}"
        if winding.note:
            yield f"{section.winding}: {winding.note}"


def faces_text(faces: Sequence[Face]) -> list[str]:
    """All faces as the file gives them; those of the same circuits with the same insulation in one line."""
    alike: dict[tuple[frozenset[str], str, str], list[Face]] = {}
    for face in faces:
        names = frozenset({_and(face.first_names), _and(face.second_names)})
        alike.setdefault((names, face.kind, _laid(face)), []).append(face)
    return [_faces_text(met) for met in alike.values()]


def _faces_text(faces: Sequence[Face]) -> str:
    """Faces of the same circuits with the same insulation."""
    face = faces[0]
    between = " and ".join([_and(face.first_names), _and(face.second_names)])
    how = {
        "stacked": "",
        "beside": "side by side",
        "together": "turn by turn in one layer",
        "chambers": "in neighbouring chambers",
        "sectors": "in neighbouring sectors",
        "legs": "on the two legs",
        "core": "",
    }[face.kind]
    lone = [met for met in faces if met.first in (None, met.second)]
    numbers = [
        f"{met.second + 1}" if met in lone else f"{(met.first or 0) + 1} and {met.second + 1}"
        for met in faces
    ]
    steps = f"step{'' if len(lone) == len(faces) == 1 else 's'} {', '.join(numbers)}"
    if how:
        steps += f", {how}"
    return f"{between} ({steps}): {_laid(face)}"


def _laid(face: Face) -> str:
    """What lies in a face, in words."""
    laid = [
        f"{part.count} × {part.what} {format_quantity(part.thickness, 'm', 3)}"
        if part.count > 1
        else f"{part.what} {format_quantity(part.thickness, 'm', 3)}"
        for part in face.insulation
    ]
    apart = face.kind in ("legs", "sectors")
    bare = "nothing but " + ("air and " if apart else "") + "the wires' own insulation"
    if laid and face.kind == "legs":
        laid.append("air")
    return " + ".join(laid) or bare


def _and(names: Sequence[str]) -> str:
    return ", ".join("the core" if name == "core" else name for name in names)
