"""What the form of a core decides: one interface that every form has and that all other rooms use.

A form is a frozen dataclass of lengths (m), the keys of ``[core.dimensions]``. Nobody outside this room asks
which form a core has. A new form is one module here, a line in ``FORMS``, and words for its keys in
``designfile/key_words.py`` (``tests/unit/test_forms.py`` checks each form against this interface).
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
"""Share of one section in (C1, C2) of IEC 60205: (l/A in 1/m, l/A² in 1/m³)."""
FormFault: TypeAlias = tuple[str, str, str]
"""(key, found, allowed) of a dimension with which the form cannot exist."""

SHARP_CORNER = 4 / math.pi * math.log(1.5)
"""Growth of the flux around a right-angled edge along the leg, over that around a rounded edge, 2πx per
turn. Potential ±½ above and below the gap on a wedge of exterior angle β makes E_z = 1/(β ρ sin(πθ/β)) in
the plane of the gap (Kontorovich–Lebedev transform). Compared with 1/(πx) beside the flat faces, β = 3π/2
leaves (2/π) ln(3/2) per metre outwards where the rounded corner has ½ (exact)."""
SHARP_TURNING = 2 * math.pi * SHARP_CORNER
"""The same around a leg with four right-angled edges (rad; exact)."""


@dataclasses.dataclass(frozen=True, kw_only=True)
class LegGeometry:
    """A leg as its gap sees it.

    Attributes
    ----------
    area : float, of the pole face, m²
    perimeter : float, of the leg towards the winding, m
    width : float, distance from the leg to the wall across the window, m
    height : float, of the window, m
    covered : float, part of the perimeter that faces an overhanging yoke, dimensionless
    open_edge : float, length of edge towards open space, m
    tall : float, height of the core at that edge, m
    turning : float
        Growth of a line around the leg with its distance from the leg, rad: 2π for round legs, less for sharp
        corners.
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
    """Interface of all forms; lengths in m, angles in rad."""

    form: ClassVar[str]
    """The name in ``[core.dimensions] form``."""
    ring: ClassVar[bool] = False
    """Whether it has no legs, yokes and mating faces."""
    permeable: ClassVar[bool] = True
    """Whether there is a core at all: False for coils in air."""
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
        """Width and height of the winding window, m.

        From the surface of the leg to the outer wall (or leg to leg); for a ring the radius of the hole and
        infinity.
        """

    @property
    @abstractmethod
    def perimeter(self) -> float:
        """Length of a turn lying on the bare leg, m (on a ring: around its section)."""

    @property
    @abstractmethod
    def surround(self) -> tuple[float, float, float, float]:
        """How far the core reaches beyond the window in a cross-section, m.

        Half the leg (the whole leg where both are wound), outer leg, lower yoke, upper yoke.
        """

    @property
    @abstractmethod
    def magnetic_sections(self) -> list[MagneticSection]:
        """The flux path in series by IEC 60205 (from memory): (l/A, l/A²) in 1/m and 1/m³."""

    @abstractmethod
    def shape_faults(self) -> list[FormFault]:
        """Dimensions that contradict each other although every length is in range by itself."""

    @property
    @abstractmethod
    def wound_leg(self) -> LegGeometry:
        """The leg that carries the windings.

        For a ring it is its section, with the length of the path as height of the window.
        """

    @property
    @abstractmethod
    def return_legs(self) -> LegGeometry:
        """The legs in which the flux returns, all of them together; for a ring its own section again."""

    @abstractmethod
    def turn_in_window(self, length: FloatArray) -> FloatArray:
        """Part of a turn of a length, (...,) array in m, that lies in the window: 0 to 1, (...,) array,
        dimensionless."""

    def perimeter_of(self, ratio: float) -> float:
        """Perimeter (m) of a leg of the same make with another area, by its ratio to that of this form: of a
        flat leg, or a ring, stacked higher or lower; of a round leg of another diameter."""
        stacked = self.perimeter_per_depth
        return (
            self.perimeter * math.sqrt(ratio) if stacked is None else self.perimeter + stacked * (ratio - 1)
        )

    @property
    def perimeter_per_depth(self) -> float | None:
        """Part of the perimeter that grows with the stack, m; None for round legs."""
        return None

    @property
    @abstractmethod
    def leg_edges(self) -> int:
        """Number of edges of outer legs that a turn passes, count."""

    @abstractmethod
    def turn(self, distance: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Lengths of a turn, under the core and whole, at a distance (...,) array in m from the surface of
        the leg: (...,) arrays, m. TypeError for a ring."""

    @property
    def leg_radius(self) -> float | None:
        """Radius of a round leg, m; None for legs with flat sides and for rings."""
        return None

    @property
    def corner_radius(self) -> float:
        """Radius of the upright edges of a leg with flat sides, m."""
        return 0.0

    @property
    def ovality(self) -> float:
        """Roundness of a leg with flat sides, dimensionless.

        0 for a rectangular or round leg, 1 for a rectangular leg rounded by half its width.
        """
        return 0.0

    @property
    def leg_over_yoke(self) -> float:
        """Depth of the wound leg over that of the yoke, dimensionless; less than 1 for low legs (EFD)."""
        return 1.0

    def yoke_cover(self, outermost: FloatArray) -> FloatArray:
        """Part of the outside of a round leg's winding that lies under overhanging yokes, 0 to 1, (B,) array,
        dimensionless, by the distance (m) of the outermost turn from the leg, (B,) array."""
        return np.ones_like(outermost)

    def faults(self) -> list[FormFault]:
        """(key, found, allowed) of every dimension with which the form cannot exist."""
        found = [
            (key, f"{value:g}", "a positive length" if key not in self.may_vanish else "zero or more")
            for key, value in dataclasses.asdict(self).items()
            if not (math.isfinite(value) and (value > 0 or (value == 0 and key in self.may_vanish)))
        ]
        return found or self.shape_faults()

    def not_less(self, *pairs: tuple[str, str]) -> list[FormFault]:
        """A fault for each pair of keys (key, than) where the dimension ``key`` is not less than ``than``."""
        return [
            (key, f"{getattr(self, key) * 1e3:g} mm", f"less than {than}, {getattr(self, than) * 1e3:g} mm")
            for key, than in pairs
            if getattr(self, key) >= getattr(self, than)
        ]
