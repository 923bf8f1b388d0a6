"""The meter's uncertainty against worked budgets and independent computations."""

import math

import numpy as np
import pytest

from aswound.compare.meter.accuracy import impedance_error, meter_uncertainty
from aswound.predict.circuit.displayed_number import display
from aswound.predict.design import Bench
from aswound.predict.errors import DesignError

pytestmark = pytest.mark.reference

IDEAL = Bench(accuracy=0.0, floor_resistance=0.0, floor_inductance=0.0, floor_capacitance=0.0)
F = 100e3
OMEGA = 2.0 * math.pi * F
RECTANGULAR = 2.0 / math.sqrt(3.0)
"""A rectangular bound b has the standard uncertainty b/√3: written as a k = 2 term it is 2b/√3."""


def only(**terms: float) -> Bench:
    return Bench(
        **{
            "accuracy": 0.0,
            "floor_resistance": 0.0,
            "floor_inductance": 0.0,
            "floor_capacitance": 0.0,
            **terms,
        }
    )


class TestLeakageBudget:
    """Worked budget of a 0.5 µH leakage reading at 100 kHz, Q = 3 (the project's bench notes, section B.10):
    basic 0.1 % rectangular: 0.06 %; residual 2 mΩ rectangular: 0.37 %; both times √(1 + 1/9) at that Q;
    |Z| = ωL = 0.314 ohm in its second column."""

    inductance = 0.5e-6
    lossless = 1j * OMEGA * inductance
    lossy = OMEGA * inductance * (1 / 3 + 1j)

    def share(self, bench: Bench, impedance: complex) -> float:
        return float(meter_uncertainty(bench, "inductance", self.inductance, impedance, F)) / self.inductance

    def test_basic_accuracy(self) -> None:
        assert self.share(only(accuracy=0.001 * RECTANGULAR), self.lossless) == pytest.approx(
            0.0006, abs=5e-5
        )

    def test_residual_resistance(self) -> None:
        bench = only(floor_resistance=2e-3 * RECTANGULAR)
        assert self.share(bench, self.lossless) == pytest.approx(0.0037, abs=5e-5)

    def test_residual_inductance(self) -> None:
        """SHORT standard, 5 nH rectangular: 0.58 %."""
        bench = only(floor_inductance=5e-9 * RECTANGULAR)
        assert self.share(bench, self.lossless) == pytest.approx(0.0058, abs=5e-5)

    def test_low_quality_raises_the_basic_term(self) -> None:
        bench = only(accuracy=0.001)
        factor = self.share(bench, self.lossy) / self.share(bench, self.lossless)
        assert factor == pytest.approx(math.sqrt(1.0 + 1.0 / 9.0), rel=1e-12)


def test_resistance_beside_a_large_reactance() -> None:
    """At Q = 50 an accuracy of 0.1 % leaves R uncertain by 0.1 % √2501 = 5 % (k = 2)."""
    u = meter_uncertainty(only(accuracy=0.001), "ac_resistance", 1.0, 1.0 + 50j, F)
    assert 2.0 * u == pytest.approx(0.001 * math.sqrt(2501.0), rel=1e-12)
    assert 2.0 * u == pytest.approx(0.05, abs=1e-4)


@pytest.mark.parametrize("quality", [20.0, 50.0, 100.0])
def test_quality_is_the_converted_accuracy_of_the_loss_factor(quality: float) -> None:
    """Q² D_e/(1 ∓ Q D_e) with D_e = A_e for D ≤ 0.1: its lower and upper side enclose the tangent."""
    accuracy = 0.001
    expanded = 2.0 * float(
        meter_uncertainty(only(accuracy=accuracy), "quality", quality, 1 + 1j * quality, F)
    )
    assert quality**2 * accuracy / (1 + quality * accuracy) < expanded * 1.0000001
    assert expanded < quality**2 * accuracy / (1 - quality * accuracy)


@pytest.mark.parametrize("quality", [1.0, 3.0, 10.0])
def test_quality_of_a_lossy_impedance(quality: float) -> None:
    """For D > 0.1 common specifications give D_e = A_e (1 + D), so Q² D_e = A_e (Q² + Q): within 25 %."""
    accuracy = 0.001
    expanded = 2.0 * float(
        meter_uncertainty(only(accuracy=accuracy), "quality", quality, 1 + 1j * quality, F)
    )
    assert expanded == pytest.approx(accuracy * (quality**2 + quality), rel=0.25)


@pytest.mark.parametrize("circuit", ["series", "parallel"])
@pytest.mark.parametrize("measure", ["inductance", "ac_resistance", "quality", "phase"])
@pytest.mark.parametrize("impedance", [0.1 + 0.314j, 2.0 + 60j, 40.0 + 9j, 5.0 - 90j])
def test_every_display_spreads_as_the_circle_of_the_impedance_error(
    measure: str, circuit: str, impedance: complex
) -> None:
    """The error circle |δZ| = A_e |Z| sent through the display functions; its half width, numerically."""
    bench = Bench(accuracy=2e-5, floor_resistance=1e-7, floor_inductance=1e-13, floor_capacitance=1e-17)
    width = float(impedance_error(bench, abs(impedance), F))
    circle = impedance + width * np.exp(2j * np.pi * np.arange(3600) / 3600)
    shown = display(measure, circle, OMEGA, circuit)
    value = float(display(measure, impedance, OMEGA, circuit))
    u = float(meter_uncertainty(bench, measure, value, impedance, F, equivalent=circuit))
    assert 2.0 * u == pytest.approx(float(np.ptp(shown)) / 2.0, rel=2e-3)


