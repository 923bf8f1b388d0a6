"""A meter's own log → the long form. A map says which column is which test, "Ls=L_P".

Each row is one measurement, with columns such as frequency, Ls, Rs, Lp, Rp, Cs, Cp, Q, D, Z, X, θ. A
column that shows what its test displays is taken as it is. Any other is combined with a second column of
the same row into the impedance, from which the test's display follows:

    |Z|, θ               Z = |Z| (cos θ + j sin θ)
    Rs, X                Z = Rs + jX
    Ls, and Rs, Q or D   Z = Rs + jωLs,           Rs = ωLs/Q = D ωLs
    Cs, and Rs, Q or D   Z = Rs + 1/(jωCs),       Rs = D/(ωCs) = 1/(Q ωCs)
    Lp, and Rp, Q or D   1/Z = 1/Rp + 1/(jωLp),   Rp = Q ωLp = ωLp/D
    Cp, and Rp, Q or D   1/Z = 1/Rp + jωCp,       Rp = Q/(ωCp) = 1/(D ωCp)

Source: definitions of the equivalent circuits, circuit theory. Range: one frequency per row, D = 1/Q.
"""

from __future__ import annotations

import cmath
import math
import re
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace

from ...predict.design import BenchTest, Equivalent
from ...predict.errors import Fault, Faults, ReadingsError, nearest
from ...predict.quantity import format_quantity, parse_reading
from .cells import DIMENSIONS, fits
from .delimited import ColumnHeading, Table, TableRow
from .shapes import with_unit

QUANTITIES = {
    "frequency": ("frequency", ("frequency", "freq", "f", "test frequency")),
    "Ls": ("inductance", ("ls", "l s", "l(s)", "lser")),
    "Lp": ("inductance", ("lp", "l p", "l(p)", "lpar")),
    "L": ("inductance", ("l", "inductance")),
    "Rs": ("resistance", ("rs", "r s", "r(s)", "esr", "rser")),
    "Rp": ("resistance", ("rp", "r p", "r(p)", "epr", "rpar")),
    "Rdc": ("resistance", ("rdc", "dcr", "r dc", "rd")),
    "R": ("resistance", ("r", "resistance")),
    "Cs": ("capacitance", ("cs", "c s", "c(s)")),
    "Cp": ("capacitance", ("cp", "c p", "c(p)")),
    "C": ("capacitance", ("c", "capacitance")),
    "Q": ("number", ("q", "quality")),
    "D": ("number", ("d", "df", "tan d", "tan δ", "tanδ", "dissipation")),
    "Z": ("resistance", ("z", "|z|", "impedance")),
    "X": ("resistance", ("x", "xs", "reactance")),
    "θ": ("angle", ("θ", "theta", "phase", "phi", "φ", "ϕ", "θz", "angle", "deg", "th")),
}
"""Columns of meters' logs: dimension and spellings (small letters, without unit)."""

SHOWS: Mapping[str, Mapping[str, tuple[str, ...]]] = {
    "inductance": {"series": ("Ls", "L"), "parallel": ("Lp", "L")},
    "ac_resistance": {"series": ("Rs", "R"), "parallel": ("Rp", "R")},
    "quality": {"series": ("Q",), "parallel": ("Q",)},
    "resistance": {"series": ("Rdc", "R"), "parallel": ("Rdc", "R")},
    "capacitance": {"series": ("Cs", "Cp", "C"), "parallel": ("Cs", "Cp", "C")},
    "phase": {"series": ("θ",), "parallel": ("θ",)},
    "resonance": {"series": ("frequency",), "parallel": ("frequency",)},
}
"""What a test displays, by measure and equivalent circuit. (The capacitance between windings has so little
loss that both circuits show the same.)"""


SAME = 0.01
"""Two frequencies within this relative difference are the same (judged; no data behind it)."""
DIRECT = ("resistance", "resonance", "ratio", "mutual")
"""Measures that no impedance at the test's frequency can show."""


