"""What a core material does at a frequency, level, bias and temperature.

    μ = μi · θ(T) · λ(B) · ρ(H) · r(f) · (1 − j tan δ) · e(f)

θ: temperature, λ: amplitude over initial permeability at the peak flux density B, ρ: reversible over initial
permeability at the direct field H, r and tan δ: the grade's curves, e: eddy currents in sheets. The factors
multiply, which is how data sheets state them, each with the others at rest; their true interplay (level
under bias, level at 100 °C) is not published for grades and not modelled: ``core_state`` says so where it
matters.

One curve for level and direct current: a grade with a table of amplitude permeability magnetizes along it,
μ0 μi θ H = B/λ(B), and ρ is the reversible permeability at that flux density by Gans's law.
"""

from __future__ import annotations

import math

import numpy as np

from ..design import ComplexArray, FloatArray, Material, Real
from .gap import MU_0

REFERENCE_TEMPERATURE = 23.0
"""Temperature (°C) at which materials and inductance factors are stated (contract of the design file)."""

_LEAST = 0.05
"""Neither permeability nor saturation falls below this part of its value at 23 °C (no model beyond)."""


def temperature_ratio(material: Material, temperature: Real) -> FloatArray:
    """θ = μi(T)/μi(23 °C): the grade's table, linear between its rows and constant outside, or
    1 + c (T − 23)."""
    degrees = np.asarray(temperature, float)
    if material.temperatures:
        return np.asarray(np.interp(degrees, material.temperatures, material.temperature_ratio))
    return np.maximum(1.0 + material.temperature_coefficient * (degrees - REFERENCE_TEMPERATURE), _LEAST)


def level_ratio(material: Material, flux_density: Real) -> FloatArray:
    """λ = μa(B)/μi at a peak flux density (T): the grade's table, or 1 + ν B.

    Rayleigh's law B = μ0 (μi H + η H²) makes μa = μi (1 + ν B) to first order. The table is linear between
    its rows. Above it, or above saturation where there is none, the material adds what air would, dB = μ0 dH:
    1/λ = 1/λ_last · B_last/B + μi (B − B_last)/B. Range without a table: some tens of mT in power ferrites.
    """
    peak = np.abs(np.asarray(flux_density, float))
    if material.level_flux_densities:
        last, ratio = material.level_flux_densities[-1], material.level_ratio[-1]
        known = np.asarray(np.interp(peak, material.level_flux_densities, material.level_ratio))
    else:
        last = material.saturation_flux_density
        ratio = 1.0 + material.level_coefficient * last
        known = np.asarray(1.0 + material.level_coefficient * peak)
    beyond = peak > last
    if not np.any(beyond):
        return known
    top = np.where(beyond, peak, last)
    field = last / ratio + np.asarray(material.initial_permeability) * (top - last)
    return np.where(beyond, top / field, known)


def hysteresis_tangent(material: Material, flux_density: Real) -> FloatArray:
    """tan δh = (4/3π) (μa − μi)/μa: the loss of the Rayleigh loop, whose area goes with the cube of the
    field.

    Above the Rayleigh region, where μa falls again towards saturation, its largest value up to there is kept.
    Source: Snelling, "Soft Ferrites" (from memory).
    """
    peak = np.abs(np.asarray(flux_density, float))
    return _hysteresis(material, peak, level_ratio(material, peak))


def _hysteresis(material: Material, peak: FloatArray, ratio: FloatArray) -> FloatArray:
    """``hysteresis_tangent`` where λ is at hand."""
    highest = np.maximum(ratio, 1.0)
    if material.level_flux_densities:
        reached = np.maximum.accumulate(material.level_ratio)
        row = np.searchsorted(material.level_flux_densities, peak, side="right") - 1
        highest = np.maximum(highest, reached[row])
    return np.asarray(4 / (3 * math.pi) * (1 - 1 / highest))


