"""What somebody writes who has never seen a design file: each message says what to write instead."""

from __future__ import annotations

from pathlib import Path

import pytest

from aswound.cli.main import main

FLYBACK = """
title = "Flyback 48 V : 5 V"
[core]
shape = "EP 13"
material = "MnZn 2300"
al = "160 nH"
[bobbin]
wall = "0.6 mm"
flange = "0.6 mm"
[[winding]]
name = "P"
wire = { awg = 33, grade = 2 }
[[winding]]
name = "S"
wire = { diameter = "0.35 mm", grade = 2 }
[build]
steps = [{ wind = "P", turns = 28 }, { tape = "0.05 mm", wraps = 2 }, { wind = "S", turns = 5 }]
[[test]]
name = "Lp"
measure = "inductance"
drive = "P"
frequency = "100 kHz"
nominal = "125 uH"
tolerance = "10 %"
"""


def said(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], text: str, readings: str = ""
) -> tuple[int, str]:
    """Status, and what is printed, its lines joined."""
    design, read = tmp_path / "a.toml", tmp_path / "a.csv"
    design.write_text(text)
    read.write_text(readings)
    status = main(
        ["compare", str(design), str(read)] if readings else ["predict", str(design), "--builds", "100"]
    )
    told = capsys.readouterr()
    return status, " ".join((told.out + told.err).split())


@pytest.mark.parametrize(
    ("wrong", "right", "words"),
    [
        ("MnZn 2300", "N87", "Nearest to N87 is 'MnZn 2300' (from memory: check permeability and loss"),
        ("MnZn 2300", "3c95", "Nearest to 3c95 is 'MnZn 3000'"),
        ("MnZn 2300", "M400-50A", "Nearest to M400-50A is 'silicon steel NO 0.50'"),
        ('tolerance = "10 %"', "tolerance = 10", 'A plain number is a ratio: did you mean "10 %"?'),
        ('tolerance = "10 %"', "tolerance = [5, 10]", 'A plain number is a ratio: did you mean "5 %"?'),
        ("EP 13", "EP 13 X", "Nearest: EP 13"),
        ("EP 13", "EP13/X", "Nearest: EP 13"),
        ("awg = 33, grade = 2", "awg = 33", "'aswound keys grade' shows it with an example."),
        (
            'shape = "EP 13"',
            'dimensions = { form = "rod" }',
            "Open cores (rods, drums) and cores with two holes",
        ),
    ],
)
def test_a_mistake_in_the_design_says_what_to_write(
    wrong: str, right: str, words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    status, told = said(tmp_path, capsys, FLYBACK.replace(wrong, right))
    assert status == 2
    assert words in told


@pytest.mark.parametrize("name", ["ep13", "EP-13", "EP_13"])
def test_a_core_by_its_usual_spellings(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    status, told = said(tmp_path, capsys, FLYBACK.replace("EP 13", name))
    assert status == 0
    assert "Core EP 13, MnZn 2300, gap 0.167 mm" in told


def test_a_core_without_a_material_says_so(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """AL alone says nothing of the iron's share."""
    status, told = said(tmp_path, capsys, FLYBACK.replace('material = "MnZn 2300"\n', ""))
    assert status == 0
    assert "Core EP 13, material not given, gap" in told
    assert "AL 160.0 nH. Layers" in told


@pytest.mark.parametrize(
    ("header", "words"),
    [
        ("part,test,reading", "Call that column 'sample'."),
        ("Serial No.,test,reading", "Call that column 'sample'."),
        ("sample,test,value", "Call that column 'reading'."),
        ("sample,test,reading,who", "Free text goes in the column note."),
    ],
)
def test_a_column_under_another_name(
    header: str, words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    cells = "A1,Lp,125 uH" + ",x" * (header.count(",") - 2)
    status, told = said(tmp_path, capsys, FLYBACK, f"{header}\n{cells}\n")
    assert status == 2
    assert words in told
