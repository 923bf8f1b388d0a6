"""What to measure next: the information of a test, which tests are offered, when it is silent."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from aswound.cli.views.diagnosis import diagnosis_view
from aswound.cli.views.diagnosis_data import diagnosis_json
from aswound.cli.views.page import render
from aswound.compare import explain
from aswound.compare.causes import CATALOGUE
from aswound.compare.diagnosis.conclusion import Diagnosis
from aswound.compare.diagnosis.next_test import expected_bits
from aswound.compare.hypotheses.candidates import nameless
from aswound.compare.hypotheses.forward_runs import forward
from aswound.compare.hypotheses.inquiry import inquire
from aswound.compare.readings.file import parse_readings
from aswound.predict import load_design
from aswound.predict.design import Design

ROOT = Path(__file__).parents[2]
FLYBACK = load_design(ROOT / "samples" / "flyback-24w.toml")
BRIDGE = load_design(ROOT / "samples" / "bridge-300w.toml")


def _bits(apart: float, share: float = 0.5) -> float:
    mean, variance = np.array([[0.0], [apart]]), np.ones((2, 1))
    return float(expected_bits(mean, variance, np.array([share, 1 - share]), ["gap", "turns"])[0])


def test_outcomes_far_apart_tell_all_and_equal_ones_nothing() -> None:
    assert _bits(30.0) == pytest.approx(1.0, abs=1e-6)
    assert _bits(30.0, 0.9) == pytest.approx(-0.9 * np.log2(0.9) - 0.1 * np.log2(0.1), abs=1e-6)
    assert _bits(0.0) == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize("apart", [0.5, 1.0, 2.0, 3.0])
def test_information_is_that_of_a_two_valued_signal_in_noise(apart: float) -> None:
    """Against the integral H(x) − H(noise) of the mixture's density, by a fine sum."""
    x = np.linspace(-12.0, 12.0 + apart, 40001)
    density = 0.5 * (np.exp(-(x**2) / 2) + np.exp(-((x - apart) ** 2) / 2)) / np.sqrt(2 * np.pi)
    entropy = -np.sum(density * np.log2(np.maximum(density, 1e-300))) * (x[1] - x[0])
    expected = entropy - 0.5 * np.log2(2 * np.pi * np.e)
    assert _bits(apart) == pytest.approx(expected, abs=2e-3)


def test_severities_of_one_cause_are_no_information_about_the_cause() -> None:
    bits = expected_bits(np.array([[0.0], [30.0]]), np.ones((2, 1)), np.array([0.5, 0.5]), ["gap", "gap"])
    assert bits[0] == pytest.approx(0.0, abs=1e-12)


def test_nothing_that_was_read_is_offered_again() -> None:
    inquiry = inquire(FLYBACK, FLYBACK.tests, CATALOGUE)
    assert inquiry.tests[: inquiry.read] == FLYBACK.tests
    keys = [
        (nameless(test), stage and stage.intervention.name)
        for test, stage in zip(inquiry.tests, inquiry.staged, strict=True)
    ]
    assert len(set(keys)) == len(keys) > inquiry.read


def test_another_sample_of_the_design_needs_no_forward_run() -> None:
    """The runs hang on design, catalogue and bench: they are remembered, whatever was read of a sample."""
    _of(FLYBACK, "A1", "flyback-24w.csv")
    before = forward.cache_info().misses
    _of(FLYBACK, "A2", "flyback-24w.csv", ("n", "R_P", "Lk_S"))
    assert forward.cache_info().misses == before


def _of(design: Design, sample: str, file: str, leave_out: tuple[str, ...] = ()) -> Diagnosis:
    rows = (ROOT / "samples" / file).read_text(encoding="utf-8").splitlines()
    chosen = [row for row in rows if row.startswith(("sample", f"{sample},"))]
    kept = [row for row in chosen if not any(row.startswith(f"{sample},{name},") for name in leave_out)]
    (diagnosis,) = explain(design, parse_readings("\n".join(kept), design))
    return diagnosis


def test_causes_with_like_readings_stand_in_one_line_with_what_separates_them() -> None:
    """A part of low inductance and nothing else: seating, material, bias and cracks all do that."""
    diagnosis = _of(BRIDGE, "B2", "bridge-300w.csv")
    (group,) = diagnosis.alike
    names = {cause for cause, _ in group.causes}
    assert {"unseated", "material", "bias"} <= names
    assert 0.5 < group.probability <= 1.0
    assert 1 <= len(diagnosis.next_tests) <= 3
    assert all(test.bits > 0 and test.why for test in diagnosis.next_tests)
    page = render(diagnosis_view(BRIDGE, [diagnosis], 5), 80, plain=True)
    assert "Measure next: " in page
    first, *_ = group.causes
    assert f"do not tell apart: {' '.join(first)}" in page
    assert first[0] in {"unseated", "material", "bias", "cracked"}  # alike, and as common
    (sample,) = diagnosis_json([diagnosis])["samples"]
    assert set(sample["next_tests"][0]) >= {
        "measure",
        "drive",
        "short",
        "sense",
        "frequency",
        "bits",
        "why",
        "intervention",
        "effort",
    }
    assert sample["alike"][0]["probability"] == group.probability


def test_the_reading_that_was_left_out_is_asked_for() -> None:
    """The order of the sections against a loose winding: leakage alone does not say which."""
    diagnosis = _of(FLYBACK, "A2", "flyback-24w.csv", ("n", "n_AUX", "R_P", "R_S", "Lk_S", "dot_S"))
    assert diagnosis.next_tests
    asked = {(test.measure, test.drive) for test in diagnosis.next_tests}
    assert asked & {("ratio", "P"), ("inductance", "S"), ("inductance", "P"), ("resistance", "P")}
