"""Chambers, flat builds, both legs, sectors, shields, tracks and turns without order, by hand-computed
numbers from the rules of the design file."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from aswound.predict import lay_out, leakage, parse_design, readings
from aswound.predict.design import Design
from aswound.predict.errors import BuildError, DesignError
from aswound.predict.winding.layout import Layout

pytestmark = pytest.mark.exact

MM = 1e-3
ROUND = '{ diameter = "0.8 mm", overall = "1.0 mm" }'
TRACK = '{ trace = "70 um", width = "0.8 mm", spacing = "0.2 mm" }'


def design(
    steps: str,
    *,
    bobbin: str = "",
    build: str = "",
    form: str = "E",
    wires: tuple[str, str] = (ROUND, ROUND),
) -> Design:
    """A core with a window 8 × 22 mm and a leg of 10 × 12 mm, wall and flanges of 1 mm."""
    outer = 'outer_leg = "5 mm"' if form == "E" else ""
    return parse_design(f"""
[core]
mu_i = 2000
[core.dimensions]
form = "{form}"
leg_width = "10 mm"
leg_depth = "12 mm"
window_width = "8 mm"
window_height = "22 mm"
back = "5 mm"
{outer}
[bobbin]
wall = "1 mm"
flange = "1 mm"
{bobbin}
[[winding]]
name = "P"
wire = {wires[0]}
[[winding]]
name = "S"
wire = {wires[1]}
[build]
{build}
steps = [
{steps}
]
""")


def rows(layout: Layout, name: str, boxes: str = "extent") -> list[tuple[float, ...]]:
    """(turns, x0, x1, y0, y1) in mm of every section of a winding or shield."""
    return [
        (
            float(layout.turns[0, place]),
            *(round(float(value) / MM, 6) for value in getattr(layout, boxes)[0, place]),
        )
        for place, section in enumerate(layout.sections)
        if section.winding == name
    ]


def near(*expected: tuple[float, ...]) -> list[object]:
    return [pytest.approx(row, abs=1e-6) for row in expected]


# --- chambers --------------------------------------------------------------------------------------


def test_each_chamber_grows_from_the_wall_and_tape_covers_all() -> None:
    """Two chambers of (20 − 1)/2 = 9.5 mm hold floor(9.5/1.02) = 9 turns a layer. P has two layers in
    chamber 1, S one in chamber 2; the tape lies on P, the higher, in both; the next layer stands on it."""
    layout = lay_out(
        design(
            '{ wind = "P", turns = 13, chamber = 1 },\n{ wind = "S", turns = 6, chamber = 2 },\n'
            '{ tape = "0.1 mm", wraps = 2 },\n{ wind = "S", turns = 9, chamber = 2 },',
            bobbin='chambers = 2\npartition = "1 mm"',
        ),
        strict=True,
    )
    assert rows(layout, "P") == near((9, 1, 2, 1, 10.5), (4, 2, 3, 10.5 - 4 * 1.02, 10.5))
    assert rows(layout, "S") == near((6, 1, 2, 11.5, 21), (9, 3.2, 4.2, 11.5, 21))
    assert [section.chamber for section in layout.sections] == [1, 1, 2, 2]
    assert layout.top[0] / MM == pytest.approx(4.2)


def test_tape_and_spacer_of_one_chamber_leave_the_others() -> None:
    steps = (
        '{ tape = "0.1 mm", wraps = 3, chamber = 1 },\n{ spacer = "0.5 mm", chamber = 1 },\n'
        '{ wind = "P", turns = 5, chamber = 1 },\n{ wind = "S", turns = 5, chamber = 2 },'
    )
    layout = lay_out(design(steps, bobbin="chambers = 2"), strict=True)
    assert rows(layout, "P") == near((5, 1.8, 2.8, 1, 11))
    assert rows(layout, "S") == near((5, 1, 2, 11, 21))


def test_listed_breadths_margins_and_from_end_count_from_the_chambers_own_lower_wall() -> None:
    """Chambers of 6, 8 and 4 mm with 1 mm between: from 1, 8 and 17 mm above the lower yoke, up to 21."""
    steps = (
        '{ wind = "P", turns = 2, chamber = 1, margin = "1 mm" },\n'
        '{ wind = "S", turns = 2, chamber = 2, from_end = "3 mm", breadth = "4 mm" },\n'
        '{ wind = "P", turns = 3, chamber = 3 },'
    )
    bobbin = 'chambers = ["6 mm", "8 mm", "4 mm"]\npartition = "1 mm"'
    plain = design(steps, bobbin=bobbin)
    layout = lay_out(plain, strict=True)
    assert rows(layout, "P") == near((2, 1, 2, 2, 6), (3, 1, 2, 17, 21))
    assert rows(layout, "S") == near((2, 1, 2, 11, 15))
    assert not any("leave" in caution for caution in plain.cautions)


def test_beside_in_a_chamber() -> None:
    """Begins where the step before ended, up to the chamber's upper wall; the next stands on the higher."""
    steps = (
        '{ wind = "P", turns = 4, chamber = 2, breadth = "4 mm", layers = 2 },\n'
        '{ wind = "S", turns = 3, chamber = 2, beside = true },\n{ wind = "S", turns = 1, chamber = 2 },'
    )
    layout = lay_out(design(steps, bobbin="chambers = 2"), strict=True)
    assert rows(layout, "P") == near((2, 1, 2, 11, 15), (2, 2, 3, 11, 15))
    assert rows(layout, "S") == near((3, 1, 2, 15, 21), (1, 3, 4, 11, 21))


