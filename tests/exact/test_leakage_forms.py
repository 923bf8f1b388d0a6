"""The leakage model's forms against each other: limits, symmetries, additivity."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from aswound.predict import leakage, leakage_model, parse_design, readings
from aswound.predict.circuit.section_coupling import (
    balanced_ampere_turns,
    section_interaction,
    sections_of,
)
from aswound.predict.copper import ac_resistance_error
from aswound.predict.cores import MU_0
from aswound.predict.design import (
    BenchTest,
    Design,
    EDimensions,
    Member,
    PotDimensions,
    RoundDimensions,
    UDimensions,
)
from aswound.predict.field import OPPOSED_ERROR, planar_window
from aswound.predict.field.leakage_field import interaction, window_fields
from aswound.predict.field.turn_lengths import turn_lengths
from aswound.predict.field.two_legs import BALANCED, leg_imbalance, two_leg_fields, two_leg_interaction
from aswound.predict.field.u_exterior import u_exterior
from aswound.predict.winding.layout import lay_out

pytestmark = pytest.mark.exact

HEIGHT = 30e-3
U_CORE = UDimensions(10e-3, 14e-3, 24e-3, HEIGHT, 10e-3)
PAIR = np.array([[1e-3, 3e-3, 2e-3, 28e-3], [3.6e-3, 6e-3, 4e-3, 26e-3]])
FLOW = np.array([30.0, -30.0])


def energy(matrix: np.ndarray, flow: np.ndarray) -> float:
    return float(flow @ matrix @ flow / 2)


def test_one_leg_of_two_is_one_leg() -> None:
    """Both legs laid, only the first carrying current: the energy of the one-leg model."""
    alone = energy(interaction(window_fields(U_CORE, PAIR[None]), FLOW[None, None])[0, 0], FLOW)
    both = two_leg_fields(U_CORE, np.vstack([PAIR, PAIR])[None], (1, 1, 2, 2))
    for flow in (np.array([*FLOW, 0.0, 0.0]), np.array([0.0, 0.0, *FLOW])):
        assert energy(two_leg_interaction(both, flow[None, None])[0, 0], flow) == pytest.approx(
            alone, rel=1e-9
        )


def test_two_legs_far_apart_do_not_meet() -> None:
    """In a window wide against its height the fields of the two legs do not reach each other: twice one
    leg."""
    wide = replace(U_CORE, window_width=0.12)
    alone = energy(interaction(window_fields(wide, PAIR[None]), FLOW[None, None])[0, 0], FLOW)
    flow = np.array([*FLOW, *FLOW])
    both = two_leg_fields(wide, np.vstack([PAIR, PAIR])[None], (1, 1, 2, 2))
    assert energy(two_leg_interaction(both, flow[None, None])[0, 0], flow) == pytest.approx(
        2 * alone, rel=1e-6
    )


def test_legs_may_change_places() -> None:
    other = PAIR + np.array([0.5e-3, 0.5e-3, 1e-3, 1e-3])
    flow = np.array([*FLOW, 20.0, -20.0])
    one = two_leg_fields(U_CORE, np.vstack([PAIR, other])[None], (1, 1, 2, 2))
    swapped = two_leg_fields(U_CORE, np.vstack([PAIR, other])[None], (2, 2, 1, 1))
    values = [energy(two_leg_interaction(fields, flow[None, None])[0, 0], flow) for fields in (one, swapped)]
    assert values[0] == pytest.approx(values[1], rel=1e-9)


@pytest.mark.parametrize("sense", [1.0, -1.0])
def test_two_legs_in_one_window(sense: float) -> None:
    """Deep legs, of which one side of two lies in the window: the planar window with the blocks of both
    legs, x of leg 2 mirrored, ampere-turns counted round the core."""
    deep = replace(U_CORE, leg_depth=1000.0, leg_width=1e-6)
    legs = two_leg_fields(deep, np.vstack([PAIR, PAIR])[None], (1, 1, 2, 2))
    mirrored = PAIR.copy()
    mirrored[:, :2] = deep.window_width - PAIR[:, [1, 0]]
    plain = planar_window(deep.window_width, HEIGHT, np.vstack([PAIR, mirrored]))
    flow = np.array([*FLOW, *(sense * FLOW)])
    outside = two_leg_fields(replace(deep, leg_depth=2000.0), np.vstack([PAIR, PAIR])[None], (1, 1, 2, 2))
    thousand = energy(two_leg_interaction(outside, flow[None, None])[0, 0], flow) - energy(
        two_leg_interaction(legs, flow[None, None])[0, 0], flow
    )
    beside = 2 * energy(interaction(window_fields(deep, PAIR[None]), FLOW[None, None])[0, 0], FLOW)
    inside_alone = 2 * energy(planar_window(deep.window_width, HEIGHT, PAIR), FLOW) * 1000
    # One side of 2b lies in the window, the other beside the leg.
    assert thousand == pytest.approx(energy(plain, flow) * 1000 + beside - inside_alone, rel=1e-3)


def oval(corner: float) -> EDimensions:
    return EDimensions(
        leg_width=10e-3,
        leg_depth=10e-3,
        window_width=8e-3,
        window_height=20e-3,
        outer_leg=5e-3,
        back=5e-3,
        outer_depth=10e-3,
        leg_corner=corner,
    )


def test_oval_leg_without_corners_is_rectangular() -> None:
    centroid = np.array([[3e-3]])
    lengths = turn_lengths(oval(0.0), centroid)
    extension = 4 * 0.23 * 20e-3 * 3 / 8
    assert lengths.covered == pytest.approx(20e-3)
    assert lengths.whole == pytest.approx(40e-3 + 2 * math.pi * 3e-3)
    assert lengths.inside == pytest.approx(20e-3 + extension)
    assert lengths.missing == pytest.approx(0.5 * 2 * math.pi * 3e-3 / (20e-3 + 2 * math.pi * 3e-3))


def test_rounded_corners_keep_more_of_the_mirror() -> None:
    """Corners of 3 mm around an energy at 3 mm: x_E/(x_E + ρ) = 1/2 of the half that is missing at sharp
    ones, of arcs of 2π x_E in all."""
    lengths = turn_lengths(oval(3e-3), np.array([[3e-3]]))
    arcs = lengths.missing * (lengths.whole - lengths.covered)
    assert arcs == pytest.approx(0.5 * 0.5 * 2 * math.pi * 3e-3)


@pytest.mark.parametrize("depth", [8e-3, 10e-3, 16e-3])
def test_oval_leg_of_full_corners_is_round(depth: float) -> None:
    """ρ = a = b: the lengths of the round leg with the same window and the same outer legs."""
    centroid = np.array([[1e-3, 3e-3, 7e-3]])
    full = turn_lengths(replace(oval(5e-3), outer_depth=depth), centroid)
    circle = turn_lengths(
        RoundDimensions(
            leg_diameter=10e-3,
            window_diameter=26e-3,
            length=36e-3,
            depth=depth,
            window_height=20e-3,
            back=5e-3,
        ),
        centroid,
    )
    for name in ("covered", "whole", "inside", "outside"):
        np.testing.assert_allclose(getattr(full, name), getattr(circle, name), rtol=1e-12)


def test_cover_replaces_the_geometry() -> None:
    """The stated part lies under the core, and the corners without a mirror are those of what is left
    outside."""
    centroid = np.array([[3e-3]])
    lengths = turn_lengths(oval(0.0), centroid, cover=0.25)
    assert lengths.covered == pytest.approx(0.25 * lengths.whole)
    assert lengths.missing == pytest.approx(0.5 * 2 * math.pi * 3e-3 / (0.75 * lengths.whole))
    pot = turn_lengths(
        PotDimensions(
            leg_diameter=10e-3, window_diameter=26e-3, outer_diameter=32e-3, window_height=20e-3, back=5e-3
        ),
        centroid,
        cover=0.25,
    )
    assert pot.covered == pytest.approx(0.25 * pot.whole)


SPLIT = """
[core]
mu_i = 2000
[core.dimensions]
form = "U"
leg_width = "10 mm"
leg_depth = "14 mm"
window_width = "24 mm"
window_height = "30 mm"
back = "10 mm"
[bobbin]
wall = "1 mm"
flange = "1 mm"
[[winding]]
name = "P"
wire = { diameter = "0.5 mm", grade = 2 }
lead_length = "100 mm"
[[winding]]
name = "S"
wire = { diameter = "0.5 mm", grade = 2 }
[build]
steps = [{ wind = "P", turns = 30 }, { spacer = "0.5 mm" }, { wind = "S", turns = 30 }]
[[test]]
name = "L"
measure = "inductance"
drive = "P"
frequency = "10 kHz"
[[test]]
name = "Lk"
measure = "inductance"
drive = "P"
short = ["S"]
frequency = "10 kHz"
"""


def test_ampere_turns_that_do_not_balance_on_each_leg() -> None:
    """Sheets on the legs have the energy of the core's surface alone; a little that remains on a leg changes
    little; exchanged legs, and a core turned upside down, read alike."""
    form = u_exterior(10e-3, 14e-3, 24e-3, HEIGHT, 10e-3)
    sheet = np.array([[0.0, 24e-6, 0.0, HEIGHT]] * 2)
    flow = np.array([30.0, -30.0])
    read = energy(opposed(sheet, (1, 2), flow), flow)
    assert read == pytest.approx(MU_0 / 2 * 900 * form[0, 0], rel=1e-3)
    blocks = np.array([[1e-3, 3e-3, 2e-3, 20e-3], [1e-3, 5e-3, 6e-3, 27e-3]])
    upside_down = blocks.copy()
    upside_down[:, 2:] = HEIGHT - blocks[:, :1:-1]
    values = [
        energy(opposed(blocks, (1, 2), flow), flow),
        energy(opposed(blocks[::-1], (1, 2), flow), flow),
        energy(opposed(blocks, (2, 1), flow), flow),
        energy(opposed(upside_down, (1, 2), flow), flow),
    ]
    np.testing.assert_allclose(values, values[0], rtol=1e-6)
    larger = two_leg_interaction(
        two_leg_fields(UDimensions(20e-3, 28e-3, 48e-3, 2 * HEIGHT, 20e-3), 2 * blocks[None], (1, 2), 0.5),
        flow[None, None],
    )[0, 0]
    assert energy(larger, flow) == pytest.approx(2 * values[0], rel=1e-9)


def opposed(blocks: np.ndarray, legs: tuple[int, ...], flow: np.ndarray) -> np.ndarray:
    fields = two_leg_fields(U_CORE, blocks[None], legs, 0.5)
    assert leg_imbalance(fields, flow) > BALANCED
    return two_leg_interaction(fields, flow[None, None])[0, 0]


def test_a_little_that_remains_on_a_leg() -> None:
    """The two forms of the model meet: ampere-turns that balance on each leg, and 3 % that do not, within
    5 %."""
    fields = two_leg_fields(U_CORE, np.vstack([PAIR, PAIR])[None], (1, 1, 2, 2), 0.5)
    balanced, nearly = np.array([30.0, -30, 0, 0]), np.array([30.0, -29.1, 0, -0.9])
    one = energy(two_leg_interaction(fields, balanced[None, None])[0, 0], balanced)
    other = energy(two_leg_interaction(fields, nearly[None, None])[0, 0], nearly)
    assert other == pytest.approx(one, rel=0.05)


def test_a_gap_in_the_legs_takes_its_part() -> None:
    """The reluctance R of both legs in parallel is in series with the air between the yokes, P: the energy
    falls by 1/(1 + P R) of what the surface has; with a very great one nothing of the yokes' part remains."""
    flow, blocks = np.array([30.0, -30.0]), np.array([[0.0, 24e-6, 0.0, HEIGHT]] * 2)
    air = MU_0 * u_exterior(10e-3, 14e-3, 24e-3, HEIGHT, 10e-3)[0, 0]
    for reluctance in (0.0, 0.3 / air, 2.0 / air):
        fields = two_leg_fields(U_CORE, blocks[None], (1, 2), 0.5, reluctance)
        read = energy(two_leg_interaction(fields, flow[None, None])[0, 0], flow)
        assert read == pytest.approx(450 * air / (1 + air * reluctance), rel=2e-3)


