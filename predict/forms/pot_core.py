"""Closed round wall around a round post: pot cores."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from .core_form import FloatArray, FormFault, LegGeometry, MagneticSection
from .flux_path import post_corner, radial, straight
from .round_post import RoundPost


@dataclass(frozen=True, kw_only=True)
class PotDimensions(RoundPost):
    """Closed round wall around a round post (pot core).

    Attributes
    ----------
    leg_diameter, window_diameter, outer_diameter : float
        Diameter of the post, inside the wall and outside the wall, m.
    window_height : float, height of the window, both halves together, m
    back : float, thickness of the discs, m
    slots : int, openings in the wall, count
    slot_angle : float, full angle of each opening, rad
    hole_diameter : float, diameter of the hole in the post, m
    """

    leg_diameter: float
    window_diameter: float
    outer_diameter: float
    window_height: float
    back: float
    slots: int = 2
    slot_angle: float = 0.0
    hole_diameter: float = 0.0

    form: ClassVar[str] = "pot"
    ground_to_al: ClassVar[bool] = True
    may_vanish: ClassVar[frozenset[str]] = frozenset({"slots", "slot_angle", "hole_diameter"})

    @property
    def surround(self) -> tuple[float, float, float, float]:
        """Reach of the core beyond the window, m: post without its hole, wall, both discs."""
        outer = (self.outer_diameter - self.window_diameter) / 2
        return (self.leg_diameter - self.hole_diameter) / 2, outer, self.back, self.back

    @property
    def magnetic_sections(self) -> list[MagneticSection]:
        """Post, whole discs, and a wall interrupted by the openings, in 1/m and 1/m³."""
        post, hole, window = self.leg_diameter / 2, self.hole_diameter / 2, self.window_diameter / 2
        outside = self.outer_diameter / 2
        left = 1 - self.slots * self.slot_angle / (2 * math.pi)
        centre = math.pi * (post**2 - hole**2)
        wall = math.pi * (outside**2 - window**2) * left
        rim = 2 * math.pi * window * self.back * left
        yoke = radial(post, window, lambda radius: 2 * math.pi * radius * self.back)
        inner_corner = post_corner(post, hole, self.back, centre, 2 * math.pi * post * self.back)
        depth = math.sqrt((outside**2 + window**2) / 2) - window
        outer_corner = straight(math.pi / 8 * (2 * depth + self.back), (wall + rim) / 2)
        return [
            straight(self.window_height, centre),
            straight(self.window_height, wall),
            *[yoke, inner_corner, outer_corner] * 2,
        ]

    def shape_faults(self) -> list[FormFault]:
        """Diameters in the wrong order, or openings that leave no wall."""
        faults = self.not_less(
            ("hole_diameter", "leg_diameter"),
            ("leg_diameter", "window_diameter"),
            ("window_diameter", "outer_diameter"),
        )
        if self.slots * self.slot_angle >= 2 * math.pi:
            faults.append(("slot_angle", f"{self.slot_angle:g} rad", "slots that leave a wall"))
        return faults

    @property
    def wound_leg(self) -> LegGeometry:
        """The post."""
        radius = self.leg_diameter / 2
        return LegGeometry(
            area=math.pi * (radius**2 - (self.hole_diameter / 2) ** 2),
            perimeter=2 * math.pi * radius,
            width=self.window_diameter / 2 - radius,
            height=self.window_height,
        )

    @property
    def return_legs(self) -> LegGeometry:
        """The wall without its openings."""
        wall = 1 - self.slots * self.slot_angle / (2 * math.pi)
        window, outside = self.window_diameter / 2, self.outer_diameter / 2
        return LegGeometry(
            area=math.pi * (outside**2 - window**2) * wall,
            perimeter=2 * math.pi * window * wall,
            width=self.window_diameter / 2 - self.leg_diameter / 2,
            height=self.window_height,
            open_edge=2 * math.pi * outside * wall,
            tall=self.window_height + 2 * self.back,
            turning=0.0,
        )

    def turn_in_window(self, length: FloatArray) -> FloatArray:
        """Part of a turn that lies in the window, which the openings interrupt: 0 to 1, (...,) array,
        dimensionless."""
        return np.full(np.shape(length), 1 - self.slots * self.slot_angle / (2 * math.pi))

    @property
    def leg_edges(self) -> int:
        """Number of edges of outer legs that a turn passes, count."""
        return 2 * self.slots

    def turn(self, distance: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Lengths of a turn, under the core and whole, at a distance (m) from the surface of the leg: (...,)
        arrays, m."""
        whole = 2 * math.pi * (self.leg_diameter / 2 + distance)
        under = math.pi / 2 - self.slots * self.slot_angle / 4
        return whole * under / (math.pi / 2), whole
