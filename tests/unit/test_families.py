"""Causes in families: what is said first, what is summed, what is advised."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from aswound.cli.views.diagnosis import diagnosis_view, sample_view, verdict
from aswound.cli.views.diagnosis_data import diagnosis_json
from aswound.cli.views.page import Paragraph, render
from aswound.compare import explain
from aswound.compare.causes import CATALOGUE
from aswound.compare.diagnosis.conclusion import Diagnosis
from aswound.compare.diagnosis.families import COPPER, LINK, PERMEANCE, POLARITY, SPACING, family_name
from aswound.compare.readings.file import parse_readings
from aswound.predict import Design, load_design, parse_design, readings
from aswound.predict.design import BenchTest, Member

ROOT = Path(__file__).parents[2]
BRIDGE = load_design(ROOT / "samples" / "bridge-300w.toml")
FLYBACK = load_design(ROOT / "samples" / "flyback-24w.toml")
CHOKE = parse_design(
    """
[core]
shape = "RM 8"
material = "MnZn 2300"
al = "400 nH"
[bobbin]
wall = "0.9 mm"
flange = "0.9 mm"
[[winding]]
name = "P"
wire = { diameter = "0.30 mm", grade = 2 }
[[winding]]
name = "S"
wire = { diameter = "0.50 mm", grade = 2, in_hand = 2 }
[build]
steps = [
  { wind = "P", turns = 36 },
  { tape = "0.06 mm", wraps = 2 },
  { wind = "S", turns = 6 },
]
"""
)
UNITS = {"inductance": "H", "resistance": "ohm", "ratio": "", "capacitance": "F"}


def diagnosed(design: Design, factors: dict[str, float], only: tuple[str, ...] = ()) -> Diagnosis:
    """A part that reads as predicted, but for ``factors``."""
    rows = ["sample,test,reading"]
    for test, value in zip(design.tests, readings(design).tolist(), strict=True):
        if not only or test.name in only:
            rows.append(f"A1,{test.name},{value * factors.get(test.name, 1.0):.6g} {UNITS[test.measure]}")
    (diagnosis,) = explain(design, parse_readings("\n".join(rows), design))
    return diagnosis


def page(design: Design, diagnosis: Diagnosis) -> str:
    return render(diagnosis_view(design, [diagnosis], 5), 80, plain=True)


def test_families_are_made_of_causes_that_exist() -> None:
    known = {cause.name for cause in CATALOGUE}
    every = [*PERMEANCE, *COPPER, *SPACING, *LINK]
    assert set(every) <= known
    assert len(every) == len(set(every))
    assert family_name("wire", "S") != family_name("wire", "P")
    assert family_name("turns", "S") == "turns S"


@pytest.mark.parametrize(
    "factors", [{}, {"L_P": 0.7, "L_S": 0.7}, {"R_S": 2.0}, {"Lk_P_S": 1.4}, {"R_P": 10.0}]
)
def test_probabilities_of_families_sum_to_one(factors: dict[str, float]) -> None:
    diagnosis = diagnosed(CHOKE, factors)
    (sample,) = diagnosis_json([diagnosis])["samples"]
    shares = [family["probability"] for family in sample["families"]]
    assert sum(shares) + sample["as_designed"] + sample["unlisted"] == pytest.approx(1.0, abs=1e-9)
    assert shares == sorted(shares, reverse=True)
    by_family: dict[str, float] = {}
    for cause in sample["causes"]:
        parts = {family_name(cause["cause"], cause["where"])}
        if cause["also"]:
            parts.add(family_name(cause["also"]["cause"], cause["also"]["where"]))
        name = " and ".join(sorted(parts))
        by_family[name] = by_family.get(name, 0.0) + cause["probability"]
    assert by_family == pytest.approx({one["name"]: one["probability"] for one in sample["families"]})
    listed = {(cause["cause"], cause["where"]) for cause in sample["causes"]}
    named = {tuple(pair) for family in sample["families"] for pair in family["causes"]}
    assert listed <= named


@pytest.mark.parametrize(("factor", "word"), [(0.62, "low"), (1.7, "high")])
def test_what_is_sure_is_said_first(factor: float, word: str) -> None:
    """Both inductances off alike: surely the core, whatever is wrong with it."""
    diagnosis = diagnosed(CHOKE, {"L_P": factor, "L_S": factor})
    lead = diagnosis.families[0]
    assert lead.name == "core permeance"
    assert lead.probability > 0.9
    assert lead.title == f"the core's permeance is {word}"
    assert lead.probability == pytest.approx(
        sum(
            cause.probability
            for cause in diagnosis.causes
            if cause.cause in PERMEANCE and (cause.also is None or cause.also.cause in PERMEANCE)
        )
    )
    if diagnosis.causes[0].probability < 0.9 * lead.probability:
        assert verdict(diagnosis).startswith(f"A1: the core's permeance is {word} (")
        assert "Its causes: " in page(CHOKE, diagnosis).replace("\n", " ")


def test_a_part_with_few_readings_is_headed_by_what_they_say() -> None:
    few = diagnosed(CHOKE, {}, ("L_P", "R_P", "R_S"))
    assert few.as_designed < 0.9
    assert verdict(few) == f"A1: consistent with the design; 3 of {len(CHOKE.tests)} tests read"
    assert not few.deviates


@pytest.mark.slow
def test_no_advice_to_the_shop_below_one_half() -> None:
    """Over many readings: a remedy stands in the text only where its cause or its family holds one half."""
    rng = np.random.default_rng(3)
    seen = set()
    for _ in range(12):
        factors = {test.name: float(np.exp(rng.normal(0, 0.03))) for test in CHOKE.tests}
        diagnosis = diagnosed(CHOKE, factors)
        text = page(CHOKE, diagnosis)
        advised = "Shop:" in text or "Bench:" in text
        enough = diagnosis.causes[0].probability >= 0.5 or diagnosis.families[0].probability >= 0.5
        listed = diagnosis.unlisted <= diagnosis.families[0].probability
        assert advised == (diagnosis.deviates and enough and listed)
        seen.add(advised)
        assert " bit)" not in text
    assert seen == {True, False}


FEW_TURNS = parse_design(
    """
