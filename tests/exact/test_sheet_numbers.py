"""Every number in words on the build sheet, by hand, from designs that show each of them."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import numpy as np
import pytest

from aswound.cli.views.buildsheet import own_cautions, sheet_page, sheet_view
from aswound.cli.views.buildsheet_board import tracks_of
from aswound.cli.views.buildsheet_checks import limits_text, points_to, when_of
from aswound.cli.views.buildsheet_material import cut_text, cutting_note
from aswound.cli.views.buildsheet_pins import pins_note, pins_svg
from aswound.cli.views.buildsheet_steps import ShopSheet, faces_text, step_rows
from aswound.cli.views.buildsheet_work import operations_of
from aswound.cli.views.page import render
from aswound.compare.plan import ShopReading
from aswound.compare.plan.in_process import turns_readings
from aswound.compare.plan.process_readings import ProcessFault
from aswound.predict import parse_design
from aswound.predict.shop import Cut, bill_of_material, build_sheet, wire_cuts

pytestmark = pytest.mark.exact

STACK = """
[core]
shape = "ETD 29/16/10"
material = "MnZn 2300"
[bobbin]
wall = "1.2 mm"
flange = "1.3 mm"
pins = 8
[[winding]]
name = "P"
wire = { diameter = "0.35 mm", overall = "0.40 mm" }
start = "2"
finish = "3"
turning = "ccw"
[[winding]]
name = "S"
wire = { diameter = "0.5 mm", overall = "0.6 mm", in_hand = 2 }
start = "5"
finish = "7"
lead_length = "90 mm"
sleeving = "PTFE 1 mm"
[build]
margin = "2.5 mm"
tail = "70 mm"
steps = [
  { wind = "P", turns = 50, layers = 2, interlayer = "0.1 mm" },
  { spacer = "0.5 mm" },
  { shield = "0.05 mm", width = "14 mm", name = "E", tied = "P.start" },
  { tape = "0.06 mm", wraps = 3 },
  { wind = "S", turns = 7, from_end = "3 mm", breadth = "10 mm" },
  { tape = "0.06 mm", wraps = 2 },
  { wind = "P", turns = 25 },
]
"""


@pytest.fixture(scope="module")
def stack() -> ShopSheet:
    """The sheet of a stack with everything that a step can have."""
    return ShopSheet(build=build_sheet(parse_design(STACK), builds=400), readings=(), builds=400, seed=1)


def test_rows_of_a_stack(stack: ShopSheet) -> None:
    rows = step_rows(stack)
    # by hand: layers of the overall diameter, 0.1 mm between two, tape and sheets as thick as they are
    over = [2 * 0.40 + 0.1, 0.5, 0.05, 0.18, 0.6, 0.12, 0.40]
    heights = np.cumsum(over)
    assert [row.height[0] for row in rows] == [f"{height:.2f}" for height in heights]
    assert [row.work for row in rows] == [
        "Wind P, section 1 of 2: 0.35 mm, 0.40 mm overall",
        "Spacer 0.500 mm",
        "Shield E, 50.0 µm × 14.00 mm: tie to P start, pin 2; insulate its overlap: ends must not touch",
        f"Tape 60.0 µm: 3 wraps, about {3 * math.tau * (4.75 + 1.2 + 1.45 + 0.09) / 1e3:.2f} m",
        "Wind S: 0.5 mm, 0.6 mm overall, 2 in hand",
        f"Tape 60.0 µm: 2 wraps, about {2 * math.tau * (4.75 + 1.2 + 2.23 + 0.06) / 1e3:.2f} m",
        "Wind P, section 2 of 2: 0.35 mm, 0.40 mm overall",
    ]
    assert [row.turns for row in rows if row.turns] == [
        "50 turns in 2 layers (25 + 25)",
        "7 turns in 1 layer",
        "25 turns in 1 layer",
    ]
    assert [row.ends for row in rows if row.ends] == [
        "counter-clockwise, start pin 2 → on to section 2",
        "clockwise, start pin 5 → finish pin 7",
        "counter-clockwise, on from section 1 → finish pin 3",
    ]
    assert rows[0].place == "margin 2.50 mm at each end, spread over the breadth, 0.100 mm between its layers"
    # the flange is 1.3 mm thick; the section begins 3 mm above it and is 10 mm broad
    assert "from 4.3 to 14.3 mm above the lower yoke" in rows[4].place
    assert "sleeving of S: PTFE 1 mm" in rows[4].place
    assert rows[6].place == "margin 2.50 mm at each end, spread over the breadth"
    room = float(rows[0].left.split()[0]) + heights[0]
    for row, height in zip(rows, heights, strict=True):
        assert row.left == f"{room - height:.2f} mm"
    # from the leg (9.5 mm across) to the outer leg (22.4 mm), less the wall
    assert room == pytest.approx((22.4 - 9.5) / 2 - 1.2, abs=0.35)


def test_the_range_of_a_height_holds_ninety_five_builds_of_a_hundred(stack: ShopSheet) -> None:
    """The height of three wraps of tape on a wire: each tolerance alone, added in squares."""
    rows = step_rows(stack)
    for row, step in zip(rows, stack.build.operations, strict=True):
        low, high = (float(part) for part in row.height[1].split(" … "))
        assert (low, high) == (
            pytest.approx(step.height.low * 1e3, abs=0.006),
            pytest.approx(step.height.high * 1e3, abs=0.006),
        )
        assert step.height.low < step.height.nominal < step.height.high
        # the distribution is nearly symmetric: both ends are as far from the middle, within sampling
        up, down = step.height.high - step.height.nominal, step.height.nominal - step.height.low
        assert up == pytest.approx(down, rel=0.35)
    # enamel, tape, interlayer and spacer only ever add: the last range is the widest
    widths = [step.height.high - step.height.low for step in stack.build.operations]
    assert widths[-1] == max(widths)


def test_words_that_follow_from_the_design(stack: ShopSheet) -> None:
    design = stack.build.design
    faces = faces_text(stack.build.faces)
    assert "E and S (steps 3 and 5): 3 × tape 60.0 µm" in faces
    assert "S and P (steps 5 and 7): 2 × tape 60.0 µm" in faces
    cuts = wire_cuts(design)
    told = [cut_text(cut) for cut in cuts]
    assert [text.split(":")[0] for text in told] == ["P, section 1 of 2", "S", "P, section 2 of 2"]
    for cut, tails in zip(cuts, (0.14, 0.09, 0.14), strict=True):
        assert cut.tails == pytest.approx(tails), "two tails of 70 mm, or the leads where the file has them"
        assert cut.length == pytest.approx(1.05 * cut.wound + tails)
    assert (
        cut_text(Cut(winding="S", section=1, sections=1, pieces=2, length=1.2301, wound=1.1, tails=0.1))
        == "S: cut 2 pieces of 1.24 m, wound in hand"
    )
    assert (
        cut_text(Cut(winding="S", section=2, sections=3, pieces=1, length=0.30, wound=0.2, tails=0.1))
        == "S, section 2 of 3: cut 1 piece of 0.30 m"
    )
    note = cutting_note(design)
    assert "5 % of reserve on the turns and a tail of 70 mm at each end." in note
    assert "In place of the tails at start and finish, both together: S 90 mm." in note
    drawn = pins_svg(design)
    assert (
        "pin 2: P start; pin 3: P finish; pin 4: free; pin 5: S start; pin 6: free; pin 7: S finish" in drawn
    )
    for number in range(1, 9):
        assert f">{number}</text>" in drawn
    assert drawn.count(">free</text>") == 4
    assert "No pin" not in pins_note(design)
    work = operations_of(stack)
    assert work[1] == "Wind and lay steps 1 to 7."
    assert "join the sections" in work[2]
    assert f"random builds (seed {stack.seed})" in sheet_page(stack)
    assert f"95 % of {stack.builds} random builds" in sheet_page(stack)


def test_a_page_says_the_range_beside_the_height(stack: ShopSheet) -> None:
    page = sheet_page(stack).replace("\N{NO-BREAK SPACE}", " ")
    for row in step_rows(stack):
        low, high = row.height[1].split(" … ")
        assert f">{row.height[0]} ({low}–{high})<" in page
        assert f">{row.left.removesuffix(' mm')}<" in page


def test_readings_in_words() -> None:
    one = ShopReading(
        after=3,
        stage="winding",
        name="R of S",
        measure="resistance",
        where="between pins 5 and 7",
        expected=0.1,
        minimum=0.09,
        maximum=0.11,
        specified=False,
        uncertainty=1e-4,
        above=("S has 1 turn too many",),
        below=("S has 1 turn too few",),
    )
    assert limits_text(one) == "90.0 … 110.0 mΩ"
    assert limits_text(replace(one, minimum=None)) == "≤ 110.0 mΩ"
    assert limits_text(replace(one, judged=False)) == "not judged here"
    assert when_of(one) == "step 3"
    assert when_of(replace(one, after=None, stage="before core")) == "test core"
    assert points_to(one) == "Above: S +1 turn. Below: S −1 turn."
    assert not one.missed
    assert replace(one, expected=0.12).missed
    assert replace(one, expected=0.08).missed
    assert not replace(one, expected=0.12, maximum=None).missed


def test_the_ratio_of_turns_has_limits_half_way_to_the_next_count() -> None:
    """75 : 7 turns. One turn of P moves it by 1/7, one of S to 75/8 or 75/6: next are 74/7 and 76/7."""
    (ratio,) = turns_readings(parse_design(STACK))
    assert ratio.expected == pytest.approx(75 / 7)
    assert ratio.minimum == pytest.approx((75 + 74) / 2 / 7)
    assert ratio.maximum == pytest.approx((75 + 76) / 2 / 7)


MAINS = """
[core]
shape = "EI 66/22"
material = "silicon steel NO 0.50"
[bobbin]
wall = "1.2 mm"
flange = "1.2 mm"
chambers = ["14.5 mm", "14 mm"]
partition = "1.5 mm"
[[winding]]
name = "P"
wire = { diameter = "0.18 mm", grade = 1 }
[[winding]]
name = "S"
wire = { diameter = "0.71 mm", grade = 1 }
[build]
impregnation = "dipped"
note = "Mark the mains side."
processes = [{ do = "Varnish", time = "30 min", at = "60 degC", within = "4 h" }]
steps = [
  { wind = "P", turns = 1500, chamber = 1, style = "scramble" },
  { wind = "S", turns = 88, chamber = 2, style = "scramble" },
]
"""


def test_a_ratio_of_many_turns_is_judged_no_closer_than_it_is_read() -> None:
    """1500 : 88 turns. The meter reads a ratio to √2 · 0.1 %/2 and 0.05 % of handling, so the limits are
    2 √(0.0707² + 0.05²) % = 0.173 % apart from it; half a turn of P would be 0.033 %. A turn of S moves it by
    1.1 % and is caught; of P what is 2 + 1.645 standard deviations off, in 95 of 100 parts: 5 turns."""
    (ratio,) = turns_readings(parse_design(MAINS))
    known = math.hypot(math.sqrt(2) * 1e-3 / 2, 5e-4)
    assert ratio.uncertainty == pytest.approx(known * 1500 / 88)
    assert ratio.maximum == pytest.approx(1500 / 88 * (1 + 2 * known))
    assert ratio.minimum == pytest.approx(1500 / 88 * (1 - 2 * known))
    caught = math.ceil((2 + 1.645) * known * 1500)
    assert caught == 5
    assert ratio.above == (f"P has {caught} turns too many", "S has 1 turn too few")
    assert ratio.below == (f"P has {caught} turns too few", "S has 1 turn too many")
    one = next(fault for fault in ratio.faults if fault.title == "P has 1 turn too many")
    z = (ratio.maximum - 1501 / 88) / ratio.uncertainty
    assert one.above == pytest.approx(0.5 * math.erfc(z / math.sqrt(2)), rel=1e-6)


def test_what_is_wound_at_random_has_no_layers_and_long_wire_is_not_cut() -> None:
    design = parse_design(MAINS)
    whole = ShopSheet(build=build_sheet(design, builds=200), readings=(), builds=200, seed=1)
    rows = step_rows(whole)
    assert [row.turns for row in rows] == ["1500 turns, random-wound", "88 turns, random-wound"]
    assert [row.place for row in rows] == ["chamber 1", "chamber 2"]
    assert not any("layer" in text for text in whole.build.cautions)
    primary, secondary = wire_cuts(design)
    assert cut_text(primary) == f"P: from the reel, {math.ceil(primary.length * 100) / 100:.2f} m"
    assert cut_text(secondary).startswith("S: cut 1 piece of ")
    reels = Cut(winding="P", section=1, sections=1, pieces=2, length=20.1, wound=19.0, tails=0.1)
    assert cut_text(reels) == "P: from 2 reels of 20.10 m each, wound in hand"


def _operations(text: str, *, readings: tuple[ShopReading, ...] = ()) -> list[str]:
    sheet = build_sheet(parse_design(text), builds=100)
    return operations_of(ShopSheet(build=sheet, readings=readings, builds=100, seed=1))


def test_operations_are_what_one_does() -> None:
    """A process of the file that is the impregnation stands for it; the note is none of the operations."""
    assert _operations(MAINS) == [
        "Cut the wires.",
        "Wind steps 1 and 2.",
        "Mark start and finish of every winding and bring the ends out.",
        "Fit the laminations and fix them.",
        "Varnish for 30 min at 60 °C; TIME-CRITICAL: within 4 h of the operation before.",
    ]
    whole = ShopSheet(build=build_sheet(parse_design(MAINS), builds=100), readings=(), builds=100, seed=1)
    assert "Note: Mark the mains side." in sheet_page(whole)
    assert _operations(MAINS.replace('do = "Varnish"', 'do = "Bake"'))[-2] == "Impregnate: dip."
    assert "Clean the mating faces, fit the core and fix it." in _operations(STACK)


def test_the_finished_part_is_read_with_the_impregnation_that_its_limits_hold() -> None:
    """Impregnation multiplies a capacitance: limits of the dipped part would fail a sound part before it is
    dipped. What the file does not count as impregnation is predicted, and so read, without it."""
    read = "Take the readings of the finished part."
    assembled = (replace(turns_readings(parse_design(MAINS))[0], stage="assembled"),)
    varnished = _operations(MAINS, readings=assembled)
    assert varnished[-2].startswith("Varnish for 30 min")
    assert varnished[-1] == read
    marked = MAINS.replace('within = "4 h" }', 'within = "4 h" }, { do = "Print the label" }')
    assert _operations(marked, readings=assembled)[-2:] == [read, "Print the label."]
    dipped = _operations(MAINS.replace('do = "Varnish"', 'do = "Bake"'), readings=assembled)
    assert dipped[-3:-1] == ["Impregnate: dip.", read]
    coils = _operations(MAINS.replace('within = "4 h"', 'after = "winding"'), readings=assembled)
    assert coils[-1] == read
    assert not any("Impregnate" in told for told in coils), "the coil was varnished before the core went in"
    dry = _operations(MAINS.replace('impregnation = "dipped"', ""), readings=assembled)
    assert dry[-2] == read
    assert dry[-1].startswith("Varnish")


@pytest.mark.parametrize(
    ("stated", "told"), [("", True), ('impregnation = "none"', False), ('impregnation = "potted"', False)]
)
def test_a_varnish_that_no_prediction_counts_is_said(stated: str, *, told: bool) -> None:
    cautions = parse_design(MAINS.replace('impregnation = "dipped"', stated)).cautions
    assert any('"Varnish" impregnates the part' in caution for caution in cautions) == told
    baked = MAINS.replace('impregnation = "dipped"', stated).replace("Varnish", "Bake")
    assert not any("impregnates" in caution for caution in parse_design(baked).cautions)


RING = """
[core]
material = "MnZn 5000"
[core.dimensions]
form = "toroid"
outer_diameter = "20 mm"
inner_diameter = "10 mm"
height = "7 mm"
[bobbin]
wall = "0.3 mm"
[[winding]]
name = "P"
wire = { diameter = "0.40 mm", overall = "0.50 mm" }
[[winding]]
name = "S"
wire = { diameter = "0.40 mm", overall = "0.50 mm" }
[build]
steps = [
  { wind = "P", turns = 10, sector = "150 deg", from_angle = "0 deg" },
  { wind = "S", turns = 10, sector = "150 deg", from_angle = "180 deg" },
  { tape = "0.05 mm", wraps = 2 },
]
"""


def test_a_ring_says_sectors_and_what_is_left_of_the_hole() -> None:
    whole = ShopSheet(build=build_sheet(parse_design(RING), builds=100), readings=(), builds=100, seed=1)
    rows = step_rows(whole)
    assert "sector 0 … 150°" in rows[0].place
    assert "sector 180 … 330°" in rows[1].place
    # 10 mm less the coating, the wire and two wraps on both sides
    assert [row.left for row in rows] == ["8.40 mm", "8.40 mm", "8.20 mm"]
    assert rows[2].work == "Tape 50.0 µm: 2 wraps"
    through = parse_design(
        RING.replace('turns = 10, sector = "150 deg", from_angle = "180 deg"', "turns = 1")
    )
    whole = ShopSheet(build=build_sheet(through, builds=100), readings=(), builds=100, seed=1)
    assert step_rows(whole)[1].place == "once through the hole"


SPLIT = """
[core]
shape = "ETD 34/17/11"
material = "MnZn 2300"
gap = "0.5 mm"
[bobbin]
wall = "1.1 mm"
flange = "1.2 mm"
chambers = ["12 mm", "5 mm"]
partition = "1.5 mm"
[[winding]]
name = "P"
wire = { litz_strands = 60, strand = "0.1 mm", overall = "1.1 mm" }
[[winding]]
name = "S1"
wire = { diameter = "0.6 mm", overall = "0.8 mm" }
circuit = "S"
[[winding]]
name = "S2"
wire = { diameter = "0.6 mm", overall = "0.8 mm" }
circuit = "S"
[build]
steps = [
  { wind = "P", turns = 20, chamber = 1 },
  { wind = "S1", turns = 5, with = ["S2"], chamber = 2 },
]
[[test]]
name = "L_P"
measure = "inductance"
drive = "P"
frequency = "10 kHz"
max = "1 uH"
"""


def test_chambers_and_windings_wound_together() -> None:
    whole = ShopSheet(build=build_sheet(parse_design(SPLIT), builds=100), readings=(), builds=100, seed=1)
    rows = step_rows(whole)
    assert rows[0].place.startswith("chamber 1, ")
    assert rows[1].place.startswith("chamber 2, ")
    assert rows[1].work == (
        "Wind S1: 0.6 mm, 0.8 mm overall together, turn by turn, with S2: 0.6 mm, 0.8 mm overall"
    )
    assert faces_text([face for face in whole.build.faces if face.between_circuits]) == [
        "P and S1, S2 (steps 1 and 2, in neighbouring chambers): partition 1.50 mm"
    ]
    assert "No pin in the file: P start, P finish, S1 start" in pins_note(parse_design(SPLIT))


def test_creepage_over_the_partition_in_millimetres() -> None:
    """The partition ends 1.1 + 6 mm above the leg: up from the outermost layer of P, over 1.5 mm, down to
    that of S1 and S2."""
    text = SPLIT.replace('partition = "1.5 mm"', 'partition = "1.5 mm"\npartition_height = "6 mm"')
    whole = ShopSheet(build=build_sheet(parse_design(text), builds=100), readings=(), builds=100, seed=1)
    tops = [1.1e-3 + operation.height.nominal for operation in whole.build.operations]
    over = 1.5 + sum(7.1 - top * 1e3 for top in tops)
    assert own_cautions(whole)[0] == (
        f"Creepage over the top of the partition, P and S1, S2: {over:.3g} mm with layers as drawn."
    )
    plain = ShopSheet(build=build_sheet(parse_design(SPLIT), builds=100), readings=(), builds=100, seed=1)
    assert "not in the file, and not checked" in own_cautions(plain)[0]


def test_tracks_keep_from_the_edges_of_the_board() -> None:
    """One margin for all layers of P, two for those of S."""
    made = parse_design("""
