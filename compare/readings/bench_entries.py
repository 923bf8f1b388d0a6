"""A readings file that is being filled in at the bench: one row per test and sample, as typed.

It is a value: every entry gives a new one, whose text is the whole file. An empty file from ``plan --csv``
is filled in row by row; rows with a ``stage``, columns that are not asked for, and comments stay as they are.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import zip_longest

from ...predict.errors import Fault, Faults, ReadingsError
from ...predict.plain_text import LONGEST_TEXT, unfit
from ...predict.spelling import plainly_written
from .delimited import read_table

OWN_COLUMNS = ("sample", "test", "reading", "uncertainty", "temperature", "note")
"""Columns of a new file."""
_BARE = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?")


@dataclass(frozen=True)
class EntryFile:
    """A readings file as text, cell by cell.

    Attributes
    ----------
    columns : tuple[str, ...]
        Names of the columns.
    rows : tuple[tuple[str, ...], ...]
        Cells of each row, in the order of ``columns``.
    comments : tuple[tuple[str, ...], ...]
        Lines above the header, then those above each row, then those below the last one.
    """

    columns: tuple[str, ...] = OWN_COLUMNS
    rows: tuple[tuple[str, ...], ...] = ()
    comments: tuple[tuple[str, ...], ...] = ()

    @property
    def samples(self) -> tuple[str, ...]:
        """Names of the samples with at least one reading, in the file's order."""
        return tuple(
            dict.fromkeys(self._cell(row, "sample") for row in self.rows if self._cell(row, "reading"))
        )

    def reading(self, sample: str, test: str) -> str:
        """The reading of a test on a sample as typed; "" if there is none.

        Parameters
        ----------
        sample : str
            Name of the sample.
        test : str
            Name of the test.
        """
        row_index = self._place(sample, test)
        return "" if row_index is None else self._cell(self.rows[row_index], "reading")

    def entered(
        self, sample: str, test: str, reading: str, temperature: str = "", note: str = ""
    ) -> EntryFile:
        """The file with a reading in the row of a test and sample, in a new row if there is none yet.

        Parameters
        ----------
        sample : str
            Name of the sample.
        test : str
            Name of the test.
        reading : str
            The reading as typed, with its unit.
        temperature : str, optional
            Temperature of the part as typed; "" leaves the cell as it is.
        note : str, optional
            Free text; "" leaves the cell as it is.
        """
        row_index = self._place(sample, test)
        cells = {"sample": sample, "test": test, "reading": reading}
        cells |= {"temperature": temperature} if temperature else {}
        cells |= {"note": note} if note else {}
        wider = self._with_columns([name for name in cells if name not in self.columns])
        if row_index is None:
            row = tuple(cells.get(name, "") for name in wider.columns)
            return replace(wider, rows=(*wider.rows, row))
        row = tuple(
            cells.get(name, old) for name, old in zip(wider.columns, wider.rows[row_index], strict=True)
        )
        return replace(wider, rows=(*wider.rows[:row_index], row, *wider.rows[row_index + 1 :]))

    def noted(self, sample: str, test: str, note: str) -> EntryFile:
        """The file with a note added to the row of a test that was read; it goes behind an earlier note.

        Parameters
        ----------
        sample : str
            Name of the sample.
        test : str
            Name of the test.
        note : str
            Free text.

        Raises
        ------
        ValueError
            No reading was entered for this test and sample.
        ReadingsError
            Together with the earlier notes it is longer than a cell may be: the file could not be read again.
        """
        row_index = self._place(sample, test)
        if row_index is None:
            raise ValueError(f"{sample}, {test}: nothing was entered")
        before = self._cell(self.rows[row_index], "note")
        whole = f"{before}; {note}" if before else note
        if wrong := unfit(whole, lines=True):
            allowed = f"at most {LONGEST_TEXT} characters with the notes before it; it was not kept"
            raise ReadingsError(Fault("note", wrong, allowed))
        return self.entered(sample, test, self.reading(sample, test), note=whole)

    def next_place(self, sample: str, tests: Sequence[str]) -> int:
        """Which test comes next: the one after the last that was read on a sample.

        Parameters
        ----------
        sample : str
            Name of the sample.
        tests : Sequence[str]
            Names of the tests in order.

        Returns
        -------
        int
            Index into ``tests``; their number if the last one was read.
        """
        read = [index for index, test in enumerate(tests) if self.reading(sample, test)]
        return read[-1] + 1 if read else 0

    def text(self) -> str:
        """Text of the whole file."""
        out = io.StringIO()
        writer = csv.writer(out, lineterminator="\n")
        for row, above in zip_longest((self.columns, *self.rows), self.comments, fillvalue=()):
            out.writelines(f"{line}\n" for line in above)
            if row:
                writer.writerow(row) if not row[0].startswith("#") else out.write(_quoted_row(row))
        return out.getvalue()

    def _with_columns(self, more: Sequence[str]) -> EntryFile:
        rows = tuple((*row, *[""] * len(more)) for row in self.rows)
        return replace(self, columns=(*self.columns, *more), rows=rows)

    def _cell(self, row: tuple[str, ...], column: str) -> str:
        return row[self.columns.index(column)] if column in self.columns else ""

    def _place(self, sample: str, test: str) -> int | None:
        """The last row of a test of a sample at no stage."""
        indices = [
            index
            for index, row in enumerate(self.rows)
            if self._cell(row, "sample") == sample
            and self._cell(row, "test") == test
            and not self._cell(row, "stage")
        ]
        return indices[-1] if indices else None


