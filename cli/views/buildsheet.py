"""The views of ``sheet``: the build sheet for the winding shop, as a page to print, as text, as data."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from ...compare.in_process import ShopReading
from ...compare.process_readings import SURE
from ...predict.buildsheet import BuildSheet, Operation, WireNeed
from ...predict.cross_section import cross_section
from ...predict.design import BenchTest, Design, ShieldStep, SpacerStep, TapeStep, ToroidDimensions, WindStep
from ...predict.insulated_faces import Face
from ...predict.notation import format_quantity
from ...predict.section_readings import resistance_test
from . import words
from .drawing_svg import steps_svg
from .html_page import render
from .page import Heading, Paragraph, Part
from .prediction import core_line

REPEATED = (
    "This sheet repeats the insulation that the design file gives. Dividing a winding multiplies its faces."
)
STOP = (
    "Stop where a reading lies outside its limits: read again, then find the cause before the next step "
    "covers it. What a reading points to is what a single mistake would do; several may stand behind one."
)
TEST_CORE = (
    "Before its own core is in, a part's ratio is read on a closed test core (an ungapped pair that slides "
    "on), or by a comparison of turns; its inductance says little."
)


CONNECT = (
    "What is not named stays open; every short is a link of its own, as short as possible, soldered at the "
    "pins; voltages are read unloaded; resistances with four wires, the sense wires inside."
)
LIMITS = (
    "Limits that the file does not give leave room for three standard deviations of production and the "
    "bench's uncertainty. Direct-current resistances are read with four wires and brought to the temperature "
    "that is given, else to 20 °C."
)


@dataclass(frozen=True)
class ShopSheet:
    """What the shop is handed: the steps, the readings on the way, and how they were found."""

    build: BuildSheet
    readings: tuple[ShopReading, ...]
    builds: int
    seed: int


@dataclass(frozen=True)
class Row:
    """One build step in words. number : as text. work : what goes on. turns : with the layers. ends :
    direction, start and finish. place : margins, sleeving, chamber, where along the layer. height : of the
    build once it is on (mm), and its range. left : room that is left. checks : what to read then."""

    number: str
    work: str
    turns: str
    ends: str
    place: str
    height: tuple[str, str]
    left: str
    checks: tuple[ShopReading, ...]


def rows_of(whole: ShopSheet) -> list[Row]:
    """Every step as a row."""
    design = whole.build.design
    return [
        Row(
            str(one.number),
            _work(design, one),
            _turns(one),
            _ends(design, one),
            _place(design, one),
            _height(one),
            "" if one.remaining is None else _millimetres(one.remaining),
            tuple(reading for reading in whole.readings if reading.after == one.number),
        )
        for one in whole.build.operations
    ]


def _millimetres(metres: float) -> str:
    return f"{metres * 1e3:.2f} mm"


def _height(one: Operation) -> tuple[str, str]:
    low, high = one.height.low * 1e3, one.height.high * 1e3
    return f"{one.height.nominal * 1e3:.2f}", f"{low:.2f} … {high:.2f}"


def _work(design: Design, one: Operation) -> str:
    """What is wound or laid, in words."""
    step = one.step
    if isinstance(step, WindStep):
        told = []
        for section in one.sections:
            wire = design.winding(section.winding).wire
            part = f", section {section.ordinal} of {section.count}" if section.count > 1 else ""
            told.append(f"{section.winding}{part}: {wire.label or wire.kind}")
        track = design.winding(one.sections[0].winding).wire.kind == "track"
        return ("Lay " if track else "Wind ") + " together, turn by turn, with ".join(told)
    if isinstance(step, TapeStep):
        wraps = int(np.asarray(step.wraps))
        each = format_quantity(float(np.asarray(step.thickness)), "m", 3)
        length = "" if one.tape_length is None else f", about {one.tape_length:.2f} m"
        return f"Tape {each}: {wraps} {'wrap' if wraps == 1 else 'wraps'}{length}"
    if isinstance(step, SpacerStep):
        return f"Spacer {format_quantity(float(np.asarray(step.thickness)), 'm', 3)}"
    assert isinstance(step, ShieldStep)
    thickness, width = float(np.asarray(step.thickness)), float(np.asarray(step.width))
    size = f"{format_quantity(thickness, 'm', 3)} × {_millimetres(width)}"
    tied = f"tie to {step.tied}" if step.tied else "leave its end open"
    closed = (
        "ends TOUCH as drawn: a shorted turn" if step.closed else "insulate its overlap: ends must not touch"
    )
    return f"Shield {step.name}, {size}: {tied}; {closed}"


def _turns(one: Operation) -> str:
    """Turns and layers of the step's own winding."""
    if not one.sections:
        return ""
    section = one.sections[0]
    count = len(section.layers)
    layers = "1 layer" if count == 1 else f"{count} layers"
    each = f" ({_layers(section.layers)})" if count > 1 else ""
    return f"{section.turns} {'turn' if section.turns == 1 else 'turns'} in {layers}{each}"


