"""Tables of other shapes → the long form: a row for each reading, with the columns sample, test, reading.

A wide table has a row for each part and a column for each test; its units stand in brackets in the header, or
in a first row of their own. An empty cell is a missing reading. The usual columns (temperature, batch, …)
hold for all readings of their row; a ``frequency`` for all but those taken with direct current.

A table of either shape may be headed by a few lines of title; they are passed over.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace

from ...predict.errors import Faults, nearest
from .delimited import ColumnHeading, Table, TableRow

_UNIT = re.compile(r"(?P<name>.*?)\s*(?:[\[(]\s*(?P<bracketed>[^\[\]()]*?)\s*[\])]|[,/]\s*(?P<behind>\S+))")
_BARE = re.compile(
    r"[+-]?(?:\d[\d.,'’ \u00a0\u2009\u202f]*|\.\d+)(?:[eE][+-]?\d+)?|[+-]?[\d.,]+\s*[+-]\s*\S*j\S*"
)
_UNITS_ROW = ("", "unit", "units")
NO_UNIT = ("", "-", "1")


@dataclass(frozen=True)
class TestColumn:
    """A column of a wide table: its place, the test, and the unit in its head or in the row of units."""

    place: int
    test: str
    unit: str


def with_unit(cell: str, unit: str) -> str:
    """The cell with ``unit`` behind it, where it is a bare number; a cell that says more stays as it is."""
    return f"{cell} {unit}" if unit not in NO_UNIT and _BARE.fullmatch(cell) else cell


def test_of(heading: ColumnHeading, names: Collection[str]) -> tuple[str, str] | None:
    """(test, unit) that a heading names: the test's name alone, or with its unit ("L_P [uH]", "L_P, uH",
    "L_P / uH"); capitals count only where two tests differ by nothing else. None for another heading."""
    spelled = list(dict.fromkeys([(heading.text, ""), name_and_unit(heading.text)]))
    for text, unit in spelled:
        if text in names:
            return text, unit
    for text, unit in spelled:
        same = [name for name in names if name.casefold() == text.casefold()]
        if len(same) == 1:
            return same[0], unit
    return None


def name_and_unit(text: str) -> tuple[str, str]:
    """A heading taken apart: "L_P [uH]", "L_P (uH)", "L_P, uH" and "L_P / uH" are ("L_P", "uH")."""
    matched = _UNIT.fullmatch(text)
    if matched is None:
        return text, ""
    return matched["name"], matched["bracketed"] or matched["behind"] or ""


PARTS = (
    "part",
    "part no.",
    "part number",
    "serial",
    "serial no.",
    "serial number",
    "s/n",
    "sn",
    "no.",
    "no",
    "#",
)
"""Headings that people put above the names of parts. Common practice."""


def with_parts_named(table: Table, names: Collection[str]) -> Table:
    """A table of tests without a column ``sample``, in which one heading alone says that it names the parts
    ("Part", "Serial no."): that column is ``sample``. Any other table as it is."""
    heads = [heading.name for heading in table.headings]
    naming = [place for place, head in enumerate(heads) if head in PARTS]
    if "sample" in heads or len(naming) != 1 or "test" in heads or "reading" in heads:
        return table
    headings = list(table.headings)
    headings[naming[0]] = replace(headings[naming[0]], name="sample")
    named = replace(table, headings=tuple(headings))
    return named if is_wide(named, names) else table


def is_wide(table: Table, names: Collection[str]) -> bool:
    """Whether a table has a column for each test: parts by name, no column ``test`` or ``reading``, and at
    least one heading that is a test."""
    heads = [heading.name for heading in table.headings]
    return (
        "sample" in heads
        and "reading" not in heads
        and "test" not in heads
        and any(test_of(heading, names) for heading in table.headings if heading.name != "sample")
    )


def long_form(
    table: Table,
    names: Collection[str],
    usual: Collection[str],
    faults: Faults,
    *,
    fits: Callable[[str, str], bool],
    direct: Collection[str] = (),
) -> Table:
    """A wide table as the long one.

    names : of the tests. usual : columns that hold for a whole row. fits : whether (test, unit) belong
    together. direct : tests taken with direct current, for which a ``frequency`` of the row says nothing.
    Faults: headings that are neither, a test twice, units that do not fit. Raises nothing.
    """
    place = f"line {table.header_line}, header"
    columns: list[TestColumn] = []
    kept: list[int] = []
    for number, heading in enumerate(table.headings):
        found = None if heading.name in usual else test_of(heading, names)
        if heading.name in usual:
            kept.append(number)
        elif found is None:
            hint = (
                nearest(name_and_unit(heading.text)[0], [*usual, *names])
                or "Free text belongs into the column note."
            )
            known = ", ".join(names)
            allowed = f"a test of the design ({known if len(known) < 120 else known[:117] + '...'}), or "
            faults.add(place, f"column {heading.text!r}", f"{allowed}{', '.join(usual)}", hint)
        elif any(column.test == found[0] for column in columns):
            faults.add(place, f"column {found[0]} again (column {number + 1})", "every test once")
        else:
            columns.append(TestColumn(number, *found))
    rows = list(table.rows)
    sample = next(number for number in kept if table.headings[number].name == "sample")
    if rows and _is_units(rows[0], sample, columns):
        cells = rows.pop(0).cells
        columns = [replace(column, unit=cells[column.place] or column.unit) for column in columns]
    for column in columns:
        if column.unit not in NO_UNIT and not fits(column.test, column.unit):
            faults.add(place, f"unit {column.unit!r} of column {column.test}", "a unit of what it measures")
    usual_heads = [table.headings[number] for number in kept]
    headings = (*usual_heads, ColumnHeading("test", "", "test"), ColumnHeading("reading", "", "reading"))
    frequency = next((at for at, head in enumerate(usual_heads) if head.name == "frequency"), None)
    long = []
    for row in rows:
        shared = [row.cells[number] for number in kept]
        for column in columns:
            own = list(shared)
            if frequency is not None and column.test in direct:
                own[frequency] = ""
            cell = with_unit(row.cells[column.place], column.unit)
            long.append(TableRow(row.line, (*own, column.test, cell), column.test))
    return Table(table.delimiter, table.header_line, headings, tuple(long))


def _is_units(row: TableRow, sample: int, columns: Sequence[TestColumn]) -> bool:
    """Whether a row holds units and no part: no name of a sample, and no digit under any test."""
    if row.cells[sample].casefold() not in _UNITS_ROW:
        return False
    cells = [row.cells[column.place] for column in columns]
    return any(cells) and not any(re.search(r"\d\d|[02-9]|\d[.,]", cell) for cell in cells)
