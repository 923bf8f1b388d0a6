"""The views of ``sheet``: the build sheet for the winding shop, as a page to print and as text."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from ...compare.plan import ShopReading
from ...predict.interleave import pairs_text
from ...predict.shop import wire_cuts
from ...predict.winding import Pair, cross_section, separations
from . import words
from .buildsheet_board import board_rows, on_board, read_on_board, tracks_of
from .buildsheet_checks import limits_text, points_to, repeated, when_of, where_of
from .buildsheet_material import MASSES, cut_text, cutting_note, material_heads, material_rows
from .buildsheet_pins import pins_note, pins_of, pins_svg
from .buildsheet_steps import ShopSheet, faces_text, step_rows
from .buildsheet_work import operations_of, seen_from
from .drawing_svg import steps_svg
from .html_page import render_template
from .page import Heading, Paragraph, Part
from .prediction import core_line

ABREAST = 10
"""Parts whose boxes stand in one table."""
NAMED = 2
"""What a miss points to, on each side of the limits, at most; of a page with more readings than CROWDED_PAGE
one."""
CROWDED_PAGE, CROWDED_BOARD = 13, 10
MANY_STEPS = 7
"""Steps above which the other parts of page one stand below steps and drawing, not beside (judged)."""
REPEATED = (
    "This sheet repeats the insulation that the design file gives. Dividing a winding multiplies its faces."
)
STOP = (
    "Stop where a reading lies outside its limits: read again, then find the cause before the next step "
    "covers it. What a reading points to is the effect of one mistake; a reading may have several causes."
)
TEST_CORE = (
    "Before its own core is in, a part's ratio is read on a closed test core (an ungapped pair that "
    "slides on), or by a comparison of turns; its inductance tells little."
)


CONNECT = (
    "Leave open what is not named. Make every short with a link of its own, as short as possible, soldered "
    "at the pins. Read voltages without load, and resistances with four wires, the sense wires inside."
)
LIMITS = (
    "Limits that are not in the file allow three standard deviations of production plus the bench's "
    "uncertainty. Read direct-current resistances with four wires and refer them to the temperature that "
    "is given, else to 20 °C."
)


def cautions_of(whole: ShopSheet) -> tuple[str, ...]:
    """What must not be overlooked."""
    return (*own_cautions(whole), STOP, REPEATED, words.SAFETY)


def own_cautions(whole: ShopSheet) -> tuple[str, ...]:
    """Those of this design: limits that it does not meet first."""
    missed = [
        f"{reading.name} is predicted at {words.quantity_text(reading.expected, reading.measure)}, "
        f"outside its limits ({limits_text(reading)}): wound as drawn, the part fails. "
        "Ask the designer before winding."
        for reading in whole.readings
        if reading.missed
    ]
    return (*missed, *_over_partitions(whole), *whole.build.design.cautions, *whole.build.cautions)


def _over_partitions(whole: ShopSheet) -> Iterator[str]:
    """The creepage over the top of the partitions between circuits: how long it is, or that the file does not
    say it."""
    design = whole.build.design
    walled = {pair: what for pair, what in separations(design).items() if what.kind == "chambers"}
    if walled and design.bobbin.partition_height is None:
        yield (
            f"Creepage over the top of the partition, {pairs_text(list(walled))}: not in the file, and not "
            "checked (bobbin.partition_height gives it)."
        )
        return
    told: dict[str, list[Pair]] = {}
    for pair, what in walled.items():
        told.setdefault(f"{what.creepage * 1e3:.3g} mm", []).append(pair)
    for length, pairs in told.items():
        yield f"Creepage over the top of the partition, {pairs_text(pairs)}: {length} with layers as drawn."


def sheet_page(whole: ShopSheet) -> str:
    """The build sheet as the text of one HTML page."""
    design = whole.build.design
    numbers = list(range(1, whole.copies + 1))
    rows = step_rows(whole)
    board = board_rows(whole) if on_board(design) else []
    read, unjudged = read_on_board(whole) if board else (list(whole.readings), [])
    return render_template(
        "sheet.html",
        whole=whole,
        design=design,
        core=core_line(design),
        rows=rows,
        board=board,
        long=not board and len(rows) > MANY_STEPS,
        read=read,
        unjudged=unjudged,
        before=[reading for reading in whole.readings if reading.stage == "before core"],
        copies=whole.copies,
        blocks=[numbers[k : k + ABREAST] for k in range(0, len(numbers), ABREAST)],
        most=NAMED if len(read) <= (CROWDED_BOARD if board else CROWDED_PAGE) else 1,
        stop=STOP,
        points_to=partial(points_to, single_turn=not board),
        limits_text=limits_text,
        expected=lambda reading: words.quantity_text(reading.expected, reading.measure),
        where_of=where_of,
        when_of=when_of,
        connect=CONNECT,
        repeated={test.name for test in repeated(design)},
        how_often=_at,
        cuts=tracks_of(design) if board else [cut_text(cut) for cut in wire_cuts(design)],
        cutting=cutting_note(design),
        faces=faces_text(whole.build.faces),
        pins_drawing=pins_svg(design),
        pins_note=pins_note(design),
        operations=operations_of(whole),
        own_cautions=own_cautions(whole),
        repeats=REPEATED,
        cautions=[words.SAFETY],
        test_core=TEST_CORE,
        seen_from=seen_from(design),
        drawing=steps_svg(cross_section(design, whole.build.layout)),
        builds=whole.builds,
        seed=whole.seed,
        limits_from=LIMITS,
        hole=design.core.dimensions.ring,
        lot="1 part" if whole.lot == 1 else f"a lot of {whole.lot}",
        material_heads=material_heads(whole.lot),
        masses=MASSES if wire_cuts(design) else "",
        materials=material_rows(design, whole.lot) if whole.lot > 1 else [],
    )


def sheet_view(whole: ShopSheet) -> Iterator[Part]:
    """The build sheet as text."""
    design = whole.build.design
    yield f"Build sheet: {design.title}"
    yield Paragraph(core_line(design))
    for caution in cautions_of(whole):
        yield words.caution(caution)
    ring = design.core.dimensions.ring
    yield Paragraph(seen_from(design))
    yield from _steps(whole, ring=ring)
    yield from _readings(whole, ring=ring or not whole.build.design.core.dimensions.permeable)
    yield from _wire_and_pins(whole)
    yield Heading("Order of operations")
    for number, work in enumerate(operations_of(whole), 1):
        yield Paragraph(work, "     ", f"{number:>3}. ")
    if design.build.note:
        yield Paragraph(f"Note: {design.build.note}")
    yield Heading("Material for one part" if whole.lot == 1 else f"Material for one part and for {whole.lot}")
    yield words.table(material_heads(whole.lot), material_rows(design, whole.lot))
    if wire_cuts(design):
        yield Paragraph(MASSES)
    yield Paragraph(
        f"Heights hold 95 % of {whole.builds} random builds. {LIMITS} '-o FILE.html' writes two pages: "
        "what to wind, with the drawing, and what to read, with boxes (--copies N: for N parts); --materials "
        "FILE.csv the material."
    )


def _steps(whole: ShopSheet, *, ring: bool) -> Iterator[Part]:
    """Every step with what is read after it."""
    for row in step_rows(whole):
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
                f"{words.quantity_text(reading.expected, reading.measure)}, limits {limits_text(reading)}. "
                f"{points_to(reading)}",
                "  ",
            )


def _readings(whole: ShopSheet, *, ring: bool) -> Iterator[Part]:
    """What is read before the core is in, and on the finished part."""
    for heading, stage in (
        ("Before the core is in", "before core"),
        ("When winding is complete" if ring else "After coring", "assembled"),
    ):
        chosen = [reading for reading in whole.readings if reading.stage == stage]
        if not chosen:
            continue
        yield Heading(heading)
        if stage == "before core":
            yield Paragraph(TEST_CORE)
        yield words.table(
            ["read", "at", "expect", "limits", "from"],
            [
                [
                    reading.name,
                    _at(reading),
                    words.quantity_text(reading.expected, reading.measure),
                    limits_text(reading),
                    _origin(reading),
                ]
                for reading in chosen
            ],
            right=(2,),
        )
        for reading in chosen:
            text = points_to(reading)
            if text:
                yield Paragraph(f"{reading.name}: {text}", "    ", "  ")


def _wire_and_pins(whole: ShopSheet) -> Iterator[Part]:
    """Wire to cut, insulation between circuits, pins."""
    design = whole.build.design
    if on_board(design):
        yield Heading("Tracks")
        for told in tracks_of(design):
            yield Paragraph(f"{told}.", "    ", "  ")
    else:
        yield Heading("Wire to cut")
        for cut in wire_cuts(design):
            yield Paragraph(cut_text(cut) + ".", "    ", "  ")
        yield Paragraph(cutting_note(design))
    yield Heading("Insulation between circuits")
    for told in faces_text(whole.build.faces):
        yield Paragraph(f"{told}.", "    ", "  ")
    yield Heading("Pins")
    for pin, ends in pins_of(design).items():
        yield Paragraph(f"{pin}: {', '.join(ends) or 'free'}", "    ", "  ")
    note = pins_note(design, drawn=False)
    if note:
        yield Paragraph(note)


def _at(reading: ShopReading) -> str:
    """The frequency at which a reading is taken."""
    if reading.stage == "before core":
        return "by turns"
    return "sweep" if reading.measure == "resonance" else words.frequency(reading.frequency)


def _origin(reading: ShopReading) -> str:
    return "turns" if reading.stage == "before core" else "specification" if reading.specified else "proposed"
