"""Leakage on a U core with both legs wound.

One window holds the sections of both legs, and each leg has its own outside. Where ampere-turns sum to zero
on each leg,

    W = W'_in l_in + Σ over the legs [ W'_in,leg D + W'_out,leg (l_out − D) ]   (``leakage_field``)

Others set one yoke against the other, and the field closes through open space. With s the share of leg 1 in
the ampere-turn drop of the core, and F counted round the core, the upper yoke stands against the lower one at

    V = Σ_i v_i F_i,   v = 1 − s on leg 1 and −s on leg 2

Windings thin as sheets on the legs have the energy of the core's surface at V and the ramps of the windings,
½ μ0 xᵀ M x (``u_exterior``). Windings as thick as they are differ from sheets

- in the window by the planar field of the sections less that of sheets, over the depth of the leg;
- on the three outer faces of each leg by their field beside a mirror less that of sheets (``open_space``);
- around the edges of the leg by ∫ (g² − 2g)/b dA of the first order, of which ``EDGES`` remains: g the part
  of a winding that lies farther out, b its breadth.

The part of a distribution that does sum to zero on each leg is taken as above.

The reluctance R of iron and gaps in the legs, parallel to each other, takes its part: κ = 1/(1 + μ0 M_VV R).

This is the project's own model. Compared with three-dimensional field solutions it deviates by −1.8 … +0.3 %
(``tests/reference/test_u_opposed.py``).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from ..cores import MU_0
from ..design import Dimensions, FloatArray, IntArray
from ..winding import X0, X1, Y0, Y1
from .leakage_field import WindowFields, around_one_leg, window_fields
from .open_space import outside
from .planar import planar_window
from .u_exterior import WAVES, u_exterior

EDGES = 0.15
"""Part of the first order that remains around the edges of a leg, where the potential falls off faster than
beside its faces (calibrated on the field solutions of tests/reference/test_u_opposed.py)."""
BALANCED = 0.02
"""Ampere-turns that may remain on a leg, relative, for the field that needs no open space (judged)."""
_SHEET = 1e-3
"""Thickness of a sheet over the width of the window (measured on a U core: half and twice move an opposing
inductance by 0.02 and 0.03 %)."""


@dataclass(frozen=True, kw_only=True)
class TwoLegFields:
    """Fields of a U core with both legs wound.

    Attributes
    ----------
    dimensions : Dimensions of the core
    sections : (B, n, 4) array, x0, x1, y0, y1 of each section, m; x from the surface of its own leg
    window : (B, n, n) array, interaction of all sections in the one window, H per metre and turn²
    legs : tuple of ((k,) array of int, WindowFields)
        For each leg the sections that lie on it (index), and their own fields, H per metre and turn².
    leg_share : (B,) array, share of leg 1 in the ampere-turn drop, dimensionless
    reluctance : (B,) array, of the two legs with their gaps, in parallel, 1/H
    """

    dimensions: Dimensions
    sections: FloatArray
    window: FloatArray
    legs: tuple[tuple[IntArray, WindowFields], ...]
    leg_share: FloatArray
    reluctance: FloatArray

    @cached_property
    def opposed(self) -> FloatArray:
        """(B, n, n) interaction for ampere-turns that do not sum to zero on each leg, H per turn²."""
        return _opposed_interaction(self)


def two_leg_fields(
    dimensions: Dimensions,
    sections: FloatArray,
    legs: Sequence[int],
    leg_share: ArrayLike = 1.0,
    reluctance: ArrayLike = 0.0,
    *,
    cover: float | None = None,
) -> TwoLegFields:
    """The fields of a U core whose legs are both wound.

    Turns on both legs that drive the flux the same way round the core run through the window in the same
    direction. Ampere-turns counted round the core therefore keep their sign in the window; only x of leg 2 is
    mirrored.

    Parameters
    ----------
    dimensions : Dimensions of the core
    sections : (B, n, 4) array, x0, x1, y0, y1 of each section, m; x from the surface of its own leg
    legs : sequence of int, leg of each section, count from 1
    leg_share : float or (B,) array, share of leg 1 in the ampere-turn drop, dimensionless
    reluctance : float or (B,) array, of the two legs with their gaps, in parallel, 1/H
    cover : float or None
        Part of a turn under the core that overrides the geometry, dimensionless; None: by geometry.

    Raises
    ------
    BuildError
        As ``window_fields``.
    """
    width, height = dimensions.window
    number, count = np.asarray(legs), len(sections)
    placed = sections.copy()
    second = number == 2
    placed[:, second, X0] = width - sections[:, second, X1]
    placed[:, second, X1] = width - sections[:, second, X0]
    share = np.broadcast_to(np.asarray(leg_share, float), (count,))
    parts = []
    for leg, part in ((1, share), (2, 1.0 - share)):
        on_leg = np.flatnonzero(number == leg)
        parts.append((on_leg, window_fields(dimensions, sections[:, on_leg], part, cover=cover)))
    return TwoLegFields(
        dimensions=dimensions,
        sections=sections,
        window=planar_window(width, height, placed, leg_share=share),
        legs=tuple(parts),
        leg_share=share,
        reluctance=np.broadcast_to(np.asarray(reluctance, float), (count,)),
    )


def one_leg_alone(
    dimensions: Dimensions,
    sections: FloatArray,
    window: WindowFields,
    leg_share: ArrayLike,
    reluctance: ArrayLike,
) -> FloatArray:
    """Interaction of sections on one leg of a U core for ampere-turns that do not sum to zero.

    Beside the core's own permeance: with the other leg bare the yokes stand against each other at the drop
    across it, and the air around the core carries flux in parallel with it.

    Parameters
    ----------
    dimensions : Dimensions of the core
    sections : (B, n, 4) array, x0, x1, y0, y1 of each section, m; x from the surface of the leg
    window : WindowFields, their fields
    leg_share : float or (B,) array, share of their leg in the ampere-turn drop, dimensionless
    reluctance : float or (B,) array, of the two legs with their gaps, in parallel, 1/H

    Returns
    -------
    (B, n, n) array, interaction, H per turn²; symmetric
    """
    count, n = sections.shape[:2]
    width, height = dimensions.window
    share = np.broadcast_to(np.asarray(leg_share, float), (count,))
    fields = TwoLegFields(
        dimensions=dimensions,
        sections=sections,
        window=planar_window(width, height, sections, leg_share=share),
        legs=((np.arange(n), window), (np.arange(0), window)),
        leg_share=share,
        reluctance=np.broadcast_to(np.asarray(reluctance, float), (count,)),
    )
    return fields.opposed


def with_net_turns(balanced: FloatArray, alone: FloatArray, ampere_turns: FloatArray) -> FloatArray:
    """Interaction that is ``balanced`` for ampere-turns that sum to zero, and ``alone`` for what remains.

    What remains lies where the distribution has its ampere-turns; evenly where it has none.

    Parameters
    ----------
    balanced : (B, T, n, n) array, interaction for ampere-turns that sum to zero, H per turn²
    alone : (B, n, n) array, interaction of what remains (``one_leg_alone``), H per turn²
    ampere_turns : (B, T, n) array, distributions, A

    Returns
    -------
    (B, T, n, n) array, interaction, H per turn²; symmetric
    """
    size = np.abs(np.asarray(ampere_turns, float))
    whole = np.sum(size, axis=-1, keepdims=True)
    part = np.where(whole > 0, size / np.where(whole > 0, whole, 1.0), 1 / size.shape[-1])
    taken = np.eye(size.shape[-1]) - part[..., :, None]
    rest = alone[:, None]
    return np.asarray(rest + np.swapaxes(taken, -1, -2) @ (balanced - rest) @ taken)


def leg_imbalance(fields: TwoLegFields, flow: FloatArray) -> FloatArray:
    """Ampere-turns of distributions that remain on a leg of a U core, relative to all of them.

    Parameters
    ----------
    fields : TwoLegFields, of the sections
    flow : (..., n) array, ampere-turns of each section, A

    Returns
    -------
    (...,) array, part that remains, dimensionless; 0 without ampere-turns
    """
    second = fields.legs[1][0]
    left = np.abs(np.sum(flow[..., second], axis=-1))
    return np.asarray(left / np.maximum(np.sum(np.abs(flow), axis=-1) / 2, 1e-300))


def two_leg_interaction(fields: TwoLegFields, ampere_turns: FloatArray) -> FloatArray:
    """Interaction of the sections for T distributions of ampere-turns.

    Distributions that sum to zero on each leg are as on one leg (``interaction``); a leg without any has only
    its part of the window. A distribution of zeros has no field.

    Parameters
    ----------
    fields : TwoLegFields, of the sections
    ampere_turns : (B, T, n) array, ampere-turns of each section, A; each distribution sums to zero

    Returns
    -------
    (B, T, n, n) array, interaction, H per turn²; symmetric
    """
    flow = np.asarray(ampere_turns, float)
    apart = leg_imbalance(fields, flow) > BALANCED
    if not apart.any():
        return _balanced_interaction(fields, flow)
    # what sums to zero on each leg, and the map to it: each leg's net ampere-turns lie where it carries most
    size = np.abs(flow)
    taken = np.zeros((*flow.shape, flow.shape[-1]))
    for on_leg, _ in fields.legs:
        part = size[..., on_leg] / np.maximum(np.sum(size[..., on_leg], axis=-1, keepdims=True), 1e-300)
        taken[..., on_leg[:, None], on_leg] = part[..., None]
    taken = np.eye(flow.shape[-1]) - np.where(apart[..., None, None], taken, 0.0)
    within = np.matmul(taken, flow[..., None])[..., 0]
    within = np.where(np.abs(within) > 1e-9 * np.max(size, axis=-1, keepdims=True), within, 0.0)
    balanced = _balanced_interaction(fields, within)
    better = np.swapaxes(taken, -1, -2) @ (balanced - fields.opposed[:, None]) @ taken
    return np.where(apart[..., None, None], fields.opposed[:, None] + better, balanced)


def _balanced_interaction(fields: TwoLegFields, flow: FloatArray) -> FloatArray:
    """``two_leg_interaction`` for ampere-turns that sum to zero on each leg."""
    covered = np.zeros((*flow.shape[:2], 1, 1))
    parts = []
    for on_leg, part in fields.legs:
        whole, lengths = around_one_leg(part, flow[..., on_leg])
        busy = np.any(flow[..., on_leg] != 0, axis=-1)[..., None, None]
        under = np.where(busy, lengths.covered[..., None, None], 0.0)
        covered = np.maximum(covered, under)
        parts.append((on_leg, whole, under * part.inside[:, None]))
    result = covered * fields.window[:, None]
    for on_leg, whole, inside in parts:
        result[..., on_leg[:, None], on_leg[None, :]] += whole - inside
    return result


def _opposed_interaction(fields: TwoLegFields) -> FloatArray:
    """``TwoLegFields.opposed``."""
    dimensions, sections, share = fields.dimensions, fields.sections, fields.leg_share
    count, n = sections.shape[:2]
    width, height = dimensions.window
    first = np.zeros(n, bool)
    first[fields.legs[0][0]] = True
    sign = np.where(first, 1.0, -1.0)  # ampere-turns upwards, of those round the core
    leg = dimensions.wound_leg
    deep = leg.covered * leg.perimeter
    form = u_exterior(leg.area / deep, deep, width, height, dimensions.surround[2])
    held = 1 / (1 + MU_0 * form[0, 0] * fields.reluctance)
    across = np.where(first, 1 - share[:, None], -share[:, None]) * held[:, None]
    shape = np.zeros((count, n, 1 + 2 * WAVES))
    shape[..., 0] = across / np.sqrt(held)[:, None]
    waves = _amplitudes(height, sections) * sign[:, None]
    for begin, (on_leg, _) in zip((1, 1 + WAVES), fields.legs, strict=True):
        shape[:, on_leg, begin : begin + WAVES] = waves[:, on_leg]
    result = MU_0 * shape @ form @ np.swapaxes(shape, 1, 2)
    sheets = sections.copy()
    sheets[..., X0] = np.where(first, 0.0, width * (1 - _SHEET))
    sheets[..., X1] = np.where(first, width * _SHEET, width)
    thin = planar_window(width, height, sheets, leg_share=share)
    result += deep * (fields.window - thin)
    for on_leg, _ in fields.legs:
        if not len(on_leg):
            continue
        rest = across - np.where(np.isin(np.arange(n), on_leg), sign, 0.0)
        result += _outer_sides(sections, on_leg, sign, rest, (leg.perimeter - deep, width, height))
    return np.asarray(result)


def _amplitudes(height: float, sections: FloatArray) -> FloatArray:
    """(B, n, WAVES) sines of the ramp of one ampere-turn, less the straight line: 2/(kπ) times the mean of
    cos kπy/h."""
    k = np.arange(1, WAVES + 1) * math.pi / height
    middle = (sections[..., Y0] + sections[..., Y1])[..., None] / 2
    half = (sections[..., Y1] - sections[..., Y0])[..., None] / 2
    return np.asarray(2 / (k * height) * np.cos(k * middle) * np.sinc(k * half / math.pi))


def _outer_sides(
    sections: FloatArray,
    on_leg: IntArray,
    sign: FloatArray,
    rest: FloatArray,
    lengths: tuple[float, float, float],
) -> FloatArray:
    """(B, n, n) what the thickness of the windings on one leg, the sections ``on_leg``, changes on its three
    outer sides: along its faces by images in the leg, around its edges to first order.

    ``sign``: +1 for ampere-turns upwards (n,). ``rest``: (B, n) V less the ampere-turns of this leg.
    ``lengths``: of the three faces together, of the window across and along the leg (m).
    """
    edge, width, height = lengths
    thick = sections[:, on_leg]
    sheet = thick.copy()
    sheet[..., X0], sheet[..., X1] = 0.0, _SHEET * width
    free, image = outside(np.concatenate([thick, sheet], axis=1))
    mirrored = free + image
    k = len(on_leg)
    faces = mirrored[:, :k, :k] - mirrored[:, k:, k:]
    x0, x1, y0, y1 = np.moveaxis(thick, -1, 0)
    breadth = y1 - y0
    ends = np.sort(np.concatenate([np.zeros((len(x0), 1)), x0, x1], axis=1), axis=1)
    points, weights = np.polynomial.legendre.leggauss(4)
    span = np.diff(ends, axis=1)[..., None]
    t = (ends[:, :-1, None] + span * (points + 1) / 2).reshape(len(x0), -1)
    measure = (span * weights / 2).reshape(len(x0), -1)
    farther = np.clip((x1[:, None] - t[..., None]) / np.maximum(x1 - x0, 1e-12)[:, None], 0.0, 1.0)
    shared = np.minimum(y1[:, :, None], y1[:, None]) - np.maximum(y0[:, :, None], y0[:, None])
    shared = np.maximum(shared, 0.0) / (breadth[:, :, None] * breadth[:, None])
    arcs = 2 * math.pi * t * measure
    around = np.einsum("bti,btj,bt->bij", farther, farther, arcs) * shared
    alone = np.einsum("bti,bt->bi", farther, arcs)
    around = EDGES * (around - (alone[..., :, None] + alone[..., None, :]) * shared)
    result = np.zeros((*sections.shape[:2], sections.shape[1]))
    result[:, on_leg[:, None], on_leg] = edge * faces + MU_0 * around
    alone = (EDGES * alone + edge * np.einsum("bti,bt->bi", farther, measure)) * sign[on_leg]
    beside = np.zeros_like(result)
    beside[:, on_leg] = alone[..., None] * (rest / height)[:, None]
    return np.asarray(result - MU_0 * (beside + np.swapaxes(beside, 1, 2)))
