"""Readings from a workbook read like those from its CSV."""

from __future__ import annotations

import re
import zipfile
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


ROWS: list[list[object]] = [["sample", "test", "reading"], ["A1", "L_P", "612 uH"], ["A2", "L_P", "300 uH"]]


def test_rows_beyond_a_stale_size_are_read(tmp_path: Path) -> None:
    """A workbook states the size of its sheets; one that some other program wrote may state an old one."""
    whole, stale = write(tmp_path / "whole.xlsx", ROWS), tmp_path / "stale.xlsx"
    with zipfile.ZipFile(whole) as source, zipfile.ZipFile(stale, "w") as target:
        for item in source.namelist():
            data = source.read(item)
            if item.endswith("sheet1.xml"):
                data, count = re.subn(rb'<dimension ref="A1:C3" */>', b'<dimension ref="A1:B2"/>', data)
                assert count == 1
            target.writestr(item, data)
    assert [reading.value for reading in load_readings(stale, DESIGN)] == pytest.approx([612e-6, 300e-6])


@pytest.mark.parametrize(
    ("second", "refused"),
    [
        ([["sample", "test", "reading"], ["A3", "L_P", "1 uH"]], True),
        ([["title"], ["Sample", "L_P", "Reading"], ["A3", 3, 4]], True),
        ([["meter", "LCR 7"], ["calibrated", 2026]], False),
        ([["sample", "test", "reading"]], False),
    ],
)
def test_readings_on_a_second_sheet_are_not_passed_over(
    second: list[list[object]], refused: bool, tmp_path: Path
) -> None:
    book = Workbook()
    for row in ROWS:
        book.active.append(row)
    other = book.create_sheet("evening")
    for row in second:
        other.append(row)
    book.save(tmp_path / "two.xlsx")
    if refused:
        with pytest.raises(ReadingsError, match="sheet 'evening': found readings on a second sheet"):
            load_readings(tmp_path / "two.xlsx", DESIGN)
    else:
        assert len(load_readings(tmp_path / "two.xlsx", DESIGN)) == 2


def test_a_formula_without_a_value_is_named(tmp_path: Path) -> None:
    rows = [*ROWS, ["A3", "L_P", "=B1*2"]]
    with pytest.raises(ReadingsError, match=r"line 4, column 3: found the formula '=B1\*2'"):
        load_readings(write(tmp_path / "formula.xlsx", rows), DESIGN)


def test_a_name_that_begins_with_a_hash_is_a_name(tmp_path: Path) -> None:
    rows: list[list[object]] = [["# evening shift"], *ROWS, ["#3", "L_P", "600 uH"]]
    assert [item.sample for item in load_readings(write(tmp_path / "b.xlsx", rows), DESIGN)] == [
        "A1",
        "A2",
        "#3",
    ]
