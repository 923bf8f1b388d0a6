"""Arrangements: the limits of interleaving, batches against single builds, the Pareto set."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from aswound.compare.plan.interleaving import alike_within
from aswound.compare.plan.trade_offs import pareto_set, spread_out
from aswound.predict import load_design, parse_design, readings
from aswound.predict.design import Design
from aswound.predict.field import planar_window
from aswound.predict.interleave.arrangements import find_arrangements, joints_of
from aswound.predict.interleave.many_readings import predict_arrangements, questions_of
from aswound.predict.interleave.rules import Rules
from aswound.predict.winding.layout import lay_out

SAMPLES = Path(__file__).parents[2] / "samples"

BLOCKS = """
title = "blocks"
[core]
mu_i = 2000
[core.dimensions]
form = "E"
leg_width = "12 mm"
leg_depth = "15 mm"
window_width = "20 mm"
window_height = "30 mm"
outer_leg = "6 mm"
back = "6 mm"
[[winding]]
name = "P"
wire = { diameter = "0.5 mm", grade = 1 }
[[winding]]
name = "S"
wire = { diameter = "0.5 mm", grade = 1 }
[build]
steps = [
  { wind = "P", turns = 20, thickness = "4 mm", breadth = "30 mm" },
  { tape = "TAPE mm", wraps = 1 },
  { wind = "S", turns = 20, thickness = "4 mm", breadth = "30 mm" },
]
"""


def leakage_per_metre(design: Design) -> float:
    """Of P against S (20 turns each), H/m, in a window with walls of infinite permeability."""
    layout = lay_out(design)
    sign = np.array([1.0 if s.winding == "P" else -1.0 for s in layout.sections])
    flow = sign * layout.turns[0]
    matrix = planar_window(20e-3, 30e-3, layout.extent)[0]
    return float(flow @ matrix @ flow)


@pytest.mark.parametrize("tape", [1e-6, 0.5, 2.0])
def test_halving_the_primary_around_the_secondary(tape: float) -> None:
    # The one-dimensional ampere-turn diagram, exact for full-height blocks (any textbook):
    # L2/L1 = (2 c + Σb/3)/(4 (c + Σb/3)), c the insulation between P and S, b the two windings: a quarter
    # where the insulation is negligible.
    design = parse_design(BLOCKS.replace("TAPE", f"{tape}"))
    found = find_arrangements(design, Rules(most_sections=2)).arrangements
    alone = next(one for one in found if one.order == ("P", "S"))
    halves = next(one for one in found if one.order == ("P", "S", "P") and one.joints == 1)
    ratio = leakage_per_metre(halves.design) / leakage_per_metre(alone.design)
    copper = 8.0 / 3
    assert ratio == pytest.approx((2 * tape + copper) / (4 * (tape + copper)), rel=1e-6)


def test_insulation_repeats_the_design_at_every_face() -> None:
    design = load_design(SAMPLES / "flyback-24w.toml")
    found = find_arrangements(design, Rules(most_sections=2, tape=(("P", "AUX", 4),))).arrangements
    for one in found[1:]:
        for face in one.faces:
            pair = {face.inner, face.outer}
            # P and S: three wraps. S and AUX, no neighbours now, with P between them: all that lies there
            # now, three wraps and two. P and AUX: the rule's four.
            assert face.wraps == (4 if pair == {"P", "AUX"} else 3 if pair == {"P", "S"} else 5)
            assert face.thickness == pytest.approx(face.wraps * 0.06e-3)


@pytest.mark.parametrize("name", ["flyback-24w", "bridge-300w", "gate-drive"])
def test_batches_read_as_single_builds(name: str) -> None:
    design = load_design(SAMPLES / f"{name}.toml")
    found = find_arrangements(design, Rules(most_sections=2, most=60)).arrangements[::7]
    questions = questions_of(design)
    answer = predict_arrangements(found, questions)
    for place, one in enumerate(found):
        single = readings(replace(one.design, tests=questions.tests))
        batch = [*answer.leakage[place], answer.resistance[place], *answer.capacitance[place]]
        np.testing.assert_allclose(batch, single[:-1], rtol=1e-9)
        # Many builds share the steps of the search for the resonance: 1e-3 by its own statement.
        assert answer.resonance[place] == pytest.approx(single[-1], rel=5e-3)


def test_joints_are_counted_as_stated() -> None:
    bridge = load_design(SAMPLES / "bridge-300w.toml")
    assert joints_of(bridge) == 1 + 2  # P in two sections in series, S in two in parallel
    assert joints_of(load_design(SAMPLES / "gate-drive.toml")) == 0


def test_rules_hold() -> None:
    design = load_design(SAMPLES / "flyback-24w.toml")
    rules = Rules(most_sections=2, innermost=("S",), outermost=("AUX", "P"), most_joints=1)
    found = find_arrangements(design, rules).arrangements[1:]
    assert found
    for one in found:
        assert one.order[0] == "S"
        assert one.order[-1] in ("AUX", "P")
        assert one.joints <= 1
    group = find_arrangements(design, Rules(groups=(("S", "AUX"),), most_sections=2)).arrangements[1:]
    for one in group:
        places = [k for k, name in enumerate(one.order) if name == "S"]
        assert all(one.order[k + 1] == "AUX" for k in places)


def test_pareto_set_and_what_is_shown_of_it() -> None:
    figures = np.array([[1.0, 4.0], [2.0, 2.0], [4.0, 1.0], [3.0, 3.0], [2.0, 2.0], [np.nan, 0.0]])
    assert pareto_set(figures).tolist() == [True, True, True, False, True, False]
    line = np.stack([np.arange(1.0, 40.0), np.arange(40.0, 1.0, -1.0)], axis=1)
    assert pareto_set(line).all()
    shown = spread_out(line, 5)
    assert len(shown) == 5
    assert {0, 38} <= set(shown)


def test_what_reads_alike_is_one_row() -> None:
    # By hand: within ±5 % of 100 and of 10 lie (104, 10.4) and (96, 9.6), not (106, 10); (106, 10) stands for
    # itself. The one with the fewest joints stands for the others, the first before all.
    figures = np.array([[100.0, 10.0, 2], [104.0, 10.4, 1], [96.0, 9.6, 3], [106.0, 10.0, 3], [1.0, 10.0, 0]])
    reach = np.array([[0.95, 1.05], [0.95, 1.05], [1.0, 1.0]])
    assert alike_within(figures, [0, 1, 2, 3, 4], 0, reach) == {0: (1, 2), 3: (), 4: ()}
    assert alike_within(figures, [0, 1, 3], 4, reach) == {1: (0, 3)}
    plain = np.ones((3, 2))
    assert alike_within(figures, [0, 1, 2, 3, 4], 0, plain) == dict.fromkeys(range(5), ())


def test_joints_take_pins() -> None:
    # P, S, AUX start and finish at six pins; each joint of two sections of P in series takes one more.
    design = load_design(SAMPLES / "flyback-24w.toml")
    rules = Rules(most_sections=3)
    for pins, most in ((6, 1), (7, 1), (8, 2)):
        few = replace(design, bobbin=replace(design.bobbin, pins=pins))
        found = find_arrangements(few, rules)
        # its own division needs a seventh pin: that stays
        totals = [
            sum(
                sum(name == winding.name for name in one.order) - 1
                for winding in one.design.windings
                if winding.sections == "series"
            )
            for one in found.arrangements
            if not one.present
        ]
        assert max(totals) == most
        assert any(f"{pins} pins" in note for note in found.notes)
