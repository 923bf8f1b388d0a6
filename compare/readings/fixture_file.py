"""CSV → the standards of a fixture, and readings corrected with them.

Columns ``standard`` (open, short, load), ``frequency``, ``reading`` (a complex impedance, "0.02 + 0.11j
ohm"; "OL" for a perfect open), for a load ``true`` (its own impedance), and optionally ``uncertainty`` (k
= 2, of each part of the reading, relative or in ohm; a load's covers its true value as well). Delimiters,
decimal commas, comments and units in the header are as in a readings file.

Readings that are complex impedances are corrected, each at its own frequency (``correction``). Displayed
numbers, voltage ratios and direct-current resistances stay as they are, and are named. The uncertainty of
a corrected reading combines the standards' with that of the raw reading: its own if stated, else meter and
handling. The floors of ``[bench]`` are defined as what remains after such corrections, so they stay.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from ...predict.circuit import display
from ...predict.design import Bench, BenchTest
from ...predict.errors import Fault, Faults, ReadingsError, nearest
from ...predict.notation import hertz
from ...predict.quantity import parse_quantity, parse_reading, split_uncertainty
from ..meter import REPEATABILITY, impedance_error, propagate
from .cells import EXPANSION, Reading
from .correction import SAME_FREQUENCY, FixtureStandards, RawReading, correct, standards_at
from .delimited import Table, TableRow, read_table
from .file import read_text

REQUIRED = ("standard", "frequency", "reading")
COLUMNS = (*REQUIRED, "uncertainty", "true")
STANDARDS = ("open", "short", "load")
EXAMPLE = "a complex impedance, such as 0.02 + 0.11j ohm"


@dataclass(frozen=True)
class FixtureCorrection:
    """Readings with the fixture taken off.

    Attributes
    ----------
    readings : tuple[Reading, ...]
        Readings, SI, those that could be corrected.
    kinds : tuple[tuple[str, str], ...]
        What was done, as ("open and short", "100 kHz").
    corrected : tuple[str, ...]
        Names of the tests whose readings were corrected.
    as_displayed : tuple[str, ...]
        Names of the tests whose readings stay as displayed.
    """

    readings: tuple[Reading, ...]
    kinds: tuple[tuple[str, str], ...]
    corrected: tuple[str, ...]
    as_displayed: tuple[str, ...]


def load_fixture(path: str | Path) -> tuple[FixtureStandards, ...]:
    """The standards in a fixture file, one entry for each frequency, lowest first.

    Parameters
    ----------
    path : str or Path
        The file.

    Raises
    ------
    ReadingsError
        Every fault of the file. Format: the module's docstring.
    """
    return parse_fixture(read_text(path), name=str(path))


def parse_fixture(text: str, *, name: str = "") -> tuple[FixtureStandards, ...]:
    """The standards in the text of a fixture file, as ``load_fixture``.

    Parameters
    ----------
    text : str, text of the whole file, decoded
    name : str, optional, name of the file, for messages

    Raises
    ------
    ReadingsError
        Every fault of the file.
    """
    faults = Faults(name)
    table = read_table(text, COLUMNS, faults)
    if table is None or not table.rows:
        faults.add("the file", "no rows", f"a header with {', '.join(REQUIRED)}, and a row for each standard")
        raise ReadingsError(faults.found)
    header = Faults(name)
    _check_header(table, header)
    standards: dict[float, dict[str, tuple[int, RawReading]]] = {}
    for row in table.rows:
        _read_row(row, table, standards, faults)
    for frequency, taken in standards.items():
        lacking = [standard for standard in ("open", "short") if standard not in taken]
        if "load" in taken and lacking:
            faults.add(
                f"line {taken['load'][0]}",
                f"a load at {hertz(frequency)} without {' and '.join(lacking)}",
                "open, short and load at the same frequency",
            )
    faults.raise_as(ReadingsError)
    return tuple(
        FixtureStandards(frequency, **{name: raw for name, (_, raw) in standards[frequency].items()})
        for frequency in sorted(standards)
    )


def _check_header(table: Table, faults: Faults) -> None:
    """Raises ReadingsError where the rows cannot be read."""
    names = [heading.name for heading in table.headings]
    place = f"line {table.header_line}, header"
    for column in dict.fromkeys(names):
        if names.count(column) > 1:
            faults.add(place, f"column {column} again", "every column once")
        if column not in COLUMNS:
            faults.add(
                place, f"column {column!r}", f"the columns {', '.join(COLUMNS)}", nearest(column, COLUMNS)
            )
    for column in REQUIRED:
        if column not in names:
            faults.add(place, f"no column {column}", f"the columns {', '.join(REQUIRED)}, in any order")
    faults.raise_as(ReadingsError)


def _read_row(
    row: TableRow, table: Table, standards: dict[float, dict[str, tuple[int, RawReading]]], faults: Faults
) -> None:
    cells = dict(zip((heading.name for heading in table.headings), row.cells, strict=True))
    units = {heading.name: heading.unit or None for heading in table.headings}
    comma = table.delimiter != ","
    place, before = f"line {row.line}", len(faults.found)
    standard = cells["standard"].casefold()
    if standard not in STANDARDS:
        faults.add(
            f"{place}, standard", repr(cells["standard"]), ", ".join(STANDARDS), nearest(standard, STANDARDS)
        )
    frequency = 0.0
    with faults.collect(f"{place}, frequency"):
        text = re.sub(r"(?<=\d),(?=\d)", ".", cells["frequency"]) if comma else cells["frequency"]
        bare = re.fullmatch(r"[\d.eE+-]+", text) and units["frequency"]
        frequency = parse_quantity(
            f"{text} {units['frequency']}" if bare else text, "frequency", positive=True
        )
    impedance = _impedance(cells["reading"], units["reading"], comma, f"{place}, reading", faults)
    if impedance is None and standard in ("short", "load"):
        faults.add(f"{place}, reading", repr(cells["reading"]), EXAMPLE, 'Only an open may read "OL".')
    if impedance is None:
        impedance = complex(math.inf)
    doubt = _doubt(cells, units, impedance, comma, f"{place}, uncertainty", faults)
    truth = cells.get("true", "")
    true_load: complex | None = None
    if standard == "load":
        true_load = _impedance(truth, units.get("true"), comma, f"{place}, true", faults)
        if true_load is None or true_load == 0:
            hint = "It is the load's own impedance at this frequency, without the fixture."
            faults.add(f"{place}, true", repr(truth), EXAMPLE, hint)
    elif truth and standard in STANDARDS:
        faults.add(
            f"{place}, true",
            repr(truth),
            f"an empty cell: this is the true value of a load, not of {standard}",
        )
    if len(faults.found) > before:
        return
    near = [known for known in standards if abs(known - frequency) <= SAME_FREQUENCY * frequency]
    entry = standards.setdefault(near[0] if near else frequency, {})
    if standard in entry:
        where = f"{standard} again at {hertz(frequency)} (line {entry[standard][0]})"
        faults.add(place, where, "every standard once at each frequency", "Average its repeats.")
        return
    entry[standard] = (row.line, RawReading(impedance, doubt))
    if true_load is not None:
        entry["true_load"] = (row.line, RawReading(true_load))


def _doubt(
    cells: Mapping[str, str],
    units: Mapping[str, str | None],
    impedance: complex,
    comma: bool,
    place: str,
    faults: Faults,
) -> float:
    """Standard uncertainty (ohm) of a reading; 0 where the cell is empty."""
    text = cells.get("uncertainty", "")
    if not text:
        return 0.0
    doubt = 0.0
    with faults.collect(place):
        unit = units["uncertainty"] or units["reading"]
        if units["uncertainty"] == "%" and not text.endswith("%"):
            text += " %"
        expanded, relative = split_uncertainty(text, "resistance", unit=unit, decimal_comma=comma)
        doubt = expanded / EXPANSION * (abs(impedance) if relative else 1.0)
        if not math.isfinite(doubt) or (math.isinf(impedance.real) and doubt):
            raise ReadingsError(Fault("", repr(text), 'an empty cell, as the open reads "OL"'))
    return doubt


def _impedance(text: str, unit: str | None, comma: bool, place: str, faults: Faults) -> complex | None:
    """A complex impedance (ohm), or a resistance ("50 ohm"); None for "OL" and the like."""
    with faults.collect(place):
        parsed = parse_reading(text, "resistance", unit=unit, decimal_comma=comma)
        if parsed is not None:
            return complex(parsed)
        if not text:
            raise ReadingsError(Fault("", "an empty cell", EXAMPLE))
        return None
    return complex(math.nan)  # its fault is reported already


def correct_readings(
    tests: Mapping[str, BenchTest],
    bench: Bench,
    readings: Sequence[Reading],
    standards: tuple[FixtureStandards, ...],
) -> FixtureCorrection:
    """Correct readings that are complex impedances by the standards at their frequency.

    Values, impedances and uncertainties (standard, absolute) are replaced; everything else is passed on.
    Valid for uncertainties small against the impedances, as ``correct``.

    Parameters
    ----------
    tests : Mapping[str, BenchTest]
        Tests by name.
    bench : Bench
        Meter, and equivalent circuit of the display.
    readings : Sequence[Reading]
        Readings of all samples, SI.
    standards : tuple[FixtureStandards, ...]
        Standards of the fixture, one entry per frequency.

    Raises
    ------
    ReadingsError
        Every test at whose frequency no standards were taken.
    """
    faults = Faults()
    result: list[Reading] = []
    kinds: dict[tuple[str, str], None] = {}
    corrected: dict[str, None] = {}
    left: dict[str, None] = {}
    asked: set[tuple[str, float]] = set()
    for reading in readings:
        test = tests[reading.test]
        frequency = reading.frequency if reading.frequency is not None else test.frequency
        if reading.impedance is None or test.measure == "resistance" or frequency is None:
            result.append(reading)
            if reading.value is not None:
                left[reading.test] = None
            continue
        if (reading.test, frequency) in asked:
            continue
        before = len(faults.found)
        with faults.collect(f"reading of {reading.test}"):
            taken = standards_at(standards, frequency)
            result.append(_corrected(reading, test, frequency, bench, taken))
            kinds[taken.kind, hertz(frequency)] = None
            corrected[reading.test] = None
        if len(faults.found) > before:
            asked.add((reading.test, frequency))
    faults.raise_as(ReadingsError)
    return FixtureCorrection(tuple(result), tuple(kinds), tuple(corrected), tuple(left))


def _corrected(
    reading: Reading, test: BenchTest, frequency: float, bench: Bench, standards: FixtureStandards
) -> Reading:
    raw = reading.impedance
    assert raw is not None
    omega, circuit = 2 * math.pi * frequency, test.equivalent or bench.equivalent

    def shown(parts: np.ndarray) -> np.ndarray:
        return np.asarray(display(test.measure, parts[..., 0] + 1j * parts[..., 1], omega, circuit))[
            ..., None
        ]

    doubt = float(impedance_error(bench, abs(raw), frequency)) / EXPANSION
    handling = 0.0
    if reading.uncertainty is not None:
        point = [raw.real, raw.imag]
        slope = float(propagate(shown, point, np.full(2, 1e-6 * abs(raw))).uncertainty[0]) / (1e-6 * abs(raw))
        doubt = reading.uncertainty / slope if slope > 0 else 0.0
    elif test.measure != "phase":
        handling = REPEATABILITY.get(test.measure, REPEATABILITY["default"])
    impedance, estimate = correct(RawReading(raw, doubt), standards)
    displayed = propagate(shown, estimate.value, estimate.covariance)
    value = float(displayed.value[0])
    if not math.isfinite(value):
        found = f"{impedance:.6g} ohm after correction"
        raise ReadingsError(
            Fault(
                "", found, f"an impedance whose {test.measure} ({circuit}) is finite", "Check the standards."
            )
        )
    uncertainty = math.hypot(float(displayed.uncertainty[0]), handling * abs(value))
    return replace(reading, value=value, impedance=impedance, uncertainty=uncertainty)
