"""Layers that do not close: what lies on both sides of a spaced row also faces through its openings.

Between two planes a row of conductors is a two-port. With D₁ the flux density (over ε₀) that arrives from
below and D₂ the one that leaves above, the planes that touch the row lie at

    V₁ − V = T₁ D₁ − m D₂ ,   V − V₂ = T₂ D₂ − m D₁ .

T₁, T₂ are the row's thicknesses towards its two sides, and m, the transfer thickness, is what the flux of one
side does to the other: 0 of a closed sheet. So a stack of layers with the gaps k between layers k and k + 1
obeys

    V_k − V_k+1 = (s_k + T_k + T_k+1) D_k − m_k D_k−1 − m_k+1 D_k+1 ,

a tridiagonal system; its inverse holds all capacitances, W = ½ ΔVᵀ ε₀ Z⁻¹ ΔV. Where no m is, every gap stands
for itself. (Thin wires: Maxwell's grating, "Treatise" §§ 203-205, from memory.)

Round wires: the multipoles of ``wire_rows`` with a sheet and an electrode on both sides. With A₀ the charge
and β a uniform field, waves c⁺ come back from above and c⁻ from below, each reflected at both sides again,

    c⁺ = ρ⁺ (a⁺ + ρ⁻ a⁻)/(1 − ρ⁺ρ⁻) ,   c⁻ likewise,   a⁻_j of multipole m = (−1)^m a⁺_j .

Wires farther apart than five times the distance of the electrodes do not feel each other: what their openings
have more than that is a plate condenser.

Range: as ``wire_rows``. Accuracy against field solutions: ``tests/reference/test_sparse_rows.py``.
"""

from __future__ import annotations

from math import factorial

import numpy as np
from numpy.typing import ArrayLike

from ..design import FloatArray
from .wire_rows import (
    HARMONICS,
    MULTIPOLES,
    WireRow,
    lattice,
    polarisation,
    reflection,
)

_ALONE = 5.0
"""Pitch over the distance of the electrodes beyond which wires do not feel each other (e^−5π)."""

Port = tuple[FloatArray, FloatArray, FloatArray]
"""(T₁, T₂, m), m of vacuum."""


def row_between(
    row: WireRow,
    sheets: tuple[ArrayLike, ArrayLike],
    permittivity: tuple[ArrayLike, ArrayLike],
    depth: tuple[ArrayLike, ArrayLike],
) -> Port:
    """The two-port of a row of round wires between what lies below it and above it, any batch shape.

    sheets, permittivity, depth : of either side, thickness (m) and relative permittivity of what lies flat
    on the row, and how far (m of filling) behind it an electrode lies; see ``wire_rows.row_thickness``.
    Equations: the module's. Raises nothing. Range: pitch ≥ outer > conductor > 0.
    """
    pitch, fill = np.asarray(row.pitch, float), np.asarray(row.fill, float)
    thick = [np.asarray(value, float) for value in sheets]
    deep = [np.asarray(value, float) for value in depth]
    span = np.asarray(row.outer, float) + thick[0] + thick[1] + deep[0] + deep[1]
    cell = np.minimum(pitch, np.maximum(_ALONE * span, np.asarray(row.outer, float)))
    pitch, cell = np.broadcast_arrays(pitch, cell)
    one, two, through = _close_ports(row, cell, thick, [np.asarray(e, float) for e in permittivity], deep)
    below, above = (
        t / np.asarray(e, float) + d / fill for t, e, d in zip(thick, permittivity, deep, strict=True)
    )
    empty = below + above + np.asarray(row.outer, float) / fill
    ports = _widened(one + below, two + above, through, empty, cell / pitch)
    return ports[0] - below, ports[1] - above, ports[2]


