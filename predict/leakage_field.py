"""From the window's two-dimensional fields to the interaction of whole turns: the leakage model.

A turn lies partly under the core (the window's planar or axisymmetric field) and partly outside it (open
space beside the leg, whose surface mirrors). With the energies per metre W'_in, W'_out of one distribution
of ampere-turns that sums to zero,

    W = k_in W'_in (l_in + D) + k_out W'_out (l_out − D)

where l_in + l_out is the turn's length at the centroid x_E of the energy, D the length by which the sides of
the outer legs extend the inside, and k the curvature of round legs. Only x_E, k, D depend on the
distribution; the energies are quadratic forms whose matrices all tests of a build share. Exact lengths,
coefficients and their calibration: ``_lengths``.

Accuracy against three-dimensional field solutions: concentric windings 2.0 % worst, 0.2 % median; sections
side by side 3.3 %, 0.7 %. Sources: X. Margueron et al., IEEE Trans. Ind. Appl. 46(3), 2010 (images
outside); M. Lambert et al., IEEE Trans. Power Del. 28(1), 2013 (inside and outside) (from memory); edge
extension, corner mirror and yoke cover: this project, calibrated on field solutions.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from .design import (
    Dimensions,
    EDimensions,
    FloatArray,
    PotDimensions,
    RoundDimensions,
    ToroidDimensions,
)
from .errors import BuildError, Fault
from .field import centroid_forms, outside, planar_window, round_window
from .magnetizing import MU_0

EDGE_EXTENSION = 0.23
"""χ: how far, in window heights, leakage flux outside still reaches the side of an outer leg (calibrated)."""
EDGE_CAP = 6.0
"""The edge extension counts at most this many window widths of the height (calibrated)."""
CORNER_MIRROR = 0.5
"""The part of the mirror that is missing at the corners of a rectangular leg (calibrated)."""
CONCENTRIC_ERROR, SIDE_BY_SIDE_ERROR = 0.01, 0.02
"""Standard relative errors of the model: half of the worst deviation from three-dimensional field
solutions."""
TOROID_ERROR = 0.03
"""The same for rings: wires fan out between hole and outside (common practice, no source)."""


@dataclass(frozen=True)
class WindowFields:
    """What all tests of a batch of builds share. (B, n, n) matrices, H per metre and turn² unless said.

    inside : in the window. free, image : beside the leg, open space and mirror. yoke : between yokes that
    overhang, no outer leg (round legs; else None). energy, moment : quadratic forms of the centroid.
    axisymmetric : in the window of a round leg, H per turn² over the whole turn (else None). width, height
    : of the window (m).
    outermost : (B,) where the winding ends, middle : (B, n) of each section, across the window (m).
    cover : part of a turn under the core, overriding the geometry, or None.
    """

    dimensions: EDimensions | RoundDimensions | PotDimensions
    width: float
    height: float
    inside: FloatArray
    free: FloatArray
    image: FloatArray
    yoke: FloatArray | None
    energy: FloatArray
    moment: FloatArray
    axisymmetric: FloatArray | None
    outermost: FloatArray
    middle: FloatArray
    cover: float | None


def window_fields(
    dimensions: Dimensions, sections: FloatArray, leg_share: ArrayLike = 1.0, *, cover: float | None = None
) -> WindowFields:
    """Solve the window of a core for sections (B, n, 4) = x0, x1, y0, y1 (m), x from the leg's surface.

    leg_share : (B,), see ``planar_window``. Raises BuildError for U cores and rings, whose windows this
    model does not describe, and for sections outside the window.
    """
    if not isinstance(dimensions, EDimensions | RoundDimensions | PotDimensions):
        raise BuildError(
            Fault("core", "a U core or a ring", "a core with a centre leg", "U cores are not supported yet.")
        )
    round_leg = not isinstance(dimensions, EDimensions)
    height = dimensions.window_height
    width = (
        dimensions.window_width
        if isinstance(dimensions, EDimensions)
        else (dimensions.window_diameter - dimensions.leg_diameter) / 2
    )
    free, image = outside(sections)
    energy, moment = centroid_forms(width, height, sections)
    yoke = axisymmetric = None
    if round_leg:
        yoke = planar_window(width + 4 * max(width, height), height, sections, leg_share=leg_share, modes=64)
        radius = dimensions.leg_diameter / 2  # type: ignore[union-attr]
        rings = sections + radius * np.array([1.0, 1.0, 0.0, 0.0])
        axisymmetric = round_window(radius, radius + width, height, rings, leg_share=leg_share)
    return WindowFields(
        dimensions=dimensions,
        width=width,
        height=height,
        inside=planar_window(width, height, sections, leg_share=leg_share),
        free=free,
        image=image,
        yoke=yoke,
        energy=energy,
        moment=moment,
        axisymmetric=axisymmetric,
        outermost=np.max(sections[..., 1], axis=-1),
        middle=(sections[..., 0] + sections[..., 1]) / 2,
        cover=cover,
    )


def _form(matrix: FloatArray, flow: FloatArray) -> FloatArray:
    """NI·K·NI for (..., n, n) and (..., T, n): (..., T)."""
    return np.asarray(np.einsum("...ti,...ij,...tj->...t", flow, matrix, flow))


def _yoke_cover(dimensions: RoundDimensions | PotDimensions, outermost: FloatArray) -> FloatArray:
    """c: the part of the outside that lies under overhanging yokes; (B,), 1 for full discs.

    Mean over the outside directions φ (from the plate's middle line) of how far the plate of half depth b_y
    reaches over the winding, clip((b_y/sin φ − r_c)/(r_wind − r_c), 0, 1).
    """
    if isinstance(dimensions, PotDimensions):
        return np.ones_like(outermost)
    radius = dimensions.leg_diameter / 2
    start = _plate_angle(dimensions)
    angles = start + (math.pi / 2 - start) * (np.arange(64) + 0.5) / 64
    reach = dimensions.depth / 2 / np.sin(angles) - radius
    return np.asarray(np.clip(reach / np.maximum(outermost, 1e-9)[:, None], 0.0, 1.0).mean(axis=-1))


def _plate_angle(dimensions: RoundDimensions | PotDimensions) -> float:
    """φ0: half the angle, in one quadrant, under which a turn lies inside (rad)."""
    if isinstance(dimensions, PotDimensions):
        return math.pi / 2 - dimensions.slots * dimensions.slot_angle / 4
    return math.asin(min(dimensions.depth / dimensions.window_diameter, 1.0))


@dataclass(frozen=True)
class _Lengths:
    """Turn lengths of one distribution (m), (B, T): inside and outside with the edge extension applied; the
    whole turn."""

    inside: FloatArray
    outside: FloatArray
    whole: FloatArray


def _lengths(fields: WindowFields, centroid: FloatArray) -> _Lengths:
    """l_in + D and l_out − D for the energy's centroid x_E (B, T).

    Rectangular leg, half widths a and b, outer leg of half depth b_y: l_in = 4 min(b_y, b), l_out = 4a +
    4(b − b_y)⁺ + 2π x_E. Round leg: l = 2π(r_c + x_E), l_in = l φ0/(π/2), φ0 = asin(b_y/r_o) for plates,
    π/2 less the half angle of the slots for pots. D = min(4 χ min(h, 6w) ρ, 0.9 l_out), ρ = x_E/w or (r_c +
    x_E)/(r_c + w).
    """
    dimensions, width = fields.dimensions, fields.width
    if isinstance(dimensions, EDimensions):
        a, b, b_y = dimensions.leg_width / 2, dimensions.leg_depth / 2, dimensions.outer_depth / 2
        corner = (8 - 2 * math.pi) * dimensions.leg_corner
        inside = np.full_like(centroid, 4 * min(b_y, b))
        outer = 4 * a + 4 * max(b - b_y, 0.0) - corner + 2 * math.pi * centroid
        ratio = centroid / width
    else:
        radius = dimensions.leg_diameter / 2
        whole = 2 * math.pi * (radius + centroid)
        inside = whole * _plate_angle(dimensions) / (math.pi / 2)
        outer = whole - inside
        ratio = (radius + centroid) / (radius + width)
    whole = inside + outer
    if fields.cover is not None:
        inside = fields.cover * whole
        outer = whole - inside
    edges = 2 * dimensions.slots if isinstance(dimensions, PotDimensions) else 4
    reach = edges * EDGE_EXTENSION * min(fields.height, EDGE_CAP * width) * ratio
    extension = np.minimum(reach, 0.9 * outer)
    return _Lengths(inside + extension, outer - extension, whole)


def interaction(fields: WindowFields, ampere_turns: FloatArray) -> FloatArray:
    """(B, T, n, n) interaction (H per turn²) of the sections for T distributions ``ampere_turns`` (B, T, n).

    Each distribution sums to zero and sets its own x_E, k, D; its energy is NI·K·NI/2. Ampere-turns that
    do not sum to zero (open tests, ratio) are anchored as the in-window matrix is: K_out = −½ D_out + a +
    aᵀ with D_out the pair invariants K_ii + K_jj − 2 K_ij and a_i = ½ K_in,ii W'_out/W'_in. Symmetric;
    positive semidefinite on ampere-turns that sum to zero. A distribution of zeros gives zeros.
    """
    dimensions = fields.dimensions
    flow = np.asarray(ampere_turns, float)
    quiet = ~np.any(flow != 0, axis=-1)
    energy = _form(fields.energy, flow)
    size = np.sum(np.abs(flow), axis=-1)
    own = np.sum(flow**2 * np.diagonal(fields.energy, axis1=-2, axis2=-1)[:, None], axis=-1)
    # Opposing sections whose blocks coincide make no block field: only the near field is left.
    fieldless = energy <= 1e-9 * own
    place = np.sum(np.abs(flow) * fields.middle[:, None], axis=-1) / np.where(quiet, 1.0, size)
    centroid = np.where(fieldless, place, _form(fields.moment, flow) / np.where(fieldless, 1.0, energy))
    centroid = np.clip(centroid, 0.0, fields.width)
    lengths = _lengths(fields, centroid)
    mirror = (fields.free + fields.image)[:, None]
    if isinstance(dimensions, EDimensions):
        whole_outside = np.maximum(
            lengths.whole - 4 * min(dimensions.outer_depth, dimensions.leg_depth) / 2, 1e-9
        )
        missing = CORNER_MIRROR * 2 * math.pi * centroid / whole_outside
        beside = mirror - missing[..., None, None] * fields.image[:, None]
        inner, inner_length = fields.inside[:, None], lengths.inside
        curved = np.ones_like(centroid)
    else:
        assert fields.yoke is not None
        assert fields.axisymmetric is not None
        cover = _yoke_cover(dimensions, fields.outermost)[:, None, None, None]
        beside = (1 - cover) * mirror + cover * fields.yoke[:, None]
        radius = dimensions.leg_diameter / 2
        around = 2 * math.pi * (radius + centroid)
        inner, inner_length = fields.axisymmetric[:, None], lengths.inside / around
        planar = np.where(fieldless, 1.0, _form(fields.inside, flow))
        curved = np.where(fieldless, 1.0, _form(fields.axisymmetric, flow) / (planar * around))
    outer_length = lengths.outside * (1 + curved) / 2
    inside_matrix = inner * inner_length[..., None, None]
    outer = beside * outer_length[..., None, None]
    diagonal = np.diagonal(outer, axis1=-2, axis2=-1)
    pairs = diagonal[..., :, None] + diagonal[..., None, :] - 2 * outer
    inside_energy = np.einsum("bti,btij,btj->bt", flow, inside_matrix, flow)
    outside_energy = np.einsum("bti,btij,btj->bt", flow, outer, flow)
    scale = np.where(fieldless, 0.0, outside_energy / np.where(fieldless, 1.0, inside_energy))
    anchor = np.diagonal(inside_matrix, axis1=-2, axis2=-1) * scale[..., None] / 2
    result = inside_matrix - pairs / 2 + anchor[..., :, None] + anchor[..., None, :]
    return np.where(quiet[..., None, None], 0.0, result)


def toroid_interaction(
    dimensions: ToroidDimensions, offsets: FloatArray, leg_share: ArrayLike = 1.0
) -> FloatArray:
    """(B, n, n) interaction (H per turn²) of full-turn windings on a ring.

    offsets (B, n, 2) : where each winding's shell begins and ends above the ring's surface (m), on all four
    faces. The field is that of the enclosed ampere-turns, H = F/(2πr):

        W = μ0/2 ∫ F(t)² w(t) dt,   w(t) = (H+2t)/(2π(r1−t)) + (H+2t)/(2π(r2+t)) + ln[(r2+t)/(r1−t)]/π

    F_i(t) = leg_share − (part of shell i within t), piecewise linear; the integral is taken with eight
    Gauss points between neighbouring edges, exact to 1e-12. Range: windings around the whole ring, t below
    the hole's radius r1.
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


def expected_error(dimensions: Dimensions, sections: FloatArray) -> FloatArray:
    """(B,) standard relative error that the model states of itself for sections (B, n, 4).

    Concentric (any two sections that are apart across the window, or cover each other along the leg)
    against side by side; rings apart. From the comparison with three-dimensional field solutions, see the
    module.
    """
    if isinstance(dimensions, ToroidDimensions):
        return np.full(sections.shape[0], TOROID_ERROR)
    x0, x1, y0, y1 = np.moveaxis(sections, -1, 0)
    shared = np.minimum(x1[:, :, None], x1[:, None]) - np.maximum(x0[:, :, None], x0[:, None])
    thin = np.minimum((x1 - x0)[:, :, None], (x1 - x0)[:, None])
    apart = (y0[:, :, None] >= y1[:, None] - 1e-9) | (y0[:, None] >= y1[:, :, None] - 1e-9)
    beside = np.any((shared > 0.5 * thin) & apart, axis=(1, 2))
    return np.where(beside, SIDE_BY_SIDE_ERROR, CONCENTRIC_ERROR)
