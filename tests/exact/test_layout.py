"""The layer rules of the design file, by hand-computed numbers."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from aswound.predict import lay_out, parse_design, readings
from aswound.predict.batch import stack
from aswound.predict.design import Design, Dimensions, EDimensions, PotDimensions, ToroidDimensions, Wire
from aswound.predict.errors import BuildError
from aswound.predict.winding.layering import bundle_factor
from aswound.predict.winding.layout import Layout

pytestmark = pytest.mark.exact

MM = 1e-3


def design(steps: str, *, build: str = "", leg: str = "E", wires: str = "") -> Design:
    """A core with a window 8 × 22 mm, wall 1 mm, flanges 1 mm: 20 mm of breadth; P of 0.8/1.0 mm wire, S
    likewise three in hand."""
    dimensions = {
        "E": 'form = "E"\nleg_width = "10 mm"\nleg_depth = "12 mm"\nwindow_width = "8 '
        'mm"\nouter_leg = "5 mm"',
        "round": 'form = "round"\nleg_diameter = "10 mm"\nwindow_diameter = "26 mm"\nlength = '
        '"34 mm"\ndepth = "10 mm"',
    }[leg]
    return parse_design(f"""
[core]
mu_i = 2000
[core.dimensions]
{dimensions}
window_height = "22 mm"
back = "5 mm"
[bobbin]
wall = "1 mm"
flange = "1 mm"
[[winding]]
name = "P"
wire = {{ diameter = "0.8 mm", overall = "1.0 mm" }}
[[winding]]
name = "S"
wire = {{ diameter = "0.8 mm", overall = "1.0 mm", in_hand = 3 }}
{wires}
[build]
{build}
steps = [
{steps}
{{ wind = "S", turns = 2 }},
]
""")


def with_first_step(plain: Design, **changes: float) -> Design:
    """The design with fields of its first step replaced, unchecked."""
    first = replace(plain.build.steps[0], **changes)  # type: ignore[arg-type]
    return replace(plain, build=replace(plain.build, steps=(first, *plain.build.steps[1:])))


def rows(layout: Layout, winding: str = "P") -> list[tuple[float, ...]]:
    """(turns, inner, outer, from, to) in mm of every layer of a winding."""
    return [
        (float(layout.turns[0, place]), *(round(float(value) / MM, 6) for value in layout.extent[0, place]))
        for place, section in enumerate(layout.sections)
        if section.winding == winding
    ]


CASES: dict[str, tuple[str, str, list[tuple[float, ...]]]] = {
    # 20 mm hold floor(20/(1.0 × 1.02)) = 19 turns
    "single layer spaced evenly": ('{ wind = "P", turns = 8 },', "", [(8, 1, 2, 1, 21)]),
    "full layer": ('{ wind = "P", turns = 19 },', "", [(19, 1, 2, 1, 21)]),
    "last layer tight from the upper flange": (
        '{ wind = "P", turns = 24 },',
        "",
        [(19, 1, 2, 1, 21), (5, 2, 3, 21 - 5 * 1.02, 21)],
    ),
    "third layer tight from the lower flange": (
        '{ wind = "P", turns = 40 },',
        "",
        [(19, 1, 2, 1, 21), (19, 2, 3, 1, 21), (2, 3, 4, 1, 1 + 2 * 1.02)],
    ),
    "same side": (
        '{ wind = "P", turns = 24, style = "same_side" },',
        "",
        [(19, 1, 2, 1, 21), (5, 2, 3, 1, 1 + 5 * 1.02)],
    ),
    "shared evenly": (
        '{ wind = "P", turns = 17, layers = 3 },',
        "",
        [(6, 1, 2, 1, 21), (6, 2, 3, 1, 21), (5, 3, 4, 1, 21)],
    ),
    "margins": ('{ wind = "P", turns = 8 },', 'margin = "3 mm"', [(8, 1, 2, 4, 18)]),
    "margin of a step": (
        '{ wind = "P", turns = 8, margin = "2 mm" },',
        'margin = "3 mm"',
        [(8, 1, 2, 3, 19)],
    ),
    "from_end replaces the margin": (
        '{ wind = "P", turns = 5, from_end = "1 mm", breadth = "9 mm" },',
        'margin = "3 mm"',
        [(5, 1, 2, 2, 11)],
    ),
    "breadth begins at the margin": (
        '{ wind = "P", turns = 5, breadth = "9 mm" },',
        'margin = "3 mm"',
        [(5, 1, 2, 4, 13)],
    ),
    "close": ('{ wind = "P", turns = 5, close = true },', "", [(5, 1, 2, 1, 1 + 5 * 1.02)]),
    "interlayer": (
        '{ wind = "P", turns = 24, interlayer = "0.1 mm" },',
        "",
        [(19, 1, 2, 1, 21), (5, 2.1, 3.1, 21 - 5 * 1.02, 21)],
    ),
    "no allowance": ('{ wind = "P", turns = 20 },', 'allowance = "0 %"', [(20, 1, 2, 1, 21)]),
    "block": (
        '{ wind = "P", turns = 50, thickness = "2.5 mm", breadth = "7 mm", from_end = "3 mm" },',
        "",
        [(50, 1, 3.5, 4, 11)],
    ),
    "tape and spacer": (
        '{ tape = "0.05 mm", wraps = 4 },\n{ spacer = "0.3 mm" },\n{ wind = "P", turns = 8 },',
        "",
        [(8, 1.5, 2.5, 1, 21)],
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_layer_rules(name: str) -> None:
    steps, build, expected = CASES[name]
    found = rows(lay_out(design(steps, build=build), strict=True))
    assert found == [pytest.approx(row, abs=1e-6) for row in expected]


def test_wires_in_hand_share_a_pitch_and_a_layer() -> None:
    """Three wires of 1.0 mm in hand: floor(20/(3 × 1.02)) = 6 turns a layer."""
    found = rows(lay_out(design('{ wind = "S", turns = 8 },\n{ wind = "P", turns = 3 },')), "S")
    assert found[:2] == [(6, 1, 2, 1, 21), pytest.approx((2, 2, 3, 21 - 2 * 3.06, 21))]


def test_beside_begins_where_the_step_before_ended_and_the_next_stands_on_the_higher() -> None:
    first = '{ wind = "P", turns = 10, breadth = "10 mm", layers = 2 },'
    steps = first + '\n{ wind = "P", turns = 4, beside = true },'
    layout = lay_out(design(steps), strict=True)
    assert rows(layout) == [(5, 1, 2, 1, 11), (5, 2, 3, 1, 11), (4, 1, 2, 11, 21)]
    assert rows(layout, "S")[0][1] == 3


def test_mean_turn_on_both_kinds_of_leg() -> None:
    """Perimeter of the leg + 2π × distance of the layer's middle."""
    on_rectangle = lay_out(design('{ wind = "P", turns = 8 },')).turn_length[0, 0]
    on_round = lay_out(design('{ wind = "P", turns = 8 },', leg="round")).turn_length[0, 0]
    assert on_rectangle == pytest.approx(44 * MM + 2 * math.pi * 1.5 * MM)
    assert on_round == pytest.approx(math.pi * 10 * MM + 2 * math.pi * 1.5 * MM)