@dataclass(frozen=True)
class Mapped:
    """One item of a map.

    Attributes
    ----------
    column : str, heading of the column
    unit : str, its unit, or ""
    target : str, test, or usual column, that the column holds
    """

    column: str
    unit: str
    target: str


def mapping_of(items: Sequence[str]) -> tuple[Mapped, ...]:
    """Items of a map: ``"Ls=L_P"``, ``"Ls [uH]=L_P"``, ``"No.=sample"``.

    Parameters
    ----------
    items : Sequence[str], the options as typed

    Raises
    ------
    ReadingsError
        An item of any other form.
    """
    faults = Faults()
    result = []
    for item in items:
        column, equals, target = (part.strip() for part in item.partition("="))
        if not (equals and column and target):
            allowed = 'COLUMN=TEST, such as "Ls=L_P", or a usual column, such as "No.=sample"'
            faults.add(f"option --map {item}", repr(item), allowed)
            continue
        name, unit = _apart(column)
        result.append(Mapped(name if unit else column, unit, target))
    faults.raise_as(ReadingsError)
    return tuple(result)


def known_heads(mapping: Sequence[Mapped]) -> tuple[str, ...]:
    """Headings of a map in small letters, with and without their units; they identify the header line."""
    return tuple(name for item in mapping for name in (item.column.casefold(), _plain(item.column)))


def renamed(table: Table, mapping: Sequence[Mapped], usual: Collection[str], faults: Faults) -> Table:
    """The table with its columns renamed as a map says (sample, frequency, reading, …).

    Parameters
    ----------
    table : Table
    mapping : Sequence[Mapped], items of a map
    usual : Collection[str], usual columns
    faults : Faults, receives columns that do not exist, and targets that are mapped twice
    """
    headings = list(table.headings)
    for item in mapping:
        column_index = _place_of(table, item, faults)
        if column_index is not None and item.target in usual:
            headings[column_index] = ColumnHeading(
                item.target, item.unit or headings[column_index].unit, headings[column_index].text
            )
    return replace(table, headings=tuple(headings))


def log_form(
    table: Table,
    mapping: Sequence[Mapped],
    tests: Mapping[str, BenchTest],
    usual: Collection[str],
    equivalent: Equivalent,
    name: str,
    faults: Faults,
) -> Table:
    """A log as the long table, by the items of a map that name tests.

    Parameters
    ----------
    table : Table, the log
    mapping : Sequence[Mapped], items of a map
    tests : Mapping[str, BenchTest], tests of the design by name
    usual : Collection[str], columns that hold for a whole row; all others serve only to find an impedance
    equivalent : Equivalent, equivalent circuit of the bench
    name : str
        Name of the sample if the file has no column for it; every test may then occur only once at each
        frequency.
    faults : Faults, receives unknown tests, and columns that cannot hold what their test displays
    """
    columns = _kinds(table)
    kept = [at for at, head in enumerate(table.headings) if head.name in usual and head.name != "unit"]
    heads = [table.headings[at] for at in kept]
    frequency = next((at for at, kind in columns.items() if kind == "frequency"), None)
    named = [head.name for head in heads]
    if frequency is not None and "frequency" not in named:
        kept.append(frequency)
        heads.append(replace(table.headings[frequency], name="frequency"))
    lacks_sample = "sample" not in named
    used = _used(table, mapping, tests, usual, faults)
    shared: dict[int, list[BenchTest]] = {}
    for column_index, item in used:
        shared.setdefault(column_index, []).append(tests[item.target])
    rows = []
    for row in table.rows:
        meant: dict[int, str] = {}
        for column_index, several in shared.items():
            with faults.collect(f"line {row.line}, {table.headings[column_index].text}"):
                meant[column_index] = (
                    several[0].name if len(several) == 1 else _meant(table, row, columns, several)
                )
        for column_index, item in used:
            if meant.get(column_index) != item.target:
                continue
            test = tests[item.target]
            cells = [row.cells[at] for at in kept]
            if test.measure in ("resistance", "resonance"):
                cells = [
                    "" if head.name == "frequency" else cell for head, cell in zip(heads, cells, strict=True)
                ]
            label = f"{table.headings[column_index].text} as {test.name}"
            text = ""
            with faults.collect(f"line {row.line}, {label}"):
                text = _reading(table, row, columns, column_index, item, test, equivalent)
            rows.append(
                TableRow(row.line, (*cells, *([name] if lacks_sample else []), test.name, text), label)
            )
    added = [ColumnHeading("sample", "", "sample")] if lacks_sample else []
    headings = (*heads, *added, ColumnHeading("test", "", "test"), ColumnHeading("reading", "", "reading"))
    if lacks_sample:
        _once(rows, heads, faults)
    return Table(table.delimiter, table.header_line, headings, tuple(rows))


