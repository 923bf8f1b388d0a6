"""A part without a drawing: its readings are checked against each other and against what the user states
about it.

``readings.row_names`` tells which test each row of the file is.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from pathlib import Path

import numpy as np

from ...predict.design import Bench, BenchTest, Join
from ...predict.errors import Fault, Faults, ReadingsError, nearest
from ..meter import REPEATABILITY, meter_uncertainty
from ..readings import (
    COLUMNS,
    OWN_COLUMNS,
    FixtureCorrection,
    FixtureStandards,
    Reading,
    correct_readings,
    only_samples,
    read_table,
    read_text,
    readings_of_table,
    table_of,
    tests_in_header,
    tests_of,
    told_apart,
    windings_of,
)
from .checks import part_checks
from .derived import Derived, derived_parameters
from .derived_otherwise import derived_otherwise, missing
from .part import Check, PartReading, PartReadings, check_of, single_name

RATIO_ALLOWANCE = 0.02
"""Relative standard allowance between √(L1/L2) and the turns ratio: level and coupling (common practice,
no source)."""

WEAK = 0.8
"""Below this k², two voltage ratios say more about the coupling than about the turns (common practice, no
source)."""


@dataclass(frozen=True, kw_only=True)
class UndrawnPart:
    """One sample: its checks, and what follows from its readings.

    Attributes
    ----------
    sample : str
        Name of the sample.
    readings : int
        Readings with a value, count.
    checks : tuple[Check, ...]
        The checks.
    derived : tuple[Derived, ...]
        Quantities derived from the readings.
    correction : FixtureCorrection or None
        Corrections made with the fixture's standards; None without.
    missing : tuple[str, ...]
        Readings that would give what cannot be derived yet.
    """

    sample: str
    readings: int
    checks: tuple[Check, ...]
    derived: tuple[Derived, ...]
    correction: FixtureCorrection | None = None
    missing: tuple[str, ...] = ()

    @property
    def deviates(self) -> bool:
        """Whether a check is broken. Exit status 1 of the command."""
        return any(not check.holds for check in self.checks)


@dataclass(frozen=True)
class RowsWanted:
    """Which rows of a readings file are taken, and by which names.

    Attributes
    ----------
    tests : tuple[BenchTest, ...]
        Tests of a design whose names the file may use; empty without a design.
    samples : tuple[str, ...]
        Names of the samples that are wanted; empty for all.
    joins : tuple[Join, ...]
        Joins of that design, which its tests name like windings.
    """

    tests: tuple[BenchTest, ...] = ()
    samples: tuple[str, ...] = ()
    joins: tuple[Join, ...] = ()


def check_part(
    path: Path,
    *,
    ratio: float | None = None,
    turns: Mapping[str, float] | None = None,
    halves: Sequence[tuple[str, str]] = (),
    bench: Bench | None = None,
    fixture: tuple[FixtureStandards, ...] | None = None,
    rows: RowsWanted | None = None,
) -> tuple[UndrawnPart, ...]:
    """Check all samples of a readings file without a design.

    The file may be wide, with a column for each test.

    Parameters
    ----------
    path : Path
        The file.
    ratio : float or None, optional
        Turns of the first winding over those of the second as stated, dimensionless.
    turns : Mapping[str, float] or None, optional
        Turns of windings by name, count.
    halves : Sequence[tuple[str, str]], optional
        Pairs of windings that are two halves of one, of equal turns and wire.
    bench : Bench or None, optional
        Meter and link; None for the default bench.
    fixture : tuple[FixtureStandards, ...] or None, optional
        Standards by which complex readings are corrected.
    rows : RowsWanted or None, optional
        Names that the file may use, and samples that are wanted; None for the usual names and all samples.

    Raises
    ------
    ReadingsError
        Every fault of the file; also if a stated winding is not in it.
    """
    used = bench or Bench()
    faults = Faults(str(path))
    text = read_text(path)
    heads = read_table(text, (*COLUMNS, *OWN_COLUMNS), Faults())
    texts = [] if heads is None else [heading.text for heading in heads.headings]
    wanted = rows or RowsWanted()
    named_tests = {test.name: test for test in wanted.tests}
    table = table_of(text, OWN_COLUMNS, faults, {**tests_in_header(texts), **named_tests})
    tests = tests_of(table, faults, named_tests)
    faults.raise_as(ReadingsError)
    readings = readings_of_table(table, tests, used.equivalent, faults)
    readings = only_samples(readings, wanted.samples) if wanted.samples else readings
    done = None if fixture is None else correct_readings(tests, used, readings, fixture)
    readings = readings if done is None else done.readings
    by_sample: dict[str, list[Reading]] = {}
    for reading in readings:
        label = f"{reading.sample}, {reading.stage}" if reading.stage else reading.sample
        by_sample.setdefault(label, []).append(reading)
    windings = windings_of(tests)
    stated = _stated_turns(windings, ratio, turns or {})
    strangers = [name for pair in halves for name in pair if name not in windings]
    if strangers:
        raise ReadingsError(
            Fault("option --halves", repr(strangers[0]), f"windings read: {', '.join(windings)}")
        )
    result = []
    for sample, taken in by_sample.items():
        items = _items(taken, tests, used)
        named = told_apart([item.test for item in items])
        items = tuple(replace(item, test=test) for item, test in zip(items, named, strict=True))
        part = PartReadings(items=items, bench=used, turning=dict.fromkeys(windings, 1), halves=tuple(halves))
        checks = (*part_checks(part), *_stated_ratio(part, stated))
        derived = (*derived_parameters(part), *derived_otherwise(part, stated))
        result.append(
            UndrawnPart(
                sample=sample,
                readings=len(items),
                checks=checks,
                derived=derived,
                correction=done,
                missing=missing(part, derived, wanted.joins),
            )
        )
    return tuple(result)


# --- readings ---------------------------------------------------------------------------------------


def _items(rows: Sequence[Reading], tests: Mapping[str, BenchTest], bench: Bench) -> tuple[PartReading, ...]:
    """One item for each test and frequency: the mean of its repeats, with the uncertainty of meter and
    handling."""
    groups: dict[tuple[str, float | None], list[Reading]] = {}
    for reading in rows:
        if reading.value is not None:
            groups.setdefault((reading.test, reading.frequency), []).append(reading)
    items = []
    for (name, frequency), group in groups.items():
        test = replace(tests[name], frequency=frequency or tests[name].frequency)
        values = np.array([reading.value for reading in group], float)
        given = [reading.uncertainty for reading in group if reading.uncertainty is not None]
        mean = float(np.mean(values))
        claimed = float(np.mean(given)) if given else _doubt(test, mean, group[0].impedance, bench)
        if len(values) == 1:
            items.append(PartReading(test=test, value=mean, uncertainty=claimed))
            continue
        scatter = float(np.std(values, ddof=1))
        doubt = math.hypot(claimed, scatter / math.sqrt(len(values)))
        items.append(
            PartReading(
                test=test,
                value=mean,
                uncertainty=doubt,
                repeats=len(values),
                scatter=scatter,
                claimed=claimed,
            )
        )
    return tuple(items)


def _doubt(test: BenchTest, value: float, impedance: complex | None, bench: Bench) -> float:
    """Standard uncertainty by meter and handling, without the meter's floors if no frequency is known."""
    share = 0.0 if test.measure == "phase" else REPEATABILITY.get(test.measure, REPEATABILITY["default"])
    if test.frequency is None and test.measure not in ("resistance", "ratio", "resonance"):
        meter = bench.accuracy / 2 * (1.0 if test.measure == "phase" else abs(value))
    else:
        circuit = test.equivalent
        meter = float(
            meter_uncertainty(bench, test.measure, value, impedance, test.frequency, equivalent=circuit)
        )
    return math.hypot(meter, share * abs(value))


