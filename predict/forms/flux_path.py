"""Pieces of a flux path by IEC 60205 (from memory): the share of each in C1 = Σ l/A and C2 = Σ l/A²."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from .core_form import MagneticSection


def straight(length: float, area: float) -> MagneticSection:
    """A section of constant area.

    Parameters
    ----------
    length : float, m
    area : float, m²

    Returns
    -------
    tuple of two float, (l/A, l/A²), 1/m and 1/m³
    """
    return length / area, length / area**2


def corner(width_in: float, width_out: float, area_in: float, area_out: float) -> MagneticSection:
    """A right-angled corner: mean length π/8 (sum of the widths), mean area.

    Parameters
    ----------
    width_in, width_out : float, width before and after the corner, m
    area_in, area_out : float, area before and after the corner, m²

    Returns
    -------
    tuple of two float, (l/A, l/A²), 1/m and 1/m³
    """
    return straight(math.pi / 8 * (width_in + width_out), (area_in + area_out) / 2)


def radial(inner: float, outer: float, area: Callable[[float], float]) -> MagneticSection:
    """A plate that carries flux radially: (∫ dr/A, ∫ dr/A²), by Gauss's rule.

    Parameters
    ----------
    inner, outer : float, inner and outer radius, m
    area : callable float to float, section of the plate at a radius, m² for m

    Returns
    -------
    tuple of two float, (∫ dr/A, ∫ dr/A²), 1/m and 1/m³
    """
    nodes, weights = np.polynomial.legendre.leggauss(24)
    radii = (inner + outer) / 2 + (outer - inner) / 2 * nodes
    areas = np.array([area(float(radius)) for radius in radii])
    scale = (outer - inner) / 2
    return float(scale * np.sum(weights / areas)), float(scale * np.sum(weights / areas**2))


def post_corner(radius: float, hole: float, back: float, leg: float, yoke: float) -> MagneticSection:
    """The corner from a round post into a plate.

    The flux line that halves the area of the post lies s = r − √((r² + r_hole²)/2) below its surface; length
    π/8 (2s + back), mean area.

    Parameters
    ----------
    radius : float, m
    hole : float, radius of the hole in the post, m
    back : float, thickness of the plate, m
    leg : float, m²
    yoke : float, section of the plate at the post, m²

    Returns
    -------
    tuple of two float, (l/A, l/A²), 1/m and 1/m³
    """
    depth = radius - math.sqrt((radius**2 + hole**2) / 2)
    return straight(math.pi / 8 * (2 * depth + back), (leg + yoke) / 2)
