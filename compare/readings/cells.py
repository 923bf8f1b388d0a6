"""One row of readings, cell by cell: text → a Reading in SI.

A unit is taken from the cell, else from the row's ``unit``, else from the header. None is guessed. Ratios
and qualities have no unit, a phase without one is in degrees and a temperature in °C (the file format says
so); any other number without a unit is refused.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field

from ...predict.circuit import IMPEDANCE_MEASURES, display
from ...predict.design import BenchTest, Equivalent
from ...predict.errors import Fault, Faults, QuantityError, ReadingsError, nearest
from ...predict.measures import MEASURES
from ...predict.plain_text import LONGEST_NAME, shortened, unfit
from ...predict.quantity import parse_quantity, parse_reading, split_uncertainty

QUANTITIES = ("reading", "uncertainty", "temperature", "frequency")
"""Columns that hold numbers, and may have a unit in the header."""

DIMENSIONS = {name: measure.dimension for name, measure in MEASURES.items()}
"""Dimension of the displayed quantity of each measure."""

EXPANSION = 2.0
"""Coverage factor of uncertainties in files (JCGM 100: k = 2 where nothing else is said)."""

DECIMAL_SIGN = re.compile(r"\d([.,])\d")
_POSSIBLE_THOUSANDS = re.compile(r"(?<![\d.,])[1-9]\d{0,2}([.,])\d{3}(?![\d.,])")
_OWN_UNIT = re.compile(r"[\d.j]\s*(?![pnumkMGj]$)([A-Za-zµμΩΩ°]+)$")
_BARE = re.compile(r"[+-]?[\d.,]+(?:[eE][+-]?\d+)?")
_TO_ONE = re.compile(r"(?<=\d)\s*:\s*1$")


@dataclass(frozen=True, kw_only=True)
class Reading:
    """One reading of one test on one sample.

    Attributes
    ----------
    sample : str
        Name of the sample.
    test : str
        Name of the test.
    value : float or None
        Displayed quantity with its sign, SI (rad for a phase); None if missing (``OL``, ``----``, empty).
    impedance : complex or None
        Impedance Z if the cell was complex, ohm, else None; ``value`` is then what the meter displays for it.
    uncertainty : float or None
        Standard uncertainty (k = 1), absolute, in SI units; None if not given or if the value is missing.
    temperature : float or None
        Temperature of the part, degC, or None.
    frequency : float or None
        Frequency, Hz; None for the test's own.
    stage : str
        Stage of the making; "" if finished.
    batch : str
        Batch; "" if none was given.
    note : str
        Free text.
    line : int
        Line of the file, or number of the option on the command line, count from 1.
    """

    sample: str
    test: str
    value: float | None
    impedance: complex | None = None
    uncertainty: float | None = None
    temperature: float | None = None
    frequency: float | None = None
    stage: str = ""
    batch: str = ""
    note: str = ""
    line: int = 0


@dataclass(frozen=True)
class Conventions:
    """What holds for all rows of a file.

    Attributes
    ----------
    tests : Mapping[str, BenchTest]
        Tests of the design by name.
    equivalent : Equivalent
        Equivalent circuit of the bench's display.
    units : Mapping[str, str]
        Units in the header, by column.
    decimal_comma : bool
        Whether a decimal comma is allowed.
    signs : frozenset[str]
        Decimal signs (``.``, ``,``) that occur in the numbers.
    """

    tests: Mapping[str, BenchTest]
    equivalent: Equivalent
    units: Mapping[str, str] = field(default_factory=dict)
    decimal_comma: bool = False
    signs: frozenset[str] = frozenset()


def read_row(
    cells: Mapping[str, str], conventions: Conventions, faults: Faults, line: int, place: str
) -> Reading | None:
    """Read one row.

    Parameters
    ----------
    cells : Mapping[str, str]
        Text by column, without surrounding blanks; a missing column counts as empty.
    conventions : Conventions
        What holds for all rows.
    faults : Faults
        Receives every fault that is found.
    line : int
        Line of the file, count from 1; kept in the reading.
    place : str
        Where the row stands, for its faults ("line 4").

    Returns
    -------
    Reading or None
        The reading; None if the row has a fault, all of which are then in ``faults``.
    """
    before = len(faults.found)
    sample, name = cells.get("sample", ""), cells.get("test", "")
    if not sample:
        faults.add(f"{place}, sample", "an empty cell", "the sample's name", "Repeat it in every row.")
    _check_lengths(cells, faults, place)
    test = conventions.tests.get(name)
    if test is None:
        known = ", ".join(conventions.tests)
        allowed = f"a test of the design ({known if len(known) < 120 else known[:117] + '...'})"
        faults.add(f"{place}, test", repr(name), allowed, nearest(name, conventions.tests))
    temperature = _condition("temperature", cells, conventions, faults, place)
    frequency = _condition("frequency", cells, conventions, faults, place)
    if test is None:
        return None
    if test.measure == "resistance" and frequency is not None:
        found = f"{cells['frequency']!r} for {name}"
        hint = "This test is read with direct current; an alternating one is another measure."
        faults.add(f"{place}, frequency", found, "an empty cell", hint)
    value = impedance = uncertainty = None
    with faults.collect(f"{place}, reading"):
        value, impedance = _value(cells, test, conventions, frequency)
    if cells.get("uncertainty"):
        with faults.collect(f"{place}, uncertainty"):
            uncertainty = _uncertainty(cells, test, conventions, value)
    if len(faults.found) > before:
        return None
    texts = {column: cells.get(column, "") for column in ("stage", "batch", "note")}
    return Reading(
        sample=sample,
        test=name,
        value=value,
        impedance=impedance,
        uncertainty=uncertainty,
        temperature=temperature,
        frequency=frequency,
        **texts,
        line=line,
    )


ONE_LINE = ("sample", "reading", "uncertainty", "temperature", "frequency", "unit", "stage", "batch")
"""Columns whose cells are names or numbers, on one line."""


def _check_lengths(cells: Mapping[str, str], faults: Faults, place: str) -> None:
    """Names and numbers are short and on one line."""
    for column in ONE_LINE:
        if wrong := unfit(cells.get(column, ""), LONGEST_NAME):
            found = f"{wrong} in {shortened(cells[column])}"
            allowed = (
                f"at most {LONGEST_NAME} characters on one line, none of which steers a terminal or a page"
            )
            faults.add(f"{place}, {column}", found, allowed)


def displayed_of_impedance(
    impedance: complex, test: BenchTest, frequency: float | None, equivalent: Equivalent
) -> float:
    """The number that the meter displays for an impedance at the driven terminals.

    Equations, range of validity and source: ``predict.display``; ``resistance`` is the real part.

    Parameters
    ----------
    impedance : complex, impedance Z at the driven terminals, ohm
    test : BenchTest
    frequency : float or None, frequency, Hz; not used by ``resistance``
    equivalent : Equivalent, equivalent circuit of the display, "series" or "parallel"

    Returns
    -------
    float, displayed reading, SI (rad for a phase)

    Raises
    ------
    ReadingsError
        Z does not determine the measure (ratio, mutual inductance, and a phase with a sense winding need a
        second voltage), or the display is infinite at this Z.
    """
    if test.measure == "resistance":
        return impedance.real
    found = f"the impedance {impedance:.6g} ohm"
    if test.measure not in IMPEDANCE_MEASURES or test.sense:
        why = "The impedance at the driven terminals does not give the voltage at the sensed ones."
        raise ReadingsError(Fault("", found, f"the {test.measure} itself, as the meter shows it", why))
    if frequency is None:
        raise ReadingsError(Fault("", found, "an impedance with its frequency, in the test or the row"))
    value = float(display(test.measure, impedance, 2.0 * math.pi * frequency, equivalent))
    if not math.isfinite(value):
        raise ReadingsError(Fault("", found, f"an impedance whose {test.measure} ({equivalent}) is finite"))
    return value


def fits(unit: str, dimension: str) -> bool:
    """Whether a unit measures a dimension.

    Parameters
    ----------
    unit : str, name of the unit
    dimension : str, name of the dimension
    """
    try:
        parse_quantity(f"1 {unit}", dimension)
    except QuantityError:
        return False
    return True


def _value(
    cells: Mapping[str, str], test: BenchTest, conventions: Conventions, frequency: float | None
) -> tuple[float | None, complex | None]:
    """The displayed quantity (SI) and, for a complex cell, the impedance. Raises AswoundError."""
    text, dimension = cells.get("reading", ""), DIMENSIONS[test.measure]
    _check_decimal_sign(text, conventions)
    if test.measure == "ratio":
        text = _TO_ONE.sub("", text)
    is_complex = bool(re.search(r"\dj|j\s*\d", text))
    unit = _unit(cells, "reading", conventions, "resistance" if is_complex else dimension)
    _check_units_agree(text, cells.get("unit", ""), "resistance" if is_complex else dimension)
    parsed = parse_reading(text, dimension, unit=unit, decimal_comma=conventions.decimal_comma)
    if isinstance(parsed, complex):
        at = test.frequency if frequency is None else frequency
        return displayed_of_impedance(parsed, test, at, test.equivalent or conventions.equivalent), parsed
    return parsed, None


def _uncertainty(
    cells: Mapping[str, str], test: BenchTest, conventions: Conventions, value: float | None
) -> float | None:
    """Standard uncertainty (k = 1), absolute, SI, of a cell that is not empty; None if the reading is
    missing."""
    text, dimension = cells["uncertainty"], DIMENSIONS[test.measure]
    _check_decimal_sign(text, conventions)
    if conventions.units.get("uncertainty") == "%" and _BARE.fullmatch(text):
        text += " %"
    column = "uncertainty" if "uncertainty" in conventions.units else "reading"
    unit = _unit(cells, column, conventions, dimension)
    expanded, relative = split_uncertainty(
        text, dimension, unit=unit, decimal_comma=conventions.decimal_comma
    )
    if expanded == 0.0 or (relative and value == 0.0):
        hint = "Leave the cell empty for the meter's own accuracy."
        if expanded:
            hint = "The reading is 0: give the uncertainty with a unit."
        raise ReadingsError(Fault("", repr(text), "an uncertainty above 0", hint))
    if value is None:
        return None
    return expanded / EXPANSION * (abs(value) if relative else 1.0)


def _condition(
    column: str, cells: Mapping[str, str], conventions: Conventions, faults: Faults, place: str
) -> float | None:
    """Temperature (°C) or frequency (Hz) of a row; None where the cell is empty or faulty."""
    text = cells.get(column, "")
    if not text:
        return None
    with faults.collect(f"{place}, {column}"):
        _check_decimal_sign(text, conventions)
        unit = conventions.units.get(column, "degC" if column == "temperature" else None)
        parsed = parse_reading(text, column, unit=unit, decimal_comma=conventions.decimal_comma)
        if isinstance(parsed, complex) or (column == "frequency" and parsed is not None and parsed <= 0.0):
            raise ReadingsError(Fault("", repr(text), f"a {column}" + ", above 0" * (column == "frequency")))
        return parsed
    return None


def _unit(cells: Mapping[str, str], column: str, conventions: Conventions, dimension: str) -> str | None:
    """Unit of a cell that has none of its own.

    The row's unit is taken as it is, and refused later if it does not fit. The header's unit is taken only
    if it fits, because other rows may hold other quantities.
    """
    if column == "reading" and cells.get("unit", "") not in ("", "-"):
        return cells["unit"]
    header = conventions.units.get(column, "")
    if header and fits(header, dimension):
        return header
    return "deg" if dimension == "angle" else None


def _check_units_agree(text: str, stated: str, dimension: str) -> None:
    """Refuse a cell whose own unit contradicts the row's ``unit``."""
    written = _OWN_UNIT.search(text)
    if written is None or stated in ("", "-") or not fits(written[1], dimension):
        return
    if not fits(stated, dimension) or not math.isclose(
        parse_quantity(f"1 {written[1]}", dimension), parse_quantity(f"1 {stated}", dimension)
    ):
        hint = "Write the unit once, in the cell or in the column unit."
        raise ReadingsError(Fault("", f"{text!r} in unit {stated!r}", "one unit for a reading", hint))


def _check_decimal_sign(text: str, conventions: Conventions) -> None:
    """Refuse 1,234 (or 1.234) if other numbers of the file use the other decimal sign: it may be a
    thousand."""
    group = _POSSIBLE_THOUSANDS.search(text)
    if group and conventions.decimal_comma and conventions.signs - {group[1]}:
        sign = "comma" if group[1] == "." else "point"
        hint = (
            f"Other numbers of this file have a decimal {sign}; write this one likewise, without separators."
        )
        raise ReadingsError(Fault("", repr(text), "a number that can be read in one way only", hint))