[core]
shape = "E 25/13/7"
material = "MnZn 2300"
[[winding]]
name = "P"
wire = { trace = "70 um", width = "0.8 mm", spacing = "0.2 mm" }
[[winding]]
name = "S"
wire = { trace = "70 um", width = "0.8 mm", spacing = "0.2 mm" }
[build]
direction = "up"
margin = "0.35 mm"
steps = [
  { wind = "P", turns = 1 }, { spacer = "0.2 mm" },
  { wind = "S", turns = 1, margin = "0.5 mm" }, { spacer = "0.2 mm" }, { wind = "S", turns = 1 },
]
""")
    assert [told.partition("; ")[2] for told in tracks_of(made)] == [
        "0.35 mm from each edge of the board",
        "0.35 mm and 0.50 mm from each edge of the board",
    ]


@pytest.mark.slow
def test_a_limit_that_the_design_itself_misses_is_said_first() -> None:
    from aswound.compare.plan import shop_readings

    design = parse_design(SPLIT)
    readings = shop_readings(design, builds=100)
    whole = ShopSheet(build=build_sheet(design, builds=100), readings=readings, builds=100, seed=1)
    (one,) = (reading for reading in readings if reading.name == "L_P")
    assert one.above == ("the design itself, whose prediction lies beyond this limit",)
    assert own_cautions(whole)[0].startswith("L_P is predicted at ")
    assert "outside its limits (≤ 1.000 µH): wound as drawn, the part fails." in own_cautions(whole)[0]
    assert not any(other.missed for other in readings if other is not one)


def test_the_text_says_every_reading_once(stack: ShopSheet) -> None:
    """Two readings given by hand: what is expected, where, at which frequency, with whose limits."""
    one = ShopReading(
        after=1,
        stage="winding",
        name="R of P",
        measure="resistance",
        where="between pins 2 and 3",
        expected=0.5,
        minimum=0.45,
        maximum=0.55,
        specified=False,
        uncertainty=1e-4,
        faults=(
            ProcessFault(kind="turns", size=1.0, title="more", reading=0.51, below=0.0, above=0.3),
            ProcessFault(kind="turns", size=-1.0, title="less", reading=0.5, below=0.1, above=0.0),
        ),
    )
    two = ShopReading(
        after=None,
        stage="assembled",
        name="L_P",
        measure="inductance",
        where="drive P",
        expected=500e-6,
        minimum=450e-6,
        maximum=None,
        specified=True,
        uncertainty=1e-7,
        frequency=10e3,
    )
    text = render(sheet_view(replace(stack, readings=(one, two), lot=40)), 200)
    flowing = " ".join(text.split())
    assert "Read R of P between pins 2 and 3: expect 500.0 mΩ, limits 450.0 … 550.0 mΩ." in flowing
    assert "One turn too many or too few is noticed in 20 % of parts." in flowing
    row = next(line for line in text.splitlines() if line.startswith("L_P"))
    assert row.split() == ["L_P", "10", "kHz", "500.0", "µH", "≥", "450.0", "µH", "specification"]
    design = stack.build.design
    grams = {item.used_for: 1e3 * item.mass for item in bill_of_material(design) if item.mass}
    for name, mass in grams.items():
        row = next(line for line in text.splitlines() if re.search(rf" {name}  .* g", line))
        one_part, lot = (float(value) for value in re.findall(r", ([\d.]+) g", row))
        assert one_part == pytest.approx(mass, rel=0.006)
        assert lot == pytest.approx(40 * mass, rel=0.006)