def _layers(turns: Sequence[int]) -> str:
    """Turns of the layers: "24 + 24 + 12", many alike "11 × 24 + 12"."""
    told: list[str] = []
    place = 0
    while place < len(turns):
        alike = place
        while alike < len(turns) and turns[alike] == turns[place]:
            alike += 1
        number = alike - place
        told.append(f"{number} × {turns[place]}" if number > 2 else " + ".join([str(turns[place])] * number))
        place = alike
    return " + ".join(told)


def _ends(design: Design, one: Operation) -> str:
    told = []
    for section in one.sections:
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
        name = f"{section.winding}: " if len(one.sections) > 1 else ""
        told.append(f"{name}{way}, {start} → {finish}")
    return "; ".join(told)


def _end(pin: str, word: str) -> str:
    return f"{word} pin {pin}" if pin else f"{word} (no pin given)"


def _place(design: Design, one: Operation) -> str:
    """Chamber, leg, breadth, margins, sleeving, manner."""
    step, build = one.step, design.build
    told = []
    chamber, leg = getattr(step, "chamber", None), getattr(step, "leg", 1)
    if chamber is not None:
        told.append(f"chamber {chamber}")
    if any(other.leg > 1 for other in build.steps):
        told.append(f"leg {leg}")
    if not isinstance(step, WindStep):
        return ", ".join(told)
    if step.beside:
        told.append("beside the step before, on the same height")
    margin = build.margin if step.margin is None else step.margin
    if float(np.asarray(margin)) > 0 and not isinstance(design.core.dimensions, ToroidDimensions):
        told.append(f"margin {_millimetres(float(np.asarray(margin)))} at each end")
    if step.sector is not None:
        told.append(
            f"sector {np.degrees(step.from_angle):.0f} … {np.degrees(step.from_angle + step.sector):.0f}°"
        )
    if one.along is not None and (step.breadth is not None or step.from_end is not None):
        low, high = (place * 1e3 for place in one.along)
        told.append(
            f"from {low:.1f} to {high:.1f} mm "
            + ("from the leg" if build.direction == "up" else "above the lower yoke")
        )
    style = step.style or build.style
    if len(one.sections[0].layers) > 1 and style != "back_and_forth":
        told.append({"same_side": "every layer from the same side", "scramble": "without order"}[style])
    kind = design.winding(step.winding).wire.kind
    if kind in ("round", "litz") and style != "scramble" and step.thickness is None:
        over = "ring" if step.sector is None else "sector"
        over = over if isinstance(design.core.dimensions, ToroidDimensions) else "breadth"
        told.append("wind tight from the start" if one.tight else f"spread over the {over}")
    between = build.interlayer if step.interlayer is None else step.interlayer
    if float(np.asarray(between)) > 0 and len(one.sections[0].layers) > 1:
        told.append(f"{format_quantity(float(np.asarray(between)), 'm', 3)} between its layers")
    for section in one.sections:
        winding = design.winding(section.winding)
        if winding.sleeving:
            told.append(f"sleeving of {section.winding}: {winding.sleeving}")
        if winding.note:
            told.append(f"{section.winding}: {winding.note}")
    return ", ".join(told)


def limits_text(reading: ShopReading) -> str:
    """The limits of a reading, and where they come from."""
    return words.limits(reading.minimum, reading.maximum, reading.measure) or "no limit"


def points_to(reading: ShopReading, most: int | None = None) -> str:
    """What a reading beyond its limits points to (``most``: at most so many on a side), and how often they
    stop a single turn."""
    told = [
        f"{side}: {', '.join(dict.fromkeys(brief(title) for title in titles[:most]))}."
        for side, titles in (("Above", reading.above), ("Below", reading.below))
        if titles
    ]
    turn = reading.one_turn if reading.stage == "winding" else None
    if turn is not None and turn < SURE:
        told.append(f"One turn: stopped in {words.per_cent(turn)} of parts.")
    return " ".join(told)


def where_of(reading: ShopReading) -> str:
    """Where a reading is taken, without what ``CONNECT`` says of all."""
    text = reading.where
    for part in (
        "; leave the rest open",
        ", with its own link, as short as possible, soldered at the pins",
        " with four wires, the sense wires inside",
        "on a closed test core, ",
        ", unloaded",
    ):
        text = text.replace(part, "")
    return text


def _repeated(design: Design) -> list[BenchTest]:
    """The resistance tests of whole windings, which are read first while these are wound."""
    found = (resistance_test(design, winding.name) for winding in design.windings)
    return [test for test in found if test is not None]


