"""The field at the layers themselves: what drives eddy currents in their wires.

The window's series (see ``field_planar``) evaluated on the middle line of every layer. Both
components, squared and
averaged along the layer, are quadratic forms in the sections' ampere-turns: partial layers, margins
and unequal
breadths are seen as they are (the squared-field idea of Sullivan 2001, from memory).
"""

from __future__ import annotations

import math

import numpy as np

from .design import FloatArray

MODES = 48
"""Half waves along the window: the field is resolved to a fiftieth of its height."""
POINTS = 8
"""Gauss points along each layer."""
_WORKING_SET = 400_000


def mean_squares(
    width: float, height: float, blocks: FloatArray, leg_share: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Mean square of the field along each layer and across it, (B, n, n, n) each, (A/m)² per ampere-turn².

    blocks (B, n, 4) : x0, x1, y0, y1 (m) of uniform current density between walls of infinite
    permeability. Entry
    [b, i] is the form whose value NI·Q·NI is the mean over the middle line of layer i of H_y² (along), H_x²
    (across). Source j contributes, with k = nπ/h, c its mean of cos ky, g the kernel of ``planar_window``,

        H_y = −F_j(x)/h − (2/h) Σ c cos ky ∂⟨g⟩/∂x,   H_x = −(2/h) Σ c k sin ky ⟨g⟩ .

    leg_share (B,) : anchors ampere-turns that do not sum to zero. Range: uniform current density in
    the sources.
    """
    count, n = blocks.shape[:2]
    along, across = np.empty((count, n, n, n)), np.empty((count, n, n, n))
    size = max(1, _WORKING_SET // (MODES * n * max(n, POINTS)))
    weights = np.polynomial.legendre.leggauss(POINTS)[1] / 2
    for start in range(0, count, size):
        part = slice(start, start + size)
        tangential, normal = layer_fields(width, height, blocks[part], leg_share[part])
        for target, values in ((along, tangential), (across, normal)):
            target[part] = np.swapaxes(values * weights[:, None], -1, -2) @ values
    return along, across


def layer_fields(
    width: float, height: float, blocks: FloatArray, leg_share: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """H_y and H_x (A/m per ampere-turn) at the Gauss points of every layer's middle line: (B, n,
    POINTS, n), the
    last axis counts the sources. Arguments as for ``mean_squares``."""
    x0, x1, y0, y1 = np.moveaxis(blocks, -1, 0)
    thickness, breadth = np.maximum(x1 - x0, 1e-12), y1 - y0
    place = (x0 + x1) / 2
    k = (np.arange(1, MODES + 1) * math.pi / height)[:, None, None]  # (N, 1, 1) against (B, n)
    source = np.cos(k * (y0 + y1) / 2) * np.sinc(k * breadth / (2 * math.pi))
    to_leg = (np.exp(-k * x0) - np.exp(-k * x1)) / (k * thickness)
    to_wall = (np.exp(-k * (width - x1)) - np.exp(-k * (width - x0))) / (k * thickness)
    once = np.exp(-k * width)
    mirror = 1 / (1 - once**2)
    leg_image, wall_image = (to_leg + once * to_wall) * mirror, (to_wall + once * to_leg) * mirror
    at_leg, at_wall = np.exp(-k * place)[..., None], np.exp(-k * (width - place))[..., None]
    from_start = place[:, :, None] - x0[:, None, :]
    from_stop = place[:, :, None] - x1[:, None, :]
    waves = k[..., None]
    near_start, near_stop = np.exp(-waves * np.abs(from_start)), np.exp(-waves * np.abs(from_stop))
    depth = thickness[:, None, :]
    direct = (np.sign(from_start) * (1 - near_start) - np.sign(from_stop) * (1 - near_stop)) / (waves * depth)
    value = direct + at_leg * leg_image[:, :, None, :] + at_wall * wall_image[:, :, None, :]
    slope = (near_start - near_stop) / (waves * depth)
    slope = slope - at_leg * leg_image[:, :, None, :] + at_wall * wall_image[:, :, None, :]
    value, slope = value * source[:, :, None, :], slope * source[:, :, None, :]
    gauss = np.polynomial.legendre.leggauss(POINTS)[0]
    points = ((y0 + y1) / 2)[..., None] + (breadth / 2)[..., None] * gauss
    phase = np.moveaxis(k[..., None] * points, 0, -1)  # (B, n, q, N)
    plain = np.clip(from_start / depth, 0.0, 1.0) - leg_share[:, None, None]
    # ⟨g⟩ = value/(2k), ∂⟨g⟩/∂x = slope/2
    tangential = plain[:, :, None, :] / height - np.cos(phase) @ np.moveaxis(slope, 0, -2) / height
    normal = -np.sin(phase) @ np.moveaxis(value, 0, -2) / height
    return tangential, normal
