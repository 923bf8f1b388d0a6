"""The sheet with readings of a workbook (XLSX), as the text of a readings file.

Nothing is dropped silently: readings on a second sheet are a fault, and so is what is wrong with a cell
(``workbook_cells``). Hidden rows and columns are read.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Sequence
from itertools import groupby
from operator import itemgetter

from ...predict.errors import Fault, Faults, ReadingsError
from .workbook_cells import ALLOWED, HINT, CellSheet, position, sheets_of

HEADS = {"sample", "test", "reading"}
"""Two of these words make a row a header of readings."""
TOP = 20
"""The header is among this many rows at the top of a sheet (judged; no data behind it)."""
MOST_ROWS, MOST_COLUMNS = 1_048_576, 16_384
"""Rows and columns of a sheet (ECMA-376, from memory)."""
MOST_PLACES = 5_000_000
"""Most cells of all rows that hold something, empty cells too (bounds work, not results)."""

Rows = dict[int, list[str]]


def workbook_text(data: bytes, name: str) -> str:
    """CSV of the first sheet of a workbook that is not hidden.

    A row in which only the first cell is filled, and begins with ``#``, is a comment; any other cell that
    begins so is text.

    Parameters
    ----------
    data : bytes, the file
    name : str, name of the file, for messages

    Raises
    ------
    ReadingsError
        As ``sheets_of``; the file has a password, or another sheet holds readings too; a formula has no
        saved value, a cell holds an error or stands twice, cells are merged over several rows.
    """
    if not data.startswith(b"PK"):
        found = "a workbook of the old kind (XLS), or one with a password"
        raise ReadingsError(Fault("the file", found, ALLOWED, HINT, name))
    sheets = sheets_of(data, name)
    read = next((sheet for sheet in sheets if not sheet.hidden), None)
    faults = Faults(name)
    for sheet in sheets:
        if found := _too_large(sheet):
            allowed = f"rows to {MOST_ROWS}, columns to {MOST_COLUMNS} (XFD), at most {MOST_PLACES} cells"
            faults.add(f"sheet {sheet.title!r}", found, allowed)
    if read is None:
        faults.add("the file", "no sheet that is shown", "a sheet with readings")
    faults.raise_as(ReadingsError)
    assert read is not None
    rows = _rows(read)
    for sheet in sheets:
        if sheet is not read and _looks_like_readings(_rows(sheet), rows):
            hint = f"Only the sheet {read.title!r} would be read: bring all rows onto it."
            faults.add(f"sheet {sheet.title!r}", "readings on a second sheet", "readings on one sheet", hint)
    faults.found += read.faults
    for merged in read.merged:
        _check_merged(read, merged, faults)
    faults.raise_as(ReadingsError)
    return _delimited(rows)


def _rows(sheet: CellSheet) -> Rows:
    """Every row that holds something, all of one length."""
    width = max((column for _, column in sheet.cells), default=0)
    rows = {}
    for number, places in groupby(sorted(sheet.cells), key=itemgetter(0)):
        rows[number] = [""] * width
        for place in places:
            rows[number][place[1] - 1] = sheet.cells[place]
    return rows


def _too_large(sheet: CellSheet) -> str:
    """What is wrong with the extent of a sheet; "" if nothing is."""
    last = max((row for row, _ in sheet.cells), default=0)
    columns = max((column for _, column in sheet.cells), default=0)
    if last > MOST_ROWS or columns > MOST_COLUMNS:
        return f"a cell in row {last} or column {columns}"
    extent = len({row for row, _ in sheet.cells}) * columns
    return f"{extent} cells in {columns} columns" if extent > MOST_PLACES else ""


def _check_merged(sheet: CellSheet, merged: str, faults: Faults) -> None:
    """Report cells that are merged over rows which hold something else: their value then stands in the first
    of them alone. A title over several rows has nothing beside it."""
    first, last = position(merged.partition(":")[0]), position(merged.rpartition(":")[2])
    if first is None or last is None:
        return
    if any(first[0] < row <= last[0] and not first[1] <= column <= last[1] for row, column in sheet.cells):
        hint = "Take the cells apart and repeat the value in each row."
        place = f"line {first[0]}, column {first[1]}"
        faults.add(place, f"the merged cells {merged}", "a value in every row", hint)


def _texts(row: Sequence[str]) -> set[str]:
    """What stands in a row: each cell without a unit in brackets behind it."""
    return {
        text for cell in row if (text := re.sub(r"\s*[\[(][^\[\]()]*[\])]$", "", cell).strip().casefold())
    }


def _looks_like_readings(rows: Rows, first: Rows) -> bool:
    """Whether a row at the top is a header of readings, or shares two cells with one at the top of the first
    sheet, with something below it; or whether a row has a test's name where the first sheet has its tests."""
    read = [[cell.strip().casefold() for cell in row] for row in first.values()]
    heads = [_texts(row) for row in read[:TOP]]
    header = next((index for index, row in enumerate(read[:TOP]) if set(row) >= HEADS), None)
    tests = set()
    if header is not None:
        at = read[header].index("test")
        tests = {(at, row[at]) for row in read[header + 1 :]}
    named = {text for _, text in tests}.union(*heads)
    for number, row in enumerate(list(rows.values())[:TOP]):
        texts = _texts(row)
        same = len(texts & HEADS) > 1 or ("sample" in texts and len(texts & named) > 1)
        if (same or any(len(texts & head) > 1 for head in heads)) and number + 1 < len(rows):
            return True
        filled = sum(map(bool, row)) >= len(HEADS)
        if filled and any((at, cell.strip().casefold()) in tests for at, cell in enumerate(row) if cell):
            return True
    return False


def _delimited(rows: Rows) -> str:
    out = io.StringIO()
    plain = csv.writer(out, lineterminator="\n")
    quoted = csv.writer(out, lineterminator="\n", quoting=csv.QUOTE_ALL)
    last = 0
    for number, row in rows.items():
        out.write("\n" * (number - last - 1))
        last = number
        name = any(row[1:]) and row[0].lstrip().startswith("#")
        (quoted if name else plain).writerow(row)
    return out.getvalue()
