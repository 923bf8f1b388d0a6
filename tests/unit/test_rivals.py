"""The leading hypothesis against the next: shares of the readings, and whether priors decide."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from aswound.cli.views.diagnosis import LEAST_PAIR, diagnosis_view
from aswound.cli.views.diagnosis_data import diagnosis_json
from aswound.cli.views.page import render
from aswound.compare import explain
from aswound.compare.causes import CATALOGUE
from aswound.compare.diagnosis.conclusion import Diagnosis
from aswound.compare.diagnosis.rivals import holds_against_priors, runner_up
from aswound.compare.diagnosis.survivors import Survivor
from aswound.compare.diagnosis.weighing import case_of, log_under
from aswound.compare.hypotheses.inquiry import inquire
from aswound.compare.readings.file import parse_readings
from aswound.compare.verdict.evaluation import evaluate
from aswound.predict import load_design

ROOT = Path(__file__).parents[2]
BRIDGE = load_design(ROOT / "samples" / "bridge-300w.toml")


def _of(sample: str, *more: str) -> Diagnosis:
    rows = (ROOT / "samples" / "bridge-300w.csv").read_text(encoding="utf-8").splitlines()
    chosen = [row for row in rows if row.startswith(("sample", f"{sample},"))]
    (diagnosis,) = explain(BRIDGE, parse_readings("\n".join([*chosen, *more]), BRIDGE))
    return diagnosis


def test_shares_of_the_readings_sum_to_the_likelihood_ratio() -> None:
    rows = (ROOT / "samples" / "bridge-300w.csv").read_text(encoding="utf-8").splitlines()
    text = "\n".join(row for row in rows if row.startswith(("sample", "B2,")))
    evaluation = evaluate(BRIDGE, parse_readings(text, BRIDGE))
    inquiry = inquire(BRIDGE, evaluation.design.tests, CATALOGUE)
    (sample,) = evaluation.samples
    case = case_of(evaluation.design, inquiry.background, sample.read, inquiry.staged, inquiry.response)
    both = []
    logs = []
    for name, chance in (("unseated", 0.6), ("material", 0.3)):
        (item,) = [one for one in inquiry.hypotheses if one.cause.name == name]
        row = {"shift": item.shift[2], "anchor": item.anchor[2], "flips": item.flips[2]}
        doubt = item.doubt[2]
        known = {"cause": name, "location": "core", "title": name, "listed": True, "doubt": doubt}
        both.append(Survivor(probability=chance, **known, **row))
        columns = list(case.test_indices)
        parts = (part[columns] for part in row.values())
        logs.append(float(log_under(case, *parts, doubt=doubt[columns])))
    other = runner_up(case, both)
    assert other is not None
    assert other.cause == "material"
    assert [name for name, _ in other.readings] == [test.name for test in case.tests]
    assert sum(ratio for _, ratio in other.readings) == pytest.approx(logs[0] - logs[1], abs=1e-8)
    # A pair's rival may share one of its causes; a single cause's rival is no pair that holds it.
    first = replace(both[0], cause="unseated + leads", location="core + bench")
    near = replace(both[1], cause="material + leads", location="core + bench")
    third = replace(both[1], cause="gap", probability=0.1)
    for lead, rival, expected in ((first, near, near), (both[0], first, third)):
        found = runner_up(case, [lead, replace(rival, probability=0.2), third])
        assert found is not None
        assert found.cause == expected.cause


def test_a_verdict_holds_where_no_prior_alone_can_turn_it() -> None:
    assert holds_against_priors([0.7, 0.2, 0.1])
    assert not holds_against_priors([0.55, 0.2, 0.25])
    assert holds_against_priors([1.0])


def _row(diagnosis: Diagnosis, title: str) -> int:
    """Index of a cause among those that the page lists."""
    listed = [
        cause.title for cause in diagnosis.causes if cause.also is None or cause.probability >= LEAST_PAIR
    ]
    return listed.index(title)


def test_what_to_measure_next_names_the_causes_by_their_letters() -> None:
    diagnosis = _of("B2")
    page = " ".join(render(diagnosis_view(BRIDGE, [diagnosis], 5), 100, plain=True).split())
    named = 0
    for test in (one for one in diagnosis.next_tests if one.bits >= 0.05):
        for shown, title in test.outcomes:
            row = _row(diagnosis, title)
            letter = f"({'abcde'[row]})"
            told = [
                f"about {shown} if {name}".replace("µ", "u").replace("Ω", "ohm") for name in (letter, title)
            ]
            assert any(text in page for text in told), told
            named += f"if {letter}" in page
            assert f"about {shown} if {title}" in test.why
    assert named >= 2


def test_the_page_says_what_speaks_against_the_runner_up_and_what_hangs_on_priors() -> None:
    diagnosis = _of("B2")
    assert not diagnosis.robust
    other = diagnosis.runner_up
    assert other is not None
    page = " ".join(render(diagnosis_view(BRIDGE, [diagnosis], 5), 100, plain=True).split())
    assert f"Against the runner-up, ({'abcde'[_row(diagnosis, other.title)]}) " in page
    assert "a threefold change of one prior would change the leading cause" in page
    (sample,) = diagnosis_json([diagnosis])["samples"]
    assert sample["robust"] is False
    assert np.isfinite([item["log_ratio"] for item in sample["runner_up"]["readings"]]).all()
    assert _of("B3").robust


def test_while_as_designed_leads_nothing_is_decided_against_a_part() -> None:
    text = "sample,test,reading\nX,L_P,880 uH\n"
    (diagnosis,) = explain(BRIDGE, parse_readings(text, BRIDGE))
    assert diagnosis.as_designed < 0.5
    assert not diagnosis.deviates
    page = render(diagnosis_view(BRIDGE, [diagnosis], 5), 80, plain=True)
    assert "X: consistent with the design; 1 of 9 tests read" in page
    assert "Shop:" not in page


def test_readings_that_contradict_each_other_are_told_whatever_the_design() -> None:
    flyback = load_design(ROOT / "samples" / "flyback-24w.toml")
    rows = (ROOT / "samples" / "flyback-24w.csv").read_text(encoding="utf-8").splitlines()
    text = "\n".join(row for row in rows if row.startswith(("sample", "A5,")))
    (diagnosis,) = explain(flyback, parse_readings(text, flyback))
    assert any("leakage from both sides" in note for note in diagnosis.notes)


def test_how_many_parts_are_sound_may_be_told() -> None:
    text = "sample,test,reading\nX,L_P,880 uH\nX,L_S,219 uH\n"
    readings = parse_readings(text, BRIDGE)
    (suspicious,), (running,) = explain(BRIDGE, readings), explain(BRIDGE, readings, sound=0.95)
    assert suspicious.as_designed < 0.5 < 0.9 < running.as_designed
    with pytest.raises(ValueError, match="sound"):
        explain(BRIDGE, readings, sound=1.0)


def test_where_nothing_listed_explains_the_readings_no_instruction_is_given() -> None:
    text = "sample,test,reading\nX,L_P,3.1 mH\nX,L_S,90 uH\nX,n,2.37\nX,R_P,55 mohm\nX,R_S,1.1 mohm\n"
    (diagnosis,) = explain(BRIDGE, parse_readings(text, BRIDGE))
    assert diagnosis.unlisted > diagnosis.causes[0].probability
    page = render(diagnosis_view(BRIDGE, [diagnosis], 5), 80, plain=True)
    assert "not in the catalogue" in page
    assert "The best of those listed" in " ".join(page.split())
    assert "Shop:" not in page