def test_copper_is_a_square_of_the_wires_area_in_the_middle_of_the_layer() -> None:
    layout = lay_out(design('{ wind = "P", turns = 8 },'))
    x0, x1 = layout.copper[0, 0, :2] / MM
    assert x1 - x0 == pytest.approx(0.8 * math.sqrt(math.pi) / 2)
    assert (x0 + x1) / 2 == pytest.approx(1.5)


@pytest.mark.parametrize(
    ("steps", "words"),
    [
        ('{ wind = "P", turns = 140 },', ("build", "does not fit by")),
        ('{ wind = "P", turns = 30, layers = 1 },', ("step 1", "does not fit")),
        ('{ wind = "P", turns = 3, breadth = "25 mm" },', ("step 1", "do not fit by 5.000 mm")),
        ('{ wind = "P", turns = 3, margin = "10 mm" },', ("step 1", "breadth")),
        (
            '{ wind = "P", turns = 3, margin = "3 mm", breadth = "15 mm" },',
            ("step 1", "at most 18.000 mm, the upper flange less the margin", "by 1.000 mm"),
        ),
        (
            '{ wind = "S", turns = 2, breadth = "2 mm" },\n{ wind = "P", turns = 3 },',
            ("step 1", "by 1.060 mm"),
        ),
    ],
)
def test_what_does_not_fit_says_by_how_much(steps: str, words: tuple[str, ...]) -> None:
    with pytest.raises(BuildError) as caught:
        design(steps)
    for word in words:
        assert word in str(caught.value)


