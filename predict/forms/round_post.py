"""What forms with a round leg in a round window have in common: round cores and pots."""

from __future__ import annotations

import math
from typing import ClassVar

from .core_form import CoreForm


class RoundPost(CoreForm):
    """A form whose wound leg is round, in a window bounded by a circle around it.

    Attributes
    ----------
    leg_diameter, window_diameter : float, m
    window_height : float, height of the window, both halves together, m
    """

    leg_diameter: float
    window_diameter: float
    window_height: float

    leakage_model: ClassVar[str] = "axisymmetric window under the core, open space or yokes beside it"

    @property
    def window(self) -> tuple[float, float]:
        """Width and height of the winding window, m."""
        return (self.window_diameter - self.leg_diameter) / 2, self.window_height

    @property
    def perimeter(self) -> float:
        """Length of a turn lying on the bare leg, m."""
        return math.pi * self.leg_diameter

    @property
    def leg_radius(self) -> float:
        """Radius of the leg, m."""
        return self.leg_diameter / 2
