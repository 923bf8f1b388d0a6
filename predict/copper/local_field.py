"""The field at the layers themselves, and the currents that redistribute along them.

This is the series of the window (``planar_window``) on the middle line of every layer. Besides the even
currents of the sections it has, for every layer, currents that sum to zero along the layer: those that
circulate in a foil whose breadth the field crosses, and those that represent the magnetization across a row
of round wires. Their distribution is a series of Legendre polynomials; the circuit of all of them is solved
in ``eddy_current``.
"""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from ..alike import alike
from ..cores import MU_0
from ..design import FloatArray, IntArray
from ..winding import X0, X1
from .bessel import spherical_bessel

MODES = 48
"""Half waves along the window: the field is resolved to a fiftieth of its height (measured on 26 designs:
twice as many move an AC resistance by 0.07 % at most, half by 0.3 %)."""
SHAPES = 5
"""Distributions of zero sum along each layer (measured on 26 designs: 3 and 10 move an AC resistance by 0.4
and 0.5 %)."""
POINTS = 10
"""Gauss points along each layer (measured on 26 designs: 5 and 20 move an AC resistance by 0.2 and 0.05
%)."""
GAP_SHAPES, GAP_POINTS = 7, 16
"""Shapes and points beside a gap, whose field bulges over a small part of a layer. Measured on 26 designs: 5
and 14 shapes move an AC resistance by 1.6 %, 8 and 32 points by 0.7 and 0.2 % (the model itself: within
11 % of field solutions, tests/reference/test_eddy.py)."""
_WORKING_SET = 60_000  # array elements per step: stays in a core's second-level cache


@dataclass(frozen=True)
class LayerFields:
    """Fields at n layers of B builds.

    S distributions of each layer (even, then ``SHAPES`` or ``GAP_SHAPES``), l lines, Q points.

    Attributes
    ----------
    linkage : (B, S, n, S, n) array
        Linkage of the distributions, H per metre; that of even distributions with each other is left out (0).
    tangential : (B, l, Q, S, n) array
        Field along each line at its points, A/m per ampere-turn or per unit of shape; ampere-turns return in
        the outer wall.
    of_line : (l,) array of int
        Section in which each line runs, index: the middle of a layer, or one of two lines of a pack.
    returning_linkage : (B, S, n, R) array
        Linkage of the distributions with ampere-turns that return elsewhere (``returns``), H per metre.
    returning : (B, l, Q, R) array, field of these along each line, A/m per ampere-turn
    """

    linkage: FloatArray
    tangential: FloatArray
    of_line: IntArray
    returning_linkage: FloatArray
    returning: FloatArray


@functools.cache
def shapes(number: int, points: int) -> tuple[FloatArray, FloatArray]:
    """Current density of the shapes P_1 … P_number, and their magnetization, at the Gauss points.

    Parameters
    ----------
    number : int, count
    points : int, Gauss points along the layer, count

    Returns
    -------
    density : (number, points) array, current density times the breadth, dimensionless
    magnetization : (number, points) array
        Magnetization across the layer, −∫ of the density over the breadth, dimensionless.
    """
    gauss = quadrature(points)[0]
    values: FloatArray = np.asarray(np.polynomial.legendre.legvander(gauss, number + 1).T, float)
    orders = np.arange(1, number + 1)[:, None]
    return np.asarray(values[1:-1], float), -(values[2:] - values[:-2]) / (2 * (2 * orders + 1))


@dataclass(frozen=True)
class GapSheets:
    """Ground gaps beside the window, as sheets of current that respond to the ampere-turns of the sections.

    Attributes
    ----------
    blocks : (B, g, 4) array, x0, x1, y0, y1 of each gap, in the axes of the layers, m
    even : bool, whether their mean along the window counts here; else the leg share includes it
    """

    blocks: FloatArray
    even: bool


