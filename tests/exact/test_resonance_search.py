"""The search for a resonance against circuits that have it in closed form."""

from __future__ import annotations

import numpy as np
import pytest

from aswound.predict.circuit.resonance import HIGHEST, first_resonance, resonance_intervals
from aswound.predict.design import ComplexArray, FloatArray

pytestmark = pytest.mark.exact
RANDOM = np.random.default_rng(3)


def circuit(
    inductance: FloatArray, capacitance: FloatArray, series: FloatArray, frequency: FloatArray
) -> ComplexArray:
    """``series`` inductance before L parallel to C with a little loss: capacitive from 1/(2π √(LC)) on, and a
    short at a higher frequency."""
    omega = 2 * np.pi * frequency
    parallel = 1 / (1 / (1e-4 + 1j * omega * inductance) + 1j * omega * capacitance)
    return np.asarray(1j * omega * series + parallel)


@pytest.mark.parametrize("count", [1, 60])
@pytest.mark.parametrize("part", [0.05, 0.5])
def test_closed_form(count: int, part: float) -> None:
    # ω Im(1/Z) bends the more the larger the part of the inductance that lies before C.
    inductance = 1e-3 * np.exp(RANDOM.uniform(-1.5, 1.5, count))
    capacitance = 50e-12 * np.exp(RANDOM.uniform(-1.0, 1.0, count))
    found = first_resonance(lambda f: circuit(inductance, capacitance, part * inductance, f))
    exact = 1 / (2 * np.pi * np.sqrt(inductance * capacitance))
    np.testing.assert_allclose(found, exact, rtol=1e-5 if count == 1 else 1e-3)
    assert float(np.median(np.abs(found / exact - 1))) < 1e-4


def test_leaps_may_be_rough() -> None:
    inductance, capacitance = np.array([1e-3, 2e-3, 8e-3]), np.full(3, 80e-12)
    series = 0.1 * inductance
    found = first_resonance(
        lambda f: circuit(inductance, capacitance, series, f),
        resonance_intervals(lambda f: circuit(1.05 * inductance, capacitance, series, f)),
    )
    np.testing.assert_allclose(found, 1 / (2 * np.pi * np.sqrt(inductance * capacitance)), rtol=1e-3)


def test_none() -> None:
    found = first_resonance(lambda f: np.array([1j, 2j]) * f)
    assert found.tolist() == [HIGHEST, HIGHEST]
