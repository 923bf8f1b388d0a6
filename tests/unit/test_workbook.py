"""Readings from a workbook read like those from its CSV."""

from __future__ import annotations

import random
import re
import time
import zipfile
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
from openpyxl import Workbook

from aswound.compare.readings import workbook_cells
from aswound.compare.readings.file import load_readings
from aswound.compare.readings.workbook_cells import MOST_CELLS
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


# --- what an attack found: sheets as other programs, and careless hands, leave them ------------


def altered(path: Path, change: Callable[[str], str], part: str = "xl/worksheets/sheet1.xml") -> Path:
    """A workbook with one of its parts rewritten."""
    with zipfile.ZipFile(path) as source:
        items = {name: source.read(name) for name in source.namelist()}
    items[part] = change(items[part].decode()).encode()
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as target:
        for name, data in items.items():
            target.writestr(name, data)
    return path


def shown(path: Path) -> list[tuple[str, float | None]]:
    return [(reading.sample, reading.value) for reading in load_readings(path, DESIGN)]


END = "</sheetData>"
STRICT = ("schemas.openxmlformats.org/spreadsheetml/2006", "purl.oclc.org/ooxml/spreadsheetml")
SOUND = [("A1", pytest.approx(612e-6)), ("A2", pytest.approx(300e-6))]


def reordered(text: str) -> str:
    rows = re.findall(r"<row .*?</row>", text)
    return text.replace("".join(rows), rows[0] + rows[2] + rows[1])


@pytest.mark.parametrize(
    "change",
    [
        pytest.param(reordered, id="rows out of order"),
        pytest.param(lambda text: re.sub(r' r="[A-Z]*\d+"', "", text), id="no references"),
        pytest.param(
            lambda text: text.replace(END, f'<row r="1048576"><c r="XFD1048576" s="0"/></row>{END}'),
            id="formatted to the last cell",
        ),
        pytest.param(
            lambda text: text.replace(END, "".join(f'<row r="{i}"/>' for i in range(4, 90_000)) + END),
            id="empty rows",
        ),
        pytest.param(
            lambda text: re.sub("<dimension[^>]*>", '<dimension ref="A1:XFD1048576"/>', text),
            id="stated size",
        ),
        pytest.param(
            lambda text: text.replace(*STRICT),
            id="strict names",
        ),
    ],
)
def test_no_row_is_lost(change: Callable[[str], str], tmp_path: Path) -> None:
    """Rows out of order were dropped, and a sheet formatted to its last row took 40 s."""
    begun = time.process_time()
    assert shown(altered(write(tmp_path / "b.xlsx", ROWS), change)) == SOUND
    assert time.process_time() - begun < 3.0


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (
            lambda text: text.replace('r="A3"', 'r="A2"'),
            "column 1: found the cell twice, 'A1' and 'A2'",
        ),
        (lambda text: text.replace('"C3"', '"C999999999"'), "a cell in row 999999999 or column 3"),
        (lambda text: text.replace('"C3"', '"ZZZZZ3"'), "or column 12356630"),
        (
            lambda text: re.sub('"A3" t="inlineStr"><is><t>A2</t></is>', '"A3" t="e"><v>#N/A</v>', text),
            "line 3, column 1: found the error #N/A",
        ),
        (
            lambda text: text.replace(END, f'{END}<mergeCells><mergeCell ref="A2:A3"/></mergeCells>'),
            "line 2, column 1: found the merged cells A2:A3",
        ),
        (lambda text: f"<!DOCTYPE x [<!ENTITY a 'A9'>]>{text}".replace("<t>A2", "<t>&a;"), "no workbook"),
    ],
)
def test_what_would_be_lost_is_told(change: Callable[[str], str], message: str, tmp_path: Path) -> None:
    with pytest.raises(ReadingsError, match=re.escape(message)):
        shown(altered(write(tmp_path / "b.xlsx", ROWS), change))