def test_a_change_tips_into_one_more_layer() -> None:
    """Thicker insulation in one of three builds: that build alone lays its last turn in a second layer."""
    plain = design('{ wind = "P", turns = 19, layers = 1 },')
    overall = np.array([1.0, 1.04, 0.99]) * MM
    wires = tuple(
        replace(winding, wire=replace(winding.wire, overall=overall)) if winding.name == "P" else winding
        for winding in plain.windings
    )
    layout = lay_out(replace(plain, windings=wires))
    own = [place for place, section in enumerate(layout.sections) if section.winding == "P"]
    np.testing.assert_array_equal(layout.turns[:, own], [[19, 0], [10, 9], [19, 0]])
    assert layout.top[1] > layout.top[0] + 0.9 * MM


def test_ring_counts_its_layers_on_the_inner_circumference() -> None:
    """Hole 9.6 mm, coating 0.3 mm, wire 0.5 mm: floor(2π(4.8 − 0.55)/(0.5 × 1.02)) = 52 turns, then 46."""
    ring = parse_design("""
[core]
shape = "R 16/9.6/6.3"
mu_i = 5000
[bobbin]
wall = "0.3 mm"
[[winding]]
name = "P"
wire = { diameter = "0.4 mm", overall = "0.5 mm" }
[build]
steps = [{ wind = "P", turns = 100 }]
[[test]]
name = "R"
measure = "resistance"
drive = "P"
""")
    layout = lay_out(ring, strict=True)
    assert layout.turns[0].tolist() == [52, 46, 2]
    np.testing.assert_allclose(layout.extent[0, :, 0] / MM, [0.3, 0.8, 1.3])


FOIL = """[[winding]]
name = "F"
wire = { foil = "0.2 mm", width = "16 mm" }"""


def test_foil_lies_a_turn_a_layer_from_the_margin_on() -> None:
    """Three turns of 0.2 × 16 mm with 0.05 mm between: no allowance, and the foil's own breadth."""
    steps = (
        '{ wind = "F", turns = 3, interlayer = "0.05 mm", margin = "1.5 mm" },\n{ wind = "P", turns = 3 },'
    )
    layout = lay_out(design(steps, wires=FOIL), strict=True)
    expected = [(1, 1, 1.2, 2.5, 18.5), (1, 1.25, 1.45, 2.5, 18.5), (1, 1.5, 1.7, 2.5, 18.5)]
    assert rows(layout, "F") == [pytest.approx(row, abs=1e-6) for row in expected]
    assert rows(layout)[0][1] == pytest.approx(1.7)
    np.testing.assert_allclose(np.diff(layout.copper[0, :3, :2]) / MM, 0.2)


def test_windings_wound_together_share_layers_and_pitch() -> None:
    """P of 1.0 mm with S of three times 1.0 mm: floor(20/(4 × 1.02)) = 4 turns of both in a layer."""
    layout = lay_out(design('{ wind = "P", turns = 6, with = ["S"] },'), strict=True)
    expected = [(4, 1, 2, 1, 21), (2, 2, 3, 21 - 2 * 4.08, 21)]
    assert rows(layout) == [pytest.approx(row, abs=1e-6) for row in expected]
    assert rows(layout, "S")[:2] == rows(layout)
    together = [section.group for section in layout.sections[:4]]
    assert together[0] == together[1] != together[2] == together[3]
    assert [branch.winding for branch in layout.branches] == ["P", "S", "S"]


def test_the_step_that_takes_most_is_named_with_its_own_height() -> None:
    """Five layers of 1 mm, tape, two layers: P takes 5 mm, not what lies up to the last step."""
    steps = (
        '{ wind = "P", turns = 95, layers = 5 },\n{ tape = "0.1 mm", wraps = 2 },\n'
        '{ wind = "P", turns = 38, layers = 2 },'
    )
    with pytest.raises(BuildError, match=r"Most is taken by step 1 \(P\): 5\.000 mm\."):
        lay_out(design(steps))


def test_without_refusal_a_build_that_is_too_high_is_pressed_into_the_window() -> None:
    """Tape of 7 mm in a changed build: 1 mm of wall stays, the rest shrinks evenly to the window's 8 mm."""
    plain = design('{ tape = "0.1 mm", wraps = 2 },\n{ wind = "P", turns = 8 },')
    changed = with_first_step(plain, thickness=3.5 * MM)
    layout = lay_out(changed)
    assert float(layout.top[0]) == pytest.approx((1 + 7 + 1 + 1) * MM)
    scale = (0.999 * 8 - 1) / (10 - 1)
    assert rows(layout)[0][1:3] == pytest.approx((1 + 7 * scale, 1 + 8 * scale), abs=1e-6)
    with pytest.raises(BuildError, match=r"does not fit by 2\.000 mm"):
        lay_out(changed, strict=True)


