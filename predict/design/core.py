"""The core as wound on: its material, its gap, what the maker states of the set."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from ..forms import Dimensions
from .hashed_once import HashedOnce
from .numbers_of_builds import Real

CORE = "core"
"""The core as a terminal, a face or an electrode, in addition to the names of windings and shields."""


@dataclass(frozen=True, kw_only=True)
class Material(HashedOnce):
    """A core material at low level, 23 °C. How the figures are used: module ``permeability``.

    Attributes
    ----------
    name : str, of the material
    initial_permeability : float or (B,) array
        Relative initial permeability μi, dimensionless; ``math.inf`` if unknown (the core then has no
        reluctance of its own).
    tolerance : float, half width that holds 95 % of production, relative
    temperature_coefficient : float, relative change of μi per kelvin from 23 °C, 1/K
    level_coefficient : float, ν of the Rayleigh region, μa = μi (1 + ν B), 1/T
    frequencies : tuple[float, ...] (F,)
        Frequencies of the table of complex permeability, rising, Hz; interpolated on log f, held constant
        outside.
    real_ratio : tuple[float, ...] (F,), μ'(f)/μi, dimensionless
    loss_tangent : tuple[float, ...] (F,), tan δ(f), dimensionless
    source : str, where the figures come from
    temperatures : tuple[float, ...] (n,)
        Temperatures of the table of μi(T)/μi(23 °C), rising, degC; empty: the coefficient is used.
    temperature_ratio : tuple[float, ...] (n,), μi(T)/μi(23 °C), dimensionless
    level_flux_densities : tuple[float, ...] (m,)
        Peak flux densities of the table of μa(B)/μi, rising from 0, T; empty: the coefficient is used.
    level_ratio : tuple[float, ...] (m,), μa(B)/μi, dimensionless
    saturation_flux_density : float, saturation flux density Bs at 23 °C, T; infinite if unknown
    saturation_coefficient : float, relative change of Bs per kelvin, 1/K
    bias_field : float
        Field H½ at which a direct field halves the permeability (powders), A/m; 0: derived from saturation.
    bias_exponent : float, steepness of that curve, dimensionless
    sheet_thickness : float
        Thickness of laminations or tape, m; 0: no sheets, eddy currents are in the table.
    resistivity : float, of the sheets, Ω m (ohm m), in ohm; 0 without sheets
    remanence : float
        Flux density Br that remains after saturation where no joint shears the loop, T; 0: unknown.
    coercivity : float, field Hc that brings it to zero, A/m; 0: unknown
    """

    name: str
    initial_permeability: Real
    tolerance: float = 0.25
    temperature_coefficient: float = 0.004
    level_coefficient: float = 1.2
    frequencies: tuple[float, ...] = (1e3,)
    real_ratio: tuple[float, ...] = (1.0,)
    loss_tangent: tuple[float, ...] = (0.01,)
    source: str = ""
    temperatures: tuple[float, ...] = ()
    temperature_ratio: tuple[float, ...] = ()
    level_flux_densities: tuple[float, ...] = ()
    level_ratio: tuple[float, ...] = ()
    saturation_flux_density: float = math.inf
    saturation_coefficient: float = 0.0
    bias_field: float = 0.0
    bias_exponent: float = 2.0
    sheet_thickness: float = 0.0
    resistivity: float = 0.0
    remanence: float = 0.0
    coercivity: float = 0.0

    __hash__ = HashedOnce.__hash__


@dataclass(frozen=True, kw_only=True)
class Core:
    """The assembled core set.

    Attributes
    ----------
    name : str, of the core
    dimensions : Dimensions, dimensions, m
    material : Material, core material
    effective_area : float or (B,) array, effective area Ae, m²
    effective_length : float, effective length le, m
    gap : float or (B,) array
        Total length of the ground gap in the flux path, m. If ``al`` is given the reader has already solved
        the gap (and, for ungapped sets, the permeability) so that this model reproduces ``al``.
    gap_tolerance : float or None, ± bound of the gap that holds 95 %, relative, or None
    gap_legs : {"centre", "spacer"}
        "centre", or "spacer" (half under the centre leg, half under the outer legs).
    gap_at : {"middle", "end"}
        "middle" of the leg, or at its "end" (E against I or a plate: one pole face is the yoke).
    gap_angle : float or None
        Where the gap of a ring lies, counted as ``WindStep.from_angle``, rad; None: not stated.
    face_gap : float or (B,) array
        Residual gap of one pair of mating faces, m; two pairs are in series. 0 in toroids.
    al : float or None
        Inductance factor as specified, H, or None; a record only: predictions come from gap and material.
    al_tolerance : float or None, ± bound of ``al`` that holds 95 %, relative, or None
    al_scale : float or (B,) array
        Factor on the core's whole permeance (production tolerance of ``al``), dimensionless.
    loss : float or None
        tan δ of the assembled set at every frequency, dimensionless; None: from the material.
    stacking_factor : float, iron fraction of a laminated section, dimensionless
    cover : float or None
        Fraction of a turn that lies under the core, dimensionless; None: from the geometry.
    gap_area_ratio : float
        Area of the ground gap over Ae, dimensionless. 1 if Ae is the maker's (whose tables of AL against gap
        go with it); the leg's own area if Ae is computed from the dimensions.
    """

    name: str
    dimensions: Dimensions
    material: Material
    effective_area: Real
    effective_length: float
    gap: Real = 0.0
    gap_tolerance: float | None = None
    gap_legs: Literal["centre", "spacer"] = "centre"
    gap_at: Literal["middle", "end"] = "middle"
    gap_angle: float | None = None
    face_gap: Real = 3e-6
    al: float | None = None
    al_tolerance: float | None = None
    al_scale: Real = 1.0
    loss: float | None = None
    stacking_factor: float = 1.0
    cover: float | None = None
    gap_area_ratio: float = 1.0
