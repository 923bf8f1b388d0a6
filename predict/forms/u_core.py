"""Two equal legs, each of which may be wound: U and UI cores."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from .core_form import SHARP_TURNING, CoreForm, FloatArray, FormFault, LegGeometry, MagneticSection
from .flux_path import corner, straight


@dataclass(frozen=True)
class UDimensions(CoreForm):
    """Two equal legs, each of which may be wound (U and UI cores).

    Attributes
    ----------
    leg_width : float, width of a leg, across the window, m
    leg_depth : float, depth of a leg, m
    window_width : float, distance from leg to leg, m
    window_height : float, height of the window, m
    back : float, thickness of a yoke, m
    """

    leg_width: float
    leg_depth: float
    window_width: float
    window_height: float
    back: float

    form: ClassVar[str] = "U"
    wound_legs: ClassVar[int] = 2
    leg_name: ClassVar[str] = "one leg"
    facing_name: ClassVar[str] = "the other leg"
    leakage_model: ClassVar[str] = (
        "planar window on one side of the leg, open space with the leg's mirror on the others"
    )

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
        """Length of a turn lying on the bare leg, m."""
        return 2 * (self.leg_width + self.leg_depth)

    @property
    def surround(self) -> tuple[float, float, float, float]:
        """Reach of the core beyond the window, m: both legs, both yokes."""
        return self.leg_width, self.leg_width, self.back, self.back

    @property
    def magnetic_sections(self) -> list[MagneticSection]:
        """Two equal legs, two yokes as deep as the legs, four corners, in 1/m and 1/m³."""
        leg, yoke = self.leg_width * self.leg_depth, self.back * self.leg_depth
        bend = corner(self.leg_width, self.back, leg, yoke)
        return [straight(2 * self.window_height, leg), straight(2 * self.window_width, yoke), *[bend] * 4]

    def shape_faults(self) -> list[FormFault]:
        """None: any positive lengths make a U core."""
        return []

    @property
    def wound_leg(self) -> LegGeometry:
        """One leg."""
        edge = 2 * (self.leg_width + self.leg_depth)
        return LegGeometry(
            area=self.leg_width * self.leg_depth,
            perimeter=edge,
            width=self.window_width,
            height=self.window_height,
            covered=self.leg_depth / edge,
            turning=SHARP_TURNING,
        )

    @property
    def return_legs(self) -> LegGeometry:
        """The other leg."""
        return LegGeometry(
            area=self.leg_width * self.leg_depth,
            perimeter=self.leg_depth,
            width=self.window_width,
            height=self.window_height,
            open_edge=self.leg_depth + 2 * self.leg_width,
            tall=self.window_height + 2 * self.back,
            turning=0.0,
        )

    def turn_in_window(self, length: FloatArray) -> FloatArray:
        """Part of a turn of a length (m) that lies in the window, 0 to 1, (...,) array, dimensionless."""
        return np.minimum(self.leg_depth / length, 1.0)

    @property
    def leg_edges(self) -> int:
        """Number of edges of outer legs that a turn passes, count."""
        return 2

    def turn(self, distance: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Lengths of a turn, under the core and whole, at a distance (m) from the surface of the leg: (...,)
        arrays, m."""
        a, b = self.leg_width / 2, self.leg_depth / 2
        return np.full_like(distance, 2 * b), 4 * a + 4 * b + 2 * math.pi * distance
