"""Readings set beside the design: one value per test and sample, and the tests as they were really read.

A reading may override its test's frequency, so the design is predicted with one test per pair of test and
frequency that was read. Repeats are averaged; resistances are brought to the temperature at which the test
is stated.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ...predict.circuit import BenchPrediction, beyond_search, members_of, predict_bench, stated_temperature
from ...predict.copper import temperature_factor
from ...predict.design import BenchTest, Design, FloatArray
from ...predict.notation import hertz
from ..meter import handled_components
from ..readings import Reading, ReadTest, told_apart

DEVIATES = 3.0
"""A reading, or a lot's mean, deviates from its prediction beyond this |score| (contract: exit status 1)
(common practice: three standard uncertainties, 0.3 % by chance)."""
NO_RESONANCE_DOUBT = 0.05
"""Relative standard uncertainty of "no resonance up to here": half of the capacitance model's 10 %, because
the frequency goes with the root of the capacitance (follows from the capacitance's, see tests/reference)."""
LIMITS_REACH = 0.05
"""A test's limits judge readings within this relative distance of its own frequency (common practice, no
source)."""


@dataclass(frozen=True)
class ReadSample:
    """One sample at one stage of its making.

    Attributes
    ----------
    sample : str
        Name of the sample.
    stage : str
        Stage; "" if the file names none.
    batch : str
        Batch; "" if the file names none.
    read : tuple[ReadTest, ...]
        Tests as read, in order.
    """

    sample: str
    stage: str
    batch: str
    read: tuple[ReadTest, ...]

    @property
    def label(self) -> str:
        """Name in reports: "A1", or "A1, varnished"."""
        return f"{self.sample}, {self.stage}" if self.stage else self.sample


@dataclass(frozen=True)
class Evaluation:
    """Samples by tests as read.

    Attributes
    ----------
    design : Design
        The transformer, with ``tests`` replaced by the tests as read, each at its own frequency.
    prediction : BenchPrediction
        Prediction of these tests.
    samples : tuple[ReadSample, ...]
        Samples in the order of the file, every stage on its own; ``test_index``
        counts in ``design.tests``.
    """

    design: Design
    prediction: BenchPrediction
    samples: tuple[ReadSample, ...]


def evaluate(design: Design, readings: Sequence[Reading]) -> Evaluation:
    """Group readings by sample, stage and test, average repeats, correct temperatures, attach the meter's
    uncertainty.

    Works on arrays over all readings; nothing is computed sample by sample.

    Parameters
    ----------
    design : Design
        The transformer.
    readings : Sequence[Reading]
        Readings of all samples, SI.

    Raises
    ------
    BuildError
        The layout is outside the models.
    """
    test_indices, tests = _tests_as_read(design, readings)
    as_read = replace(design, tests=tests)
    prediction = predict_bench(as_read)
    keys = [(reading.sample, reading.stage) for reading in readings]
    samples = list(dict.fromkeys(keys))
    number = {key: index for index, key in enumerate(samples)}
    group = np.array([number[key] for key in keys], np.int64) * max(len(tests), 1) + test_indices
    read = _read_tests(as_read, prediction, readings, test_indices, group)
    batches = {key: reading.batch for key, reading in zip(keys, readings, strict=True)}
    rows: dict[int, list[ReadTest]] = {index: [] for index in range(len(samples))}
    for label, item in read:
        rows[label // len(tests)].append(item)
    return Evaluation(
        as_read,
        prediction,
        tuple(ReadSample(*key, batches[key], tuple(rows[index])) for index, key in enumerate(samples)),
    )


def _tests_as_read(
    design: Design, readings: Sequence[Reading]
) -> tuple[NDArray[np.int64], tuple[BenchTest, ...]]:
    """Index of the test of every reading, and the tests: one for each pair of test and frequency read."""
    by_name = {test.name: test for test in design.tests}
    keys: dict[tuple[str, float | None], int] = {}
    tests: list[BenchTest] = []
    test_indices = np.zeros(len(readings), np.int64)
    for index, reading in enumerate(readings):
        test = by_name[reading.test]
        frequency = reading.frequency if reading.frequency is not None else test.frequency
        test_index = keys.setdefault((test.name, frequency), len(tests))
        if test_index == len(tests):
            tests.append(_at(test, frequency))
        test_indices[index] = test_index
    return test_indices, tuple(tests)


def _at(test: BenchTest, frequency: float | None) -> BenchTest:
    """The test at another frequency; its limits go with it only as far as ``LIMITS_REACH``."""
    moved = replace(test, frequency=frequency)
    return moved if _within_reach(test, frequency) else replace(moved, minimum=None, maximum=None)


def _within_reach(test: BenchTest, frequency: float | None) -> bool:
    if test.frequency is None or frequency is None:
        return True
    return abs(frequency - test.frequency) <= LIMITS_REACH * test.frequency


def limits_elsewhere(design: Design, readings: Sequence[Reading]) -> tuple[str, ...]:
    """A caution for each test with limits that was read away from the frequency of those limits.

    Parameters
    ----------
    design : Design
        The transformer.
    readings : Sequence[Reading]
        Readings of all samples, SI.
    """
    result = []
    for test in design.tests:
        if test.minimum is None and test.maximum is None:
            continue
        mine = [item.frequency for item in readings if item.test == test.name and item.value is not None]
        away = sorted({at for at in mine if at is not None and not _within_reach(test, at)})
        if away and test.frequency is not None:
            read = ", ".join(hertz(at) for at in away)
            result.append(
                f"The limits of {test.name} are stated at {hertz(test.frequency)}: they do not apply to "
                f"what was read at {read}."
            )
    return tuple(result)


def sweeps_apart(design: Design, readings: Sequence[Reading]) -> tuple[Design, tuple[Reading, ...]]:
    """Design and readings with every frequency of a sweep as a test of its own, "Lk_P at 50 kHz".

    Tests that were read at one frequency, or not at all, stay as they are.

    Parameters
    ----------
    design : Design
        The transformer.
    readings : Sequence[Reading]
        Readings of all samples, SI.
    """
    stated = {test.name: test.frequency for test in design.tests}
    read: dict[str, dict[float | None, None]] = {}
    for reading in readings:
        at = stated[reading.test] if reading.frequency is None else reading.frequency
        read.setdefault(reading.test, {})[at] = None
    names: dict[tuple[str, float | None], str] = {}
    tests: list[BenchTest] = []
    for test in design.tests:
        frequencies = read.get(test.name, {})
        if len(frequencies) < 2:
            tests.append(test)
            continue
        swept = told_apart([_at(test, frequency) for frequency in frequencies])
        tests += swept
        names.update(((test.name, each.frequency), each.name) for each in swept)
    renamed = tuple(
        replace(item, test=names.get((item.test, item.frequency or stated[item.test]), item.test))
        for item in readings
    )
    return replace(design, tests=tuple(tests)), renamed


def _at_stated_temperature(
    design: Design, test: BenchTest, values: FloatArray, temperatures: FloatArray
) -> FloatArray:
    """Readings of one test (SI), with direct-current resistances brought to the test's temperature from that
    of each reading (degC; NaN: the bench's): R(T_stated) = R (1 + α (T_stated − 20))/(1 + α (T_read − 20)).
    All (N,) arrays."""
    if test.measure != "resistance":
        return values
    present_temperature = _own_temperature(design, temperatures)
    metal = design.winding(members_of(design, test.drive)[0].name).metal
    stated = stated_temperature(design, test)
    return np.asarray(
        values * temperature_factor(metal, stated) / temperature_factor(metal, present_temperature)
    )


def _own_temperature(design: Design, temperatures: FloatArray) -> FloatArray:
    """Temperature (°C) of each reading: its own, else the bench's."""
    return np.where(np.isnan(temperatures), design.bench.temperature, temperatures)


def _read_tests(
    design: Design,
    prediction: BenchPrediction,
    readings: Sequence[Reading],
    test_indices: NDArray[np.int64],
    group: NDArray[np.int64],
) -> list[tuple[int, ReadTest]]:
    """(group, ReadTest) of every group of repeats, in the order of the group numbers."""

    def column(values: Iterable[float | None]) -> FloatArray:
        return np.array([math.nan if value is None else value for value in values], float)

    values = column(reading.value for reading in readings)
    temperatures = column(reading.temperature for reading in readings)
    given = column(reading.uncertainty for reading in readings)
    labels, first, index = np.unique(group, return_index=True, return_inverse=True)
    typed, typed_at = values.copy(), _own_temperature(design, temperatures)
    for test_index, test in enumerate(design.tests):
        mine = test_indices == test_index
        values[mine] = _at_stated_temperature(design, test, values[mine], temperatures[mine])
    count, mean = _means(values, index, len(labels))
    _, before = _means(typed, index, len(labels))
    _, warm = _means(np.where(np.isnan(typed), math.nan, typed_at), index, len(labels))
    _, stated = _means(given, index, len(labels))
    scatter = np.where(np.isnan(values), 0.0, values - mean[index]) ** 2
    squares = np.bincount(index, scatter, len(labels))
    repeated = np.where(count > 1, np.sqrt(squares / np.maximum(count - 1, 1) / np.maximum(count, 1)), 0.0)
    told = np.bincount(index, np.isnan(temperatures), len(labels))
    where = test_indices[first]
    handling = np.zeros(len(labels))
    for test_index, test in enumerate(design.tests):
        mine = np.flatnonzero((where == test_index) & (count > 0))
        if len(mine):
            handling[mine] = handled_uncertainty(
                design, test, mean[mine], complex(prediction.impedance[test_index])
            )
    uncertainty = np.hypot(np.where(np.isnan(stated), handling, stated), repeated)
    result = []
    for group_index, label in enumerate(labels.tolist()):
        value, doubt = (
            (float(mean[group_index]), float(uncertainty[group_index]))
            if count[group_index]
            else (None, None)
        )
        scattered = float(repeated[group_index]) if count[group_index] > 1 else None
        moved = value is not None and before[group_index] != value
        item = ReadTest(
            test_index=int(where[group_index]),
            value=value,
            uncertainty=doubt,
            repeats=int(count[group_index]),
            scatter=scattered,
            temperature_told=bool(told[group_index] == 0),
            as_typed=float(before[group_index]) if moved else None,
            typed_at=float(warm[group_index]) if moved else None,
        )
        result.append((label, item))
    return result


def _means(values: FloatArray, index: NDArray[np.int64], groups: int) -> tuple[NDArray[np.int64], FloatArray]:
    """(count, mean) of the values present in each group; NaN for none."""
    there = ~np.isnan(values)
    count = np.bincount(index[there], minlength=groups)
    total = np.bincount(index[there], values[there], groups)
    return count, np.where(count > 0, total / np.maximum(count, 1), math.nan)


def handled_uncertainty(
    design: Design, test: BenchTest, values: FloatArray, impedance: complex
) -> FloatArray:
    """Standard uncertainty of single readings due to meter and handling.

    The components of ``budget.handled_components`` in quadrature.

    Parameters
    ----------
    design : Design
        The transformer.
    test : BenchTest
        The test.
    values : (N,) array
        Readings, SI.
    impedance : complex
        Predicted impedance at the driven terminals, ohm.

    Returns
    -------
    (N,) array
        Standard uncertainty, SI.
    """
    parts = handled_components(design, test, values, impedance)
    return np.asarray(np.sqrt(sum(np.square(part) for part in parts.values())), float)


def difference(test: BenchTest, read: float, predicted: float) -> float:
    """Reading minus prediction; phases wrapped to ±π.

    If no resonance is predicted, how far the reading lies below the end of the search.

    Parameters
    ----------
    test : BenchTest
        The test.
    read : float
        Reading, SI (rad for a phase).
    predicted : float
        Predicted reading, SI.

    Returns
    -------
    float
        Difference, SI.
    """
    if beyond_search(test.measure, predicted):
        return min(read - predicted, 0.0)
    if test.measure == "phase":
        return math.remainder(read - predicted, 2 * math.pi)
    return read - predicted


def relative_deviation(test: BenchTest, read: float, predicted: float) -> float:
    """Relative deviation read/predicted − 1; for a phase the difference.

    Parameters
    ----------
    test : BenchTest
        The test.
    read : float
        Reading, SI (rad for a phase).
    predicted : float
        Predicted reading, SI.

    Returns
    -------
    float
        Deviation, relative (rad for a phase); NaN if the prediction is zero or no resonance.
    """
    if test.measure == "phase":
        return difference(test, read, predicted)
    if predicted == 0 or beyond_search(test.measure, predicted):
        return math.nan
    return read / predicted - 1
