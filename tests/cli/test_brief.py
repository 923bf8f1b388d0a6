"""``--brief``: one line for each sample. Label: cli."""

from pathlib import Path

import pytest

from aswound.cli.main import main

SAMPLES = Path(__file__).parents[2] / "samples"
FILES = [str(SAMPLES / "flyback-24w.toml"), str(SAMPLES / "flyback-24w.csv")]


@pytest.mark.parametrize("command", ["compare", "explain"])
def test_one_line_for_each_sample(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([command, *FILES, "--brief"]) == 1
    lines = capsys.readouterr().out.splitlines()
    assert [line.split(":")[0] for line in lines] == ["A1", "A2", "A3", "A4", "A5"]


def test_the_status_is_that_of_the_whole_page(capsys: pytest.CaptureFixture[str]) -> None:
    for command in ("compare", "explain"):
        assert main([command, FILES[0], "--read", "L_P=591uH", "--brief"]) == 0
        assert capsys.readouterr().out.count("\n") == 1