def eddy_factor(material: Material, permeability: ComplexArray, frequency: float) -> ComplexArray:
    """e = tanh(u)/u, u = (1 + j)(d/2)/δ, δ = √(ρ/(π f μ0 μ)): flux that eddy currents push out of a sheet.

    Classical solution for a sheet of thickness d in a field along it (textbooks); the losses of moving walls
    come on top (tan δ of the table). 1 for materials that are no sheets.
    """
    if material.sheet_thickness <= 0 or frequency <= 0:
        return np.ones_like(np.asarray(permeability))
    square = 2j * math.pi * frequency * MU_0 * permeability / material.resistivity
    u = np.sqrt(square) * material.sheet_thickness / 2
    decay = np.exp(-2 * u)
    return np.asarray((1 - decay) / (1 + decay) / u)


def permeability(
    material: Material,
    frequency: float,
    temperature: Real,
    flux_density: Real = 0.0,
    reversible: Real = 1.0,
) -> ComplexArray:
    """Complex relative permeability μ' − jμ'' at ``frequency`` (Hz), ``temperature`` (°C), peak
    ``flux_density`` (T); ``reversible``: ρ of ``load_line`` under a direct current.

    r and tan δ are interpolated on log f and held constant outside their table; at 0 Hz there is no loss.
    Equation: see the module.
    """
    log_f = math.log(frequency) if frequency > 0 else -math.inf
    table = np.log(material.frequencies)
    ratio = float(np.interp(log_f, table, material.real_ratio))
    peak = np.abs(np.asarray(flux_density, float))
    level = level_ratio(material, peak)
    still = np.asarray(material.initial_permeability) * temperature_ratio(material, temperature) * level
    still = still * np.asarray(reversible)
    if frequency <= 0 or not np.all(np.isfinite(still)):
        return np.asarray(still * ratio, complex)
    tangent = float(np.interp(log_f, table, material.loss_tangent))
    lossy = still * ratio * (1 - 1j * (tangent + _hysteresis(material, peak, level)))
    return np.asarray(
        lossy if material.sheet_thickness <= 0 else lossy * eddy_factor(material, lossy, frequency)
    )


def saturation(material: Material, temperature: Real = REFERENCE_TEMPERATURE) -> FloatArray:
    """Saturation flux density (T) at ``temperature`` (°C): Bs (1 + c (T − 23)); infinite where unknown."""
    drift = 1.0 + material.saturation_coefficient * (np.asarray(temperature) - REFERENCE_TEMPERATURE)
    return np.asarray(material.saturation_flux_density * np.maximum(drift, _LEAST))


def magnetization(
    material: Material, field: FloatArray, temperature: Real = REFERENCE_TEMPERATURE
) -> tuple[FloatArray, FloatArray]:
    """(B, ρ) at a direct ``field`` H (A/m): flux density (T), and reversible over initial permeability.

    Grades with ``bias_field`` (powders): ρ = 1/(1 + (H/H½)^n), the form of their makers' curves, and B = μ0
    μi ∫ρ dH by Gauss's rule. Others, by Gans's law that ρ hangs on magnetization alone (from memory), with
    Langevin's function: ρ = 3 L'(x), L(x) = B/Bs, L = coth x − 1/x. B of a grade with a table of amplitude
    permeability is that of the table (the curve on which the peaks of rising loops lie), μ0 μi H = B/λ(B);
    of one without, B = Bs L(x), μ0 μi H = Bs x/3. Unknown saturation: ρ = 1.
    """
    if _has_curve(material):
        return load_line(material, 1.0, 1.0, 0.0, field, temperature)
    initial = MU_0 * np.asarray(material.initial_permeability) * temperature_ratio(material, temperature)
    h = np.abs(field)
    if material.bias_field > 0:
        nodes, weights = np.polynomial.legendre.leggauss(16)
        inner = h[..., None] * (nodes + 1) / 2
        mean = np.sum(weights / 2 / (1 + (inner / material.bias_field) ** material.bias_exponent), axis=-1)
        return initial * h * mean, 1 / (1 + (h / material.bias_field) ** material.bias_exponent)
    top = saturation(material, temperature)
    if not np.all(np.isfinite(top)):
        return np.asarray(initial * h), np.ones_like(h)
    value, slope = _langevin(np.maximum(3 * initial * h / top, 1e-9))
    return np.asarray(top * value), np.asarray(3 * slope)


