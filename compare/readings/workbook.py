"""The sheet with readings of a workbook (XLSX), as the text of a readings file.

Numbers are written with all their digits, times and text as they are. Reading workbooks is an optional
extra (``pip install 'aswound[xlsx]'``), done by a general-purpose library. Nothing is dropped silently: a
second sheet that looks like readings, and a formula whose value was never saved, are faults.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from typing import Any

from ...predict.errors import Fault, Faults, ReadingsError
from ...predict.plain_text import LARGEST_READINGS

Rows = list[tuple[Any, ...]]
HEADS = {"sample", "test", "reading"}
"""Two of these words make a row a header of readings."""
TOP = 20
"""The header is among this many rows at the top of a sheet (judged; no data behind it)."""


def workbook_text(data: bytes, name: str) -> str:
    """CSV of the first sheet of a workbook.

    Every row of the sheet counts, whatever size the workbook states for it. A row in which only the first
    cell is filled, and begins with ``#``, is a comment; any other cell that begins so is text.

    Parameters
    ----------
    data : bytes
        The file.
    name : str
        Name of the file, for messages.

    Raises
    ------
    ReadingsError
        The reader for workbooks is not installed, the file is no workbook, another sheet holds readings too,
        or a formula has no saved value.
    """
    try:
        from openpyxl import load_workbook
    except ImportError as error:
        hint = "Install the reader (pip install 'aswound[xlsx]'), or save the sheet as CSV UTF-8."
        raise ReadingsError(
            Fault("the file", "a workbook, whose reader is not installed", "text (CSV)", hint, name)
        ) from error
    _check_size(data, name)
    try:
        book = load_workbook(io.BytesIO(data), read_only=True, data_only=True)
        sheets = [(str(sheet.title), _rows(sheet)) for sheet in book.worksheets]
        rows = sheets[0][1]
        typed = _rows(load_workbook(io.BytesIO(data), read_only=True).worksheets[0])
    except Exception as error:  # a broken archive can make the library raise anything
        hint = "Save the sheet as CSV UTF-8, or as a workbook (XLSX)."
        raise ReadingsError(
            Fault("the file", "an archive that is no workbook", "a workbook (XLSX) or text (CSV)", hint, name)
        ) from error
    faults = Faults(name)
    for title, others in sheets[1:]:
        if _looks_like_readings(others, rows):
            hint = f"Only the first sheet, {sheets[0][0]!r}, would be read: bring all rows onto it."
            faults.add(f"sheet {title!r}", "readings on a second sheet", "readings on one sheet", hint)
    for number, (values, cells) in enumerate(zip(rows, typed, strict=False), start=1):
        for column_number, (value, cell) in enumerate(zip(values, cells, strict=False), start=1):
            if value is None and cell is not None:
                hint = "Open and save the workbook where its formulas are computed, or type the value."
                found = f"the formula {str(cell)[:40]!r} without a saved value"
                faults.add(f"line {number}, column {column_number}", found, "a value", hint)
    faults.raise_as(ReadingsError)
    return _delimited(rows)


def _check_size(data: bytes, name: str) -> None:
    """ReadingsError for an archive that is small but unpacks to more than a readings file may hold. The
    sizes are those that it states, beyond which the unpacker reads nothing."""
    import zipfile

    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            size = sum(item.file_size for item in archive.infolist())
    except zipfile.BadZipFile:
        return  # told by the reader
    if size > LARGEST_READINGS:
        allowed = f"a workbook of at most {LARGEST_READINGS / 1e6:g} MB, unpacked"
        raise ReadingsError(Fault("the file", f"{size / 1e6:.0f} MB, unpacked", allowed, "", name))


def _rows(sheet: Any) -> Rows:
    """Every row of a sheet (its stated size may be out of date), all of one length."""
    sheet.reset_dimensions()
    rows = [tuple(row) for row in sheet.iter_rows(values_only=True)]
    width = max(map(len, rows), default=0)
    return [(*row, *([None] * (width - len(row)))) for row in rows]


def _texts(row: Sequence[Any]) -> set[str]:
    return {str(cell).strip().casefold() for cell in row if cell is not None and str(cell).strip()}


def _looks_like_readings(rows: Rows, first: Rows) -> bool:
    """Whether a row at the top is a header of readings, or shares two cells with one at the top of the first
    sheet, with something below it."""
    heads = [_texts(row) for row in first[:TOP]]
    for number, row in enumerate(rows[:TOP]):
        texts = _texts(row)
        same = len(texts & HEADS) > 1 or any(len(texts & head) > 1 for head in heads)
        if same and any(map(_texts, rows[number + 1 :])):
            return True
    return False


def _delimited(rows: Rows) -> str:
    out = io.StringIO()
    plain = csv.writer(out, lineterminator="\n")
    quoted = csv.writer(out, lineterminator="\n", quoting=csv.QUOTE_ALL)
    for row in rows:
        cells = ["" if cell is None else repr(cell) if isinstance(cell, float) else str(cell) for cell in row]
        name = any(cells[1:]) and cells[0].lstrip().startswith("#")
        (quoted if name else plain).writerow(cells)
    return out.getvalue()
