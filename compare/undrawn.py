"""Readings of a part without a drawing: which test each row is, from its name or its own columns.

Names as in the tests that a design without tests gets: ``L_P`` open inductance, ``Lk_P`` leakage with all
other windings shorted, ``Lk_P_S`` with S shorted, ``n_P_S`` voltage ratio, ``R_P`` direct-current
resistance; and ``M_P_S`` mutual inductance, ``Q_P`` quality, ``Rac_P`` resistance to alternating current,
``C_P_S`` capacitance between windings. Rows that are named otherwise say what they are in the columns
``measure``, ``drive``, ``short``, ``sense`` and ``equivalent`` (windings in series as "P + S" or "P - S";
several shorts with blanks between).
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from ..predict.design import MEASURES, Bench, BenchTest, Member, Port
from ..predict.errors import Fault, Faults, ReadingsError, nearest
from .budget import REPEATABILITY
from .consistency import part_checks
from .correction import FixtureStandards
from .delimited import Table
from .derived import Derived, derived_parameters
from .evaluation import told_apart
from .fixturefile import FixtureCorrection, correct_readings
from .meter import meter_uncertainty
from .part_readings import Check, Item, PartReadings, check_of, single
from .readingscells import Reading
from .readingsfile import read_text, rows_of, table_of

OWN_COLUMNS = ("measure", "drive", "short", "sense", "equivalent")
"""Columns by which a row says what it is; ``frequency`` is one of every readings file."""
_PREFIXES = {
    "L": "inductance",
    "Lk": "inductance",
    "R": "resistance",
    "n": "ratio",
    "M": "mutual",
    "Q": "quality",
    "Rac": "ac_resistance",
    "C": "capacitance",
}
_PAIRS = ("n", "M", "C")
NAMES = "L_P, Lk_P, Lk_P_S, n_P_S, R_P, M_P_S, Q_P, Rac_P or C_P_S (with your windings' names)"
RATIO_ALLOWANCE = 0.02
"""Relative standard allowance between √(L1/L2) and the turns ratio: level and coupling (common practice, "
"no source)."""

WEAK = 0.8
"""k² below which two voltage ratios speak of the coupling before they speak of turns (common practice, no
source)."""


@dataclass(frozen=True)
class UndrawnPart:
    """One sample: its checks, and what follows from its readings. readings : number of those with a value.
    correction : what was done to the file's readings with the fixture's standards."""

    sample: str
    readings: int
    checks: tuple[Check, ...]
    derived: tuple[Derived, ...]
    correction: FixtureCorrection | None = None

    @property
    def deviates(self) -> bool:
        """A broken check: the command's exit status 1."""
        return any(not check.holds for check in self.checks)


def check_part(
    path: Path,
    *,
    ratio: float | None = None,
    bench: Bench | None = None,
    fixture: tuple[FixtureStandards, ...] | None = None,
) -> tuple[UndrawnPart, ...]:
    """All samples of a readings file, without a design.

    ratio : turns of the first winding over those of the second, as somebody states them. bench : meter and
    link; None: the default one. fixture : standards, by which complex readings are corrected. Raises
    ReadingsError with every fault of the file.
    """
    used = bench or Bench()
    faults = Faults(str(path))
    table = table_of(read_text(path), (*OWN_COLUMNS,), faults)
    tests = tests_of(table, faults)
    faults.raise_as(ReadingsError)
    readings = rows_of(table, tests, used.equivalent, faults)
    done = None if fixture is None else correct_readings(tests, used, readings, fixture)
    readings = readings if done is None else done.readings
    by_sample: dict[str, list[Reading]] = {}
    for reading in readings:
        label = f"{reading.sample}, {reading.stage}" if reading.stage else reading.sample
        by_sample.setdefault(label, []).append(reading)
    windings = windings_of(tests)
    result = []
    for sample, rows in by_sample.items():
        items = _items(rows, tests, used)
        named = told_apart([item.test for item in items])
        items = tuple(replace(item, test=test) for item, test in zip(items, named, strict=True))
        part = PartReadings(items, used, dict.fromkeys(windings, 1))
        checks = (*part_checks(part), *_stated_ratio(part, windings, ratio))
        result.append(UndrawnPart(sample, len(items), checks, derived_parameters(part), done))
    return tuple(result)


def windings_of(tests: Mapping[str, BenchTest]) -> tuple[str, ...]:
    """Names of all windings, in the order in which the tests name them."""
    ports = [port for test in tests.values() for port in (test.drive, test.sense, test.short)]
    return tuple(dict.fromkeys(member.name for port in ports for member in port))


# --- what a row is ---------------------------------------------------------------------------------


def tests_of(table: Table, faults: Faults) -> dict[str, BenchTest]:
    """The test behind every name of the file. Faults: names that tell nothing, rows that contradict each "
    "other."""
    columns = [heading.name for heading in table.headings]
    rows = [(row.line, dict(zip(columns, row.cells, strict=True))) for row in table.rows]
    stated = {cells.get("test", "") for _, cells in rows}
    known = {name.partition("_")[2] for name in stated if name.partition("_")[0] in ("L", "R")} - {""}
    found: dict[str, BenchTest] = {}
    for line, cells in rows:
        name = cells.get("test", "")
        if not name:
            continue
        test = _from_columns(name, cells, faults, line) if cells.get("measure") else _from_name(name, known)
        if test is None:
            if not cells.get("measure"):
                hint = "Or say what it is in the columns measure, drive, short, sense."
                faults.add(f"line {line}, test", repr(name), NAMES, hint)
        elif name in found and found[name] != test:
            faults.add(f"line {line}, test", f"{name!r} as another test than above", "one meaning for a name")
        else:
            found[name] = test
    return _all_others(found)


def _from_name(name: str, known: set[str]) -> BenchTest | None:
    prefix, _, rest = name.partition("_")
    if prefix not in _PREFIXES or not rest:
        return None
    parts = _split(rest, known)
    measure = _PREFIXES[prefix]
    drive = (Member(parts[0]),)
    if prefix in _PAIRS or (prefix == "Lk" and len(parts) == 2):
        if len(parts) != 2:
            return None
        other = (Member(parts[1]),)
        if prefix == "Lk":
            return BenchTest(name, measure, drive, short=other)
        return BenchTest(name, measure, drive, sense=other)
    if len(parts) != 1:
        return None
    return BenchTest(name, measure, drive, short=(Member(""),) if prefix == "Lk" else ())


def _split(text: str, known: set[str]) -> list[str]:
    """One or two names of windings: a known one whole, else apart at the first underscore that makes "
    "sense."""
    if text in known:
        return [text]
    cuts = [place for place, sign in enumerate(text) if sign == "_"]
    pairs = [[text[:cut], text[cut + 1 :]] for cut in cuts if text[:cut] and text[cut + 1 :]]
    for pair in pairs:
        if set(pair) <= known:
            return pair
    return pairs[0] if pairs else [text]


def _all_others(tests: dict[str, BenchTest]) -> dict[str, BenchTest]:
    """``Lk_P`` shorts every other winding that the file knows."""
    names = [name for name in windings_of(tests) if name]
    result = {}
    for name, test in tests.items():
        if test.short == (Member(""),):
            others = tuple(Member(other) for other in names if other != test.drive[0].name)
            test = replace(test, short=others)
        result[name] = test
    return result


def _from_columns(name: str, cells: Mapping[str, str], faults: Faults, line: int) -> BenchTest | None:
    before = len(faults.found)
    measure = cells["measure"].replace(" ", "_")
    if measure not in MEASURES:
        faults.add(
            f"line {line}, measure", repr(cells["measure"]), ", ".join(MEASURES), nearest(measure, MEASURES)
        )
    if not cells.get("drive"):
        faults.add(f"line {line}, drive", "an empty cell", "the driven winding, or several as 'P + S'")
    circuit = cells.get("equivalent", "")
    if circuit not in ("", "series", "parallel"):
        faults.add(f"line {line}, equivalent", repr(circuit), "series or parallel")
    if measure in ("ratio", "mutual") and not cells.get("sense"):
        faults.add(f"line {line}, sense", "an empty cell", f"the sensed winding of a {measure}")
    if len(faults.found) > before:
        return None
    short = tuple(Member(part) for part in re.split(r"[\s+]+", cells.get("short", "").strip()) if part)
    return BenchTest(
        name,
        measure,
        _port(cells["drive"]),
        short=short,
        sense=_port(cells.get("sense", "")),
        equivalent=circuit or None,  # type: ignore[arg-type]
    )


def _port(text: str) -> Port:
    """ "P + S", "P - S", "P"."""
    parts = re.findall(r"([+-]?)\s*([^\s+-]+)", text)
    return tuple(Member(name, sign == "-") for sign, name in parts)


# --- readings ---------------------------------------------------------------------------------------


def _items(rows: Sequence[Reading], tests: Mapping[str, BenchTest], bench: Bench) -> tuple[Item, ...]:
    """One item for each test and frequency: the mean of its repeats, with the uncertainty of meter and "
    "handling."""
    groups: dict[tuple[str, float | None], list[Reading]] = {}
    for reading in rows:
        if reading.value is not None:
            groups.setdefault((reading.test, reading.frequency), []).append(reading)
    items = []
    for (name, frequency), group in groups.items():
        test = replace(tests[name], frequency=frequency)
        values = np.array([reading.value for reading in group], float)
        given = [reading.uncertainty for reading in group if reading.uncertainty is not None]
        mean = float(np.mean(values))
        doubt = float(np.mean(given)) if given else _doubt(test, mean, group[0].impedance, bench)
        if len(values) > 1:
            doubt = math.hypot(doubt, float(np.std(values, ddof=1)) / math.sqrt(len(values)))
        items.append(Item(test, mean, doubt))
    return tuple(items)


def _doubt(test: BenchTest, value: float, impedance: complex | None, bench: Bench) -> float:
    """Standard uncertainty by meter and handling; where no frequency is told the meter's floors are left "
    "out."""
    share = 0.0 if test.measure == "phase" else REPEATABILITY.get(test.measure, REPEATABILITY["default"])
    if test.frequency is None and test.measure not in ("resistance", "ratio", "resonance"):
        meter = bench.accuracy / 2 * (1.0 if test.measure == "phase" else abs(value))
    else:
        circuit = test.equivalent
        meter = float(
            meter_uncertainty(bench, test.measure, value, impedance, test.frequency, equivalent=circuit)
        )
    return math.hypot(meter, share * abs(value))


def _stated_ratio(part: PartReadings, windings: Sequence[str], ratio: float | None) -> list[Check]:
    """Turns ratio as stated against the voltage ratio and against √(L1/L2) of the first two windings."""
    if ratio is None:
        return []
    if len(windings) < 2:
        raise ReadingsError(Fault("--ratio", f"{ratio:g}, with one winding read", "readings of two windings"))
    first, second = windings[:2]
    checks = []
    for item in part.of("ratio"):
        pair = (single(item.test.drive), single(item.test.sense))
        if item.value > 0 and pair in ((first, second), (second, first)):
            read = item.value if pair == (first, second) else 1 / item.value
            doubt = math.hypot(item.relative, RATIO_ALLOWANCE)
            detail = f"{item} says {read:.5g}, stated is {ratio:.5g}"
            meaning = _weak_coupling(part, first, second) or (
                "Turns, a reversed or wrong winding, or a weak coupling (the voltage ratio is n times 1/k)"
            )
            checks.append(check_of("ratio as stated", math.log(read / ratio), doubt, detail, meaning))
    for a, b in part.opens(first, second):
        read = math.sqrt(a.value / b.value)
        doubt = math.hypot(math.hypot(a.relative, b.relative) / 2, RATIO_ALLOWANCE)
        detail = f"√({a}/{b}) = {read:.5g}, stated is {ratio:.5g}"
        meaning = (
            "Not necessarily the turns: at one voltage the winding of few turns is read at a higher flux "
            "density, where "
            "the permeability is another; read both at equal volts per turn, or read the voltage ratio"
        )
        checks.append(
            check_of("inductances against the stated ratio", math.log(read / ratio), doubt, detail, meaning)
        )
    return checks


def _weak_coupling(part: PartReadings, first: str, second: str) -> str:
    """What both voltage ratios say together, n1 n2 = 1/k²: where k² is below WEAK a sentence, else ""."""
    found: dict[tuple[str, str], float] = {}
    for item in part.of("ratio"):
        found.setdefault((single(item.test.drive), single(item.test.sense)), item.value)
    there, back = found.get((first, second), 0.0), found.get((second, first), 0.0)
    if not (there > 0 and back > 0 and there * back * WEAK > 1):
        return ""
    return (
        f"The ratios both ways give k = {1 / math.sqrt(there * back):.3f}: the coupling is weak, and not the "
        f"turns need be wrong; √(L {first}/L {second}) = {math.sqrt(there / back):.4g}"
    )
