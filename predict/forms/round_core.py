"""Round centre leg with outer legs that follow it: ETD, EER, EQ, PQ, RM, EP.

The plane geometry of its outline is in ``round_outline``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from .core_form import FloatArray, FormFault, LegGeometry, MagneticSection
from .flux_path import corner, post_corner, radial, straight
from .round_outline import Outline, notched_angle, outer_leg_angle, outer_leg_area, plate_cover, plate_reach


@dataclass(frozen=True, kw_only=True)
class RoundDimensions(Outline):
    """Round centre leg with outer legs that follow it (ETD, EER, EQ, PQ, RM, EP)."""

    form: ClassVar[str] = "round"
    free_outer_legs: ClassVar[bool] = True
    may_vanish: ClassVar[frozenset[str]] = frozenset(
        {"opening", "notch", "flats", "waist", "front", "hole_diameter"}
    )

    @property
    def surround(self) -> tuple[float, float, float, float]:
        """Reach of the core beyond the window, m: half the centre leg, outer leg, both yokes."""
        return self.leg_diameter / 2, (self.length - self.window_diameter) / 2, self.back, self.back

    @property
    def magnetic_sections(self) -> list[MagneticSection]:
        """Round post, outer legs, two yoke plates and their corners, in 1/m and 1/m³.

        A plate is integrated over the radius, with the breadth of ``_plate``.
        """
        post, window = self.leg_diameter / 2, self.window_diameter / 2
        centre = math.pi * (post**2 - (self.hole_diameter / 2) ** 2)
        outer = 2 * outer_leg_area(self)
        yoke, rim_in, rim_out = _plate(self)
        # Where the wall follows the window (EP, RM) its thickness is area over arc; straight legs take the
        # depth.
        breadth = 4 * outer_leg_angle(self) * window if self.flats or self.front else 2 * self.depth
        inner_corner = post_corner(post, self.hole_diameter / 2, self.back, centre, rim_in)
        outer_corner = corner(outer / breadth, self.back, outer, rim_out)
        return [
            straight(self.window_height, centre),
            straight(self.window_height, outer),
            *[yoke, inner_corner, outer_corner] * 2,
        ]

    def shape_faults(self) -> list[FormFault]:
        """Diameters in the wrong order, or an outline that cannot exist."""
        faults = self.not_less(
            ("hole_diameter", "leg_diameter"),
            ("leg_diameter", "window_diameter"),
            ("opening", "window_diameter"),
            ("front", "depth"),
        )
        return faults or _outline_faults(self)

    @property
    def wound_leg(self) -> LegGeometry:
        """The centre leg, covered where the yoke overhangs it."""
        radius, height = self.leg_diameter / 2, self.window_height
        return LegGeometry(
            area=math.pi * (radius**2 - (self.hole_diameter / 2) ** 2),
            perimeter=2 * math.pi * radius,
            width=self.window_diameter / 2 - radius,
            height=height,
            # The yoke acts as a mirror where it overhangs the leg by the reach of the bulge, h/2π.
            covered=plate_cover(self, radius + height / (2 * math.pi)),
        )

    @property
    def return_legs(self) -> LegGeometry:
        """Both outer legs together, or the wall of an EP core."""
        window = self.window_diameter / 2
        half = min(self.depth / 2, window)
        side = max(self.length / 2 - math.sqrt(max(window**2 - half**2, 0.0)), 0.0)
        return LegGeometry(
            area=2 * outer_leg_area(self),
            perimeter=4 * window * outer_leg_angle(self),
            width=self.window_diameter / 2 - self.leg_diameter / 2,
            height=self.window_height,
            open_edge=2 * self.depth + 4 * side,
            tall=self.window_height + 2 * self.back,
            turning=0.0,
        )

    def turn_in_window(self, length: FloatArray) -> FloatArray:
        """Part of a turn that lies in the window, 0 to 1, (...,) array, dimensionless."""
        return np.full(np.shape(length), outer_leg_angle(self) / (math.pi / 2))

    @property
    def leg_edges(self) -> int:
        # A wall closed on three sides ends at a single opening.
        """Number of edges of outer legs that a turn passes, count."""
        return 2 if self.front else 4

    def turn(self, distance: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Lengths of a turn, under the core and whole, at a distance (m) from the surface of the leg: (...,)
        arrays, m."""
        whole = 2 * math.pi * (self.leg_diameter / 2 + distance)
        return whole * outer_leg_angle(self) / (math.pi / 2), whole

    def yoke_cover(self, outermost: FloatArray) -> FloatArray:
        """Part of the outside of the winding that lies under overhanging yokes, 0 to 1, (B,) array,
        dimensionless. Mean, over the directions outside the outer legs, of how far the plate reaches over the
        winding (``plate_reach``, ρ): clip((ρ − r_c)/(r_wind − r_c), 0, 1)."""
        reach = plate_reach(self, (np.arange(64) + 0.5) / 64) - self.leg_diameter / 2
        covered = np.clip(reach / np.maximum(outermost, 1e-9)[:, None], 0.0, 1.0)
        return np.asarray(covered.mean(axis=-1))


