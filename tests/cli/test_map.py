"""``--map``: a meter's log at the command line. Label: cli."""

import json
from pathlib import Path

import pytest
from how_many import and_slow

from aswound.cli.main import main

SAMPLES = Path(__file__).parents[2] / "samples"
LOG = "No.,Freq [kHz],Lp [uH],Q\n1,10,591,40\n2,10,595,42\n"


@pytest.mark.parametrize("command", ["compare", *and_slow("explain", "lot")])
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


SWEPT = "Part,Freq (Hz),Ls{}\n1,10000,591{}\n1,100000,3.6{}\n2,10000,0.000595\n2,100000,3.7E-06\n"


def test_one_column_for_several_tests_by_their_frequencies(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A meter that logs Ls at both frequencies has both tests in one column."""
    file = tmp_path / "log.csv"
    both = ["--map", "Part=sample", "--map", "Ls=L_P", "--map", "Ls=Lk_P"]
    command = ["compare", str(SAMPLES / "flyback-24w.toml"), str(file), *both, "--json"]
    file.write_text(SWEPT.format(" (H)", "e-6", "e-6"), encoding="utf-8")
    assert main(command) == 0
    for sample, (open_one, leakage) in zip(
        json.loads(capsys.readouterr().out)["samples"], ((591e-6, 3.6e-6), (595e-6, 3.7e-6)), strict=True
    ):
        read = {test["name"]: test["read"] for test in sample["tests"] if test["read"] is not None}
        assert read == {"L_P": pytest.approx(open_one), "Lk_P": pytest.approx(leakage)}
    file.write_text(SWEPT.format(" (H)", "e-6", "e-6").replace("2,100000", "2,50000"), encoding="utf-8")
    assert main(command) == 2
    error = " ".join(capsys.readouterr().err.split())
    assert "line 5, Ls (H)" in error
    assert "50.00 kHz" in error
    assert "L_P at 10.00 kHz, Lk_P at 100.0 kHz" in error
    file.write_text(SWEPT.format("", "e-6", "e-6"), encoding="utf-8")
    assert main(command) == 2
    error = " ".join(capsys.readouterr().err.split())
    assert "the column Ls without a unit" in error
    assert '--map "Ls [H]=L_P"' in error
    units = ["--map", "Part=sample", "--map", "Ls [H]=L_P", "--map", "Ls [H]=Lk_P"]
    assert main([*command[:3], *units]) == 0
