"""Picking samples of a readings file, and the names of a design's tests in ``check``. Labels: cli."""

from __future__ import annotations

import json
from pathlib import Path

import forked
import pytest

from aswound.cli.main import main

SAMPLES = Path(__file__).parents[2] / "samples"
DESIGN, READINGS = str(SAMPLES / "flyback-24w.toml"), str(SAMPLES / "flyback-24w.csv")


@pytest.mark.parametrize("command", ["compare", "explain"])
def test_only_the_samples_that_are_named(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    """As in the whole file, one by one, in its order."""
    main([command, DESIGN, READINGS, "--json"])
    every = json.loads(capsys.readouterr().out)["samples"]
    main([command, DESIGN, READINGS, "--sample", "A3", "--sample", "A2", "--json"])
    picked = json.loads(capsys.readouterr().out)["samples"]
    assert [item["sample"] for item in picked] == ["A2", "A3"]
    assert [item["sample"] for item in every] == ["A1", "A2", "A3", "A4", "A5"]
    if command == "explain":
        assert [item["causes"][0]["cause"] for item in picked] == ["turns", "order"]


def test_the_status_is_that_of_the_samples_that_are_named() -> None:
    assert main(["explain", DESIGN, READINGS, "--sample", "A1", "--brief"]) == 0
    assert main(["explain", DESIGN, READINGS, "--sample", "A2", "--brief"]) == 1


@pytest.mark.slow
def test_the_report_holds_them_and_repeats_the_option(tmp_path: Path) -> None:
    page = tmp_path / "page.html"
    options = ["-o", str(page), "--sample", "A1", "--builds", "100"]
    assert main(["report", DESIGN, READINGS, *options]) == 0
    text = page.read_text(encoding="utf-8")
    assert "--sample A1" in text
    assert 'id="sample-1"' in text
    assert 'id="sample-2"' not in text


def test_a_name_that_is_not_there_is_told_those_that_are(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["explain", DESIGN, READINGS, "--sample", "A33", "--sample", "A2"]) == 2
    told = " ".join(capsys.readouterr().err.split())
    assert "option --sample A33 found 'A33' allowed a sample of the file: A1; A2; A3; A4; A5" in told
    assert main(["compare", DESIGN, "--read", "L_P=600uH", "--sample", "A2"]) == 2
    assert "a readings file" in capsys.readouterr().err


def test_of_very_many_samples_the_first_are_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "many.csv"
    rows = "\n".join(f"N{number},L_P,600 uH" for number in range(1, 34))
    file.write_text(f"sample,test,reading\n{rows}\n", encoding="utf-8")
    assert main(["compare", DESIGN, str(file), "--sample", "X"]) == 2
    told = " ".join(capsys.readouterr().err.split())
    assert "N29; N30 and 3 more" in told


def test_the_shell_completes_their_names() -> None:
    words = f"aswound explain {DESIGN} {READINGS} --sample A"
    asked = {"_ASWOUND_COMPLETE": "complete_bash", "COMP_WORDS": words, "COMP_CWORD": "5"}
    told = forked.run([], environment=asked)
    assert told.stdout.split() == ["A1", "A2", "A3", "A4", "A5"]


OWN = """sample,test,reading,frequency
B,magnetising,612 uH,10 kHz
B,leak,1.18 uH,100 kHz
B,turns,5.99,10 kHz
"""
DRAWN = """[core]
shape = "ETD 34/17/11"
material = "MnZn 2300"
gap = "0.25 mm"
[bobbin]
wall = "1.1 mm"
flange = "1.0 mm"
[[winding]]
name = "P"
wire = { diameter = "0.40 mm", grade = 2 }
[[winding]]
name = "S"
wire = { diameter = "0.60 mm", grade = 2, in_hand = 3 }
[build]
steps = [{ wind = "P", turns = 36 }, { tape = "0.06 mm", wraps = 3 }, { wind = "S", turns = 6 }]
[[test]]
name = "magnetising"
measure = "inductance"
drive = "P"
frequency = "10 kHz"
[[test]]
name = "leak"
measure = "inductance"
drive = "P"
short = ["S"]
frequency = "100 kHz"
[[test]]
name = "turns"
measure = "ratio"
drive = "P"
sense = "S"
frequency = "10 kHz"
"""


@pytest.fixture
def own(tmp_path: Path) -> tuple[str, str]:
    """A design with names of its own for its tests, and readings by these names."""
    (tmp_path / "d.toml").write_text(DRAWN, encoding="utf-8")
    (tmp_path / "r.csv").write_text(OWN, encoding="utf-8")
    return str(tmp_path / "r.csv"), str(tmp_path / "d.toml")


def test_check_takes_the_names_of_a_design(own: tuple[str, str], capsys: pytest.CaptureFixture[str]) -> None:
    readings, design = own
    assert main(["check", readings, "--design", design, "--ratio", "6", "--json"]) == 0
    (sample,) = json.loads(capsys.readouterr().out)["samples"]
    assert {check["check"] for check in sample["checks"]} >= {"shorted below open", "ratio as stated"}
    assert {item["name"] for item in sample["derived"]} >= {"k of P, S", "M of P, S"}


def test_check_says_how_to_name_a_design(own: tuple[str, str], capsys: pytest.CaptureFixture[str]) -> None:
    readings, design = own
    assert main(["check", readings]) == 2
    assert "--design FILE" in capsys.readouterr().err
    Path(readings).write_text(OWN.replace("leak", "leek"), encoding="utf-8")
    assert main(["check", readings, "--design", design]) == 2
    assert "Did you mean 'leak'?" in capsys.readouterr().err
    Path(readings).write_text("sample,magnetising [uH],leak [uH]\nB,612,1.18\n", encoding="utf-8")
    assert main(["check", readings, "--design", design, "--sample", "B"]) == 0
    assert main(["check", readings, "--design", design, "--sample", "C"]) == 2
