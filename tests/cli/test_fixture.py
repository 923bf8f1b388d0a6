"""``--fixture``, ``--rule``, stages and sweeps at the command line."""

import json
from pathlib import Path

import pytest

from aswound.cli.main import main
from aswound.compare.lots.summary import lot
from aswound.compare.readings.file import load_readings
from aswound.compare.verdict.decision import RULES
from aswound.predict.designfile.reader import load_design

FLYBACK = str(Path(__file__).parents[2] / "samples" / "flyback-24w.toml")
STANDARDS = """standard,frequency,reading
open,10 kHz,OL
short,10 kHz,0.02 + 0.5j ohm
open,100 kHz,OL
short,100 kHz,0.02 + 0.11j ohm
"""


@pytest.fixture
def fixture(tmp_path: Path) -> str:
    path = tmp_path / "fixture.csv"
    path.write_text(STANDARDS)
    return str(path)


def test_compare_says_what_was_corrected(fixture: str, capsys: pytest.CaptureFixture[str]) -> None:
    arguments = ["compare", FLYBACK, "--read", "L_P=0.6+37.6j ohm", "--read", "n=7.5"]
    assert main([*arguments, "--fixture", fixture]) == 0
    text = " ".join(capsys.readouterr().out.split())
    assert "Corrected (open and short at 10 kHz): L_P." in text
    assert "As displayed, not corrected: n." in text
    assert main([*arguments, "--json"]) == 0
    raw = json.loads(capsys.readouterr().out)
    assert main([*arguments, "--fixture", fixture, "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    before, after = (item["samples"][0]["tests"][0]["read"] for item in (raw, data))
    assert before - after == pytest.approx(0.5 / (2 * 3.141592653589793 * 10e3))
    assert "fixture" not in raw
    assert data["fixture"] == {
        "corrections": [{"correction": "open and short", "frequency": "10 kHz"}],
        "corrected": ["L_P"],
        "as_displayed": ["n"],
    }


def test_a_fixture_that_changes_nothing_says_so(fixture: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compare", FLYBACK, "--read", "n=7.5", "--fixture", fixture]) == 0
    assert "the fixture file changed nothing" in " ".join(capsys.readouterr().out.split())


def test_faults_of_the_fixture_end_the_run(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "fixture.csv"
    path.write_text("standard,frequency,reading\nshort,20 kHz,OL\nopn,20 kHz,OL\n")
    assert main(["compare", FLYBACK, "--read", "n=7.5", "--fixture", str(path)]) == 2
    text = capsys.readouterr().err
    assert "2 faults" in text
    path.write_text("standard,frequency,reading\nshort,20 kHz,0.1j ohm\n")
    assert main(["explain", FLYBACK, "--read", "L_P=0.6+37.6j ohm", "--fixture", str(path)]) == 2
    assert "no standards read at 10 kHz" in capsys.readouterr().err


def test_explain_lot_and_check_correct_too(
    fixture: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rows = "".join(f"A{n},L_P,0.6 + {37.5 + n / 10}j ohm\n" for n in range(3))
    readings = tmp_path / "readings.csv"
    readings.write_text(f"sample,test,reading\n{rows}")
    for command in ("explain", "lot"):
        assert main([command, FLYBACK, str(readings), "--fixture", fixture, "--json"]) in (0, 1)
        data = json.loads(capsys.readouterr().out)
        assert data["fixture"]["corrected"] == ["L_P"]
        assert data["left_out"] == []
    readings.write_text(
        "sample,test,reading,frequency\nA,L_P,0.6+37.6j ohm,10 kHz\nA,Lk_P_S,0.4+2.4j ohm,100 kHz\n"
    )
    assert main(["check", str(readings), "--fixture", fixture, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["fixture"]["corrected"] == ["L_P", "Lk_P_S"]


@pytest.mark.parametrize(
    ("rule", "verdict", "words"),
    [
        ("simple", "pass", "simple acceptance"),
        ("guarded", "fail", "guarded acceptance"),
        ("three-zone", "undecided", "three zones"),
    ],
)
def test_the_rule_is_applied_and_named(
    rule: str, verdict: str, words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """659.5 ± 2.8 µH lies inside the limit of 660 µH by less than its uncertainty."""
    readings = ["--read", "L_P=659.5uH"]
    main(["compare", FLYBACK, *readings, "--rule", rule])
    assert words in " ".join(capsys.readouterr().out.split())
    main(["compare", FLYBACK, *readings, "--rule", rule, "--json"])
    data = json.loads(capsys.readouterr().out)
    assert data["decision_rule"]["name"] == rule
    assert words in data["decision_rule"]["statement"]
    assert data["samples"][0]["tests"][0]["verdict"] == verdict


def test_an_unknown_rule(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compare", FLYBACK, "--read", "n=OL", "--rule", "gaurded"]) == 2
    assert "Did you mean 'guarded'" in " ".join(capsys.readouterr().err.split())


def test_a_lot_fails_by_the_rule(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Three parts within the guard band of the limit 660 µH: none fails by three zones, all by guarded
    acceptance."""
    readings = tmp_path / "readings.csv"
    readings.write_text("sample,test,reading\nA1,L_P,659.2 uH\nA2,L_P,659.4 uH\nA3,L_P,659.6 uH\n")
    design = load_design(FLYBACK)
    rows = load_readings(readings, design)
    fails = {rule: lot(design, rows, rule=rule, builds=20).tests[0].fails for rule in RULES}
    assert fails == {"simple": 0, "guarded": 3, "three-zone": 0}
    main(["lot", FLYBACK, str(readings), "--rule", "guarded"])
    assert "guarded acceptance" in " ".join(capsys.readouterr().out.split())


def test_stages_sweeps_and_what_follows(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    readings = tmp_path / "readings.csv"
    readings.write_text(
        "sample,test,reading,stage,frequency\n"
        "A,L_P,21 uH,before core,\nA,L_P,600 uH,assembled,\nA,Lk_P,3.6 uH,assembled,\n"
        "A,Lk_P,3.7 uH,assembled,50 kHz\nA,L_P,620 uH,varnished,\n"
    )
    main(["compare", FLYBACK, str(readings)])
    text = " ".join(capsys.readouterr().out.split())
    assert "A, before core: read, not judged: the core is not in yet" in text
    assert "Which step moved a reading: assembled to varnished" in text
    assert "Lk_P at 50 kHz" in text
    assert main(["compare", FLYBACK, str(readings), "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    before = data["samples"][0]["tests"][0]
    assert (before["read"], before["predicted"], before["score"], before["verdict"]) == (
        21e-6,
        None,
        None,
        None,
    )
    (step,) = data["stages"]
    assert (step["from"], step["to"], step["name"], step["moved"]) == ("assembled", "varnished", "L_P", True)
    assert [test["frequency"] for test in data["samples"][1]["tests"]] == [10e3, 100e3, 50e3]
    checks = {check["check"] for check in data["samples"][1]["checks"]}
    assert "shorted inductance on its plateau" in checks


@pytest.mark.slow
def test_a_sweep_is_told_apart_in_every_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    readings = tmp_path / "readings.csv"
    readings.write_text(
        "sample,test,reading,frequency\nA1,L_P,600 uH,\nA1,Lk_P,3.6 uH,\nA1,Lk_P,36 uH,50 kHz\n"
        "A2,L_P,601 uH,\nA2,Lk_P,3.6 uH,\nA2,Lk_P,3.6 uH,50 kHz\n"
    )
    main(["explain", FLYBACK, str(readings), "--json"])
    first = json.loads(capsys.readouterr().out)["samples"][0]["causes"][0]
    assert (first["cause"], first["where"]) == ("bad-reading", "Lk_P at 50 kHz")
    assert [item["name"] for item in first["readings"]] == ["L_P", "Lk_P at 100 kHz", "Lk_P at 50 kHz"]
    main(["lot", FLYBACK, str(readings), "--json"])
    names = [test["name"] for test in json.loads(capsys.readouterr().out)["tests"]]
    assert names == ["L_P", "Lk_P at 100 kHz", "Lk_P at 50 kHz"]


def test_compare_shows_what_follows(capsys: pytest.CaptureFixture[str]) -> None:
    bridge = str(Path(FLYBACK).parent / "bridge-300w.toml")
    readings = str(Path(FLYBACK).parent / "bridge-300w.csv")
    main(["compare", bridge, readings])
    assert "What follows from the readings, without the design" in capsys.readouterr().out
    main(["compare", bridge, readings, "--json"])
    names = {item["name"] for item in json.loads(capsys.readouterr().out)["samples"][0]["derived"]}
    assert "k of P, S" in names


def test_nothing_left_to_explain(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    readings = tmp_path / "readings.csv"
    readings.write_text("sample,test,reading,stage\nA,L_P,21 uH,wound\n")
    assert main(["explain", FLYBACK, str(readings)]) == 2
    assert "before the core is in" in " ".join(capsys.readouterr().err.split())
