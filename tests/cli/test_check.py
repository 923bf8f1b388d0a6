"""``aswound check``: readings of a part without a drawing."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest

from aswound.cli.main import main

SOUND = """sample,test,reading,frequency
B,L_P,612 uH,10 kHz
B,L_S,17.1 uH,10 kHz
B,Lk_P,1.18 uH,100 kHz
B,Lk_S,26 nH,100 kHz
B,n_P_S,5.99,10 kHz
B,R_P,0.24 ohm,
"""


def run(tmp_path: Path, text: str, *options: str) -> int:
    path = tmp_path / "part.csv"
    path.write_text(text, encoding="utf-8")
    return main(["check", str(path), *options])


def test_a_sound_part(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(tmp_path, SOUND, "--ratio", "6", "--json") == 0
    (sample,) = json.loads(capsys.readouterr().out)["samples"]
    assert all(check["holds"] for check in sample["checks"])
    assert "ratio as stated" in {check["check"] for check in sample["checks"]}
    assert {item["name"] for item in sample["derived"]} >= {"k of P, S", "M of P, S"}


@pytest.mark.parametrize(
    ("change", "check"),
    [
        (("5.99", "6.9"), "ratio as stated"),
        (("26 nH", "60 nH"), "leakage from both sides"),
        (("1.18 uH", "1.18 mH"), "shorted below open"),
        (("0.24 ohm", "-0.24 ohm"), "resistance above zero"),
    ],
)
def test_contradictions(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], change: tuple[str, str], check: str
) -> None:
    assert run(tmp_path, SOUND.replace(*change), "--ratio", "6") == 1
    text = capsys.readouterr().out
    assert f"BROKEN  {check}" in text
    assert "contradict each other" in text


def test_a_part_that_contradicts_itself_among_others_ends_with_one(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    lines = SOUND.replace("26 nH", "60 nH").splitlines()[1:]
    assert run(tmp_path, SOUND + "".join(f"C{line[1:]}\n" for line in lines)) == 1
    text = capsys.readouterr().out
    assert "B: " in text
    assert text.count("contradict each other") == 1


def test_rows_that_say_what_they_are(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = (
        "sample;test;measure;drive;short;sense;reading\n"
        "1;aiding;inductance;A + B;;;2,38 H\n1;opposing;inductance;A - B;;;1,02 H\n"
        "1;one;inductance;A;;;0,1 H\n1;two;inductance;B;;;1,6 H\n"
    )
    assert run(tmp_path, text, "--json") == 0
    (sample,) = json.loads(capsys.readouterr().out)["samples"]
    assert "aiding and opposing" in {check["check"] for check in sample["checks"]}


def test_names_that_tell_nothing_are_all_reported(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = "sample,test,reading\nB,main,1 mH\nB,leak,1 uH\n"
    assert run(tmp_path, text) == 2
    message = capsys.readouterr().err
    assert "2 faults" in message
    assert "'main'" in message
    assert "measure, drive, short, sense" in message
    assert run(tmp_path, SOUND, "--ratio", "-6") == 2


def test_one_reading_is_nothing_to_check(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(tmp_path, "sample,test,reading\nB,L_P,1 mH\n") == 0
    assert "nothing to check" in capsys.readouterr().out


def test_a_bench_of_its_own(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A link of 40 nH explains a leakage that is too high from one side."""
    bench = tmp_path / "bench.toml"
    text = SOUND.replace("1.18 uH", "2.26 uH")
    assert run(tmp_path, text) == 1
    bench.write_text('short_inductance = "40 nH"\nshort_inductance_tolerance = "10 %"\n', encoding="utf-8")
    assert run(tmp_path, text, "--bench", str(bench)) == 0
    bench.write_text('short_inductanze = "40 nH"\n', encoding="utf-8")
    assert run(tmp_path, text, "--bench", str(bench)) == 2
    assert "short_inductance" in capsys.readouterr().err


