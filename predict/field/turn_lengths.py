"""How much of a turn lies under the core and how much beside it: the lengths of the leakage model.

Rectangular leg: half widths a (across the window) and b, outer leg of half depth b_y; on a U core the other
leg is the only outer leg. An oval leg has corners of radius ρ, and the arcs of the turns share their centres.
Round leg: radius r_c. w is the width of the window, x_E the centroid of the energy across it.

    rectangular    l_in = s · 2 min(b_y, b),  l = 4a + 4b + 2π x_E,  s = 2 sides (E) or 1 (U)
    oval           l_in = s · [2 min(b_y, b − ρ) + 2 φ_c (ρ + x_E)],  l = 4a + 4b − (8 − 2π) ρ + 2π x_E
                   φ_c = asin(clip((b_e − b + ρ)/(ρ + w), 0, 1)),
                   b_e = b_y, of which what is beyond b counts by ρ/min(a, b)
    round          l = 2π (r_c + x_E),  l_in = l φ_0/(π/2),  φ_0 = asin(b_y/r_o) for plates, π/2 less the half
                   angle of the slots for pots

The oval form becomes the rectangular one at ρ = 0 and the round one at ρ = a = b. The sides of the outer legs
extend the inside by D = min(edges · χ min(h, 6w) (ρ + x_E)/(ρ + w), 0.9 l_out). Half of the mirror of a
rectangular leg is missing at its corners; for an oval leg x_E/(x_E + ρ) of that half. χ, the cap and the half
are calibrated on three-dimensional field solutions of rectangular, round and pot cores; no solution for an
oval leg was available. This is the project's own model.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ..design import FloatArray
from ..forms import CoreForm

EDGE_EXTENSION = 0.23
"""χ: how far, in window heights, leakage flux outside still reaches the side of an outer leg (calibrated on
the concentric cases of tests/reference/test_leakage_3d.py, where 0.21 and 0.25 are worse)."""
EDGE_CAP = 6.0
"""The edge extension counts the height up to this many window widths (calibrated as above, where 3 is worse
and 4 or more read alike)."""
CORNER_MIRROR = 0.5
"""The part of the mirror that is missing at the corners of a rectangular leg (calibrated as above, where
0.25 to 0.6 read alike within 0.04 % root mean square)."""


@dataclass(frozen=True)
class TurnLengths:
    """Lengths of a turn for T distributions of ampere-turns, B builds.

    Attributes
    ----------
    inside : (B, T) array, length inside the core with the edge extension, m
    outside : (B, T) array, length outside the core with the edge extension taken off, m
    whole : (B, T) array, m
    missing : (B, T) array, part of the outside without a mirror in the surface of the leg, dimensionless
    covered : (B, T) array, length inside the core without the edge extension, m
    """

    inside: FloatArray
    outside: FloatArray
    whole: FloatArray
    missing: FloatArray
    covered: FloatArray


def turn_lengths(dimensions: CoreForm, centroid: FloatArray, *, cover: float | None = None) -> TurnLengths:
    """Lengths of a turn at the centroid x_E of the energy.

    Equations and source: see the module. Range: x_E within the window.

    Parameters
    ----------
    dimensions : CoreForm
    centroid : (B, T) array, x_E from the surface of the leg, m
    cover : float or None
        Part of a turn under the core that overrides the geometry, dimensionless; None: by geometry.
    """
    width, height = dimensions.window
    covered, whole = dimensions.turn(centroid)
    corner = dimensions.leg_radius or dimensions.corner_radius
    ratio = (corner + centroid) / (corner + width)
    if cover is not None:
        covered = cover * whole
    beside = np.maximum(whole - covered, 0.0)
    missing = np.zeros_like(centroid)
    if dimensions.leg_radius is None:
        sharp = centroid / np.maximum(centroid + corner, 1e-12)
        arcs = np.minimum(2 * math.pi * centroid, beside)
        missing = CORNER_MIRROR * sharp * arcs / np.maximum(beside, 1e-9)
    reach = dimensions.leg_edges * EDGE_EXTENSION * min(height, EDGE_CAP * width) * ratio
    extension = np.minimum(reach, 0.9 * beside)
    return TurnLengths(covered + extension, beside - extension, whole, missing, covered)
