"""``plan --limits``: its three forms, and that its lines can be put into a design file."""

from __future__ import annotations

import csv
import json
import re
from pathlib import Path

import pytest

from aswound.cli.main import main
from aswound.predict.designfile.reader import load_design

FLYBACK = Path(__file__).parents[2] / "samples" / "flyback-24w.toml"


def _run(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    assert main(["plan", str(FLYBACK), *arguments]) == 0
    return capsys.readouterr().out


def test_the_lines_can_be_put_into_the_design_file(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    out = _run(capsys, "--limits")
    assert all(len(line) <= 80 for line in out.splitlines())
    block = out.split("For the design file")[1]
    lines: dict[str, list[str]] = {}
    for line in block.splitlines():
        if line.startswith("# "):
            lines[name := line[2:]] = []
        elif re.match(r"(min|max) = ", line):
            lines[name].append(line)
    text = re.sub(r"(?m)^(min|max) = .*\n", "", FLYBACK.read_text(encoding="utf-8"))
    for test, own in lines.items():
        text = text.replace(f'name = "{test}"\nmeasure', f'name = "{test}"\n' + "\n".join(own) + "\nmeasure")
    path = tmp_path / "limited.toml"
    path.write_text(text, encoding="utf-8")
    limited = load_design(path)
    found = json.loads(_run(capsys, "--limits", "--json"))["tests"]
    proposed = {item["name"]: item["proposed"] for item in found}
    for item in found:
        parts = [part["standard_uncertainty"] for part in item["budget"]]
        assert sum(part**2 for part in parts) ** 0.5 == pytest.approx(item["measurement_uncertainty"])
    assert len(proposed) == len(limited.tests) == len(lines)
    for test in limited.tests:
        assert test.maximum == pytest.approx(proposed[test.name]["max"], rel=1e-9)
        if proposed[test.name]["min"] is not None:
            assert test.minimum == pytest.approx(proposed[test.name]["min"], rel=1e-9)


def test_csv_has_a_row_a_test(capsys: pytest.CaptureFixture[str]) -> None:
    rows = list(csv.DictReader(_run(capsys, "--limits", "--csv").splitlines()))
    assert [row["test"] for row in rows] == [test.name for test in load_design(FLYBACK).tests]
    assert list(rows[0]) == ["test", "min", "max", "driver", "gain"]


def test_the_sheet_has_eighty_columns(capsys: pytest.CaptureFixture[str]) -> None:
    out = _run(capsys)
    assert all(len(line) <= 80 for line in out.splitlines())
    assert "shorting link" in out
    assert "Holds within 1 % from" in out


def test_samples_are_for_the_readings_file_only(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["plan", str(FLYBACK), "--limits", "--csv", "--samples", "A1"]) == 2
    assert "--samples with --limits" in capsys.readouterr().err
