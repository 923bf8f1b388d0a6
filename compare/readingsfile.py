"""CSV → readings, with every bad row reported and nothing returned from a file that has one.

Columns ``sample``, ``test``, ``reading`` in any order; optional ``uncertainty`` (expanded, k = 2, relative or
absolute), ``temperature``, ``frequency`` (overrides the test's), ``unit``, ``stage``, ``batch``, ``note``.
A unit stands in the cell, in the column ``unit``, or in the header: ``reading [uH]`` or ``reading (uH)``.
Files with semicolons or tabs may have decimal commas. A reading may be a complex impedance ("0.41 + 4.97j
ohm"); ``OL``, ``----`` and an empty cell are missing readings, which are kept. Several rows of one sample
and test are repeats.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from ..predict.design import Design
from ..predict.errors import Fault, Faults, QuantityError, ReadingsError, nearest
from ..predict.quantity import parse_quantity
from .delimited import Heading, Table, read_table
from .readingscells import (
    DECIMAL_SIGN,
    DIMENSIONS,
    QUANTITIES,
    Conventions,
    Reading,
    displayed,
    read_row,
)
from .readingstemplate import empty_template

__all__ = [
    "COLUMNS",
    "Reading",
    "displayed",
    "empty_template",
    "load_readings",
    "parse_readings",
    "readings_from_options",
]

REQUIRED = ("sample", "test", "reading")
COLUMNS = (*REQUIRED, "uncertainty", "temperature", "frequency", "unit", "stage", "batch", "note")


def load_readings(path: str | Path, design: Design) -> tuple[Reading, ...]:
    """Read a readings file (UTF-8, or UTF-16 with its byte-order mark) of ``design``'s tests.

    Returns the readings in the file's order, SI. Raises ReadingsError with every fault of the file, also if
    it cannot be opened or decoded. Format: the module's docstring.
    """
    name = str(path)
    try:
        data = Path(path).read_bytes()
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        fault = Fault("the file", reason.lower(), "a readings file (CSV) that can be opened", file=name)
        raise ReadingsError(fault) from error
    if data.startswith(b"PK\x03\x04"):
        hint = "Save the sheet as CSV UTF-8."
        raise ReadingsError(Fault("the file", "a workbook or an archive", "text (CSV)", hint, name))
    encoding = "utf-16" if data.startswith((b"\xff\xfe", b"\xfe\xff")) else "utf-8"
    try:
        text = data.decode(encoding)
    except UnicodeDecodeError as error:
        line = data[: error.start].decode(encoding, errors="replace").count("\n") + 1
        found = f"the byte {data[error.start]:02X} (hexadecimal)"
        hint = "Save the file as CSV UTF-8, or write u for micro and ohm for the unit's sign."
        raise ReadingsError(
            Fault(f"line {line}", found, f"text in {encoding.upper()}", hint, name)
        ) from error
    return parse_readings(text, design, name=name)


def parse_readings(text: str, design: Design, *, name: str = "") -> tuple[Reading, ...]:
    """Read the text of a readings file; ``name`` is the file's name in the faults.

    Returns the readings in the file's order, SI, missing ones included (``value`` None). Raises
    ReadingsError with every fault of the file. Format: the module's docstring.
    """
    faults = Faults(name)
    table = read_table(text, COLUMNS, faults)
    if table is None:
        faults.add(
            "the file", "no header", f"a header with {', '.join(REQUIRED)}, and a row for each reading"
        )
        raise ReadingsError(faults.found)
    if not _check_header(table, design, faults):
        raise ReadingsError(faults.found)
    names = [heading.name for heading in table.headings]
    rows = [(row.line, dict(zip(names, row.cells, strict=True))) for row in table.rows]
    numbers = [cells.get(column, "") for _, cells in rows for column in QUANTITIES]
    conventions = Conventions(
        tests={test.name: test for test in design.tests},
        equivalent=design.bench.equivalent,
        units={heading.name: heading.unit for heading in table.headings if heading.unit},
        decimal_comma=table.delimiter != ",",
        signs=frozenset(sign for number in numbers for sign in DECIMAL_SIGN.findall(number)),
    )
    readings = [read_row(cells, conventions, faults, line, f"line {line}") for line, cells in rows]
    if not readings and not faults.found:
        hint = "A sample whose name begins with # stands in quotation marks." if "#" in text else ""
        faults.add("the file", "no readings", "at least one row below the header", hint)
    faults.found.sort(key=_line_of)
    faults.raise_as(ReadingsError)
    return tuple(reading for reading in readings if reading is not None)


def readings_from_options(items: Sequence[str], design: Design, sample: str = "bench") -> tuple[Reading, ...]:
    """Readings given on the command line, each as ``test=reading`` ("L_P=612uH", "n=5.99", "Lk_P=0.4+5j
    ohm").

    Returns one Reading of ``sample`` for each item, in order, SI; ``line`` is the item's number. Raises
    ReadingsError with every fault; its place names the option.
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
    """Line number that a fault's place begins with; 0 for the file as a whole."""
    words = fault.place.replace(",", " ").split()
    return int(words[1]) if words[0] == "line" else 0


def _check_header(table: Table, design: Design, faults: Faults) -> bool:
    """Report all faults of the header; False if the rows cannot be read."""
    names = [heading.name for heading in table.headings]
    place = f"line {table.header_line}, header"
    sound = True
    for number, heading in enumerate(table.headings):
        if not heading.name:
            faults.add(place, f"no name for column {number + 1}", "a name for every column")
        elif heading.name in names[:number]:
            sound = False
            faults.add(place, f"column {heading.name} again (column {number + 1})", "every column once")
        elif heading.name not in COLUMNS:
            hint = nearest(heading.name, COLUMNS) or "Free text belongs into the column note."
            faults.add(place, f"column {heading.name!r}", f"the columns {', '.join(COLUMNS)}", hint)
        elif heading.unit:
            _check_unit(heading, design, faults, place)
    for name in REQUIRED:
        if name not in names:
            sound = False
            hint = "" if len(names) > 1 else "Cells are separated by commas, semicolons or tabs."
            faults.add(place, f"no column {name}", f"the columns {', '.join(REQUIRED)}, in any order", hint)
    return sound


def _check_unit(heading: Heading, design: Design, faults: Faults, place: str) -> None:
    """Report a unit in the header that none of the column's cells could have."""
    found = f"unit {heading.unit!r} of column {heading.name}"
    if heading.name not in QUANTITIES:
        faults.add(place, found, f"units of {', '.join(QUANTITIES)} only")
        return
    if heading.name in ("temperature", "frequency"):
        dimensions = {heading.name}
    elif heading.name == "uncertainty" and heading.unit == "%":
        return
    else:  # an impedance may stand for any of the others
        dimensions = {DIMENSIONS[test.measure] for test in design.tests} | {"resistance"}
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