def returns(leg_share: FloatArray, gap_share: FloatArray | None, *, even: bool) -> FloatArray:
    """How ampere-turns that do not sum to zero return: in the leg, and in each of its ground gaps.

    Parameters
    ----------
    leg_share : (B,) array, share of the leg in the ampere-turn drop, dimensionless
    gap_share : (B, g) array or None
        Part of all ampere-turns that drops across each gap, dimensionless; None without gaps.
    even : bool, ``GapSheets.even``

    Returns
    -------
    (B, R) array, parts of the sum of all ampere-turns, dimensionless: R = 1, with gaps 1 + g
    """
    if gap_share is None:
        return leg_share[:, None]
    along = leg_share * (1 - np.sum(gap_share, axis=1)) if even else leg_share
    return np.concatenate([along[:, None], gap_share], axis=1)


def layer_fields(
    width: float,
    height: float,
    blocks: FloatArray,
    ends: FloatArray,
    gaps: GapSheets | None = None,
    *,
    aside: FloatArray | None = None,
) -> LayerFields:
    """The fields at layers, including the field that bulges out of gaps.

    Ampere-turns that sum to zero see nothing of a gap. Of others a part returns in the gap (``returns``), so
    that its field is proportional to their sum. The field is taken as uniform over the height of the gap:
    correct from about half a gap's length away. Equations: see ``_layer_fields``.

    Parameters
    ----------
    width, height : float, width and height of the window, m
    blocks : (B, n, 4) array, x0, x1, y0, y1 of each layer, m
    ends : (B, n) array, pitch of a row of wires, m; 0 for a foil
    gaps : GapSheets or None, ground gaps beside the window
    aside : (B, n) array or None
        For packs of layers, distance from the middle to the two lines along which the field is taken, m; 0
        where every build has a single layer. None: 0 everywhere.
    """
    n = ends.shape[1]
    of_line, shift = np.arange(n), np.zeros_like(ends)
    if aside is not None:
        twice = np.flatnonzero(np.any(aside > 0, axis=0))
        of_line = np.sort(np.concatenate([of_line, twice]))
        second = np.concatenate([[False], of_line[1:] == of_line[:-1]])
        shift = np.where(second, 1.0, -1.0) * aside[:, of_line]
    lines = (blocks[..., X0] + blocks[..., X1])[:, of_line] / 2 + shift
    if gaps is None:
        found = _of_alike((width, height), blocks, ends, (SHAPES, POINTS), of_line, lines)
        linkage, tangential = found
        in_leg = np.full((*tangential.shape[:3], 1), 1 / height)
        return LayerFields(linkage, tangential, of_line, np.zeros((*linkage.shape[:3], 1)), in_leg)
    g = gaps.blocks.shape[1]
    every = np.concatenate([blocks, gaps.blocks], axis=1)
    padded = np.concatenate([ends, np.zeros((len(ends), g))], axis=1)
    finer = (GAP_SHAPES, GAP_POINTS)
    linkage, tangential = _of_alike((width, height), every, padded, finer, of_line, lines)
    beside = tangential[..., 0, n:]
    if not gaps.even:
        beyond = lines[:, :, None] >= gaps.blocks[:, None, :, X1]
        beside = beside - beyond[:, :, None] / height
    in_leg = np.full((*beside.shape[:3], 1), 1 / height)
    through = np.zeros((*linkage.shape[:2], n, 1 + g))
    through[:, 1:, :, 1:] = linkage[:, 1:, :n, 0, n:]
    return LayerFields(
        linkage[:, :, :n, :, :n],
        tangential[..., :n],
        of_line,
        through,
        np.concatenate([in_leg, beside], axis=-1),
    )


_Fields: TypeAlias = tuple[FloatArray, FloatArray]
"""``linkage`` and ``tangential`` of ``LayerFields``."""


def _of_alike(
    window: tuple[float, float],
    blocks: FloatArray,
    ends: FloatArray,
    resolution: tuple[int, int],
    of_line: IntArray,
    lines: FloatArray,
) -> _Fields:
    """``_in_portions`` once for builds with the same layers."""
    same = alike(len(blocks), blocks, ends, lines)
    if same is None:
        return _in_portions(window, blocks, ends, resolution, of_line, lines)
    rows, of_build = same
    few = _in_portions(window, blocks[rows], ends[rows], resolution, of_line, lines[rows])
    return few[0][of_build], few[1][of_build]


