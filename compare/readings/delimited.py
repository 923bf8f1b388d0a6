"""Text in columns: delimiter, header and rows of a CSV file, each row with the line where it starts.

Accepted: comma, semicolon or tab between the cells; quoted cells, which may hold delimiters, line breaks
and doubled quotation marks; a byte-order mark; blank lines and rows of empty cells; comment lines that
begin with ``#``. A ``#`` anywhere else is text, and so is one in quotation marks (``"#1"`` is a sample's
name).
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Collection, Iterator
from dataclasses import dataclass

from ...predict.errors import Faults
from ...predict.plain_text import LONGEST_NAME, LONGEST_TEXT, unfit

DELIMITERS = {",": "comma", ";": "semicolon", "\t": "tab"}
"""Accepted delimiters and their names; the first is taken if the header does not decide."""

MOST_COLUMNS = 10_000
"""Most columns of a table (bounds work, not results)."""

_NAMED = re.compile(r"\s*#\S")
_HEADING = re.compile(r"(?P<name>.*?)\s*(?:[\[(]\s*(?P<unit>[^\[\]()]*?)\s*[\])])?")
_SEPARATOR = re.compile(r"\s*\"?sep=(?P<sign>.)\"?\s*", re.IGNORECASE)
"""What a spreadsheet writes above a table to say what stands between its cells."""


@dataclass(frozen=True)
class ColumnHeading:
    """Heading of a column: ``Reading [uH]`` is ("reading", "uH").

    Attributes
    ----------
    name : str, name in small letters
    unit : str, unit, or ""
    text : str, the cell as it is in the file
    """

    name: str
    unit: str
    text: str = ""


@dataclass(frozen=True)
class TableRow:
    """One row of a table.

    Attributes
    ----------
    line : int, line on which the row begins, count from 1
    cells : tuple[str, ...], cells without surrounding blanks
    column : str, test whose cell this was, if the table was wide; else ""
    """

    line: int
    cells: tuple[str, ...]
    column: str = ""

    @property
    def place(self) -> str:
        """Where the row stands, for messages: "line 4", "line 4, L_P"."""
        return f"line {self.line}, {self.column}" if self.column else f"line {self.line}"


@dataclass(frozen=True)
class Table:
    """A table; every row has as many cells as there are headings.

    Attributes
    ----------
    delimiter : str, sign between the cells
    header_line : int, line of the header, count from 1
    headings : tuple[ColumnHeading, ...], headings of the columns
    rows : tuple[TableRow, ...], rows below the header
    """

    delimiter: str
    header_line: int
    headings: tuple[ColumnHeading, ...]
    rows: tuple[TableRow, ...]


class _Lines(Iterator[str]):
    """Feeds lines to the csv reader and skips blank lines and comments between rows.

    ``begin_row()`` is called before each row, so that a line inside a quoted cell is never taken for a
    comment. The comments, with their line numbers, go into ``comments``.
    """

    def __init__(self, text: str, comments: list[tuple[int, str]]) -> None:
        self._comments = comments
        self._numbered = enumerate(io.StringIO(text, newline=""), start=1)
        self._between_rows = True
        self.row_line = 0
        self.row_text = ""

    def begin_row(self) -> None:
        self._between_rows = True

    def __next__(self) -> str:
        for number, line in self._numbered:
            bare = line.strip()
            if self._between_rows:
                if bare.startswith("#"):
                    self._comments.append((number, line))
                if not bare or bare.startswith("#"):
                    continue
                self._between_rows = False
                self.row_line, self.row_text = number, bare
            return line
        raise StopIteration


def read_table(text: str, known: Collection[str], faults: Faults) -> Table | None:
    """Take a CSV text apart.

    Parameters
    ----------
    text : str
        Text of the whole file, decoded.
    known : Collection[str]
        Names of columns, by which the delimiter is recognised.
    faults : Faults
        Receives a fault for every row with too few or too many cells, and for a quotation mark that is not
        closed; the other rows are returned all the same.

    Returns
    -------
    Table or None
        The table; None if there is no header.
    """
    text, stated = _below_separator(text.removeprefix("\ufeff"))
    text = _below_title(text, known)
    first = next(_Lines(text, []), None)
    if first is None:
        return None
    delimiter = stated or _delimiter_of(first, known)
    if first.count(delimiter) >= MOST_COLUMNS:
        faults.add("header", f"{first.count(delimiter) + 1} columns", f"at most {MOST_COLUMNS} columns")
        return None
    comments: list[tuple[int, str]] = []
    rows = _fit(_rows(text, delimiter, faults, comments), faults)
    header = next(rows, None)
    if header is None:
        return None
    names = list(header.cells)
    while names and not names[-1]:
        names.pop()
    headings = tuple(_heading(cell) for cell in names)
    kept = []
    for row in rows:
        # cells under unnamed last columns of the header must be empty
        if len(headings) <= len(row.cells) <= len(header.cells) and not any(row.cells[len(headings) :]):
            kept.append(TableRow(row.line, row.cells[: len(headings)]))
        else:
            _wrong_length(row, len(headings), delimiter, faults)
    _check_comments(comments, header, delimiter, known, faults)
    return Table(delimiter, header.line, headings, tuple(kept))


def _rows(text: str, delimiter: str, faults: Faults, comments: list[tuple[int, str]]) -> Iterator[TableRow]:
    """Rows with at least one cell that is not empty; the comments between them go into ``comments``."""
    lines = _Lines(text, comments)
    reader = csv.reader(lines, delimiter=delimiter, skipinitialspace=True, strict=True)
    while True:
        lines.begin_row()
        try:
            cells = tuple(cell.strip() for cell in next(reader))
        except StopIteration:
            return
        except csv.Error:
            faults.add(
                f"line {lines.row_line}",
                repr(lines.row_text),
                'cells whose quotation marks are closed, with marks inside a quoted cell doubled ("")',
            )
            continue
        if any(cells):
            yield TableRow(lines.row_line, cells)


def _below_separator(text: str) -> tuple[str, str]:
    """(the text with a first line ``sep=;`` blanked, the delimiter that it states or "")."""
    first = text[: text.find("\n") + 1 or None][:20]
    stated = _SEPARATOR.fullmatch(first.rstrip("\r\n"))
    if stated is None or stated["sign"] not in DELIMITERS:
        return text, ""
    return text[len(first.rstrip("\r\n")) :], stated["sign"]


def _fit(rows: Iterator[TableRow], faults: Faults) -> Iterator[TableRow]:
    """The rows whose cells can be displayed and are not too long; faults for the others."""
    header = True
    for row in rows:
        longest = LONGEST_NAME if header else LONGEST_TEXT
        wrong = next((wrong for cell in row.cells if (wrong := unfit(cell, longest, lines=True))), "")
        if not wrong:
            yield row
        else:
            allowed = f"cells of at most {longest} characters, none of which steers a terminal or a page"
            faults.add(f"line {row.line}" + ", header" * header, wrong, allowed)
            if header:
                return
        header = False


def _check_comments(
    comments: list[tuple[int, str]], header: TableRow, delimiter: str, known: Collection[str], faults: Faults
) -> None:
    """Report lines that would be skipped as comments but look like rows: "#1,L_P,612 uH"."""
    if len(header.cells) < 3 or header.cells[0].startswith("#"):
        return
    for number, line in comments:
        if number > header.line and _NAMED.match(line) and line.count(delimiter) == len(header.cells) - 1:
            name, *others = (cell.strip() for cell in line.split(delimiter))
            if not name[1].isdigit() and not any(cell.casefold() in known for cell in others):
                continue
            hint = f'Write "{name[:40]}" in quotation marks; a blank behind # makes it a comment.'
            found = f"{line.strip()[:60]!r}, a row or a comment?"
            faults.add(f"line {number}", found, "a sample's name that does not begin with #", hint)


def _heading(cell: str) -> ColumnHeading:
    # the pattern takes time with the cube of a cell's length, so longer cells are refused unread
    match = _HEADING.fullmatch(cell) if len(cell) <= LONGEST_NAME else None
    if match is None:
        return ColumnHeading(cell.casefold(), "", cell)
    return ColumnHeading(match["name"].casefold(), match["unit"] or "", cell)


def _delimiter_of(header: str, known: Collection[str]) -> str:
    """The delimiter that makes most cells of the header known names; if equal, the one that gives the most
    cells."""
    return max(DELIMITERS, key=lambda delimiter: _recognised(header, delimiter, known))


def _recognised(line: str, delimiter: str, known: Collection[str]) -> tuple[int, int]:
    """(cells of the line that are known names, cells) under a delimiter."""
    if line.count(delimiter) >= MOST_COLUMNS:
        return 0, line.count(delimiter) + 1
    try:
        cells = next(csv.reader([line.rstrip("\r\n")], delimiter=delimiter, skipinitialspace=True), [])
    except csv.Error:
        return 0, 0
    heads = [_heading(cell.strip()) for cell in cells]
    return sum(head.name in known or head.text.casefold() in known for head in heads), len(cells)


TITLE_LINES = 20
"""Lines above the header that may be a title (judged; no data behind it)."""


def _below_title(text: str, known: Collection[str]) -> str:
    """The text with the lines of a title blanked, so that line numbers stay the same.

    A title is what stands above the first line with two known names or more, if the very first line has
    none.
    """
    lines = list(io.StringIO(text, newline=""))
    numbers = [at for at, line in enumerate(lines) if line.strip() and not line.lstrip().startswith("#")]

    def best(at: int) -> int:
        return max(_recognised(lines[at], delimiter, known)[0] for delimiter in DELIMITERS)

    if not numbers or best(numbers[0]) > 0:
        return text
    header = next((at for at in numbers[1:TITLE_LINES] if best(at) > 1), None)
    if header is None:
        return text
    ends = [line[len(line.rstrip("\r\n")) :] for line in lines[:header]]
    return "".join([*ends, *lines[header:]])


def _wrong_length(row: TableRow, expected: int, delimiter: str, faults: Faults) -> None:
    name = DELIMITERS[delimiter]
    if len(row.cells) < expected:
        hint = f"Keep the {name}s of empty cells."
    elif delimiter == ",":
        hint = (
            "A decimal comma needs semicolons or tabs between the cells, text with a comma quotation marks."
        )
    else:
        hint = f"Text with a {name} needs quotation marks."
    faults.add(f"line {row.line}", f"{len(row.cells)} cells", f"{expected} cells, as in the header", hint)
