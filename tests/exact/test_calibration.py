"""What readings teach about factors: linear cases that can be done by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from small_design import SMALL

from aswound.compare.causes import CATALOGUE
from aswound.compare.diagnosis.weighing import case_of
from aswound.compare.hypotheses import inquire
from aswound.compare.lots.calibration import factor_posterior
from aswound.compare.lots.pooling import everything_read, lot_of, pool, pooled_case
from aswound.compare.readings.read_test import ReadTest
from aswound.predict import parse_design, readings

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


@pytest.mark.parametrize(("turned", "wrong"), [(1, 0.0), (2, 0.0), (3, 1.0), (5, 1.0)])
def test_a_lot_has_the_sign_of_most_of_its_parts(turned: int, wrong: float) -> None:
    """Five parts, some of whose ratios have the other sign: from three on the lot has it."""
    design = parse_design(SMALL)
    inquiry = inquire(design, design.tests, CATALOGUE, ahead=False)
    inductance, ratio = readings(design).tolist()

    def part(number: int) -> list[ReadTest]:
        values = inductance, ratio * (-1 if number < turned else 1)
        return [
            ReadTest(test_index=place, value=value, uncertainty=1e-3 * abs(value), repeats=1)
            for place, value in enumerate(values)
        ]

    rows = [part(number) for number in range(5)]
    asked = replace(design, tests=inquiry.tests)
    case = case_of(asked, inquiry.background, everything_read(design.tests, rows))
    pooled, columns = pooled_case(lot_of(inquiry.background, case, rows), np.ones(5, dtype=bool))
    assert columns.tolist() == [0, 1]
    assert pooled.signs.tolist() == [0.0, wrong]