def test_leads_add_their_own_inductance() -> None:
    """0.4 µH per metre of both ends, at the terminals of the winding, once: 40 nH of 100 mm."""
    design = parse_design(SPLIT)
    windings = tuple(replace(winding, lead_length=0.0) for winding in design.windings)
    bare = replace(design, windings=windings)
    for name, other in (("P", "S"), ("S", "P")):
        added = leakage(design, name, [other]) - leakage(bare, name, [other])
        assert added == pytest.approx(40e-9, rel=0.02)
    read = readings(design) - readings(bare)
    np.testing.assert_allclose(read, 40e-9, rtol=0.02)
    assert leakage_model(design).expected_error > leakage_model(bare).expected_error


def test_the_model_names_itself_and_its_error() -> None:
    design = parse_design(SPLIT)
    model = leakage_model(design)
    assert "planar window" in model.name
    assert 0.01 <= model.expected_error < 0.1
    assert model.cautions == ()
    assert lay_out(design).sections[0].leg == 1
    assert design.tests[1].short == (Member("S"),)


LEGS = SPLIT.split("steps = [")[0] + "steps = [STEPS]\n[[test]]" + SPLIT.split("[[test]]")[1]
PAIR_STEPS = '{ wind = "P", turns = 30LEG }, { spacer = "0.5 mm"LEG }, { wind = "S", turns = 30LEG }'