def test_smallest_circles_around_a_bundle() -> None:
    """Known circle packings: 2, 1 + 2/√3, 1 + √2, 1 + √(2 (1 + 1/√5)), 3, 3 diameters; 0.7 filled above 7."""
    packings = [1, 2, 1 + 2 / math.sqrt(3), 1 + math.sqrt(2), 1 + math.sqrt(2 + 2 / math.sqrt(5)), 3, 3]
    for number, expected in enumerate(packings, start=1):
        assert bundle_factor(number) == pytest.approx(expected, rel=2e-5)
    assert bundle_factor(70) == pytest.approx(10.0)


BUNDLE = 1 + 2 / math.sqrt(3)


@pytest.mark.parametrize(
    ("wire", "turns", "per_layer", "thickness", "copper"),
    [
        (
            Wire(kind="round", diameter=0.8 * MM, overall=1.0 * MM, in_hand=3, twisted=True),
            10,
            9,
            BUNDLE,
            BUNDLE * math.sqrt(math.pi) / 2,
        ),
        (
            Wire(kind="litz", diameter=0.1 * MM, overall=1.2 * MM, in_hand=2, strands=50),
            9,
            8,
            1.2,
            1.2 * math.sqrt(math.pi) / 2,
        ),
        (Wire(kind="foil", diameter=0.0, overall=0.2 * MM, in_hand=2, foil_width=20 * MM), 3, 1, 0.4, 0.4),
    ],
    ids=["bundle", "litz", "foil"],
)
def test_bundles_litz_and_foil_in_hand(
    wire: Wire, turns: int, per_layer: int, thickness: float, copper: float
) -> None:
    """A bundle is as broad as high, floor(20/(2.155 × 1.02)) = 9 a layer; litz of 1.2 mm two in hand,
    floor(20/(2.4 × 1.02)) = 8; foils in hand lie on each other."""
    plain = design(f'{{ wind = "P", turns = {turns} }},')
    windings = tuple(
        replace(winding, wire=wire) if winding.name == "P" else winding for winding in plain.windings
    )
    layout = lay_out(replace(plain, windings=windings), strict=True)
    own = rows(layout)
    assert own[0][0] == per_layer
    assert len(own) == math.ceil(turns / per_layer)
    for place, (_, inner, outer, *_) in enumerate(own):
        assert inner == pytest.approx(1 + place * thickness, abs=1e-6)
        assert outer == pytest.approx(1 + (place + 1) * thickness, abs=1e-6)
    widths = np.diff(layout.copper[0, : len(own), :2])[:, 0] / MM
    np.testing.assert_allclose(widths, copper, rtol=1e-9)


def test_the_last_layer_is_spread_when_it_is_full() -> None:
    found = rows(lay_out(design('{ wind = "P", turns = 38 },'), strict=True))
    assert found == [(19, 1, 2, 1, 21), (19, 2, 3, 1, 21)]


def test_a_step_overrules_style_and_interlayer_of_the_build() -> None:
    build = 'style = "same_side"\ninterlayer = "0.3 mm"'
    plain = rows(lay_out(design('{ wind = "P", turns = 24 },', build=build), strict=True))
    assert plain[1] == pytest.approx((5, 2.3, 3.3, 1, 1 + 5 * 1.02))
    own = '{ wind = "P", turns = 24, style = "back_and_forth", interlayer = "0.05 mm" },'
    assert rows(lay_out(design(own, build=build)))[1] == pytest.approx((5, 2.05, 3.05, 21 - 5 * 1.02, 21))


def test_close_layers_start_where_the_wire_arrives() -> None:
    """Three layers of close winding run to and fro: tight from the lower, the upper, the lower flange."""
    layout = lay_out(design('{ wind = "P", turns = 40, close = true },'), strict=True)
    full = 19 * 1.02
    expected = [(19, 1, 2, 1, 1 + full), (19, 2, 3, 21 - full, 21), (2, 3, 4, 1, 1 + 2 * 1.02)]
    assert rows(layout) == [pytest.approx(row, abs=1e-6) for row in expected]