BOTH = '{ wind = "P", turns = 2, chamber = 1 },\n{ wind = "S", turns = 2, chamber = 2 },'


def test_chambers_that_do_not_fit_or_leave_room_say_by_how_much() -> None:
    with pytest.raises(BuildError, match=r"bobbin.chambers: .*take 21\.500 mm.*do not fit by 1\.500 mm"):
        design(BOTH, bobbin='chambers = ["9.5 mm", "11 mm"]\npartition = "1 mm"')
    with pytest.raises(BuildError, match=r"partitions that take 20\.000 mm"):
        design(BOTH, bobbin='chambers = 2\npartition = "20 mm"')
    loose = design(BOTH, bobbin='chambers = ["9.5 mm", "8 mm"]\npartition = "1 mm"')
    assert any("leave 1.500 mm" in caution for caution in loose.cautions)
    with pytest.raises(BuildError, match=r"step 1 \(P\).*at most 11.000 mm, the chamber's upper wall.* by 2"):
        design(BOTH.replace("chamber = 1", 'chamber = 1, breadth = "12 mm"'), bobbin="chambers = 2")


@pytest.mark.parametrize(
    ("steps", "bobbin", "place", "words"),
    [
        (
            BOTH.replace(", chamber = 2", ""),
            "chambers = 2",
            "step 2 (wind S): chamber",
            "from 1 (at the lower",
        ),
        (BOTH.replace("chamber = 2", "chamber = 3"), "chambers = 2", "step 2 (wind S): chamber", "found 3"),
        (
            BOTH.replace("chamber = 2", "chamber = 2, beside = true"),
            "chambers = 2",
            "step 2 (wind S): beside",
            "",
        ),
    ],
)
def test_a_chamber_is_named_and_there(steps: str, bobbin: str, place: str, words: str) -> None:
    with pytest.raises(DesignError) as caught:
        design(steps, bobbin=bobbin)
    assert [fault.place for fault in caught.value.faults] == [place]
    assert words in str(caught.value)


def test_listed_chambers_shrink_with_the_room_of_a_changed_build() -> None:
    """Flanges of 1.5 mm leave 19 mm for two chambers of 10 mm: 9.5 mm each."""
    plain = design(BOTH, bobbin='chambers = ["10 mm", "10 mm"]')
    layout = lay_out(replace(plain, bobbin=replace(plain.bobbin, flange=1.5 * MM)))
    assert rows(layout, "P") == near((2, 1, 2, 1.5, 11))
    assert rows(layout, "S") == near((2, 1, 2, 11, 20.5))


# --- flat builds -----------------------------------------------------------------------------------