# --- columns ----------------------------------------------------------------------------------------


def _apart(text: str) -> tuple[str, str]:
    """(name, unit) of a heading: "Ls [uH]", "Ls(uH)", "Ls, uH"; the unit "" where there is none."""
    found = re.fullmatch(
        r"(.+?)\s*(?:\[\s*(\S+?)\s*\]|\(\s*(\S{2,}?|[HFΩ°])\s*\)|[,/]\s*(\S+))", text.strip()
    )
    if found is None:
        return text.strip(), ""
    return found[1], found[2] or found[3] or found[4] or ""


def _plain(text: str) -> str:
    """A heading in small letters, without unit, dots, dashes and underscores, for comparison."""
    return re.sub(r"[\s._-]+", " ", _apart(text)[0].casefold()).strip()


def kind_of(heading: str) -> str:
    """Which of ``QUANTITIES`` a heading means; "" for none of them."""
    plain = _plain(heading)
    return next((kind for kind, (_, spellings) in QUANTITIES.items() if plain in spellings), "")


def _kinds(table: Table) -> dict[int, str]:
    return {at: kind for at, head in enumerate(table.headings) if (kind := kind_of(head.text))}


def _place_of(table: Table, item: Mapped, faults: Faults) -> int | None:
    texts = [head.text for head in table.headings]
    for same in (
        lambda text: text == item.column,
        lambda text: text.casefold() == item.column.casefold(),
        lambda text: _plain(text) == _plain(item.column),
    ):
        indices = [at for at, text in enumerate(texts) if same(text)]
        if len(indices) == 1:
            return indices[0]
    hint = nearest(item.column, texts)
    faults.add(
        f"option --map {item.column}={item.target}", repr(item.column), f"a column: {', '.join(texts)}", hint
    )
    return None


def _used(
    table: Table,
    mapping: Sequence[Mapped],
    tests: Mapping[str, BenchTest],
    usual: Collection[str],
    faults: Faults,
) -> list[tuple[int, Mapped]]:
    """(place of the column, item) of every item that names a test; faults for what cannot be used."""
    used: list[tuple[int, Mapped]] = []
    for item in mapping:
        place = f"option --map {item.column}={item.target}"
        if item.target in usual:
            continue
        if item.target not in tests:
            known = ", ".join(tests)
            allowed = f"a test of the design ({known}), or a column ({', '.join(usual)})"
            faults.add(place, repr(item.target), allowed, nearest(item.target, [*tests, *usual]))
            continue
        at = _place_of(table, item, Faults())
        if at is None:
            continue  # reported where the columns are renamed
        others = [tests[known.target] for position, known in used if position == at]
        if others and not _told_by_frequency(table, [*others, tests[item.target]]):
            faults.add(
                place,
                f"the column {item.column} for two tests",
                "one test for each column; several if a frequency column tells them apart",
            )
            continue
        if _bare(table, at, item):
            hint = f'Say it in the heading or in the map, as in --map "{item.column} [H]={item.target}".'
            faults.add(place, f"the column {item.column} without a unit", "a column with its unit", hint)
            continue
        used.append((at, item))
    return used


