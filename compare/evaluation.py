"""Readings put beside the design: one value a test and sample, and the tests as they were really read.

A reading may override its test's frequency, so the design is predicted with one test per pair of test and
frequency that was read. Repeats are averaged; resistances are brought to the temperature at which the test
is stated.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..predict.bench import BenchPrediction, predict_bench, stated_temperature
from ..predict.design import BenchTest, Design
from ..predict.network import members_of
from ..predict.resistance import temperature_factor
from .meter import meter_uncertainty
from .readingsfile import Reading

REPEATABILITY = {"resistance": 0.003, "ratio": 0.0005, "default": 0.002}
"""Standard relative scatter of re-connecting and handling that a reading carries where no uncertainty and
no repeats are given (common practice, no source)."""


@dataclass(frozen=True)
class ReadTest:
    """One test as read on one sample. value, uncertainty (standard): SI, the mean of ``repeats``; None:
    missing."""

    place: int
    value: float | None
    uncertainty: float | None
    repeats: int
    note: str = ""


@dataclass(frozen=True)
class Evaluation:
    """Samples by tests as read.

    design : with ``tests`` replaced by the tests as they were read (each at its own frequency); prediction
    : of that.
    samples : name → its read tests, in the order of the file; ``place`` points into ``design.tests``.
    """

    design: Design
    prediction: BenchPrediction
    samples: tuple[tuple[str, tuple[ReadTest, ...]], ...]


def evaluate(design: Design, readings: Sequence[Reading]) -> Evaluation:
    """Group readings by sample and test, average repeats, correct temperatures, attach the meter's
    uncertainty."""
    keys: dict[tuple[str, float | None], int] = {}
    tests: list[BenchTest] = []
    by_name = {test.name: test for test in design.tests}
    for reading in readings:
        test = by_name[reading.test]
        frequency = reading.frequency if reading.frequency is not None else test.frequency
        key = (test.name, frequency)
        if key not in keys:
            keys[key] = len(tests)
            tests.append(replace(test, frequency=frequency))
    as_read = replace(design, tests=tuple(tests))
    prediction = predict_bench(as_read)
    samples = []
    for name in dict.fromkeys(reading.sample for reading in readings):
        groups: dict[int, list[Reading]] = {}
        for reading in readings:
            if reading.sample == name:
                test = by_name[reading.test]
                frequency = reading.frequency if reading.frequency is not None else test.frequency
                groups.setdefault(keys[(test.name, frequency)], []).append(reading)
        ordered = sorted(groups.items())
        samples.append(
            (name, tuple(_read_test(as_read, prediction, place, group) for place, group in ordered))
        )
    return Evaluation(as_read, prediction, tuple(samples))


def at_stated_temperature(design: Design, test: BenchTest, reading: Reading) -> float | None:
    """The reading's value; a direct-current resistance brought from its own (else the bench's) temperature
    to the test's."""
    if reading.value is None or test.measure != "resistance":
        return reading.value
    own = reading.temperature if reading.temperature is not None else design.bench.temperature
    driven = members_of(design, test.drive)
    metal = design.winding(driven[0].name).metal
    stated = stated_temperature(design, test)
    return float(reading.value * temperature_factor(metal, stated) / temperature_factor(metal, own))


def _read_test(design: Design, prediction: BenchPrediction, place: int, group: list[Reading]) -> ReadTest:
    test = design.tests[place]
    values = [
        value for reading in group if (value := at_stated_temperature(design, test, reading)) is not None
    ]
    notes = "; ".join(reading.note for reading in group if reading.note)
    if not values:
        return ReadTest(place, None, None, 0, notes)
    value = float(np.mean(values))
    given = [reading.uncertainty for reading in group if reading.uncertainty is not None]
    meter = float(
        meter_uncertainty(
            design.bench,
            test.measure,
            value,
            complex(prediction.impedance[place]),
            test.frequency,
            equivalent=test.equivalent,
        )
    )
    if given:
        uncertainty = float(np.mean(given))
    else:
        share = REPEATABILITY.get(test.measure, REPEATABILITY["default"])
        uncertainty = math.hypot(meter, 0.0 if test.measure == "phase" else share * abs(value))
    if len(values) > 1:
        scatter = float(np.std(values, ddof=1)) / math.sqrt(len(values))
        uncertainty = math.hypot(uncertainty, scatter)
    return ReadTest(place, value, uncertainty, len(values), notes)


def difference(test: BenchTest, read: float, predicted: float) -> float:
    """Read minus predicted in SI; phases wrapped to ±π."""
    if test.measure == "phase":
        return math.remainder(read - predicted, 2 * math.pi)
    return read - predicted


def relative_deviation(test: BenchTest, read: float, predicted: float) -> float:
    """read/predicted − 1; for phase the difference (rad); NaN where the prediction is zero."""
    if test.measure == "phase":
        return difference(test, read, predicted)
    return read / predicted - 1 if predicted != 0 else math.nan