def test_flat_layers_stack_from_the_lower_flange_and_run_from_the_wall() -> None:
    """Window 8 mm, wall 1 mm: 7 mm across hold floor(7/1.02) = 6 wires; the second spiral runs back inwards
    from the outer wall, tight. Tape adds height; turns have the length at the spiral's middle."""
    steps = '{ wind = "P", turns = 8 },\n{ tape = "0.1 mm", wraps = 5 },\n{ wind = "S", turns = 3 },'
    layout = lay_out(design(steps, build='direction = "up"'), strict=True)
    assert rows(layout, "P") == near((6, 1, 8, 1, 2), (2, 8 - 2 * 1.02, 8, 2, 3))
    assert rows(layout, "S") == near((3, 1, 8, 3.5, 4.5))
    assert [section.descending for section in layout.sections] == [False, True, False]
    square = 0.8 * math.sqrt(math.pi) / 2
    assert rows(layout, "S", "copper") == near((3, 1, 8, 4 - square / 2, 4 + square / 2))
    expected = [44 + 2 * math.pi * middle for middle in (4.5, 8 - 1.02, 4.5)]
    np.testing.assert_allclose(layout.turn_length[0] / MM, expected)
    assert layout.flat
    assert layout.top[0] / MM == pytest.approx(4.5)
    assert layout.fill[0] == pytest.approx(3.5 / 20)


def test_margin_from_end_breadth_and_beside_run_across_the_window() -> None:
    steps = (
        '{ wind = "P", turns = 2, breadth = "2.5 mm", from_end = "0.5 mm" },\n'
        '{ wind = "S", turns = 3, beside = true },\n{ wind = "P", turns = 2 },'
    )
    layout = lay_out(design(steps, build='direction = "up"\nmargin = "0.3 mm"'), strict=True)
    assert rows(layout, "P") == near((2, 1.5, 4, 1, 2), (2, 1.3, 7.7, 2, 3))
    assert rows(layout, "S") == near((3, 4, 7.7, 1, 2))


def test_flat_foil_and_same_side() -> None:
    """A foil of 5 mm lies from the wall on, a turn a layer; same_side starts every spiral at the leg."""
    foil = '{ foil = "0.2 mm", width = "5 mm" }'
    steps = (
        '{ wind = "P", turns = 2, interlayer = "0.1 mm" },\n{ wind = "S", turns = 8, style = "same_side" },'
    )
    layout = lay_out(design(steps, build='direction = "up"', wires=(foil, ROUND)), strict=True)
    assert rows(layout, "P") == near((1, 1, 6, 1, 1.2), (1, 1, 6, 1.3, 1.5))
    assert rows(layout, "S") == near((6, 1, 8, 1.5, 2.5), (2, 1, 1 + 2 * 1.02, 2.5, 3.5))
    assert not any(section.descending for section in layout.sections if section.winding == "S")


def test_flat_builds_that_do_not_fit_say_by_how_much() -> None:
    steps = '{ wind = "P", turns = 2 },\n{ spacer = "19 mm" },\n{ wind = "S", turns = 2 },'
    with pytest.raises(BuildError, match=r"end 22\.000 mm above.*at most 21\.000 mm.* by 1\.000 mm"):
        design(steps, build='direction = "up"')
    wide = '{ wind = "P", turns = 2, breadth = "7.5 mm" },\n{ wind = "S", turns = 2 },'
    with pytest.raises(BuildError, match=r"end 8\.500 mm from the leg.*the outer wall.* by 0\.500 mm"):
        design(wide, build='direction = "up"')


def test_a_flat_build_that_is_too_high_is_pressed_between_its_flanges() -> None:
    plain = design('{ spacer = "1 mm" },\n{ wind = "P", turns = 2 },\n{ wind = "S", turns = 2 },')
    build = replace(
        plain.build,
        direction="up",
        steps=(replace(plain.build.steps[0], thickness=38 * MM), *plain.build.steps[1:]),
    )
    layout = lay_out(replace(plain, build=build))
    scale = (0.999 * 21 - 1) / 40
    assert rows(layout, "P")[0][3:] == pytest.approx((1 + 38 * scale, 1 + 39 * scale), abs=1e-6)
    assert rows(layout, "S")[0][4] == pytest.approx(0.999 * 21, abs=1e-6)


def test_flat_layers_shift_across_the_window_up_to_leg_and_outer_wall() -> None:
    plain = design('{ wind = "P", turns = 2 },\n{ wind = "S", turns = 2 },', build='direction = "up"')
    first = replace(plain.build.steps[0], shift=np.array([0.4, -0.4, -3.0]) * MM, breadth=6 * MM)
    layout = lay_out(replace(plain, build=replace(plain.build, steps=(first, plain.build.steps[1]))))
    expected = [[1.4, 7.4, 1, 2], [0.6, 6.6, 1, 2], [0, 6, 1, 2]]
    np.testing.assert_allclose(layout.extent[:, 0] / MM, expected, atol=1e-9)


