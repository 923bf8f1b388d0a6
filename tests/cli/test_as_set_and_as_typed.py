"""What the user sets and types stands beside what the model makes of it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from aswound.cli.main import main

FLYBACK = str(Path(__file__).parents[2] / "samples" / "flyback-24w.toml")


def plan_of(capsys: pytest.CaptureFixture[str], *options: str) -> dict[str, dict[str, float | None]]:
    main(["plan", FLYBACK, "--json", *options])
    return {test["name"]: test for test in json.loads(capsys.readouterr().out)["tests"]}


def test_the_level_is_what_the_meter_is_set_to(capsys: pytest.CaptureFixture[str]) -> None:
    """Voltage divider by hand: L_P is 590.8 µH, 37.1 Ω at 10 kHz, so that of 1 V behind 100 Ω
    37.1/|100.6 + 37.1j| = 0.346 V stand across it."""
    found = plan_of(capsys)["L_P"]
    assert found["level"] == 1.0
    assert found["terminal_level"] == pytest.approx(0.346, abs=0.001)
    main(["plan", FLYBACK])
    text = " ".join(capsys.readouterr().out.split())
    assert "1.00 V RMS on the meter (346 mV across the part)" in text
    assert "at the terminals" not in text


def test_a_resistance_is_shown_as_typed_too(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Copper, 0.393 %/K: 600 mΩ at 33 °C are 600/(1 + 0.00393 · 13) = 570.8 mΩ at 20 °C."""
    path = tmp_path / "readings.csv"
    path.write_text("sample,test,reading,temperature\nA,R_P,600 mohm,33 degC\n", encoding="utf-8")
    arguments = ["compare", FLYBACK, str(path)]
    main([*arguments, "--json"])
    (test,) = json.loads(capsys.readouterr().out)["samples"][0]["tests"]
    assert test["read"] == pytest.approx(0.5708, rel=2e-4)
    assert (test["read_as_typed"], test["read_at_degC"]) == (pytest.approx(0.6), pytest.approx(33.0))
    main(arguments)
    text = " ".join(capsys.readouterr().out.split())
    assert "As typed, before it was brought to the test's temperature: R_P 600.0 mΩ at 33 °C." in text
    assert "570.8" in text
    main(["compare", FLYBACK, "--read", "L_P=600 uH", "--json"])
    (other,) = json.loads(capsys.readouterr().out)["samples"][0]["tests"]
    assert (other["read_as_typed"], other["read_at_degC"]) == (None, None)