def test_error_of_an_impedance_is_the_root_of_the_sum_of_the_squares_of_its_terms() -> None:
    bench = Bench(accuracy=0.001, floor_resistance=2e-3, floor_inductance=2e-9, floor_capacitance=0.05e-12)
    expected = math.hypot(0.001 * 80, 2e-3, OMEGA * 2e-9, 80**2 * OMEGA * 0.05e-12)
    assert impedance_error(bench, 80.0, F) == pytest.approx(expected, rel=1e-14)


def test_floors_stay_absolute_where_the_reading_is_far_below_its_prediction() -> None:
    """A 2 mΩ + 2 nH floor does not shrink with a reading that is ten times too small."""
    bench = only(floor_resistance=2e-3, floor_inductance=2e-9)
    u = meter_uncertainty(bench, "inductance", np.array([10e-6, 1e-6, 0.0]), 0.05 + 1j * OMEGA * 10e-6, F)
    np.testing.assert_allclose(u, 0.5 * math.hypot(2e-3 / OMEGA, 2e-9), rtol=1e-12)


def test_direct_current_resistance() -> None:
    bench = Bench(accuracy=0.001, floor_resistance=2e-3)
    expected = math.hypot(0.00024, 0.002) / 2
    assert meter_uncertainty(bench, "resistance", 0.240, None, None) == pytest.approx(expected, rel=1e-12)


def test_ratio_of_two_voltages() -> None:
    """Two independent readings of relative standard uncertainty 0.05 %: √2 of it, in quadrature."""
    u = meter_uncertainty(Bench(accuracy=0.001), "ratio", 5.99, None, None)
    assert u == pytest.approx(5.99 * math.hypot(0.0005, 0.0005), rel=1e-12)


def test_mutual_is_an_inductance_of_its_own_size() -> None:
    bench = Bench()
    mutual = meter_uncertainty(bench, "mutual", -3e-5, 5.0 + 4e2j, F)
    assert mutual == meter_uncertainty(bench, "inductance", 3e-5, None, F)
    parallel = Bench(equivalent="parallel")
    assert meter_uncertainty(parallel, "mutual", -3e-5, None, F) == pytest.approx(float(mutual), rel=1e-12)


def test_resolution_is_rectangular_and_adds_in_quadrature() -> None:
    """One step of 0.1 % of the reading alone: 0.1 %/√12; with 0.1 % accuracy (k = 2): in quadrature."""
    assert meter_uncertainty(only(resolution=0.001), "ratio", 6.0, None, None) == pytest.approx(
        6.0 * 0.001 / math.sqrt(12.0), rel=1e-12
    )
    both = meter_uncertainty(only(resolution=0.001, accuracy=0.001), "ratio", 6.0, None, None)
    assert both == pytest.approx(6.0 * math.hypot(0.001 / math.sqrt(12.0), 0.001 / math.sqrt(2.0)), rel=1e-12)


def test_an_ideal_meter_has_no_uncertainty() -> None:
    for measure, value in [("inductance", 1e-6), ("ac_resistance", 0.3), ("quality", 30.0), ("phase", 1.5)]:
        assert meter_uncertainty(IDEAL, measure, value, 0.3 + 9j, F) == 0.0


def test_unknown_impedance_takes_the_display_as_all_there_is() -> None:
    bench = Bench()
    known = meter_uncertainty(bench, "inductance", 1e-6, 1j * OMEGA * 1e-6, F)
    assert meter_uncertainty(bench, "inductance", 1e-6, None, F) == pytest.approx(float(known), rel=1e-12)
    assert meter_uncertainty(bench, "phase", 0.1, None, F) == pytest.approx(0.0005, rel=1e-12)


def test_readings_impedances_and_frequencies_broadcast() -> None:
    frequencies = np.array([[1e3], [1e5]])
    values = np.array([1e-6, 2e-6, 3e-6])
    for measure in ("inductance", "ac_resistance", "quality", "phase", "mutual"):
        u = meter_uncertainty(Bench(), measure, values, 0.1 + 1j * values * 6e5, frequencies)
        assert u.shape == (2, 3)
        one = meter_uncertainty(Bench(), measure, 2e-6, 0.1 + 1.2j, 1e5)
        assert u[1, 1] == pytest.approx(float(one), rel=1e-12)


def test_an_alternating_current_measure_needs_its_frequency() -> None:
    with pytest.raises(DesignError, match="frequency"):
        meter_uncertainty(Bench(), "inductance", 1e-6, None, None)


def test_other_measures_are_refused() -> None:
    with pytest.raises(DesignError, match="inductence"):
        meter_uncertainty(Bench(), "inductence", 1.0, None, F)


def test_capacitance_grows_uncertain_below_the_open_floor_and_resonance_is_found_to_a_per_cent() -> None:
    """1 pF with 0.05 pF left after the open correction, 0.1 % accuracy: half of each, and of the
    series floor's C² ω R and C² ω² L; resonance: 1 % at k = 2."""
    bench = Bench()
    omega = 2 * math.pi * 100e3
    series = (1e-24 * omega * bench.floor_resistance, 1e-24 * omega**2 * bench.floor_inductance)
    expected = math.hypot(0.001e-12, 0.05e-12, *series) / 2
    u = float(meter_uncertainty(bench, "capacitance", 1e-12, None, 100e3))
    assert u / expected == pytest.approx(1.0, rel=1e-12)
    assert float(meter_uncertainty(bench, "resonance", 1e6, None, None)) == pytest.approx(5e3)
