"""The axisymmetric field in the window around a round centre leg: ``round_window``."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from ..cores import MU_0
from ..design import FloatArray
from ..winding import UPRIGHT, X0, X1
from .planar import (
    check_inside,
    mean_difference,
    modes_for,
    pair_indices,
    plain_term,
    planar_window,
    unpack,
    window_arguments,
)

LEAST_MODES = 64
MOST_STRIP_MODES = 128
"""Harmonics of the field around a round leg: fewest, and most beside narrow strips (measured on
26 designs: 32 and 128 at the least move a leakage by 0.11 and 0.02 %)."""
_WORKING_SET = 12_000  # array elements per step: stays in a core's second-level cache


def round_window(
    r_inner: ArrayLike,
    r_outer: ArrayLike,
    height: ArrayLike,
    sections: ArrayLike,
    *,
    leg_share: ArrayLike = 1.0,
    strips: int = 16,
    modes: int | None = None,
) -> FloatArray:
    """Interaction of ring sections of rectangular section around a round leg, over the whole turn.

    The cosine series along the leg is that of ``planar_window``, for u = r A_φ. Each term obeys −(u'/r)' + k²
    u/r = μ0 s. The window is cut at all section edges and at ``strips`` further radii in geometric
    progression. Within a strip of width d the weight 1/r is frozen at its centre r_s, and the strip is solved
    exactly: admittance (k/r_s) [coth kd, −csch kd], loads s tanh(kd/2)/k at its two edges, and its own s² r_s
    (d/k² − 2 tanh(kd/2)/k³). One elimination from the leg outwards, for all sections at once, gives every
    term as a sum of squares, so that the matrix is positive semidefinite. The plain (n = 0) term is exact:
    (μ0/h) ∫ F_i F_j 2πr dr, F_i as in ``planar_window``.

    Validity: uniform current density, walls of infinite permeability. With the defaults within 0.1 % of the
    axisymmetric field solutions of the tests.

    Parameters
    ----------
    r_inner, r_outer : (...,) array
        Radius of the leg and of the outer wall, m.
    height : (...,) array
        Height of the window, m.
    sections : (..., n, 4) array
        r0, r1, z0, z1 of each section, m, in any order; they may touch and overlap.
    leg_share : float or (...,) array
        Share of the centre leg in the ampere-turn drop of the core, dimensionless.
    strips : int
        Further cuts, count; the error falls with their square.
    modes : int or None
        Terms of the series, count; None: four half waves per narrowest breadth, at least 64 and at most 128,
        and finer detail from the planar window, where it decays before the curvature of the turn matters.

    Returns
    -------
    (..., n, n) array
        K over the whole turn, H per turn²; symmetric. For NI that sum to zero NI·K·NI/2 is the energy (J).

    Raises
    ------
    BuildError
        If a section leaves the window (named, with the amount) or has no extent.

    References
    ----------
    L. Rabins, "Transformer reactance calculations with digital computers", Trans. AIEE I 75, 1956, solves the
    same problem with Bessel and Struve functions (from memory); the strip form is this project's own.
    """
    blocks, (radius, outer, h, share), shape = window_arguments(sections, r_inner, r_outer, height, leg_share)
    check_inside(outer - radius, h, blocks - radius[:, None, None] * np.array([1.0, 1.0, 0.0, 0.0]))
    needed = modes_for(h, blocks[..., UPRIGHT], LEAST_MODES)
    terms = np.minimum(needed, MOST_STRIP_MODES) if modes is None else np.full(len(radius), modes)
    count = blocks.shape[1]
    matrix = np.empty((len(radius), count, count))
    for number in sorted(set(terms.tolist())):
        rows, size = np.flatnonzero(terms == number), max(1, _WORKING_SET // (count * number))
        for part in (rows[start : start + size] for start in range(0, len(rows), size)):
            matrix[part] = _strips(radius[part], outer[part], h[part], blocks[part], strips, number)
    matrix += _plain(radius, outer, h, share, blocks)
    fine = np.flatnonzero(needed > terms) if modes is None else np.zeros(0, np.intp)
    if fine.size:
        matrix[fine] += _fine_structure(radius[fine], outer[fine], h[fine], blocks[fine], MOST_STRIP_MODES)
    return matrix.reshape(*shape, count, count)


def _strips(
    radius: FloatArray, outer: FloatArray, h: FloatArray, blocks: FloatArray, strips: int, modes: int
) -> FloatArray:
    """The terms n ≥ 1 of all section pairs: (B, n, n)."""
    builds, count = blocks.shape[:2]
    progression = (outer / radius)[:, None] ** (np.arange(1, strips + 1) / (strips + 1))
    inner_edges = np.concatenate([blocks[..., X0], blocks[..., X1], radius[:, None] * progression], axis=1)
    inner_edges = np.clip(np.sort(inner_edges, axis=1), radius[:, None], outer[:, None])
    edges = np.concatenate([radius[:, None], inner_edges, outer[:, None]], axis=1)
    width, middle = np.diff(edges, axis=1), (edges[:, 1:] + edges[:, :-1]) / 2  # (B, S)
    inside = (middle[:, None] > blocks[..., :1]) & (middle[:, None] < blocks[..., 1:2])  # (B, n, S)

    k = math.pi / h[:, None] * np.arange(1, modes + 1)  # (B, modes)
    centre, breadth = (blocks[..., 2:3] + blocks[..., 3:]) / 2, blocks[..., 3:] - blocks[..., 2:3]
    source = np.cos(k[:, None] * centre) * np.sinc(k[:, None] * breadth / (2 * math.pi))
    source /= (blocks[..., 1:2] - blocks[..., :1]) * k[:, None]  # s/k per ampere-turn, (B, n, modes)

    decay = np.exp(-k[:, None] * width[..., None])  # (B, S, modes)
    square = decay * decay
    tangent, half = (1 - square) / (1 + square), (1 - decay) / (1 + decay)  # tanh kd, tanh kd/2
    share = np.empty_like(decay)
    admittance = np.zeros_like(k)  # of everything inside the current edge, over k
    for strip in range(width.shape[1]):
        centre_radius = middle[:, strip, None]
        relative = admittance * centre_radius
        share[:, strip] = 1 / (1 + relative * tangent[:, strip])
        admittance = (tangent[:, strip] + relative) * share[:, strip] / centre_radius
    radii = middle[..., None]
    at_edge = np.sqrt(radii / k[:, None] * tangent * share)
    handed_on = 2 * decay / (1 + square) * share
    self_term = np.sqrt(radii * np.maximum(width[..., None] - 2 * half / k[:, None], 0.0))

    load = np.zeros_like(source)
    columns = np.empty((builds, count, 2 * width.shape[1] + 1, modes))
    for strip in range(width.shape[1]):
        within = inside[:, :, strip, None] * source
        edge_load = within * half[:, None, strip]
        load += edge_load
        np.multiply(load, at_edge[:, None, strip], out=columns[:, :, 2 * strip])
        np.multiply(within, self_term[:, None, strip], out=columns[:, :, 2 * strip + 1])
        load *= handed_on[:, None, strip]
        load += edge_load
    np.multiply(load, 1 / np.sqrt(k * admittance)[:, None], out=columns[:, :, -1])
    flat = columns.reshape(builds, count, -1)
    return np.asarray(4 * math.pi * MU_0 / h[:, None, None] * (flat @ flat.swapaxes(1, 2)))


def _fine_structure(
    radius: FloatArray, outer: FloatArray, h: FloatArray, blocks: FloatArray, modes: int
) -> FloatArray:
    """What the terms beyond ``modes`` add, (B, n, n). They decay within h/(π modes), where the window is
    planar and the turn has the length 2πr at the mean radius of the sections."""
    flat = blocks - radius[:, None, None] * np.array([1.0, 1.0, 0.0, 0.0])
    whole = planar_window(outer - radius, h, flat)
    coarse = planar_window(outer - radius, h, flat, modes=modes, series="along")
    middle = (blocks[..., X0] + blocks[..., X1]) / 2
    return np.asarray(math.pi * (middle[:, :, None] + middle[:, None, :]) * (whole - coarse))


def _plain(
    radius: FloatArray, outer: FloatArray, h: FloatArray, share: FloatArray, blocks: FloatArray
) -> FloatArray:
    """The term n = 0, (B, n, n): the planar term over the area π(r² − r_inner²) instead of x."""
    first, second = pair_indices(blocks.shape[1])
    r0, r1 = blocks[..., X0].T, blocks[..., X1].T
    area = math.pi * ((r0 * r0 + r0 * r1 + r1 * r1) / 3 - radius**2)
    difference = math.pi * mean_difference(r0, r1, first, second, squared=True)
    pairs = plain_term(math.pi * (outer**2 - radius**2), share, area, difference, first, second)
    return unpack(MU_0 / h * pairs, blocks.shape[1], (len(radius),))