def _close_ports(
    row: WireRow,
    pitch: FloatArray,
    sheets: list[FloatArray],
    permittivity: list[FloatArray],
    depth: list[FloatArray],
) -> Port:
    """``row_between`` at the given pitch, by multipoles and harmonics."""
    fill, radius = np.asarray(row.fill, float), np.asarray(row.outer, float) / 2
    wave = 2 * np.pi * np.arange(1, HARMONICS + 1) / pitch[..., None]
    low, high = (
        reflection(wave, radius, fill, *side) for side in zip(sheets, permittivity, depth, strict=True)
    )
    m = np.arange(1, MULTIPOLES + 1)
    sign = (-1.0) ** m
    scale = (radius / pitch)[..., None]
    turn = wave * radius[..., None]
    between, charge, constant = lattice()
    tau = polarisation(row)
    up = turn[..., :, None] ** (m - 1) / np.array([float(factorial(n - 1)) for n in m])
    up = up * (2 * np.pi * scale)[..., None]
    regular = turn[..., :, None] ** m / np.array([float(factorial(n)) for n in m])
    both = 1 - low * high

    def returned(rising: FloatArray, falling: FloatArray) -> tuple[FloatArray, FloatArray]:
        """(c⁺, c⁻) of the waves that leave the row upwards and downwards."""
        extra = (1,) * (rising.ndim - low.ndim)
        r_low, r_high, loop = (value.reshape(*value.shape, *extra) for value in (low, high, both))
        return r_high * (rising + r_low * falling) / loop, r_low * (falling + r_high * rising) / loop

    above, below = returned(up, up * sign)
    near = between * scale[..., None] ** (m[:, None] + m)
    back = np.swapaxes(regular, -1, -2) @ above + np.swapaxes(regular * sign, -1, -2) @ below
    matrix = np.eye(MULTIPOLES) + tau[..., None] * (near + back)
    lines = np.broadcast_to(1.0 / np.arange(1, HARMONICS + 1), wave.shape)
    from_above, from_below = returned(lines, lines)
    charged = charge * scale**m + np.sum(
        regular * from_above[..., None] + regular * sign * from_below[..., None], axis=-2
    )
    uniform = np.where(m == 1, radius[..., None], 0.0)
    source = np.stack(np.broadcast_arrays(charged, uniform), axis=-1)
    poles = np.linalg.solve(matrix, -tau[..., None] * source)
    inside = np.sum((constant * scale**m)[..., None] * poles, axis=-2)
    inside = inside + np.sum((above + below) @ poles, axis=-2)
    coat = fill / np.asarray(row.enamel, float) * np.log(np.asarray(row.outer) / np.asarray(row.conductor))
    own = coat - np.log(radius) + inside[..., 0] + np.sum(from_above + from_below, axis=-1)
    steady = -np.pi * scale[..., 0] + np.log(2 * np.pi / pitch)
    dipole = np.pi * scale * poles[..., 0, :]
    # all flux from below: charge −p/2πf and field −1/2f; all of it leaving above: charge p/2πf
    charge_part, field_part = pitch / (2 * np.pi * fill), 1 / (2 * fill)
    far_field = radius + dipole[..., 1]
    lower_charge, upper_charge = steady - dipole[..., 0], steady + dipole[..., 0]
    one = charge_part * (own - lower_charge) + field_part * (inside[..., 1] + far_field)
    two = charge_part * (own - upper_charge) - field_part * (inside[..., 1] - far_field)
    through = charge_part * (own - upper_charge) + field_part * (inside[..., 1] - far_field)
    return np.asarray(one), np.asarray(two), np.maximum(through, 0.0)


def strips_between(width: ArrayLike, pitch: ArrayLike, below: ArrayLike, above: ArrayLike) -> Port:
    """The two-port of strips (a board's tracks) between electrodes at ``below`` and ``above`` (m of vacuum).

    Over the breadth b = min(p, w + (4 ln 2/π) g), g the mean distance, the strip stands before both
    electrodes, over the rest they face each other: exact for wide strips half way between them (edge of a
    plate condenser, see ``wire_rows.strip_thickness``), within some 20 % for strips narrower than g.
    """
    wide, repeat, one, two = (np.asarray(value, float) for value in (width, pitch, below, above))
    part = np.minimum(wide + 4 * np.log(2.0) / np.pi * (one + two) / 2, repeat) / repeat
    ports = _widened(one, two, np.zeros(()), one + two, part)
    return ports[0] - one, ports[1] - two, ports[2]


def _widened(
    one: FloatArray, two: FloatArray, through: FloatArray, empty: FloatArray, part: FloatArray
) -> Port:
    """Z of a cell of which ``part`` is one with Z = [[one, −through], [−through, two]], and in the rest the
    electrodes face each other at the distance ``empty``: G = part Z⁻¹ + (1 − part) J/empty, inverted."""
    determinant = one * two - through**2
    rest = (1 - part) / empty
    g11, g22, g12 = (
        part * two / determinant + rest,
        part * one / determinant + rest,
        part * through / determinant + rest,
    )
    whole = g11 * g22 - g12**2
    return np.asarray(g22 / whole), np.asarray(g11 / whole), np.asarray(g12 / whole)


def stack_capacitance(thickness: FloatArray, transfer: FloatArray) -> FloatArray:
    """(R, G + 1, G + 1) capacitances over ε₀ (1/m) between the G + 1 layers of R stacks, as a matrix of
    potentials: symmetric, positive semidefinite, rows that sum to zero.

    thickness : (R, G) s + T + T of every gap (m of vacuum), infinite where nothing stands. transfer : (R, G −
    1) m of the layer between a gap and the next. Equation: see the module.
    """
    _, gaps = thickness.shape
    apart = np.isinf(thickness)
    place = np.arange(gaps)
    coupled = np.zeros((*thickness.shape, gaps))
    coupled[:, place, place] = np.where(apart, 1.0, thickness)
    passing = np.where(apart[:, 1:] | apart[:, :-1], 0.0, transfer)
    coupled[:, place[:-1], place[1:]] = coupled[:, place[1:], place[:-1]] = -passing
    inverse = np.linalg.inv(coupled)
    inverse = np.where(apart[:, :, None] | apart[:, None, :], 0.0, inverse)
    difference = np.eye(gaps, gaps + 1) - np.eye(gaps, gaps + 1, 1)
    return np.asarray(difference.T @ inverse @ difference)