def brief(title: str) -> str:
    """A mistake without what the sheet's row says already."""
    for long, short in (
        (r"^.* is wound with (\w+) wire \((.*) instead of .*\)$", r"\1 wire (\2)"),
        (r"^.* is wound with (\w+) wire instead of \w+$", r"\1"),
        (r"^(\d+) of the (\d+) wires in hand of (.*) (?:does|do) not conduct$", r"\1 of \2 wires of \3 lost"),
        (r" \((?:start and finish exchanged|fixture not corrected|stack height, size)\)", ""),
        (r" \(μi about .*\)$", ""),
        (r"^the sections were wound in the order (.*) instead of .*$", r"wound in the order \1"),
        (r"^(.*) has (\d+ turns?) too many$", r"\1 +\2"),
        (r"^(.*) has (\d+ turns?) too few$", r"\1 −\2"),
        (r"^the sections of (.*) are joined in (\w+) instead of .*$", r"sections of \1 in \2"),
        (r"^the core halves stand (.*) further apart at each pair of faces$", r"core halves \1 apart"),
        (
            r"^(.*) covers only (.*) of its breadth, pushed to the start flange$",
            r"\1 bunched to \2",
        ),
        (r" (?:is|are) shorted$", " shorted"),
        (r", turns longer or shorter$", ""),
    ):
        title = re.sub(long, short, title)
    return title


def face_text(face: Face) -> str:
    """One face between circuits as the file gives it."""
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
    steps = f"steps {(face.first or 0) + 1} and {face.second + 1}"
    if face.first in (None, face.second):
        steps = f"step {face.second + 1}"
    if how:
        steps += f", {how}"
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
    return f"{between} ({steps}): {' + '.join(laid) or bare}"


def _and(names: Sequence[str]) -> str:
    return ", ".join("the core" if name == "core" else name for name in names)


def cautions_of(whole: ShopSheet) -> tuple[str, ...]:
    """What must not be overlooked."""
    return (*whole.build.design.cautions, *whole.build.cautions, STOP, REPEATED, words.SAFETY)


def finishing(design: Design) -> str:
    """Impregnation, and what else the file says of the whole."""
    told = {"none": "No impregnation.", "dipped": "Impregnate: dip.", "potted": "Pot."}[
        design.build.impregnation
    ]
    return " ".join([told, *([design.build.note] if design.build.note else [])])


def _to_cut(whole: ShopSheet) -> list[WireNeed]:
    """What is cut to length: all but a board's tracks."""
    windings = whole.build.design.winding
    return [need for need in whole.build.wires if windings(need.winding).wire.kind != "track"]


def sheet_page(whole: ShopSheet) -> str:
    """The build sheet as the text of one HTML page."""
    design = whole.build.design
    return render(
        "sheet.html",
        design=design,
        core=core_line(design),
        rows=rows_of(whole),
        before=[one for one in whole.readings if one.stage == "before core"],
        after=[one for one in whole.readings if one.stage == "assembled"],
        points_to=points_to,
        limits_text=limits_text,
        expected=lambda one: words.quantity(one.expected, one.measure),
        where_of=where_of,
        connect=CONNECT,
        repeated={test.name for test in _repeated(design)},
        how_often=_at,
        wires=_to_cut(whole),
        faces=[face_text(face) for face in whole.build.faces],
        finishing=finishing(design),
        cautions=cautions_of(whole),
        test_core=TEST_CORE,
        drawing=steps_svg(cross_section(design, whole.build.layout)),
        builds=whole.builds,
        seed=whole.seed,
        limits_from=LIMITS,
        hole=isinstance(design.core.dimensions, ToroidDimensions),
    )


