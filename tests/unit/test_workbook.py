"""Readings from a workbook read like those from its CSV."""

from __future__ import annotations

from pathlib import Path

import pytest
from openpyxl import Workbook

from aswound.compare.readings.file import load_readings
from aswound.predict import load_design
from aswound.predict.errors import ReadingsError

DESIGN = load_design(Path(__file__).parents[2] / "samples" / "flyback-24w.toml")


def write(path: Path, rows: list[list[object]]) -> Path:
    book = Workbook()
    for row in rows:
        book.active.append(row)
    book.save(path)
    return path


def test_numbers_texts_and_empty_cells(tmp_path: Path) -> None:
    rows: list[list[object]] = [
        ["sample", "test", "reading", "unit"],
        ["A1", "L_P", 612.4, "uH"],
        ["A1", "n", 7.48, None],
        ["A1", "R_P", None, "ohm"],
        [2, "Lk_P", "3.51 uH", None],
    ]
    found = load_readings(write(tmp_path / "bench.xlsx", rows), DESIGN)
    assert [(item.sample, item.test, item.value) for item in found] == [
        ("A1", "L_P", pytest.approx(612.4e-6)),
        ("A1", "n", 7.48),
        ("A1", "R_P", None),
        ("2", "Lk_P", pytest.approx(3.51e-6)),
    ]


def test_bad_cells_are_reported_with_their_row(tmp_path: Path) -> None:
    rows: list[list[object]] = [["sample", "test", "reading"], ["A1", "LP", 612.4]]
    with pytest.raises(ReadingsError, match=r"bench\.xlsx: line 2, test"):
        load_readings(write(tmp_path / "bench.xlsx", rows), DESIGN)
