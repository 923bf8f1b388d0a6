"""From core, gap and material to the permeance that one turn sees (the inductance factor AL).

The core is a series chain of reluctances (physics of IEC 60205: C1 = le/Ae)

    1/AL = le/(μ0 μ Ae) + 2 δ/(μ0 Ae) + R_gap,        R_gap = g/(μ0 Ae F(g))

with δ the residual gap of one pair of mating faces and F the fringing factor. Every argument may be an
array over builds; the results broadcast.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from .design import (
    ComplexArray,
    Core,
    Design,
    FloatArray,
    Material,
    Real,
    ToroidDimensions,
)
from .errors import DesignError, Fault

MU_0 = 4e-7 * math.pi
"""Permeability of free space (H/m), to 1e-9 of the SI value."""

REFERENCE_TEMPERATURE = 23.0
"""Temperature (°C) at which materials and inductance factors are stated (contract of the design file)."""

UNGAPPED_FLOOR = 0.6
"""An AL below this share of the ungapped model's means that the set is gapped although no gap is given;
above it, that the permeability differs (common practice, no source: ungapped AL is ±25…30 %)."""


def fringing_factor(gap: Real, area: Real, window_height: Real) -> FloatArray:
    """Factor on the area of an air gap for its fringing field, F = 1 + (g/√A) ln(2G/g).

    gap g (m), area A (m²), window_height G (m): the length of the winding over the gap. Broadcast.
    Range: g < G; −0.5…−4.8 % in AL over a published table of E 42/21/15, gaps 0.36–4 mm. Source: McLyman,
    "Transformer and Inductor Design Handbook" (from memory).
    """
    length = np.asarray(gap, float)
    safe = np.where(length > 0, length, 1.0)
    fringe = np.where(length > 0, safe / np.sqrt(area) * np.log(2 * np.asarray(window_height) / safe), 0.0)
    return 1.0 + np.maximum(fringe, 0.0)


def gap_reluctance(gap: Real, area: Real, factor: Real = 1.0) -> FloatArray:
    """Reluctance g/(μ0 A F) (1/H) of an air gap ``gap`` (m) of ``area`` (m²) and fringing ``factor``."""
    return np.asarray(gap / (MU_0 * np.asarray(area) * factor))


def core_reluctance(length: Real, area: Real, permeability: Real | ComplexArray) -> FloatArray:
    """Reluctance le/(μ0 μ Ae) (1/H); ``permeability`` relative, may be complex or infinite (then 0)."""
    return np.asarray(length / (MU_0 * np.asarray(area)) / np.asarray(permeability))


def winding_length(core: Core) -> float:
    """G of the fringing factor (m): the window height, or the path length of a ring."""
    dimensions = core.dimensions
    return core.effective_length if isinstance(dimensions, ToroidDimensions) else dimensions.window_height


def ground_gap_reluctance(core: Core) -> FloatArray:
    """Reluctance (1/H) of the ground gap with fringing; spacers are two gaps of half the length in series."""
    parts = 2 if core.gap_legs == "spacer" else 1
    part = core.gap / parts
    factor = fringing_factor(part, core.effective_area, winding_length(core))
    return parts * gap_reluctance(part, core.effective_area, factor)


def face_reluctance(core: Core) -> FloatArray:
    """Reluctance (1/H) of the residual gaps: two pairs of mating faces in series, area Ae, no fringing."""
    return gap_reluctance(2 * np.asarray(core.face_gap), core.effective_area)


def permeability(
    material: Material, frequency: float, temperature: Real, flux_density: Real = 0.0
) -> ComplexArray:
    """Complex relative permeability μ' − jμ'' at ``frequency`` (Hz), ``temperature`` (°C), peak
    ``flux_density`` (T).

    μ' = μi (1 + c (T − 23)) (1 + ν B) r(f), μ'' = μ' tan δ(f); r and tan δ interpolated on log f and held
    constant outside their table. Range: the Rayleigh region (B up to some tens of mT in power ferrites).
    """
    log_f = math.log(frequency) if frequency > 0 else -math.inf
    table = np.log(material.frequencies)
    ratio = float(np.interp(log_f, table, material.real_ratio))
    tangent = float(np.interp(log_f, table, material.loss_tangent))
    drift = 1.0 + material.temperature_coefficient * (np.asarray(temperature) - REFERENCE_TEMPERATURE)
    level = 1.0 + material.level_coefficient * np.asarray(flux_density)
    real = np.asarray(material.initial_permeability) * np.maximum(drift, 0.05) * level * ratio
    finite: ComplexArray = real * (1 - 1j * tangent) if np.all(np.isfinite(real)) else real + 0j
    return finite


def permeance(
    core: Core, frequency: float = 0.0, temperature: Real = REFERENCE_TEMPERATURE, flux_density: Real = 0.0
) -> ComplexArray:
    """Complex permeance (H per turn²) of the assembled core at frequency (Hz), temperature (°C) and peak
    flux density (T).

    Real part: the inductance factor; −Im/Re = tan δ of the set (``core.loss`` where it is given).
    """
    mu = permeability(core.material, frequency, temperature, flux_density)
    if core.loss is not None:
        mu = np.asarray(mu.real, complex)
    with np.errstate(invalid="ignore"):
        iron = np.where(
            np.isinf(mu.real), 0.0, core_reluctance(core.effective_length, core.effective_area, mu)
        )
    total = iron + face_reluctance(core) + ground_gap_reluctance(core)
    result: ComplexArray = np.asarray(core.al_scale) / total + 0j
    return result if core.loss is None else result * (1 - 1j * core.loss)


def core_share(core: Core) -> FloatArray:
    """φ: the material's share of the core's reluctance, which dilutes every change of permeability (0…1)."""
    iron = core_reluctance(core.effective_length, core.effective_area, core.material.initial_permeability)
    return np.asarray(iron / (iron + face_reluctance(core) + ground_gap_reluctance(core)))


def centre_leg_share(core: Core) -> FloatArray:
    """s: the centre leg's share of the core's ampere-turn drop: 1 for a gap in the centre leg, ½ for spacers.

    Iron and face gaps count half (the centre leg carries about half of the path). It decides on which side of
    the winding the ampere-turns of an open test find their return, hence the voltage ratio.
    """
    iron = core_reluctance(core.effective_length, core.effective_area, core.material.initial_permeability)
    ground = ground_gap_reluctance(core)
    rest = iron + face_reluctance(core)
    centre = ground * (0.5 if core.gap_legs == "spacer" else 1.0) + 0.5 * rest
    return np.asarray(np.clip(centre / np.maximum(ground + rest, 1e-300), 0.0, 1.0))


def gap_from_reluctance(core: Core, target: Real) -> FloatArray:
    """The ground gap (m) whose reluctance with fringing is ``target`` (1/H); inverse of
    ``ground_gap_reluctance``.

    Fixed point g ← R μ0 A F(g), which contracts because F grows more slowly than g.
    """
    parts = 2 if core.gap_legs == "spacer" else 1
    per_part = np.asarray(target, float) / parts * MU_0 * np.asarray(core.effective_area)
    length = per_part
    for _ in range(200):
        following = per_part * fringing_factor(length, core.effective_area, winding_length(core))
        if np.all(np.abs(following - length) <= 1e-12 * np.maximum(following, 1e-12)):
            length = following
            break
        length = following
    return np.asarray(parts * length)


def calibrate_to_al(core: Core) -> Core:
    """The core whose model gives exactly ``core.al``; ``core`` itself if it has none.

    With a gap (given, or betrayed by an AL far below the ungapped one) the gap is solved; an ungapped set
    keeps its gap of zero and the permeability is solved. Raises DesignError if no gap or permeability can
    give it.
    """
    if core.al is None:
        return core
    target = 1.0 / core.al
    iron = float(
        core_reluctance(core.effective_length, core.effective_area, core.material.initial_permeability)
    )
    faces = float(face_reluctance(core))
    most = 1.0 / (iron + faces) if iron + faces > 0 else math.inf
    gapped = bool(np.any(np.asarray(core.gap) > 0)) or iron == 0.0 or core.al < UNGAPPED_FLOOR * most
    rest = target - iron - faces
    if gapped and rest > 0:
        return replace(core, gap=float(gap_from_reluctance(core, rest)))
    if not gapped and target > faces:
        mu = core.effective_length / (MU_0 * float(np.asarray(core.effective_area)) * (target - faces))
        return replace(core, material=replace(core.material, initial_permeability=mu))
    if gapped:
        raise DesignError(
            Fault(
                "core.al",
                f"{core.al * 1e9:.4g} nH",
                f"below {most * 1e9:.4g} nH, what the ungapped set of this material and face_gap gives",
                "Check al against the gap, the material and the shape.",
            )
        )
    raise DesignError(
        Fault(
            "core.al",
            f"{core.al * 1e9:.4g} nH",
            f"below {1e9 / faces:.4g} nH, which the face gap alone would give",
            "Give a smaller face_gap, or check al.",
        )
    )


def al_contradiction(stated: Core, solved: Core) -> str:
    """A caution if the gap stated in the file and the one that AL asks for differ by more than 15 %, else "".

    stated: the core as written; solved: the same after ``calibrate_to_al``.
    """
    before, after = float(np.asarray(stated.gap)), float(np.asarray(solved.gap))
    if stated.al is None or before <= 0 or abs(after / before - 1) <= 0.15:
        return ""
    return (
        f"core.gap says {before * 1e3:.3g} mm, but al = {stated.al * 1e9:.4g} nH asks for "
        f"{after * 1e3:.3g} mm in this core; "
        "al rules the prediction. Check both against the core's data sheet."
    )


def inductance_factor(design: Design) -> FloatArray:
    """AL (H) of the design's core at low level and low frequency, 23 °C, with the model's own factor."""
    return np.asarray(permeance(design.core).real * np.asarray(design.model.inductance))
