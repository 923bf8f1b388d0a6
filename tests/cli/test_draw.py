"""``predict --draw``: options, their faults, and odd designs on 80 columns and in SVG."""

from __future__ import annotations

import json
import xml.etree.ElementTree as ElementTree
from itertools import pairwise
from pathlib import Path

import pytest
from how_many import and_slow

from aswound.cli.main import main

SAMPLES = Path(__file__).parents[2] / "samples"
FLYBACK = str(SAMPLES / "flyback-24w.toml")
FEW = ("--builds", "100")


@pytest.mark.parametrize("name", ["flyback-24w", "bridge-300w", "gate-drive"])
@pytest.mark.parametrize("columns", [80, 120])
def test_drawn_in_the_terminal(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, name: str, columns: int
) -> None:
    monkeypatch.setenv("COLUMNS", str(columns))
    assert main(["predict", str(SAMPLES / f"{name}.toml"), *FEW, "--draw"]) == 0
    out = capsys.readouterr().out
    picture = out[out.index("Cross-section") :].splitlines()
    assert max(map(len, picture)) <= columns
    assert any("█" in line for line in picture)
    assert "Ampere-turns" in out


def test_option_before_the_design(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["predict", "--draw", FLYBACK, *FEW, "--draw-test", "L_P"]) == 0
    assert "in test L_P (L P, 10 kHz)" in " ".join(capsys.readouterr().out.split())


def test_svg_file(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """Well-formed, named, without scripts; the page goes to standard output as ever, JSON alike."""
    path = tmp_path / "drawing.svg"
    assert main(["predict", FLYBACK, *FEW, "--draw", str(path), "--json"]) == 0
    shown = capsys.readouterr()
    assert "tests" in json.loads(shown.out)
    assert "drawing.svg" in shown.err
    text = path.read_text(encoding="utf-8")
    root = ElementTree.fromstring(text)
    space = "{http://www.w3.org/2000/svg}"
    assert root.find(f"{space}title").text == "Isolated 12 V supply, 24 W, build A: cross-section"  # type: ignore[union-attr]
    assert "S step 3 layer 1, 8 turns" in (root.find(f"{space}desc").text or "")  # type: ignore[union-attr]
    assert root.get("width") == root.get("viewBox", "").split()[2] + "mm"
    assert "<script" not in text
    assert len(text) < 40_000


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--draw", "--draw-test", "Lk_p"], ["--draw-test", "'Lk_p'", "Did you mean 'Lk_P'?", "L_P, Lk_P"]),
        (["--draw-test", "Lk_P"], ["--draw-test without --draw"]),
        (["--draw", "picture.png"], ["'picture.png'", "ends in .svg"]),
        (["--draw", "--json"], ["--draw FILE.svg --json"]),
        (["--draw", "no/such/folder/x.svg"], ["no/such/folder/x.svg"]),
    ],
)
def test_faults_of_the_options(
    capsys: pytest.CaptureFixture[str], arguments: list[str], words: list[str]
) -> None:
    assert main(["predict", FLYBACK, *FEW, *arguments]) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert "aswound" in shown.err
    for word in words:
        assert word in " ".join(shown.err.split())


BASE = """
title = "Odd <one> & \\"only\\""
[core]
mu_i = 2000
[core.dimensions]
form = "E"
leg_width = "12 mm"
leg_depth = "15 mm"
window_width = "{width}"
window_height = "{height}"
outer_leg = "6 mm"
back = "6 mm"
[bobbin]
wall = "0.2 mm"
flange = "0.2 mm"
[[winding]]
name = "P"
wire = {wire}
[build]
steps = [{{ wind = "P", turns = {turns} }}]
[[test]]
name = "L_P"
measure = "inductance"
drive = "P"
frequency = "10 kHz"
"""
ROUND = '{ diameter = "0.30 mm", grade = 2 }'
ODD = {
    "one turn of foil": ("9 mm", "30 mm", '{ foil = "0.2 mm", width = "25 mm" }', 1),
    "forty layers": ("20 mm", "8 mm", ROUND, 40 * 20),
    "flat window": ("30 mm", "1.5 mm", ROUND, 40),
    "tall window": ("3 mm", "90 mm", ROUND, 500),
    "thin wire": ("5 mm", "12 mm", '{ diameter = "0.05 mm", grade = 1 }', 4000),
}


@pytest.mark.parametrize("what", ODD)
@pytest.mark.parametrize("encoding", ["utf-8", *and_slow("ascii")])
def test_odd_designs(
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
    what: str,
    encoding: str,
) -> None:
    width, height, wire, turns = ODD[what]
    path = tmp_path / "odd.toml"
    path.write_text(BASE.format(width=width, height=height, wire=wire, turns=turns), encoding="utf-8")
    if encoding == "ascii":
        monkeypatch.setattr("aswound.cli.output.encodes", lambda _: False)
    assert main(["predict", str(path), *FEW, "--draw"]) == 0
    out = capsys.readouterr().out
    picture = out[out.index("Cross-section") :]
    assert max(map(len, picture.splitlines())) <= 80
    assert "P" in picture
    if what == "forty layers":  # every layer has its own columns, in capitals and small letters by turns
        row = next(line for line in picture.splitlines() if line.count("P") > 10)
        assert sum(a != b for a, b in pairwise(row.strip("█#▒% 0123456789"))) >= 37
    assert "ascii" not in encoding or picture.isascii()
    svg = tmp_path / "odd.svg"
    assert main(["predict", str(path), *FEW, "--draw", str(svg)]) == 0
    root = ElementTree.fromstring(svg.read_text(encoding="utf-8"))
    assert (root[0].text or "").startswith('Odd <one> & "only"')


@pytest.mark.parametrize(("kind", "test", "none"), [("bifilar", "Lk_A", True), ("flyback", "Lk_P", False)])
def test_ampere_turns_that_cancel_have_no_diagram(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, kind: str, test: str, *, none: bool
) -> None:
    path = tmp_path / "new.toml"
    assert main(["new", str(path), "--like", kind]) == 0
    assert main(["predict", str(path), *FEW, "--draw", "--draw-test", test]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert ("No ampere-turns across" in out) == none
    assert ("per ampere driven" in out) != none
    assert "from 0 to 0" not in out


def test_layers_as_laid_of_a_flat_build(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """Flat: heights stand above the yoke (flange 0.2 mm), lengths from the leg (wall 0.2 mm)."""
    path = tmp_path / "flat.toml"
    text = BASE.format(
        width="9 mm", height="6 mm", wire='{ diameter = "0.30 mm", overall = "0.40 mm" }', turns=5
    )
    path.write_text(text.replace("[build]", '[build]\ndirection = "up"'), encoding="utf-8")
    assert main(["predict", str(path), *FEW, "--draw"]) == 0
    out = capsys.readouterr().out
    row = next(line for line in out.splitlines() if line.split()[:4] == ["1", "P", "1", "5"])
    assert "0.20 … 0.60" in row
    assert row.index("0.20 … 0.60") < row.index("0.20 … 9.00")
    assert "above the lower yoke" in out
    assert "Ampere-turns along the leg" in out


def test_the_drawing_of_a_change_says_so(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["predict", FLYBACK, *FEW, "--set", "step2.wraps=12", "--draw"]) == 0
    out = capsys.readouterr().out
    assert "Cross-section after the change" in out
    assert "Layers as laid after the change" in out
