"""Many samples of one design: scatter, limits, drift, and what they share.

A reading holds production and measurement: s² = σ² + u², where u is the random part of one reading (from
its own repeats if there are any, else the scatter of re-connection). What all readings share (the meter's
calibration, link, leads, the model's error) shifts the mean and never averages out. So the mean is
compared with the prediction under the full uncertainty of a single prediction.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from ...predict.circuit import reading_text, shown_with_uncertainty
from ...predict.design import BenchTest, Design, FloatArray
from ...predict.errors import Fault, ReadingsError
from ...predict.measures import MEASURE_UNITS
from ...predict.notation import aligned
from ...predict.production import BUILDS, spread
from ..causes import CATALOGUE
from ..hypotheses import inquire, interventions_apart
from ..meter import REPEATABILITY
from ..readings import Reading
from ..verdict import DEVIATES, THREE_ZONE, ReadSample, decide, difference, evaluate, relative_deviation
from .left_out import LeftOut, left_out
from .shared_causes import Together, weigh_together
from .statistics import (
    BatchVariance,
    Drift,
    batch_variance,
    capability,
    capability_bound,
    drift,
    normality,
    one_sided_factor,
    outliers,
    two_sided_factor,
)

NOT_NORMAL = 0.01
"""A lot is called not normal, drifting, or of different batches if p is below this (common practice: 1 % by
chance)."""


@dataclass(frozen=True, kw_only=True)
class LotTest:
    """One test over the lot.

    Attributes
    ----------
    name : str
        Name of the test.
    measure : str
        What the test measures.
    unit : str
        SI unit of the numbers.
    n : int
        Parts that count in mean, interval and capability, count.
    missing : int
        Parts not read, count.
    mean : float
        Mean, SI (rad for a phase).
    standard_deviation : float
        Standard deviation of the readings, SI.
    process_deviation : float
        The same with the random part of one reading removed, SI; 0 if measurement explains all the scatter.
    predicted : float
        Predicted reading of a single part, SI.
    predicted_uncertainty : float
        Standard uncertainty of ``predicted`` for a single part, SI.
    predicted_low : float
        Lower end of the range that holds 95 % of single parts, SI.
    predicted_high : float
        Upper end of it, SI.
    deviation : float
        Mean over prediction, less 1, relative (for a phase mean less prediction, rad).
    score : float
        Deviation of the mean in standard uncertainties, dimensionless.
    minimum, maximum : float or None
        Lower and upper limit, SI; None without one.
    cpk : float or None
        Capability index, dimensionless; None without a limit.
    cpk_lower : float or None
        Lower 95 % confidence bound of ``cpk``, dimensionless.
    outside : int
        Parts read outside their limits, count.
    fails : int
        Parts that fail by the decision rule, count.
    tolerance_low : float or None
        Lower end of the interval that holds 95 % of parts with 95 % confidence, SI; None for one part, for
        parts that all read the same, or on the side without a limit if one-sided. Not below zero where no
        part reads below it (a phase may be).
    tolerance_high : float or None
        Upper end of it, SI; None as above.
    normality : float or None
        p of the test of normality, dimensionless; None if not tested.
    drift : Drift or None
        Drift along the serial numbers; None if not tested.
    outliers : tuple[str, ...]
        Names of the outliers.
    batches : BatchVariance or None
        Variance within and between batches; None without batches.
    left_out : tuple[LeftOut, ...]
        Slips and strangers that do not count.
    """

    name: str
    measure: str
    unit: str
    n: int
    missing: int
    mean: float
    standard_deviation: float
    process_deviation: float
    predicted: float
    predicted_uncertainty: float
    predicted_low: float
    predicted_high: float
    deviation: float
    score: float
    minimum: float | None
    maximum: float | None
    cpk: float | None
    cpk_lower: float | None
    outside: int
    fails: int
    tolerance_low: float | None
    tolerance_high: float | None
    normality: float | None
    drift: Drift | None
    outliers: tuple[str, ...]
    batches: BatchVariance | None
    left_out: tuple[LeftOut, ...] = ()


@dataclass(frozen=True)
class Lot:
    """All tests of a lot.

    Attributes
    ----------
    samples : int
        Parts, count.
    ordered_by : str
        "serial number" or "order in the file".
    tests : tuple[LotTest, ...]
        The tests.
    together : Together or None
        What the parts share; None if fewer than two have a usable reading.
    left_out : tuple[LeftOut, ...]
        Slips and strangers, which do not count in any mean, interval or capability.
    """

    samples: int
    ordered_by: str
    tests: tuple[LotTest, ...]
    together: Together | None = None
    left_out: tuple[LeftOut, ...] = ()

    def __str__(self) -> str:
        """One line a test: parts, mean, standard deviation, prediction, capability with its bound."""
        return _lot_text(self)

    @property
    def deviates(self) -> bool:
        """Whether a part fails a limit, a mean is off by more than three standard uncertainties, a part is an
        outlier or has a fault of its own, or all share one. Exit status 1 of the command."""
        return any(test.fails or abs(test.score) > DEVIATES or test.outliers for test in self.tests) or (
            self.together is not None and self.together.deviates
        )


def lot(
    design: Design,
    readings: Sequence[Reading],
    *,
    rule: str = THREE_ZONE,
    builds: int = BUILDS,
    seed: int = 1,
    ahead: bool = False,
) -> Lot:
    """Statistics of all parts in a set of readings.

    If a part was read at several stages, the last one counts.

    Parameters
    ----------
    design : Design
        The transformer.
    readings : Sequence[Reading]
        Readings of all samples, SI.
    rule : str, optional
        Decides which parts fail, a name of ``decision.RULES``.
    builds : int, optional
        Random builds, count.
    seed : int, optional
        Seed of the random builds.
    ahead : bool, optional
        Whether the forward runs include what may be read next, as those of ``explain`` do; the same runs then
        serve both. Nothing of it is in the result.

    Raises
    ------
    ReadingsError
        Fewer than two parts.
    BuildError
        The layout is outside the models.
    """
    design, readings, staged = interventions_apart(design, readings)
    evaluation = evaluate(design, readings)
    last = {sample.sample: sample for sample in evaluation.samples}
    parts = tuple(last.values())
    if len(parts) < 2:
        raise ReadingsError(
            Fault(
                "the readings", f"{len(parts)} sample", "a lot of two samples or more", "Use compare for one."
            )
        )
    serial_positions, ordered_by = serial_places([part.sample for part in parts])
    scatter = spread(evaluation.design, builds, seed, origins=("build", "model", "setup"), shares=False)
    tests = evaluation.design.tests
    values = np.full((len(parts), len(tests)), math.nan)
    doubts = np.full((len(parts), len(tests)), math.nan)
    for row, part in enumerate(parts):
        for item in part.read:
            if item.value is not None and item.uncertainty is not None:
                values[row, item.test_index], doubts[row, item.test_index] = item.value, item.uncertainty
    together = None
    if np.sum(np.any(~np.isnan(values), axis=1)) >= 2:
        inquiry = inquire(design, tests, CATALOGUE, staged, ahead=ahead)
        together = weigh_together(evaluation, inquiry)
    away = left_out([part.sample for part in parts], _by_test(tests, parts, values), together)
    random = _random_part(design, tests, _kept(readings, away), _kept_values(tests, parts, values, away))
    result = []
    for index, test in enumerate(tests):
        there = ~np.isnan(values[:, index])
        if np.any(there):
            predicted = float(evaluation.prediction.values[index])
            expected = _Expected(
                predicted,
                float(scatter.standard_uncertainty[index]),
                float(scatter.low[index]),
                float(scatter.high[index]),
            )
            chosen = [part for part, read in zip(parts, there, strict=True) if read]
            result.append(
                _test(
                    test,
                    chosen,
                    _Column(values[there, index], doubts[there, index], serial_positions[there]),
                    expected,
                    random[index],
                    rule,
                    [item for item in away if item.test in ("", test.name)],
                )
            )
            result[-1] = replace(result[-1], missing=len(parts) - int(np.sum(there)))
    return Lot(len(parts), ordered_by, tuple(result), together, away)


def _kept(readings: Sequence[Reading], away: Sequence[LeftOut]) -> list[Reading]:
    """The readings that are not left out."""
    names = {(item.sample, item.test) for item in away}
    return [
        reading for reading in readings if not {(reading.sample, ""), (reading.sample, reading.test)} & names
    ]


def _kept_values(
    tests: Sequence[BenchTest], parts: Sequence[ReadSample], values: FloatArray, away: Sequence[LeftOut]
) -> FloatArray:
    """Values (parts, tests) without those that are left out; for a test with no other reading, all of
    them."""
    row = {part.sample: number for number, part in enumerate(parts)}
    result = values.copy()
    for item in away:
        columns = [index for index, test in enumerate(tests) if item.test in ("", test.name)]
        result[row[item.sample], columns] = math.nan
    bare = np.all(np.isnan(result), axis=0)
    result[:, bare] = values[:, bare]
    return result


def _by_test(
    tests: Sequence[BenchTest], parts: Sequence[ReadSample], values: FloatArray
) -> dict[str, tuple[list[str], FloatArray]]:
    """Names of the samples and their values (SI) by test, as far as it was read."""
    values_by_test = {}
    for index, test in enumerate(tests):
        there = ~np.isnan(values[:, index])
        if test.measure != "phase":
            names = [part.sample for part, read in zip(parts, there, strict=True) if read]
            values_by_test[test.name] = (names, values[there, index])
    return values_by_test


def serial_places(samples: Sequence[str]) -> tuple[FloatArray, str]:
    """Position of each sample along the lot, in which it may drift.

    The number at the end of the names if every name has one and all differ, else the order in the file.

    Parameters
    ----------
    samples : Sequence[str], names of the samples

    Returns
    -------
    (N,) array, position, count
    str, "serial number" or "order in the file"
    """
    numbers = [re.search(r"(\d+)\D*$", name) for name in samples]
    if all(numbers):
        serial_positions = np.array([float(number[1]) for number in numbers if number])
        if len(np.unique(serial_positions)) == len(serial_positions):
            return serial_positions, "serial number"
    return np.arange(len(samples), dtype=float), "order in the file"


def _random_part(
    design: Design, tests: Sequence[BenchTest], readings: Sequence[Reading], values: FloatArray
) -> list[float]:
    """Standard deviation of one value of each test: pooled over repeats, else the scatter of
    re-connection."""
    index_of_test = {(test.name, test.frequency): index for index, test in enumerate(tests)}
    stated = {test.name: test.frequency for test in design.tests}
    repeats: dict[tuple[str, str, int], list[float]] = {}
    read = sum(reading.value is not None for reading in readings)
    again = read > np.count_nonzero(~np.isnan(values))  # else every value was read once
    for reading in readings if again else ():
        if reading.value is not None:
            frequency = stated[reading.test] if reading.frequency is None else reading.frequency
            key = (reading.sample, reading.stage, index_of_test[reading.test, frequency])
            repeats.setdefault(key, []).append(reading.value)
    squares, freedom, most = np.zeros(len(tests)), np.zeros(len(tests)), np.ones(len(tests))
    for (_, _, index), group in repeats.items():
        if len(group) > 1:
            squares[index] += float(np.var(group)) * len(group)
            freedom[index] += len(group) - 1
            most[index] = max(most[index], len(group))
    result = []
    for index, test in enumerate(tests):
        if freedom[index] > 0:
            result.append(math.sqrt(squares[index] / freedom[index] / most[index]))
        else:
            share = (
                0.0 if test.measure == "phase" else REPEATABILITY.get(test.measure, REPEATABILITY["default"])
            )
            middle = values[:, index][~np.isnan(values[:, index])]
            result.append(share * abs(float(np.mean(middle))) if len(middle) else 0.0)
    return result


@dataclass(frozen=True)
class _Column:
    """The readings of one test.

    ``values`` and ``doubts``, (S,), are the readings and their standard uncertainty (SI);
    ``serial_positions``, (S,), is the position of each sample along the lot.
    """

    values: FloatArray
    doubts: FloatArray
    serial_positions: FloatArray


class _Expected(NamedTuple):
    """What a test should read (SI): value, standard uncertainty, ends of the 95 % range of single parts."""

    value: float
    deviation: float
    low: float
    high: float


def _test(
    test: BenchTest,
    parts: Sequence[ReadSample],
    column: _Column,
    expected: _Expected,
    random: float,
    rule: str,
    away: Sequence[LeftOut],
) -> LotTest:
    everything, all_doubts = column.values, column.doubts
    names = {item.sample for item in away}
    kept = np.array([part.sample not in names for part in parts])
    if not np.any(kept):
        kept, away = np.ones(len(parts), bool), ()
    values, doubts, serial_positions = column.values[kept], column.doubts[kept], column.serial_positions[kept]
    n, mean = len(values), float(np.mean(values))
    deviation = float(np.std(values, ddof=1)) if n > 1 and np.ptp(values) > 0 else 0.0
    predicted = expected.value
    shared = math.sqrt(max(float(np.mean(doubts**2)) - random**2, 0.0))
    combined = math.sqrt(expected.deviation**2 + shared**2 + deviation**2 / n)
    gap = difference(test, mean, predicted)
    low, high = test.minimum, test.maximum
    scattered = n > 1 and deviation > 0
    index = capability(mean, deviation, low, high) if scattered else None
    outside = (everything < (-math.inf if low is None else low)) | (
        everything > (math.inf if high is None else high)
    )
    fails = [
        decide(float(value), float(doubt), low, high, rule=rule).verdict == "fail"
        for value, doubt in zip(everything, all_doubts, strict=True)
    ]
    one_sided = (low is None) != (high is None)
    k = one_sided_factor(n) if one_sided else two_sided_factor(n)
    least = 0.0 if test.measure != "phase" and np.all(values >= 0) else -math.inf
    batches = [part.batch for part, keep in zip(parts, kept, strict=True) if keep]
    return LotTest(
        name=test.name,
        measure=test.measure,
        unit=MEASURE_UNITS[test.measure],
        n=n,
        missing=0,
        mean=mean,
        standard_deviation=deviation,
        process_deviation=math.sqrt(max(deviation**2 - random**2, 0.0)),
        predicted=predicted,
        predicted_uncertainty=expected.deviation,
        predicted_low=expected.low,
        predicted_high=expected.high,
        deviation=relative_deviation(test, mean, predicted),
        score=gap / combined if combined > 0 else 0.0,
        minimum=low,
        maximum=high,
        cpk=index,
        cpk_lower=capability_bound(index, n),
        outside=int(np.sum(outside)),
        fails=int(np.sum(fails)),
        tolerance_low=None
        if not scattered or (one_sided and low is None)
        else max(mean - k * deviation, least),
        tolerance_high=None if not scattered or (one_sided and high is None) else mean + k * deviation,
        normality=normality(values),
        drift=drift(values, serial_positions),
        outliers=tuple(parts[int(part_index)].sample for part_index in outliers(everything)),
        batches=batch_variance(values, batches) if all(batches) else None,
        left_out=tuple(away),
    )


def _lot_text(lot: Lot) -> str:
    """One line for each test: parts, mean, standard deviation, prediction, capability with its bound."""
    rows = [["test", "n", "mean", "s", "predicted", "Cpk", "outliers"]]
    for test in lot.tests:
        bound = "" if test.cpk_lower is None else f" (at least {test.cpk_lower:.2f})"
        rows.append(
            [
                test.name,
                str(test.n),
                reading_text(test.mean, test.measure),
                reading_text(test.standard_deviation, test.measure, 4 if test.measure == "phase" else 2),
                shown_with_uncertainty(
                    test.predicted,
                    test.predicted_uncertainty,
                    test.measure,
                    test.predicted_low,
                    test.predicted_high,
                ),
                "-" if test.cpk is None else f"{test.cpk:.2f}{bound}",
                ", ".join(test.outliers) or "-",
            ]
        )
    return f"{lot.samples} samples\n{aligned(rows, right=(1, 2, 3, 4))}"
