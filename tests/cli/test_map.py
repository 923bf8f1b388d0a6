"""``--map``: a meter's log at the command line. Label: cli."""

import json
from pathlib import Path

import pytest

from aswound.cli.main import main

LOG = "No.,Freq [kHz],Lp [uH],Q\n1,10,591,40\n2,10,595,42\n"


@pytest.mark.parametrize("command", ["compare", "explain", "lot"])
def test_a_log_with_a_map(command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "log.csv"
    file.write_text(LOG, encoding="utf-8")
    mapped = ["--map", "Lp=L_P", "--map", "No.=sample"]
    assert main([command, "samples/flyback-24w.toml", str(file), *mapped, "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    if command == "compare":
        read = [sample["tests"][0]["read"] for sample in data["samples"]]
        assert read == pytest.approx([591e-6 / (1 + 40**-2), 595e-6 / (1 + 42**-2)], rel=1e-9)
    else:
        assert data["samples"] if command == "explain" else data["samples"] == 2


def test_a_log_without_a_map_says_how_to_map_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "log.csv"
    file.write_text(LOG, encoding="utf-8")
    assert main(["compare", "samples/flyback-24w.toml", str(file)]) == 2
    assert "--map" in capsys.readouterr().err
