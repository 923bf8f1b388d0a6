"""One number in all commands: what predict says of a reading, every other command says, digit by digit."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from how_many import and_slow

from aswound.cli.main import main

SAMPLES = Path(__file__).parents[2] / "samples"

LITZ = """
title = "Litz in two chambers"
[core]
shape = "ETD 39/20/13"
material = "MnZn 2300"
gap = "0.8 mm"
[bobbin]
wall = "1.1 mm"
flange = "1.2 mm"
chambers = ["12 mm", "9 mm"]
partition = "2 mm"
[[winding]]
name = "P"
wire = { litz_strands = 60, strand = "0.1 mm", strand_grade = 1 }
[[winding]]
name = "S"
wire = { litz_strands = 200, strand = "0.1 mm", strand_grade = 1 }
[build]
steps = [
  { wind = "P", turns = 24, chamber = 1 },
  { wind = "S", turns = 6, chamber = 2 },
]
"""
CHOKE = """
title = "Choke on two legs"
[core]
shape = "U 25/20/13"
material = "MnZn 5000"
face_gap = "1 um"
[bobbin]
wall = "0.8 mm"
flange = "1 mm"
[[winding]]
name = "A"
wire = { diameter = "0.8 mm", grade = 2 }
[[winding]]
name = "B"
wire = { diameter = "0.8 mm", grade = 2 }
[build]
steps = [{ wind = "A", turns = 20, leg = 1 }, { wind = "B", turns = 20, leg = 2 }]
"""


@pytest.fixture(params=["gate-drive", "litz", *and_slow("choke", "flyback-24w", "bridge-300w")])
def design(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    own = {"litz": LITZ, "choke": CHOKE}
    if request.param not in own:
        return SAMPLES / f"{request.param}.toml"
    file = tmp_path / f"{request.param}.toml"
    file.write_text(own[request.param], encoding="utf-8")
    return file


def test_one_number_in_all_commands(design: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Nominal and range of every reading in predict and plan, to rounding; in compare the nominal; in
    interleave leakage and range of the present arrangement, also as printed."""

    def data(*arguments: str) -> Any:
        assert main([*arguments, "--json"]) in (0, 1)
        return json.loads(capsys.readouterr().out)

    def text(*arguments: str) -> str:
        assert main([*arguments]) in (0, 1)
        return capsys.readouterr().out

    said = {test["name"]: test for test in data("predict", str(design))["tests"]}
    planned = {test["name"]: test for test in data("plan", str(design))["tests"]}
    for name, test in said.items():
        ranges = [planned[name][key] for key in ("expected", "low", "high")]
        assert ranges == pytest.approx([test[key] for key in ("predicted", "low", "high")], rel=1e-12)
    leakage = next(name for name in said if name.startswith("Lk"))
    readings = tmp_path / "readings.csv"
    rows = "".join(f"1,{name},{said[name]['predicted']:.9e} {said[name]['unit']}\n" for name in (leakage,))
    readings.write_text(f"sample,test,reading\n{rows}", encoding="utf-8")
    compared = data("compare", str(design), str(readings))["samples"][0]["tests"]
    for test in compared:
        assert test["predicted"] == pytest.approx(said[test["name"]]["predicted"], rel=1e-12)
    asked = ["--most", "20"]
    found = data("interleave", str(design), *asked)["arrangements"]
    (present,) = (one for one in found if one["present"])
    test = said[leakage]
    assert present["leakage_H"] == pytest.approx(test["predicted"], rel=1e-12)
    assert present["spread"]["leakage_H"] == pytest.approx([test["low"], test["high"]], rel=1e-12)
    lines = text("predict", str(design)).splitlines()
    row = next(line for line in lines if line.startswith(f"{leakage} ") and "…" in line)
    printed = text("interleave", str(design), *asked)
    shown = row.split("kHz")[1].split()  # value, unit, low, …, high, unit
    assert f"{shown[0]} {shown[1]}" in printed
    assert f"{shown[2]} … {shown[4]} {shown[1]}" in printed


@pytest.mark.parametrize("text", [LITZ, CHOKE], ids=["litz", "choke"])
def test_the_netlist_says_the_same_range(text: str) -> None:
    """On a bench without link and leads the ends of the netlist are the ends of predict's ranges."""
    from aswound.predict import parse_design, spread
    from aswound.predict.netlist.builds import ends_of_production

    bench = (
        '[[test]]\nname = "Lk"\nmeasure = "inductance"\ndrive = "{0}"\nshort = "{1}"\nfrequency = "100 kHz"\n'
        'level = "1 uV"\n[[test]]\nname = "R"\nmeasure = "resistance"\ndrive = "{0}"\n'
        '[bench]\nsource_resistance = "0 ohm"\nshort_inductance = "0 nH"\nshort_resistance = "0 mohm"\n'
    )
    names = ("P", "S") if "Litz" in text else ("A", "B")
    design = parse_design(text + bench.format(*names))
    production = spread(design)
    _, *ends = ends_of_production(design, 10e3, 1e6)
    for end, values in zip(ends, (production.low, production.high), strict=True):
        factors = dict(end.factors)
        told = [factors["leakage"], factors["resistance"]]
        assert told == pytest.approx(list(values[:2] / production.nominal[:2]), rel=1e-12)
