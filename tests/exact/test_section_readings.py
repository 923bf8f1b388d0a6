"""Resistances while a part is wound: sections add up to the winding, limits and what they stop follow the
stated equations."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import partial
from pathlib import Path

import numpy as np
import pytest
from scipy.special import ndtr

from aswound.compare.plan.bench_sheet import plan
from aswound.compare.plan.finished_checks import finished_checks
from aswound.compare.plan.in_process import turns_readings
from aswound.compare.plan.process_readings import ProcessFault, _outside, process_readings
from aswound.predict import load_design, parse_design, readings
from aswound.predict.design import BenchTest, Design, Member
from aswound.predict.production import spread
from aswound.predict.shop.while_winding import joined, section_readings, wound_apart

SAMPLES = Path(__file__).parents[2] / "samples"
NAMES = ["flyback-24w", "bridge-300w", "gate-drive"]


def loaded(name: str) -> Design:
    """A sample whose windings have leads of different length, and bad joints."""
    design = load_design(SAMPLES / f"{name}.toml")
    windings = tuple(
        replace(winding, lead_length=0.02 * (place + 1), joint_resistance=0.003 * (place + 1))
        for place, winding in enumerate(design.windings)
    )
    return replace(design, windings=windings)


def whole(design: Design, name: str) -> float:
    """The plain prediction of a winding's resistance at 20 °C."""
    test = BenchTest(name="R", measure="resistance", drive=(Member(name),), temperature=20.0)
    return float(readings(replace(design, tests=(test,)))[0])


@pytest.mark.parametrize("name", NAMES)
def test_sections_add_up_to_the_winding(name: str) -> None:
    """R = Σ Rᵢ in series, leads and joints among the ends; the sections of a parallel winding give 1/Σ(1/Rᵢ)
    and the leads and joints."""
    design = loaded(name)
    asked = section_readings(design)
    apart = tuple(part for part in asked if part.extent != "parallel")
    values = dict(zip(apart, readings(wound_apart(apart, design)).tolist(), strict=True))
    together = tuple(part for part in asked if part.extent == "parallel")
    values |= dict(zip(together, readings(joined(together, design)).tolist(), strict=True))
    for winding in design.windings:
        own = [part for part in asked if part.winding == winding.name]
        single = [values[part] for part in own if part.extent == "section"]
        last = next(part for part in own if part.whole)
        assert values[last] == pytest.approx(whole(design, winding.name), rel=1e-12)
        if winding.sections == "parallel" and len(single) > 1:
            area = math.pi / 4 * float(np.asarray(winding.wire.diameter)) ** 2 * winding.wire.in_hand
            leads = 1e-6 / 58 * winding.lead_length / area  # 100 % IACS at 20 °C (IEC 60028)
            ends = leads + float(np.asarray(winding.joint_resistance))
            assert values[last] == pytest.approx(1 / sum(1 / value for value in single) + ends, rel=1e-12)
        else:
            assert values[last] == pytest.approx(sum(single), rel=1e-12)
        for part in own:
            if part.extent == "series":
                assert values[part] == pytest.approx(sum(single[: part.ordinal]), rel=1e-12)


def test_whole_windings_scatter_as_on_the_bench_sheet() -> None:
    """Sections in series come off one reel: the last cumulative reading has the range and the limits of the
    winding's own test, which sections varying apart would narrow."""
    design = load_design(SAMPLES / "flyback-24w.toml")
    found = process_readings(design, builds=300, seed=3)
    planned = next(test for test in plan(design, builds=300, seed=3) if test.name == "R_P")
    last = next(one for one in found if one.section.winding == "P" and one.section.whole)
    assert planned.proposed is not None
    assert (last.low, last.high) == pytest.approx((planned.low, planned.high), rel=1e-9)
    assert (last.minimum, last.maximum) == (planned.proposed.minimum, planned.proposed.maximum)


def test_the_part_outside_is_that_of_a_simulation() -> None:
    """Readings drawn one by one from builds and bench, counted outside: within 4 standard errors."""
    random = np.random.default_rng(5)
    built = random.normal(1.0, 0.02, 4000)
    below, above = _outside(built, 0.01, 0.97, 1.03)
    count = 200_000
    drawn = random.choice(built, count) + random.normal(0.0, 0.01, count)
    for share, counted in ((below, np.mean(drawn < 0.97)), (above, np.mean(drawn > 1.03))):
        assert share == pytest.approx(float(counted), abs=4 * math.sqrt(share * (1 - share) / count))
    assert _outside(built, 0.01, None, None) == (0.0, 0.0)


@pytest.mark.parametrize("name", NAMES)
def test_faults_lie_on_their_side(name: str) -> None:
    """More turns and fewer wires read above, thicker wire below; more turns are never
    stopped more seldom; the limits lie outside 95 % of production."""
    for one in process_readings(load_design(SAMPLES / f"{name}.toml"), builds=200):
        assert one.minimum is not None
        assert one.maximum is not None
        assert one.minimum < one.low < one.expected < one.high < one.maximum
        turns = sorted((fault for fault in one.faults if fault.kind == "turns"), key=lambda f: f.size)
        assert [fault.reading for fault in turns] == sorted(fault.reading for fault in turns)
        above = [fault.above for fault in turns]
        assert above == sorted(above)
        for fault in one.faults:
            if fault.kind == "strand":
                assert fault.reading > one.expected
            if fault.kind == "wire":
                assert (fault.reading > one.expected) == (fault.size < 0)


