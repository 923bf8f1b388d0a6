"""``interleave``: tables, JSON, what it writes, what it refuses."""

from __future__ import annotations

import io
import json
import re
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from how_many import and_slow
from small_design import SMALL

from aswound.cli.main import main
from aswound.cli.progress import progress_bar
from aswound.predict import load_design, parse_design, readings

SAMPLES = Path(__file__).parents[2] / "samples"
FAST = ["--builds", "0", "--most-sections", "2"]
FEWER = [*FAST, "--most", "20"]


def run(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    status = main(["interleave", *arguments])
    shown = capsys.readouterr()
    return status, shown.out, shown.err


@pytest.mark.parametrize("name", ["gate-drive", *and_slow("flyback-24w", "bridge-300w")])
def test_samples(capsys: pytest.CaptureFixture[str], name: str) -> None:
    status, out, err = run(capsys, str(SAMPLES / f"{name}.toml"), *FEWER, "--draw", "1")
    assert (status, err) == (0, "")
    assert max(len(line) for line in out.splitlines()) <= 80
    assert "qualified person" in out
    assert "(now)" in out
    assert "Against the present arrangement" in out


def test_json_has_the_fields_of_the_contract(capsys: pytest.CaptureFixture[str]) -> None:
    status, out, _ = run(capsys, str(SAMPLES / "flyback-24w.toml"), *FAST, "--json")
    assert status == 0
    found = json.loads(out)["arrangements"]
    wanted = {
        "order", "steps", "leakage_H", "capacitance_F", "ac_resistance_ohm", "fill", "joints",
        "insulated_faces", "best",
    }  # fmt: skip
    assert all(wanted <= set(one) for one in found)
    assert [one["number"] for one in found] == list(range(1, len(found) + 1))
    assert sum(one["present"] for one in found) == 1
    best = [one for one in found if one["best"]]
    assert best == found[: len(best)]
    assert [one["leakage_H"] for one in best] == sorted(one["leakage_H"] for one in best)


@pytest.mark.parametrize(
    ("name", "number"),
    [
        ("flyback-24w", 9),
        pytest.param("bridge-300w", 3, marks=pytest.mark.slow),
        pytest.param("gate-drive", 4, marks=pytest.mark.slow),
    ],
)
def test_what_is_written_loads_and_predicts_the_same(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, name: str, number: int
) -> None:
    source, file = SAMPLES / f"{name}.toml", tmp_path / "other.toml"
    arguments = [str(source), *FAST, "--most", "40", "--json", "--write", str(file), "--pick", str(number)]
    status, out, err = run(capsys, *arguments)
    assert status == 0
    assert "written" in err
    one = json.loads(out)["arrangements"][number - 1]
    design, before = load_design(file), load_design(source)
    assert design.title == before.title
    assert design.tests == before.tests
    place = next(k for k, test in enumerate(design.tests) if test.short)
    assert readings(design)[place] == pytest.approx(one["leakage_H"], rel=1e-6)
    assert "interleave" in file.read_text()
    assert main(["predict", str(file), "--builds", "100"]) == 0
    assert main(["plan", str(file)]) == 0
    assert np.all(np.isfinite(readings(design)))
    if name != "gate-drive":  # the quickest of them
        return
    part = tmp_path / "part.csv"  # the sample's first part alone
    rows = (SAMPLES / f"{name}.csv").read_text(encoding="utf-8").splitlines()
    rows = [row for row in rows if row and not row.startswith("#")]
    first = rows[1].split(",")[0]
    part.write_text("\n".join([rows[0], *(row for row in rows[1:] if row.startswith(f"{first},"))]), "utf-8")
    assert main(["explain", str(file), str(part)]) in (0, 1)  # 1: a part is rejected
    assert "Traceback" not in capsys.readouterr().err


@pytest.mark.parametrize(
    "wrong",
    [
        ["--drive", "Q"],
        ["--pair", "P"],
        ["--pair", "P/Q"],
        ["--innermost", "Q"],
        ["--tape", "P/S"],
        ["--tape", "P/P=2"],
        ["--most-sections", "0"],
        ["--most-sections", "P=x"],
        ["--parallel", "some"],
        ["--bare", "P"],
        ["--bare", "P/Q"],
        ["--bare", "P/P"],
        ["--frequency", "3 mm"],
        ["--group", "P"],
        ["--pick", "1"],
        ["--write", "x.toml"],
        ["--draw", "99999"],
        ["--draw", "0"],
        ["--draw", "picture.png"],
        ["--draw", "a.svg", "--draw", "b.svg"],
        ["--draw", "no/such/folder/x.svg"],
        ["--pick", "99999", "--write", "x.toml"],
        ["--pick", "1", "--write", "x.csv"],
    ],
)
def test_wrong_options_are_refused_in_words(capsys: pytest.CaptureFixture[str], wrong: list[str]) -> None:
    status, out, err = run(capsys, str(SAMPLES / "flyback-24w.toml"), *FAST, *wrong)
    assert (status, out) == (2, "")
    assert "allowed" in err
    assert "Traceback" not in err


SPLIT = """
title = "Split bobbin"
[core]
shape = "ETD 34/17/11"
material = "MnZn 2300"
[bobbin]
wall = "1.1 mm"
flange = "1 mm"
chambers = ["9 mm", "9 mm"]
partition = "1.5 mm"
[[winding]]
name = "P"
wire = { diameter = "0.4 mm", grade = 2 }
[[winding]]
name = "S"
wire = { diameter = "0.6 mm", overall = "0.8 mm" }
[build]
steps = [
  { wind = "P", turns = 36, chamber = 1 },
  { tape = "0.06 mm", wraps = 3, chamber = 1 },
  { wind = "S", turns = 8, chamber = 2 },
  { tape = "0.06 mm", wraps = 3, chamber = 2 },
]
"""


def test_less_insulation_only_where_it_is_asked_for_and_then_by_name(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    source, file = tmp_path / "split.toml", tmp_path / "picked.toml"
    source.write_text(SPLIT, encoding="utf-8")
    status, out, _ = run(capsys, str(source), *FEWER)
    assert status == 0
    assert "LESS INSULATION" not in out
    assert "partition 1.50 mm" in out
    plain = json.loads(run(capsys, str(source), *FEWER, "--json")[1])["arrangements"]
    assert all(one["less_insulation"] == [] for one in plain)
    status, out, _ = run(capsys, str(source), *FEWER, "--bare", "P/S", "--pick", "1", "--write", str(file))
    assert status == 0
    told = " ".join(out.split())
    assert "P and S: nothing but the wires' own insulation; the design has partition 1.50 mm." in told
    assert "LESS INSULATION THAN THE DESIGN (--bare) in number" in told
    written = file.read_text(encoding="utf-8")
    assert "LESS INSULATION THAN THE DESIGN, asked for by --bare. P and S: nothing but" in written
    assert "repeats the design's" not in written
    assert "wraps = 3" in written, "the outermost tape stays"
    bare = json.loads(run(capsys, str(source), *FEWER, "--bare", "P/S", "--json")[1])["arrangements"]
    less = [one["less_insulation"] for one in bare if one["less_insulation"]]
    assert less[0] == [
        {
            "between": ["P", "S"],
            "thickness_m": 0.0,
            "design_thickness_m": 1.5e-3,
            "less": ["wall", "thickness"],
        }
    ]


@pytest.mark.slow
def test_drawings_into_one_file(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    file = tmp_path / "arrangements.svg"
    design = str(SAMPLES / "flyback-24w.toml")
    chosen = ["--draw", "2,1", "--draw", "3", "--draw", str(file)]
    status, out, err = run(capsys, design, *FAST, "--most", "20", *chosen)
    assert status == 0
    assert "Cross-sections" not in out
    assert str(file) in err.replace("\n", "")
    root = ElementTree.parse(file).getroot()
    captions = [text.text or "" for text in root.iter("{http://www.w3.org/2000/svg}text")]
    assert [text[0] for text in captions if text[1:3] == ": " and text[0].isdigit()] == ["2", "1", "3"]
    identifiers = [element.get("id") for element in root.iter() if element.get("id")]
    assert len(identifiers) == len(set(identifiers))
    again = ["--most", "20", "--rows", "2", "--draw", str(file)]
    assert run(capsys, design, *FAST, *again)[0] == 2, "it is there already"
    assert run(capsys, design, *FAST, *again, "--force")[0] == 0  # without numbers: those listed


@pytest.mark.parametrize(("width", "abreast"), [("120", True), *and_slow(("80", False))])
def test_drawings_stand_side_by_side_where_there_is_room(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, width: str, abreast: bool
) -> None:
    monkeypatch.setenv("COLUMNS", width)
    design = str(SAMPLES / "flyback-24w.toml")
    status, out, _ = run(capsys, design, *FAST, "--most", "20", "--draw", "1", "--draw", "2")
    assert status == 0
    lines = out.splitlines()
    assert max(map(len, lines)) <= int(width)
    first = next(line for line in lines if line.startswith("1: "))
    assert (" 2: " in first) == abreast


class Terminal(io.StringIO):
    encoding = "utf-8"

    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize(("seconds", "shown"), [(0.5, False), (1.5, True)])
def test_a_bar_only_where_it_takes_longer_than_a_second(
    monkeypatch: pytest.MonkeyPatch, seconds: float, shown: bool
) -> None:
    terminal = Terminal()
    monkeypatch.setattr("sys.stderr", terminal)
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.setenv("COLUMNS", "80")
    clock = iter([0.0, seconds])
    with progress_bar(lambda: next(clock)) as progress:
        assert progress is not None
        progress("Readings", 30, 90)
    assert ("Readings" in terminal.getvalue()) == shown
    assert ("30 of 90" in terminal.getvalue()) == shown


def test_no_bar_without_a_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stderr", io.StringIO())
    with progress_bar() as progress:
        assert progress is None


CENTRE_TAPPED = SPLIT.replace(
    '[[winding]]\nname = "S"',
    '[[winding]]\nname = "S2"\ncircuit = "S"\nwire = { diameter = "0.5 mm", grade = 2 }\n'
    '[[winding]]\nname = "S"',
).replace('{ wind = "S", turns = 8, chamber = 2 }', '{ wind = "S", turns = 8, chamber = 2, with = ["S2"] }')


@pytest.mark.slow
def test_circuits_are_told_once_and_let_go_as_a_whole(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """Both halves of a secondary are one circuit: one caution, one --bare, by any of their names."""
    source = tmp_path / "tapped.toml"
    source.write_text(CENTRE_TAPPED, encoding="utf-8")
    status, out, _ = run(capsys, str(source), *FEWER)
    assert status == 0
    told = " ".join(out.split())
    assert told.count("are kept apart by partition 1.50 mm") == 1
    assert "P and S, S2 are kept apart by partition 1.50 mm" in told
    assert "(--bare P/S shows them)" in told
    few = ["--builds", "0", "--most-sections", "1"]
    orders = [
        json.loads(run(capsys, str(source), *few, "--bare", pair, "--json")[1])["arrangements"]
        for pair in ("P/S", "P/S2", "S2/P")
    ]
    assert any(one["less_insulation"] for one in orders[0])
    assert orders[0] == orders[1] == orders[2]
    bare = " ".join(run(capsys, str(source), *FEWER, "--bare", "P/S")[1].split())
    assert "P and S, S2: nothing but the wires' own insulation; the design has partition 1.50 mm." in bare
    assert "but for those marked !" in bare
    status, _, error = run(capsys, str(source), *FAST, "--bare", "S/S2")
    assert status == 2
    assert "one circuit" in error


def test_layers_on_the_edge_are_said_here_too(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """A layer that is full to the last turn needs another one in about half of production: predict, the sheet
    and interleave say so of the present order."""
    source = tmp_path / "edge.toml"
    # ETD 34 less the flanges: P's breadth holds one turn too few for its layers in the next wire
    text = SPLIT.replace('chambers = ["9 mm", "9 mm"]\n', "").replace('partition = "1.5 mm"\n', "")
    for chamber in (", chamber = 1", ", chamber = 2"):
        text = text.replace(chamber, "")
    design = parse_design(text)
    room = float(design.core.dimensions.window_height) - 2 * float(design.bobbin.flange)  # type: ignore[union-attr]
    full = int(room / (float(design.winding("P").wire.overall) * 1.02))
    text = re.sub(r'wind = "P", turns = \d+', f'wind = "P", turns = {2 * full}', text)
    source.write_text(text, encoding="utf-8")
    assert main(["predict", str(source), "--builds", "200"]) == 0
    predicted = " ".join(capsys.readouterr().out.split())
    assert re.search(r"In \d+ % of builds step 1 \(P\) needs 3 layers instead of 2", predicted)
    status, out, _ = run(capsys, str(source), "--most-sections", "1", "--builds", "200")
    assert status == 0
    told = " ".join(out.split())
    assert re.search(r"Number \d: in \d+ % of builds step 1 \(P\) needs 3 layers instead of 2: then ", told)


def test_the_ranges_in_json_are_those_of_their_quantities(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Each lies about the nominal number of its own quantity."""
    file = tmp_path / "d.toml"
    file.write_text(SMALL, encoding="utf-8")
    shown = run(capsys, str(file), "--most", "2", "--builds", "60", "--json")[1]
    found = [each for each in json.loads(shown)["arrangements"] if each["spread"]]
    assert found
    for each in found:
        for key in ("leakage_H", "ac_resistance_ohm", "capacitance_F"):
            low, high = each["spread"][key]
            assert 0.5 * each[key] < low < high < 2 * each[key], key
