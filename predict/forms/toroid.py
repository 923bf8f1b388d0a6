"""A ring of rectangular section: toroids."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import ClassVar

from .core_form import SHARP_TURNING, FloatArray, FormFault, LegGeometry, MagneticSection
from .no_yokes import NoYokes


@dataclass(frozen=True)
class ToroidDimensions(NoYokes):
    """Ring of rectangular section, without its coating.

    Attributes
    ----------
    outer_diameter : float, outer diameter, m
    inner_diameter : float, diameter of the hole, m
    height : float, of the ring, m
    """

    outer_diameter: float
    inner_diameter: float
    height: float

    form: ClassVar[str] = "toroid"
    ring: ClassVar[bool] = True
    leg_name: ClassVar[str] = "the ring"
    leakage_model: ClassVar[str] = "field of the enclosed ampere-turns around the ring, H = F/(2π r)"

    @property
    def window(self) -> tuple[float, float]:
        """Width and height of the winding window, m."""
        return self.inner_diameter / 2, math.inf

    @property
    def perimeter_per_depth(self) -> float:
        """Part of the perimeter that grows with the stack, m."""
        return 2 * self.height

    @property
    def perimeter(self) -> float:
        """Length of a turn lying on the bare ring, around its section, m."""
        return 2 * self.height + self.outer_diameter - self.inner_diameter

    @property
    def surround(self) -> tuple[float, float, float, float]:
        """Reach of the core beyond the window, m: radial thickness of the ring, and no more."""
        return (self.outer_diameter - self.inner_diameter) / 2, 0.0, 0.0, 0.0

    @property
    def magnetic_sections(self) -> list[MagneticSection]:
        """The ring, exact: C1 = 2π/(h ln(D/d)) in 1/m, C2 = 4π (1/d − 1/D)/(h² ln³(D/d)) in 1/m³."""
        log = math.log(self.outer_diameter / self.inner_diameter)
        c1 = 2 * math.pi / (self.height * log)
        c2 = 4 * math.pi * (1 / self.inner_diameter - 1 / self.outer_diameter) / (self.height**2 * log**3)
        return [(c1, c2)]

    def shape_faults(self) -> list[FormFault]:
        """An inner diameter that is not less than the outer one."""
        return self.not_less(("inner_diameter", "outer_diameter"))

    @property
    def wound_leg(self) -> LegGeometry:
        """The section of the ring.

        Its gap is a slit in a path whose length replaces the height of a window.
        """
        breadth = (self.outer_diameter - self.inner_diameter) / 2
        return LegGeometry(
            area=breadth * self.height,
            perimeter=self.perimeter,
            width=self.inner_diameter / 2,
            height=math.pi * (self.outer_diameter + self.inner_diameter) / 2,
            covered=0.0,
            turning=SHARP_TURNING,
        )

    def turn(self, distance: FloatArray) -> tuple[FloatArray, FloatArray]:
        """A ring has no window under which a turn could lie: always a TypeError instead of lengths (m),
        (...,) arrays."""
        raise TypeError(f"a ring has no window under which a turn at {distance} lies")
