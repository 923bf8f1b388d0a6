"""The air gap of a core: its reluctance with the fringing field, from the real leg and window.

The section of the gap itself carries μ0 A/g. Around it flux bulges into the window. With the iron on both
sides at magnetic potential zero and one, the bulge is a field between two coplanar surfaces (a gap along the
leg) or between a surface and the yoke (a gap at the end of the leg). In the window, as everywhere in this
package, it is a cosine series along the leg: the current missing in the gap is a sheet of −1 A over the
height of the gap, and the terms n ≥ 1 of its energy are the fringing flux. (The term n = 0, a uniform field
along the window, is that of the winding against the leg and belongs to the sections, see
``magnetizing.window_permeance``.) Per metre of edge, for a leg with a flat surface and a wide window,

    Λ/μ0 = (1/π) Σ_m sinc²(m g/h)/m = (1/π) [3/2 − ln x + x²/144 + x⁴/43200 + …],   x = 2π g/h ,

twice that for a gap at the end (the yoke mirrors it). Two corrections, both derived:

- the field at the pole's corners is not uniform over the gap's height: conformal mapping of a corner against
  a plane replaces 3/2 by 1 + ln(π/2) (Balakrishnan, Joines and Wilson, IEEE Trans. Power Electron. 12(4),
  1997; Mühlethaler, Kolar and Ecklebe, ECCE Asia 2011; both from memory);
- every term is multiplied by how a wave cos(ky) outside a round leg in a round window differs from one beside
  a plane, (K1 + β I1)/(K0 − β I0) at k r with β = K0(kR)/I0(kR). Exact for pots; the sharp edges of a
  rectangular leg add (4/π) ln(3/2) = 0.516 of what a round leg's curvature adds (derived,
  ``forms.SHARP_CORNER``).

Compared with axisymmetric finite elements (twelve pots, gaps 0.05–2 mm in the middle and at the end, flat
windows) the whole AL agrees within 2 %.
"""

from __future__ import annotations

import functools
import math
from dataclasses import replace

import numpy as np

from ..design import Core, Dimensions, FloatArray, Material, Real
from ..forms import LegGeometry
from ..remembered import by_value
from .modified_bessel import scaled_i, scaled_k

MU_0 = 4e-7 * math.pi
"""Permeability of free space (H/m), to 1e-9 of the SI value (exact before 2019)."""

_CORNER = 1.0 + math.log(math.pi / 2)
"""Constant of the permeance of an edge with the true field at the corners; 3/2 if it were uniform
(exact: conformal mapping, see the module)."""
AS_GROUND, LAPPED = 3e-6, 0.9e-6
"""Residual gap (m) of one pair of mating faces, as ground and lapped. Both are near the middle of what
published AL of ungapped sets leave for the faces, l (1/μe − 1/μi)/2: 1.8 to 3.7 µm as ground, 0.8 to 1.3 µm
lapped (RM 8, P 18/11, P 30/19 in T38, 0.5 µm in an EP 13 from memory)."""
BUTTED = 30e-6
"""Residual gap (m) of one butted joint of a laminated stack (common practice, no source: 20 to 50 µm)."""
LAPPED_FROM = 5000.0
"""Initial permeability above which the faces of ferrite sets are taken as lapped (judged on the printed AL
of ungapped sets, tests/published/test_ungapped_sets.py)."""
_MODES = 64


