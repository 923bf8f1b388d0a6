"""What is said of a reading with the wrong sign. Labels: unit, cli."""

from __future__ import annotations

from pathlib import Path

import pytest

from aswound.cli.main import main
from aswound.compare.meter import wrong_signs
from aswound.predict import load_design, readings

SAMPLE = Path(__file__).parents[2] / "samples" / "flyback-24w.toml"
DESIGN = load_design(SAMPLE)


def test_each_kind_is_told_once_with_its_tests() -> None:
    expected = readings(DESIGN)
    read = [-float(value) if test.name in ("L_P", "Lk_P", "R_S") else float(value) for test, value in
            zip(DESIGN.tests, expected, strict=True)]  # fmt: skip
    told = wrong_signs(DESIGN.tests, read, expected)
    assert [text.partition(":")[0] for text in told] == ["L_P, Lk_P read negative", "R_S reads negative"]
    assert "resonance" in told[0]
    assert "short correction" in told[1]


def test_a_reading_that_is_expected_negative_is_none() -> None:
    """Above the resonance an inductance is negative; a missing reading says nothing."""
    (test,) = DESIGN.tests[:1]
    assert wrong_signs((test, test), (-1e-3, None), (-2e-3, 1e-3)) == ()


@pytest.mark.parametrize("command", ["compare", "explain"])
def test_it_is_told_with_what_to_do(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([command, str(SAMPLE), "--read", "L_P=-4.2mH", "--read", "Lk_P=3.6uH"]) == 1
    told = " ".join(capsys.readouterr().out.split())
    assert "L_P reads negative: the meter sees a capacitance." in told
    assert "Check the contacts" in told