def test_a_part_with_a_fault_reads_with_the_bench_alone() -> None:
    """P(above) = mean of Φ((y r − max)/u) over the builds y, r the ratio of the predictions; u of meter and
    handling, as the builds vary in temperature already."""
    design = load_design(SAMPLES / "gate-drive.toml")
    asked = section_readings(design)
    builds = spread(design, 200, 1, view=partial(wound_apart, asked))
    for index, one in enumerate(process_readings(design, builds=200)):
        parts = {part.name: part.standard_uncertainty for part in one.budget.components}
        warm = parts.pop("temperature")
        bench = math.sqrt(sum(part**2 for part in parts.values()))
        assert warm > 0.1 * bench
        fault = next(fault for fault in one.faults if (fault.kind, fault.size) == ("turns", 1.0))
        read = builds.samples[:, index] * fault.reading / one.expected
        assert one.maximum is not None
        assert fault.above == pytest.approx(float(np.mean(ndtr((read - one.maximum) / bench))), rel=1e-6)


def test_the_smallest_fault_of_each_kind_is_named() -> None:
    """Of those that at least 95 of a hundred parts with it show on that side."""
    faults = tuple(
        ProcessFault(kind=kind, size=size, title=title, reading=1.0, below=below, above=above)
        for kind, size, title, below, above in (
            ("turns", 3.0, "three too many", 0.0, 1.0),
            ("turns", 2.0, "two too many", 0.0, 0.95),
            ("turns", 1.0, "one too many", 0.0, 0.94),
            ("turns", -2.0, "two too few", 0.96, 0.0),
            ("turns", -3.0, "three too few", 1.0, 0.0),
            ("wire", -0.1, "thinner", 0.0, 0.99),
            ("wire", -0.05, "a little thinner", 0.0, 0.97),
        )
    )
    one = replace(process_readings(parse_design(THREE), builds=100)[0], faults=faults)
    assert [fault.title for fault in one.stopped(above=True)] == ["two too many", "a little thinner"]
    assert [fault.title for fault in one.stopped(above=False)] == ["two too few"]


def test_the_specification_comes_first() -> None:
    """A winding whose own test has limits is held against those, its sections against proposed ones."""
    design = load_design(SAMPLES / "flyback-24w.toml")
    tests = tuple(
        replace(test, minimum=0.5, maximum=0.65, temperature=25.0) if test.name == "R_P" else test
        for test in design.tests
    )
    found = process_readings(replace(design, tests=tests), builds=100)
    last = next(one for one in found if one.section.winding == "P" and one.section.whole)
    assert (last.minimum, last.maximum, last.specified) == (0.5, 0.65, "R_P")
    # by hand: 0.393 %/K of copper from 20 °C (IEC 60028)
    assert last.expected == pytest.approx(whole(design, "P") * (1 + 0.00393 * 5), rel=1e-9)
    assert all(not one.specified for one in found if not one.section.whole)


def test_finished_checks_point_to_what_moves_the_reading() -> None:
    """By reason: a ratio above its limits from turns of the driven winding, a reversed winding by the phase;
    a missing gap raises the inductance."""
    design = load_design(SAMPLES / "gate-drive.toml")
    found = {one.name: one for one in finished_checks(design, builds=100)}
    assert "D has 1 turn too many" in found["n_1"].above
    assert "D has 1 turn too few" in found["n_1"].below
    assert "G1 is reversed (start and finish exchanged)" in found["dot_1"].above
    assert found["L_D"].specified
    assert found["L_D"].maximum is None
    assert found["L_D"].above == ()


def test_ratios_on_a_test_core_lie_between_the_counts() -> None:
    """60 : 8 turns: the nearest counts are 61 : 8 above and 59 : 8 below; the limits are half way."""
    design = load_design(SAMPLES / "flyback-24w.toml")
    one = turns_readings(design)[0]
    assert one.expected == 7.5
    assert one.maximum == pytest.approx((60 / 8 + 61 / 8) / 2)
    assert one.minimum == pytest.approx((60 / 8 + 59 / 8) / 2)


THREE = """
[core]
shape = "ETD 34/17/11"
material = "MnZn 2300"
[[winding]]
name = "P"
wire = { diameter = "0.50 mm", grade = 2 }
lead_length = "40 mm"
[build]
steps = [{ wind = "P", turns = 20 }, { wind = "P", turns = 21 }, { wind = "P", turns = 22 }]
"""


def test_three_sections_in_series_one_by_one() -> None:
    """After each step its own section, and from the second on what is joined so far; half of the leads
    belongs to the first section and half to the last."""
    design = parse_design(THREE)
    asked = section_readings(design)
    assert [(part.step, part.extent, part.whole) for part in asked] == [
        (0, "section", False),
        (1, "section", False),
        (1, "series", False),
        (2, "section", False),
        (2, "series", True),
    ]
    apart = wound_apart(asked, design)
    leads = [winding.lead_length for winding in apart.windings]
    assert leads == pytest.approx([20e-3, 0.0, 20e-3])
