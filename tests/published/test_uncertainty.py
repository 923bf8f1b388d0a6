"""Propagation of uncertainty against the worked examples of the Guide and its first supplement."""

from __future__ import annotations

import numpy as np
import pytest

from aswound.compare.meter.propagation import propagate

pytestmark = pytest.mark.published

# JCGM 100:2008 (GUM), annex H.2, table H.2: five simultaneous readings (from memory; the derived values
# confirm them).
VOLTS = np.array([5.007, 4.994, 5.005, 4.990, 4.999])
AMPERES = np.array([19.663, 19.639, 19.640, 19.685, 19.678]) * 1e-3
RADIANS = np.array([1.0456, 1.0438, 1.0468, 1.0428, 1.0433])


def impedance(x: np.ndarray) -> np.ndarray:
    volts, amperes, phi = np.moveaxis(x, -1, 0)
    Z = volts / amperes
    return np.stack([Z * np.cos(phi), Z * np.sin(phi), Z], axis=-1)


def test_gum_h2_from_the_raw_readings() -> None:
    """R 127.732, X 219.847, Z 254.260 ohm with u 0.071, 0.295, 0.236 and correlations −0.588, −0.485, 0.993
    (GUM table H.4)."""
    readings = np.stack([VOLTS, AMPERES, RADIANS])
    estimate = propagate(impedance, readings.mean(axis=1), np.cov(readings) / 5)
    assert estimate.value == pytest.approx([127.732, 219.847, 254.260], abs=0.0006)
    assert estimate.uncertainty == pytest.approx([0.071, 0.295, 0.236], abs=0.0007)
    correlation = estimate.covariance / np.outer(estimate.uncertainty, estimate.uncertainty)
    found = [correlation[0, 1], correlation[0, 2], correlation[1, 2]]
    assert found == pytest.approx([-0.588, -0.485, 0.993], abs=0.0006)


def test_gum_h2_from_the_summary() -> None:
    """The same from means, uncertainties and correlations as printed (GUM table H.3)."""
    u = np.array([3.2e-3, 9.5e-6, 7.5e-4])
    r = np.array([[1, -0.36, 0.86], [-0.36, 1, -0.65], [0.86, -0.65, 1]])
    estimate = propagate(impedance, [4.999, 19.661e-3, 1.04446], r * np.outer(u, u))
    assert estimate.uncertainty == pytest.approx([0.070, 0.296, 0.236], rel=0.02)


def test_supplement_1_additive_model() -> None:
    """JCGM 101:2008, 9.2 (from memory): Y = X1 + … + X4 of unit uncertainty each, u = 2."""
    estimate = propagate(lambda x: x.sum(axis=-1, keepdims=True), [1.0, -2.0, 0.5, 3.0], [1.0] * 4)
    assert estimate.value[0] == pytest.approx(2.5)
    assert estimate.uncertainty[0] == pytest.approx(2.0, rel=1e-9)


def test_supplement_1_comparison_loss() -> None:
    """JCGM 101:2008, 9.4 (from memory): Y = X1² + X2², u = 0.005 each. At X = 0 the law of propagation gives
    u = 0 where the distributions have 50e-6: it holds where f is straight. From X1 = 0.05 on both agree."""

    def model(x: np.ndarray) -> np.ndarray:
        return (x**2).sum(axis=-1, keepdims=True)

    assert propagate(model, [0.0, 0.0], [0.005, 0.005]).uncertainty[0] == pytest.approx(0.0, abs=1e-12)
    draws = 0.005 * np.random.default_rng(1).standard_normal((200_000, 2))
    assert np.std(model(draws)) == pytest.approx(50e-6, rel=0.02)
    assert propagate(model, [0.05, 0.0], [0.005, 0.005]).uncertainty[0] == pytest.approx(
        float(np.std(model(draws + np.array([0.05, 0.0])))), rel=0.02
    )
