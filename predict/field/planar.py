"""The planar field in the window of a core: ``planar_window``, and what the window solutions share.

Window: 0 ≤ x ≤ width from the surface of the centre leg to the outer leg, 0 ≤ y ≤ height from the lower to
the upper yoke, all four walls of infinite permeability (the tangential field vanishes on them). Currents flow
along z. Section i carries NI_i ampere-turns at uniform density over [x0, x1] × [y0, y1].
"""

from __future__ import annotations

import functools
import math
from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..cores import MU_0
from ..design import FloatArray
from ..errors import BuildError, Fault
from ..winding import ACROSS, UPRIGHT, X0, X1

IndexArray: TypeAlias = NDArray[np.intp]

LEAST_MODES = 96
MOST_MODES = 1024
MODES_PER_BREADTH = 4.0
"""Harmonics of the field in the window: fewest, most, and half waves for each narrowest breadth
(``tests/exact/test_fields.py`` shows the convergence)."""
_WORKING_SET = 16_000  # array elements per step: stays in a core's second-level cache


def planar_window(
    width: ArrayLike,
    height: ArrayLike,
    sections: ArrayLike,
    *,
    leg_share: ArrayLike = 1.0,
    modes: int | None = None,
    series: Literal["along", "across"] | None = None,
) -> FloatArray:
    """Interaction of rectangular sections in a window with permeable walls, per metre into the plane.

    The vector potential is a cosine series along y whose terms are exact functions of x (Rogowski's single
    series). With k = nπ/h and c_ni the mean of cos ky over section i,

        K_ij = (μ0/h) ∫ F_i F_j dx + (2 μ0/h) Σ_n c_ni c_nj ⟨g_n⟩_ij ,

    g_n(x, x') = cosh(k x<) cosh(k (w − x>)) / (k sinh kw), ⟨·⟩_ij the mean over x in section i and x' in
    section j, F_i(x) = leg_share − (the part of section i within [0, x]) the ampere-turn function of the
    plain (n = 0) term. With v_i the difference of exp(−kx), and a_i that of [exp(−k(w−x)) − exp(−k(w+x))]/√(1
    − exp(−2kw)), between the ends of section i, the double integral of g_n is

        { k · overlap_ij − ½ Σ± exp(−k |x_i − x_j|) + ½ (v_i v_j + a_i a_j) } / k³

    (the sum over the four pairs of ends, + for like ends, − for unlike ones): open space and the images in
    the two walls, each symmetric and positive semidefinite. No exponential ever grows, and any overlap in x
    and y is allowed. Flat conductors, thin along the leg, would need very many terms; for these the series
    runs across the window and is exact along it. The two forms differ in the return that the plain term gives
    unbalanced ampere-turns; with a uniform return on both sides,

        ∫ F_i F_j dq = q_max/3 + ½ (⟨q²⟩_i + ⟨q²⟩_j)/q_max − ½ (⟨q⟩_i + ⟨q⟩_j + ⟨|q − q'|⟩_ij)

    is common to both, and the anchoring of the first form follows from it.

    Validity: uniform current density (low frequency), walls of infinite permeability. 96 modes leave less
    than 0.02 % on the two-dimensional field solutions of the tests (foils of 0.3 % of the height included).

    Parameters
    ----------
    width, height : (...,) array
        Width and height of the window, m.
    sections : (..., n, 4) array
        x0, x1, y0, y1 of each section, m, in any order; they may touch and overlap.
    leg_share : float or (...,) array
        Share of the centre leg in the ampere-turn drop of the core, dimensionless; it only matters for
        ampere-turns that do not sum to zero.
    modes : int or None
        Terms of the series, count; None: at least four half waves per narrowest breadth, at least 96 and at
        most 1024.
    series : Literal['along', 'across'] or None
        "along" the leg or "across" the window; None: the direction that needs fewer terms.

    Returns
    -------
    (..., n, n) array
        K, H per metre and turn²; symmetric. For NI that sum to zero NI·K·NI/2 is the energy per metre (J/m).

    Raises
    ------
    BuildError
        If a section leaves the window (named, with the amount) or has no extent.

    References
    ----------
    W. Rogowski, "Ueber das Streufeld und den Streuinduktionskoeffizienten eines Transformators mit
    Scheibenwicklung", VDI Forschungsarbeiten 71, 1909 (series; from memory); anchoring by leg_share: this
    project.
    """
    blocks, (w, h, share), shape = window_arguments(sections, width, height, leg_share)
    check_inside(w, h, blocks)
    along = modes_for(h, blocks[..., UPRIGHT], LEAST_MODES)
    across = modes_for(w, blocks[..., ACROSS], LEAST_MODES)
    turned = np.full(len(w), series == "across") if series else across < along
    terms = np.where(turned, across, along) if modes is None else np.full(len(w), modes)
    count = blocks.shape[1]
    first, second = pair_indices(count)
    size = max(1, _WORKING_SET // (4 * len(first)))
    pairs = np.empty((len(first), len(w)))
    for number, crosswise in sorted(set(zip(terms.tolist(), turned.tolist(), strict=True))):
        rows = np.flatnonzero((terms == number) & (turned == crosswise))
        for part in (rows[start : start + size] for start in range(0, len(rows), size)):
            pairs[:, part] = _planar_pairs(
                w[part], h[part], share[part], blocks[part], (first, second), number, crosswise
            )
    return unpack(pairs, count, shape)


def _planar_pairs(
    w: FloatArray,
    h: FloatArray,
    share: FloatArray,
    blocks: FloatArray,
    pairs: tuple[IndexArray, IndexArray],
    modes: int,
    turned: bool,
) -> FloatArray:
    """K of the section pairs (first, second): shape (pairs, builds)."""
    first, second = pairs
    x0, x1, y0, y1 = np.ascontiguousarray(blocks.transpose(2, 1, 0))  # each (n, builds)
    plain = plain_term(w, share, (x0 + x1) / 2, mean_difference(x0, x1, first, second), first, second)
    if not turned:
        return np.asarray(MU_0 / h * (2 * _series((w, h), (x0, x1), (y0, y1), pairs, modes) + plain))
    free = MU_0 / w * (2 * _series((h, w), (y0, y1), (x0, x1), pairs, modes))
    free += MU_0 / w * _uniform_return(h, y0, y1, first, second)
    return np.asarray(free + MU_0 / h * (plain - _uniform_return(w, x0, x1, first, second)))


def _uniform_return(
    span: FloatArray, start: FloatArray, stop: FloatArray, first: IndexArray, second: IndexArray
) -> FloatArray:
    """∫ F_i F_j dq over [0, span], F_i = q/span − (part of section i within [0, q]): (pairs, B)."""
    mean, square = (start + stop) / 2, (start * start + start * stop + stop * stop) / 3
    difference = mean_difference(start, stop, first, second)
    self_term = square / span - mean
    return np.asarray(span / 3 + (self_term[first] + self_term[second] - difference) / 2)


def _series(
    window: tuple[FloatArray, FloatArray],
    across: tuple[FloatArray, FloatArray],
    along: tuple[FloatArray, FloatArray],
    pairs: tuple[IndexArray, IndexArray],
    modes: int,
) -> FloatArray:
    """Σ c_ni c_nj ⟨g_n⟩_ij, n = 1 … modes, a cosine series along y (0 … h), exact along x (0 … w): (pairs,
    B)."""
    (w, h), (x0, x1), (y0, y1), (first, second) = window, across, along, pairs
    thickness = x1 - x0
    centre, breadth = (y0 + y1) / 2, y1 - y0
    overlap = np.maximum(np.minimum(x1[first], x1[second]) - np.maximum(x0[first], x0[second]), 0.0)
    apart = np.abs(
        np.stack(
            [x1[first] - x1[second], x0[first] - x0[second], x1[first] - x0[second], x0[first] - x1[second]]
        )
    )
    kappa = math.pi / h
    block = min(modes, max(1, _WORKING_SET // apart.size))
    number = np.arange(1.0, block + 1.0)[:, None, None]
    ends = np.stack([x1, x0, w - x1, w - x0])  # (4, n, builds)
    decay = np.exp(-kappa * number[..., None] * apart)  # (block, 4, pairs, builds)
    decay_ends = np.exp(-kappa * number[..., None] * ends)  # (block, 4, n, builds)
    decay_width = np.exp(-kappa * number * w)  # (block, 1, builds)
    advance, advance_ends = np.exp(-kappa * block * apart), np.exp(-kappa * block * ends)
    advance_width = np.exp(-kappa * block * w)

    total = np.zeros((len(first), len(w)))
    for start in range(0, modes, block):
        if start:
            decay *= advance
            decay_ends *= advance_ends
            decay_width = decay_width * advance_width
        used = min(block, modes - start)
        k = (number[:used] + start) * kappa  # (used, 1, builds)
        mean = mean_cosine(k, centre, breadth) / (k * np.sqrt(k) * thickness)
        leg = decay_ends[:used, 0] - decay_ends[:used, 1]
        wall = decay_ends[:used, 2] - decay_ends[:used, 3] - decay_width[:used] * leg
        wall /= np.sqrt(1 - decay_width[:used] ** 2)
        near = decay[:used]
        kernel = near[:, 2] + near[:, 3]
        kernel -= near[:, 0]
        kernel -= near[:, 1]
        kernel += leg[:, first] * leg[:, second]
        kernel += wall[:, first] * wall[:, second]
        kernel *= 0.5
        kernel += k * overlap
        kernel *= mean[:, first]
        kernel *= mean[:, second]
        total += kernel.sum(axis=0)
    return total


# --- shared with the round window -----------------------------------------------------------------


def window_arguments(
    sections: ArrayLike, *scalars: ArrayLike
) -> tuple[FloatArray, list[FloatArray], tuple[int, ...]]:
    """The arguments of a window solution with one flat axis of builds.

    Parameters
    ----------
    sections : (..., n, 4) array, x0, x1, y0, y1 of each section, m
    *scalars : (...,) array, further arguments, one value for each build, SI

    Returns
    -------
    blocks : (B, n, 4) array, sections, m
    values : list of (B,) arrays, further arguments, SI
    shape : tuple of int, of the batch, count

    Raises
    ------
    ValueError
        For sections of another shape.
    """
    blocks = np.asarray(sections, dtype=float)
    if blocks.ndim < 2 or blocks.shape[-1] != 4:
        raise ValueError(f"sections must have the shape (..., n, 4), not {blocks.shape}")
    values = [np.asarray(value, dtype=float) for value in scalars]
    count = len(blocks)
    if blocks.ndim == 3 and {value.shape for value in values} <= {(), (count,)}:
        return blocks, [value if value.ndim else np.full(count, value) for value in values], (count,)
    shape = np.broadcast_shapes(blocks.shape[:-2], *(value.shape for value in values))
    flat = [np.broadcast_to(value, shape).reshape(-1) for value in values]
    return np.broadcast_to(blocks, shape + blocks.shape[-2:]).reshape(-1, *blocks.shape[-2:]), flat, shape


def check_inside(w: FloatArray, h: FloatArray, blocks: FloatArray) -> None:
    """Check that every section lies inside the window and has an extent; rounding is tolerated.

    Parameters
    ----------
    w, h : (B,) array, width and height of the window, m
    blocks : (B, n, 4) array, x0, x1, y0, y1 of each section, m

    Raises
    ------
    BuildError
        For every section that leaves the window or has no extent.
    """
    x0, x1, y0, y1 = blocks.transpose(2, 0, 1)
    slack = 1e-9 * np.maximum(w, h)[:, None]
    fits = (np.minimum(x0, y0) >= -slack) & (x1 <= w[:, None] + slack) & (y1 <= h[:, None] + slack)
    if (fits & (x1 > x0) & (y1 > y0)).all():
        return
    over = np.stack([-x0, x1 - w[:, None], -y0, y1 - h[:, None]], -1)
    extent = np.minimum(x1 - x0, y1 - y0)
    walls = ("the centre leg", "the outer leg", "the lower yoke", "the upper yoke")
    faults = []
    for index in range(blocks.shape[1]):
        worst = over[:, index].max(axis=0) if len(blocks) else np.zeros(4)
        for wall, amount in zip(walls, worst, strict=True):
            if not amount <= slack.max():
                faults.append(
                    Fault(
                        f"section {index + 1}",
                        f"{amount * 1e3:.4g} mm beyond {wall}",
                        "sections inside the window",
                    )
                )
        if not (extent[:, index] > 0).all():
            faults.append(
                Fault(
                    f"section {index + 1}",
                    f"an extent of {extent[:, index].min() * 1e3:.4g} mm",
                    "more than zero",
                )
            )
    raise BuildError(faults or [Fault("sections", "a size that is not a number", "finite lengths")])


def modes_for(size: FloatArray, blocks: FloatArray, least: int) -> IndexArray:
    """Terms of the cosine series that the narrowest interval of each build needs.

    They go in steps of √2, so that the builds of a batch share a few numbers.

    Parameters
    ----------
    size : (B,) array, length of the window along the series, m
    blocks : (B, n, 2) array, beginning and end of each interval, m
    least : int, fewest terms, count

    Returns
    -------
    (B,) array of int, terms, count
    """
    if not blocks.shape[1]:
        return np.full(len(size), least)
    narrowest = (blocks[..., X1] - blocks[..., X0]).min(axis=-1) / size
    steps = np.ceil(2 * np.log2(np.maximum(MODES_PER_BREADTH / narrowest / least, 1.0)) - 1e-9)
    return np.asarray(np.minimum(np.ceil(least * 2 ** (steps / 2)), MOST_MODES), np.intp)


def mean_cosine(wave: FloatArray, centre: FloatArray, breadth: FloatArray) -> FloatArray:
    """Mean of cos ky over an interval: cos k·centre · sin(k·breadth/2)/(k·breadth/2).

    Parameters
    ----------
    wave : (...,) array, wave number k, above zero, 1/m
    centre : (...,) array, middle of the interval, m
    breadth : (...,) array, length of the interval, above zero, m

    Returns
    -------
    (...,) array, dimensionless
    """
    half = wave * (breadth / 2)
    return np.asarray(np.cos(wave * centre) * np.sin(half) / half)


def mean_difference(
    start: FloatArray, stop: FloatArray, first: IndexArray, second: IndexArray, *, squared: bool = False
) -> FloatArray:
    """Mean of |a − b| or |a² − b²|, with a uniform in one interval and b in another.

    The double integral is −Σ± |a − b|³/6, or −Σ± |a − b|³ (a + b)/6, over the four pairs of ends; intervals
    that do not overlap need no such differences.

    Parameters
    ----------
    start, stop : (n, B) array, beginning and end of each interval, m
    first, second : (P,) array of int, interval of a and b for each pair, index
    squared : bool, take |a² − b²|

    Returns
    -------
    (P, B) array, mean, m or m²
    """
    a0, a1, b0, b1 = start[first], stop[first], start[second], stop[second]

    def end(a: FloatArray, b: FloatArray) -> FloatArray:
        return np.asarray(np.abs(a - b) ** 3 * (a + b if squared else 1.0))

    overlapping = (end(a1, b0) + end(a0, b1) - end(a1, b1) - end(a0, b0)) / (6 * (a1 - a0) * (b1 - b0))
    if squared:
        apart = np.abs(a0 * a0 + a0 * a1 + a1 * a1 - b0 * b0 - b0 * b1 - b1 * b1) / 3
    else:
        apart = np.abs(a0 + a1 - b0 - b1) / 2
    return np.where((a1 <= b0) | (b1 <= a0), apart, overlapping)


def plain_term(
    span: FloatArray,
    share: FloatArray,
    mean: FloatArray,
    difference: FloatArray,
    first: IndexArray,
    second: IndexArray,
) -> FloatArray:
    """∫ F_i F_j dq over [0, span], with F_i = share − (part of section i within [0, q]).

    With ⟨q⟩_i (``mean``) and ⟨|q_i − q_j|⟩ (``difference``) it is (1 − s)² span + (s − ½)(⟨q⟩_i + ⟨q⟩_j) −
    ½⟨|q_i − q_j|⟩.

    Parameters
    ----------
    span : (B,) array, length of the window, m (or its area, m²)
    share : (B,) array, share s of the leg in the ampere-turn drop, dimensionless
    mean : (n, B) array, of q over each section, m (or m²)
    difference : (P, B) array, mean difference for each pair, m (or m²)
    first, second : (P,) array of int, first and second section of each pair, index

    Returns
    -------
    (P, B) array, integral, m (or m²)
    """
    return np.asarray((1 - share) ** 2 * span + (share - 0.5) * (mean[first] + mean[second]) - difference / 2)


@functools.lru_cache(maxsize=64)
def pair_indices(count: int) -> tuple[IndexArray, IndexArray]:
    """Every pair of n sections (count) once, a section with itself included: two (n(n + 1)/2,) arrays of the
    first and second section of each pair, index; read-only."""
    first, second = np.triu_indices(count)
    first.flags.writeable = second.flags.writeable = False
    return first, second


def unpack(pairs: FloatArray, count: int, shape: tuple[int, ...]) -> FloatArray:
    """Upper triangles as symmetric matrices.

    Parameters
    ----------
    pairs : (P, B) array, values for the pairs of the upper triangle, SI
    count : int, sections n, count
    shape : tuple of int, of the batch, count

    Returns
    -------
    (..., n, n) array, SI
    """
    first, second = pair_indices(count)
    matrix = np.empty((pairs.shape[1], count, count))
    matrix[:, first, second] = pairs.T
    matrix[:, second, first] = pairs.T
    return matrix.reshape(*shape, count, count)
