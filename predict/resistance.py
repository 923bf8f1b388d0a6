"""Resistance of the sections: direct current at temperature, and what alternating current adds.

Direct current: R = ρ(T) l / (m A) with m conducting wires in hand. Alternating current: the exact foil
solution layer by layer (Dowell 1966), written as a quadratic form in the sections' ampere-turns, so that it
is passive and holds for any distribution of current.
"""

from __future__ import annotations

import math

import numpy as np

from .design import ComplexArray, Design, FloatArray, Real, ToroidDimensions, Wire
from .layout import Layout
from .magnetizing import MU_0

RESISTIVITY_20 = {"copper": 1 / 58 * 1e-6, "aluminium": 2.8264e-8}
"""Ω m at 20 °C: annealed copper 100 % IACS = 1/58 Ω mm²/m (IEC 60028); aluminium 28.264 nΩ m (IEC 60889;
from memory)."""
TEMPERATURE_COEFFICIENT = {"copper": 0.00393, "aluminium": 0.00403}
"""1/K at 20 °C (IEC 60028, IEC 60889; from memory)."""


def resistivity(metal: str, temperature: Real) -> FloatArray:
    """Resistivity (Ω m) of "copper" or "aluminium" at ``temperature`` (°C), linear from 20 °C."""
    return np.asarray(RESISTIVITY_20[metal] * temperature_factor(metal, temperature))


def temperature_factor(metal: str, temperature: Real) -> FloatArray:
    """Resistance at ``temperature`` (°C) over that at 20 °C: 1 + α (T − 20)."""
    return np.asarray(1.0 + TEMPERATURE_COEFFICIENT[metal] * (np.asarray(temperature) - 20.0))


def conductor_area(wire: Wire) -> FloatArray:
    """Cross-section (m²) of the wires in hand that conduct."""
    conducting = wire.in_hand - np.asarray(wire.open_strands)
    if wire.kind in ("foil", "track"):
        return np.asarray(wire.overall * wire.foil_width * conducting)
    return np.asarray(math.pi / 4 * np.asarray(wire.diameter) ** 2 * wire.strands * conducting)


def section_resistance(design: Design, layout: Layout, temperature: Real) -> FloatArray:
    """(B, n) direct-current resistance (Ω) of every section at ``temperature`` (°C), leads left out."""
    columns = []
    for index, section in enumerate(layout.sections):
        winding = design.winding(section.winding)
        rho = resistivity(winding.metal, temperature) * design.model.resistivity
        columns.append(
            rho * layout.turns[:, index] * layout.turn_length[:, index] / conductor_area(winding.wire)
        )
    return np.stack([np.broadcast_to(column, layout.turns.shape[:1]) for column in columns], axis=-1)


def lead_resistance(design: Design, name: str, temperature: Real) -> FloatArray:
    """Resistance (Ω) of both leads of a winding together at ``temperature`` (°C)."""
    winding = design.winding(name)
    rho = resistivity(winding.metal, temperature) * design.model.resistivity
    return np.asarray(rho * winding.lead_length / conductor_area(winding.wire))


