"""The core's permeance: iron, ground gap with its fringing field, faces.

Fringing by the conformal map of one pole corner over a plane, as given by Balakrishnan, Joines and Wilson
(IEEE Trans. Magn. 33, 1997) and used corner by corner by Mühlethaler, Kolar and Ecklebe (2011), both from
memory:

    P' = μ0 [ w/g + (2/π)(1 + ln(π h/2g)) ]     gap g in the middle of a leg of breadth w, poles of height h
    P' = μ0 [ w/g + (4/π)(1 + ln(π h/4g)) ]     at its end, over a plane

per metre of depth; σ = (w/g)/(P'/μ0) across and along the leg, R = σ_w σ_d g/(μ0 A). Where the design
states the inductance factor, the ground gap is solved so that the nominal set has it. Laminations by
tanh(γ)/γ.
"""

from __future__ import annotations

import functools
import math

import numpy as np
from scipy.optimize import brentq

from .field import MU0
from .layers import Array
from .layout import window
from .parts import Core, Part


def fringing(part: Part, gap: float) -> float:
    """σ ≤ 1: reluctance of the gap over g/(μ0 A)."""
    size = part.core.size
    pole = max((window(part)[1] - gap) / 2, gap)
    if part.core.gap_at == "end":
        more = 4 / math.pi * (1 + math.log(math.pi * pole / (2 * gap)))
    else:
        more = 2 / math.pi * (1 + math.log(math.pi * pole / (2 * gap)))
    breadths = (size["leg_width"], size["leg_depth"]) if "leg_width" in size else (size["leg_diameter"],) * 2
    factor = 1.0
    for breadth in breadths:
        factor *= (breadth / gap) / (breadth / gap + max(more, 0.0))
    return factor


def ground_gap(part: Part, gap: float) -> float:
    """Reluctance (1/H) of the ground gap."""
    if gap <= 0:
        return 0.0
    area = MU0 * part.core.area
    if part.core.gap_legs == "spacer":
        return gap * fringing(part, gap / 2) / area
    return gap * fringing(part, gap) / area


def solve_gap(part: Part) -> None:
    """Sets gap (or permeability) so that the nominal set has the stated inductance factor."""
    core = part.core
    if core.inductance_factor is None:
        return
    target = 1 / core.inductance_factor
    faces = 2 * core.face_gap / (MU0 * core.area)
    if core.gap > 0:
        iron = core.length / (MU0 * core.permeability * core.area) + faces
        core.gap = float(brentq(lambda gap: ground_gap(part, gap) + iron - target, 1e-6, 8e-3))
    else:
        core.permeability = core.length / (MU0 * core.area * (target - faces))


@functools.lru_cache(maxsize=512)
def _tables(core_key: tuple[tuple[float, ...], ...]) -> tuple[Array, ...]:
    return tuple(np.array(row) for row in core_key)


def permeability(core: Core, frequency: Array, flux_density: float, temperature: float) -> Array:
    """Complex relative permeability (F,) at each frequency (Hz), a peak flux density (T), a temperature (°C);
    interpolated in straight lines on log f, B and T."""
    f, real, loss, B, level, T, warm = _tables(
        (
            core.frequencies,
            core.real_ratio,
            core.loss_tangent,
            core.flux_densities,
            core.level_ratio,
            core.temperatures,
            core.warm_ratio,
        )
    )
    at = np.log(np.maximum(frequency, 1.0))
    ratio = np.interp(at, np.log(f), real)
    tangent = np.exp(np.interp(at, np.log(f), np.log(loss)))
    rise = float(np.interp(flux_density, B, level))
    scale = rise * np.interp(temperature, T, warm)
    tangent = tangent + 4 / (3 * math.pi) * max(1 - 1 / rise, 0.0)  # Rayleigh's loops
    result = core.permeability * scale * ratio * (1 - 1j * tangent)
    if core.sheet > 0:
        skin = 1j * 2 * math.pi * frequency * MU0 * core.permeability * scale / core.sheet_resistivity
        gamma = core.sheet / 2 * np.sqrt(skin)
        result = result * np.tanh(gamma) / gamma
    return np.asarray(result)


def permeance(part: Part, frequency: Array, flux_density: float = 0.0) -> Array:
    """Complex AL (H) at each frequency (F,), as the part is and as warm as it is."""
    core, truth = part.core, part.truth
    mu = permeability(core, frequency, flux_density, part.bench.temperature + truth.warmer)
    scale = truth.permeability * truth.bias
    mu = mu.real * scale + 1j * mu.imag * scale * truth.loss
    iron = core.length / (MU0 * mu * core.area)
    faces = (2 * (core.face_gap + truth.unseated) + truth.crack) / (MU0 * core.area)
    return np.asarray(truth.inductance / (iron + faces + ground_gap(part, core.gap)))