[core]
shape = "RM 8"
material = "MnZn 2300"
al = "400 nH"
[bobbin]
wall = "0.9 mm"
flange = "0.9 mm"
[[winding]]
name = "P"
wire = { diameter = "0.30 mm", grade = 2 }
[[winding]]
name = "S"
wire = { diameter = "0.60 mm", grade = 2, in_hand = 3 }
[build]
steps = [
  { wind = "P", turns = 36 },
  { tape = "0.06 mm", wraps = 2 },
  { wind = "S", turns = 3 },
]
"""
)


@pytest.mark.slow
def test_the_bench_is_named_where_it_is_the_limit() -> None:
    """A secondary of 2.4 mΩ on a meter with a floor of 2.5 or 3 mΩ: 4.3 or 5.3 mΩ may be an open wire in hand
    or nothing at all, and no other reading of this bench parts them. Leads of any length that are in every
    reading are parted from an open wire by four wires on the same meter: there the bench is not the limit,
    and those four wires are proposed. With a floor of 0.02 mΩ nothing is left to say."""
    for factor, floor in ((1.8, 2.5e-3), (2.2, 3e-3)):
        coarse = replace(FEW_TURNS, bench=replace(FEW_TURNS.bench, floor_resistance=floor))
        diagnosis = diagnosed(coarse, {"R_S": factor})
        assert diagnosis.bench_limit.startswith("The bench is the limit")
        assert "R_S read with a milliohm meter on four wires would tell" in diagnosis.bench_limit
        for rival in ("1 of the 3 wires in hand of S does not conduct", "it is as designed"):
            assert rival in diagnosis.bench_limit
        assert "The bench is the limit" in page(coarse, diagnosis)
    coarse = replace(FEW_TURNS, bench=replace(FEW_TURNS.bench, floor_resistance=2.5e-3))
    leads = diagnosed(coarse, {"R_S": 2.2})
    assert [cause.cause for cause in leads.causes[:2]] == ["strand", "two-wire"]
    assert leads.bench_limit == ""
    assert "four-wire: connect four wires at the pins" in page(coarse, leads)
    fine = replace(FEW_TURNS, bench=replace(FEW_TURNS.bench, floor_resistance=2e-5))
    assert diagnosed(fine, {"R_S": 2.2}).bench_limit == ""


def test_next_tests_stand_in_the_order_of_worth_for_effort() -> None:
    """The first is worth most by itself for its effort."""
    for factors in ({"L_P": 0.7, "L_S": 0.7}, {"R_S": 1.6}, {"L_P": 0.93, "L_S": 0.93}):
        tests = diagnosed(CHOKE, factors).next_tests
        assert tests
        worth = [test.bits / test.effort for test in tests]
        assert worth[0] >= 0.8 * max(worth)


def test_nothing_is_proposed_that_displays_alike_on_this_bench() -> None:
    """Both displays that a proposal names differ by two standard uncertainties of the bench: with a bench a
    hundred times coarser, fewer proposals are left, and none of a difference that it does not show."""
    plain = diagnosed(CHOKE, {"R_S": 1.72})
    assert plain.next_tests
    coarse = replace(
        CHOKE, bench=replace(CHOKE.bench, accuracy=0.5, floor_resistance=0.2, floor_inductance=2e-6)
    )
    blunt = diagnosed(coarse, {"R_S": 1.72})
    for diagnosis, least in ((plain, 0.001), (blunt, 0.2)):
        for test in diagnosis.next_tests:
            if not test.intervention:
                first, second = re.findall(r"about ([-\d.]+)", test.why)[:2]
                assert abs(float(first) / float(second) - 1) > least, test.why
            assert test.why != "it narrows the amount"


def test_a_family_of_what_was_never_read_decides_nothing() -> None:
    """One resistance as drawn: what wire and tape may do unseen is many times a little, together more than as
    designed; the part does not deviate for that. With a reading that deviates the family counts."""
    few = diagnosed(FLYBACK, {}, ("R_S",))
    unseen = max(family.probability for family in few.families)
    assert unseen > few.as_designed > few.causes[0].probability
    assert not few.deviates
    assert verdict(few).startswith("A1: consistent with the design; 1 of ")


def test_a_part_within_what_is_sound_that_is_rather_faulty_is_not_called_consistent() -> None:
    """No reading deviates, nothing is decided; yet one cause holds more than half: the head says so,
    and no line says that the rest could not be seen."""
    few = diagnosed(FLYBACK, {}, ("R_S",))
    likely = replace(few.causes[0], probability=0.53, title="the link is long")
    causes = (likely, *few.causes[1:])
    rather = replace(few, causes=causes, as_designed=0.06, stands_out=False)
    assert not rather.deviates
    told = "A1: not sure; within what sound parts read, but the best guess is that the link is long (53 %)"
    assert verdict(rather) == told
    page = " ".join(part.text for part in sample_view(rather, 3) if isinstance(part, Paragraph))
    assert "As designed: 6 % of what these readings leave possible. Possible: the link is long (53 %)" in page
    below = replace(rather, causes=(replace(likely, probability=0.4), *few.causes[1:]))
    assert verdict(below).startswith("A1: consistent with the design; 1 of ")


def test_of_two_windings_none_is_said_to_be_the_reversed_one() -> None:
    """A reversed winding of two is sure, which of them is not: one family, not two causes at a half."""
    design = replace(
        CHOKE,
        tests=(
            BenchTest(name="L", measure="inductance", drive=(Member("P"),), frequency=1e4),
            BenchTest(name="dot", measure="phase", drive=(Member("P"),), sense=(Member("S"),), frequency=1e4),
        ),
    )
    drawn = readings(design)
    text = f"sample,test,reading\nA1,L,{drawn[0]} H\nA1,dot,179.9 deg\n"
    (diagnosis,) = explain(design, parse_readings(text, design))
    assert {cause.where for cause in diagnosis.causes[:2]} == {"P", "S"}
    assert diagnosis.families[0].name == POLARITY
    assert diagnosis.families[0].probability > 0.9
    assert "one winding is reversed against the others" in verdict(diagnosis)
