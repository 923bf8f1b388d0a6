"""The air around a U core between whose yokes a magnetic potential lies: opposing windings on both legs.

Ampere-turns that do not sum to zero on each leg set one yoke against the other, and flux goes from yoke to
yoke through the window and through open space. The surface of the core (iron of infinite permeability) has
the potential ½ and −½ on the yokes and a ramp along each leg. With the ramp as a straight line plus sines,

    Ω = V z/h + Σ_k a_k sin(kπ(z/h + ½)),    2 W = μ0 xᵀ M x,   x = (V, a_1 … of leg 1, a_1 … of leg 2)

M follows from the flux q = −∂Ω/∂n that leaves the surface, by Green's third identity at the middles of
rectangles of uniform q, denser towards the edges, with the three planes of symmetry of the core:

    ∮ G q dA' = ½ Ω − ∮ Ω ∂G/∂n' dA',   G = 1/(4πR)

The core as a whole floats: no net flux leaves it. Potential and solid angle of a rectangle: standard closed
forms (from memory). This is the project's own model.
"""

from __future__ import annotations

import functools
import itertools
import math

import numpy as np

from ..design import FloatArray

WAVES = 8
"""Sines along each leg. Their amplitudes fall as 1/k², their energy as 1/k³ (measured
on a U core: 16 move an opposing inductance by 0.07 %, 4 by 0.7 %)."""
_CELLS, _STRIPS = 4, 3
"""Rectangles across each face of an eighth of the core, and strips of each in which Ω is uniform. Measured on
a U core: 6 and 2 rectangles move an opposing inductance by 0.18 and 1.1 %, 6 strips by 0.001 %."""


@functools.lru_cache(maxsize=32)
def u_exterior(
    leg_width: float, leg_depth: float, window_width: float, window_height: float, back: float
) -> FloatArray:
    """The form M of the air around a U core, window included.

    Accuracy: ``tests/reference/test_u_opposed.py``. Range: positive lengths.

    Parameters
    ----------
    leg_width : float, width of a leg, across the window, m
    leg_depth : float, m
    window_width : float, distance from leg to leg, m
    window_height : float, m
    back : float, thickness of a yoke, m

    Returns
    -------
    (1 + 2 WAVES, 1 + 2 WAVES) array, M, m; symmetric, positive semidefinite
    """
    panels, outward = _panels(leg_width, leg_depth / 2, window_width / 2, window_height / 2, back)
    middle = panels.mean(axis=1)
    area = np.prod(np.where(panels[:, 1] > panels[:, 0], panels[:, 1] - panels[:, 0], 1.0), axis=-1)
    strips = _strips(panels)  # (STRIPS p, 2, 3): the potential varies within a rectangle of a leg
    facing = np.repeat(outward, _STRIPS, axis=0)
    signs = list(itertools.product((1.0, -1.0), repeat=3))
    single = {sign: _potential(middle * sign, panels) for sign in signs}
    double = {sign: _solid_angle(middle * sign, strips, facing) for sign in signs}
    height = window_height

    def levels_at(at: FloatArray) -> FloatArray:
        on_leg = np.abs(at[:, 2]) <= height / 2 * (1 - 1e-9)
        line = np.where(on_leg, at[:, 2] / height, 0.5)
        waves = np.where(on_leg, np.sin(k[:, None] * math.pi * (at[:, 2] / height + 0.5)), 0.0)
        return np.concatenate([line[None], waves, np.ones((1, len(at)))])

    k = np.arange(1, WAVES + 1)
    at_middle, on_strips = levels_at(middle), levels_at(strips.mean(axis=1))
    mean = on_strips.reshape(len(at_middle), len(panels), _STRIPS).mean(axis=-1)
    result = np.zeros((1 + 2 * WAVES, 1 + 2 * WAVES))
    for across, upward in itertools.product((1, -1), repeat=2):
        # x even: half the sum of both legs, and what both have; odd: half their difference
        modes = np.flatnonzero((k % 2 == 1) == (upward == 1))
        rows = 1 + modes
        to_whole = np.zeros((len(modes), 1 + 2 * WAVES))
        to_whole[np.arange(len(modes)), 1 + modes] = 0.5
        to_whole[np.arange(len(modes)), 1 + WAVES + modes] = 0.5 * across
        if (across, upward) == (1, -1):
            rows = np.concatenate([[0], rows])
            to_whole = np.concatenate([np.eye(1, 1 + 2 * WAVES), to_whole])
        floats = (across, upward) == (1, 1)
        if floats:
            rows = np.concatenate([rows, [1 + WAVES]])
        parity = {sign: (across if sign[0] < 0 else 1) * (upward if sign[2] < 0 else 1) for sign in signs}
        near = np.sum([single[sign] * parity[sign] for sign in signs], axis=0)
        beyond = np.sum([double[sign] * parity[sign] for sign in signs], axis=0)
        flux = np.linalg.solve(near, (at_middle[rows] / 2 - on_strips[rows] @ beyond.T).T).T
        levels = mean[rows]
        if floats:
            of_core = flux[-1]
            flux = (flux - (flux @ area / (of_core @ area))[:, None] * of_core)[:-1]
            levels = levels[:-1]
        form = 8 * (levels * area) @ flux.T
        result += to_whole.T @ ((form + form.T) / 2) @ to_whole
    return result


