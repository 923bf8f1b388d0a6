"""A lone round wire in alternating current."""

from __future__ import annotations

import math

import pytest

from aswound.predict.copper.resistance import resistivity
from aswound.predict.copper.round_conductor import lone_excess

pytestmark = pytest.mark.published


def _ratio(radii: float) -> float:
    """Resistance over that at direct current, of a wire of so many skin depths in radius."""
    omega = 2 * radii**2 / (4e-7 * math.pi)  # radius 1 m, conductivity 1 S/m
    own, _ = lone_excess(2.0, 1.0, omega)
    return 1 + float(own.real) * math.pi


@pytest.mark.parametrize(
    ("radii", "exact", "published"),
    [
        (1, 1.020, 1.020),
        (2, 1.265, 1.263),
        (3, 1.768, 1.763),
        (4, 2.274, 2.261),
        (5, 2.768, 2.743),
        (6, 3.265, 3.221),
    ],
)
def test_resistance_against_radius_over_skin_depth(radii: int, exact: float, published: float) -> None:
    """Approximate table by G. L. Johnson's method,
    https://pupman.com/listarchives/2005/Oct/msg00094.html, 1.5 %;
    Bessel functions evaluated independently, 1e-3."""
    assert _ratio(radii) == pytest.approx(published, rel=0.015)
    assert _ratio(radii) == pytest.approx(exact, rel=1e-3)


def test_terman_10_awg_at_100_khz() -> None:
    """Terman's table, Rac/Rdc = 3.35 at 6.19 δ, as quoted at
    http://forum.allaboutcircuits.com/threads/error-in-ebook.110275/ ; the specimen measured there
    reads 3.74."""
    assert _ratio(1.294e-3 / 0.20898e-3) == pytest.approx(3.35, rel=0.005)


@pytest.mark.parametrize(("frequency", "depth"), [(60.0, 8.5e-3), (100e3, 0.209e-3)])
def test_skin_depth_of_copper(frequency: float, depth: float) -> None:
    """8.5 mm at 60 Hz (https://enwikipedia.net/wiki/Skin_effect); 0.209 mm at 100 kHz computed
    independently."""
    rho = float(resistivity("copper", 20.0))
    found = math.sqrt(2 * rho / (2 * math.pi * frequency * 4e-7 * math.pi))
    assert found == pytest.approx(depth, rel=5e-3)