@pytest.mark.parametrize("most", [5_000, pytest.param(MOST_CELLS, marks=pytest.mark.slow)])
def test_more_cells_than_readings_need_are_refused_soon(
    most: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """45 MB of cells, 144 kB in the file, took 26 s."""
    monkeypatch.setattr(workbook_cells, "MOST_CELLS", most)

    def many(text: str) -> str:
        return text.replace(END, ("<row>" + "<c><v>1</v></c>" * 100 + "</row>") * (most // 90) + END)

    path = altered(write(tmp_path / "b.xlsx", ROWS), many)
    begun = time.process_time()
    with pytest.raises(ReadingsError, match=f"more than {most} cells in the sheet 'Sheet'"):
        shown(path)
    assert time.process_time() - begun < 5.0


def test_a_title_over_several_rows_may_be_merged(tmp_path: Path) -> None:
    def merged(text: str) -> str:
        return text.replace(END, f'{END}<mergeCells><mergeCell ref="A1:C2"/></mergeCells>')

    assert shown(altered(write(tmp_path / "b.xlsx", [["Bench 2"], [], *ROWS]), merged)) == SOUND


def test_formats_that_show_a_unit_per_cent_or_a_date(tmp_path: Path) -> None:
    book = Workbook()
    sheet = book.active
    for row in (
        ["sample", "test", "reading", "uncertainty"],
        [date(2026, 5, 1), "L_P", 612.5, 0.02],
        ["b", "n", 7.5],
    ):
        sheet.append(row)
    sheet["C2"].number_format, sheet["D2"].number_format = '0.0" µH"', "0.0%"
    book.save(tmp_path / "b.xlsx")
    first, second = load_readings(tmp_path / "b.xlsx", DESIGN)
    assert (first.sample, second.value) == ("2026-05-01", 7.5)
    assert (first.value, first.uncertainty) == (pytest.approx(612.5e-6), pytest.approx(0.01 * 612.5e-6))
    sheet["C3"].number_format = "0.0%"
    book.save(tmp_path / "b.xlsx")
    with pytest.raises(ReadingsError, match="line 3, reading: found '750 %'"):
        load_readings(tmp_path / "b.xlsx", DESIGN)


@pytest.mark.parametrize(("attribute", "shown_date"), [("", "1999-12-31"), (' date1904="1"', "2004-01-01")])
def test_days_are_counted_from_1904_where_the_workbook_says_so(
    attribute: str, shown_date: str, tmp_path: Path
) -> None:
    """Day 36525 (ECMA-376, 18.17.4.1): 31 December 1999, or four years and a day later."""
    path = write(tmp_path / "b.xlsx", [ROWS[0], [date(1999, 12, 31), "L_P", "612 uH"]])
    altered(
        path, lambda text: re.sub("<workbookPr[^>]*>", f"<workbookPr{attribute}/>", text), "xl/workbook.xml"
    )
    assert shown(path)[0][0] == shown_date


def test_a_formula_that_gives_an_empty_text_is_an_empty_cell(tmp_path: Path) -> None:
    def computed(text: str) -> str:
        return text.replace(END, f'<row r="4"><c r="A4" t="str"><f>IF(1,"","")</f><v></v></c></row>{END}')

    assert shown(altered(write(tmp_path / "b.xlsx", ROWS), computed)) == SOUND


def test_the_first_sheet_that_is_shown_is_read(tmp_path: Path) -> None:
    book = Workbook()
    for row in ROWS:
        book.active.append(row)
    book.create_sheet("before", 0).append(["settings"])
    book.worksheets[0].sheet_state = "hidden"
    book.create_chartsheet("chart", 0)
    book.active = 2
    book.save(tmp_path / "b.xlsx")
    assert shown(tmp_path / "b.xlsx") == SOUND
    book.worksheets[1].sheet_state = "hidden"
    book.create_sheet("shown").append(["nothing here"])
    book.save(tmp_path / "b.xlsx")
    with pytest.raises(ReadingsError, match="sheet 'Sheet': found readings on a second sheet"):
        shown(tmp_path / "b.xlsx")


@pytest.mark.parametrize(
    ("second", "refused"),
    [
        ([["B1", "L_P", "300 uH"]], True),  # goes on without a header
        ([["sample", "L_P [uH]"], ["B1", 300]], True),  # wide
        ([["L_P", "560 uH", "660 uH"]], False),  # limits
        ([["sample", "operator"], ["A1", "me"]], False),
    ],
)
def test_a_second_sheet_of_another_form(second: list[list[object]], refused: bool, tmp_path: Path) -> None:
    book = Workbook()
    for row in ROWS:
        book.active.append(row)
    for row in second:
        (book["more"] if "more" in book.sheetnames else book.create_sheet("more")).append(row)
    book.save(tmp_path / "b.xlsx")
    if refused:
        with pytest.raises(ReadingsError, match="sheet 'more': found readings on a second sheet"):
            shown(tmp_path / "b.xlsx")
    else:
        assert shown(tmp_path / "b.xlsx") == SOUND


def test_an_old_or_locked_workbook_is_named(tmp_path: Path) -> None:
    (tmp_path / "b.xls").write_bytes(bytes.fromhex("d0cf11e0a1b11ae1") + bytes(4096))
    with pytest.raises(ReadingsError, match=r"b\.xls: the file: found a workbook of the old kind"):
        shown(tmp_path / "b.xls")


def test_a_mutated_workbook_is_read_or_refused(tmp_path: Path) -> None:
    """300 workbooks with one to three bytes of a part changed (seeded): readings, or faults with a file."""
    whole = write(tmp_path / "whole.xlsx", ROWS)
    with zipfile.ZipFile(whole) as source:
        items = {name: source.read(name) for name in source.namelist()}
    parts = [name for name in items if name.endswith((".xml", ".rels")) and "theme" not in name]
    dice = random.Random(20)
    read, refused = 0, []
    for _ in range(300):
        part = dice.choice(parts)
        data = bytearray(items[part])
        for _ in range(dice.randint(1, 3)):
            data[dice.randrange(len(data))] = dice.choice(b'<>"&/0A9 rst\xff')
        mutated = tmp_path / "mutated.xlsx"
        with zipfile.ZipFile(mutated, "w") as target:
            for name in items:
                target.writestr(name, bytes(data) if name == part else items[name])
        try:
            read += len(load_readings(mutated, DESIGN)) > 0
        except ReadingsError as error:
            refused += [error]
    faults = [fault for error in refused for fault in error.faults]
    assert all(fault.file and fault.place and fault.found and fault.allowed for fault in faults)
    assert 30 < read < 290
