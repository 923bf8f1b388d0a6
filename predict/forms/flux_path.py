"""Pieces of a flux path by IEC 60205 (from memory): each one's share of C1 = Σ l/A and C2 = Σ l/A²."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from .core_form import MagneticSection


def straight(length: float, area: float) -> MagneticSection:
    """(l/A, l/A²) of a section of ``length`` (m) and constant ``area`` (m²)."""
    return length / area, length / area**2


def corner(width_in: float, width_out: float, area_in: float, area_out: float) -> MagneticSection:
    """A right-angled corner: mean length π/8 (sum of the widths, m), mean area (m²)."""
    return straight(math.pi / 8 * (width_in + width_out), (area_in + area_out) / 2)


def radial(inner: float, outer: float, area: Callable[[float], float]) -> MagneticSection:
    """(∫ dr/A, ∫ dr/A²) from ``inner`` to ``outer`` radius (m), plate of section ``area(r)`` (m²): Gauss."""
    nodes, weights = np.polynomial.legendre.leggauss(24)
    radii = (inner + outer) / 2 + (outer - inner) / 2 * nodes
    areas = np.array([area(float(radius)) for radius in radii])
    scale = (outer - inner) / 2
    return float(scale * np.sum(weights / areas)), float(scale * np.sum(weights / areas**2))


def post_corner(radius: float, hole: float, back: float, leg: float, yoke: float) -> MagneticSection:
    """From a round post of ``radius`` (with a ``hole``'s radius, m) into a plate ``back`` (m) thick, of
    section ``yoke`` (m²) there: the flux line that halves the post's area ``leg`` (m²) lies s = r − √((r² +
    r_hole²)/2) below its surface; length π/8 (2s + back), mean area."""
    depth = radius - math.sqrt((radius**2 + hole**2) / 2)
    return straight(math.pi / 8 * (2 * depth + back), (leg + yoke) / 2)