def _plate(core: RoundDimensions) -> tuple[MagneticSection, float, float]:
    """One yoke plate: its share in (C1, C2), and its sections at the post and at the rim of the window (m²).

    ETD, EER, EQ, PQ: towards each outer leg the plate carries flux over the wedge from the axis of the post
    to the edges of the leg, but over no less than the width of the post: 2 max(r_post, r sin φ0) × back at
    radius r, with φ0 half the angle of the leg.

    PQ (``notch`` given): the arcs that the notches leave, 4 r φ(r) × back.

    RM (``waist`` given): a ring filled to the part D = plate ÷ ring of areas, and lengthened by f, the mean
    of the shortest and the longest path from post to leg, over the shortest (IEC 60205).

    EP (``front`` given): whole circles as far as the front, beyond it the arc that the front leaves.
    """
    post, window, back = core.leg_diameter / 2, core.window_diameter / 2, core.back
    angle = outer_leg_angle(core)
    if core.front:

        def arc(radius: float) -> float:
            return radius * (
                2 * math.pi if radius <= core.front else math.pi + 2 * math.asin(core.front / radius)
            )

        bend = min(max(post, core.front), window)
        pieces = [
            radial(start, end, lambda radius: back * arc(radius))
            for start, end in ((post, bend), (bend, window))
            if end > start
        ]
        yoke = (sum(piece[0] for piece in pieces), sum(piece[1] for piece in pieces))
        return yoke, back * arc(post), back * arc(window)
    tip = (window * math.cos(angle), window * math.sin(angle))
    if core.waist:
        ring = math.pi / 4 * (window**2 - post**2)
        plate = angle * window**2 / 2 + tip[0] * core.waist / 4 - math.pi / 4 * post**2
        filled = back * plate / ring
        stretch = (1 + math.hypot(tip[0], tip[1] - post) / (window - post)) / 2
        whole = radial(post, window, lambda radius: 2 * math.pi * radius * filled)
        yoke = (stretch * whole[0], stretch * whole[1])
        return yoke, 2 * math.pi * post * back, 4 * angle * window * back
    if core.notch:

        def left(radius: float) -> float:
            return 4 * radius * back * notched_angle(core, radius)

        return radial(post, window, left), left(post), left(window)
    width = min(post, tip[1])

    def wedge(radius: float) -> float:
        return 4 * back * max(width, radius * math.sin(angle))

    bend = min(max(post, width / math.sin(angle)), window)
    parts = [radial(start, end, wedge) for start, end in ((post, bend), (bend, window)) if end > start]
    yoke = (sum(part[0] for part in parts), sum(part[1] for part in parts))
    return yoke, wedge(post), wedge(window)


def _outline_faults(core: RoundDimensions) -> list[FormFault]:
    """Keys of outlines that contradict each other, or leave no outer leg."""
    given = [key for key in ("opening", "flats", "front") if getattr(core, key)]
    if len(given) > 1:
        return [(given[1], f"given beside {given[0]}", "one of opening (PQ), flats (RM), front (EP)")]
    if core.notch and not core.notch < min(core.opening, core.leg_diameter):
        return [("notch", f"{core.notch * 1e3:g} mm", "less than opening (PQ) and than leg_diameter")]
    if core.waist and not core.flats:
        return [("waist", "given without flats", "waist together with flats (RM)")]
    if outer_leg_area(core) > 0:
        return []
    if core.flats:
        return [("flats", f"{core.flats * 1e3:g} mm", "a square that leaves outer legs outside the window")]
    least = max(core.window_diameter, math.sqrt(max(0.0, core.window_diameter**2 - core.depth**2)))
    return (
        [
            (
                "window_diameter",
                f"{core.window_diameter * 1e3:g} mm",
                f"less than length, {core.length * 1e3:g} mm",
            )
        ]
        if core.length <= least
        else [("depth", f"{core.depth * 1e3:g} mm", "a depth that leaves outer legs")]
    )