def fringing_permeance(
    gap: Real, leg: LegGeometry, *, at_end: bool = False, shared: bool = False
) -> FloatArray:
    """Permeance of the flux that bulges out around a gap, beside μ0 A/g of its own section.

    Equation: see the module. Range: gap ≤ height of the window (longer gaps count as that height); off-centre
    gaps count as in the middle.

    Parameters
    ----------
    gap : float or (...,) array, length of the gap, m
    leg : LegGeometry, that holds the gap
    at_end : bool, the gap lies at the end of the leg, facing the yoke, instead of in the middle
    shared : bool
        The same ampere-turns drop across an equal gap on the other side of the window (spacers): the field is
        mirrored half way across it.

    Returns
    -------
    (...,) array, permeance, H; 0 without a gap
    """
    length = np.asarray(gap, float)
    bounded = np.minimum(np.maximum(length, 1e-9), leg.height)
    radius = leg.perimeter / leg.turning if leg.turning > 0 else math.inf
    width = leg.width / (2 if shared else 1)
    middle = _edge(bounded, leg.height, radius, width, False)
    edge = middle
    if at_end:
        edge = leg.covered * _edge(bounded, leg.height, radius, width, True) + (1 - leg.covered) * middle
    total = leg.perimeter * edge
    if leg.open_edge > 0:
        reach = np.maximum(leg.tall / bounded, 1.0)
        total = total + leg.open_edge * (_CORNER + np.log(reach)) / math.pi
    return np.where(length > 0, MU_0 * total, 0.0)


def _edge(gap: FloatArray, height: float, radius: float, width: float, at_end: bool) -> FloatArray:
    """Permeance per metre of edge over μ0."""
    x = 2 * math.pi * gap / height
    series = _CORNER - np.log(x) + x**2 / 144 + x**4 / 43200
    half = np.arange(1, _MODES + 1) * (x / 2)[..., None]
    series = series + (np.sin(half) / half) ** 2 @ _wave_ratios(height, radius, width, at_end)
    return np.asarray(np.maximum(series, 0.0) * ((2 if at_end else 1) / math.pi))


@functools.cache
def _wave_ratios(height: float, radius: float, width: float, at_end: bool) -> FloatArray:
    """(_MODES,) (ratio_m − 1)/m, read-only: flux of the wave cos(k y) around the leg over that beside a
    plane, k = 2πm/h (middle) or πm/h (end)."""
    order = np.arange(1, _MODES + 1)
    k = np.asarray(order * (math.pi / height * (1 if at_end else 2)), float)
    decay = np.exp(-2 * k * width)
    if math.isinf(radius):
        ratio = (1 + decay) / (1 - decay)
    else:
        near, far = np.asarray(k * radius, float), np.asarray(k * (radius + width), float)
        beta = scaled_k(0, far) / scaled_i(0, far) * decay  # what remains of exp(∓z)
        ratio = (scaled_k(1, near) + beta * scaled_i(1, near)) / (
            scaled_k(0, near) - beta * scaled_i(0, near)
        )
    weights = np.asarray((ratio - 1) / order, float)
    weights.flags.writeable = False
    return weights


def gap_reluctance(gap: Real, area: Real, fringing: Real = 0.0) -> FloatArray:
    """Reluctance of an air gap with a fringing permeance beside it: 1/(μ0 A/g + Λ) = g/(μ0 A + g Λ).

    Parameters
    ----------
    gap : float or (...,) array, length g, m
    area : float or (...,) array, m²
    fringing : float or (...,) array, fringing permeance Λ, H

    Returns
    -------
    (...,) array, 1/H
    """
    return np.asarray(gap / (MU_0 * np.asarray(area) + gap * np.asarray(fringing)))


@by_value(64)
def ground_gap_reluctances(core: Core) -> tuple[FloatArray, FloatArray]:
    """Reluctances of the ground gap in the centre leg and in the outer legs.

    A gap in the centre leg has the area ``core.gap_area_ratio`` × Ae. Spacers put half of the gap under the
    centre leg and half under the outer legs, with areas in the proportion of the dimensions.

    Parameters
    ----------
    core : Core of one or B builds

    Returns
    -------
    centre : () or (B,) array, reluctance in the centre leg, 1/H
    outer : () or (B,) array, reluctance in the outer legs, 1/H; 0 unless there are spacers
    """
    inner, spacer, at_end = core.dimensions.wound_leg, core.gap_legs == "spacer", core.gap_at == "end"
    area = core.gap_area_ratio * np.asarray(core.effective_area)
    part = core.gap / 2 if spacer else core.gap
    centre = gap_reluctance(part, area, fringing_permeance(part, inner, at_end=at_end, shared=spacer))
    if not spacer:
        return centre, np.zeros_like(centre)
    outer = core.dimensions.return_legs
    around = fringing_permeance(part, outer, at_end=at_end, shared=True)
    return centre, gap_reluctance(part, area * (outer.area / inner.area), around)


