"""What a core material does at a frequency, level, bias and temperature.

    μ = μi · θ(T) · Δ(B, B0, T) · r(f) · (1 − j tan δ) · e(f)

θ is the effect of temperature, Δ that of an alternating flux density B on top of a direct one B0
(``normal_curve``, ``direct_current.incremental_ratio``), r and tan δ are the curves of the grade, e the
effect of eddy currents in sheets. θ, r and e multiply, as data sheets state each of them with the others at
rest. Where level, direct current and temperature act together the product is an estimate; ``doubt`` in the
logarithm times ``direct_current.joint_influence`` is the error that a prediction states for it, and so is the
second ``doubt`` times ``normal_curve.weak_field_influence`` for laminations in weak fields. The third shifts,
with the same weight, the flux densities at which their curve is entered: how fast μ rises with the level is
known no better than μ itself, so two tests at different levels do not share their error.
"""

from __future__ import annotations

import math

import numpy as np

from ..design import ComplexArray, FloatArray, Material, Real
from .direct_current import AT_REST, DirectState, incremental_ratio, joint_influence
from .gap import MU_0
from .normal_curve import at_reference, level_ratio, temperature_ratio, weak_field_influence


def hysteresis_tangent(material: Material, peak: FloatArray, ratio: FloatArray) -> FloatArray:
    """Loss of the Rayleigh loop, whose area is proportional to the cube of the field.

    tan δh = (4/3π) (μa − μi)/μa.

    Above the Rayleigh region, where μa falls again towards saturation, the largest value so far is kept.

    Parameters
    ----------
    material : Material
    peak : (...,) array, peak flux density, T
    ratio : (...,) array, amplitude permeability over the initial one there (``level_ratio``), dimensionless

    Returns
    -------
    (...,) array, dimensionless

    References
    ----------
    Snelling, "Soft Ferrites" (from memory).
    """
    highest = np.maximum(ratio, 1.0)
    if material.level_flux_densities:
        reached = np.maximum.accumulate(material.level_ratio)
        row = np.searchsorted(material.level_flux_densities, peak, side="right") - 1
        highest = np.maximum(highest, reached[row])
    return np.asarray(4 / (3 * math.pi) * (1 - 1 / highest))


def eddy_factor(material: Material, permeability: ComplexArray, frequency: Real) -> ComplexArray:
    """e = tanh(u)/u, u = (1 + j)(d/2)/δ, δ = √(ρ/(π f μ0 μ)): flux that eddy currents push out of a sheet.

    Classical solution for a sheet of thickness d in a field along it (textbooks); the losses of moving walls
    are additional (tan δ of the table).

    Parameters
    ----------
    material : Material
    permeability : (...,) array of complex, relative permeability μ, dimensionless
    frequency : float or (...,) array, Hz

    Returns
    -------
    (...,) array of complex, factor e, dimensionless; 1 for materials that are not sheets
    """
    f, mu = np.asarray(frequency, float), np.asarray(permeability)
    if material.sheet_thickness <= 0 or np.all(f <= 0):
        return np.ones_like(mu)
    square = 2j * math.pi * f * MU_0 * mu / material.resistivity
    u = np.sqrt(square) * material.sheet_thickness / 2
    decay = np.exp(-2 * u)
    return np.asarray((1 - decay) / (1 + decay) / u)


def permeability(
    material: Material,
    frequency: Real,
    temperature: Real,
    flux_density: Real = 0.0,
    direct: DirectState = AT_REST,
    doubt: tuple[Real, Real, Real] = (0.0, 0.0, 0.0),
) -> ComplexArray:
    """Complex relative permeability μ' − jμ''.

    r and tan δ are interpolated on log f and held constant outside their table; at 0 Hz there is no loss.
    Equation: see the module.

    Parameters
    ----------
    material : Material
    frequency : float or (T, 1) array, frequency, Hz; several are all above zero
    temperature : float, (B,) or (T, B) array, degC
    flux_density : float, (B,) or (T, B) array, peak flux density, T
    direct : DirectState, state under a direct current (``load_line``)
    doubt : tuple of three floats or (B,) arrays
        Error where level, direct current and temperature act together, that of laminations in weak fields,
        and that of the flux densities of their curve there, in the logarithm, dimensionless (see the module).

    Returns
    -------
    (), (B,) or (T, B) array of complex, μ' − jμ'', dimensionless
    """
    table = np.log(material.frequencies)
    log_f = np.log(np.maximum(frequency, 1e-300))
    ratio = np.interp(log_f, table, material.real_ratio)
    peak = np.abs(np.asarray(flux_density, float))
    together, weak, curve = map(np.asarray, doubt)
    if (curve != 0).any():
        entered = peak * np.exp(curve * weak_field_influence(material, peak, temperature))
    else:
        entered = peak
    still = np.asarray(material.initial_permeability) * temperature_ratio(material, temperature)
    level = level_ratio(material, peak, temperature)
    still = still * incremental_ratio(
        material, direct, entered, temperature, level if entered is peak else None
    )
    if (together != 0).any():
        still = still * np.exp(together * joint_influence(material, direct, peak, temperature))
    if (weak != 0).any():
        still = still * np.exp(weak * weak_field_influence(material, peak, temperature))
    if (np.asarray(frequency) <= 0).all() or not np.isfinite(still).all():
        return np.asarray(still * ratio, complex)
    tangent = np.interp(log_f, table, material.loss_tangent)
    cold = at_reference(material, peak, temperature)
    lossy = still * ratio * (1 - 1j * (tangent + hysteresis_tangent(material, cold, level)))
    return np.asarray(
        lossy if material.sheet_thickness <= 0 else lossy * eddy_factor(material, lossy, frequency)
    )