def sheet_view(whole: ShopSheet) -> Iterator[Part]:
    """The build sheet as text."""
    design = whole.build.design
    yield f"Build sheet: {design.title}"
    yield Paragraph(core_line(design))
    for caution in cautions_of(whole):
        yield words.caution(caution)
    ring = isinstance(design.core.dimensions, ToroidDimensions)
    for row in rows_of(whole):
        yield Heading(f"Step {row.number}. {row.work}")
        for text in (
            row.turns and f"{row.turns}.",
            row.ends and f"{row.ends}.",
            row.place and f"{row.place}.",
        ):
            if text:
                yield Paragraph(text[0].upper() + text[1:])
        left = f"; {row.left} left{' in the hole' if ring else ''}" if row.left else ""
        yield Paragraph(f"Build height then {row.height[0]} ({row.height[1]}) mm{left}.")
        for reading in row.checks:
            yield Paragraph(
                f"Read {reading.name} {reading.where}: expect "
                f"{words.quantity(reading.expected, reading.measure)}, limits {limits_text(reading)}. "
                f"{points_to(reading)}",
                "  ",
            )
    for heading, stage in (
        ("Before the core is in", "before core"),
        ("When all is wound" if ring else "After coring", "assembled"),
    ):
        chosen = [one for one in whole.readings if one.stage == stage]
        if not chosen:
            continue
        yield Heading(heading)
        if stage == "before core":
            yield Paragraph(TEST_CORE)
        yield words.table(
            ["read", "at", "expect", "limits", "from"],
            [
                [
                    one.name,
                    _at(one),
                    words.quantity(one.expected, one.measure),
                    limits_text(one),
                    _origin(one),
                ]
                for one in chosen
            ],
            right=(2,),
        )
        for one in chosen:
            text = points_to(one)
            if text:
                yield Paragraph(f"{one.name}: {text}", "    ", "  ")
    yield Heading("Wire and insulation")
    if _to_cut(whole):
        yield words.table(
            ["winding", "wire", "cut", "of", "bare metal"],
            [
                [
                    need.winding,
                    design.winding(need.winding).wire.label,
                    f"{need.length:.2f} m",
                    "1 piece" if need.pieces == 1 else f"{need.pieces} in hand",
                    f"{need.mass * 1e3:.3g} g",
                ]
                for need in _to_cut(whole)
            ],
            right=(2, 4),
        )
    for face in whole.build.faces:
        yield Paragraph(face_text(face) + ".", "    ", "  ")
    yield Paragraph(finishing(design))
    yield Paragraph(
        f"Heights hold 95 % of {whole.builds} random builds. {LIMITS} '-o FILE.html' writes a "
        "page to print, with the drawing."
    )


def _at(one: ShopReading) -> str:
    """The frequency at which a reading is taken."""
    if one.stage == "before core":
        return "by turns"
    return "sweep" if one.measure == "resonance" else words.frequency(one.frequency)


def _origin(one: ShopReading) -> str:
    return "turns" if one.stage == "before core" else "specification" if one.specified else "proposed"


def sheet_json(whole: ShopSheet) -> dict[str, Any]:
    """The build sheet as data, SI."""
    from importlib.metadata import version

    design = whole.build.design
    return {
        "design": design.title,
        "version": version("aswound"),
        "drawing": design.build.drawing,
        "revision": design.build.revision,
        "steps": [
            _step_json(design, one, row)
            for one, row in zip(whole.build.operations, rows_of(whole), strict=True)
        ],
        "wires": [
            {"winding": need.winding, "length_m": need.length, "in_hand": need.pieces, "mass_kg": need.mass}
            for need in whole.build.wires
        ],
        "insulated_faces": [
            {
                "kind": face.kind,
                "steps": [None if face.first is None else face.first + 1, face.second + 1],
                "between": [list(face.first_names), list(face.second_names)],
                "insulation": [
                    {"what": part.what, "count": part.count, "thickness_m": part.thickness}
                    for part in face.insulation
                ],
            }
            for face in whole.build.faces
        ],
        "readings": [_reading_json(one) for one in whole.readings],
        "cautions": list(cautions_of(whole)),
    }


def _step_json(design: Design, one: Operation, row: Row) -> dict[str, Any]:
    kinds = {WindStep: "wind", TapeStep: "tape", SpacerStep: "spacer", ShieldStep: "shield"}
    return {
        "step": one.number,
        "kind": kinds[type(one.step)],
        "work": row.work,
        "sections": [
            {
                "winding": section.winding,
                "section": section.ordinal,
                "sections": section.count,
                "turns": section.turns,
                "layers": list(section.layers),
                "turning": design.winding(section.winding).turning,
                "start": design.winding(section.winding).start,
                "finish": design.winding(section.winding).finish,
                "wire_length_m": section.length,
            }
            for section in one.sections
        ],
        "place": row.place,
        "height_m": {"nominal": one.height.nominal, "low": one.height.low, "high": one.height.high},
        "left_m": one.remaining,
        "tape_length_m": one.tape_length,
    }


def _reading_json(one: ShopReading) -> dict[str, Any]:
    return {
        "after_step": one.after,
        "stage": one.stage,
        "name": one.name,
        "measure": one.measure,
        "unit": words.unit_of(one.measure),
        "where": one.where,
        "frequency": one.frequency,
        "expected": words.number(one.expected, one.measure),
        "limits": {"min": one.minimum, "max": one.maximum},
        "specified": one.specified,
        "uncertainty": one.uncertainty,
        "temperature": one.temperature,
        "points_to": {"above": list(one.above), "below": list(one.below)},
        "mistakes": [
            {"mistake": slip.title, "reading": slip.reading, "told": slip.told, "caught": slip.caught}
            for slip in one.slips
        ],
    }