def enclosed_share(layout: Layout, leg_share: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Ampere-turn function at the inner and outer face of every section, per ampere-turn of every other.

    (B, n, n) each: F_s = Σ_j f[s, j] NI_j, f = leg_share − (part of section j that lies within x).
    One-dimensional.
    """
    x0, x1 = np.moveaxis(layout.stacked(layout.copper), -1, 0)
    span = np.maximum(x1 - x0, 1e-12)

    def within(x: FloatArray) -> FloatArray:
        return np.asarray(np.clip((x[:, :, None] - x0[:, None, :]) / span[:, None, :], 0.0, 1.0))

    share = np.reshape(leg_share, (-1, 1, 1))
    return share - within(x0), share - within(x1)


def alternating_excess(
    design: Design, layout: Layout, inner: FloatArray, outer: FloatArray, frequency: float, temperature: Real
) -> ComplexArray:
    """(B, n, n) impedance (Ω per turn²) that alternating current at ``frequency`` (Hz) adds to R_dc +
    jωL_low.

    inner, outer : (B, n, n) from ``enclosed_share``. For a layer of breadth b, turn length l, copper
    thickness t, porosity η, conductivity σ and D = (1 + j) t/δ √η the foil solution gives

        ΔZ = l/(ησtb) [ (F0² + F1²)(D coth D − 1 − D²/3) − 2 F0 F1 (D csch D − 1 + D²/6) ]

    (Dowell, Proc. IEE 113, 1966, from memory; exact for full-height foil). Round wires: t = d √π/2, η = N m
    t/b. Litz and blocks: the transverse-field loss of each strand in the mean square field (Sullivan 2001,
    from memory). Range: regular layers, R within 15 % to 1 MHz; partial layers and unequal breadths up to
    50 %. ``model_ac_resistance`` carries that error.
    """
    omega = 2 * math.pi * frequency
    count, n = layout.turns.shape
    total = np.zeros((count, n, n), complex)
    ring = isinstance(design.core.dimensions, ToroidDimensions)
    along, stacked = layout.along(layout.copper), layout.stacked(layout.copper)
    for index, section in enumerate(layout.sections):
        winding = design.winding(section.winding)
        turns = layout.turns[:, index]
        sigma = 1.0 / (resistivity(winding.metal, temperature) * np.asarray(design.model.resistivity))
        breadth = _ring_breadth(design, count) if ring else along[:, index, 1] - along[:, index, 0]
        f0, f1 = inner[:, index], outer[:, index]
        sums = f0[:, :, None] * f0[:, None, :] + f1[:, :, None] * f1[:, None, :]
        cross = f0[:, :, None] * f1[:, None, :] + f1[:, :, None] * f0[:, None, :]
        length = layout.turn_length[:, index]
        scale = np.asarray(design.model.ac_resistance)
        wire = winding.wire
        if wire.kind == "litz" or section.block:
            strand = np.asarray(wire.overall if wire.kind in ("foil", "track") else wire.diameter)
            number = turns * wire.in_hand * wire.strands
            factor = length * number * transverse_loss(strand, sigma, omega) / breadth**2 * scale
            total += np.reshape(factor, (-1, 1, 1)) * (sums / 3 + cross / 6)
            continue
        thickness = stacked[:, index, 1] - stacked[:, index, 0]
        if wire.kind == "foil":
            porosity = np.ones(count)
        elif wire.kind == "track":
            porosity = np.clip(turns * wire.in_hand * wire.foil_width / breadth, 1e-6, 1.0)
        else:
            porosity = np.clip(turns * wire.in_hand * thickness / breadth, 1e-6, 1.0)
        root = (1 + 1j) * thickness * np.sqrt(omega * MU_0 * porosity * sigma / 2)
        gain_sum, gain_cross = _excess_functions(root)
        factor = length / (porosity * sigma * np.maximum(thickness, 1e-9) * breadth)
        added = (factor * gain_sum)[:, None, None] * sums - (factor * gain_cross)[:, None, None] * cross
        total += np.where(
            (turns > 0)[:, None, None], added.real * np.reshape(scale, (-1, 1, 1)) + 1j * added.imag, 0.0
        )
    return total


def transverse_loss(diameter: Real, conductivity: Real, angular_frequency: float) -> FloatArray:
    """Loss (W/m per (A/m)² RMS) of a round wire of ``diameter`` (m) in a uniform transverse alternating
    field.

    Low frequency (π/16σ)(d/δ)⁴, high frequency 2π d/(σδ), joined as two in series: exact at both ends, within
    about 15 % between (textbook limits; the blend is ours).
    """
    sigma = np.asarray(conductivity)
    relative = np.asarray(diameter) * np.sqrt(angular_frequency * MU_0 * sigma / 2)
    low, high = math.pi / 16 * relative**4, 2 * math.pi * relative
    return np.asarray(np.where(relative > 0, low * high / np.maximum(low + high, 1e-300), 0.0) / sigma)


def _excess_functions(root: ComplexArray) -> tuple[ComplexArray, ComplexArray]:
    """D coth D − 1 − D²/3 and D csch D − 1 + D²/6, by series where |D| is small."""
    small = np.abs(root) < 0.05
    safe = np.where(small, 1.0, root)
    decay = np.exp(-2 * safe)
    coth = (1 + decay) / (1 - decay)
    csch = 2 * np.exp(-safe) / (1 - decay)
    square = root**2
    sum_function = np.where(small, -(square**2) / 45 + 2 * square**3 / 945, safe * coth - 1 - square / 3)
    cross_function = np.where(
        small, 7 * square**2 / 360 - 31 * square**3 / 15120, safe * csch - 1 + square / 6
    )
    return sum_function, cross_function


def _ring_breadth(design: Design, count: int) -> FloatArray:
    dimensions = design.core.dimensions
    return np.full(count, math.pi * (dimensions.inner_diameter + dimensions.outer_diameter) / 2)  # type: ignore[union-attr]
