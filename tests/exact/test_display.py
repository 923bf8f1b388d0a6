"""What the meter makes of an impedance: identities that hold exactly."""

import math

import numpy as np
import pytest

from aswound.predict.circuit.displayed_number import IMPEDANCE_MEASURES, display
from aswound.predict.errors import DesignError

pytestmark = pytest.mark.exact

OMEGA = 2.0 * math.pi * 100e3
SPREAD = np.random.default_rng(7)
IMPEDANCES = SPREAD.uniform(0.01, 10.0, 200) + 1j * SPREAD.uniform(-10.0, 10.0, 200)


def test_series_inductance_and_resistance_are_the_parts_of_the_impedance() -> None:
    assert display("inductance", 0.3 + 1j * OMEGA * 5e-7, OMEGA, "series") == pytest.approx(5e-7, rel=1e-14)
    assert display("ac_resistance", 0.3 + 1j * OMEGA * 5e-7, OMEGA, "series") == 0.3


def test_parallel_circuit_of_known_elements_is_displayed_as_those_elements() -> None:
    resistance, inductance = 47.0, 3.3e-5
    impedance = 1.0 / (1.0 / resistance + 1.0 / (1j * OMEGA * inductance))
    assert display("inductance", impedance, OMEGA, "parallel") == pytest.approx(inductance, rel=1e-14)
    assert display("ac_resistance", impedance, OMEGA, "parallel") == pytest.approx(resistance, rel=1e-14)


def test_series_and_parallel_are_related_by_the_quality() -> None:
    """Lp = Ls (1 + 1/Q²), Rp = Rs (1 + Q²)."""
    quality = display("quality", IMPEDANCES, OMEGA, "series")
    series = {name: display(name, IMPEDANCES, OMEGA, "series") for name in ("inductance", "ac_resistance")}
    parallel = {
        name: display(name, IMPEDANCES, OMEGA, "parallel") for name in ("inductance", "ac_resistance")
    }
    np.testing.assert_allclose(parallel["inductance"], series["inductance"] * (1 + quality**-2), rtol=1e-12)
    np.testing.assert_allclose(
        parallel["ac_resistance"], series["ac_resistance"] * (1 + quality**2), rtol=1e-12
    )


@pytest.mark.parametrize(("quality", "ratio"), [(10.0, 1.01), (3.0, 1.0 + 1.0 / 9.0), (1.0, 2.0)])
def test_parallel_over_series_inductance_at_a_known_quality(quality: float, ratio: float) -> None:
    impedance = 1.0 + 1j * quality
    series = display("inductance", impedance, OMEGA, "series")
    assert display("inductance", impedance, OMEGA, "parallel") / series == pytest.approx(ratio, rel=1e-14)


def test_parallel_is_the_display_of_the_admittance() -> None:
    """Lp = −1/(ω Im Y), Rp = 1/Re Y."""
    admittance = 1.0 / IMPEDANCES
    inductance = display("inductance", IMPEDANCES, OMEGA, "parallel")
    np.testing.assert_allclose(inductance, -1.0 / (OMEGA * admittance.imag), rtol=1e-12)
    resistance = display("ac_resistance", IMPEDANCES, OMEGA, "parallel")
    np.testing.assert_allclose(resistance, 1.0 / admittance.real, rtol=1e-12)


def test_quality_is_positive_and_the_tangent_of_the_phase() -> None:
    for circuit in ("series", "parallel"):
        quality = display("quality", IMPEDANCES, OMEGA, circuit)
        phase = display("phase", IMPEDANCES, OMEGA, circuit)
        np.testing.assert_allclose(quality, np.abs(np.tan(phase)), rtol=1e-12)
        np.testing.assert_array_equal(np.sign(phase), np.sign(IMPEDANCES.imag))


def test_signs_survive_above_resonance() -> None:
    assert display("inductance", 5.0 - 80j, OMEGA, "series") < 0.0
    assert display("inductance", 5.0 - 80j, OMEGA, "parallel") < 0.0
    assert display("phase", -1.0 + 0j, OMEGA, "series") == pytest.approx(math.pi)


def test_limits_without_loss_and_without_reactance() -> None:
    assert display("quality", 3j, OMEGA, "series") == math.inf
    assert display("ac_resistance", 3j, OMEGA, "parallel") == math.inf
    assert display("inductance", 3.0 + 0j, OMEGA, "parallel") == math.inf
    assert math.isnan(display("quality", 0j, OMEGA, "series"))


@pytest.mark.parametrize("measure", IMPEDANCE_MEASURES)
@pytest.mark.parametrize("circuit", ["series", "parallel"])
def test_impedances_and_frequencies_broadcast(measure: str, circuit: str) -> None:
    omegas = 2.0 * math.pi * np.array([[1e3], [1e4], [1e5]])
    together = display(measure, IMPEDANCES, omegas, circuit)
    assert together.shape == (3, 200)
    one = display(measure, complex(IMPEDANCES[17]), float(omegas[1, 0]), circuit)
    assert together[1, 17] == pytest.approx(float(one), rel=1e-14)


@pytest.mark.parametrize("measure", ["ratio", "mutual", "resistance", "inductence"])
def test_a_measure_that_no_impedance_decides_is_refused(measure: str) -> None:
    with pytest.raises(DesignError, match=measure):
        display(measure, 1 + 1j, OMEGA, "series")


def test_an_unknown_equivalent_circuit_is_refused() -> None:
    with pytest.raises(DesignError, match="serial"):
        display("inductance", 1 + 1j, OMEGA, "serial")  # type: ignore[arg-type]


def test_series_and_parallel_capacitance_by_hand() -> None:
    """100 − 200j ohm: 1/(200 ω) in series; with |Z|² = 50 000 ohm², 200/(50 000 ω) in parallel."""
    impedance = 100.0 - 200.0j
    assert display("capacitance", impedance, OMEGA, "series") == pytest.approx(1 / (200 * OMEGA))
    assert display("capacitance", impedance, OMEGA, "parallel") == pytest.approx(1 / (250 * OMEGA))