def _in_portions(
    window: tuple[float, float],
    blocks: FloatArray,
    ends: FloatArray,
    resolution: tuple[int, int],
    of_line: IntArray,
    lines: FloatArray,
) -> _Fields:
    """``_layer_fields`` for a few builds at a time, which stay in a core's cache."""
    count, n = ends.shape
    size = max(1, _WORKING_SET // (MODES * n * (n + MODES // 4)))
    parts = [
        _layer_fields(
            window,
            blocks[start : start + size],
            ends[start : start + size],
            resolution,
            of_line,
            lines[start : start + size],
        )
        for start in range(0, count, size)
    ]
    if len(parts) == 1:
        return parts[0]
    linkage, tangential = (np.concatenate(each) for each in zip(*parts, strict=True))
    return linkage, tangential


def _layer_fields(
    window: tuple[float, float],
    blocks: FloatArray,
    ends: FloatArray,
    resolution: tuple[int, int],
    of_line: IntArray,
    lines: FloatArray,
) -> _Fields:
    """The fields of layers ``blocks`` (B, n, 4) = x0, x1, y0, y1 (m) between walls of infinite permeability.

    window: width and height (m). Ampere-turns that do not sum to zero are anchored at the outer wall (a leg
    share of 0). ends (B, n): pitch of a row of wires, whose last shape is a pair of opposite currents at its
    two ends, spread over one pitch; 0 for a foil. resolution: number of shapes and of points. of_line, lines
    (B, l): layer of every line along which the field is wanted, and its position across the layers (m). With
    k = nπ/h, c the mean of cos ky over a distribution, ⟨g⟩ the kernel of ``planar_window``,

        H_y = −F(x)/h − (2/h) Σ c cos ky ∂⟨g⟩/∂x,   M = (2 μ0/h) Σ c c' ⟨g⟩ .
    """
    width, height = window
    x0, x1, y0, y1 = blocks.transpose(2, 0, 1)
    thickness, breadth = np.maximum(x1 - x0, 1e-9), y1 - y0
    number, points = resolution
    orders = np.arange(1.0, MODES + 1.0)
    k = np.asarray(orders * math.pi / height, float)  # the last axis throughout
    round_trip = np.exp(-k * width)
    beyond = 1 / np.sqrt(1 - round_trip**2)
    to_leg = _decay(k, x1) - _decay(k, x0)
    to_wall = (_decay(k, width - x1) - _decay(k, width - x0) - round_trip * to_leg) * beyond
    spread = _spectrum(k, (y0 + y1) / 2, breadth, ends, number)
    linkage = _linkage(k, (x0, x1), thickness, (to_leg, to_wall), spread)
    linkage *= 2 * MU_0 / height
    linkage[:, 0, :, 0] = 0.0
    # images: the kernel's terms with one end replaced by the slope at the line
    at_leg = _decay(k, lines)
    at_wall = (_decay(k, width - lines) - round_trip * at_leg) * beyond
    apart = lines[:, :, None]
    gradient = _decay(k, np.abs(apart - x1[:, None])) - _decay(k, np.abs(apart - x0[:, None]))
    gradient -= at_leg[:, :, None] * to_leg[:, None]
    gradient -= at_wall[:, :, None] * to_wall[:, None]
    gradient *= (1 / height / k) / thickness[:, None, :, None]
    gauss = quadrature(points)[0]
    angle = ((y0 + y1) / 2)[..., None] + (breadth / 2)[..., None] * gauss
    waves = _cosines(angle * (math.pi / height))[:, of_line]
    count, n = x0.shape
    by_shape = spread.swapaxes(1, 2)
    slope = (gradient[:, :, None] * by_shape[:, None]).reshape(count, len(of_line), -1, MODES)
    tangential = (waves @ slope.swapaxes(-1, -2)).reshape(count, len(of_line), points, number + 1, n)
    plain = np.minimum(np.maximum((lines[:, :, None] - x0[:, None, :]) / thickness[:, None, :], 0.0), 1.0)
    tangential[..., 0, :] += (plain / height)[:, :, None, :]
    return linkage, tangential


def _linkage(
    k: FloatArray,
    across: tuple[FloatArray, FloatArray],
    thickness: FloatArray,
    images: tuple[FloatArray, FloatArray],
    spread: FloatArray,
) -> FloatArray:
    """(B, S, n, S, n) Σ c c' ⟨g⟩ of every two distributions: of every two layers once, as it is symmetric.

    across : x0, x1 (B, n) of the layers. images : (B, n, N) of leg and wall. spread : (B, n, S, N).
    """
    count, n, shapes_of_each = spread.shape[:3]
    first, second = np.triu_indices(n)
    x0, x1 = across
    low, high, begin, end = x0[:, first], x1[:, first], x0[:, second], x1[:, second]
    kernel = _decay(k, np.abs(high - begin)) + _decay(k, np.abs(low - end))
    kernel -= _decay(k, np.abs(high - end))
    kernel -= _decay(k, np.abs(low - begin))
    for image in images:
        kernel += image[:, first] * image[:, second]
    kernel *= 0.5
    kernel += k * np.maximum(np.minimum(high, end) - np.maximum(low, begin), 0.0)[..., None]
    kernel *= k**-3.0 / (thickness[:, first] * thickness[:, second])[..., None]
    pairs = (spread[:, first] * kernel[:, :, None]) @ spread.swapaxes(-1, -2)[:, second]
    linkage = np.empty((count, n, n, shapes_of_each, shapes_of_each))
    linkage[:, first, second] = pairs
    linkage[:, second, first] = pairs.swapaxes(-1, -2)
    return np.ascontiguousarray(linkage.transpose(0, 3, 1, 4, 2))


def _decay(k: FloatArray, distance: FloatArray) -> FloatArray:
    """exp(−k distance), the waves on the last axis."""
    return np.asarray(np.exp(distance[..., None] * -k))


def _cosines(angle: FloatArray) -> FloatArray:
    """(..., N) cos n angle for n = 1 … MODES, as powers of exp(j angle): each from one of half its order."""
    powers = np.empty((*angle.shape, MODES), complex)
    powers[..., 0] = np.cos(angle) + 1j * np.sin(angle)
    done = 1
    while done < MODES:
        more = min(done, MODES - done)
        powers[..., done : done + more] = powers[..., :more] * powers[..., done - 1, None]
        done += more
    return np.ascontiguousarray(powers.real)


@functools.cache
def quadrature(points: int) -> tuple[FloatArray, FloatArray]:
    """Gauss points on −1 … 1 along a layer, and their weights, which sum to one: (points,) arrays,
    dimensionless."""
    nodes, weights = np.polynomial.legendre.leggauss(points)
    return np.asarray(nodes, float), np.asarray(weights / 2, float)


def _spectrum(
    k: FloatArray, centre: FloatArray, breadth: FloatArray, ends: FloatArray, number: int
) -> FloatArray:
    """(B, n, S, N) mean of cos ky over every distribution (sum, for the pair of currents at the ends)."""
    half = k * breadth[..., None] / 2
    spread = np.empty((*breadth.shape, number + 1, len(k)))
    cosine, sine = np.cos(k * centre[..., None]), np.sin(k * centre[..., None])
    for order, bessel in enumerate(spherical_bessel(half, number)):  # mean of P_l exp(jxt) is j^l j_l(x)
        sign = 1.0 if order % 4 in (0, 3) else -1.0
        spread[..., order, :] = (sine if order % 2 else cosine) * (sign * bessel)
    if (ends > 0).any():
        over = k * (np.where(ends > 0, ends, 1.0) / 2)[..., None]
        pair = -2 * sine * np.sin(half) * np.sin(over) / over
        spread[..., -1, :] = np.where(ends[..., None] > 0, pair, spread[..., -1, :])
    return spread
