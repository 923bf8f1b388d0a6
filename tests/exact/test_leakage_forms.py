"""The leakage model's forms against each other: limits, symmetries, additivity; the refusal of unbalanced
legs."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from aswound.predict import leakage, leakage_model, parse_design, readings
from aswound.predict.circuit.section_coupling import (
    _balanced_on_each_leg,
    balanced_ampere_turns,
    section_interaction,
    sections_of,
)
from aswound.predict.design import (
    BenchTest,
    Design,
    EDimensions,
    Member,
    PotDimensions,
    RoundDimensions,
    UDimensions,
)
from aswound.predict.errors import BuildError
from aswound.predict.field import planar_window
from aswound.predict.field.leakage_field import TwoLegFields, interaction, two_leg_fields, window_fields
from aswound.predict.field.turn_lengths import turn_lengths
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
        assert energy(interaction(both, flow[None, None])[0, 0], flow) == pytest.approx(alone, rel=1e-9)


def test_two_legs_far_apart_do_not_meet() -> None:
    """In a window wide against its height the fields of the two legs do not reach each other: twice one
    leg."""
    wide = replace(U_CORE, window_width=0.12)
    alone = energy(interaction(window_fields(wide, PAIR[None]), FLOW[None, None])[0, 0], FLOW)
    flow = np.array([*FLOW, *FLOW])
    both = two_leg_fields(wide, np.vstack([PAIR, PAIR])[None], (1, 1, 2, 2))
    assert energy(interaction(both, flow[None, None])[0, 0], flow) == pytest.approx(2 * alone, rel=1e-6)


def test_legs_may_change_places() -> None:
    other = PAIR + np.array([0.5e-3, 0.5e-3, 1e-3, 1e-3])
    flow = np.array([*FLOW, 20.0, -20.0])
    one = two_leg_fields(U_CORE, np.vstack([PAIR, other])[None], (1, 1, 2, 2))
    swapped = two_leg_fields(U_CORE, np.vstack([PAIR, other])[None], (2, 2, 1, 1))
    values = [energy(interaction(fields, flow[None, None])[0, 0], flow) for fields in (one, swapped)]
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
    thousand = energy(interaction(outside, flow[None, None])[0, 0], flow) - energy(
        interaction(legs, flow[None, None])[0, 0], flow
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
    """P on leg 1, S on leg 2: the open test is left with the core alone, the leakage test is refused."""
    design = parse_design(SPLIT)
    sections = sections_of(design)
    layout = sections.layout
    moved = replace(
        layout, sections=tuple(replace(s, leg=1 if s.winding == "P" else 2) for s in layout.sections)
    )
    split = replace(sections, layout=moved)
    assert isinstance(split.fields, TwoLegFields)
    flows = np.array([[[30.0, -30.0]]])
    assert not _balanced_on_each_leg(split, design.tests[:1], flows).any()
    with pytest.raises(BuildError, match="from yoke to yoke"):
        _balanced_on_each_leg(split, design.tests[1:], flows)


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
def test_windings_on_different_legs_are_refused(sections: str) -> None:
    """Leakage asked for: a reason, however the sections are joined. What rests on the core alone is
    predicted, and the caution says so."""
    for steps in (
        '{ wind = "P", turns = 30 }, { wind = "S", turns = 30, leg = 2 }',
        PAIR_STEPS.replace("LEG", "") + ', { wind = "P", turns = 30, leg = 2 }',
    ):
        design = on_legs(steps, sections)
        with pytest.raises(BuildError, match="different legs"):
            leakage(design, "P", ["S"])
        assert np.isfinite(readings(design)).all()
        assert "different legs" in leakage_model(design).cautions[0]


def test_the_usual_tests_ask_for_no_leakage_across_legs() -> None:
    """Left out and said, so that a design without tests is not refused for one that nobody wrote."""
    steps = '{ wind = "P", turns = 30 }, { wind = "S", turns = 30, leg = 2 }'
    design = parse_design(LEGS.replace("STEPS", steps).split("[[test]]")[0])
    assert [test.name for test in design.tests] == ["L_P", "R_P", "L_S", "R_S", "n_P_S", "C_P_S"]
    assert np.isfinite(readings(design)).all()
    assert any("omit the leakage between them" in caution for caution in design.cautions)
    same = parse_design(LEGS.replace("STEPS", PAIR_STEPS.replace("LEG", ", leg = 2")).split("[[test]]")[0])
    assert "Lk_P" in [test.name for test in same.tests]


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
