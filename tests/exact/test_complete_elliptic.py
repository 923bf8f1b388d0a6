"""Complete elliptic integrals by the arithmetic-geometric mean: closed forms and Legendre's relation."""

from __future__ import annotations

import math

import numpy as np
import pytest

from aswound.predict.field.ring_exterior import complete_elliptic

COMPLEMENT = np.concatenate([np.logspace(-15, -1, 57), np.linspace(0.1, 0.9, 17)])
"""1 − k² down to the least that the field around a ring asks for, dimensionless."""


@pytest.mark.exact
def test_closed_forms() -> None:
    """k = 0: both π/2; k² = 1/2: K = Γ(1/4)²/4√π and 2E − K = π/2K."""
    first, second = complete_elliptic(np.array([1.0, 0.5]))
    lemniscate = math.gamma(0.25) ** 2 / (4 * math.sqrt(math.pi))
    assert first == pytest.approx([math.pi / 2, lemniscate], rel=1e-15)
    assert second == pytest.approx([math.pi / 2, (lemniscate + math.pi / (2 * lemniscate)) / 2], rel=1e-15)


@pytest.mark.exact
def test_legendre_relation() -> None:
    """E K' + E' K − K K' = π/2 for every k."""
    (first, second), (other_first, other_second) = map(complete_elliptic, (COMPLEMENT, 1 - COMPLEMENT))
    relation = second * other_first + other_second * first - first * other_first
    assert relation == pytest.approx(math.pi / 2, rel=1e-12)


@pytest.mark.reference
def test_as_the_library() -> None:
    """scipy.special (Cephes)."""
    from scipy.special import ellipe, ellipkm1

    first, second = complete_elliptic(COMPLEMENT)
    assert first == pytest.approx(ellipkm1(COMPLEMENT), rel=1e-14)
    assert second == pytest.approx(ellipe(1 - COMPLEMENT), rel=1e-14)
