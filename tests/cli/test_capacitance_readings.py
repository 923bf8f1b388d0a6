"""Capacitance and resonance from the design file to the verdict, as a user runs them."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from how_many import and_slow

from aswound.cli.main import main

DESIGN = """
title = "Current transformer"
[core]
shape = "ETD 34/17/11"
material = "MnZn 2300"
[bobbin]
wall = "1.1 mm"
flange = "1 mm"
[[winding]]
name = "P"
wire = { diameter = "1.0 mm", grade = 2 }
[[winding]]
name = "S"
wire = { diameter = "0.4 mm", grade = 2 }
[build]
steps = [
  { wind = "S", turns = 30, layers = 1 },
  { tape = "0.06 mm", wraps = 3 },
  { wind = "P", turns = 1 },
]
[[test]]
name = "L_S"
measure = "inductance"
drive = "S"
frequency = "10 kHz"
[[test]]
name = "C_P_S"
measure = "capacitance"
drive = "P"
sense = "S"
frequency = "100 kHz"
max = "80 pF"
[[test]]
name = "f_S"
measure = "resonance"
drive = "S"
[[test]]
name = "f_sc"
measure = "resonance"
drive = "P"
short = ["S"]
min = "100 MHz"
"""
NONE = "none < 300 MHz"


@pytest.fixture
def path(tmp_path: Path) -> Path:
    file = tmp_path / "current.toml"
    file.write_text(DESIGN, encoding="utf-8")
    return file


def test_no_resonance_is_said_and_null(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["predict", str(path), "--builds", "100"]) == 0
    page = capsys.readouterr().out
    assert NONE in page
    assert "no resonance up to 300 MHz" in " ".join(page.split())
    assert all(len(line) <= 80 for line in page.splitlines())
    assert main(["predict", str(path), "--builds", "100", "--json"]) == 0
    found, none = json.loads(capsys.readouterr().out)["tests"][2:]
    assert 1e5 < found["predicted"] < 1e7
    assert none["predicted"] is none["low"] is none["high"] is None


def test_the_bench_sheet_of_a_resonance(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A sweep, not a frequency; the correction over all of it."""
    assert main(["plan", str(path)]) == 0
    page = " ".join(capsys.readouterr().out.split())
    assert "Set a sweep from " in page
    assert "Set a sweep up to 300 MHz" in page
    assert "lowest frequency at which the phase falls through zero" in page
    assert "0 Hz" not in page.replace("00 Hz", "")
    assert f"Expect {NONE}; 95 % of production: {NONE}." in page


@pytest.mark.parametrize("command", ["compare", *and_slow("explain")])
def test_readings_of_both(path: Path, command: str, capsys: pytest.CaptureFixture[str]) -> None:
    """A resonance that was found where none is expected is judged, and nothing breaks; one above the search
    agrees."""
    read = ["--read", "L_S=2.8mH", "--read", "C_P_S=4.8pF", "--read", "f_S=1.9MHz", "--read"]
    assert main([command, str(path), *read, "f_sc=400MHz"]) == 0
    assert NONE in capsys.readouterr().out
    assert main([command, str(path), *read, "f_sc=30MHz"]) == 1
    assert NONE in capsys.readouterr().out
    main([command, str(path), *read, "f_sc=30MHz", "--json"])
    sample = json.loads(capsys.readouterr().out)["samples"][0]
    if command == "compare":
        assert sample["tests"][3]["predicted"] is None
        assert sample["tests"][3]["deviation"] is None
        assert sample["tests"][3]["score"] < -3


@pytest.mark.slow
def test_a_lot_with_both(path: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rows = ["sample,test,reading"]
    for part in range(8):
        rows += [f"N{part},C_P_S,{4.6 + 0.05 * part} pF", f"N{part},f_S,{1.9 + 0.01 * part} MHz"]
        rows.append(f"N{part},f_sc,{310 + part} MHz")
    readings = tmp_path / "lot.csv"
    readings.write_text("\n".join(rows) + "\n", encoding="utf-8")
    assert main(["lot", str(path), str(readings)]) == 0
    assert NONE in capsys.readouterr().out
    assert main(["lot", str(path), str(readings), "--json"]) == 0
    none = json.loads(capsys.readouterr().out)["tests"][-1]
    assert none["predicted"] is None
    assert none["deviation"] is None
