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
    mean_cosine,
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
    """The terms n ≥ 1 of all section pairs: (B, n, n). The S strips are the first axis of all arrays."""
    inner, far = radius[:, None], outer[:, None]
    cuts = inner * (far / inner) ** (np.arange(1, strips + 1) / (strips + 1))
    edges = np.concatenate([inner, blocks[..., X0], blocks[..., X1], cuts, far], axis=1)
    edges = np.sort(np.minimum(np.maximum(edges, inner), far), axis=1).T
    width, middle = edges[1:] - edges[:-1], (edges[1:] + edges[:-1]) / 2  # (S, B)
    inside = (middle[..., None] > blocks[..., X0]) & (middle[..., None] < blocks[..., X1])  # (S, B, n)

    k = math.pi / h[:, None] * np.arange(1, modes + 1)  # (B, modes)
    x0, x1, y0, y1 = blocks.transpose(2, 0, 1)[..., None]
    source = mean_cosine(k[:, None], (y0 + y1) / 2, y1 - y0)
    source /= (x1 - x0) * k[:, None]  # s/k per ampere-turn, (B, n, modes)

    decay = np.exp(-k * width[..., None])  # (S, B, modes)
    square = decay * decay
    tangent, half = (1 - square) / (1 + square), (1 - decay) / (1 + decay)  # tanh kd, tanh kd/2
    share = np.empty_like(decay)
    admittance = np.zeros_like(k)  # of everything inside the current edge, over k, times the next radius
    onward = np.concatenate([middle[1:], np.ones((1, len(radius)))]) / middle
    for of_strip, tanh, step in zip(share, tangent, onward[..., None], strict=True):
        np.divide(1.0, 1 + admittance * tanh, out=of_strip)
        admittance = (tanh + admittance) * of_strip * step
    radii = middle[..., None]
    at_edge = np.sqrt(radii / k * tangent * share)
    handed_on = 2 * decay / (1 + square) * share
    self_term = np.sqrt(radii * np.maximum(width[..., None] - 2 * half / k, 0.0))

    within = inside[..., None] * source  # (S, B, n, modes)
    edge_load = within * half[:, :, None]  # at each of the two edges of a strip
    load = edge_load.copy()
    load[1:] += edge_load[:-1]
    for before, here, share_of_load in zip(load[:-1], load[1:], handed_on[:-1, :, None], strict=True):
        here += before * share_of_load
    last = load[-1] * handed_on[-1, :, None] + edge_load[-1]
    columns = np.empty((*source.shape[:2], 2 * len(width) + 1, modes))
    by_strip = columns.transpose(2, 0, 1, 3)
    np.multiply(load, at_edge[:, :, None], out=by_strip[:-1:2])
    np.multiply(within, self_term[:, :, None], out=by_strip[1::2])
    np.multiply(last, 1 / np.sqrt(k * admittance)[:, None], out=by_strip[-1])
    flat = columns.reshape(*source.shape[:2], -1)
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