@pytest.mark.parametrize(
    ("first", "second", "beside", "after"),
    [
        ("turns = 8, layers = 2", 'turns = 2, breadth = "10 mm"', [(2, 1, 2, 11, 21)], 3),
        ("turns = 7", 'turns = 4, breadth = "7 mm"', [(2, 1, 2, 11, 18), (2, 2, 3, 11, 18)], 3),
        ("turns = 7", 'turns = 2, breadth = "7 mm"', [(2, 1, 2, 11, 18)], 2),
    ],
)
def test_beside_takes_its_own_place_and_the_higher_of_the_two_counts(
    first: str, second: str, beside: list[tuple[float, ...]], after: float
) -> None:
    """P over 8 mm, S beside it from 10 mm on (two turns of 3.06 mm a layer), then P on the higher of both."""
    steps = (
        f'{{ wind = "P", breadth = "8 mm", {first} }},\n'
        f'{{ wind = "S", from_end = "10 mm", beside = true, {second} }},\n'
        '{ wind = "P", turns = 4 },'
    )
    layout = lay_out(design(steps), strict=True)
    assert rows(layout, "S")[:-1] == beside
    assert rows(layout)[-1] == (4, after, after + 1, 1, 21)


@pytest.mark.parametrize(
    ("covered", "shift", "expected"),
    [
        (0.5, 0.0, [(1, 11), (1 + (20 - 5.1) / 2, 11)]),
        (1.0, 0.4, [(1.4, 21.4), (21.4 - 5.1, 21.4)]),
        (1.0, 1.5, [(2.0, 22.0), (22.0 - 5.1, 22.0)]),
        (1.0, -2.5, [(0.0, 20.0), (18.5 - 5.1, 18.5)]),
    ],
)
def test_layers_are_bunched_towards_the_start_and_shifted_up_to_the_yokes(
    covered: float, shift: float, expected: list[tuple[float, float]]
) -> None:
    plain = design('{ wind = "P", turns = 24 },')
    changed = with_first_step(plain, covered=covered, shift=shift * MM)
    found = [row[3:] for row in rows(lay_out(changed))]
    assert found == [pytest.approx(row, abs=1e-6) for row in expected]


@pytest.mark.parametrize(
    ("dimensions", "perimeter"),
    [
        (
            EDimensions(
                leg_width=10e-3,
                leg_depth=12e-3,
                window_width=8e-3,
                window_height=22e-3,
                outer_leg=5e-3,
                back=5e-3,
                outer_depth=12e-3,
                leg_corner=2e-3,
            ),
            40 + 4 * math.pi - 12,
        ),
        (
            EDimensions(
                leg_width=10e-3,
                leg_depth=12e-3,
                window_width=8e-3,
                window_height=22e-3,
                outer_leg=5e-3,
                back=5e-3,
                outer_depth=12e-3,
                leg_corner=5e-3,
            ),
            10 * math.pi + 4,
        ),
        (
            PotDimensions(
                leg_diameter=11e-3,
                window_diameter=27e-3,
                outer_diameter=34e-3,
                window_height=22e-3,
                back=5e-3,
            ),
            11 * math.pi,
        ),
        (ToroidDimensions(40e-3, 16e-3, 15e-3), 2 * (15 + 12)),
    ],
    ids=["rounded corners", "half circles", "pot", "ring"],
)
def test_perimeter_of_every_leg_and_turns_that_follow_it(dimensions: Dimensions, perimeter: float) -> None:
    """Straight sides and quarter circles; a ring of 12 × 15 mm; then 2π × distance of the layer's middle."""
    assert dimensions.perimeter / MM == pytest.approx(perimeter)
    plain = design('{ wind = "P", turns = 8 },')
    build = replace(plain.build, steps=plain.build.steps[:1], mean_turn_scale=1.01)
    changed = replace(plain, core=replace(plain.core, dimensions=dimensions), build=build)
    length = lay_out(changed).turn_length[0, 0] / MM
    assert length == pytest.approx(1.01 * (perimeter + 2 * math.pi * 1.5))


def test_height_of_the_build_and_the_part_of_the_window_that_it_fills() -> None:
    """Wall 1 mm, two layers of 1 mm, 0.4 mm of tape, S of 1 mm: 4.4 of 8 mm; of a ring's hole, its radius."""
    layout = lay_out(design('{ wind = "P", turns = 24 },\n{ tape = "0.1 mm", wraps = 4 },'), strict=True)
    assert layout.top[0] / MM == pytest.approx(4.4)
    assert layout.fill[0] == pytest.approx(4.4 / 8)
    assert ToroidDimensions(40e-3, 16e-3, 15e-3).window == (8e-3, math.inf)
    assert PotDimensions(
        leg_diameter=11e-3, window_diameter=27e-3, outer_diameter=34e-3, window_height=22e-3, back=5e-3
    ).window == pytest.approx((8e-3, 22e-3))


