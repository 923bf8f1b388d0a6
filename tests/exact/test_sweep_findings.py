"""What is said of a measured sweep, from points given by hand. Label: exact."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import cast

import numpy as np
import pytest
from small_design import SMALL

from aswound.compare.readings import Reading
from aswound.compare.verdict.measured_sweeps import Point, _inductive, _points, findings
from aswound.predict import parse_design
from aswound.predict.design import BenchTest, Member
from aswound.predict.production import Resonance, Sweep
from aswound.predict.production.frequency_sweep import Band

pytestmark = pytest.mark.exact

FREQUENCIES = np.geomspace(1e3, 1e6, 31)


def swept(degrees: float = 89.0) -> Sweep:
    """A winding whose parallel resonance is predicted at 100 kHz, its phase below it as given."""
    phase = np.full(31, math.radians(degrees))
    bands = {
        name: Band(np.full(31, value), np.full(31, value), np.full(31, value), np.full(31, 0.01 * value))
        for name, value in (("inductance", 1e-3), ("impedance", 100.0))
    }
    bands["phase"] = Band(phase, phase, phase, np.full(31, 0.005))
    test = BenchTest(name="sweep", measure="inductance", drive=(Member("P"),), equivalent="series")
    return Sweep(test, FREQUENCIES, np.full(31, 10 + 100j), bands, (Resonance(1e5, "parallel"),))


def point(frequency: float, quantity: str, read: float, predicted: float) -> Point:
    return Point(
        frequency=frequency, quantity=quantity, read=read, uncertainty=0.001 * predicted, predicted=predicted,
        predicted_uncertainty=0.001 * predicted,
    )  # fmt: skip


MOVED = {64e3: 1j, 100e3: -1j}
"""Admittances −1 and +1 S: they cross zero half way in the logarithm, at 80 kHz."""


def test_a_lower_resonance_is_more_capacitance() -> None:
    """(100/80)² = 1.5625 times, the inductance as predicted."""
    (told,) = findings(swept(), [point(9e4, "impedance", 120.0, 100.0)], dict(MOVED))
    assert told.startswith("The parallel resonance is at 80 kHz instead of 100 kHz: with the inductance")
    assert "the capacitance is 1.56 times the predicted one." in told


def test_the_inductance_takes_its_part_of_a_moved_resonance() -> None:
    """10 % more inductance: 1.5625/1.1 = 1.42 times the capacitance."""
    points = [point(frequency, "inductance", 1.1e-3, 1e-3) for frequency in (1e3, 2e3, 5e3)]
    first, second = findings(swept(), points, dict(MOVED))
    assert first.startswith("From 1 kHz on the plateau is +10.0 % off: the open inductance differs.")
    assert "apart from that inductance, the capacitance is 1.42 times the predicted one." in second


@pytest.mark.parametrize(("degrees", "inductive"), [(59.0, False), (61.0, True), (-80.0, False)])
def test_an_impedance_is_an_inductance_beyond_sixty_degrees(degrees: float, inductive: bool) -> None:
    assert _inductive(swept(degrees), 1e4) is inductive


def test_a_quality_is_the_tangent_of_a_phase() -> None:
    """Q = 3 ± 0.2: atan 3, and dθ = dQ/(1 + Q²) = 0.02 rad."""
    reading = cast(
        Reading, SimpleNamespace(value=3.0, uncertainty=0.2, impedance=None, frequency=float(FREQUENCIES[5]))
    )
    (found,) = _points(parse_design(SMALL), swept(), reading, "quality", 5)
    assert (found.quantity, found.read) == ("phase", pytest.approx(math.atan(3)))
    assert found.uncertainty == pytest.approx(0.02)
    assert found.predicted == pytest.approx(math.radians(89))
