"""The outline, seen along the leg, of cores whose outer legs follow a round centre leg.

Angles are measured from the line of the three legs (EP: from the closed back); R = window_diameter/2.

    ETD, EER, EQ, PQ   legs between the window's circle and the planes at ± length/2, within ± depth/2;
                       ``opening`` G cuts their tips off at ± G/2; a ``notch`` J in each side of the yoke
                       runs straight from ± J/2 on the post to ± G/2 on the window's rim
    RM                 legs within the sector that ``depth`` marks on the window's circle, inside the square
                       standing on its corner (``flats`` across) and between the planes at ± length/2
    EP                 a wall, closed on three sides, of ``length`` × ``depth`` overall round a window that is
                       open at ``front`` from the post's axis

Source: IEC 60205 (the areas, from memory); the rest is plane geometry.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .round_post import RoundPost


@dataclass(frozen=True, kw_only=True)
class Outline(RoundPost):
    """The lengths of a round centre leg with outer legs that follow it.

    Dimensions that an outline does not have are 0.

    Attributes
    ----------
    leg_diameter, window_diameter : float, diameter of the centre leg and window, m
    length : float, overall length along the line of the three legs, m
    depth : float, of outer legs and yoke, m; for an EP the overall depth of the wall
    window_height : float, height of the window, both halves together, m
    back : float, thickness of the yoke, m
    opening : float, clear distance between the tips of the two outer legs (PQ), m
    notch : float
        Breadth, at the centre leg, of the notches in the sides of the yoke, which widen to ``opening`` at the
        rim of the window (PQ), m.
    flats : float
        Distance across the flats of the square, standing on its corner, that bounds the outer legs (RM), m.
    waist : float, breadth of the yoke beside the centre leg where it is narrower than ``depth`` (RM), m
    front : float
        Distance from the axis of the centre leg to the open side of a wall that is closed on three sides
        (EP), m.
    hole_diameter : float, diameter of the hole in the centre leg, m
    """

    leg_diameter: float
    window_diameter: float
    length: float
    depth: float
    window_height: float
    back: float
    opening: float = 0.0
    notch: float = 0.0
    flats: float = 0.0
    waist: float = 0.0
    front: float = 0.0
    hole_diameter: float = 0.0


def outer_leg_angle(core: Outline) -> float:
    """φ0: half the angle (rad), in one quadrant, over which the rim of the window lies inside an outer leg:
    asin(depth/(2R)) for legs that the depth bounds, acos(G/(2R)) for cut tips if that is less; EP: the mean
    over its quadrants, (π + 2 asin(front/R))/4. Exact."""
    radius = core.window_diameter / 2
    if core.front:
        return (math.pi + 2 * math.asin(min(core.front / radius, 1.0))) / 4
    return min(math.asin(min(core.depth / 2 / radius, 1.0)), math.acos(min(core.opening / 2 / radius, 1.0)))


def outer_leg_area(core: Outline) -> float:
    """Area of one outer leg, or of half the wall of an EP core.

    ETD, EER, EQ, PQ:  2 A = depth (length − G) − (φ0 E²/2 − G I/2), I = E sin φ0, E the diameter of the
    window, G = ``opening`` or where the depth cuts the circle, whichever is more; exact.

    RM:  2 A = a²/2 (1 + tan(φ0 − π/4)) − φ0 E²/2 − p²/2, a = flats, p = √2 a − length (0 if negative): the
    sector of the square, less that of the window, less the corners beyond the length; exact for tips cut
    radially.

    EP:  2 A = length depth − π E²/8 − E front; exact.

    Parameters
    ----------
    core : Outline

    Returns
    -------
    float, m²
    """
    window = core.window_diameter
    angle = outer_leg_angle(core)
    if core.front:
        return (core.length * core.depth - math.pi / 8 * window**2 - window * core.front) / 2
    if core.flats:
        corner = max(math.sqrt(2) * core.flats - core.length, 0.0)
        square = core.flats**2 / 2 * (1 + math.tan(angle - math.pi / 4))
        return (square - angle * window**2 / 2 - corner**2 / 2) / 2
    opening, chord = window * math.cos(angle), window * math.sin(angle)
    circle = angle * window**2 / 2 - opening * chord / 2
    return (core.depth * (core.length - opening) - circle) / 2


def plate_reach(core: Outline, share: NDArray[np.float64]) -> NDArray[np.float64]:
    """How far the yoke plate reaches from the axis of the post, in directions outside the outer legs.

    ETD, EER, EQ, PQ: (depth/2)/sin φ; with a notch to its edge, and to the post beyond it. RM: to the
    straight edge from the tip of the leg to the middle of the ``waist``. EP: front/sin φ. Exact for these
    outlines.

    Parameters
    ----------
    core : Outline
    share : (K,) array
        Direction, dimensionless: 0 at the edge of an outer leg, 1 in the middle of the opening.

    Returns
    -------
    (K,) array, m
    """
    radius = core.window_diameter / 2
    if core.front:
        start, half = math.asin(min(core.front / radius, 1.0)), core.front
    else:
        start, half = outer_leg_angle(core), core.depth / 2
    angles = start + (math.pi / 2 - start) * share
    if core.notch:
        (x, y), (right, up) = _notch_edge(core)
        # edge (x + right t, y + up t) in the direction φ
        along = (y * np.cos(angles) - x * np.sin(angles)) / (right * np.sin(angles) - up * np.cos(angles))
        along = np.clip(along, 0.0, 1.0)
        return np.hypot(x + right * along, y + up * along)
    if not core.waist:
        return half / np.sin(angles)
    x, y, waist = radius * math.cos(start), radius * math.sin(start), core.waist / 2
    # edge (x t, waist + (y − waist) t) in the direction φ: t = waist cos φ / (x sin φ − (y − waist) cos φ)
    along = waist * np.cos(angles) / (x * np.sin(angles) - (y - waist) * np.cos(angles))
    return np.hypot(x * along, waist + (y - waist) * along)


def plate_cover(core: Outline, radius: float) -> float:
    """Part of a circle about the post that lies over the yoke plate.

    2/π asin(depth/(2 radius)) for plain plates, exact; other outlines by counting directions, within 0.3 %.

    Parameters
    ----------
    core : Outline
    radius : float, m

    Returns
    -------
    float, part over the plate, 0 to 1, dimensionless
    """
    if not (core.notch or core.waist or core.front):
        return math.asin(min(core.depth / 2 / radius, 1.0)) / (math.pi / 2)
    beside = 1 - outer_leg_angle(core) / (math.pi / 2)
    share = (np.arange(256) + 0.5) / 256
    return float(1 - beside * np.mean(plate_reach(core, share) < radius))


def notched_angle(core: Outline, radius: float) -> float:
    """Angle φ up to which a circle lies on a notched plate, in one quadrant.

    It is where the circle meets the edge of the notch, which runs from (J/2, √(r² − J²/4)) on the circle r of
    the post to (G/2, √(R² − G²/4)); exact.

    Parameters
    ----------
    core : Outline
    radius : float, of the circle, between post and rim of the window, m

    Returns
    -------
    float, rad
    """
    (x, y), (right, up) = _notch_edge(core)
    square, cross, rest = right**2 + up**2, x * right + y * up, x**2 + y**2 - radius**2
    along = (-cross + math.sqrt(max(cross**2 - square * rest, 0.0))) / square
    along = min(max(along, 0.0), 1.0)
    return math.atan2(y + up * along, x + right * along)


def _notch_edge(core: Outline) -> tuple[tuple[float, float], tuple[float, float]]:
    """Where the edge of a notch starts on the post, in one quadrant, and the vector to its end on the rim of
    the window."""
    angle, radius = outer_leg_angle(core), core.window_diameter / 2
    x = core.notch / 2
    y = math.sqrt((core.leg_diameter / 2) ** 2 - x**2)
    return (x, y), (radius * math.cos(angle) - x, radius * math.sin(angle) - y)
