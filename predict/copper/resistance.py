"""Direct-current resistance of sections and leads: R = ρ(T) k l / (m A) with m conducting wires in hand.

k is the lay factor: strands of litz and wires of a twisted bundle run in helices and are longer than their
turn. A helix of lay p at the distance r from the axis is √(1 + (2πr/p)²) times as long as the axis;
``lay_factor`` is the average for strands spread evenly over a bundle.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from ..design import Design, FloatArray, Real, Wire, Word, columns_of
from ..winding import Layout

RESISTIVITY_20 = {"copper": 1 / 58 * 1e-6, "aluminium": 2.8264e-8}
"""Ω m at 20 °C: annealed copper 100 % IACS = 1/58 Ω mm²/m (IEC 60028); aluminium 28.264 nΩ m (IEC 60889;
from memory)."""
TEMPERATURE_COEFFICIENT = {"copper": 0.00393, "aluminium": 0.00403}
"""1/K at 20 °C (IEC 60028, IEC 60889; from memory)."""


def resistivity(metal: Word, temperature: Real) -> FloatArray:
    """Resistivity of a metal, linear in temperature from 20 °C.

    Parameters
    ----------
    metal : str or (B,) array of str, "copper" or "aluminium"
    temperature : float or (B,) array, degC

    Returns
    -------
    () or (B,) array, ohm m
    """
    return np.asarray(_of_metal(RESISTIVITY_20, metal) * temperature_factor(metal, temperature))


def _of_metal(table: Mapping[str, float], metal: Word) -> Real:
    return table[metal] if isinstance(metal, str) else np.array([table[each] for each in metal.tolist()])


def temperature_factor(metal: Word, temperature: Real) -> FloatArray:
    """Resistance at a temperature over that at 20 °C: 1 + α (T − 20).

    Parameters
    ----------
    metal : str or (B,) array of str, "copper" or "aluminium"
    temperature : float or (B,) array, temperature T, degC

    Returns
    -------
    () or (B,) array, ratio, dimensionless
    """
    return np.asarray(1.0 + _of_metal(TEMPERATURE_COEFFICIENT, metal) * (np.asarray(temperature) - 20.0))


def lay_factor(radius: Real, lay: Real) -> FloatArray:
    """Mean length of strands over that of their bundle: k = (2/3q²) [(1 + q²)^3/2 − 1], q = 2π radius/lay.

    It is the mean of √(1 + (2πr/p)²) over the circle, and tends to 1 + q²/4 for long lays. It holds for one
    stage of twisting; for several stages the factors multiply. Range: radius ≥ 0, lay > 0.

    Parameters
    ----------
    radius : float or (B,) array, of the bundle, m
    lay : float or (B,) array, length of lay, m

    Returns
    -------
    () or (B,) array, ratio, dimensionless
    """
    square = (2 * math.pi * np.asarray(radius, float) / np.asarray(lay, float)) ** 2
    small = square < 1e-4
    safe = np.where(small, 1.0, square)
    return np.where(small, 1 + square / 4, 2 / (3 * safe) * ((1 + safe) ** 1.5 - 1))


def conductor_area(wire: Wire) -> FloatArray:
    """Cross-section of all wires in hand of a winding's wire that conduct, () or (B,), in m²."""
    conducting = wire.in_hand - np.asarray(wire.open_strands)
    if wire.flat:
        return np.asarray(wire.overall * wire.foil_width * conducting)
    return np.asarray(math.pi / 4 * np.asarray(wire.diameter) ** 2 * wire.strands * conducting)


def section_resistance(design: Design, layout: Layout, temperature: Real) -> FloatArray:
    """Direct-current resistance of every section, without leads.

    Parameters
    ----------
    design : Design of one or B builds
    layout : Layout, where the turns of its builds lie (``lay_out``)
    temperature : float or (B,) array, temperature, degC

    Returns
    -------
    (B, n) array, resistance, ohm
    """
    names = [section.winding for section in layout.sections]
    of_name = {name: _per_metre(design, name, temperature) for name in dict.fromkeys(names)}
    per_metre = columns_of([of_name[name] for name in names], len(layout.turns))
    return np.asarray(per_metre * layout.turns * layout.turn_length)


def _per_metre(design: Design, name: str, temperature: Real) -> FloatArray:
    """() or (B,) resistance of a metre of a turn of a winding, ohm/m."""
    winding = design.winding(name)
    rho = resistivity(winding.metal, temperature) * design.model.resistivity
    return np.asarray(rho * winding.wire.lay_factor / conductor_area(winding.wire))


def lead_resistance(design: Design, name: str, temperature: Real) -> FloatArray:
    """Resistance of both leads of a winding together, with that of a bad joint.

    Parameters
    ----------
    design : Design of one or B builds
    name : str, of the winding
    temperature : float or (B,) array, temperature, degC

    Returns
    -------
    () or (B,) array, resistance, ohm
    """
    winding = design.winding(name)
    leads = _per_metre(design, name, temperature) * winding.lead_length
    return np.asarray(leads + winding.joint_resistance)
