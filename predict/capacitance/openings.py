"""Layers with openings: the electrodes on both sides of a spaced row also see each other through it.

Between two planes a row of conductors is a two-port. With D₁ the flux density (over ε₀) arriving from below
and D₂ the one leaving above, the planes that touch the row lie at

    V₁ − V = T₁ D₁ − m D₂ ,   V − V₂ = T₂ D₂ − m D₁ .

T₁ and T₂ are the thicknesses of the row towards its two sides. The transfer thickness m is the effect of the
flux on one side upon the other; a closed sheet has m = 0. A stack of layers, with gap k between layers k and
k + 1, then obeys

    V_k − V_k+1 = (s_k + T_k + T_k+1) D_k − m_k D_k−1 − m_k+1 D_k+1 ,

a tridiagonal system. Its inverse holds all capacitances, W = ½ ΔVᵀ ε₀ Z⁻¹ ΔV. Without any m every gap is
independent of the others. (Thin wires: Maxwell's grating, "Treatise" §§ 203-205, from memory.)

Round wires: the multipoles of ``wire_rows`` with a sheet and an electrode on both sides. With A₀ the charge
and β a uniform field, waves c⁺ return from above and c⁻ from below, each reflected again at both sides,

    c⁺ = ρ⁺ (a⁺ + ρ⁻ a⁻)/(1 − ρ⁺ρ⁻) ,   c⁻ likewise,   a⁻_j of multipole m = (−1)^m a⁺_j .

Wires farther apart than five times the distance of the electrodes do not affect each other; the opening
beyond that distance is a plate capacitor.

Range: as ``wire_rows``. Accuracy against field solutions: ``tests/reference/test_sparse_rows.py``.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from ..design import FloatArray
from .wire_rows import FACTORIALS, HARMONICS, MULTIPOLES, ORDERS, WireRow, lattice, polarisation, reflection

_ALONE = 5.0
"""Pitch over the distance of the electrodes beyond which wires do not affect each other (e^−5π; measured on
26 designs: at 10 no reading moves by more than 1e-10, at 2.5 by 1e-5)."""

Port = tuple[FloatArray, FloatArray, FloatArray]
"""(T₁, T₂, m), m of vacuum."""


def row_between(
    row: WireRow,
    sheets: tuple[ArrayLike, ArrayLike],
    permittivity: tuple[ArrayLike, ArrayLike],
    depth: tuple[ArrayLike, ArrayLike],
) -> Port:
    """The two-port of a row of round wires between a layer below and a layer above, for any batch shape.

    Equations: see the module. Range: pitch ≥ outer > conductor > 0. Each pair of arguments holds (below,
    above); see ``wire_rows.row_thickness``.

    Parameters
    ----------
    row : WireRow
    sheets : pair of (...,) arrays, thickness of the sheet lying flat on the row, m
    permittivity : pair of (...,) arrays, relative permittivity of the sheet, dimensionless
    depth : pair of (...,) arrays, distance from the sheet to the electrode behind it, m of filling

    Returns
    -------
    tuple of three (...,) arrays, (T₁, T₂, m), m of vacuum
    """
    pitch, fill = np.asarray(row.pitch, float), np.asarray(row.fill, float)
    thick = [np.asarray(value, float) for value in sheets]
    deep = [np.asarray(value, float) for value in depth]
    span = np.asarray(row.outer, float) + thick[0] + thick[1] + deep[0] + deep[1]
    cell = np.minimum(pitch, np.maximum(_ALONE * span, np.asarray(row.outer, float)))
    pitch, cell = np.broadcast_arrays(pitch, cell)
    lower, upper, through = _close_ports(row, cell, thick, [np.asarray(e, float) for e in permittivity], deep)
    below, above = (
        t / np.asarray(e, float) + d / fill for t, e, d in zip(thick, permittivity, deep, strict=True)
    )
    empty = below + above + np.asarray(row.outer, float) / fill
    ports = _widened(lower + below, upper + above, through, empty, cell / pitch)
    return ports[0] - below, ports[1] - above, ports[2]


def _close_ports(
    row: WireRow,
    pitch: FloatArray,
    sheets: list[FloatArray],
    permittivity: list[FloatArray],
    depth: list[FloatArray],
) -> Port:
    """``row_between`` at the given pitch, from multipoles and harmonics."""
    fill, radius = np.asarray(row.fill, float), np.asarray(row.outer, float) / 2
    wave = 2 * np.pi * np.arange(1, HARMONICS + 1) / pitch[..., None]
    low, high = (
        reflection(wave, radius, fill, *side) for side in zip(sheets, permittivity, depth, strict=True)
    )
    m = ORDERS
    sign = (-1.0) ** m
    scale = (radius / pitch)[..., None]
    turn = wave * radius[..., None]
    between, line_charge, constant = lattice()
    tau = polarisation(row)
    up = turn[..., :, None] ** (m - 1) / FACTORIALS[:-1]
    up = up * (2 * np.pi * scale)[..., None]
    regular = turn[..., :, None] ** m / FACTORIALS[1:]
    both = 1 - low * high

    def returned(rising: FloatArray, falling: FloatArray) -> tuple[FloatArray, FloatArray]:
        """(c⁺, c⁻) returned by the waves that leave the row upwards and downwards."""
        extra = (1,) * (rising.ndim - low.ndim)
        r_low, r_high, loop = (value.reshape(*value.shape, *extra) for value in (low, high, both))
        return r_high * (rising + r_low * falling) / loop, r_low * (falling + r_high * rising) / loop

    above, below = returned(up, up * sign)
    near = between * scale[..., None] ** (m[:, None] + m)
    back = regular.swapaxes(-1, -2) @ above + (regular * sign).swapaxes(-1, -2) @ below
    matrix = np.eye(MULTIPOLES) + tau[..., None] * (near + back)
    lines = np.broadcast_to(1.0 / np.arange(1, HARMONICS + 1), wave.shape)
    from_above, from_below = returned(lines, lines)
    charged = line_charge * scale**m + np.sum(
        regular * from_above[..., None] + regular * sign * from_below[..., None], axis=-2
    )
    uniform = np.where(m == 1, radius[..., None], 0.0)
    source = np.stack(np.broadcast_arrays(charged, uniform), axis=-1)
    poles = np.linalg.solve(matrix, -tau[..., None] * source)
    inside = ((constant * scale**m)[..., None] * poles).sum(axis=-2)
    inside = inside + ((above + below) @ poles).sum(axis=-2)
    coat = fill / np.asarray(row.enamel, float) * np.log(np.asarray(row.outer) / np.asarray(row.conductor))
    self_term = coat - np.log(radius) + inside[..., 0] + (from_above + from_below).sum(axis=-1)
    steady = -np.pi * scale[..., 0] + np.log(2 * np.pi / pitch)
    dipole = np.pi * scale * poles[..., 0, :]
    # all flux arriving from below: charge −p/2πf and field −1/2f; all flux leaving above: charge p/2πf
    charge_part, field_part = pitch / (2 * np.pi * fill), 1 / (2 * fill)
    far_field = radius + dipole[..., 1]
    lower_charge, upper_charge = steady - dipole[..., 0], steady + dipole[..., 0]
    lower = charge_part * (self_term - lower_charge) + field_part * (inside[..., 1] + far_field)
    upper = charge_part * (self_term - upper_charge) - field_part * (inside[..., 1] - far_field)
    through = charge_part * (self_term - upper_charge) + field_part * (inside[..., 1] - far_field)
    return np.asarray(lower), np.asarray(upper), np.maximum(through, 0.0)


def strips_between(width: ArrayLike, pitch: ArrayLike, below: ArrayLike, above: ArrayLike) -> Port:
    """The two-port of strips (the tracks of a board) between two electrodes.

    Over the breadth b = min(p, w + (4 ln 2/π) g), g the mean distance, the strip faces both electrodes; over
    the rest they face each other. Exact for wide strips half way between the electrodes (edge of a plate
    capacitor, see ``wire_rows.strip_thickness``), within some 20 % for strips narrower than g.

    Parameters
    ----------
    width, pitch : (...,) array, m
    below, above : (...,) array, distance to the electrode below and above, m of vacuum

    Returns
    -------
    tuple of three (...,) arrays, (T₁, T₂, m), m of vacuum
    """
    wide, repeat, lower, upper = (np.asarray(value, float) for value in (width, pitch, below, above))
    part = np.minimum(wide + 4 * np.log(2.0) / np.pi * (lower + upper) / 2, repeat) / repeat
    ports = _widened(lower, upper, np.zeros(()), lower + upper, part)
    return ports[0] - lower, ports[1] - upper, ports[2]


def _widened(
    first: FloatArray, second: FloatArray, through: FloatArray, empty: FloatArray, part: FloatArray
) -> Port:
    """Z of a cell, of which ``part`` has Z = [[first, −through], [−through, second]] and in the rest the
    electrodes face each other at the distance ``empty``: G = part Z⁻¹ + (1 − part) J/empty, inverted."""
    determinant = first * second - through**2
    rest = (1 - part) / empty
    g11, g22, g12 = (
        part * second / determinant + rest,
        part * first / determinant + rest,
        part * through / determinant + rest,
    )
    whole = g11 * g22 - g12**2
    return np.asarray(g22 / whole), np.asarray(g11 / whole), np.asarray(g12 / whole)


def stack_capacitance(thickness: FloatArray, transfer: FloatArray) -> FloatArray:
    """Capacitances over ε₀ between the G + 1 layers of R stacks.

    Equation: see the module.

    Parameters
    ----------
    thickness : (R, G) array, s + T + T of every gap, m of vacuum; infinite where there is no layer
    transfer : (R, G - 1) array, transfer thickness m of the layer between a gap and the next, m of vacuum

    Returns
    -------
    (R, G + 1, G + 1) array
        Matrix of potentials, 1/m: symmetric, positive semidefinite, rows that sum to zero.
    """
    _, gaps = thickness.shape
    apart = np.isinf(thickness)
    gap_index = np.arange(gaps)
    coupled = np.zeros((*thickness.shape, gaps))
    coupled[:, gap_index, gap_index] = np.where(apart, 1.0, thickness)
    passing = np.where(apart[:, 1:] | apart[:, :-1], 0.0, transfer)
    coupled[:, gap_index[:-1], gap_index[1:]] = coupled[:, gap_index[1:], gap_index[:-1]] = -passing
    inverse = np.linalg.inv(coupled)
    inverse = np.where(apart[:, :, None] | apart[:, None, :], 0.0, inverse)
    difference = np.eye(gaps, gaps + 1) - np.eye(gaps, gaps + 1, 1)
    return np.asarray(difference.T @ inverse @ difference)
