"""A former without a core: coils in air."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from .core_form import FloatArray, FormFault, LegGeometry, MagneticSection
from .flux_path import straight
from .no_yokes import NoYokes


@dataclass(frozen=True)
class AirDimensions(NoYokes):
    """Round former of nothing magnetic.

    Attributes
    ----------
    diameter : float
        Diameter on which the first layer lies (inside of the bobbin's wall, if there is one), m.
    length : float, of the former, flanges included, m
    room : float, radial room for the winding, m; 0: half the greater of diameter and length
    """

    diameter: float
    length: float
    room: float = 0.0

    form: ClassVar[str] = "air"
    permeable: ClassVar[bool] = False
    may_vanish: ClassVar[frozenset[str]] = frozenset({"room"})
    leg_name: ClassVar[str] = "the former"
    facing_name: ClassVar[str] = "the end of the room"
    leakage_model: ClassVar[str] = "mutual inductances of coaxial coils in open space"

    @property
    def window(self) -> tuple[float, float]:
        """Radial room and length of the former, m."""
        return self.room or max(self.diameter, self.length) / 2, self.length

    @property
    def perimeter(self) -> float:
        """Length of a turn lying on the former, m."""
        return math.pi * self.diameter

    @property
    def surround(self) -> tuple[float, float, float, float]:
        """Reach of a core beyond the window, m: there is none."""
        return 0.0, 0.0, 0.0, 0.0

    @property
    def magnetic_sections(self) -> list[MagneticSection]:
        """The inside of the former, in 1/m and 1/m³."""
        return [straight(self.length, math.pi / 4 * self.diameter**2)]

    def shape_faults(self) -> list[FormFault]:
        """None: any diameter goes with any length."""
        return []

    @property
    def wound_leg(self) -> LegGeometry:
        """The inside of the former."""
        return LegGeometry(
            area=math.pi / 4 * self.diameter**2,
            perimeter=self.perimeter,
            width=self.window[0],
            height=self.length,
            covered=0.0,
        )

    def turn(self, distance: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Lengths of a turn, under a core (0: there is none) and whole, at a distance (m) from the former:
        (...,) arrays, m."""
        whole = 2 * math.pi * (self.diameter / 2 + np.asarray(distance, float))
        return np.zeros_like(whole), whole

    @property
    def leg_radius(self) -> float | None:
        """Radius of the former, m."""
        return self.diameter / 2