def on_legs(steps: str, sections: str = "series") -> Design:
    text = LEGS.replace("STEPS", steps)
    return parse_design(text.replace('name = "S"', f'name = "S"\nsections = "{sections}"'))


@pytest.mark.parametrize("sections", ["series", "parallel"])
def test_windings_on_different_legs(sections: str) -> None:
    """Leakage many times that of windings on one leg, the same from both sides, and a caution that says where
    its field closes; the open readings follow: k² = 1 − Lk/L."""
    steps = '{ wind = "P", turns = 30 }, { wind = "S", turns = 30, leg = 2 }'
    design = on_legs(steps, sections)
    apart, other = leakage(design, "P", ["S"]), leakage(design, "S", ["P"])
    assert apart == pytest.approx(other, rel=0.01)
    assert apart > 8 * leakage(on_legs(PAIR_STEPS.replace("LEG", "")), "P", ["S"])
    model = leakage_model(design)
    assert "different legs" in model.cautions[0]
    assert "open space" in model.name
    assert model.expected_error == pytest.approx(OPPOSED_ERROR, rel=0.2)
    tests = tuple(
        BenchTest(name=name, measure=measure, drive=(Member("P"),), short=short, sense=sense, frequency=1e4)
        for name, measure, short, sense in (
            ("L", "inductance", (), ()),
            ("k", "inductance", (Member("S"),), ()),
            ("n", "ratio", (), (Member("S"),)),
        )
    )
    whole, short, ratio = readings(replace(design, tests=tests))
    assert 1 - short / whole == pytest.approx(1 / ratio**2, rel=2e-3)


