"""What readings teach about factors: linear cases that can be done by hand."""

from __future__ import annotations

import numpy as np
import pytest

from aswound.compare.lots.calibration import factor_posterior
from aswound.compare.lots.pooling import pool

pytestmark = pytest.mark.exact


def test_one_factor_and_one_reading_share_by_their_variances() -> None:
    prior, noise, read = 0.05, 0.02, 0.03
    effect = np.array([[prior]])
    found = factor_posterior(np.array([read]), np.array([[prior**2 + noise**2]]), effect)
    part = prior**2 / (prior**2 + noise**2)
    assert prior * found.mean[0] == pytest.approx(part * read)
    assert found.covariance[0, 0] == pytest.approx(1 - part)
    assert found.alone[0, 0] == pytest.approx(part)


def test_two_factors_in_one_sum_stay_tied_together() -> None:
    """y = a + b without noise: the sum is known, the difference as uncertain as before."""
    a, b = 0.03, 0.04
    effect = np.array([[a], [b]])
    found = factor_posterior(np.array([0.1]), np.array([[a**2 + b**2]]), effect)
    size = np.array([a, b])
    assert size @ found.mean == pytest.approx(0.1)
    assert size @ found.covariance @ size == pytest.approx(0.0, abs=1e-15)
    across = np.array([b, -a])
    assert across @ found.covariance @ across == pytest.approx(across @ across)


def test_a_reading_that_holds_nothing_of_a_factor_teaches_nothing() -> None:
    found = factor_posterior(np.array([0.5]), np.array([[0.01]]), np.array([[0.0]]))
    assert found.mean[0] == 0.0
    assert found.covariance[0, 0] == 1.0


def test_the_mean_of_complete_parts_is_the_plain_mean() -> None:
    random = np.random.default_rng(3)
    unit = np.array([[4.0, 1.0], [1.0, 2.0]]) * 1e-4
    y = random.normal(size=(7, 2))
    found = pool(y, unit)
    assert found.mean == pytest.approx(y.mean(axis=0))
    assert found.doubt == pytest.approx(unit / 7)


@pytest.mark.parametrize("shift", [0.0, 0.4])
def test_a_pool_is_worth_all_its_parts_whatever_is_missing(shift: float) -> None:
    """ln p(all readings | δ, C) − ln N(ȳ; δ, C + J⁻¹) hangs neither on δ nor on C: against the full normal
    distribution of all readings of all parts, some of them missing."""
    random = np.random.default_rng(5)
    unit = np.diag([1.0, 2.0, 0.5]) * 1e-2 + 0.4e-2
    y = random.normal(0.2, 0.1, size=(5, 3))
    y[0, 1] = y[1, 2] = y[2, 0] = y[2, 1] = np.nan
    found = pool(y, unit)
    there = ~np.isnan(y)

    def full(common: np.ndarray, delta: np.ndarray) -> float:
        whole = np.kron(np.ones((5, 5)), common) + np.kron(np.eye(5), unit)
        keep = np.flatnonzero(there.ravel())
        residual = (y - delta).ravel()[keep]
        inside = whole[np.ix_(keep, keep)]
        return float(-0.5 * residual @ np.linalg.solve(inside, residual) - 0.5 * np.linalg.slogdet(inside)[1])

    def pooled(common: np.ndarray, delta: np.ndarray) -> float:
        inside = common + found.doubt
        residual = found.mean - delta
        return float(-0.5 * residual @ np.linalg.solve(inside, residual) - 0.5 * np.linalg.slogdet(inside)[1])

    flat, steep = np.eye(3) * 0.02, np.diag([0.3, 0.01, 0.05]) + 0.02
    reference = full(flat, np.zeros(3)) - pooled(flat, np.zeros(3))
    assert full(steep, np.full(3, shift)) - pooled(steep, np.full(3, shift)) == pytest.approx(reference)