def test_a_layer_too_narrow_for_a_turn_takes_one_where_nothing_is_refused() -> None:
    """A changed build with 0.5 mm of breadth: each layer is pressed to hold its single turn."""
    plain = design('{ wind = "P", turns = 3 },')
    changed = with_first_step(plain, breadth=0.5 * MM)
    assert [row[0] for row in rows(lay_out(changed))] == [1, 1, 1]
    with pytest.raises(BuildError, match=r"does not fit by 0\.5[012]0 mm"):
        lay_out(changed, strict=True)


def test_several_faults_are_reported_together_with_their_steps() -> None:
    steps = '{ wind = "P", turns = 140 },\n{ wind = "P", turns = 30, layers = 1 },'
    with pytest.raises(BuildError) as caught:
        design(steps)
    text = str(caught.value)
    assert "step 2 (P)" in text
    assert "30 turns in 1 layer;" in text
    assert "19 turns in a layer" in text
    # 8 layers of P, one of the step that is refused, one of S, on a wall of 1 mm: 11 mm
    assert "11.000 mm high" in text
    assert "by 3.000 mm" in text


def test_a_turn_that_does_not_go_through_the_hole_is_refused() -> None:
    with pytest.raises(BuildError, match="a turn that goes through the hole"):
        parse_design("""
[core]
shape = "R 16/9.6/6.3"
mu_i = 5000
[[winding]]
name = "P"
wire = { diameter = "4.6 mm", overall = "4.7 mm", in_hand = 4 }
[build]
steps = [{ wind = "P", turns = 1 }]
[[test]]
name = "R"
measure = "resistance"
drive = "P"
""")


def test_branches_count_the_sections_of_a_winding_in_their_order() -> None:
    """Each layer belongs to its step's branch, each companion to its own."""
    steps = (
        '{ wind = "P", turns = 24 },\n{ tape = "0.1 mm", wraps = 1 },\n'
        '{ wind = "P", turns = 4, with = ["S"] },'
    )
    layout = lay_out(design(steps), strict=True)
    found = [(branch.winding, branch.step, branch.ordinal) for branch in layout.branches]
    assert found == [("P", 0, 0), ("P", 2, 1), ("S", 2, 0), ("S", 3, 1)]
    own = [(section.winding, section.layer, section.branch) for section in layout.sections]
    assert own == [("P", 0, 0), ("P", 1, 0), ("P", 0, 1), ("S", 0, 2), ("S", 0, 3)]


@pytest.mark.parametrize(("in_hand", "fits"), [(9, True), (10, False)])
def test_a_hole_that_holds_a_single_turn_is_enough(in_hand: int, fits: bool) -> None:
    """Wire of 3 mm in a hole of 12 mm: 2π(6 − 1.5) = 28.27 mm for nine wires of 3.06 mm, not for ten."""
    wire = Wire(kind="round", diameter=2.9 * MM, overall=3.0 * MM, in_hand=in_hand)
    plain = design('{ wind = "P", turns = 1 },')
    ring = replace(
        plain,
        core=replace(plain.core, dimensions=ToroidDimensions(40e-3, 12e-3, 15e-3)),
        bobbin=replace(plain.bobbin, wall=0.0),
        windings=tuple(
            replace(winding, wire=wire) if winding.name == "P" else winding for winding in plain.windings
        ),
        build=replace(plain.build, steps=plain.build.steps[:1]),
    )
    if fits:
        assert lay_out(ring, strict=True).turns.tolist() == [[1]]
    else:
        with pytest.raises(BuildError, match="a turn that goes through the hole"):
            lay_out(ring, strict=True)


def test_a_batch_holds_builds_of_one_layer_and_of_many() -> None:
    """Layers that only the narrow build has lie inside the window in the other one too, where they have no
    turns: each build reads in the batch what it reads alone."""
    plain = design('{ wind = "P", turns = 12 },\n{ tape = "0.1 mm", wraps = 1 },')
    narrow = replace(plain, build=replace(plain.build, margin=9.2 * MM))
    together = readings(stack([plain, narrow]))
    alone = np.array([np.ravel(readings(one)) for one in (plain, narrow)])
    assert int(lay_out(narrow).turns.shape[1]) > 10
    magnetic = [place for place, test in enumerate(plain.tests) if test.measure != "capacitance"]
    np.testing.assert_allclose(together[:, magnetic], alone[:, magnetic], rtol=1e-5)
