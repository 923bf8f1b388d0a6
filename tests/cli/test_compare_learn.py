"""``aswound compare --learn`` as a user runs it."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path
from typing import Any

import pytest

from aswound.cli.main import main
from aswound.compare import Reading, explain
from aswound.compare.lots import learn
from aswound.compare.lots.calibration import Learned
from aswound.predict import Design

SAMPLES = Path(__file__).parents[2] / "samples"
DESIGN = SAMPLES / "flyback-24w.toml"


def good(folder: Path) -> Path:
    """The readings of the one sample that is as designed."""
    lines = (SAMPLES / "flyback-24w.csv").read_text(encoding="utf-8").splitlines()
    path = folder / "good.csv"
    kept = [line for line in lines if line.startswith(("sample", "A1,"))]
    path.write_text("\n".join(kept) + "\n", encoding="utf-8")
    return path


def test_to_standard_output(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compare", str(DESIGN), str(good(tmp_path)), "--learn"]) == 0
    out, err = capsys.readouterr()
    learned = tomllib.loads(out)["calibration"]
    assert set(learned) == {"leakage", "mean_turn", "own"}
    assert "leakage P|S" in {item["of"] for item in learned["own"]}
    assert "Learned from one sample taken as good: the design" in err
    assert out.startswith(DESIGN.read_text(encoding="utf-8")[:200])


@pytest.mark.slow
def test_to_a_file_that_commands_read(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file, csv = tmp_path / "calibrated.toml", good(tmp_path)
    assert main(["compare", str(DESIGN), str(csv), "--learn", "-o", str(file)]) == 0
    assert "written to" in capsys.readouterr().out
    assert main(["predict", str(file)]) == 0
    assert "Calibrated by a known-good sample" in capsys.readouterr().out
    assert main(["explain", str(file), str(csv)]) == 0
    capsys.readouterr()
    before = file.read_text(encoding="utf-8")
    assert main(["compare", str(file), str(csv), "--learn", "-o", str(file)]) == 0
    assert "replaced" in capsys.readouterr().out
    assert file.read_text(encoding="utf-8") == before  # learned anew, not on top of itself


def test_json(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compare", str(DESIGN), str(good(tmp_path)), "--learn", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)["calibration"]
    assert found["samples"] == 1
    assert found["doubts"] == []
    assert {item["key"] for item in found["factors"]} == {"leakage", "mean_turn"}
    assert {item["key"] for item in found["not_learned"]} == {"inductance", "capacitance"}


def test_a_bad_sample_is_doubted(capsys: pytest.CaptureFixture[str]) -> None:
    csv = str(SAMPLES / "flyback-24w.csv")
    assert main(["compare", str(DESIGN), csv, "--learn"]) == 1
    err = " ".join(capsys.readouterr().err.split())
    assert "but this is doubtful" in err
    assert "A2: less likely as designed than not" in err


@pytest.mark.usefixtures("capsys")
def test_a_sample_that_is_called_good_is_believed_to_be(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Judged: 95 in a hundred, before it is read."""
    believed = []

    def spied(*given: Any, **options: Any) -> Any:
        believed.append(options["sound"])
        return explain(*given, **options)

    monkeypatch.setattr("aswound.compare.diagnosis.explain", spied)
    assert main(["compare", str(DESIGN), str(good(tmp_path)), "--learn"]) == 0
    assert believed == [0.95]


def test_nothing_is_overwritten(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    other = tmp_path / "other.toml"
    other.write_text("# mine\n", encoding="utf-8")
    assert main(["compare", str(DESIGN), str(good(tmp_path)), "--learn", "-o", str(other)]) == 2
    assert "a file that exists" in capsys.readouterr().err
    assert other.read_text(encoding="utf-8") == "# mine\n"


def test_a_file_that_appears_meanwhile_is_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = tmp_path / "calibrated.toml"

    def meanwhile(design: Design, readings: list[Reading]) -> Learned:
        file.write_text("somebody else's", encoding="utf-8")
        return learn(design, readings)

    monkeypatch.setattr("aswound.compare.lots.learn", meanwhile)
    assert main(["compare", str(DESIGN), str(good(tmp_path)), "--learn", "-o", str(file)]) == 2
    assert file.read_text(encoding="utf-8") == "somebody else's"


def test_output_without_learning_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "x.toml"
    assert main(["compare", str(DESIGN), str(good(tmp_path)), "-o", str(file)]) == 2
    assert "--learn" in capsys.readouterr().err
    assert not file.exists()


def test_a_reading_that_teaches_nothing_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compare", str(DESIGN), "--read", "n=7.5", "--learn"]) == 2
    assert "nothing that bears on leakage" in " ".join(capsys.readouterr().err.split())
