"""Results of the API print a few lines with units, and stay the arrays and values that they are."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from how_many import and_slow
from small_design import SMALL, SMALL_READINGS

from aswound.compare import compare, explain, load_readings
from aswound.compare.lots.summary import lot
from aswound.compare.plan.bench_sheet import plan
from aswound.compare.readings import Reading
from aswound.predict import Design, load_design, parse_design, readings, spread

SAMPLES = Path(__file__).parents[2] / "samples"


@pytest.fixture(scope="module")
def design() -> Design:
    return load_design(SAMPLES / "gate-drive.toml")


def test_readings_print_names_and_units(design: Design) -> None:
    values = readings(design)
    lines = str(values).splitlines()
    assert [line.split()[0] for line in lines] == [test.name for test in design.tests]
    assert any(line.endswith("mΩ") for line in lines)
    assert repr(values) == str(values)


def test_readings_are_an_array(design: Design) -> None:
    values = readings(design)
    assert isinstance(values, np.ndarray)
    assert values.dtype == np.float64
    assert type(values * 2) is np.ndarray
    assert type(values.sum()) is np.float64
    assert type(values[0]) is np.float64
    assert str(values[:2]) == str(np.asarray(values)[:2]), "a part has lost its names"
    np.testing.assert_array_equal(np.array(values), np.asarray(values))


def test_many_builds_print_as_an_array(design: Design) -> None:
    many = replace(design, core=replace(design.core, face_gap=np.array([1e-6, 2e-6])))
    values = readings(many)
    assert values.shape == (2, len(design.tests))
    assert str(values) == str(np.asarray(values))
    assert "2 builds" not in str(design)


@pytest.fixture(params=["small", *and_slow("gate-drive")])
def taken(request: pytest.FixtureRequest, tmp_path: Path) -> tuple[Design, list[Reading]]:
    """A design and readings of its parts; the second reads off."""
    name, design, file = request.param, parse_design(SMALL), tmp_path / "small.csv"
    file.write_text(SMALL_READINGS, encoding="utf-8")
    if name != "small":
        design, file = load_design(SAMPLES / f"{name}.toml"), SAMPLES / f"{name}.csv"
    return design, list(load_readings(file, design))


def test_results_are_short(taken: tuple[Design, list[Reading]]) -> None:
    design, read = taken
    comparisons, diagnoses = compare(design, read, builds=100), explain(design, read)
    results = (
        design,
        spread(design, 100),
        *comparisons,
        *diagnoses,
        lot(design, read, builds=100),
        *plan(design),
    )
    for result in results:
        lines = str(result).splitlines()
        assert 1 <= len(lines) <= 25, result
        assert "array(" not in str(result)
    for result in (design, *comparisons, *diagnoses, spread(design, 100)):
        assert len(repr(result)) < 160
        assert "\n" not in repr(result)


def test_what_is_printed_is_what_is_held(taken: tuple[Design, list[Reading]]) -> None:
    design, read = taken
    diagnosis = explain(design, read)[1]
    assert diagnosis.causes[0].title in str(diagnosis)
    assert diagnosis.causes[0].title in repr(diagnosis)
    comparison = compare(design, read, builds=100)[1]
    worst = max(comparison.tests, key=lambda test: abs(test.score or 0.0))
    row = next(line for line in str(comparison).splitlines() if line.startswith(f"{worst.name} "))
    assert f"{worst.score:+.1f}" in row
    assert "none deviates" not in str(comparison)
