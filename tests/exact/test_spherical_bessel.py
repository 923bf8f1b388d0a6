"""Spherical Bessel functions of the layers' spectra against the library's and their own closed forms."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import special

from aswound.predict.copper.bessel import spherical_bessel
from aswound.predict.copper.local_field import quadrature, shapes

X = np.concatenate([[0.0, 1e-9, 1e-3], np.linspace(0.1, 4.0, 60), np.linspace(4.0, 90.0, 200)])


@pytest.mark.parametrize("order", range(8))
def test_against_the_library(order: int) -> None:
    """scipy.special.spherical_jn, on both sides of the change from series to recurrence."""
    ours = spherical_bessel(X, 7)[order]
    np.testing.assert_allclose(ours, special.spherical_jn(order, X), rtol=1e-8, atol=1e-12)


def test_they_are_the_spectra_of_the_shapes() -> None:
    """Mean of P_l(t) exp(jxt) over the layer is j^l j_l(x) (an identity), by Gauss's rule."""
    points, weights = quadrature(40)
    for order, polynomial in enumerate(shapes(5, 40)[0], start=1):
        for x in (0.3, 2.5, 20.0):
            mean = np.sum(weights * polynomial * np.exp(1j * x * points))
            ours = 1j**order * spherical_bessel(np.array([x]), 5)[order][0]
            assert abs(mean - ours) < 1e-12
