"""Outside the window: the planar field of sections in open space with the mirror in the surface of the leg,
and the inductance of a winding's leads."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from ..cores import MU_0
from ..design import Design, FloatArray, Real
from .planar import IndexArray, pair_indices, unpack, window_arguments

LEAD_INDUCTANCE = 0.4e-6
"""H per metre of both ends together: a loose pair of wires has about 0.8 µH per metre of pair, (μ0/π) ln(D/r)
at D/r = 7 (textbook formula from memory; the distance is common practice, no source)."""
LEAD_INDUCTANCE_ERROR = 0.25
"""Standard relative error of this figure: 0.5 … 1.2 µH per metre of pair for D/r = 3.5 … 20 (judged)."""

_WORKING_SET = 32_000  # array elements per step: stays in a core's second-level cache


def outside(sections: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Interaction of rectangular sections in open space, and with their images in the leg, per metre.

        free_ij  = −(μ0/2π) ⟨ln ρ⟩ over section i and section j ,
        image_ij = −(μ0/2π) ⟨ln ρ⟩ over section i and section j mirrored, x → −x ,

    the means of the logarithmic kernel in closed form: second differences in x and in y over the corners of

        f(x, y) = (6x²y² − x⁴ − y⁴)/48 · ln(x² + y²) + (xy/6) (x² atan(y/x) + y² atan(x/y)) .

    Beside a leg whose surface x = 0 continues as an infinitely permeable plane the interaction is free +
    image (images in such a half space have the same sign). The matrices are only meaningful for ampere-turns
    that sum to zero, as a constant is free (lengths are relative to the reach of the sections, for
    precision); NI·K·NI/2 is then the energy per metre (J/m).

    Validity: any rectangles, but their fourth differences lose (reach/size)⁴ of the 16 digits: sections down
    to a thousandth of the reach in both directions, thinner in one.

    Parameters
    ----------
    sections : (..., n, 4) array, x0, x1, y0, y1 of each section, m; x from the surface of the leg

    Returns
    -------
    free : (..., n, n) array, interaction in open space, H per metre and turn²; symmetric
    image : (..., n, n) array, interaction with the images, H per metre and turn²; symmetric

    References
    ----------
    T. J. Higgins, "Formulas for the geometric mean distances of rectangular areas", J. Appl. Phys. 14, 1943;
    images: X. Margueron et al., IEEE Trans. Ind. Appl. 46(3), 2010 (both from memory).
    """
    blocks, _, shape = window_arguments(sections)
    count = blocks.shape[1]
    first, second = pair_indices(count)
    free, image = np.empty((len(first), len(blocks))), np.empty((len(first), len(blocks)))
    size = max(1, _WORKING_SET // (16 * max(1, len(first))))
    for start in range(0, len(blocks), size):
        part = slice(start, start + size)
        free[:, part], image[:, part] = _logarithmic_pairs(blocks[part], first, second)
    return unpack(free, count, shape), unpack(image, count, shape)


def _logarithmic_pairs(
    blocks: FloatArray, first: IndexArray, second: IndexArray
) -> tuple[FloatArray, FloatArray]:
    """free and image of the section pairs: (pairs, builds) each."""
    x0, x1, y0, y1 = blocks.transpose(2, 1, 0)  # each (n, builds)
    bottom = y0.min(axis=0)
    reach = np.maximum(2 * x1.max(axis=0), y1.max(axis=0) - bottom)
    x0, x1, y0, y1 = x0 / reach, x1 / reach, (y0 - bottom) / reach, (y1 - bottom) / reach
    area = (x1 - x0) * (y1 - y0)
    scale = -MU_0 / (2 * math.pi) / (area[first] * area[second])
    # Second differences of an even f: + for the ends (1, 0) and (0, 1), − for (1, 1) and (0, 0).
    across = np.stack(
        [x1[first] - x0[second], x0[first] - x1[second], x1[first] - x1[second], x0[first] - x0[second]]
    )
    mirrored = np.stack(
        [x1[first] + x1[second], x0[first] + x0[second], x1[first] + x0[second], x0[first] + x1[second]]
    )
    along = np.stack(
        [y1[first] - y0[second], y0[first] - y1[second], y1[first] - y1[second], y0[first] - y0[second]]
    )
    return scale * _corner_sum(across, along), scale * _corner_sum(mirrored, along)


def _corner_sum(x: FloatArray, y: FloatArray) -> FloatArray:
    """Σ± f over the 4 × 4 corner differences x, y (4, pairs, builds): ∬∬ ln ρ up to a constant, (pairs,
    builds)."""
    x, y = np.abs(x)[:, None], np.abs(y)[None]
    x2, y2 = x * x, y * y
    square = x2 + y2
    angle = np.arctan2(y, x)
    logarithm = np.log(np.maximum(square, 1e-300))
    f = (8 * x2 * y2 - square * square) / 48 * logarithm
    f += x * y / 6 * (x2 * angle + y2 * (math.pi / 2 - angle))
    rows = f[0] + f[1] - f[2] - f[3]
    return np.asarray(rows[0] + rows[1] - rows[2] - rows[3])


def lead_inductance(design: Design, name: str) -> Real:
    """Inductance of the two leads of a winding, lying side by side: 0.4 µH/m × ``lead_length`` of both ends.

    It links nothing else and adds to leakage as a shorting link does. Range: leads side by side as a loose
    pair; twisted leads have half of it, leads spread apart twice. A wider loop (a fault) adds its own
    inductance.

    Parameters
    ----------
    design : Design of one or B builds
    name : str, of the winding

    Returns
    -------
    float or (B,) array, inductance, H
    """
    winding = design.winding(name)
    return LEAD_INDUCTANCE * winding.lead_length + winding.loop_inductance
