"""What a form of core decides: one face that every form has, and that everything else asks.

A form is a frozen dataclass of lengths (m), the keys of ``[core.dimensions]``. Nobody outside this room asks
which form a core has; a new form is one module here, a line in ``FORMS``, and words for its keys in
``designfile/key_words.py`` (``tests/unit/test_forms.py`` holds each form against this face).
"""

from __future__ import annotations

import dataclasses
import math
from abc import ABC, abstractmethod
from typing import ClassVar, TypeAlias

import numpy as np
from numpy.typing import NDArray

FloatArray: TypeAlias = NDArray[np.float64]
MagneticSection: TypeAlias = tuple[float, float]
"""One section's share of (C1, C2) of IEC 60205: (l/A in 1/m, l/A² in 1/m³)."""
FormFault: TypeAlias = tuple[str, str, str]
"""(key, found, allowed) of a dimension with which the form cannot exist."""

SHARP_CORNER = 4 / math.pi * math.log(1.5)
"""Growth of the flux around a right-angled edge along the leg, over that around a rounded one, 2πx per turn.

Potential ±½ above and below the gap on a wedge of exterior angle β makes E_z = 1/(β ρ sin(πθ/β)) in the gap's
plane (Kontorovich–Lebedev transform); against 1/(πx) beside the flat faces, β = 3π/2 leaves (2/π) ln(3/2) per
metre outwards where the rounded corner has ½."""
SHARP_TURNING = 2 * math.pi * SHARP_CORNER
"""The same around a leg with four right-angled edges (rad)."""


@dataclasses.dataclass(frozen=True, kw_only=True)
class LegGeometry:
    """A leg as its gap sees it (SI).

    area : of the pole face (m²). perimeter : of the leg towards the winding (m). turning : by how much a line
    around the leg grows with its distance from it, 2π for round legs, less for sharp corners (rad). width :
    from the leg to the wall across the window (m). height : of the window (m). covered : part of the
    perimeter that faces a yoke which overhangs it. open_edge : length of edge towards open space (m), over a
    core ``tall`` (m) high.
    """

    area: float
    perimeter: float
    width: float
    height: float
    covered: float = 1.0
    open_edge: float = 0.0
    tall: float = 0.0
    turning: float = 2 * math.pi


@dataclasses.dataclass(frozen=True)
class CoreForm(ABC):
    """Face of all forms. Lengths in m, angles in rad."""

    form: ClassVar[str]
    """The name in ``[core.dimensions] form``."""
    ring: ClassVar[bool] = False
    """Whether it has no legs, yokes and mating faces."""
    wound_legs: ClassVar[int] = 1
    """Legs that may carry windings."""
    leg_name: ClassVar[str] = "the centre leg"
    facing_name: ClassVar[str] = "the outer leg"
    """What a drawing calls the wound leg, and the wall across the window."""
    free_outer_legs: ClassVar[bool] = False
    """Whether it has outer legs that somebody might want to wind."""
    ground_to_al: ClassVar[bool] = False
    """Whether makers grind a gap until the inductance factor is met."""
    may_vanish: ClassVar[frozenset[str]] = frozenset()
    """Dimensions that may be zero."""
    leakage_model: ClassVar[str]
    """How the leakage field is computed, in words."""

    @property
    @abstractmethod
    def window(self) -> tuple[float, float]:
        """Width and height (m) of the winding window: leg surface to outer wall (or leg to leg); of a ring
        the hole's radius and infinity."""

    @property
    @abstractmethod
    def perimeter(self) -> float:
        """Length (m) of a turn lying on the bare leg (on a ring: around its section)."""

    @property
    @abstractmethod
    def surround(self) -> tuple[float, float, float, float]:
        """How far (m) the core reaches beyond the window in a cross-section: half the leg (all of it where
        both are wound), outer leg, lower and upper yoke."""

    @property
    @abstractmethod
    def magnetic_sections(self) -> list[MagneticSection]:
        """The flux path in series, by IEC 60205 (from memory)."""

    @abstractmethod
    def shape_faults(self) -> list[FormFault]:
        """Dimensions that exclude each other, of lengths that are all in range by themselves."""

    @property
    @abstractmethod
    def wound_leg(self) -> LegGeometry:
        """The leg that carries the windings; of a ring its section, whose path takes the window height's
        place."""

    @property
    @abstractmethod
    def return_legs(self) -> LegGeometry:
        """The legs in which the flux returns, all of them together; of a ring its own section again."""

    @abstractmethod
    def turn_in_window(self, length: FloatArray) -> FloatArray:
        """Part (0 … 1) of a turn of ``length`` (m), any shape, that lies in the window."""

    @property
    @abstractmethod
    def leg_edges(self) -> int:
        """How many edges of outer legs a turn passes."""

    @abstractmethod
    def turn(self, distance: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Lengths (m) of a turn at ``distance`` (m, any shape) from the leg's surface: under the core, whole.
        Raises TypeError for a ring."""

    @property
    def leg_radius(self) -> float | None:
        """Radius (m) of a round leg; None for legs with flat sides, and for rings."""
        return None

    @property
    def corner_radius(self) -> float:
        """Radius (m) of the upright edges of a leg with flat sides."""
        return 0.0

    @property
    def ovality(self) -> float:
        """0 for a rectangular or round leg, 1 for a rectangular one rounded by half its width."""
        return 0.0

    @property
    def leg_over_yoke(self) -> float:
        """Depth of the wound leg over that of the yoke: less than 1 for low legs (EFD)."""
        return 1.0

    def yoke_cover(self, outermost: FloatArray) -> FloatArray:
        """Part of the outside (0 … 1) of a round leg's winding, ``outermost`` (B,) (m) from the leg, that
        lies under overhanging yokes, (B,)."""
        return np.ones_like(outermost)

    def faults(self) -> list[FormFault]:
        """(key, found, allowed) of every dimension with which the form cannot exist."""
        found = [
            (key, f"{value:g}", "a positive length" if key not in self.may_vanish else "zero or more")
            for key, value in vars(self).items()
            if not (math.isfinite(value) and (value > 0 or (value == 0 and key in self.may_vanish)))
        ]
        return found or self.shape_faults()

    def not_less(self, *pairs: tuple[str, str]) -> list[FormFault]:
        """A fault for each (key, than) where ``key`` is not less than ``than``."""
        return [
            (
                key,
                f"{getattr(self, key) * 1e3:g} mm",
                f"less than {than}, {getattr(self, than) * 1e3:g} mm",
            )
            for key, than in pairs
            if getattr(self, key) >= getattr(self, than)
        ]