def test_flat_chambers_stack_from_their_own_lower_wall() -> None:
    """Two chambers of 9.5 mm over each other; a tape without a chamber would have to lie in both."""
    bobbin = 'chambers = 2\npartition = "1 mm"'
    layout = lay_out(design(BOTH, bobbin=bobbin, build='direction = "up"'), strict=True)
    assert rows(layout, "P") == near((2, 1, 8, 1, 2))
    assert rows(layout, "S") == near((2, 1, 8, 11.5, 12.5))
    with pytest.raises(DesignError, match=r"step 3 \(tape\): chamber.*nothing covers all"):
        design(BOTH + '\n{ tape = "0.1 mm", wraps = 1 },', bobbin=bobbin, build='direction = "up"')
    high = BOTH.replace("turns = 2, chamber = 1", "turns = 60, chamber = 1")
    with pytest.raises(BuildError, match=r"build, chamber 1: .*end 11\.000 mm.*most 10\.500 mm.*0\.500 mm"):
        design(high, bobbin=bobbin, build='direction = "up"')


# --- tracks ----------------------------------------------------------------------------------------


def test_tracks_take_width_and_spacing_without_allowance_and_are_spaced_evenly() -> None:
    """7 mm hold exactly 7 tracks of 0.8 + 0.2 mm. Fewer are spaced evenly, in the last layer too: three at
    7/3 mm, their metal from (7/3 − 0.8)/2 after the wall to as much before the outer wall."""
    steps = (
        '{ wind = "P", turns = 10, interlayer = "0.2 mm" },\n{ spacer = "1 mm" },\n{ wind = "S", turns = 1 },'
    )
    layout = lay_out(design(steps, build='direction = "up"', wires=(TRACK, TRACK)), strict=True)
    assert rows(layout, "P") == near((7, 1, 8, 1, 1.07), (3, 1, 8, 1.27, 1.34))
    aside = (7 / 3 - 0.8) / 2
    assert rows(layout, "P", "copper") == near((7, 1.1, 7.9, 1, 1.07), (3, 1 + aside, 8 - aside, 1.27, 1.34))
    assert rows(layout, "S", "copper") == near((1, 4.5 - 0.4, 4.5 + 0.4, 2.34, 2.41))


def test_tracks_in_hand_wound_together_and_close() -> None:
    """Two in hand take 2 mm of the 7 mm: three turns. Close ones keep their own spacing from the start. With
    another winding of one track a turn takes 3 mm: two."""
    pair = TRACK.replace(" }", ", in_hand = 2 }")
    up = 'direction = "up"'
    close = '{ wind = "P", turns = 2, close = true },\n{ spacer = "1 mm" },\n{ wind = "S", turns = 1 },'
    layout = lay_out(design(close, build=up, wires=(pair, TRACK)), strict=True)
    assert rows(layout, "P") == near((2, 1, 5, 1, 1.07))
    assert rows(layout, "P", "copper") == near((2, 1.1, 4.9, 1, 1.07))
    together = '{ wind = "P", turns = 3, with = ["S"], interlayer = "0.1 mm" },'
    layout = lay_out(design(together, build=up, wires=(pair, TRACK)), strict=True)
    assert [row[0] for row in rows(layout, "P")] == [2, 1]
    assert rows(layout, "P") == rows(layout, "S")


def test_layers_of_tracks_do_not_touch() -> None:
    steps = '{ wind = "P", turns = 8 },\n{ spacer = "1 mm" },\n{ wind = "S", turns = 1 },'
    with pytest.raises(BuildError, match=r"step 1 \(P\): found 2 layers of tracks without insulation"):
        design(steps, build='direction = "up"', wires=(TRACK, TRACK))


# --- both legs -------------------------------------------------------------------------------------


def test_each_leg_of_a_u_core_has_its_own_stack() -> None:
    """Both legs' layers count from their own surface; 3 and 2.2 mm, wall included, of 8 mm together."""
    steps = (
        '{ wind = "P", turns = 24 },\n{ tape = "0.1 mm", wraps = 2, leg = 2 },\n'
        '{ wind = "S", turns = 8, leg = 2 },'
    )
    layout = lay_out(design(steps, form="U"), strict=True)
    assert rows(layout, "P") == near((19, 1, 2, 1, 21), (5, 2, 3, 21 - 5 * 1.02, 21))
    assert rows(layout, "S") == near((8, 1.2, 2.2, 1, 21))
    assert [section.leg for section in layout.sections] == [1, 1, 2]
    assert layout.top[0] / MM == pytest.approx(3)
    assert layout.fill[0] == pytest.approx((3 + 2.2) / 8)
    assert layout.turn_length[0, 2] / MM == pytest.approx(44 + 2 * math.pi * 1.7)