def _has_curve(material: Material) -> bool:
    """Whether a table of amplitude permeability says how the grade magnetizes."""
    return bool(material.level_flux_densities) and material.bias_field <= 0


_HALVINGS = 80


def _on_the_curve(
    material: Material, path: FloatArray, air: FloatArray, current: FloatArray, initial: FloatArray
) -> FloatArray:
    """B (T) with path B/(initial λ(B)) + air B = current, by halving: the left side rises with B."""
    most = max(*material.level_ratio, 1.0)
    low = np.zeros(np.broadcast_shapes(current.shape, initial.shape, air.shape, path.shape))
    high = np.minimum(current * initial * most / path, current / np.maximum(air, 1e-300)) + low
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        over = path * middle / (initial * level_ratio(material, middle)) + air * middle > current
        low, high = np.where(over, low, middle), np.where(over, middle, high)
    return np.asarray((low + high) / 2)


def reversible_ratio(
    material: Material, flux_density: FloatArray, temperature: Real = REFERENCE_TEMPERATURE
) -> FloatArray:
    """ρ = 3 L'(x) at L(x) = B/Bs: reversible over initial permeability at a direct ``flux_density`` (T), by
    Gans's law (from memory); not below that of air, 1/μi; 1 where saturation is unknown.

    x by Newton's method from Cohen's x ≈ b (3 − b²)/(1 − b²).
    """
    b = np.minimum(np.abs(flux_density) / saturation(material, temperature), 1 - 1e-6)
    x = b * (3 - b**2) / (1 - b**2)
    for _ in range(4):
        value, slope = _langevin(x)
        x = np.maximum(x - (value - b) / slope, 0.0)
    least = 1 / np.maximum(np.asarray(material.initial_permeability, float), 1.0)
    return np.asarray(np.maximum(3 * _langevin(x)[1], least))


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
) -> tuple[FloatArray, FloatArray]:
    """(B, ρ) of a core under direct ``ampere_turns`` (A): the iron's field under the gap's load line.

    length H + R_air area B(H) = NI, solved by Newton's method, which rises to the solution without ever
    passing it because B(H) is concave; of a grade with a table of amplitude permeability by halving. length
    le (m), area Ae (m²), air_reluctance (1/H); B (T); ρ as in ``magnetization``. Raises nothing: every NI has
    one solution. A grade of unknown permeability: ρ = 1.
    """
    current = np.abs(np.asarray(ampere_turns, float))
    if not np.all(np.isfinite(material.initial_permeability)):
        flux = current / np.maximum(air_reluctance, 1e-300)
        return np.asarray(flux / np.asarray(area)), np.ones_like(flux)
    initial = MU_0 * np.asarray(material.initial_permeability) * temperature_ratio(material, temperature)
    path = np.asarray(length, float)
    air = np.asarray(air_reluctance, float) * np.asarray(area)
    if _has_curve(material):
        flux = _on_the_curve(material, path, air, current, initial)
        return flux, reversible_ratio(material, flux, temperature)
    field = np.zeros(np.broadcast_shapes(current.shape, initial.shape, air.shape, path.shape))
    for _ in range(100):
        flux_density, ratio = magnetization(material, field, temperature)
        step = (current - path * field - air * flux_density) / (path + air * initial * ratio)
        field = np.maximum(field + step, 0.0)
        if np.all(np.abs(step) <= 1e-9 * np.maximum(field, 1e-12)):
            break
    return magnetization(material, field, temperature)
