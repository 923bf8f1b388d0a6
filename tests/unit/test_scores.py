"""A score has one meaning: explain's as designed is compare's."""

from __future__ import annotations

from pathlib import Path

import pytest

from aswound.compare import compare, explain, load_readings
from aswound.predict import load_design

SAMPLES = Path(__file__).parents[2] / "samples"


@pytest.mark.parametrize("name", ["flyback-24w", "gate-drive"])
def test_the_same_score_in_compare_and_explain(name: str) -> None:
    design = load_design(SAMPLES / f"{name}.toml")
    readings = load_readings(SAMPLES / f"{name}.csv", design)
    compared = {one.sample: one for one in compare(design, readings)}
    for diagnosis in explain(design, readings, doubles=False):
        scores = {test.name: test.score for test in compared[diagnosis.sample].tests}
        assert any(score is not None for score in scores.values())
        assert {reading.name: reading.score for reading in diagnosis.readings} == scores