def test_the_stacks_of_both_legs_share_the_window() -> None:
    steps = '{ wind = "P", turns = 76 },\n{ wind = "S", turns = 57, leg = 2 },'
    with pytest.raises(BuildError, match=r"builds 5\.000 mm and 4\.000 mm.*leg to leg.* by 1\.000 mm"):
        design(steps, form="U")
    plain = design(steps.replace("57", "38"), form="U")
    pressed = lay_out(
        replace(
            plain,
            build=replace(plain.build, steps=(plain.build.steps[0], replace(plain.build.steps[1], turns=57))),
        )
    )
    scale = (0.999 * 8 - 2) / (9 - 2)
    assert rows(pressed, "P")[-1][2] == pytest.approx(1 + 4 * scale, abs=1e-6)
    assert rows(pressed, "S")[-1][2] == pytest.approx(1 + 3 * scale, abs=1e-6)
    with pytest.raises(DesignError, match="only a U core has two legs"):
        design(steps)


# --- shields ---------------------------------------------------------------------------------------

SHIELDED = (
    '{ wind = "P", turns = 8 },\n{ tape = "0.1 mm", wraps = 1 },\n'
    '{ shield = "0.05 mm", width = "16 mm", name = "E" },\n{ wind = "S", turns = 4 },'
)


def test_a_shield_lies_a_turn_from_the_margin_on_in_its_own_branch() -> None:
    layout = lay_out(design(SHIELDED, build='margin = "1.5 mm"'), strict=True)
    assert rows(layout, "E") == near((1, 2.1, 2.15, 2.5, 18.5))
    assert rows(layout, "E", "copper") == rows(layout, "E")
    assert rows(layout, "S") == near((4, 2.15, 3.15, 2.5, 19.5))
    assert [section.shield for section in layout.sections] == [False, True, False]
    assert [(branch.winding, branch.step) for branch in layout.branches] == [("P", 0), ("E", 2), ("S", 3)]


def test_shields_in_flat_builds_and_shields_that_are_too_wide() -> None:
    flat = SHIELDED.replace("16 mm", "6 mm")
    layout = lay_out(design(flat, build='direction = "up"'), strict=True)
    assert rows(layout, "E") == near((1, 1, 7, 3.1, 3.15))
    with pytest.raises(BuildError, match=r"step 3 \(shield E\).*16\.000 mm wide.* by 0\.400 mm"):
        design(SHIELDED, build='margin = "2.2 mm"')


def test_an_open_shield_changes_no_reading_but_by_its_thickness() -> None:
    """Against a spacer of the same thickness: resistance and ratio the same, leakage to 1e-9 relative; the
    capacitance between the windings, last of the usual tests, is another."""
    with_shield = design(SHIELDED)
    with_spacer = design(
        SHIELDED.replace('shield = "0.05 mm", width = "16 mm", name = "E"', 'spacer = "0.05 mm"')
    )
    assert leakage(with_shield, "P", "S") == pytest.approx(leakage(with_spacer, "P", "S"), rel=1e-9)
    np.testing.assert_allclose(readings(with_shield)[:-1], readings(with_spacer)[:-1], rtol=1e-3)


# --- without order ---------------------------------------------------------------------------------


def test_turns_without_order_fill_a_body_over_the_whole_breadth() -> None:
    """A turn takes 1.02 × 1.15 mm of the 20 mm: 17 in a slice, 24 in two. Their body is 24 × 1.173/20 =
    1.4076 mm high, no less than a wire; with ``layers`` as high as these."""
    steps = '{ wind = "P", turns = 24, style = "scramble" },\n{ wind = "S", turns = 19 },'
    layout = lay_out(design(steps), strict=True)
    body = 24 * 1.02 * 1.15 / 20
    assert rows(layout, "P") == near((12, 1, 1 + body / 2, 1, 21), (12, 1 + body / 2, 1 + body, 1, 21))
    assert rows(layout, "S") == near((19, 1 + body, 2 + body, 1, 21))
    assert [section.scramble for section in layout.sections] == [True, True, False]
    everywhere = lay_out(design(steps.replace("19", "8"), build='style = "scramble"'), strict=True)
    assert rows(everywhere, "S") == near((8, 1 + body, 2 + body, 1, 21))
    two = lay_out(design(steps.replace('"scramble"', '"scramble", layers = 2')), strict=True)
    assert rows(two, "P") == near((12, 1, 2, 1, 21), (12, 2, 3, 1, 21))
    with pytest.raises(BuildError, match=r"17 turns without order in a layer"):
        design(steps.replace('"scramble"', '"scramble", layers = 1'))


