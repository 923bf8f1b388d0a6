"""Rows of insulated round wires: their capacitance per wire and metre, exact up to a truncation.

A row of round conductors (radius a, insulated to R, pitch p) faces a flat sheet, behind it an electrode or
the mirror image of itself. With u = y − jx from a wire's centre, y towards the sheet, the potential outside
the wires is the real part of

    φ = A₀ [−ln sinh(πu/p) − πu/p] + Σ_m A_m Σ_n (u − jnp)^−m + Σ_j ρ_j a_j e^{k_j (u − 2R)},   k_j = 2πj/p

row, its multipoles, and what the sheet sends back of every harmonic a_j of the row's field (ρ_j: exact
reflection of the layers behind). On a coated conductor each multipole answers the regular part B_m of the
others, A_m R^−m = −τ_m B_m R^m, τ = (κ − 1)/(κ + 1), κ = (ε_e/ε_a)(1 + q)/(1 − q), q = (a/R)^2m: a small
linear system. The charge per wire is 2πε₀ε_a A₀. Everything is electrostatics without an adjusted factor
(method: Rayleigh, Phil. Mag. 34, 1892, from memory; the plane sheet added by its harmonics).

What comes out is the *thickness* of a row: the distance in vacuum that puts as much in series with the sheet
as the wires do, C/p = ε₀/(T₁ + s/ε_s + T₂). All arrays broadcast; no loop over builds.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from math import comb, factorial

import numpy as np
from numpy.typing import ArrayLike

from ..design import FloatArray

EPSILON_0 = 8.8541878128e-12
"""Electric constant (F/m), CODATA 2018."""
MULTIPOLES, HARMONICS = 8, 24
"""Orders kept of every wire, and of the field along the row."""


@dataclass(frozen=True)
class WireRow:
    """Round wires side by side: bare and overall diameter, pitch (m), relative permittivity of the
    insulation and of what fills the space between the wires. Arrays broadcast."""

    conductor: ArrayLike
    outer: ArrayLike
    pitch: ArrayLike
    enamel: ArrayLike
    fill: ArrayLike = 1.0


@cache
def _riemann(alternating: bool) -> FloatArray:
    """(2M + 1,) Σ_{n≥1} n^−s, or Σ (−1)^n n^−s, for s = 0, 1, 2 …; the first two are not used."""
    n = np.arange(1.0, 4001.0)
    result = np.zeros(2 * MULTIPOLES + 1)
    for power in range(2, len(result)):
        sign = np.where(n % 2 == 1, -1.0, 1.0) if alternating else 1.0
        result[power] = np.sum(sign * n**-power)
        if not alternating:
            end = n[-1] + 0.5
            result[power] += end ** (1 - power) / (power - 1) - power * end ** (-power - 1) / 24
    return result


@cache
def lattice(alternating: bool = False) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Regular part at the origin of the other wires' fields, for pitch 1: (M, M) of multipole m in u^l,
    (M,) of unit charge in u^l, (M,) of multipole m in the constant."""
    zeta, size = _riemann(alternating), MULTIPOLES
    between, charge, constant = np.zeros((size, size)), np.zeros(size), np.zeros(size)
    for m in range(1, size + 1):
        if m % 2 == 0:
            charge[m - 1] = (-1) ** (m // 2) * 2 * zeta[m] / m
            constant[m - 1] = 2 * (-1) ** (m // 2) * zeta[m]
        for order in range(1, size + 1):
            if (m + order) % 2 == 0:
                sign = (-1) ** m * (-1) ** ((m + order) // 2)
                between[order - 1, m - 1] = comb(m + order - 1, order) * 2 * sign * zeta[m + order]
    return between, charge, constant


def polarisation(row: WireRow) -> FloatArray:
    """(..., M) τ_m of a coated conductor."""
    m = np.arange(1, MULTIPOLES + 1)
    ratio = np.asarray(row.conductor, float) / np.asarray(row.outer, float)
    q = ratio[..., None] ** (2 * m)
    contrast = (np.asarray(row.enamel, float) / np.asarray(row.fill, float))[..., None]
    kappa = contrast * (1 + q) / np.maximum(1 - q, 1e-12)
    return np.asarray((kappa - 1) / (kappa + 1))


def _through(admittance: FloatArray, permittivity: FloatArray, phase: FloatArray) -> FloatArray:
    """Admittance (D_n / kφ) seen through a slab of ``phase`` = k × thickness, ended by ``admittance``."""
    tanh = np.tanh(phase)
    return np.asarray(permittivity * (admittance + permittivity * tanh) / (permittivity + admittance * tanh))


def _sent_back(wave: FloatArray, radius: FloatArray, fill: FloatArray, seen: FloatArray) -> FloatArray:
    """ρ e^−2kR of a harmonic that meets the admittance ``seen`` at the plane that touches the wires."""
    air = np.asarray(fill, float)[..., None]
    return np.asarray((air - seen) / (air + seen) * np.exp(-2 * wave * np.asarray(radius)[..., None]))


def reflection(
    wave: FloatArray,
    radius: FloatArray,
    fill: FloatArray,
    sheet: ArrayLike,
    permittivity: ArrayLike,
    depth: ArrayLike,
) -> FloatArray:
    """(..., J) what comes back to the axes of every harmonic k = ``wave`` that the row sends out: from a
    sheet on the wires (m), of ``permittivity``, and an electrode ``depth`` (m of the filling) behind it."""
    air, eps = np.asarray(fill, float)[..., None], np.asarray(permittivity, float)[..., None]
    deep = np.asarray(depth, float)[..., None]
    far = air / np.tanh(np.minimum(np.maximum(wave * deep, 1e-9), 50.0))
    seen = _through(far, eps, wave * np.asarray(sheet, float)[..., None])
    return _sent_back(wave, radius, fill, seen)


def row_thickness(
    row: WireRow,
    sheet: ArrayLike,
    sheet_permittivity: ArrayLike = 1.0,
    *,
    depth: ArrayLike = 0.0,
    offset: float | None = None,
) -> FloatArray:
    """T (m of vacuum) of a row of round wires, from the plane that touches its insulation; any batch shape.

    sheet, sheet_permittivity : thickness (m) and relative permittivity of what lies flat on the row.
    depth : m of the row's filling between the far side of the sheet and a plane electrode there, which is
    how another, unlike row looks from afar: a plane at its own T (times its filling).
    offset : instead of the electrode an equal row lies behind the sheet, displaced along the layer by this
    part of a pitch: 0 or 0.5. ``depth`` is then not used.

    Raises ValueError for another offset. Range: pitch ≥ outer > conductor > 0; truncation below 0.5 % for
    touching wires. Source: see the module.
    """
    if offset not in (None, 0.0, 0.5):
        raise ValueError(f"offset {offset}: 0, 0.5 or None")
    fill = np.asarray(row.fill, float)
    radius = np.asarray(row.outer, float) / 2
    pitch = np.asarray(row.pitch, float)
    j = np.arange(1, HARMONICS + 1)
    wave = 2 * np.pi * j / pitch[..., None]
    if offset is None:
        reflected = reflection(wave, radius, fill, sheet, sheet_permittivity, depth)
    else:
        eps = np.asarray(sheet_permittivity, float)[..., None]
        phase = wave * np.asarray(sheet, float)[..., None]
        odd, even = eps / np.tanh(np.clip(phase / 2, 1e-9, 50.0)), eps * np.tanh(phase / 2)
        seen = np.where(np.cos(2 * np.pi * j * offset) > 0, odd, even)
        reflected = _sent_back(wave, radius, fill, seen)

    m = np.arange(1, MULTIPOLES + 1)
    turn = wave * radius[..., None]
    scale = (radius / pitch)[..., None]
    between, charge, constant = lattice()
    tau = polarisation(row)
    outgoing = turn[..., :, None] ** (m - 1) / np.array([float(factorial(n - 1)) for n in m])
    outgoing = outgoing * (2 * np.pi * scale)[..., None]
    regular = turn[..., :, None] ** m / np.array([float(factorial(n)) for n in m])
    weighted = regular * reflected[..., None]
    near = between * (scale[..., None] ** (m[:, None] + m))
    matrix = np.eye(MULTIPOLES) + tau[..., None] * (near + np.swapaxes(weighted, -1, -2) @ outgoing)
    source = charge * scale**m + np.sum(weighted / j[:, None], axis=-2)
    source = source - np.where(m == 1, np.pi * scale, 0.0)
    poles = np.linalg.solve(matrix, (-tau * source)[..., None])[..., 0]
    harmonics = 1.0 / j + np.sum(outgoing * poles[..., None, :], axis=-1)
    coat = fill / np.asarray(row.enamel, float) * np.log(np.asarray(row.outer) / np.asarray(row.conductor))
    conductor = coat - np.log(radius) + np.sum(constant * scale**m * poles, axis=-1)
    conductor = conductor + np.sum(reflected * harmonics, axis=-1)
    face = -2 * np.pi * scale[..., 0] + np.log(2 * np.pi / pitch) + np.pi * scale[..., 0] * poles[..., 0]
    return np.asarray(pitch / (2 * np.pi) * (conductor - face) / fill)


def facing_rows(row: WireRow, sheet: ArrayLike, sheet_permittivity: ArrayLike, offset: float) -> FloatArray:
    """Capacitance (F/m) per wire of one row to an equal one behind a sheet, ``offset`` 0 or 0.5 pitch.

    C = ε₀ p/(2T + s/ε). All wires of a row at one potential. Accuracy against field solutions: below 0.5 %
    (``tests/reference/test_wire_rows.py``).
    """
    thickness = row_thickness(row, sheet, sheet_permittivity, offset=offset)
    series = 2 * thickness + np.asarray(sheet, float) / np.asarray(sheet_permittivity, float)
    return np.asarray(EPSILON_0 * np.asarray(row.pitch, float) / series)


def turn_to_turn(row: WireRow) -> FloatArray:
    """Capacitance (F/m) between two neighbouring wires of a row in free space.

    From the row with alternating potentials ±V, in which a wire carries the charge 4cV: what lies between
    neighbours of opposite sign (wires wound together) exactly, and the turns of one winding as long as
    nothing else is near. Source: see the module.
    """
    radius = np.asarray(row.outer, float) / 2
    pitch, fill = np.asarray(row.pitch, float), np.asarray(row.fill, float)
    scale = (radius / pitch)[..., None]
    m = np.arange(1, MULTIPOLES + 1)
    between, charge, constant = lattice(True)
    tau = polarisation(row)
    matrix = np.eye(MULTIPOLES) + tau[..., None] * between * scale[..., None] ** (m[:, None] + m)
    poles = np.linalg.solve(matrix, (-tau * charge * scale**m)[..., None])[..., 0]
    potential = np.log(2 * pitch / (np.pi * radius)) + np.sum(constant * scale**m * poles, axis=-1)
    coat = fill / np.asarray(row.enamel, float) * np.log(np.asarray(row.outer) / np.asarray(row.conductor))
    return np.asarray(2 * np.pi * EPSILON_0 * fill / (potential + coat) / 4)


def strip_thickness(width: ArrayLike, pitch: ArrayLike, distance: ArrayLike) -> FloatArray:
    """T (m of vacuum) that strips with gaps between them add to a closed surface.

    width, pitch (m) of the strips, ``distance`` (m of vacuum) to the opposite electrode. A row of strips
    at distance g holds per pitch what a closed plane of breadth w + fringe holds; the fringe of both edges
    together is 2g (2/π) ln 2 for far neighbours and at most the space between them:

        T = g (p/b − 1),   b = min(p, w + (4 ln 2/π) g)

    Source: edge of a plate condenser by conformal mapping (Kirchhoff, Maxwell; from memory), joined by the
    minimum, which is this project's own: within some 10 %.
    """
    wide, repeat, gap = (np.asarray(value, float) for value in (width, pitch, distance))
    effective = np.minimum(repeat, wide + 4 * np.log(2.0) / np.pi * gap)
    return np.asarray(gap * (repeat / effective - 1.0))
