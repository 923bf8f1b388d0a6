"""Leakage on rings: windings that cover the whole circumference, and windings on parts of it.

Where the ampere-turns per angle do not balance, the magnetic potential of the core's surface varies with the
angle, and flux leaves it through the build and the air around. With the ampere-turns per radian as a Fourier
series over the angle θ, every harmonic m is independent. m = 0 is the field of windings all around
(``toroid_interaction``). For m ≥ 1, with U_m the harmonic of ∫ n dθ, g(t) the part of it within the offset t
from the surface of the core, and Ω(t) cos mθ the magnetic potential,

    W = ½ μ0 π min over Ω { ∫ [ w_n Ω'² + m² w_θ (g − Ω)² ] dt + m² C Ω(0)² + p_m (Ω(T) − U_m)² }

    w_n = ∮ r ds,  w_θ = ∮ ds/r  around the section at the offset t;  C = 2π P/μ0 of the core's permeance P
    p_m : the air outside the finished sectors, ``ring_exterior``

A gap at an angle is a winding at that angle on the surface of the core, whose ampere-turns are its reluctance
times the flux through it. With P the permeance of the ring without the gap, γ the part of the gap in the
reluctance and k_i what a section and that winding share (harmonics m ≥ 1), core and field together are
P (1 − γ) and

    K_ij − γ (k_i + k_j + k_i k_j/P)

so that windings all around keep the permeance of the gapped core with its fringing (``cores.gap``).

Within the build the potential is taken as uniform around the section, with the corners of w_n as in
``CORNERS``; turns are sheets spread evenly over their sectors. In strips between the edges of the sections
the equation is solved exactly with w_n, w_θ at their means. This is the project's own model. Compared with
twelve finite-element solutions (opposite, overlapping, same sectors, part over full, permeability 125 …
10 000) it deviates by −2.0 … +2.3 %; where the build fills half of the radius of the hole, by −7 %:
``tests/reference/test_ring_sectors.py``.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ..cores import MU_0
from ..design import FloatArray, Real, ToroidDimensions
from .ring_exterior import HARMONICS, exterior_permeance

DETAIL = 100.0
"""Harmonics times the angle (rad) of the narrowest sector: those beyond hold less than 2/(π·this), 0.6 %, of
the energy between sheets on one sector, and a negligible part in the air (measured on two rings: half and
twice move no reading by more than 0.014 %)."""
_LEAST_MODES = 48
CORNERS = 0.125
"""The part of the square corners between core and sheets that flux through the build uses (calibrated on the
finite elements of tests/reference/test_ring_sectors.py). A potential uniform around the section would fill
them: 1. Measured: twice moves a leakage by 0.5 %."""
_WORKING_SET = 400_000
_GRID, _FULLEST = 50, 0.98
"""Grid steps over the radius of the hole, and the part of it that a build may fill
(measured: 25 and 100 steps move no reading by more than 5e-8)."""
_SURFACE = 1e-7  # m; thickness of what lies on the surface of the core
_THINNEST = 1e-12  # m; edges closer than this are one


def toroid_interaction(
    dimensions: ToroidDimensions, offsets: FloatArray, leg_share: ArrayLike = 1.0
) -> FloatArray:
    """Interaction of windings that go all the way round a ring.

    The field is that of the enclosed ampere-turns, H = F/(2πr):

        W = μ0/2 ∫ F(t)² w(t) dt,   w(t) = (H+2t)/(2π(r1−t)) + (H+2t)/(2π(r2+t)) + ln[(r2+t)/(r1−t)]/π

    F_i(t) = leg_share − (part of shell i within t), piecewise linear. The integral is taken with eight Gauss
    points between neighbouring edges, exact to 1e-12. Range: windings around the whole ring, t below the
    radius r1 of the hole.

    Parameters
    ----------
    dimensions : ToroidDimensions, of the core
    offsets : (B, n, 2) array
        Where the shell of each winding begins and ends above the surface of the ring, on all four faces, m.
    leg_share : float or (B,) array, share in the ampere-turn drop, dimensionless (``planar_window``)

    Returns
    -------
    (B, n, n) array, interaction, H per turn²
    """
    count = offsets.shape[0]
    inner, outer = dimensions.inner_diameter / 2, dimensions.outer_diameter / 2
    start = np.zeros((count, 1))
    edges = np.sort(np.concatenate([start, offsets.reshape(count, -1)], axis=1), axis=1)
    points, weights = np.polynomial.legendre.leggauss(8)
    span = np.diff(edges, axis=1)[..., None]
    t = (edges[:, :-1, None] + span * (points + 1) / 2).reshape(count, -1)
    measure = (span * weights / 2).reshape(count, -1)
    along = dimensions.height + 2 * t
    near, far = np.maximum(inner - t, 1e-6), outer + t
    weight = (along / near + along / far) / (2 * math.pi) + np.log(far / near) / math.pi
    thickness = np.maximum(offsets[..., 1] - offsets[..., 0], 1e-12)
    within = np.clip((t[:, None] - offsets[..., :1]) / thickness[..., None], 0.0, 1.0)
    share = np.reshape(np.asarray(leg_share, float), (-1, 1, 1)) - within
    return np.asarray(MU_0 * np.einsum("bit,bjt,bt->bij", share, share, weight * measure))


@dataclass(frozen=True)
class RingGap:
    """A gap that cuts a ring.

    Attributes
    ----------
    angle : float, where it lies, rad
    share : float or (B,) array, its part of the reluctance of the core, dimensionless
    """

    angle: float
    share: Real


def sector_interaction(
    dimensions: ToroidDimensions,
    offsets: FloatArray,
    arcs: Sequence[tuple[float, float | None]],
    permeance: ArrayLike,
    gap: RingGap | None = None,
) -> FloatArray:
    """Interaction that the harmonics m ≥ 1 add to ``toroid_interaction``.

    Range: shells within the hole; windings spread evenly over their sectors; a gap short against the ring.

    Parameters
    ----------
    dimensions : ToroidDimensions, of the core
    offsets : (B, n, 2) array
        Where the shell of each section begins and ends above the surface of the ring, on all faces, m.
    arcs : sequence of (float, float or None)
        Where each section begins and how much it covers, rad; None: all round (it adds nothing).
    permeance : float or (B,) array, of the core, gap included, H
    gap : RingGap or None, of the core; None where there is none

    Returns
    -------
    (B, n, n) array
        Interaction, H per turn²; symmetric. Without a gap positive semidefinite for any ampere-turns.
    """
    count, n = offsets.shape[:2]
    result = np.zeros((count, n, n))
    on_arcs = np.array([i for i, (_, covered) in enumerate(arcs) if covered is not None], int)
    if not on_arcs.size:
        return result
    start = np.array([arcs[i][0] for i in on_arcs])
    cover = np.array([arcs[i][1] for i in on_arcs], float)
    shells, top = offsets[:, on_arcs], np.max(offsets[:, on_arcs, 1], axis=-1)
    m = np.arange(1, max(_LEAST_MODES, math.ceil(DETAIL / cover.min())) + 1)
    size = 2 * np.sin(m[:, None] * cover / 2) / (math.pi * cover * m[:, None] ** 2)
    middle = start + cover / 2
    whole = np.broadcast_to(np.asarray(permeance, float), (count,))
    share = np.zeros(count)
    if gap is not None:  # ampere-turns at one angle, on the surface of the core
        share = np.broadcast_to(np.asarray(gap.share, float), (count,))
        size = np.concatenate([size, 1 / (math.pi * m[:, None])], axis=1)
        middle = np.append(middle, gap.angle)
        surface = np.broadcast_to(np.array([0.0, _SURFACE]), (count, 1, 2))
        shells = np.concatenate([shells, surface], axis=1)
    iron = whole / (1 - share)
    angle = np.cos(m[:, None, None] * (middle[:, None] - middle[None, :]))
    amplitude = MU_0 * math.pi * size[:, :, None] * size[:, None, :] * angle
    outside = _outside(dimensions, top, len(m))
    core = 2 * math.pi * iron / MU_0
    coupled = np.zeros((count, len(middle), len(middle)))
    block = max(1, _WORKING_SET // (len(m) * (2 * len(middle) + 1) * len(middle)))
    for first in range(0, count, block):
        part = slice(first, first + block)
        form = _form(dimensions, shells[part], m.astype(float), outside[part], core[part])
        coupled[part] = np.einsum("mij,bmij->bij", amplitude, form)
    k = on_arcs.size
    result[:, on_arcs[:, None], on_arcs[None, :]] = coupled[:, :k, :k]
    if gap is not None:
        linked = np.zeros((count, n))  # of windings all round: nothing
        linked[:, on_arcs] = coupled[:, :k, k]
        drop = linked[:, :, None] + linked[:, None, :]
        drop = drop + linked[:, :, None] * linked[:, None, :] / iron[:, None, None]
        result = result - share[:, None, None] * drop
    return result


def _outside(dimensions: ToroidDimensions, top: FloatArray, modes: int) -> FloatArray:
    """(B, modes) p_m (m) of the air outside offsets ``top`` (B,) (m): a cubic through its values at fixed
    offsets, so that the value for one build does not depend on other builds (within 1e-5 of the solution at
    ``top``)."""
    inner, outer = dimensions.inner_diameter / 2, dimensions.outer_diameter / 2
    grid_position = np.minimum(top / inner, _FULLEST) * _GRID
    first = np.clip(np.floor(grid_position).astype(int) - 1, 0, int(_FULLEST * _GRID) - 3)
    nodes = {
        number: _exterior(inner, outer, dimensions.height, number, modes)
        for begin in sorted(set(first.tolist()))
        for number in range(begin, begin + 4)
    }
    result = np.zeros((len(top), modes))
    for step in range(4):
        others = [node for node in range(4) if node != step]
        weight = np.prod([(grid_position - first - node) / (step - node) for node in others], axis=0)
        result += weight[:, None] * np.stack([nodes[number] for number in (first + step).tolist()])
    return result


@functools.lru_cache(maxsize=256)
def _exterior(inner: float, outer: float, height: float, number: int, modes: int) -> FloatArray:
    """(modes,) p_m (m) outside the offset ``number`` of the grid."""
    reach = inner * number / _GRID
    low = exterior_permeance(inner - reach, outer + reach, height + 2 * reach)
    around = 2 * (height + outer - inner + 4 * reach)
    return np.concatenate([low, low[-1] + around * np.arange(1, modes - HARMONICS + 1)])


def _form(
    dimensions: ToroidDimensions, shells: FloatArray, m: FloatArray, outside: FloatArray, core: FloatArray
) -> FloatArray:
    """(B, M, n, n) quadratic form of the braces in the equation of the module, in the U_m of the sections.

    The nodes are the surface of the core and all edges of the sections; coinciding nodes are joined. The
    exact stiffness of a strip is that of a gradient, w_n/d, on Ω and a remainder on Ω − g.
    """
    count = shells.shape[0]
    edges = np.sort(shells.reshape(count, -1), axis=-1)
    nodes = np.concatenate([np.zeros((count, 1)), edges], axis=-1)
    within = (nodes[:, :, None] - shells[:, None, :, 0]) / np.maximum(
        shells[..., 1] - shells[..., 0], _THINNEST
    )[:, None]
    g = np.clip(within, 0.0, 1.0)[:, None]  # (B, 1, J, n)
    d = np.diff(nodes, axis=-1)
    empty = d <= _THINNEST
    d = np.where(empty, _THINNEST, d)
    normal, along = _measures(dimensions, nodes[:, :-1], nodes[:, 1:])
    k = m[:, None] * np.sqrt(along / normal)[:, None, :]
    gradient = np.where(empty, 0.0, normal / d)[:, None]  # (B, 1, J − 1)
    same, cross = _rest(k * d[:, None])
    same, cross = gradient * same, gradient * cross
    diagonal = np.zeros((count, len(m), nodes.shape[1]))
    diagonal[..., :-1] += same
    diagonal[..., 1:] += same
    diagonal[..., -1] += outside
    loaded = diagonal[..., None] * g
    loaded[..., :-1, :] += cross[..., None] * g[..., 1:, :]
    loaded[..., 1:, :] += cross[..., None] * g[..., :-1, :]
    whole = diagonal.copy()
    whole[..., :-1] += gradient
    whole[..., 1:] += gradient
    whole[..., 0] += m**2 * core[:, None]
    beside = cross - gradient
    # Forward elimination: Ω·A·Ω with A tridiagonal; it removes Σ (eliminated load)²/pivot.
    pivot, load = whole[..., 0], loaded[..., 0, :]
    taken = np.zeros((*load.shape, load.shape[-1]))
    for node in range(1, nodes.shape[1]):
        joined = empty[:, None, node - 1]
        gone = load[..., :, None] * load[..., None, :] / pivot[..., None, None]
        taken = taken + np.where(joined[..., None, None], 0.0, gone)
        factor = np.where(joined, -1.0, beside[..., node - 1] / pivot)
        load = loaded[..., node, :] - factor[..., None] * load
        pivot = whole[..., node] - np.where(joined, -pivot, factor * beside[..., node - 1])
    taken = taken + load[..., :, None] * load[..., None, :] / pivot[..., None, None]
    return np.asarray(np.swapaxes(np.broadcast_to(g, loaded.shape), -1, -2) @ loaded - taken)


def _measures(
    dimensions: ToroidDimensions, low: FloatArray, high: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """w_n (m²) and w_θ (1) of strips between the offsets ``low`` and ``high`` (m), square at the corners, of
    which w_n counts ``CORNERS``: means over two Gauss points."""
    inner, outer = dimensions.inner_diameter / 2, dimensions.outer_diameter / 2
    normal, along = np.zeros_like(low), np.zeros_like(low)
    for point in (-1 / math.sqrt(3), 1 / math.sqrt(3)):
        t = (low + high) / 2 + (high - low) / 2 * point
        near, far, height = np.maximum(inner - t, 1e-6), outer + t, dimensions.height + 2 * t
        flat = (near + far) * dimensions.height + outer**2 - inner**2
        normal += (flat + CORNERS * 4 * (inner + outer) * t) / 2
        along += (height / near + height / far + 2 * np.log(far / near)) / 2
    return normal, along


def _rest(x: FloatArray) -> tuple[FloatArray, FloatArray]:
    """x coth x − 1 and 1 − x csch x, by series where x is small."""
    small = x < 0.03
    safe = np.where(small, 1.0, x)
    decay = np.exp(-safe)
    bottom = 1 - decay**2
    same = np.where(small, x**2 / 3 - x**4 / 45, safe * (1 + decay**2) / bottom - 1)
    cross = np.where(small, x**2 / 6 - 7 * x**4 / 360, 1 - 2 * safe * decay / bottom)
    return same, cross
