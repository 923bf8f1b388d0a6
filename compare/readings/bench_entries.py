"""A readings file that is being filled in at the bench: one row for each test and sample, as typed.

A value: every entry gives a new one, whose text is the whole file. An empty file of ``plan --csv`` is filled
in where it stands; rows with a ``stage``, and columns that nobody asks for, stay as they are.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from ...predict.errors import Fault, Faults, ReadingsError
from ...predict.spelling import plainly_written
from .delimited import read_table

OWN_COLUMNS = ("sample", "test", "reading", "uncertainty", "temperature", "note")
"""Columns of a new file."""
_BARE = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?")


@dataclass(frozen=True)
class EntryFile:
    """``comments``: lines above the header. ``rows``: cells in the order of ``columns``."""

    columns: tuple[str, ...] = OWN_COLUMNS
    rows: tuple[tuple[str, ...], ...] = ()
    comments: tuple[str, ...] = ()

    @property
    def samples(self) -> tuple[str, ...]:
        """Names of the samples of which something was read, in the file's order."""
        return tuple(
            dict.fromkeys(self._cell(row, "sample") for row in self.rows if self._cell(row, "reading"))
        )

    def reading(self, sample: str, test: str) -> str:
        """What stands for a test of a sample, as text; "" where nothing does."""
        place = self._place(sample, test)
        return "" if place is None else self._cell(self.rows[place], "reading")

    def entered(
        self, sample: str, test: str, reading: str, temperature: str = "", note: str = ""
    ) -> EntryFile:
        """With a reading in the row of ``test`` and ``sample``; a new row, if there is none yet."""
        place = self._place(sample, test)
        cells = {"sample": sample, "test": test, "reading": reading}
        cells |= {"temperature": temperature} if temperature else {}
        cells |= {"note": note} if note else {}
        wider = self._with_columns([name for name in cells if name not in self.columns])
        if place is None:
            row = tuple(cells.get(name, "") for name in wider.columns)
            return replace(wider, rows=(*wider.rows, row))
        row = tuple(cells.get(name, old) for name, old in zip(wider.columns, wider.rows[place], strict=True))
        return replace(wider, rows=(*wider.rows[:place], row, *wider.rows[place + 1 :]))

    def noted(self, sample: str, test: str, note: str) -> EntryFile:
        """With a note in the row of a test that was read; a further one stands behind the first."""
        place = self._place(sample, test)
        if place is None:
            raise ValueError(f"{sample}, {test}: nothing was entered")
        before = self._cell(self.rows[place], "note")
        return self.entered(
            sample, test, self.reading(sample, test), note=f"{before}; {note}" if before else note
        )

    def next_place(self, sample: str, tests: Sequence[str]) -> int:
        """The place of the first of ``tests`` behind the last one that was read of ``sample``; their number
        where that was the last."""
        read = [place for place, test in enumerate(tests) if self.reading(sample, test)]
        return read[-1] + 1 if read else 0

    def text(self) -> str:
        """The whole file."""
        out = io.StringIO()
        for line in self.comments:
            out.write(line + "\n")
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow(self.columns)
        for row in self.rows:
            quoted = row[0].startswith("#")
            writer.writerow(row) if not quoted else out.write(_quoted_row(row))
        return out.getvalue()

    def _with_columns(self, more: Sequence[str]) -> EntryFile:
        rows = tuple((*row, *[""] * len(more)) for row in self.rows)
        return replace(self, columns=(*self.columns, *more), rows=rows)

    def _cell(self, row: tuple[str, ...], column: str) -> str:
        return row[self.columns.index(column)] if column in self.columns else ""

    def _place(self, sample: str, test: str) -> int | None:
        """The last row of a test of a sample at no stage."""
        found = [
            place
            for place, row in enumerate(self.rows)
            if self._cell(row, "sample") == sample
            and self._cell(row, "test") == test
            and not self._cell(row, "stage")
        ]
        return found[-1] if found else None


def _quoted_row(cells: Sequence[str]) -> str:
    """A row whose first cell would be taken for a comment."""
    out = io.StringIO()
    csv.writer(out, lineterminator="\n", quoting=csv.QUOTE_ALL).writerow(cells)
    return out.getvalue()


def entry_file(text: str, usual: Sequence[str], name: str) -> EntryFile:
    """The text of a file that was begun before. Raises ReadingsError for one that cannot be gone on with: not
    the long form with commas."""
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
    comments = []
    for line in text.removeprefix("\ufeff").splitlines():
        if line.strip() and not line.lstrip().startswith("#"):
            break
        comments.append(line)
    return EntryFile(tuple(heads), tuple(row.cells for row in table.rows), tuple(comments))


def as_written(typed: str, dimension: str, unit: str) -> str:
    """What people type as a cell that a file with commas can hold: a decimal point, and ``unit`` (that of the
    test, "" for none) behind a bare number. Anything else is left to the reader of the file."""
    text = plainly_written(typed.strip(), dimension)
    text = re.sub(r"(?<=\d),(?=\d)", ".", text) if text.count(",") == 1 and "." not in text else text
    return f"{text} {unit}" if unit and _BARE.fullmatch(text) else text
