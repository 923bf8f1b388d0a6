"""Pages of the samples that tests of several files look at: each is made by one run."""

from __future__ import annotations

import contextlib
import io
import json
from pathlib import Path
from typing import Any

import pytest

from aswound.cli.main import main

SAMPLES = Path(__file__).parents[2] / "samples"
SHEET = ("--builds", "100")
REPORT = ("report", "flyback-24w.toml", "flyback-24w.csv", "--builds", "200", "-o", "report.html")
"""Run beside the two files."""


class Sheets(dict[str, tuple[str, dict[str, Any]]]):
    """Page and data of a sample's build sheet, by one run, when they are first asked for."""

    def __init__(self, folder: Path) -> None:
        super().__init__()
        self.folder = folder

    def __missing__(self, name: str) -> tuple[str, dict[str, Any]]:
        file, out = self.folder / f"{name}.html", io.StringIO()
        with contextlib.redirect_stdout(out):
            assert main(["sheet", str(SAMPLES / f"{name}.toml"), "-o", str(file), "--json", *SHEET]) == 0
        self[name] = file.read_text(encoding="utf-8"), json.loads(out.getvalue())
        return self[name]


def report(folder: Path) -> tuple[Path, dict[str, Any]]:
    """The report of the flyback's five parts, made in the folder, and its data, by one run."""
    for name in REPORT[1:3]:
        (folder / name).write_bytes((SAMPLES / name).read_bytes())
    out = io.StringIO()
    with pytest.MonkeyPatch.context() as patch, contextlib.redirect_stdout(out):
        patch.chdir(folder)
        assert main([*REPORT, "--json"]) == 1
    return folder / REPORT[-1], json.loads(out.getvalue())
