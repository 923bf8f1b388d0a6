"""The normal magnetization curve of a grade: one curve for level and direct current.

The peaks of rising alternating loops lie on B(H) with μ0 μi θ H = B/λ(B), where λ = μa/μi is the grade's
table of amplitude permeability. A direct current that rises from a demagnetized core moves along the same
curve. The saturation of a grade falls with temperature, and the whole curve shrinks in B in that proportion,
λ(B, T) = λ(B Bs(23 °C)/Bs(T)) (closed form of an ideal curve B = Bs f(H/Hs); grades publish two temperatures
at most).
"""

from __future__ import annotations

import numpy as np

from ..design import FloatArray, Material, Real

REFERENCE_TEMPERATURE = 23.0
"""Temperature (°C) at which materials and inductance factors are stated (documented in
the guide)."""

THINNEST_LAMINATION = 0.05e-3
"""Sheets thicker than this (m) are laminations, tested at low frequencies; wound tape is thinner (common
practice, no source)."""
WEAK_FIELD = (0.002, 0.05)
"""Flux densities (T): up to the first the curve of laminations has the error of weak fields in full, from the
second on none. In weak fields it depends on rolling, annealing and stress. Oriented steel at 2 mT: a factor
of 1.9 off, non-oriented grades from 50 mT on within what their tolerance states
(``tests/published/test_steel.py``)."""

_LEAST = 0.05
"""Neither permeability nor saturation falls below this part of its value at 23 °C (judged: no model
beyond)."""
_FINEST = 0.01
"""Least half width of a chord, as part of the saturation flux density: no table of a grade is finer
(follows from their steps)."""


def temperature_ratio(material: Material, temperature: Real) -> FloatArray:
    """θ = μi(T)/μi(23 °C): the grade's table, or 1 + c (T − 23).

    The table is linear between its rows and constant outside.

    Parameters
    ----------
    material : Material
    temperature : float or (...,) array, temperature T, degC

    Returns
    -------
    (...,) array, dimensionless
    """
    degrees = np.asarray(temperature, float)
    if material.temperatures:
        return np.asarray(np.interp(degrees, material.temperatures, material.temperature_ratio))
    return np.maximum(1.0 + material.temperature_coefficient * (degrees - REFERENCE_TEMPERATURE), _LEAST)


def _saturation_ratio(material: Material, temperature: Real) -> FloatArray:
    """Bs(T)/Bs(23 °C)."""
    drift = 1.0 + material.saturation_coefficient * (np.asarray(temperature) - REFERENCE_TEMPERATURE)
    return np.asarray(np.maximum(drift, _LEAST))


def at_reference(material: Material, flux_density: Real, temperature: Real) -> FloatArray:
    """The flux density at 23 °C that is the same part of saturation as a given one at its temperature.

    Parameters
    ----------
    material : Material
    flux_density : float or (...,) array, T
    temperature : float or (...,) array, degC

    Returns
    -------
    (...,) array, T
    """
    return np.asarray(np.abs(flux_density) / _saturation_ratio(material, temperature))


def saturation(material: Material, temperature: Real = REFERENCE_TEMPERATURE) -> FloatArray:
    """Saturation flux density at a temperature: Bs (1 + c (T − 23)).

    Parameters
    ----------
    material : Material, grade of the core
    temperature : float or (...,) array, temperature T, degC

    Returns
    -------
    (...,) array, flux density, T; infinite where unknown
    """
    return np.asarray(material.saturation_flux_density * _saturation_ratio(material, temperature))


def level_ratio(
    material: Material, flux_density: Real, temperature: Real = REFERENCE_TEMPERATURE
) -> FloatArray:
    """λ = μa(B)/μi at a peak flux density: the grade's table, or 1 + ν B.

    Rayleigh's law B = μ0 (μi H + η H²) makes μa = μi (1 + ν B) to first order. The table is linear between
    its rows. Above it, or above saturation where there is no table, the material adds only what air would, dB
    = μ0 dH: 1/λ = 1/λ_last · B_last/B + μi (B − B_last)/B. Range without a table: some tens of mT in power
    ferrites.

    Parameters
    ----------
    material : Material, grade of the core
    flux_density : float or (...,) array, peak flux density B, T
    temperature : float or (...,) array, temperature, degC

    Returns
    -------
    (...,) array, λ, dimensionless
    """
    peak = at_reference(material, flux_density, temperature)
    if material.level_flux_densities:
        last, ratio = material.level_flux_densities[-1], material.level_ratio[-1]
        known = np.asarray(np.interp(peak, material.level_flux_densities, material.level_ratio))
    else:
        last = material.saturation_flux_density
        ratio = 1.0 + material.level_coefficient * last
        known = np.asarray(1.0 + material.level_coefficient * peak)
    beyond = peak > last
    if not beyond.any():
        return known
    top = np.where(beyond, peak, last)
    field = last / ratio + np.asarray(material.initial_permeability) * (top - last)
    return np.where(beyond, top / field, known)


def weak_field_influence(
    material: Material, flux_density: Real, temperature: Real = REFERENCE_TEMPERATURE
) -> FloatArray:
    """How far a level lies where the curve of laminations is hardly known (``WEAK_FIELD``).

    1 up to the first flux density, from there falling with its logarithm to 0 at the second.

    Parameters
    ----------
    material : Material
    flux_density : float or (...,) array, peak flux density B, T
    temperature : float or (...,) array, degC

    Returns
    -------
    (...,) array, weight, 0 to 1, dimensionless; 0 for grades that are no laminations
    """
    peak = at_reference(material, flux_density, temperature)
    if material.sheet_thickness <= THINNEST_LAMINATION:
        return np.zeros_like(peak)
    low, high = np.log(WEAK_FIELD)
    return np.asarray(np.interp(np.log(np.maximum(peak, 1e-12)), (low, high), (1.0, 0.0)))


def has_curve(material: Material) -> bool:
    """Whether the grade has a table of amplitude permeability along which it magnetizes."""
    return bool(material.level_flux_densities) and material.bias_field <= 0


def chord_ratio(
    material: Material, steady: Real, peak: Real, temperature: Real = REFERENCE_TEMPERATURE
) -> FloatArray:
    """Mean slope of the normal curve over μ0 μi θ, from B0 − B̂ to B0 + B̂.

    2 B̂/(h(B0 + B̂) − h(B0 − B̂)), h(B) = B/λ(B), odd in B. Around zero it is λ(B̂) itself. No minor loop
    attached to the curve is steeper: a grade under a direct current responds with no more than this. B̂
    counts as at least 1 % of saturation.

    Parameters
    ----------
    material : Material
    steady : float or (...,) array, direct flux density B0, T
    peak : float or (...,) array, peak B̂ of the alternating flux density, T
    temperature : float or (...,) array, degC

    Returns
    -------
    (...,) array, dimensionless
    """
    least = _FINEST * material.saturation_flux_density
    half = np.maximum(np.asarray(peak, float), least if np.isfinite(least) else 1e-6)

    def field(flux: FloatArray) -> FloatArray:
        return np.asarray(flux / level_ratio(material, flux, temperature))

    rise = field(steady + half) - field(steady - half)
    return np.asarray(2 * half / rise)
