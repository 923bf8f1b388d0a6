"""``aswound netlist`` as a user runs it: file, streams, statuses, JSON."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from small_design import SMALL

from aswound.cli.main import main
from aswound.predict.designfile import design_like

GATE = str(Path(__file__).parents[2] / "samples" / "gate-drive.toml")


@pytest.fixture
def small(tmp_path: Path) -> str:
    """The file of the small design."""
    file = tmp_path / "small.toml"
    file.write_text(SMALL, encoding="utf-8")
    return str(file)


def test_file_notes_and_status(small: str, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    target = tmp_path / "small.cir"
    assert main(["netlist", small, "--to", "10 kHz", "-o", str(target)]) == 0
    shown = capsys.readouterr()
    assert shown.out == ""
    assert str(target) in shown.err.replace("\n", "")
    assert "Note:" in shown.err
    assert max(len(line) for line in shown.err.splitlines()) <= 80 + len(str(target))
    text = target.read_text(encoding="ascii")
    assert text.startswith("* ")  # the first line of a deck is its title
    assert text.count(".subckt ") == text.count(".ends ") == 3
    assert "P_start" in text


def test_json_has_file_and_deviations(small: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["netlist", small, "--from", "10 kHz", "--to", "100 kHz", "--json"]) == 0
    shown = capsys.readouterr()
    assert shown.err == ""
    value = json.loads(shown.out)
    assert [name.rpartition("_")[2] for name in value["subcircuits"]] == ["nominal", "low", "high"]
    assert value["netlist"].count(".subckt ") == 3
    assert {"reading", "test", "frequency_Hz", "deviation"} == value["deviations"][0].keys()
    assert all(
        row["frequency_Hz"] * 1.0001 >= 10e3 and row["frequency_Hz"] < 101e3 for row in value["deviations"]
    )


@pytest.mark.parametrize(
    ("options", "found"),
    [
        (["--from", "1 MHz", "--to", "1 kHz"], "1 MHz to 1 kHz"),
        (["--to", "5 nH"], "option --to"),
        (["--flux-density", "2 V"], "option --flux-density"),
        (["--temperature", "hot"], "option --temperature"),
    ],
)
def test_unusable_options_are_named(
    capsys: pytest.CaptureFixture[str], options: list[str], found: str
) -> None:
    assert main(["netlist", GATE, *options]) == 2
    assert found in capsys.readouterr().err


@pytest.mark.slow
def test_windings_on_two_legs(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """Opposing windings on both legs of a U core: the netlist meets the predicted readings within 1 %."""
    design = tmp_path / "legs.toml"
    text = (Path(__file__).parents[1] / "benchmarks/designs/reported/u25-one-leg.toml").read_text("utf-8")
    design.write_text(text.replace('{ wind = "S"', '{ leg = 2, wind = "S"'), encoding="utf-8")
    assert main(["netlist", str(design), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)["deviations"]
    assert {each["reading"] for each in found} >= {"short impedance", "open impedance", "ratio"}
    assert max(abs(each["deviation"]) for each in found) < 0.01


@pytest.mark.slow
def test_it_begins_at_the_lowest_test_of_the_design(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """A mains transformer is read at 120 Hz: a netlist from 1 kHz on would not hold for it."""
    design = tmp_path / "mains.toml"
    design.write_text(design_like("mains"), encoding="utf-8")
    assert main(["netlist", str(design), "--to", "5 kHz", "-o", str(tmp_path / "mains.cir")]) == 0
    assert "anything below 120.0 Hz" in " ".join(capsys.readouterr().err.split())
    assert main(["netlist", GATE, "--to", "5 kHz", "-o", str(tmp_path / "gate.cir")]) == 0
    assert "anything below 1.000 kHz" in " ".join(capsys.readouterr().err.split())
