"""The far electric field of coils in air: what a winding stores between its own ends, beyond neighbours.

No core stands near. The field of a layer along which the potential runs then closes through the air inside
the coil and around it, and that is nearly all of what a coil of one layer has: turn to turn it has a tenth of
a picofarad. Medhurst measured it (coils of one layer, one end at earth, as the low terminal of a meter is):

    C = 11.26 pF/m l + 8 pF/m D + 27 pF/m √(D³/l)      D diameter, l length, 0.1 <= l/D <= 50

Half of it lies inside the innermost layer and half outside the outermost (judged), so a face of a layer that
the wires of another one cover on more than half of its length has none: theirs are faces of neighbours
(module ``across``).

Source: R. G. Medhurst, H.F. Resistance and Self-Capacitance of Single-Layer Solenoids, Wireless Engineer,
February and March 1947; table and formula from memory.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from ..design import FloatArray
from .electrodes import TOUCHING, Units
from .energy import Energy

LENGTH, DIAMETER, SHORT = 11.26e-12, 8e-12, 27e-12
"""F/m on length, on diameter and on √(D³/l), from memory."""


def medhurst_capacitance(diameter: FloatArray, length: FloatArray) -> FloatArray:
    """Self-capacitance of a coil of one layer in air, one end at earth.

    Within 7 % of Medhurst's table from a tenth of the diameter to ten times it (from memory).

    Parameters
    ----------
    diameter, length : (...,) array, diameter D and length l, m

    Returns
    -------
    (...,) array, F

    References
    ----------
    R. G. Medhurst, Wireless Engineer, February and March 1947 (from memory).
    """
    short = np.sqrt(diameter**3 / np.maximum(length, 1e-9))
    return np.asarray(LENGTH * length + DIAMETER * diameter + SHORT * short)


def add_field_through_air(energy: Energy) -> None:
    """Add to the energy gathered so far (F), in place, what layers of coils in air store between their own
    ends; nothing where there is a core."""
    if energy.space.design.core.dimensions.permeable:
        return
    units = energy.units
    length = np.maximum(units.high - units.low, 0.0)
    capacitance = medhurst_capacitance(units.length / math.pi, length)
    solid = _solidity(energy, length)
    bare = (~_covered(units, solid, inside=True)).astype(float) + ~_covered(units, solid, inside=False)
    weight = np.where(units.there, capacitance * bare / 2, 0.0)
    energy.own += weight[:, units.unit] * units.share


def _solidity(energy: Energy, length: FloatArray) -> FloatArray:
    """(B, N) part of the length of each layer that its wires take."""
    units, taken = energy.units, np.zeros(length.shape)
    for member, unit in enumerate(units.unit):
        taken[:, unit] += energy.space.layout.turns[:, member] * np.asarray(units.faces[member].overall)
    return np.asarray(np.minimum(taken / np.maximum(length, 1e-12), 1.0))


def _covered(units: Units, solid: FloatArray, *, inside: bool) -> NDArray[np.bool_]:
    """(B, N) whether wires lie on more than half of the length of a layer, farther in or farther out."""
    shared = np.minimum(units.high[:, :, None], units.high[:, None, :])
    shared = shared - np.maximum(units.low[:, :, None], units.low[:, None, :])
    if inside:
        beyond = units.far[:, None, :] <= units.near[:, :, None] + TOUCHING
    else:
        beyond = units.near[:, None, :] >= units.far[:, :, None] - TOUCHING
    over = np.where(beyond & units.there[:, None, :], np.maximum(shared, 0.0) * solid[:, None, :], 0.0)
    return np.asarray(np.max(over, axis=-1) > 0.5 * (units.high - units.low))