def _quoted_row(cells: Sequence[str]) -> str:
    """A row whose first cell would otherwise be taken for a comment."""
    out = io.StringIO()
    csv.writer(out, lineterminator="\n", quoting=csv.QUOTE_ALL).writerow(cells)
    return out.getvalue()


def entry_file(text: str, usual: Sequence[str], name: str) -> EntryFile:
    """A file that was begun earlier.

    Parameters
    ----------
    text : str
        Text of the whole file, decoded.
    usual : Sequence[str]
        Columns of a readings file.
    name : str
        Name of the file, for messages.

    Raises
    ------
    ReadingsError
        The file cannot be continued: it is not in the long form with commas.
    """
    faults = Faults(name)
    table = read_table(text, usual, faults)
    if table is None:
        return EntryFile()
    heads = [heading.name for heading in table.headings]
    lacking = [column for column in ("sample", "test", "reading") if column not in heads]
    units = [heading.text for heading in table.headings if heading.unit]
    strangers = [head for head in heads if head not in usual]
    if lacking or strangers or units or (table.delimiter != "," and len(heads) > 1):
        found = (
            "semicolons or tabs between the cells"
            if table.delimiter != ","
            else f"the columns {', '.join(heads)}"
        )
        allowed = f"a file with commas and the columns {', '.join(OWN_COLUMNS)}, without units in the header"
        fault = Fault(f"line {table.header_line}, header", found, allowed, "Choose a new name with -o.", name)
        raise ReadingsError(fault)
    faults.raise_as(ReadingsError)
    lines = io.StringIO(text.removeprefix("\ufeff"), newline="").read().splitlines()
    comments = [tuple(lines[: table.header_line - 1])]
    end = table.header_line
    for row in table.rows:
        comments.append(tuple(lines[end : row.line - 1]))
        end = row.line + sum(cell.count("\n") for cell in row.cells)
    comments.append(tuple(lines[end:]))
    kept = [comments[0], *(tuple(filter(str.strip, above)) for above in comments[1:])]
    while kept and not kept[-1]:
        kept.pop()
    return EntryFile(tuple(heads), tuple(row.cells for row in table.rows), tuple(kept))


def as_written(typed: str, dimension: str, unit: str) -> str:
    """What was typed at the bench as a cell that a file with commas can hold.

    It gets a decimal point, and the test's unit if it is a bare number. Everything else is left to the
    reader of the file.

    Parameters
    ----------
    typed : str
        Text as typed.
    dimension : str
        Dimension of the quantity.
    unit : str
        Unit of the test, "" for none.
    """
    text = plainly_written(typed.strip(), dimension)
    text = re.sub(r"(?<=\d),(?=\d)", ".", text) if text.count(",") == 1 and "." not in text else text
    return f"{text} {unit}" if unit and _BARE.fullmatch(text) else text
