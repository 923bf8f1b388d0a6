"""CSV → readings. Every bad row is reported, and a file with a bad row gives no readings.

Columns ``sample``, ``test``, ``reading`` in any order; optional ``uncertainty`` (expanded, k = 2, relative
or absolute), ``temperature``, ``frequency`` (overrides the test's), ``unit``, ``stage``, ``batch``,
``note``. The unit is in the cell, in the column ``unit``, or in the header: ``reading [uH]`` or ``reading
(uH)``. Files with semicolons or tabs may have decimal commas. A reading may be a complex impedance ("0.41
+ 4.97j ohm"); ``OL``, ``----`` and an empty cell are missing readings, which are kept. Several rows of one
sample and test are repeats. Wide tables are in ``shapes``, meters' logs in ``meter_log``.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from ...predict.design import BenchTest, Design, Equivalent
from ...predict.errors import Fault, Faults, QuantityError, ReadingsError, nearest
from ...predict.plain_text import LARGEST_READINGS, STDIN_HINT, file_bytes
from ...predict.quantity import parse_quantity
from .cells import DECIMAL_SIGN, DIMENSIONS, QUANTITIES, Conventions, Reading, fits, read_row
from .delimited import ColumnHeading, Table, read_table
from .meter_log import kind_of, known_heads, log_form, mapping_of, renamed
from .read_test import check_parts
from .shapes import PARTS, is_wide, long_form, test_of, with_parts_named

REQUIRED = ("sample", "test", "reading")
COLUMNS = (*REQUIRED, "uncertainty", "temperature", "frequency", "unit", "stage", "batch", "note")


def load_readings(path: str | Path, design: Design, mapping: Sequence[str] = ()) -> tuple[Reading, ...]:
    """Read a file of readings of a design's tests (UTF-8, or UTF-16 with its byte-order mark).

    Parameters
    ----------
    path : str or Path
        The file.
    design : Design
        The transformer.
    mapping : Sequence[str], optional
        Which column of a meter's log is which test, "Ls=L_P", or which usual column, "No.=sample".

    Returns
    -------
    tuple[Reading, ...]
        Readings in the file's order, SI.

    Raises
    ------
    ReadingsError
        Every fault of the file; also if it cannot be opened or decoded.

    Examples
    --------
    >>> from aswound.compare import load_readings
    >>> from aswound.predict import load_design
    >>> taken = load_readings("samples/flyback-24w.csv", load_design("samples/flyback-24w.toml"))
    >>> taken[0].sample, taken[0].test, taken[0].value
    ('A1', 'L_P', 0.00059144)
    """
    return parse_readings(read_text(path), design, name=str(path), mapping=mapping)


def read_text(path: str | Path, *, plain: bool = False) -> str:
    """Text of a readings file: CSV in UTF-8 or UTF-16, or the first sheet of a workbook as CSV.

    Parameters
    ----------
    path : str or Path
        The file.
    plain : bool, optional
        Whether a workbook is refused, since the text is to be written again.

    Raises
    ------
    ReadingsError
        The file cannot be opened or decoded, or as ``workbook_text``.
    """
    name = str(path)
    try:
        data = file_bytes(Path(path), LARGEST_READINGS)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        reason = reason[:1].lower() + reason[1:]
        hint = STDIN_HINT if name == "-" else ""
        fault = Fault("the file", reason, "a readings file (CSV) that can be opened", hint, name)
        raise ReadingsError(fault) from error
    if data.startswith((b"PK", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1")):
        if plain:
            found, hint = "a workbook", "Choose a new name with -o, or save the sheet as CSV UTF-8."
            raise ReadingsError(Fault("the file", found, "text (CSV)", hint, name))
        from .workbook import workbook_text  # what unpacks it is loaded for a workbook alone

        return workbook_text(data, name)
    encoding = "utf-16" if data.startswith((b"\xff\xfe", b"\xfe\xff")) else "utf-8"
    try:
        return data.decode(encoding)
    except UnicodeDecodeError as error:
        line = data[: error.start].decode(encoding, errors="replace").count("\n") + 1
        found = f"the byte {data[error.start]:02X} (hexadecimal)"
        hint = "Save the file as CSV UTF-8, or write u for micro and ohm for the unit's sign."
        raise ReadingsError(
            Fault(f"line {line}", found, f"text in {encoding.upper()}", hint, name)
        ) from error


def parse_readings(
    text: str, design: Design, *, name: str = "", mapping: Sequence[str] = ()
) -> tuple[Reading, ...]:
    """Read the text of a readings file. Format: the module's docstring.

    Parameters
    ----------
    text : str
        Text of the whole file, decoded.
    design : Design
        The transformer.
    name : str, optional
        Name of the file, for the faults.
    mapping : Sequence[str], optional
        As for ``load_readings``.

    Returns
    -------
    tuple[Reading, ...]
        Readings in the file's order, SI, including missing ones (``value`` None).

    Raises
    ------
    ReadingsError
        Every fault of the file.

    Examples
    --------
    >>> from aswound.compare import parse_readings
    >>> from aswound.predict import load_design
    >>> design = load_design("samples/flyback-24w.toml")
    >>> text = "sample,test,reading\\nA1,L_P,591 uH\\nA1,n,OL\\n"
    >>> [reading.value for reading in parse_readings(text, design)]
    [0.000591, None]
    """
    faults = Faults(name)
    tests = {test.name: test for test in design.tests}
    equivalent = design.bench.equivalent
    mapped = mapping_of(mapping)
    if not mapped:
        return readings_of_table(table_of(text, (), faults, tests), tests, equivalent, faults)
    table = read_table(text, (*COLUMNS, *known_heads(mapped)), faults)
    if table is None:
        raise ReadingsError(_no_header(faults))
    options = Faults()
    table = renamed(table, mapped, COLUMNS, options)
    if all(item.target in COLUMNS for item in mapped):
        options.raise_as(ReadingsError)
        return readings_of_table(_usable(_kept(table, tests), (), tests, faults), tests, equivalent, faults)
    sample = Path(name).stem or "log"
    long = log_form(table, mapped, tests, COLUMNS, equivalent, sample, options)
    options.found = [
        replace(fault, file=name if fault.place.startswith("line") else "") for fault in options.found
    ]
    faults.found += options.found
    faults.raise_as(ReadingsError)
    return readings_of_table(long, tests, equivalent, faults)


def _kept(table: Table, tests: Mapping[str, BenchTest]) -> Table:
    """A mapped table with only the usual columns and tests: a meter logs more than is asked for."""
    kept = [
        at
        for at, head in enumerate(table.headings)
        if head.name in COLUMNS or test_of(head, tests) is not None
    ]
    rows = tuple(replace(row, cells=tuple(row.cells[at] for at in kept)) for row in table.rows)
    return replace(table, headings=tuple(table.headings[at] for at in kept), rows=rows)


def table_of(
    text: str, more: Sequence[str], faults: Faults, tests: Mapping[str, BenchTest] | None = None
) -> Table:
    """The long table of a readings file.

    Its header may hold further columns besides the usual ones, or one column for each test (a wide table,
    which is made long).

    Parameters
    ----------
    text : str
        Text of the whole file, decoded.
    more : Sequence[str]
        Further columns.
    faults : Faults
        Receives every fault that is found.
    tests : Mapping[str, BenchTest] or None, optional
        Tests by name, which a wide table may have as columns.

    Raises
    ------
    ReadingsError
        There is no usable header; holds the faults so far.
    """
    names = tests or {}
    table = read_table(text, (*COLUMNS, *more, *(name.casefold() for name in names)), faults)
    if table is None:
        raise ReadingsError(_no_header(faults))
    return _usable(table, more, names, faults)


def _no_header(faults: Faults) -> list[Fault]:
    """What is wrong with the header, if anything was said of it; else that there is none."""
    if faults.found:
        return faults.found
    faults.add("the file", "no header", f"a header with {', '.join(REQUIRED)}, and a row for each reading")
    return faults.found


def _usable(table: Table, more: Sequence[str], tests: Mapping[str, BenchTest], faults: Faults) -> Table:
    """A table with a usable header, in the long form."""
    table = with_parts_named(table, tests)
    if is_wide(table, tests):
        return long_form(
            table,
            tests,
            tuple(column for column in COLUMNS if column not in ("test", "reading")),
            faults,
            fits=lambda test, unit: fits(unit, DIMENSIONS[tests[test].measure]),
            direct=[name for name, test in tests.items() if test.measure == "resistance"],
        )
    header = Faults(faults.file)
    if not _check_header(table, more, tests, header):  # without a usable header the cells mean nothing
        raise ReadingsError(header.found)
    faults.found += header.found
    return table


def readings_of_table(
    table: Table, tests: Mapping[str, BenchTest], equivalent: Equivalent, faults: Faults
) -> tuple[Reading, ...]:
    """Readings of a long table, in its order, SI.

    Parameters
    ----------
    table : Table
        The table.
    tests : Mapping[str, BenchTest]
        Tests of the design by name.
    equivalent : Equivalent
        Equivalent circuit of the display, "series" or "parallel".
    faults : Faults
        Receives every fault that is found.

    Raises
    ------
    ReadingsError
        Every fault, including those of the header.
    """
    _check_units(table, tests, faults)
    names = [heading.name for heading in table.headings]
    rows = [(row, dict(zip(names, row.cells, strict=True))) for row in table.rows]
    columns = [column for column in QUANTITIES if column in names]
    numbers = [cells[column] for _, cells in rows for column in columns]
    conventions = Conventions(
        tests=tests,
        equivalent=equivalent,
        units={heading.name: heading.unit for heading in table.headings if heading.unit},
        decimal_comma=table.delimiter != ",",
        signs=frozenset(sign for number in numbers for sign in DECIMAL_SIGN.findall(number)),
    )
    readings = [read_row(cells, conventions, faults, row.line, row.place) for row, cells in rows]
    check_parts(readings, faults)
    if not readings and not faults.found:
        hint = "Write a row for each reading; a sample's name that begins with # needs quotation marks."
        faults.add("the file", "no readings", "at least one row below the header", hint)
    faults.found.sort(key=_line_of)
    faults.raise_as(ReadingsError)
    return tuple(reading for reading in readings if reading is not None)


def readings_from_options(items: Sequence[str], design: Design, sample: str = "bench") -> tuple[Reading, ...]:
    """Readings given on the command line, each as ``test=reading`` ("L_P=612uH", "n=5.99", "Lk_P=0.4+5j
    ohm").

    Parameters
    ----------
    items : Sequence[str]
        The options, one reading each.
    design : Design
        The transformer.
    sample : str, optional
        Name of the sample.

    Returns
    -------
    tuple[Reading, ...]
        One reading for each item, in order, SI; ``line`` is the number of the item.

    Raises
    ------
    ReadingsError
        Every fault, each naming its option.
    """
    faults = Faults()
    conventions = Conventions({test.name: test for test in design.tests}, design.bench.equivalent)
    readings = []
    for number, item in enumerate(items, start=1):
        place = f"option --read {item}"
        test, equals, text = (part.strip() for part in item.rpartition("="))
        if not (test and equals and text):
            faults.add(place, repr(item), "test=reading, such as L_P=612uH")
            continue
        cells = {"sample": sample, "test": test, "reading": text}
        readings.append(read_row(cells, conventions, faults, number, place))
    faults.raise_as(ReadingsError)
    return tuple(reading for reading in readings if reading is not None)


def _line_of(fault: Fault) -> int:
    """Line number at the beginning of a fault's place; 0 for the file as a whole."""
    words = fault.place.replace(",", " ").split()
    return int(words[1]) if words[0] == "line" else 0


def _check_header(table: Table, more: Sequence[str], tests: Mapping[str, BenchTest], faults: Faults) -> bool:
    """Report all faults of the header except those of its units; False if the rows cannot be read.

    ``tests``: a design's tests, to which the columns of a meter's log can be mapped.
    """
    known = (*COLUMNS, *more)
    names = [heading.name for heading in table.headings]
    place = f"line {table.header_line}, header"
    sound = True
    if not any(name in known for name in names):
        text = ", ".join(names)
        lacking = ", ".join(f"no column {name}" for name in REQUIRED)
        found = f"{lacking}, but {text if len(text) <= 40 else f'{text[:40]}…'!r}"
        hint = "Is this the readings file? Cells are separated by commas, semicolons or tabs."
        logged = [head.text for head in table.headings if kind_of(head.text) not in ("", "frequency")]
        shown = logged[0] if logged else ""
        if shown and tests:
            hint = (
                "A log of a meter? Say which column is which test, and which one names the sample: "
                f'--map "{shown}={next(iter(tests))}" --map "No.=sample".'
            )
        faults.add(place, found, f"the columns {', '.join(REQUIRED)}, in any order", hint)
        return False
    for number, heading in enumerate(table.headings):
        if not heading.name:
            faults.add(place, f"no name for column {number + 1}", "a name for every column")
        elif heading.name in names[:number]:
            sound = False
            faults.add(place, f"column {heading.name} again (column {number + 1})", "every column once")
        elif heading.name not in known:
            hint = nearest(heading.name, known) or _usually(heading.name)
            faults.add(place, f"column {heading.name!r}", f"the columns {', '.join(known)}", hint)
    for name in REQUIRED:
        if name not in names:
            sound = False
            hint = "" if len(names) > 1 else "Cells are separated by commas, semicolons or tabs."
            faults.add(place, f"no column {name}", f"the columns {', '.join(REQUIRED)}, in any order", hint)
    return sound


VALUES = ("value", "measured", "measurement", "result", "display")
"""Headings that people put above readings. Common practice."""


def _usually(heading: str) -> str:
    """What a column of a long table that is not known is usually called here."""
    for headings, name in ((PARTS, "sample"), (VALUES, "reading")):
        if heading.strip().lower() in headings:
            return f"Call that column {name!r}."
    return "Free text goes in the column note."


def _check_units(table: Table, tests: Mapping[str, BenchTest], faults: Faults) -> None:
    for heading in table.headings:
        if heading.unit:
            _check_unit(heading, tests, faults, f"line {table.header_line}, header")


def _check_unit(heading: ColumnHeading, tests: Mapping[str, BenchTest], faults: Faults, place: str) -> None:
    """Report a unit in the header that does not suit any cell of its column."""
    found = f"unit {heading.unit!r} of column {heading.name}"
    if heading.name not in QUANTITIES:
        faults.add(place, found, f"units of {', '.join(QUANTITIES)} only")
        return
    if heading.name in ("temperature", "frequency"):
        dimensions = {heading.name}
    elif heading.name == "uncertainty" and heading.unit == "%":
        return
    else:  # an impedance may replace any of the others
        dimensions = {DIMENSIONS[test.measure] for test in tests.values()} | {"resistance"}
    hints = []
    for dimension in sorted(dimensions):
        try:
            parse_quantity(f"1 {heading.unit}", dimension)
        except QuantityError as error:
            hints.append(error.faults[0].hint)
        else:
            return
    guess = next((hint for hint in hints if hint.startswith("Did you mean")), "")
    faults.add(place, found, f"a unit of {' or '.join(sorted(dimensions))}", guess)
