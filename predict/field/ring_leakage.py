"""Leakage on rings: the interaction of windings that cover the whole circumference."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from ..cores import MU_0
from ..design import FloatArray, ToroidDimensions


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
    dimensions : ToroidDimensions
        Dimensions of the core.
    offsets : (B, n, 2) array
        Where the shell of each winding begins and ends above the surface of the ring, on all four faces, m.
    leg_share : float or (B,) array
        Share in the ampere-turn drop, dimensionless (``planar_window``).

    Returns
    -------
    (B, n, n) array
        Interaction, H per turn².
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
