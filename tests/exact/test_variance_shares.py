"""Variance shares against functions whose decomposition is known, and the weighted quantiles of a spread."""

from __future__ import annotations

import numpy as np
import pytest

from aswound.predict.design import FloatArray
from aswound.predict.production.drivers import JOINT, main_direction, variance_shares
from aswound.predict.production.monte_carlo import percentile

pytestmark = pytest.mark.exact

BUILDS = 4000


def draw(seed: int, number: int = BUILDS, count: int = 4) -> FloatArray:
    return np.random.default_rng(seed).standard_normal((number, count))


def shares(z: FloatArray, reading: FloatArray) -> dict[str, float]:
    names = tuple("abcdefghij"[: z.shape[1]])
    (drivers,) = variance_shares(names, z, reading[:, None])
    assert sum(driver.share for driver in drivers) == pytest.approx(1.0, abs=1e-12)
    return {driver.parameter: driver.share for driver in drivers}


def test_a_linear_reading_shares_by_the_squares_of_its_slopes() -> None:
    """y = 3a + 4b: 9/25 and 16/25, nothing else."""
    z = draw(1)
    found = shares(z, 3 * z[:, 0] + 4 * z[:, 1])
    assert found["a"] == pytest.approx(9 / 25, abs=0.02)
    assert found["b"] == pytest.approx(16 / 25, abs=0.02)
    assert found["c"] == pytest.approx(0.0, abs=1e-12)
    assert found[JOINT] == pytest.approx(0.0, abs=1e-12)


def test_a_product_is_all_the_pairs() -> None:
    """y = ab: neither parameter does anything by itself."""
    z = draw(2)
    assert shares(z, z[:, 0] * z[:, 1])["a with b"] == pytest.approx(1.0, abs=0.05)


def test_what_takes_three_is_a_joint_effect() -> None:
    """y = abc: no parameter and no pair does anything."""
    z = draw(12, 20_000)
    assert shares(z, z[:, 0] * z[:, 1] * z[:, 2])[JOINT] == pytest.approx(1.0, abs=0.03)


def test_a_difference_of_two_places_is_half_their_own_half_the_pairs() -> None:
    """y = (a − b)² = a² + b² − 2ab: variances 2, 2 and 4 of 8."""
    z = draw(13, 20_000)
    found = shares(z, (z[:, 0] - z[:, 1]) ** 2)
    assert [found[name] for name in ("a", "b", "a with b")] == pytest.approx([0.25, 0.25, 0.5], abs=0.04)


def test_a_mixed_reading_shares_as_its_terms() -> None:
    """y = a + 2b + 2ab + 3c²: variances 1, 4, 4, 18 of 27."""
    z = draw(3, 40_000)
    found = shares(z, z[:, 0] + 2 * z[:, 1] + 2 * z[:, 0] * z[:, 1] + 3 * z[:, 2] ** 2)
    assert found["a"] == pytest.approx(1 / 27, abs=0.015)
    assert found["b"] == pytest.approx(4 / 27, abs=0.015)
    assert found["a with b"] == pytest.approx(4 / 27, abs=0.015)
    assert found["c"] == pytest.approx(18 / 27, abs=0.015)


def test_curvature_belongs_to_its_own_parameter() -> None:
    """y = a²: not a joint effect, although its slope is nil."""
    z = draw(4)
    assert shares(z, z[:, 0] ** 2)["a"] == pytest.approx(1.0, abs=1e-9)


def test_a_step_at_the_middle_keeps_what_cubics_see_of_it() -> None:
    """y = sign a: Hermite terms 1 and 3 hold 2/π (1 + 1/6) = 0.743 of the variance."""
    z = draw(5, 40_000)
    assert shares(z, np.sign(z[:, 0]))["a"] == pytest.approx(2 / np.pi * (1 + 1 / 6), abs=0.01)


def test_idle_parameters_take_nothing_from_few_builds() -> None:
    """Seven idle parameters beside two that act together: mean share below 1 %."""
    idle = []
    for seed in range(20):
        z = draw(100 + seed, 200, 10)
        found = shares(z, z[:, 0] + z[:, 1] * z[:, 2])
        idle.append(np.mean([found[name] for name in "defghij"]))
    assert np.mean(idle) < 0.01


def skewed(z: FloatArray) -> FloatArray:
    """Readings (B, 3): linear, log-normal with an interaction, and in two groups."""
    linear = z @ np.array([1.0, 0.5, 0.2, 0.0])
    return np.stack(
        [linear, np.exp(0.3 * linear + 0.1 * z[:, 2] * z[:, 3]), linear + 5.0 * (z[:, 1] > 1.0)], axis=-1
    )


def ends(seed: int, number: int) -> tuple[FloatArray, FloatArray]:
    z = draw(seed, number)
    samples = skewed(z)
    direction = main_direction(z, samples)
    found = [percentile(samples, direction, part) for part in (0.025, 0.975)]
    return np.array([values for values, _ in found]), np.array([errors for _, errors in found])


def test_ends_of_the_range_settle_as_one_over_root_builds() -> None:
    """Scatter of low and high over 40 seeds: four times the builds halve it, and it is as stated."""
    few = [ends(seed, 500) for seed in range(40)]
    many = [ends(1000 + seed, 2000) for seed in range(40)]
    scatter = [np.std([values for values, _ in runs], axis=0, ddof=1) for runs in (few, many)]
    stated = [np.mean([errors for _, errors in runs], axis=0) for runs in (few, many)]
    # 40 seeds know a deviation to 11 %, a ratio of two to 16 %
    for test in range(3):
        for end in range(2):
            # the linear reading settles faster: its quantile is known from its parameters
            assert 1.2 < scatter[0][end, test] / scatter[1][end, test] < (8.0 if test == 0 else 3.4)
            assert 0.5 < stated[1][end, test] / scatter[1][end, test] < 1.8


def test_ends_are_unbiased_and_sharper_than_plain_quantiles() -> None:
    z = draw(9, 1_000_000)
    truth = np.quantile(skewed(z), [0.025, 0.975], axis=0)
    runs = [
        (ends(seed, 1000)[0], np.quantile(skewed(draw(seed, 1000)), [0.025, 0.975], axis=0))
        for seed in range(60)
    ]
    weighted, plain = (np.array([run[kind] for run in runs]) for kind in (0, 1))
    error = np.std(weighted, axis=0, ddof=1)
    assert np.all(np.abs(weighted.mean(axis=0) - truth) < 4 * error / np.sqrt(60) + 0.15 * error)
    usual = np.std(plain, axis=0, ddof=1)
    assert np.all(error[:, 0] < 0.3 * usual[:, 0])
    assert np.all(error < 1.2 * usual)