def _told_by_frequency(table: Table, tests: Sequence[BenchTest]) -> bool:
    """Whether the frequency of a row tells which of several tests it belongs to."""
    known = "frequency" in _kinds(table).values() or any(head.name == "frequency" for head in table.headings)
    frequencies = [test.frequency for test in tests if test.frequency is not None]
    return known and len(frequencies) == len(tests) == len(set(frequencies))


def _bare(table: Table, at: int, item: Mapped) -> bool:
    """Whether a column of inductances (capacitances, resistances) has plain numbers and no unit at all."""
    heading = table.headings[at]
    dimension = QUANTITIES.get(kind_of(heading.text), ("", ()))[0]
    if dimension not in ("inductance", "capacitance", "resistance"):
        return False
    if item.unit or heading.unit or _apart(heading.text)[1]:
        return False
    return all(re.fullmatch(r"[+-]?[\d.,]+(?:[eE][+-]?\d+)?|", row.cells[at].strip()) for row in table.rows)


def _frequency_of(table: Table, row: TableRow, columns: Mapping[int, str]) -> float | None:
    """The frequency (Hz) of a row; None where it has none."""
    for at, head in enumerate(table.headings):
        if columns.get(at) == "frequency" or head.name == "frequency":
            return _number(table, row, at, "frequency", head.unit)
    return None


def _meant(table: Table, row: TableRow, columns: Mapping[int, str], tests: Sequence[BenchTest]) -> str:
    """Which of several tests of one column a row belongs to: the one at its frequency (within ``SAME``).
    Raises ReadingsError."""
    frequency = _frequency_of(table, row, columns)
    for test in tests:
        assert test.frequency is not None
        if frequency is not None and abs(frequency / test.frequency - 1) <= SAME:
            return test.name
    known = ", ".join(
        f"{test.name} at {format_quantity(test.alternating_frequency, 'Hz', 4)}" for test in tests
    )
    told = "no frequency" if frequency is None else format_quantity(frequency, "Hz", 4)
    raise ReadingsError(Fault("", told, f"the frequency of one of the tests of this column: {known}"))


def _once(rows: Sequence[TableRow], heads: Sequence[ColumnHeading], faults: Faults) -> None:
    """A log without samples holds one part: a test read twice at one frequency would mean two parts."""
    at = next((number for number, head in enumerate(heads) if head.name == "frequency"), None)
    seen: dict[tuple[str, str], int] = {}
    for row in rows:
        key = (row.cells[-2], row.cells[at] if at is not None else "")
        if key in seen:
            found = f"{key[0]} again (line {seen[key]}), and no column that names the sample"
            hint = 'Say which column does: --map "No.=sample".'
            faults.add(f"line {row.line}", found, "a log of one part, or a column for the sample", hint)
            return
        seen[key] = row.line


# --- cells ------------------------------------------------------------------------------------------