def test_turns_and_halves_as_stated(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = (
        "sample,test,reading,frequency\n1,L_P1,153 uH,10 kHz\n1,L_S,17.1 uH,10 kHz\n1,n_P1_S,2.995,10 kHz\n"
        "1,R_P1,0.120 ohm,\n1,R_P2,0.180 ohm,\n"
    )
    assert run(tmp_path, text, "--turns", "P1=18", "--turns", "S=6", "--halves", "P1,P2") == 1
    out = capsys.readouterr().out
    assert "BROKEN  halves alike" in out
    assert "says 2.995, stated is 3" in out
    assert run(tmp_path, text, "--turns", "P1=18", "--turns", "S=7") == 1
    assert "BROKEN  ratio as stated" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("options", "found"),
    [
        (["--turns", "P=many"], "'P=many'"),
        (["--turns", "Q=3"], "'Q'"),
        (["--halves", "P"], "'P'"),
        (["--halves", "P,Q"], "'Q'"),
    ],
)
def test_what_is_stated_must_be_of_this_part(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], options: list[str], found: str
) -> None:
    assert run(tmp_path, SOUND, *options) == 2
    text = capsys.readouterr().err
    assert options[0] in text
    assert found in text


def test_a_resonance_pair(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = SOUND + "B,f_P,460 kHz,\nB,f_P_S,10.5 MHz,\n"
    assert run(tmp_path, text, "--json") == 0
    (sample,) = json.loads(capsys.readouterr().out)["samples"]
    assert "resonance pair" in {check["check"] for check in sample["checks"]}


def test_a_ratio_entered_upside_down_is_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = SOUND + "B,n_S_P,5.985,10 kHz\n"
    assert run(tmp_path, text, "--ratio", "6", "--json") == 1
    (sample,) = json.loads(capsys.readouterr().out)["samples"]
    (slip,) = [check for check in sample["checks"] if check["check"] == "slip"]
    assert "n_S_P were 1 over the value in the file, 0.1671" in slip["detail"]


def test_a_shorted_reading_below_its_plateau_is_no_slip(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    run(tmp_path, SOUND + "B,Lk_P,11.8 uH,1 kHz\nB,Lk_P,1.21 uH,50 kHz\n", "--json")
    (sample,) = json.loads(capsys.readouterr().out)["samples"]
    broken = [check["check"] for check in sample["checks"] if not check["holds"]]
    assert broken == ["shorted inductance on its plateau"]


def test_a_file_that_is_no_readings_file_is_one_fault(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(tmp_path, 'title = "Part, build A"\n[core]\nshape = "ETD 29"\n') == 2
    text = capsys.readouterr().err
    assert "1 fault in the input" in text
    assert "Is this the readings file?" in text


def test_aiding_and_opposing_by_name(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """M = (756 − 445)/4 µH, k = M/√(591 · 10.5) µH."""
    path = tmp_path / "series.csv"
    path.write_text(
        "sample,test,reading\nA,L_P,591 uH\nA,L_S,10.5 uH\nA,L_P+S,756 uH\nA,L_P-S,445 uH\n", encoding="utf-8"
    )
    assert main(["check", str(path), "--json"]) == 0
    (sample,) = json.loads(capsys.readouterr().out)["samples"]
    derived = {item["name"]: item["value"] for item in sample["derived"]}
    assert derived["M of P, S by aiding and opposing"] == pytest.approx(77.75e-6)
    assert derived["k of P, S by aiding and opposing"] == pytest.approx(
        77.75 / math.sqrt(591 * 10.5), rel=1e-6
    )
    path.write_text("sample,test,reading\nA,L_P,591 uH\nA,L_S,10.5 uH\n", encoding="utf-8")
    main(["check", str(path)])
    told = " ".join(capsys.readouterr().out.split())
    assert "the inductance of P with S shorted, or both in series, aiding and opposing" in told
