"""Tolerance intervals and bounds of a lot against published tables."""

from __future__ import annotations

import pytest

from aswound.compare.lots.statistics import (
    capability_bound,
    one_sided_factor,
    two_sided_factor,
)

pytestmark = pytest.mark.published


@pytest.mark.parametrize(
    ("n", "one", "two"), [(3, 7.656, 9.789), (5, 4.203, 5.077), (10, 2.911, 3.393), (30, 2.220, 2.555)]
)
def test_tolerance_factors(n: int, one: float, two: float) -> None:
    """ISO 16269-6, tables of k for 95 % of the population with 95 % confidence, σ unknown (from memory)."""
    assert one_sided_factor(n) == pytest.approx(one, abs=6e-4)
    assert two_sided_factor(n) == pytest.approx(two, abs=6e-4)


def test_distribution_free_size_and_bounds() -> None:
    """Bissell 1990 (from memory): an index of 1.33 from 3, 5, 10, 30 parts means at least 0.19, 0.52, 0.79,
    1.03."""
    assert [capability_bound(1.33, n) for n in (3, 5, 10, 30)] == pytest.approx(
        [0.19, 0.52, 0.79, 1.03], abs=6e-3
    )
