"""What a direct current does to a core: where it puts the material, and how the material responds to small
changes there.

Grades with a table of amplitude permeability magnetize along it (``normal_curve``), powders along the bias
curve of their makers, others along Langevin's function. The response to small changes at that flux density
follows Gans's law of the reversible permeability; for a larger alternating flux density ``incremental_ratio``
gives what is known.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..design import FloatArray, Material, Real
from .gap import MU_0
from .normal_curve import (
    REFERENCE_TEMPERATURE,
    chord_ratio,
    has_curve,
    level_ratio,
    saturation,
    temperature_ratio,
)

_HALVINGS = 80


class DirectState(NamedTuple):
    """State of a core under a direct current.

    Attributes
    ----------
    flux_density : float or (...,) array, flux density B0, T
    reversible : float or (...,) array
        ρ: permeability for small changes over the initial one, dimensionless.
    """

    flux_density: Real
    reversible: Real


AT_REST = DirectState(0.0, 1.0)
"""No direct current (exact)."""


def magnetization(
    material: Material, field: FloatArray, temperature: Real = REFERENCE_TEMPERATURE
) -> DirectState:
    """State of a material in a direct field H.

    Grades with ``bias_field`` (powders): ρ = 1/(1 + (H/H½)^n), the form of their makers' curves, and B = μ0
    μi ∫ρ dH by Gauss's rule. Others follow Gans's law that ρ depends on magnetization alone, with Langevin's
    function: ρ = 3 L'(x), L(x) = B/Bs, L = coth x − 1/x. With a table of amplitude permeability B comes from
    the table (the curve on which the peaks of rising loops lie), μ0 μi H = B/λ(B); without one, B = Bs L(x),
    μ0 μi H = Bs x/3. Unknown saturation: ρ = 1.

    Parameters
    ----------
    material : Material
    field : (...,) array, A/m
    temperature : float or (...,) array, degC

    Returns
    -------
    DirectState, flux density, T, and ρ, dimensionless

    References
    ----------
    Gans's law (from memory).
    """
    if has_curve(material):
        return load_line(material, 1.0, 1.0, 0.0, field, temperature)
    initial = MU_0 * np.asarray(material.initial_permeability) * temperature_ratio(material, temperature)
    h = np.abs(field)
    if material.bias_field > 0:
        nodes, weights = np.polynomial.legendre.leggauss(16)
        inner = h[..., None] * (nodes + 1) / 2
        mean = np.sum(weights / 2 / (1 + (inner / material.bias_field) ** material.bias_exponent), axis=-1)
        return DirectState(initial * h * mean, 1 / (1 + (h / material.bias_field) ** material.bias_exponent))
    top = saturation(material, temperature)
    if not np.all(np.isfinite(top)):
        return DirectState(np.asarray(initial * h), np.ones_like(h))
    value, slope = _langevin(np.maximum(3 * initial * h / top, 1e-9))
    return DirectState(np.asarray(top * value), np.asarray(3 * slope))


def _on_the_curve(
    material: Material,
    path: FloatArray,
    air_path: FloatArray,
    current: FloatArray,
    initial: FloatArray,
    temperature: Real,
) -> FloatArray:
    """B (T) with path B/(initial λ(B)) + air B = current, by bisection: the left side rises with B."""
    most = max(*material.level_ratio, 1.0)
    low = np.zeros(np.broadcast_shapes(current.shape, initial.shape, air_path.shape, path.shape))
    with np.errstate(over="ignore"):  # a path without air: infinite, so that the other bound holds
        high = np.minimum(current * initial * most / path, current / np.maximum(air_path, 1e-300)) + low
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        over = (
            path * middle / (initial * level_ratio(material, middle, temperature)) + air_path * middle
            > current
        )
        low, high = np.where(over, low, middle), np.where(over, middle, high)
    return np.asarray((low + high) / 2)


def reversible_ratio(
    material: Material, flux_density: FloatArray, temperature: Real = REFERENCE_TEMPERATURE
) -> FloatArray:
    """ρ: reversible over initial permeability at a direct flux density, by Gans's law.

    ρ = 3 L'(x) at L(x) = B/Bs. x is found by Newton's method from Cohen's x ≈ b (3 − b²)/(1 − b²).

    Parameters
    ----------
    material : Material, grade of the core
    flux_density : (...,) array, direct flux density B, T
    temperature : float or (...,) array, temperature, degC

    Returns
    -------
    (...,) array, ρ, dimensionless; not below that of air, 1/μi; 1 where saturation is unknown

    References
    ----------
    Gans's law (from memory).
    """
    b = np.minimum(np.abs(flux_density) / saturation(material, temperature), 1 - 1e-6)
    x = b * (3 - b**2) / (1 - b**2)
    for _ in range(4):
        value, slope = _langevin(x)
        x = np.maximum(x - (value - b) / slope, 0.0)
    least = 1 / np.maximum(np.asarray(material.initial_permeability, float), 1.0)
    return np.asarray(np.maximum(3 * _langevin(x)[1], least))


def incremental_ratio(
    material: Material,
    direct: DirectState,
    peak: FloatArray,
    temperature: Real = REFERENCE_TEMPERATURE,
    level: FloatArray | None = None,
) -> FloatArray:
    """Permeability over μi θ for an alternating flux density on top of a direct one.

    It is λ(B̂) without a direct current, and ρ(B0) for small changes. Where both act it is their product, but
    never more than the mean slope of the normal curve from B0 − B̂ to B0 + B̂ (``chord_ratio``), which is
    steeper than any minor loop attached to it. Against the Preisach models of four measured grades of
    non-oriented steel (0.1 and 0.2 T on 0.5 to 1.4 T) the effect of the direct current agrees within a factor
    of 2.7, where the bare product is up to 8 times too high (``tests/published/test_steel.py``).

    Parameters
    ----------
    material : Material, grade of the core
    direct : DirectState, state under the direct current
    peak : (...,) array, peak B̂ of the alternating flux density, T
    temperature : float or (...,) array, temperature, degC
    level : (...,) array or None, λ(B̂) if at hand (``level_ratio``), dimensionless

    Returns
    -------
    (...,) array, ratio, dimensionless
    """
    lifted = level_ratio(material, peak, temperature) if level is None else level
    product = lifted * np.asarray(direct.reversible)
    if not has_curve(material) or (np.asarray(direct.flux_density) == 0).all():
        return np.asarray(product)
    return np.asarray(np.minimum(product, chord_ratio(material, direct.flux_density, peak, temperature)))


def joint_influence(
    material: Material, direct: DirectState, peak: FloatArray, temperature: Real = REFERENCE_TEMPERATURE
) -> FloatArray:
    """How far level, direct current and temperature act together: the weight of what nobody has measured.

    (1 − ρ) + (1 − 1/λ)·(min(1, B0/B̂) + (1 − min(θ, 1/θ))), where λ below 1 is replaced by its inverse. The
    law of the direct current alone is not exact either (except for powders, whose makers measured it). Level
    counts with a direct current that is no smaller, and with a temperature that itself moves the
    permeability.

    Parameters
    ----------
    material : Material
    direct : DirectState, state under the direct current
    peak : (...,) array, peak B̂ of the alternating flux density, T
    temperature : float or (...,) array, degC

    Returns
    -------
    (...,) array, weight, dimensionless; 0 where only one of them acts, or none
    """
    lifted = level_ratio(material, peak, temperature)
    level = 1 - np.minimum(lifted, 1 / lifted)
    warmed = temperature_ratio(material, temperature)
    steady = np.asarray(direct.flux_density, float)
    beside = np.minimum(1.0, steady / np.maximum(peak, 1e-12)) + 1 - np.minimum(warmed, 1 / warmed)
    alone = 0.0 if material.bias_field > 0 else 1 - np.asarray(direct.reversible)
    return np.asarray(alone + level * beside)


def _langevin(x: FloatArray) -> tuple[FloatArray, FloatArray]:
    """(L, L') of L = coth x − 1/x."""
    small = x < 0.03
    safe = np.where(small, 1.0, x)
    decay = np.exp(-safe)
    value = np.where(small, x / 3 - x**3 / 45, 1 / np.tanh(safe) - 1 / safe)
    slope = np.where(small, 1 / 3 - x**2 / 15, 1 / safe**2 - (2 * decay / (1 - decay**2)) ** 2)
    return np.asarray(value), np.asarray(slope)


def load_line(
    material: Material,
    length: Real,
    area: Real,
    air_reluctance: Real,
    ampere_turns: Real,
    temperature: Real = REFERENCE_TEMPERATURE,
) -> DirectState:
    """State of a core under direct ampere-turns: the field of the iron on the load line of the gap.

    length H + R_air area B(H) = NI, solved by Newton's method, which rises to the solution without ever
    passing it because B(H) is concave; for a grade with a table of amplitude permeability by bisection. Every
    NI has one solution. For a grade of unknown permeability ρ = 1.

    Parameters
    ----------
    material : Material
    length : float or (...,) array, effective length le, m
    area : float or (...,) array, effective area Ae, m²
    air_reluctance : float or (...,) array, 1/H
    ampere_turns : float or (...,) array, A
    temperature : float or (...,) array, degC

    Returns
    -------
    DirectState, flux density, T, and ρ, dimensionless, as in ``magnetization``
    """
    current = np.abs(np.asarray(ampere_turns, float))
    if not np.all(np.isfinite(material.initial_permeability)):
        flux = current / np.maximum(air_reluctance, 1e-300)
        return DirectState(np.asarray(flux / np.asarray(area)), np.ones_like(flux))
    initial = MU_0 * np.asarray(material.initial_permeability) * temperature_ratio(material, temperature)
    path = np.asarray(length, float)
    air_path = np.asarray(air_reluctance, float) * np.asarray(area)
    if has_curve(material):
        flux = _on_the_curve(material, path, air_path, current, initial, temperature)
        return DirectState(flux, reversible_ratio(material, flux, temperature))
    field = np.zeros(np.broadcast_shapes(current.shape, initial.shape, air_path.shape, path.shape))
    for _ in range(100):
        flux_density, ratio = magnetization(material, field, temperature)
        step = (current - path * field - air_path * flux_density) / (path + air_path * initial * ratio)
        field = np.maximum(field + step, 0.0)
        if np.all(np.abs(step) <= 1e-9 * np.maximum(field, 1e-12)):
            break
    return magnetization(material, field, temperature)
