"""Windings on parts of a ring's circumference: magnetic charges on the ring's surface, the core and the build
as chains of permeances.

The ring is cut into ``PIECES`` along its circumference. The flux q that leaves a piece makes the potential of
even charge on every piece's outline; core and build carry the rest on:

    μ0 U_i = Σ_j q_j ⟨1/(4π |r_i − r_j|)⟩        Φ_i − Φ_(i−1) = −q_i
    Φ_i = Σ_b (P + G_b) n_b,i − (P + G_0) (U_(i+1) − U_i)

n: ampere-turns on a piece. P: of the core, G_b = μ0 ∫ F_b w dt of the build below winding b, G_0 of the
whole build, for one piece. The potential is the same through the build, and the charges lie on the core:
what the build's reluctance takes, its greater surface gives back in part. Against finite elements by
harmonics the inductance of one crowded winding comes within 8 %, on permeabilities from 60 within 4 %; the
leakage of two windings on arcs comes out 3 to 34 % high. A simulator may err as a shop's model does.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Sequence

import numpy as np

from .layers import Array

MU0 = 4e-7 * math.pi
PIECES, POINTS = 180, 24


def occupied(arcs: Sequence[tuple[float, float]]) -> Array:
    """(n, PIECES) part of each winding's turns on each piece; arcs: middle and breadth in parts of the
    circumference."""
    fine = 20
    at = (np.arange(PIECES * fine) + 0.5) / (PIECES * fine)
    rows = []
    for middle, breadth in arcs:
        away = np.abs((at - middle + 0.5) % 1.0 - 0.5)
        inside = (away <= breadth / 2 + 1e-12).reshape(PIECES, fine).mean(axis=1)
        rows.append(inside / inside.sum())
    return np.stack(rows)


def linked(
    size: tuple[float, float, float], permeance: float, share: Array, even: Array, below: Array
) -> Array:
    """(n, n) H per turn² of windings on arcs, less the core's own ``permeance`` (H).

    size : inner and outer radius and height of the ring (m). share : (n, PIECES) of ``occupied``.
    even : (n, n) of the build with all turns all round, μ0 ∫ F_a F_b w dt. below : (n + 1,) μ0 ∫ F_b w dt of
    each winding, last of the whole build."""
    core, build, under = permeance * PIECES, even * PIECES, below * PIECES
    step = np.roll(np.eye(PIECES), 1, axis=1) - np.eye(PIECES)  # U_(i+1) − U_i
    back = np.eye(PIECES) - np.roll(np.eye(PIECES), -1, axis=1)  # Φ_i − Φ_(i−1)
    system = charges(*size) - (core + under[-1]) * back @ step
    driven = share * (core + under[:-1, None])
    along = step @ np.linalg.solve(system, -back @ driven.T)  # (PIECES, n)
    direct = (core + build) * (share @ share.T)
    return np.asarray(direct - (share * (core + under[:-1, None])) @ along - permeance)


@functools.lru_cache(maxsize=64)
def charges(inner: float, outer: float, height: float) -> Array:
    """(PIECES, PIECES) flux that leaves each piece for the potentials of all (Wb/A)."""
    r, z = _outline(inner, outer, height).T
    angle = 2 * math.pi * np.arange(PIECES) / PIECES
    flat = r[:, None] ** 2 + r[None, :] ** 2 + (z[:, None] - z[None, :]) ** 2
    square = flat - 2 * (r[:, None] * r[None, :]) * np.cos(angle)[:, None, None]
    each = 1 / np.sqrt(np.maximum(square, 1e-18))
    side = np.sqrt(2 * math.pi * r / PIECES * 2 * (height + outer - inner) / len(r))
    each[0][np.diag_indices(len(r))] = 3.525 / side  # an evenly charged square at its middle
    once = each.mean(axis=(1, 2))
    number = np.arange(PIECES)
    return np.asarray(np.linalg.inv(once[(number[:, None] - number) % PIECES] / (4 * math.pi * MU0)))


def _outline(inner: float, outer: float, height: float) -> Array:
    """(POINTS, 2) r, z of points evenly along the section's outline (m)."""
    a, b = outer - inner, height
    at = (np.arange(POINTS) + 0.5) / POINTS * 2 * (a + b)
    corners = np.array([0.0, a, a + b, 2 * a + b, 2 * (a + b)])
    r = np.interp(at, corners, [inner, outer, outer, inner, inner])
    z = np.interp(at, corners, [0.0, 0.0, height, height, 0.0])
    return np.stack([r, z], axis=-1)