def ground_gap_reluctance(core: Core) -> FloatArray:
    """Reluctance of the ground gap with fringing, () or (B,), in 1/H; spacers are two gaps of half the length
    in series."""
    centre, outer = ground_gap_reluctances(core)
    return np.asarray(centre + outer)


def residual_gap(dimensions: Dimensions, material: Material, gap: Real = 0.0) -> float:
    """Gap that one pair of mating faces leaves open where nothing but the grade is known of the set.

    Rings have no faces. Where there is a ground gap, its stated or printed length includes the part of the
    faces: with the permeability of the grade and no gap at the faces, printed tables of AL against gap are
    reproduced (``tests/published``). Ungapped sets have ``AS_GROUND``, grades of high permeability
    ``LAPPED``.

    Parameters
    ----------
    dimensions : Dimensions of the core set
    material : Material, grade of the core
    gap : float or (B,) array, ground gap, m

    Returns
    -------
    float, residual gap, m
    """
    if dimensions.ring or not dimensions.permeable or bool(np.any(np.asarray(gap) > 0)):
        return 0.0
    initial = float(np.max(np.asarray(material.initial_permeability)))
    lapped = material.sheet_thickness <= 0 and LAPPED_FROM <= initial < math.inf
    return LAPPED if lapped else AS_GROUND


def face_reluctance(core: Core) -> FloatArray:
    """Reluctance of the residual gaps, () or (B,), in 1/H: two pairs of mating faces in series, area Ae, no
    fringing."""
    return gap_reluctance(2 * np.asarray(core.face_gap), core.effective_area)


def winding_length(core: Core) -> float:
    """Length along which the winding lies over the gap, m: height of the window, or path length of a ring."""
    dimensions = core.dimensions
    return core.effective_length if dimensions.ring else dimensions.window[1]


def gap_from_reluctance(core: Core, target: Real, near: float | None = None) -> FloatArray:
    """The ground gap whose reluctance with fringing has a given value; inverse of ``ground_gap_reluctance``.

    Secant steps in ln R against ln g, nearly a straight line whose slope lies between 0 and 1. A target
    beyond the reluctance of a gap as high as the window gives a gap longer than that height.

    Parameters
    ----------
    core : Core of one build
    target : float or (B,) array, 1/H
    near : float or None, a gap to begin with, m; None: the one without fringing

    Returns
    -------
    () or (B,) array, length of the gap, m
    """
    wanted = np.asarray(target, float)
    length = wanted * MU_0 * np.asarray(core.effective_area) * core.gap_area_ratio
    length = length if near is None else np.full_like(length, near)
    slope, before, missing_before = np.ones_like(length), length, np.zeros_like(length)
    for step in range(60):
        missing = np.log(wanted / ground_gap_reluctance(replace(core, gap=length)))
        if step > 0:
            moved = np.log(length / before)
            measured = (missing_before - missing) / np.where(np.abs(moved) < 1e-12, 1.0, moved)
            slope = np.where(np.abs(moved) < 1e-12, slope, np.clip(measured, 0.2, 1.0))
        before, missing_before = length, missing
        length = length * np.exp(np.clip(missing / slope, -2.0, 2.0))
        if np.all(np.abs(missing) <= 1e-13) or not np.all(length < 100 * winding_length(core)):
            break
    return np.asarray(length)