def _reading(
    table: Table,
    row: TableRow,
    columns: Mapping[int, str],
    column_index: int,
    item: Mapped,
    test: BenchTest,
    equivalent: Equivalent,
) -> str:
    """The cell of ``test``: as it is, or the row's impedance ("0.41+4.97j ohm"). Raises ReadingsError."""
    kind = columns.get(column_index, "")
    unit = item.unit or table.headings[column_index].unit or _apart(table.headings[column_index].text)[1]
    cell = row.cells[column_index]
    shown = test.equivalent or equivalent
    if not kind or test.sense or kind in SHOWS.get(test.measure, {}).get(shown, ()):
        return with_unit(cell, unit) if not unit or fits(unit, DIMENSIONS[test.measure]) else cell
    if test.measure in DIRECT:
        wanted = " or ".join(SHOWS.get(test.measure, {}).get(shown, (test.measure,)))
        found = f"the column {table.headings[column_index].text}"
        raise ReadingsError(Fault("", found, f"a column of what {test.name} reads ({wanted})"))
    if kind == "D" and test.measure == "quality":
        loss = _number(table, row, column_index, kind, item.unit)
        if not loss:
            raise ReadingsError(Fault("", repr(cell), "a dissipation factor above 0, of which Q is 1/D"))
        return repr(1.0 / loss)
    if not cell or _number(table, row, column_index, kind, item.unit) is None:
        return ""
    column_indices = {name: at for at, name in columns.items()} | {kind: column_index}

    def value(name: str) -> float:
        if name not in column_indices:
            return math.nan
        own_unit = item.unit if column_indices[name] == column_index else ""
        number = _number(table, row, column_indices[name], name, own_unit)
        return math.nan if number is None else number

    frequency = value("frequency")
    if math.isnan(frequency):
        frequency = math.nan if test.frequency is None else test.frequency
    omega = 2.0 * math.pi * frequency
    impedance = _impedance(kind, value, omega)
    if impedance is None:
        needs = {"Z": "θ", "θ": "Z", "X": "Rs"}.get(kind, "one of R, Q and D of the same circuit")
        text = table.headings[column_index].text
        raise ReadingsError(
            Fault(
                "",
                f"the column {text}, which does not show the {shown} {test.measure}",
                f"that column, or this one with a second one ({needs}) in the same row",
                f"{test.name} is displayed in the {shown} equivalent.",
            )
        )
    return f"{impedance.real!r}{impedance.imag:+.17g}j ohm"


def _number(table: Table, row: TableRow, index: int, kind: str, unit: str) -> float | None:
    """The number of a log's cell in SI (rad); None where it is missing. Angles without a unit are in
    degrees."""
    dimension = QUANTITIES[kind][0]
    heading = table.headings[index]
    stated = unit or heading.unit or _apart(heading.text)[1] or ("deg" if dimension == "angle" else "")
    if stated in ("°", "degrees"):
        stated = "deg"
    parsed = parse_reading(row.cells[index], dimension, unit=stated, decimal_comma=table.delimiter != ",")
    if isinstance(parsed, complex):
        raise ReadingsError(Fault("", repr(row.cells[index]), f"a real number ({kind})"))
    return parsed


def _impedance(kind: str, value: Callable[[str], float], omega: float) -> complex | None:
    """Z (ohm) from the column ``kind`` and a second one, by the equations of the module's docstring.

    None if the row lacks the second column or the frequency. ``value`` gives a column in SI, NaN if
    missing.
    """
    if kind in ("Z", "θ"):
        impedance = cmath.rect(value("Z"), value("θ"))
    elif kind in ("X", "Rs", "R") and math.isfinite(value("X")):
        impedance = complex(value("R") if math.isnan(value("Rs")) else value("Rs"), value("X"))
    else:
        impedance = _of_circuit(kind, value, omega)
    return impedance if cmath.isfinite(impedance) else None


def _of_circuit(kind: str, value: Callable[[str], float], omega: float) -> complex:
    """Z (ohm) from an inductance or a capacitance with its loss; NaN if one is missing."""
    series, parallel = (
        next((name for name in names if math.isfinite(value(name)) and value(name)), names[0])
        for names in (("Ls", "Cs"), ("Lp", "Cp"))
    )
    loss = value("D")
    if math.isnan(loss) and value("Q"):
        loss = 1.0 / value("Q")
    if kind in ("Ls", "Cs", "Rs", "Q", "D") and math.isfinite(value(series)):
        reactance = omega * value("Ls") if series == "Ls" else -1.0 / (omega * value("Cs"))
        resistance = value("Rs")
        return complex(abs(reactance) * loss if math.isnan(resistance) else resistance, reactance)
    if kind in ("Lp", "Cp", "Rp", "Q", "D") and math.isfinite(value(parallel)):
        susceptance = -1.0 / (omega * value("Lp")) if parallel == "Lp" else omega * value("Cp")
        resistance = value("Rp")
        admittance = complex(
            abs(susceptance) * loss if not resistance or math.isnan(resistance) else 1.0 / resistance,
            susceptance,
        )
        return 1.0 / admittance if admittance else complex(math.nan)
    return complex(math.nan)
