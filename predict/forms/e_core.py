"""Rectangular centre leg between two flat outer legs: E, EFD, EI, planar E."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from .core_form import SHARP_CORNER, CoreForm, FloatArray, FormFault, LegGeometry, MagneticSection
from .flux_path import corner, straight


@dataclass(frozen=True, kw_only=True)
class EDimensions(CoreForm):
    """Rectangular centre leg between two flat outer legs (E, EFD, EI, planar E).

    Lengths of the assembled set at mid-tolerance.

    Attributes
    ----------
    leg_width : float, width of the centre leg, across the window, m
    leg_depth : float, depth of the centre leg, along the stack, m
    window_width : float, from centre leg to outer leg, m
    window_height : float, height of the window, both halves together, m
    outer_leg : float, width of an outer leg, m
    back : float, thickness of the yoke, m
    outer_depth : float, depth of outer legs and yoke, m
    leg_corner, outer_corner : float, radius of the upright edges of the centre leg and of the outer legs, m
    """

    leg_width: float
    leg_depth: float
    window_width: float
    window_height: float
    outer_leg: float
    back: float
    outer_depth: float
    leg_corner: float = 0.0
    outer_corner: float = 0.0

    form: ClassVar[str] = "E"
    free_outer_legs: ClassVar[bool] = True
    may_vanish: ClassVar[frozenset[str]] = frozenset({"leg_corner", "outer_corner"})
    leakage_model: ClassVar[str] = "planar window under the core, open space with the leg's mirror beside it"

    @property
    def window(self) -> tuple[float, float]:
        """Width and height of the winding window, m."""
        return self.window_width, self.window_height

    @property
    def perimeter_per_depth(self) -> float:
        """Part of the perimeter that grows with the stack, m."""
        return 2 * self.leg_depth

    @property
    def perimeter(self) -> float:
        """Length of a turn lying on the bare centre leg, m."""
        return 2 * (self.leg_width + self.leg_depth) - (8 - 2 * math.pi) * self.leg_corner

    @property
    def surround(self) -> tuple[float, float, float, float]:
        """Reach of the core beyond the window, m: half the centre leg, outer leg, both yokes."""
        return self.leg_width / 2, self.outer_leg, self.back, self.back

    @property
    def magnetic_sections(self) -> list[MagneticSection]:
        """Centre leg, two yokes, two outer legs (in parallel: double area), four corners, in 1/m and 1/m³."""
        corner_loss = (4 - math.pi) * self.leg_corner**2
        centre = self.leg_width * self.leg_depth - corner_loss
        outer = 2 * (self.outer_leg * self.outer_depth - (4 - math.pi) * self.outer_corner**2)
        # The yoke is as deep as the outer legs, even where the centre leg is shallower (EFD).
        yoke = 2 * self.back * self.outer_depth
        inner_corner = corner(self.leg_width / 2, self.back, centre, yoke)
        outer_corner = corner(self.outer_leg, self.back, outer, yoke)
        return [
            straight(self.window_height, centre),
            straight(self.window_height, outer),
            straight(2 * self.window_width, yoke),
            *[inner_corner, outer_corner] * 2,
        ]

    def shape_faults(self) -> list[FormFault]:
        """Radii larger than half the width or depth of their leg."""
        legs = {
            "leg_corner": min(self.leg_width, self.leg_depth),
            "outer_corner": min(self.outer_leg, self.outer_depth),
        }
        return [
            (key, f"{getattr(self, key) * 1e3:g} mm", "at most half the leg's width and depth")
            for key, across in legs.items()
            if 2 * getattr(self, key) > across * (1 + 1e-9)
        ]

    @property
    def wound_leg(self) -> LegGeometry:
        """The centre leg, with its corners rounded."""
        corner = self.leg_corner
        edge = 2 * (self.leg_width + self.leg_depth) - (8 - 2 * math.pi) * corner
        facing = 2 * min(self.leg_depth, self.outer_depth) / edge
        return LegGeometry(
            area=self.leg_width * self.leg_depth - (4 - math.pi) * corner**2,
            perimeter=edge,
            width=self.window_width,
            height=self.window_height,
            covered=min(facing, 1.0),
            turning=2 * math.pi * (SHARP_CORNER + (1 - SHARP_CORNER) * self.ovality),
        )

    @property
    def return_legs(self) -> LegGeometry:
        """Both outer legs together."""
        corners = (4 - math.pi) * self.outer_corner**2
        facing = 2 * self.outer_depth
        return LegGeometry(
            area=2 * (self.outer_leg * self.outer_depth - corners),
            perimeter=facing,
            width=self.window_width,
            height=self.window_height,
            open_edge=facing + 4 * self.outer_leg,
            tall=self.window_height + 2 * self.back,
            turning=0.0,
        )

    def turn_in_window(self, length: FloatArray) -> FloatArray:
        """Part of a turn of a length (m) that lies in the window, 0 to 1, (...,) array, dimensionless."""
        return np.minimum(2 * min(self.outer_depth, self.leg_depth) / length, 1.0)

    @property
    def leg_edges(self) -> int:
        """Number of edges of outer legs that a turn passes, count."""
        return 4

    def turn(self, distance: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Lengths of a turn, under the core and whole, at a distance (m) from the surface of the leg: (...,)
        arrays, m."""
        a, b = self.leg_width / 2, self.leg_depth / 2
        corner, b_y = self.leg_corner, self.outer_depth / 2
        whole = 4 * a + 4 * b - (8 - 2 * math.pi) * corner + 2 * math.pi * distance
        deeper = max(b_y - b, 0.0) * corner / min(a, b)
        sine = (min(b_y, b) + deeper - b + corner) / (corner + self.window_width)
        angle = math.asin(min(max(sine, 0.0), 1.0))
        return 4 * min(b - corner, b_y) + 4 * angle * (corner + distance), whole

    @property
    def corner_radius(self) -> float:
        """Radius of the upright edges of the centre leg, m."""
        return self.leg_corner

    @property
    def ovality(self) -> float:
        """Corner radius over half the smaller side of the leg, dimensionless."""
        return self.leg_corner / (min(self.leg_width, self.leg_depth) / 2)

    @property
    def leg_over_yoke(self) -> float:
        """Depth of the centre leg over that of the yoke, dimensionless."""
        return self.leg_depth / self.outer_depth
