"""The error of the leakage model for a layout, as the model itself states it."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from ..design import Dimensions, FloatArray, Real
from ..winding import X1

CONCENTRIC_ERROR, SIDE_BY_SIDE_ERROR = 0.01, 0.025
"""Standard relative errors of the model, from fourteen three-dimensional field solutions of windings on each
other, and from eight and a stack of wires side by side (4.6 % off; ``tests/reference/error_sizes.py`` derives
them, as the others here)."""
OVAL_ERROR = 0.02
"""Added (in squares) for a fully oval leg; the difference between the rectangular and the round form is
smaller (judged)."""
TOROID_ERROR = 0.03
"""The same for rings, where wires fan out between hole and outside (common practice; one three-dimensional
case asks for 0.025)."""

LEAST_PERMEABILITY, GUIDING = 10.0, 300.0
"""Initial permeability below which legs no longer lead the field (finite elements: leakage 3 to 48 % off),
and from which their infinite permeability in the model is of no account (3.7 % at most):
tests/reference/test_weak_cores.py."""
WEAK_CORE, WEAK_BESIDE = 1.0, 5.0
"""Half of the worst deviation times the permeability, of concentric windings and of sections side by side:
the model is too high by up to 2/μ and 10/μ (``tests/reference/weak_cores.py``)."""
AIR_ERROR = 0.005
"""Coils in air: published ones come within 0.3 % (``tests/published/test_air_coils.py``); what is left is
where the wire lies."""

OPPOSED_ERROR = 0.02
"""Windings that oppose each other on both legs of a U core: field solutions deviate by up to 1.8 %; the
rest is where the windings lie (judged)."""

SECTOR_ERROR = 0.05
"""Rings with windings on sectors: the deviation from finite elements (``ring_leakage``), wires that fan out,
and ends of sectors that are not where they are drawn (judged)."""

THICK_SECTOR_ERROR = 0.3
"""Added (in squares) per unit by which the build exceeds 0.3 of the radius of the hole: −7 % at 0.53
(tests/reference/test_ring_sectors.py)."""


def expected_error(
    dimensions: Dimensions,
    sections: FloatArray,
    legs: Sequence[int] | None = None,
    arcs: Sequence[float | None] = (),
    permeability: Real = math.inf,
) -> FloatArray:
    """Standard relative error that the leakage model states for a set of sections.

    Sections side by side have a larger error than concentric ones (any two sections that are apart across the
    window, or that cover each other along the leg); rings have their own; oval legs add to it. The figures
    come from comparison with three-dimensional field solutions.

    Parameters
    ----------
    dimensions : Dimensions of the core
    sections : (B, n, 4) array, x0, x1, y0, y1 of each section, m
    legs : sequence of int or None
        Leg of each section, count from 1; sections on different legs are not side by side.
    arcs : sequence of float or None, on rings the angle that each section covers, rad; None: all round
    permeability : float or (B,) array
        Initial permeability of the core, dimensionless; below ``GUIDING`` the error grows.

    Returns
    -------
    (B,) array, relative standard error, dimensionless
    """
    if not dimensions.permeable:
        return np.full(sections.shape[0], AIR_ERROR)
    if dimensions.ring:
        whole = all(arc is None for arc in arcs)
        if whole:
            return np.full(sections.shape[0], TOROID_ERROR)
        build = np.max(sections[..., X1], axis=-1) / (dimensions.window[0])
        return np.asarray(np.hypot(SECTOR_ERROR, THICK_SECTOR_ERROR * np.maximum(build - 0.3, 0.0)))
    x0, x1, y0, y1 = np.moveaxis(sections, -1, 0)
    shared = np.minimum(x1[:, :, None], x1[:, None]) - np.maximum(x0[:, :, None], x0[:, None])
    thin = np.minimum((x1 - x0)[:, :, None], (x1 - x0)[:, None])
    apart = (y0[:, :, None] >= y1[:, None] - 1e-9) | (y0[:, None] >= y1[:, :, None] - 1e-9)
    number = np.zeros(sections.shape[1]) if legs is None else np.asarray(legs)
    same = number[:, None] == number[None, :]
    beside = np.any((shared > 0.5 * thin) & apart & same, axis=(1, 2))
    error = np.where(beside, SIDE_BY_SIDE_ERROR, CONCENTRIC_ERROR)
    weak = np.where(beside, WEAK_BESIDE, WEAK_CORE) / np.asarray(permeability, float)
    error = np.hypot(error, np.where(np.asarray(permeability) < GUIDING, weak, 0.0))
    return np.hypot(error, OVAL_ERROR * dimensions.ovality)