def test_the_resistance_across_legs_is_stated_wide() -> None:
    """±50 % where windings lie on different legs, else as on one leg."""
    both = PAIR_STEPS.replace("LEG", "") + ", " + PAIR_STEPS.replace("LEG", ", leg = 2")
    apart = '{ wind = "P", turns = 30 }, { wind = "S", turns = 30, leg = 2 }'
    assert ac_resistance_error(on_legs(apart)) == 0.25
    assert ac_resistance_error(on_legs(both)) == ac_resistance_error(on_legs(PAIR_STEPS.replace("LEG", "")))


def test_part_of_a_winding_on_the_other_leg() -> None:
    """P on both legs, S on one: between that of windings on one leg and on different legs."""
    steps = PAIR_STEPS.replace("LEG", "") + ', { wind = "P", turns = 30, leg = 2 }'
    design = on_legs(steps)
    one = 4 * leakage(on_legs(PAIR_STEPS.replace("LEG", "")), "P", ["S"])
    both = 4 * leakage(on_legs('{ wind = "P", turns = 30 }, { wind = "S", turns = 30, leg = 2 }'), "P", ["S"])
    assert one < leakage(design, "P", ["S"]) < both


def test_the_usual_tests_ask_for_leakage_across_legs() -> None:
    steps = '{ wind = "P", turns = 30 }, { wind = "S", turns = 30, leg = 2 }'
    design = parse_design(LEGS.replace("STEPS", steps).split("[[test]]")[0])
    names = [test.name for test in design.tests]
    assert names == ["L_P", "R_P", "L_S", "R_S", "Lk_P", "n_P_S", "C_P_S"]
    assert np.isfinite(readings(design)).all()


def test_sections_on_both_legs_balance_by_themselves() -> None:
    """P and S on each leg: S in parallel shares evenly between equal legs, and reads as in series."""
    both = PAIR_STEPS.replace("LEG", "") + ", " + PAIR_STEPS.replace("LEG", ", leg = 2")
    series, parallel = (leakage(on_legs(both, how), "P", ["S"]) for how in ("series", "parallel"))
    assert parallel == pytest.approx(series, rel=1e-6)
    assert leakage_model(on_legs(both)).cautions == ()


def test_parallel_sections_share_as_the_field_demands() -> None:
    """S in two parallel sections on both sides of P: the split with the least energy of the section matrix
    (the voltages of the two are then equal), minimized by hand, and its energy is the leakage."""
    block = 'thickness = "THICK mm", breadth = "24 mm"'
    thin, thick = block.replace("THICK", "0.8"), block.replace("THICK", "1.5")
    design = on_legs(
        f'{{ wind = "S", turns = 20, {thin} }}, {{ spacer = "0.3 mm" }}, {{ wind = "P", turns = 40, '
        f'{thick} }}, {{ spacer = "0.6 mm" }}, {{ wind = "S", turns = 20, {thin} }}',
        "parallel",
    )
    design = replace(design, windings=tuple(replace(w, lead_length=0.0) for w in design.windings))
    sections = sections_of(design)
    test = BenchTest(
        name="k", measure="inductance", drive=(Member("P"),), short=(Member("S"),), frequency=1.0
    )
    flow = balanced_ampere_turns(sections, (test,))
    matrix = section_interaction(sections, flow)[0, 0]
    even, shift = np.array([-20.0, 40.0, -20.0]), np.array([1.0, 0.0, -1.0])
    least = even - shift * (shift @ matrix @ even) / (shift @ matrix @ shift)
    np.testing.assert_allclose(flow[0, 0], least, rtol=1e-3)
    assert abs(least[0] / least[2] - 1) > 0.05
    assert leakage(design, "P", ["S"]) == pytest.approx(float(least @ matrix @ least), rel=1e-3)
