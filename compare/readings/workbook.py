"""The first sheet of a workbook (XLSX) as the text of a readings file.

Numbers are written with all their digits, times and texts as they stand. Reading workbooks is an optional
extra (``pip install 'aswound[xlsx]'``), done by a general-purpose library.
"""

from __future__ import annotations

import csv
import io

from ...predict.errors import Fault, ReadingsError


def workbook_text(data: bytes, name: str) -> str:
    """CSV of the first sheet of the workbook ``data``; ``name``: of the file, for messages.

    Raises ReadingsError where the reader is not installed, or where this is no workbook. Formulas count
    with the value that was last saved; a cell whose formula has none counts as empty.
    """
    try:
        from openpyxl import load_workbook
    except ImportError as error:
        hint = "Install the reader (pip install 'aswound[xlsx]'), or save the sheet as CSV UTF-8."
        raise ReadingsError(
            Fault("the file", "a workbook, whose reader is not installed", "text (CSV)", hint, name)
        ) from error
    try:
        book = load_workbook(io.BytesIO(data), read_only=True, data_only=True)
        rows = list(book.worksheets[0].iter_rows(values_only=True))
    except Exception as error:  # whatever a broken archive makes the library raise
        hint = "Save the sheet as CSV UTF-8, or as a workbook (XLSX)."
        raise ReadingsError(
            Fault("the file", "an archive that is no workbook", "a workbook (XLSX) or text (CSV)", hint, name)
        ) from error
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    for row in rows:
        writer.writerow(
            ["" if cell is None else repr(cell) if isinstance(cell, float) else str(cell) for cell in row]
        )
    return out.getvalue()
