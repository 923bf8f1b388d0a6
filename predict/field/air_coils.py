"""Coaxial coils in open space: inductances without a core, by Maxwell's formula and elliptic integrals.

Two coaxial loops of radii a and b, z apart, have

    m = μ0 √(ab) [(2/k − k) K(k) − (2/k) E(k)],   k² = 4ab/((a + b)² + z²) .

A section is a body of uniform current. Along the axis the mean over both sections is taken exactly: it needs
only the distribution of the distance u between their turns, a trapezium, so that

    M = ∫ w(u) m(a, b, u) du / (l_a l_b) ,

in four stretches between the corners of the trapezium and u = 0. The nodes gather at every corner, where m
may have a logarithm. Across the section equal sheets stand for the thickness t, n of them t n/(n² − 1) apart,
so that the mean distance of two is that of the body, t/3.
"""

from __future__ import annotations

import math

import numpy as np

from ..cores import MU_0
from ..design import FloatArray
from .ring_exterior import complete_elliptic

SHEETS = ((0.05, 2), (0.2, 4), (math.inf, 10))
"""Thickness over radius up to which so many sheets stand for a section (0.1 % of a coil's own inductance,
measured: tests/published/test_air_coils.py)."""
_NODES = 16


def loop_mutual(radius: FloatArray, other_radius: FloatArray, distance: FloatArray) -> FloatArray:
    """Mutual inductance of two coaxial loops, by Maxwell's formula (see the module).

    Parameters
    ----------
    radius, other_radius : (...,) array, m
    distance : (...,) array, of their planes, m; not zero where the radii are equal

    Returns
    -------
    (...,) array, H

    References
    ----------
    J. C. Maxwell, Treatise on Electricity and Magnetism, art. 701; E. B. Rosa, F. W. Grover, Bull. Bureau of
    Standards 8, 1911 (from memory).
    """
    square = distance**2
    sum_square = (radius + other_radius) ** 2 + square
    complement = ((radius - other_radius) ** 2 + square) / sum_square
    k = np.sqrt(1 - complement)
    first, second = complete_elliptic(complement)
    return np.asarray(MU_0 * np.sqrt(radius * other_radius) * ((2 / k - k) * first - 2 / k * second))


def loop_field(radius: FloatArray, r: FloatArray, z: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Field of a loop of one ampere at a point, by Maxwell's elliptic integrals.

        H_z = [K + (a² − r² − z²)/d² E]/(2π s),  H_r = z [−K + (a² + r² + z²)/d² E]/(2π r s)
        s² = (a + r)² + z²,  d² = (a − r)² + z²,  k² = 4 a r/s²

    Parameters
    ----------
    radius : (...,) array, of the loop, a, m
    r : (...,) array, distance of the point from the axis, m; above 0
    z : (...,) array, distance of the point from the plane of the loop, m; the point is not on the loop

    Returns
    -------
    radial : (...,) array, H_r, A/m per ampere
    axial : (...,) array, H_z, A/m per ampere

    References
    ----------
    W. R. Smythe, Static and Dynamic Electricity (from memory).
    """
    far, near = (radius + r) ** 2 + z**2, (radius - r) ** 2 + z**2
    first, second = complete_elliptic(near / far)
    scale = 1 / (2 * math.pi * np.sqrt(far))
    axial = scale * (first + (radius**2 - r**2 - z**2) / near * second)
    radial = scale * z / r * (-first + (radius**2 + r**2 + z**2) / near * second)
    return np.asarray(radial), np.asarray(axial)


def coaxial_interaction(sections: FloatArray, radius: float) -> FloatArray:
    """Mutual inductances per product of turns of coaxial sections in open space.

    Parameters
    ----------
    sections : (B, n, 4) array, x0, x1, y0, y1 of each section, m; x from the former
    radius : float, of the former, m

    Returns
    -------
    (B, n, n) array, interaction, H per turn²; symmetric
    """
    x0, x1, y0, y1 = np.moveaxis(np.asarray(sections, float), -1, 0)
    middle, thickness = radius + (x0 + x1) / 2, x1 - x0
    thick = float(np.max(thickness / middle))
    sheets = next(number for most, number in SHEETS if thick <= most)
    step = thickness * sheets / (sheets**2 - 1)
    positions = middle[..., None] + step[..., None] * (np.arange(sheets) - (sheets - 1) / 2)
    count, n = middle.shape
    result = np.zeros((count, n, n))
    for i in range(n):
        for j in range(i + 1):
            u, weight = _distances(y0[:, i], y1[:, i], y0[:, j], y1[:, j])
            a, b = positions[:, i, :, None, None], positions[:, j, None, :, None]
            mean = np.sum(weight[:, None, None] * loop_mutual(a, b, u[:, None, None]), axis=-1)
            result[:, i, j] = result[:, j, i] = np.mean(mean, axis=(1, 2))
    return result


def _distances(
    y0: FloatArray, y1: FloatArray, z0: FloatArray, z1: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """(B, q) distances between turns of two sections and their weights, which sum to 1 in each build."""
    long, short = np.maximum(y1 - y0, 1e-9), np.maximum(z1 - z0, 1e-9)
    corners = np.stack([z0 - y1, z0 - y0, z1 - y1, z1 - y0], axis=-1)
    corners = np.sort(np.concatenate([corners, np.zeros((len(long), 1))], axis=-1), axis=-1)
    least, most = (z0 - y1)[:, None], (z1 - y0)[:, None]
    nodes, weights = np.polynomial.legendre.leggauss(_NODES)
    t = (nodes + 1) / 2
    # s = t³ (10 − 15 t + 6 t²): ends where m has a logarithm get nodes that gather there
    s, slope = t**3 * (10 - 15 * t + 6 * t**2), 30 * t**2 * (1 - t) ** 2
    low = np.clip(corners[:, :-1], least, most)[..., None]
    high = np.clip(corners[:, 1:], least, most)[..., None]
    u = (low + (high - low) * s).reshape(len(long), -1)
    measure = ((high - low) * slope * weights / 2).reshape(len(long), -1)
    reach = np.minimum(np.minimum(u - least, most - u), np.minimum(long, short)[:, None])
    return np.maximum(np.abs(u), 1e-12), np.asarray(
        measure * np.maximum(reach, 0.0) / (long * short)[:, None]
    )
