"""Bad input: a message that names the place and the cure, status 2, no traceback, nothing on standard
output."""

from __future__ import annotations

from pathlib import Path

import pytest

from aswound.cli.main import main

SAMPLES = Path(__file__).parents[2] / "samples"
GOOD = (SAMPLES / "flyback-24w.toml").read_text(encoding="utf-8")
READINGS = (SAMPLES / "flyback-24w.csv").read_text(encoding="utf-8")

DESIGNS = {
    "decimal comma": ('wall = "1.2 mm"', 'wall = "1,2 mm"', ("bobbin.wall", "1,2 mm")),
    "missing unit": ('wall = "1.2 mm"', 'wall = "1.2"', ("bobbin.wall", "mm")),
    "bare number": ('wall = "1.2 mm"', "wall = 1.2", ("bobbin.wall", "mm")),
    "wrong case": ('frequency = "10 kHz"', 'frequency = "10 khz"', ("test L_P", "kHz")),
    "nan": ('al = "163 nH"', 'al = "nan nH"', ("core.al", "nan")),
    "wrong dimension": ('al = "163 nH"', 'al = "163 mm"', ("core.al", "nH")),
    "negative": ('wall = "1.2 mm"', 'wall = "-1.2 mm"', ("bobbin.wall",)),
    "unknown key": ('flange = "1.3 mm"', 'flanges = "1.3 mm"', ("flanges", "flange")),
    "unknown core": ('shape = "ETD 29/16/10"', 'shape = "ETD 29/16/11"', ("core.shape", "ETD 29/16/10")),
    "unknown material": ('material = "MnZn 2300"', 'material = "MnZn 2301"', ("core.material", "MnZn 2300")),
    "half turn": ("turns = 8", "turns = 8.5", ("step 3", "whole")),
    "turns as text": ("turns = 8", 'turns = "8 turns"', ("step 3",)),
    "unknown winding in a test": ('sense = "AUX"', 'sense = "AUXX"', ("test n_AUX", "AUX")),
    "unknown winding in a step": ('wind = "AUX"', 'wind = "AUC"', ("step 7", "AUX")),
    "turns checksum": ("total_turns = 60", "total_turns = 61", ("winding P", "61")),
    "no frequency": ('drive = "P"\nfrequency = "10 kHz"', 'drive = "P"', ("test L_P", "frequency")),
    "limits the wrong way": ('min = "560 uH"', 'min = "700 uH"', ("test L_P",)),
    "too broad": ("in_hand = 3", "in_hand = 30", ("step 3", "does not fit")),
    "too high": ('wall = "1.2 mm"', 'wall = "5.2 mm"', ("build", "does not fit by")),
    "not supported yet": (
        'measure = "phase"',
        'measure = "capacitence"',
        ("test dot_S", "capacitance"),
    ),
    "two grades of truth": ('material = "MnZn 2300"', 'material = "MnZn 2300"\nmu_i = 2300', ("core",)),
    "broken TOML": ("[bobbin]", "[bobbin", ("line",)),
    "duplicate winding": ('name = "AUX"\nwire', 'name = "S"\nwire', ("winding",)),
    "unknown grade": ('"0.20 mm", grade = 2', '"0.20 mm", grade = 7', ("winding AUX", "grade")),
}


@pytest.mark.parametrize("name", DESIGNS)
def test_bad_design(capsys: pytest.CaptureFixture[str], tmp_path: Path, name: str) -> None:
    old, new, words = DESIGNS[name]
    assert old in GOOD
    path = tmp_path / "bad.toml"
    path.write_text(GOOD.replace(old, new, 1), encoding="utf-8")
    for command in ("predict", "plan"):
        assert main([command, str(path)]) == 2
        shown = capsys.readouterr()
        assert shown.out == ""
        assert "Traceback" not in shown.err
        assert "bad.toml" in shown.err
        for word in words:
            assert word in " ".join(shown.err.split())


CELLS = {
    "unknown test": ("A1,L_P,", "A1,L_Q,609 uH", ("line", "L_P")),
    "no unit": ("A1,L_P,", "A1,L_P,609.79", ("line", "unit")),
    "wrong unit": ("A1,R_P,", "A1,R_P,562.40 uH", ("line", "inductance")),
    "not a number": ("A1,n,", "A1,n,seven", ("line", "seven")),
    "too many cells": ("A1,n,", "A1,n,7.5043,1,2", ("line",)),
    "no header": ("sample,test,reading", "", ("column",)),
}
"""The beginning of a row, the row in its place, words of the message."""


@pytest.mark.parametrize("name", CELLS)
@pytest.mark.parametrize("command", ["compare", "explain"])
def test_bad_readings(capsys: pytest.CaptureFixture[str], tmp_path: Path, name: str, command: str) -> None:
    old, new, words = CELLS[name]
    rows = READINGS.splitlines()
    place = next(number for number, row in enumerate(rows) if row.startswith(old))
    rows[place] = new
    path = tmp_path / "bad.csv"
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")
    assert main([command, str(SAMPLES / "flyback-24w.toml"), str(path)]) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert "Traceback" not in shown.err
    for word in words:
        assert word in " ".join(shown.err.split())


@pytest.mark.parametrize(
    ("arguments", "word"),
    [
        (["predict"], "DESIGN"),
        (["predict", "no-such.toml"], "no-such.toml"),
        (["predict", str(SAMPLES)], "samples"),
        (["predict", str(SAMPLES / "flyback-24w.toml"), "--set", "step2.wraps"], "path=value"),
        (["predict", str(SAMPLES / "flyback-24w.toml"), "--set", "step2.wrap=4"], "wraps"),
        (["predict", str(SAMPLES / "flyback-24w.toml"), "--set", "step99.wraps=4"], "step99"),
        (["predict", str(SAMPLES / "flyback-24w.toml"), "--builds", "3"], "builds"),
        (["compare", str(SAMPLES / "flyback-24w.toml")], "--read"),
        (["explain", str(SAMPLES / "flyback-24w.toml"), "--read", "L_P"], "L_P"),
        (["explain", str(SAMPLES / "flyback-24w.toml"), "--read", "L_P=612"], "unit"),
        (["explain", str(SAMPLES / "flyback-24w.toml"), "no-such.csv"], "no-such.csv"),
        (["cores", "zzz"], "zzz"),
        (["predicted"], "predicted"),
        (["predict", str(SAMPLES / "flyback-24w.toml"), "--frobnicate"], "frobnicate"),
    ],
)
def test_bad_command_line(capsys: pytest.CaptureFixture[str], arguments: list[str], word: str) -> None:
    assert main(arguments) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert "Traceback" not in shown.err
    assert word in shown.err


def test_all_faults_of_a_file_at_once(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    path = tmp_path / "bad.toml"
    text = GOOD.replace('wall = "1.2 mm"', 'wall = "1,2 mm"').replace('sense = "AUX"', 'sense = "AUXX"')
    path.write_text(text.replace("turns = 8", "turns = 8.5"), encoding="utf-8")
    assert main(["predict", str(path)]) == 2
    shown = capsys.readouterr().err
    assert "3 faults" in shown
    assert all(place in shown for place in ("bobbin.wall", "test n_AUX", "step 3"))
