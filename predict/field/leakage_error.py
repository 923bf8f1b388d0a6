"""How far the leakage model errs for a layout, as it states of itself."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..design import Dimensions, FloatArray
from ..winding import X1

CONCENTRIC_ERROR, SIDE_BY_SIDE_ERROR = 0.01, 0.02
"""Standard relative errors of the model: half of the worst deviation from three-dimensional field
solutions."""
OVAL_ERROR = 0.02
"""Added (in squares) for an oval leg in full, the rectangular and the round form's own differ by less
(judged)."""
TOROID_ERROR = 0.03
"""The same for rings: wires fan out between hole and outside (common practice, no source)."""

SECTOR_ERROR = 0.05
"""Rings with windings on sectors: the deviation from finite elements (``ring_sectors``), wires that fan out,
and ends of sectors that are not where they are drawn (judged)."""

THICK_SECTOR_ERROR = 0.3
"""Added to it (in squares) per unit by which the build exceeds 0.3 of the hole's radius: −7 % at 0.53."""


def expected_error(
    dimensions: Dimensions,
    sections: FloatArray,
    legs: Sequence[int] | None = None,
    arcs: Sequence[float | None] = (),
) -> FloatArray:
    """(B,) standard relative error that the model states of itself for sections (B, n, 4).

    Concentric (any two sections that are apart across the window, or cover each other along the leg)
    against side by side; rings apart; oval legs wider. legs : the leg of each section; those on different
    legs are not side by side. arcs : on rings the angle that each section covers (rad), None all round. From
    the comparison with three-dimensional field solutions.
    """
    if dimensions.ring:
        whole = all(arc is None for arc in arcs)
        if whole:
            return np.full(sections.shape[0], TOROID_ERROR)
        build = np.max(sections[..., X1], axis=-1) / (dimensions.window[0])
        return np.asarray(np.hypot(SECTOR_ERROR, THICK_SECTOR_ERROR * np.maximum(build - 0.3, 0.0)))
    x0, x1, y0, y1 = np.moveaxis(sections, -1, 0)
    shared = np.minimum(x1[:, :, None], x1[:, None]) - np.maximum(x0[:, :, None], x0[:, None])
    thin = np.minimum((x1 - x0)[:, :, None], (x1 - x0)[:, None])
    apart = (y0[:, :, None] >= y1[:, None] - 1e-9) | (y0[:, None] >= y1[:, :, None] - 1e-9)
    number = np.zeros(sections.shape[1]) if legs is None else np.asarray(legs)
    same = number[:, None] == number[None, :]
    beside = np.any((shared > 0.5 * thin) & apart & same, axis=(1, 2))
    error = np.where(beside, SIDE_BY_SIDE_ERROR, CONCENTRIC_ERROR)
    return np.hypot(error, OVAL_ERROR * dimensions.ovality)