def test_a_body_without_order_grows_evenly_with_its_wire() -> None:
    """One more slice changes nothing: 34 turns of 1.00 and 1.01 mm fill two and three slices, 1.9941 and
    1.9941 × 1.01² mm."""
    plain = design('{ wind = "P", turns = 34, style = "scramble" },\n{ wind = "S", turns = 8 },')
    overall = np.array([1.0, 1.01]) * MM
    windings = tuple(replace(item, wire=replace(item.wire, overall=overall)) for item in plain.windings)
    layout = lay_out(replace(plain, windings=windings))
    own = [place for place, section in enumerate(layout.sections) if section.winding == "P"]
    np.testing.assert_array_equal(layout.turns[:, own], [[17, 17, 0], [12, 11, 11]])
    place = len(own)
    body = 34 * 1.173 / 20
    np.testing.assert_allclose(layout.extent[:, place, 0] / MM, [1 + body, 1 + body * 1.01**2])


# --- sectors ---------------------------------------------------------------------------------------


def ring(steps: str) -> Layout:
    """Hole 9.6 mm, coating 0.3 mm, wire of 0.5 mm: layers at 4.25, 3.75, 3.25 mm from the axis."""
    plain = parse_design(f"""
[core]
shape = "R 16/9.6/6.3"
mu_i = 5000
[bobbin]
wall = "0.3 mm"
[[winding]]
name = "P"
wire = {{ diameter = "0.4 mm", overall = "0.5 mm" }}
[[winding]]
name = "S"
wire = {{ diameter = "0.4 mm", overall = "0.5 mm" }}
[build]
steps = [
{steps}
]
""")
    return lay_out(plain, strict=True)


def test_a_sector_holds_its_share_and_grows_by_itself() -> None:
    """Half the circumference: floor(π 4.25/0.51) = 26, then 23 turns; the opposite half starts on the coating
    too. A sector over both stands on the higher; tape covers all."""
    layout = ring(
        '{ wind = "P", turns = 40, sector = "180 deg" },\n'
        '{ wind = "S", turns = 9, sector = "180 deg", from_angle = "180 deg" },\n'
        '{ wind = "S", turns = 5, sector = "60 deg", from_angle = "330 deg" },\n'
        '{ tape = "0.1 mm", wraps = 1 },\n{ wind = "S", turns = 3 },'
    )
    assert layout.turns[0].tolist() == [26, 14, 9, 5, 3]
    np.testing.assert_allclose(layout.extent[0, :, 0] / MM, [0.3, 0.8, 0.3, 1.3, 1.9])
    assert [section.sector for section in layout.sections] == pytest.approx(
        [math.pi, math.pi, math.pi, math.pi / 3, None]
    )
    assert layout.sections[3].from_angle == pytest.approx(math.radians(330))


def test_layers_on_a_ring_share_the_turns_evenly() -> None:
    """52, 46 and 39 turns would fit: 100 turns in three layers are 34, 33, 33."""
    layout = ring('{ wind = "P", turns = 100, layers = 3 },\n{ wind = "S", turns = 9 },')
    assert layout.turns[0, :3].tolist() == [34, 33, 33]
    with pytest.raises(BuildError, match="100 turns in 2 layers"):
        ring('{ wind = "P", turns = 100, layers = 2 },\n{ wind = "S", turns = 9 },')


@pytest.mark.parametrize(
    ("keys", "words"),
    [
        ('sector = "400 deg"', "at most 360 deg"),
        ('sector = "0 deg"', "above zero"),
        ('from_angle = "90 deg"', "only with a sector"),
        ("chamber = 1", "no chamber on a toroid"),
        ("leg = 2", "only a U core"),
    ],
)
def test_what_a_ring_has_no_use_for(keys: str, words: str) -> None:
    with pytest.raises(DesignError, match=words):
        ring(f'{{ wind = "P", turns = 10, {keys} }},\n{{ wind = "S", turns = 9 }},')
