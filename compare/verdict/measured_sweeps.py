"""Measured sweeps laid over the predicted one: scores, and in words what deviates and from which frequency
on.

The rows of the readings file have a ``frequency``; ``test`` is a design's test of the same connection, or
one of the names of ``POINT_TESTS``: Z (a complex impedance), L, R, Q, phase, n (a ratio).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from ...predict.design import BenchTest, Design, FloatArray
from ...predict.errors import Fault, ReadingsError
from ...predict.notation import hertz
from ...predict.production import Resonance, Sweep, crossings, sweep, swept_quantities
from ..meter import impedance_error
from ..readings import Reading, load_readings
from .evaluation import DEVIATES, handled_uncertainty

POINT_TESTS = {
    "Z": "inductance",
    "L": "inductance",
    "R": "ac_resistance",
    "Q": "quality",
    "phase": "phase",
    "n": "ratio",
}
"""Names of rows of a sweep → the measure of each."""
_QUANTITIES = {"inductance": "inductance", "ac_resistance": "resistance", "phase": "phase", "ratio": "ratio"}
_BELOW_RESONANCE = 0.3
"""An inductance is on its plateau below this fraction of the lowest resonance's frequency (follows from the
resonance, which adds 0.3 squared, 9 %, there)."""
_RESONANCE_SHIFT = 0.02


@dataclass(frozen=True, kw_only=True)
class Point:
    """A measured value of one quantity beside the predicted one; uncertainties are standard.

    Attributes
    ----------
    frequency : float
        Frequency, Hz.
    quantity : str
        Name of the quantity.
    read : float
        Reading, SI (rad for a phase).
    uncertainty : float
        Standard uncertainty of the reading, SI.
    predicted : float
        Prediction, SI.
    predicted_uncertainty : float
        Standard uncertainty of the prediction, SI.
    """

    frequency: float
    quantity: str
    read: float
    uncertainty: float
    predicted: float
    predicted_uncertainty: float

    @property
    def score(self) -> float:
        """Difference over combined standard uncertainty, dimensionless."""
        difference = self.read - self.predicted
        if self.quantity == "phase":
            difference = math.remainder(difference, math.tau)
        return difference / max(math.hypot(self.uncertainty, self.predicted_uncertainty), 1e-300)


@dataclass(frozen=True)
class MeasuredSweep:
    """One sample's points, in the order of their frequencies, and what they say together.

    Attributes
    ----------
    sample : str
        Name of the sample.
    points : tuple[Point, ...]
        The points.
    findings : tuple[str, ...]
        What deviates, in words.
    """

    sample: str
    points: tuple[Point, ...]
    findings: tuple[str, ...]

    @property
    def deviates(self) -> bool:
        """Whether a point deviates."""
        return any(abs(point.score) > DEVIATES for point in self.points)


def sweep_readings(path: str | Path, design: Design, test: BenchTest) -> tuple[tuple[Reading, str], ...]:
    """Readings of a file that belong to the connection of a test, each with its measure; missing ones are
    left out.

    Parameters
    ----------
    path : str or Path
        The file.
    design : Design
        The transformer.
    test : BenchTest
        The test.

    Raises
    ------
    ReadingsError
        Every fault of the file; also a row without a frequency, or if no row belongs to the connection.
    """
    measures = [name for name in POINT_TESTS if (name == "n") == bool(test.sense) or name == "phase"]
    test_names = {item.name for item in design.tests}
    points = tuple(
        replace(test, name=name, measure=POINT_TESTS[name], frequency=None)
        for name in measures
        if name not in test_names
    )
    readings = load_readings(path, replace(design, tests=(*points, *design.tests)))
    by_name = {item.name: item for item in (*points, *design.tests)}
    faults, measured = [], []
    for reading in readings:
        origin = by_name[reading.test]
        if origin.measure not in POINT_TESTS.values() or not _same_connection(origin, test):
            continue
        frequency = reading.frequency if reading.frequency is not None else origin.frequency
        if not frequency:
            faults.append(
                Fault(
                    f"line {reading.line}, frequency",
                    "nothing" if reading.frequency is None else f"{reading.frequency:g} Hz",
                    "a frequency above zero for every row of a sweep",
                    "Add a column frequency, or a frequency in the cell.",
                    str(path),
                )
            )
        elif reading.value is not None:
            measured.append((replace(reading, frequency=frequency), origin.measure))
    if faults:
        raise ReadingsError(faults)
    if not measured:
        names = ", ".join([*measures, *(item.name for item in design.tests if _same_connection(item, test))])
        raise ReadingsError(
            Fault(
                "the file",
                "no reading of this connection",
                f"rows of test {names}",
                "Rows of other tests belong to other connections: give their --drive, --short or --sense.",
                str(path),
            )
        )
    return tuple(measured)


def _same_connection(first: BenchTest, second: BenchTest) -> bool:
    def ports(test: BenchTest) -> tuple[object, ...]:
        return (test.drive, frozenset(test.short), test.sense, frozenset(test.tie))

    return ports(first) == ports(second)


def compare_sweep(
    design: Design, predicted: Sweep, readings: Sequence[tuple[Reading, str]], number: int = 300
) -> tuple[MeasuredSweep, ...]:
    """Every sample's sweep beside the prediction.

    The prediction is computed anew at the frequencies that were read, and its uncertainty includes the
    set-up (link and leads). A complex reading counts as |Z|, phase, L and R (the uncertainty of each as in
    ``meter``).

    Parameters
    ----------
    design : Design
        The transformer.
    predicted : Sweep
        The predicted sweep.
    readings : Sequence[tuple[Reading, str]]
        Readings with their measures.
    number : int, optional
        Random builds, count.

    Raises
    ------
    BuildError
        The layout is outside the models.
    """
    test = predicted.test
    frequencies = np.array(sorted({_frequency(reading) for reading, _ in readings}))
    here = sweep(design, test, frequencies, number, origins=("build", "model", "setup"))
    index_of_frequency = {float(f): k for k, f in enumerate(frequencies)}
    points: dict[str, list[Point]] = {}
    for reading, measure in readings:
        k = index_of_frequency[_frequency(reading)]
        points.setdefault(reading.sample, []).extend(_points(design, here, reading, measure, k))
    result = []
    for sample, sample_points in points.items():
        ordered = tuple(sorted(sample_points, key=lambda point: (point.frequency, point.quantity)))
        complexes = {
            _frequency(reading): reading.impedance
            for reading, _ in readings
            if reading.sample == sample and reading.impedance is not None
        }
        result.append(MeasuredSweep(sample, ordered, findings(predicted, ordered, complexes)))
    return tuple(result)


def _points(design: Design, here: Sweep, reading: Reading, measure: str, k: int) -> list[Point]:
    frequency = float(here.frequencies[k])
    test = replace(here.test, frequency=frequency)
    if reading.impedance is not None and not test.sense:
        values = swept_quantities(
            test, np.array([reading.impedance]), here.frequencies[k : k + 1], design.bench.equivalent
        )
        meter = float(impedance_error(design.bench, abs(reading.impedance), frequency)) / 2
        if reading.uncertainty is not None and reading.value:
            meter = abs(reading.impedance) * abs(reading.uncertainty / reading.value)
        part, ratio = meter / abs(reading.impedance), abs(reading.impedance.imag / reading.impedance.real)
        doubts = {
            "impedance": meter,
            "phase": part,
            "inductance": part * math.hypot(1.0, 1 / ratio) * abs(float(values["inductance"][0])),
            "resistance": part * math.hypot(1.0, ratio) * abs(float(values["resistance"][0])),
        }
        return [_point(here, name, float(values[name][0]), doubts[name], k) for name in doubts]
    assert reading.value is not None
    read, doubt = reading.value, reading.uncertainty
    if doubt is None:
        as_read = replace(test, measure=measure)
        value = np.array([reading.value])
        doubt = float(handled_uncertainty(design, as_read, value, complex(here.impedance[k]))[0])
    if measure == "quality":  # Q = tan of the phase; the sign follows the prediction
        sign = 1.0 if here.impedance[k].imag >= 0 else -1.0
        return [_point(here, "phase", sign * math.atan(read), doubt / (1 + read**2), k)]
    return [_point(here, _QUANTITIES[measure], read, doubt, k)]


def _point(here: Sweep, quantity: str, read: float, doubt: float, k: int) -> Point:
    band = here.bands[quantity]
    return Point(
        frequency=float(here.frequencies[k]),
        quantity=quantity,
        read=read,
        uncertainty=doubt,
        predicted=float(band.nominal[k]),
        predicted_uncertainty=float(band.deviation[k]),
    )


def findings(predicted: Sweep, points: Sequence[Point], complexes: dict[float, complex]) -> tuple[str, ...]:
    """What deviates, in words: plateaus, resonances, resistance, each with the frequency from which it does.

    Parameters
    ----------
    predicted : Sweep
    points : Sequence[Point], measured points of one sample
    complexes : dict[float, complex], complex impedance by frequency, ohm and Hz
    """
    result = []
    first = predicted.resonances[0].frequency if predicted.resonances else math.inf
    shorted = bool(predicted.test.short)
    off = [point for point in points if abs(point.score) > DEVIATES]
    if not off:
        return ()
    plateau = [
        p
        for p in points
        if p.frequency < _BELOW_RESONANCE * first
        and (p.quantity == "inductance" or (p.quantity == "impedance" and _inductive(predicted, p.frequency)))
    ]
    shifted = _shift(plateau)
    if shifted is not None:
        factor, begin = shifted
        what = "leakage inductance" if shorted else "open inductance"
        where = (
            "Look at insulation, breadth and order of the layers, and at the shorting link."
            if shorted
            else "Look at the core: gap, seating, material; and at the turns."
        )
        result.append(
            f"From {_at(begin)} on the plateau is {100 * (factor - 1):+.1f} % off: the {what} differs. "
            f"{where}"
        )
    moved = _moved_resonance(predicted, complexes)
    if moved is not None:
        before, after = moved
        change = (before.frequency / after) ** 2
        beside = "with the inductance as predicted"
        if shifted is not None:
            change, beside = change / shifted[0], "apart from that inductance"
        words = f"{beside}, the capacitance is {change:.3g} times the predicted one"
        result.append(
            f"The {before.kind} resonance is at {_at(after)} instead of {_at(before.frequency)}: {words}. "
            "Look at insulation, impregnation and style of winding."
        )
    resistive = [p for p in points if p.quantity == "resistance"]
    if resistive and any(abs(p.score) > DEVIATES for p in resistive):
        begin = next(p.frequency for p in resistive if abs(p.score) > DEVIATES)
        lowest = resistive[0].frequency
        if begin == lowest:
            words = "already at the lowest frequency: wire, joints or contacts"
        elif shorted:
            words = "not below: eddy currents, so wire diameter, strands or the order of layers"
        else:
            words = "not below: the core's loss, or eddy currents next to a gap"
        result.append(f"The resistance deviates from {_at(begin)} on, {words}.")
    if not result:
        names = {"impedance": "|Z|", "phase": "the phase"}
        quantities = " and ".join(sorted({names.get(p.quantity, f"the {p.quantity}") for p in off}))
        result.append(
            f"From {_at(off[0].frequency)} to {_at(off[-1].frequency)} {quantities} deviates; neither a "
            "plateau nor a resonance alone explains it."
        )
    return tuple(result)


def _at(frequency: float) -> str:
    """A frequency to four digits."""
    return hertz(float(f"{frequency:.4g}"))


def _inductive(predicted: Sweep, frequency: float) -> bool:
    """Whether |Z| is that of an inductance there: phase beyond 60°."""
    phase = np.interp(math.log(frequency), np.log(predicted.frequencies), predicted.bands["phase"].nominal)
    return bool(phase > math.pi / 3)


def _shift(plateau: Sequence[Point]) -> tuple[float, float] | None:
    """Median of read over predicted, and the first frequency that deviates, if most of a plateau deviates to
    one side."""
    if not plateau:
        return None
    scores = np.array([point.score for point in plateau])
    if np.mean(np.abs(scores) > DEVIATES) < 0.5 or abs(np.mean(np.sign(scores))) < 0.9:
        return None
    factor = float(np.median([point.read / point.predicted for point in plateau]))
    return factor, next(point.frequency for point in plateau if abs(point.score) > DEVIATES)


def _moved_resonance(predicted: Sweep, complexes: dict[float, complex]) -> tuple[Resonance, float] | None:
    """Lowest resonance that differs, predicted, and the frequency measured for it."""
    if not predicted.resonances or len(complexes) < 2:
        return None
    frequencies: FloatArray = np.array(sorted(complexes))
    resonances = crossings(frequencies, np.array([complexes[float(f)] for f in frequencies]))
    before = predicted.resonances[0]
    same = [item.frequency for item in resonances if item.kind == before.kind]
    if not same or abs(same[0] / before.frequency - 1) < _RESONANCE_SHIFT:
        return None
    return before, same[0]


def _frequency(reading: Reading) -> float:
    """Frequency (Hz) at which a point was read; 0 where none is stated."""
    return float(reading.frequency or 0.0)
