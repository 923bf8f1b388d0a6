"""Direct-current resistance of sections and leads: R = ρ(T) k l / (m A) with m conducting wires in hand.

k is the lay factor: strands of litz and wires of a twisted bundle run in helices and are longer than their
turn. A helix of lay p at the distance r from the axis is √(1 + (2πr/p)²) of it; strands even over a bundle
average ``lay_factor``.
"""

from __future__ import annotations

import math

import numpy as np

from ..design import Design, FloatArray, Real, Wire
from ..winding import Layout

FLAT = {"foil", "track"}
"""Kinds of conductor that are strips."""
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


def lay_factor(radius: Real, lay: Real) -> FloatArray:
    """Mean length of strands over that of their bundle: k = (2/3q²) [(1 + q²)^3/2 − 1], q = 2π radius/lay.

    The mean of √(1 + (2πr/p)²) over the circle; → 1 + q²/4 for long lays. radius of the bundle, lay: m. One
    stage of twisting; of several the factors multiply. Raises nothing. Range: radius ≥ 0, lay > 0.
    """
    square = (2 * math.pi * np.asarray(radius, float) / np.asarray(lay, float)) ** 2
    small = square < 1e-4
    safe = np.where(small, 1.0, square)
    return np.where(small, 1 + square / 4, 2 / (3 * safe) * ((1 + safe) ** 1.5 - 1))


def conductor_area(wire: Wire) -> FloatArray:
    """Cross-section (m²) of the wires in hand that conduct."""
    conducting = wire.in_hand - np.asarray(wire.open_strands)
    if wire.flat:
        return np.asarray(wire.overall * wire.foil_width * conducting)
    return np.asarray(math.pi / 4 * np.asarray(wire.diameter) ** 2 * wire.strands * conducting)


def section_resistance(design: Design, layout: Layout, temperature: Real) -> FloatArray:
    """(B, n) direct-current resistance (Ω) of every section at ``temperature`` (°C), leads left out."""
    columns = []
    for index, section in enumerate(layout.sections):
        winding = design.winding(section.winding)
        rho = resistivity(winding.metal, temperature) * design.model.resistivity
        columns.append(
            rho
            * layout.turns[:, index]
            * layout.turn_length[:, index]
            * winding.wire.lay_factor
            / conductor_area(winding.wire)
        )
    return np.stack([np.broadcast_to(column, layout.turns.shape[:1]) for column in columns], axis=-1)


def lead_resistance(design: Design, name: str, temperature: Real) -> FloatArray:
    """Resistance (Ω) of both leads of a winding together at ``temperature`` (°C), with a bad joint's."""
    winding = design.winding(name)
    rho = resistivity(winding.metal, temperature) * design.model.resistivity
    leads = rho * winding.lead_length * winding.wire.lay_factor / conductor_area(winding.wire)
    return np.asarray(leads + winding.joint_resistance)
