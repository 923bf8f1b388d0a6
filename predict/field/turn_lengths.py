"""How much of a turn lies under the core and how much beside it: the lengths of the leakage model.

Rectangular leg, half widths a (across the window) and b, outer leg of half depth b_y; a U core has one outer
leg, the other leg. An oval leg has corners of radius ρ, whose middles are the middles of the turns' arcs.
Round leg: radius r_c. w : width of the window, x_E : the centroid of the energy across it.

    rectangular    l_in = s · 2 min(b_y, b),  l = 4a + 4b + 2π x_E,  s = 2 sides (E) or 1 (U)
    oval           l_in = s · [2 min(b_y, b − ρ) + 2 φ_c (ρ + x_E)],  l = 4a + 4b − (8 − 2π) ρ + 2π x_E
                   φ_c = asin(clip((b_e − b + ρ)/(ρ + w), 0, 1)),
                   b_e = b_y, of which what is beyond b counts by ρ/min(a, b)
    round          l = 2π (r_c + x_E),  l_in = l φ_0/(π/2),  φ_0 = asin(b_y/r_o) for plates, π/2 less the half
                   angle of the slots for pots

The oval form is the rectangular one at ρ = 0 and the round one at ρ = a = b. The sides of the outer legs
extend the inside by D = min(edges · χ min(h, 6w) (ρ + x_E)/(ρ + w), 0.9 l_out); a rectangular leg's mirror
is half missing at its corners, an oval one's less, x_E/(x_E + ρ) of that. χ, the cap and the half:
calibrated on three-dimensional field solutions of rectangular, round and pot cores; no solution of an oval
leg was at hand. This project's own model.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ..cores import outer_leg_angle, plate_reach
from ..design import Dimensions, EDimensions, FloatArray, PotDimensions, RoundDimensions, UDimensions

EDGE_EXTENSION = 0.23
"""χ: how far, in window heights, leakage flux outside still reaches the side of an outer leg (calibrated)."""
EDGE_CAP = 6.0
"""The edge extension counts at most this many window widths of the height (calibrated)."""
CORNER_MIRROR = 0.5
"""The part of the mirror that is missing at the corners of a rectangular leg (calibrated)."""

LeggedDimensions = EDimensions | RoundDimensions | PotDimensions | UDimensions
"""Cores with legs: all but rings."""


@dataclass(frozen=True)
class TurnLengths:
    """Of one distribution of ampere-turns, (B, T) each.

    inside, outside : lengths (m) with the edge extension applied. whole : of the turn (m). missing : the
    part of the outside without a mirror in the leg's surface. covered : inside without the extension (m).
    """

    inside: FloatArray
    outside: FloatArray
    whole: FloatArray
    missing: FloatArray
    covered: FloatArray


def leg_radius(dimensions: Dimensions) -> float | None:
    """Radius (m) of a round leg, None for legs with flat sides."""
    if isinstance(dimensions, RoundDimensions | PotDimensions):
        return dimensions.leg_diameter / 2
    return None


def plate_angle(dimensions: RoundDimensions | PotDimensions) -> float:
    """φ_0: half the angle, in one quadrant, under which a turn lies inside (rad)."""
    if isinstance(dimensions, PotDimensions):
        return math.pi / 2 - dimensions.slots * dimensions.slot_angle / 4
    return outer_leg_angle(dimensions)


def yoke_cover(dimensions: RoundDimensions | PotDimensions, outermost: FloatArray) -> FloatArray:
    """c: the part of the outside that lies under overhanging yokes; (B,), 1 for full discs.

    Mean over the outside directions of how far the plate reaches over the winding (``plate_reach``, ρ), whose
    build is ``outermost`` (B,) (m): clip((ρ − r_c)/(r_wind − r_c), 0, 1).
    """
    if isinstance(dimensions, PotDimensions):
        return np.ones_like(outermost)
    reach = plate_reach(dimensions, (np.arange(64) + 0.5) / 64) - dimensions.leg_diameter / 2
    return np.asarray(np.clip(reach / np.maximum(outermost, 1e-9)[:, None], 0.0, 1.0).mean(axis=-1))


def turn_lengths(
    dimensions: LeggedDimensions, centroid: FloatArray, *, cover: float | None = None
) -> TurnLengths:
    """Lengths of a turn at the energy's centroid x_E (B, T) (m from the leg's surface).

    cover : the part of a turn that lies under the core, overriding the geometry. Equations and source: the
    module's. Range: x_E within the window.
    """
    width, height, edges = _window(dimensions)
    if isinstance(dimensions, EDimensions | UDimensions):
        covered, whole, corner = _flat(dimensions, centroid)
        ratio = (corner + centroid) / (corner + width)
    else:
        radius, corner = dimensions.leg_diameter / 2, 0.0
        whole = 2 * math.pi * (radius + centroid)
        covered = whole * plate_angle(dimensions) / (math.pi / 2)
        ratio = (radius + centroid) / (radius + width)
    if cover is not None:
        covered = cover * whole
    beside = np.maximum(whole - covered, 0.0)
    missing = np.zeros_like(centroid)
    if isinstance(dimensions, EDimensions | UDimensions):
        sharp = centroid / np.maximum(centroid + corner, 1e-12)
        arcs = np.minimum(2 * math.pi * centroid, beside)
        missing = CORNER_MIRROR * sharp * arcs / np.maximum(beside, 1e-9)
    reach = edges * EDGE_EXTENSION * min(height, EDGE_CAP * width) * ratio
    extension = np.minimum(reach, 0.9 * beside)
    return TurnLengths(covered + extension, beside - extension, whole, missing, covered)


def _window(dimensions: LeggedDimensions) -> tuple[float, float, int]:
    """Width and height of the window (m), and how many edges of outer legs a turn passes."""
    if isinstance(dimensions, EDimensions):
        return dimensions.window_width, dimensions.window_height, 4
    if isinstance(dimensions, UDimensions):
        return dimensions.window_width, dimensions.window_height, 2
    width = (dimensions.window_diameter - dimensions.leg_diameter) / 2
    if isinstance(dimensions, PotDimensions):
        return width, dimensions.window_height, 2 * dimensions.slots
    # A wall that is closed on three sides ends at one opening.
    return width, dimensions.window_height, 2 if dimensions.front else 4


def _flat(
    dimensions: EDimensions | UDimensions, centroid: FloatArray
) -> tuple[FloatArray, FloatArray, float]:
    """l_in, l (B, T) and the corner's radius ρ (m) of a leg with flat sides."""
    a, b = dimensions.leg_width / 2, dimensions.leg_depth / 2
    if isinstance(dimensions, UDimensions):
        whole = 4 * a + 4 * b + 2 * math.pi * centroid
        return np.full_like(centroid, 2 * b), whole, 0.0
    corner, b_y = dimensions.leg_corner, dimensions.outer_depth / 2
    whole = 4 * a + 4 * b - (8 - 2 * math.pi) * corner + 2 * math.pi * centroid
    deeper = max(b_y - b, 0.0) * corner / min(a, b)
    sine = (min(b_y, b) + deeper - b + corner) / (corner + dimensions.window_width)
    angle = math.asin(min(max(sine, 0.0), 1.0))
    return 4 * min(b - corner, b_y) + 4 * angle * (corner + centroid), whole, corner
