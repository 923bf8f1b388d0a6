"""Statistics of a lot against scipy's distributions, closed forms and lots drawn with known answers."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from aswound.compare.lots.statistics import (
    batch_variance,
    capability,
    capability_bound,
    drift,
    normality,
    one_sided_factor,
    outliers,
    two_sided_factor,
)

pytestmark = pytest.mark.exact


def test_one_sided_factor_is_scipy_s_noncentral_t() -> None:
    for n in (2, 4, 17, 100):
        z = stats.norm.ppf(0.95) * math.sqrt(n)
        assert stats.nct.cdf(one_sided_factor(n) * math.sqrt(n), n - 1, z) == pytest.approx(0.95, abs=1e-9)


def test_intervals_hold_what_they_say() -> None:
    """Of 4000 lots of seven, the interval m ± k s holds 95 % of the population in 95 % of the lots."""
    draws = np.random.default_rng(2).standard_normal((4000, 7))
    m, s = draws.mean(axis=1), draws.std(axis=1, ddof=1)
    k = two_sided_factor(7)
    share = stats.norm.cdf(m + k * s) - stats.norm.cdf(m - k * s)
    assert np.mean(share >= 0.95) == pytest.approx(0.95, abs=0.012)
    assert np.mean(m + one_sided_factor(7) * s >= stats.norm.ppf(0.95)) == pytest.approx(0.95, abs=0.012)


def test_two_sided_factor_is_continuous_where_the_approximation_begins() -> None:
    assert two_sided_factor(2001) == pytest.approx(two_sided_factor(2000), rel=2e-4)


def test_capability() -> None:
    assert capability(10.0, 1.0, 7.0, 16.0) == pytest.approx(1.0)
    assert capability(10.0, 1.0, None, 16.0) == pytest.approx(2.0)
    assert capability(10.0, 0.0, None, 16.0) == math.inf
    assert capability(10.0, 1.0, None, None) is None
    assert capability_bound(1.5, 1) is None


def test_outliers_of_sound_lots_are_rare_and_a_wild_part_is_found() -> None:
    random = np.random.default_rng(3)
    for n in (6, 12, 50, 1000):
        found = [len(outliers(random.standard_normal(n))) > 0 for _ in range(300)]
        assert np.mean(found) <= 0.03, n
    values = random.standard_normal(20)
    values[7] = 12.0
    assert outliers(values).tolist() == [7]


def test_drift_and_normality() -> None:
    random = np.random.default_rng(4)
    places = np.arange(40.0)
    noise = random.standard_normal(40)
    found = drift(0.1 * places + noise, places)
    assert found is not None
    assert found.slope == pytest.approx(0.1, abs=0.03)
    assert found.p < 1e-6
    flat = drift(noise, places)
    assert flat is not None
    assert flat.p > 0.01
    assert (normality(noise) or 0) > 0.01
    assert (normality(np.exp(2 * noise)) or 1) < 1e-4
    assert normality(noise[:5]) is None


def test_batch_variance() -> None:
    """Components 1.0 within and 2.0 between are found again; batches of any size."""
    random = np.random.default_rng(5)
    names, values = [], []
    for batch in range(200):
        level = 2.0 * random.standard_normal()
        for _ in range(2 + batch % 5):
            names.append(f"b{batch}")
            values.append(level + random.standard_normal())
    found = batch_variance(np.array(values), names)
    assert found is not None
    assert found.within == pytest.approx(1.0, rel=0.08)
    assert found.between == pytest.approx(2.0, rel=0.12)
    assert batch_variance(np.array([1.0, 2.0]), ["a", "a"]) is None
