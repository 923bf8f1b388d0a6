"""What a winding shop stumbled over: ends without pins, twins on a sheet, rows without a number, a dash for a
file, keys of wire. Labels: exact, cli."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from how_many import and_slow
from twin_design import TWIN

from aswound.cli.main import main
from aswound.predict import load_design

CHOKE = """title = "Choke"
[core]
shape = "R 25/15/10"
material = "MnZn 5000"
[bobbin]
wall = "0.5 mm"
[[winding]]
name = "A"
wire = { diameter = "0.50 mm", grade = 2 }
[[winding]]
name = "B"
wire = { diameter = "0.50 mm", grade = 2 }
[build]
steps = [{ wind = "A", turns = 30 }, { tape = "0.06 mm", wraps = 2 }, { wind = "B", turns = 30 }]
"""
TWINS = (
    TWIN
    + """[[test]]
name = "n1"
measure = "ratio"
drive = "P"
sense = "S1"
frequency = "20 kHz"
[[test]]
name = "n2"
measure = "ratio"
drive = "P"
sense = "S2"
frequency = "20 kHz"
"""
)
SPLIT = """title = "Mains choke, split bobbin"
[core]
shape = "U 25/16/6"
material = "MnZn 5000"
[bobbin]
wall = "1.0 mm"
flange = "0.8 mm"
chambers = 2
partition = "1.2 mm"
partition_height = "3.5 mm"
pins = 4
[[winding]]
name = "L"
wire = { diameter = "0.35 mm", grade = 2 }
start = 1
finish = 2
[[winding]]
name = "N"
wire = { diameter = "0.35 mm", grade = 2 }
start = 4
finish = 3
[build]
style = "scramble"
steps = [
  { wind = "L", turns = 60, chamber = 1 },
  { wind = "N", turns = 60, chamber = 2 },
]
[[test]]
name = "L_L"
measure = "inductance"
drive = "L"
frequency = "10 kHz"
level = "100 mV"
min = "6 mH"
[[test]]
name = "Lstray"
measure = "inductance"
drive = "L"
short = ["N"]
frequency = "10 kHz"
min = "150 uH"
"""
DRAWN = '[[test]]\nname = "L_A"\nmeasure = "inductance"\ndrive = "A"\nfrequency = "10 kHz"\n'


def shown(capsys: pytest.CaptureFixture[str], *words: str, status: int = 0) -> str:
    assert main([*words]) == status
    return " ".join(capsys.readouterr().out.split())


def written(folder: Path, text: str) -> str:
    file = folder / "design.toml"
    file.write_text(text, encoding="utf-8")
    return str(file)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (CHOKE, "Mark start and finish of every winding and bring the ends out."),
        (CHOKE.replace('name = "A"', 'name = "A"\nstart = 1\nfinish = 2'),
         "Terminate at their pins the ends that have one; mark the others, start and finish."),
        *and_slow(
            (CHOKE.replace('wall = "0.5 mm"', 'wall = "0.5 mm"\npins = 4'), "Terminate every end at its pin.")
        ),
        (CHOKE.replace('name = "A"', 'name = "A"\nstart = 1\nfinish = 2')
         .replace('name = "B"', 'name = "B"\nstart = 3\nfinish = 4'), "Terminate every end at its pin."),
    ],
)  # fmt: skip
def test_ends_go_to_pins_only_where_there_are_pins(
    text: str, told: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sheet = shown(capsys, "sheet", written(tmp_path, text + DRAWN), "--builds", "100")
    assert told in sheet
    assert sheet.count("Terminate") + sheet.count("Mark start") == 1


@pytest.mark.slow
def test_what_points_one_way_in_one_twin_and_the_other_way_in_the_other_is_not_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A shorted turn of P moves the ratio to S1 up and that to S2 down, by where it happens to lie."""
    sheet = shown(capsys, "sheet", written(tmp_path, TWINS), "--builds", "100")
    pattern = r"(n\d): Above: ([^:]*?)\. Below: (.*?\.)(?= n\d:| Wire to cut)"
    told = {
        name: [side.rstrip(".").split(", ") for side in sides] for name, *sides in re.findall(pattern, sheet)
    }
    assert set(told) == {"n1", "n2"}
    for name, (above, below) in told.items():
        assert not any("of P shorted" in cause for cause in (*above, *below))
        assert any(f"of S{name[1]} shorted" in cause for cause in above)


def test_rows_without_a_number_of_their_own_say_what_they_are(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The two chambers of a choke exchanged: one row, and the other order by its number and its windings."""
    file = written(tmp_path, SPLIT)
    text = shown(capsys, "interleave", file, "--builds", "300")
    assert "Number 2 (N | L) reads alike within production's spread and has no row (--all)." in text
    every = shown(capsys, "interleave", file, "--builds", "0", "--all")
    assert re.search(r" 2 N \| L \d", every)


def test_a_dash_is_standard_output_for_new_and_no_file_elsewhere(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["new", "-", "--like", "choke"]) == 0
    text = capsys.readouterr().out
    design = load_design(written(tmp_path, text))
    assert [winding.name for winding in design.windings] == ["A", "B"]
    for words in (["netlist", "design.toml", "-o", "-"], ["sheet", "design.toml", "-o", "-"],
                  ["report", "design.toml", "-o", "-"]):  # fmt: skip
        assert main(words) == 2
        assert "/dev/stdout" in capsys.readouterr().err
    assert not (tmp_path / "-").exists()


@pytest.mark.parametrize(
    ("wire", "told"),
    [
        ('{ strands = 60, strand = "0.1 mm", overall = "1.1 mm" }', "litz_strands"),
        ('{ diameter = "0.5 mm", strands = 2 }', "in_hand"),
        ('{ gauge = 24 }', "Did you mean 'awg'?"),
        ('{ diameter = "0.5 mm", od = "0.7 mm" }', "overall"),
    ],
)  # fmt: skip
def test_keys_that_people_write_for_a_wire(
    wire: str, told: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = written(tmp_path, CHOKE.replace('{ diameter = "0.50 mm", grade = 2 }', wire, 1))
    assert main(["predict", file]) == 2
    cure = " ".join(capsys.readouterr().err.split()).partition("cure")[2]
    assert told in cure
