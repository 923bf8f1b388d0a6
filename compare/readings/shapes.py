"""Tables of other shapes → the long form: one row per reading, with the columns sample, test, reading.

A wide table has a row for each part and a column for each test. Its units are in brackets in the header,
or in a first row of their own. An empty cell is a missing reading. The usual columns (temperature, batch,
…) hold for all readings of their row, a ``frequency`` for all except those taken with direct current.

A table of either shape may have a few lines of title above it; they are skipped.
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
    """A column of a wide table.

    Attributes
    ----------
    column_index : int, index of the column
    test : str, name of the test
    unit : str, unit in its heading or in the row of units, or ""
    """

    column_index: int
    test: str
    unit: str


def with_unit(cell: str, unit: str) -> str:
    """The cell with a unit added if it is a bare number; any other cell stays as it is.

    Parameters
    ----------
    cell : str, text of the cell
    unit : str, the unit; "", "-" and "1" add nothing
    """
    return f"{cell} {unit}" if unit not in NO_UNIT and _BARE.fullmatch(cell) else cell


def test_of(heading: ColumnHeading, names: Collection[str]) -> tuple[str, str] | None:
    """Test and unit that a heading names: "L_P", "L_P [uH]", "L_P, uH", "L_P / uH".

    Capital letters matter only if two tests differ in nothing else.

    Parameters
    ----------
    heading : ColumnHeading
    names : Collection[str], names of the tests

    Returns
    -------
    tuple[str, str] or None, (test, unit); None for any other heading
    """
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
    """Name and unit of a heading: "L_P [uH]", "L_P (uH)", "L_P, uH" and "L_P / uH" are ("L_P", "uH")."""
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
    """A table of tests without a column ``sample``, whose one heading that names parts becomes ``sample``.

    Such headings are "Part", "Serial no." and the like (``PARTS``). Any other table stays as it is.

    Parameters
    ----------
    table : Table
    names : Collection[str], names of the tests
    """
    heads = [heading.name for heading in table.headings]
    naming = [index for index, head in enumerate(heads) if head in PARTS]
    if "sample" in heads or len(naming) != 1 or "test" in heads or "reading" in heads:
        return table
    headings = list(table.headings)
    headings[naming[0]] = replace(headings[naming[0]], name="sample")
    named = replace(table, headings=tuple(headings))
    return named if is_wide(named, names) else table


def is_wide(table: Table, names: Collection[str]) -> bool:
    """Whether a table has a column for each test.

    It has parts by name, no column ``test`` or ``reading``, and at least one heading that is a test.

    Parameters
    ----------
    table : Table
    names : Collection[str], names of the tests
    """
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

    Parameters
    ----------
    table : Table
    names : Collection[str], names of the tests
    usual : Collection[str], columns that hold for a whole row
    faults : Faults
        Receives headings that are neither test nor usual column, tests that occur twice, and units that do
        not fit.
    fits : Callable[[str, str], bool], whether a test and a unit go together
    direct : Collection[str], optional
        Tests taken with direct current, to which the row's ``frequency`` does not apply.
    """
    place = f"line {table.header_line}, header"
    columns: list[TestColumn] = []
    kept: list[int] = []
    for number, heading in enumerate(table.headings):
        test_of_heading = None if heading.name in usual else test_of(heading, names)
        if heading.name in usual:
            kept.append(number)
        elif test_of_heading is None:
            hint = (
                nearest(name_and_unit(heading.text)[0], [*usual, *names])
                or "Free text goes in the column note."
            )
            known = ", ".join(names)
            allowed = f"a test of the design ({known if len(known) < 120 else known[:117] + '...'}), or "
            faults.add(place, f"column {heading.text!r}", f"{allowed}{', '.join(usual)}", hint)
        elif any(column.test == test_of_heading[0] for column in columns):
            faults.add(place, f"column {test_of_heading[0]} again (column {number + 1})", "every test once")
        else:
            columns.append(TestColumn(number, *test_of_heading))
    rows = list(table.rows)
    sample = next(number for number in kept if table.headings[number].name == "sample")
    if rows and _is_units(rows[0], sample, columns):
        cells = rows.pop(0).cells
        columns = [replace(column, unit=cells[column.column_index] or column.unit) for column in columns]
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
            own_columns = list(shared)
            if frequency is not None and column.test in direct:
                own_columns[frequency] = ""
            cell = with_unit(row.cells[column.column_index], column.unit)
            long.append(TableRow(row.line, (*own_columns, column.test, cell), column.test))
    return Table(table.delimiter, table.header_line, headings, tuple(long))


def _is_units(row: TableRow, sample: int, columns: Sequence[TestColumn]) -> bool:
    """Whether a row holds units and no part: no name of a sample, and no digit under any test."""
    if row.cells[sample].casefold() not in _UNITS_ROW:
        return False
    cells = [row.cells[column.column_index] for column in columns]
    return any(cells) and not any(re.search(r"\d\d|[02-9]|\d[.,]", cell) for cell in cells)