def _panels(
    width: float, deep: float, inner: float, top: float, back: float
) -> tuple[FloatArray, FloatArray]:
    """Low and high corners of the rectangles on an eighth of the core (p, 2, 3), and (p,) whether their
    outward normal is along its axis (1) or against it (−1)."""
    xs = _graded(0.0, inner, dense="high"), _graded(inner, inner + width, dense="both")
    ys = _graded(0.0, deep, dense="high")
    leg, yoke = _graded(0.0, top, dense="high", cells=_CELLS + 2), _graded(top, top + back, dense="both")
    x, y, z = 0, 1, 2
    outer = inner + width
    faces = [
        (y, deep, 1, xs[1], leg), (y, deep, 1, xs[1], yoke), (y, deep, 1, xs[0], yoke),
        (x, outer, 1, ys, leg), (x, outer, 1, ys, yoke), (x, inner, -1, ys, leg),
        (z, top + back, 1, xs[0], ys), (z, top + back, 1, xs[1], ys), (z, top, -1, xs[0], ys),
    ]  # fmt: skip
    panels, outward = [], []
    for axis, at, normal, along, across_face in faces:
        along_first, along_second = (coordinate for coordinate in (x, y, z) if coordinate != axis)
        for low, high in itertools.pairwise(along):
            for begin, end in itertools.pairwise(across_face):
                panel = np.full((2, 3), at)
                panel[:, along_first], panel[:, along_second] = (low, high), (begin, end)
                panels.append(panel)
                outward.append(float(normal))
    return np.array(panels), np.array(outward)


def _strips(panels: FloatArray) -> FloatArray:
    """(STRIPS p, 2, 3) every rectangle in equal strips across z (one that is flat in z: across x)."""
    axis = np.where(panels[:, 1, 2] > panels[:, 0, 2], 2, 0)
    result = np.repeat(panels, _STRIPS, axis=0)
    axis, row = np.repeat(axis, _STRIPS), np.arange(len(result))
    low, high = result[row, 0, axis], result[row, 1, axis]
    number = row % _STRIPS
    result[row, 0, axis] = low + (high - low) * number / _STRIPS
    result[row, 1, axis] = low + (high - low) * (number + 1) / _STRIPS
    return result


def _graded(low: float, high: float, *, dense: str, cells: int = _CELLS) -> list[float]:
    """Ends of cells from ``low`` to ``high``, denser towards the upper end or both."""
    even = np.linspace(0.0, 1.0, cells + 1)
    place = np.sin(even * math.pi / 2) if dense == "high" else (1 - np.cos(even * math.pi)) / 2
    return list(low + (high - low) * place)


def _potential(points: FloatArray, panels: FloatArray) -> FloatArray:
    """(q, p) potential at the points (q, 3) of rectangles of unit charge density: ∫ dA/(4π R)."""
    result = np.zeros((len(points), len(panels)))
    for axis in range(3):
        flat = np.flatnonzero(panels[:, 0, axis] == panels[:, 1, axis])
        first, second = (place for place in range(3) if place != axis)
        away = np.abs(points[:, None, axis] - panels[flat, 0, axis])
        total = np.zeros_like(away)
        for i, j in itertools.product((0, 1), repeat=2):
            u = panels[flat, i, first] - points[:, None, first]
            v = panels[flat, j, second] - points[:, None, second]
            reach = np.sqrt(u * u + v * v + away * away)
            here = u * _log(v, reach, u * u + away * away) + v * _log(u, reach, v * v + away * away)
            here -= away * np.arctan2(u * v, away * reach)
            total += here if i == j else -here
        result[:, flat] = total / (4 * math.pi)
    return result


def _solid_angle(points: FloatArray, panels: FloatArray, outward: FloatArray) -> FloatArray:
    """(q, p) solid angle over 4π under which points (q, 3) see the rectangles, negative from behind."""
    result = np.zeros((len(points), len(panels)))
    for axis in range(3):
        flat = np.flatnonzero(panels[:, 0, axis] == panels[:, 1, axis])
        first, second = (place for place in range(3) if place != axis)
        away = points[:, None, axis] - panels[flat, 0, axis]
        total = np.zeros_like(away)
        for i, j in itertools.product((0, 1), repeat=2):
            u = panels[flat, i, first] - points[:, None, first]
            v = panels[flat, j, second] - points[:, None, second]
            angle = np.arctan2(u * v, np.abs(away) * np.sqrt(u * u + v * v + away * away))
            total += angle if i == j else -angle
        result[:, flat] = np.where(away == 0, 0.0, np.sign(away) * total) * outward[flat] / (4 * math.pi)
    return result


def _log(side: FloatArray, reach: FloatArray, rest: FloatArray) -> FloatArray:
    """ln(side + reach) with reach² = side² + rest, without cancellation where side is negative."""
    whole = np.where(side >= 0, side + reach, rest / np.maximum(reach - side, 1e-300))
    return np.asarray(np.log(np.maximum(whole, 1e-300)))