def _stated_turns(
    windings: Sequence[str], ratio: float | None, turns: Mapping[str, float]
) -> list[tuple[str, str, float]]:
    """(first, second, turns of the first over those of the second) of every pair whose turns are stated."""
    stated = []
    if ratio is not None:
        if len(windings) < 2:
            raise ReadingsError(
                Fault("--ratio", f"{ratio:g}, with one winding read", "readings of two windings")
            )
        stated.append((windings[0], windings[1], ratio))
    strangers = [name for name in turns if name not in windings]
    if strangers:
        read = ", ".join(windings)
        hint = nearest(strangers[0], windings)
        raise ReadingsError(Fault("option --turns", repr(strangers[0]), f"windings read: {read}", hint))
    stated += [(first, second, turns[first] / turns[second]) for first, second in combinations(turns, 2)]
    return stated


def _stated_ratio(part: PartReadings, stated: Sequence[tuple[str, str, float]]) -> list[Check]:
    """Stated turns ratios against the voltage ratio and against √(L1/L2)."""
    return [check for first, second, ratio in stated for check in _pair_as_stated(part, first, second, ratio)]


def _pair_as_stated(part: PartReadings, first: str, second: str, ratio: float) -> list[Check]:
    checks = []
    for item, sense in part.ratios(first, second):
        read = item.value if sense > 0 else 1 / item.value
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
            "density, where the permeability is different; read both at equal volts per turn, or read "
            "the voltage ratio"
        )
        checks.append(
            check_of("inductances against the stated ratio", math.log(read / ratio), doubt, detail, meaning)
        )
    return checks


def _weak_coupling(part: PartReadings, first: str, second: str) -> str:
    """What both voltage ratios say together, n1 n2 = 1/k²: a sentence if k² is below WEAK, else ""."""
    ratio_of: dict[tuple[str, str], float] = {}
    for item in part.of("ratio"):
        ratio_of.setdefault((single_name(item.test.drive), single_name(item.test.sense)), item.value)
    there, back = ratio_of.get((first, second), 0.0), ratio_of.get((second, first), 0.0)
    if not (there > 0 and back > 0 and there * back * WEAK > 1):
        return ""
    return (
        f"The ratios both ways give k = {1 / math.sqrt(there * back):.3f}: the coupling is weak, and the "
        f"turns need not be wrong; √(L_{first}/L_{second}) = {math.sqrt(there / back):.4g} by the same "
        "two ratios"
    )
