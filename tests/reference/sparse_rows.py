"""Electrostatic field solutions of three rows of wires: what wrote ``cases/sparse-rows.jsonl``.

    python tests/reference/sparse_rows.py > tests/reference/cases/sparse-rows.jsonl

A close row, a row of any pitch, and a close row again, with sheets between them, everything else air. One
cell, as broad as the middle row's pitch, with mirrors at both sides; above and below the outer rows three
pitches of air. Scalar potential, scikit-fem, triangles of the second order; every circle is a polygon of the
same mean radius, its surroundings rings that grow with their distance. Written is the Maxwell matrix of the
three rows per metre of the cell (F/m), and the relative change of the mutual ones (12, 13, 23) by the finer
mesh.
"""

from __future__ import annotations

import json
import math
import sys
from typing import Any

import numpy as np
import skfem
from scipy.spatial import Delaunay, cKDTree
from skfem.helpers import dot, grad

EPSILON_0 = 8.8541878128e-12
SIDES = 64
"""Corners of the polygon that stands for a circle."""
ROUND = math.sqrt(math.pi / (SIDES / 2 * math.sin(2 * math.pi / SIDES)))
"""Radius of its corners over that of the circle of equal area."""

CLOSE = {"d": 0.40, "D": 0.46, "pitch": 0.47}
WIRES = {"fine": {"d": 0.40, "D": 0.46}, "thick": {"d": 0.80, "D": 0.88}, "small": {"d": 0.15, "D": 0.18}}


def case(name: str, wire: str, pitches: int, lower: tuple[float, float], upper: tuple[float, float]) -> Any:
    """``lower``, ``upper``: thickness (mm) and relative permittivity of the sheets; ``pitches``: of the close
    rows in one of the middle row."""
    return {
        "id": name,
        "close": CLOSE,
        "middle": {**WIRES[wire], "pitch": CLOSE["pitch"] * pitches},
        "lower": lower,
        "upper": upper,
        "enamel": 3.5,
    }


TAPE, THICK, AIR = (0.12, 3.3), (0.40, 3.3), (1.2, 1.0)
CASES = [
    *(case(f"tape-{n}", "fine", n, TAPE, TAPE) for n in (1, 2, 3, 4, 8, 16, 32)),
    *(case(f"thick-wire-{n}", "thick", n, TAPE, TAPE) for n in (2, 4, 8, 32)),
    *(case(f"barrier-{n}", "fine", n, THICK, THICK) for n in (2, 4, 16)),
    *(case(f"air-{n}", "small", n, AIR, AIR) for n in (1, 2, 4, 8, 32)),
    *(case(f"uneven-{n}", "fine", n, TAPE, AIR) for n in (2, 6, 24)),
]


def circles(layout: dict[str, Any]) -> list[tuple[int, float, float, float, float]]:
    """(row, x, y, conductor's radius, outer radius) of every wire of the cell, mm, and the sheets' places."""
    close, middle = layout["close"], layout["middle"]
    width = middle["pitch"]
    heights = np.cumsum(
        [
            0.0,
            close["D"] / 2 + layout["lower"][0] + middle["D"] / 2,
            middle["D"] / 2 + layout["upper"][0] + close["D"] / 2,
        ]
    )
    number = round(width / close["pitch"])
    found = [(1, width / 2, float(heights[1]), middle["d"] / 2, middle["D"] / 2)]
    for row in (0, 2):
        for k in range(number):
            place = (k + 0.5) * close["pitch"]
            found.append((row, place, float(heights[row]), close["d"] / 2, close["D"] / 2))
    return found


def radii_of(conductor: float, outer: float) -> list[float]:
    """Radii (mm) of the rings of nodes around one wire: its conductor, its insulation, and beyond."""
    radii, step = [conductor, (conductor + outer) / 2, outer], outer - conductor
    while radii[-1] < 1.6 * outer:
        step = min(1.5 * step, 0.15 * outer)
        radii.append(radii[-1] + step)
    return radii


def points_of(layout: dict[str, Any], fine: float) -> tuple[Any, list[tuple[float, float, float]]]:
    """Nodes (mm), and (bottom, top, permittivity) of the sheets."""
    wires, width, close = circles(layout), layout["middle"]["pitch"], layout["close"]
    middle = next(w for w in wires if w[0] == 1)
    sheets = [
        (close["D"] / 2, close["D"] / 2 + layout["lower"][0], layout["lower"][1]),
        (middle[2] + middle[4], middle[2] + middle[4] + layout["upper"][0], layout["upper"][1]),
    ]
    levels = np.array([level for sheet in sheets for level in sheet[:2]])
    below, above = -3 * close["pitch"], max(w[2] for w in wires) + 3 * close["pitch"]
    centre = np.array([(w[1], w[2]) for w in wires])
    outer = np.array([w[4] for w in wires]) * ROUND

    def nearest(points: Any) -> Any:
        return np.min(np.linalg.norm(points[:, None] - centre, axis=-1) / outer, axis=1)

    # rings around every wire, without what stands within another wire, or is nearer to it
    angle = 2 * math.pi * (np.arange(SIDES) + 0.5) / SIDES
    circle = np.stack([np.cos(angle), np.sin(angle)], -1)
    rings = []
    for wire, at in enumerate(centre):
        for r in radii_of(*wires[wire][3:]):
            ring = at + ROUND * r * circle
            mine = ROUND * r / outer[wire]
            others = np.linalg.norm(ring[:, None] - np.delete(centre, wire, 0), axis=-1)
            others = np.min(others / np.delete(outer, wire), axis=1)
            rings.append(ring[(mine < 1.0001) | (others > max(mine, 1.03))])
    ring = np.concatenate(rings)
    ring = ring[(ring[:, 0] > -1e-9) & (ring[:, 0] < width + 1e-9)]
    off = np.min(np.abs(ring[:, 1, None] - levels), axis=1) > 0.25 * fine
    ring = ring[(nearest(ring) < 1.0001) | off]
    # lines along the sheets' faces, and a grid of triangles everywhere else
    xs = np.linspace(0, width, max(round(width / fine), 8) + 1)
    ys = np.arange(below, above, fine * math.sqrt(3) / 2)
    lines = np.concatenate([np.stack([xs, np.full(len(xs), y)], -1) for y in (*levels, below, above)])
    lines = lines[nearest(lines) > 1.0]
    lines = lines[cKDTree(ring).query(lines)[0] > 0.25 * fine]
    rows = [xs if k % 2 == 0 else xs[:-1] + xs[1] / 2 for k in range(len(ys))]
    grid = np.concatenate(
        [np.stack([row, np.full(len(row), y)], -1) for row, y in zip(rows, ys, strict=True)]
        + [np.stack([np.full(len(ys), x), ys], -1) for x in (0.0, width)]
    )
    grid = grid[nearest(grid) > 1.05]
    grid = grid[cKDTree(np.concatenate([ring, lines])).query(grid)[0] > 0.6 * fine]
    return np.unique(np.round(np.concatenate([ring, lines, grid]), 9), axis=0), sheets


def solve(layout: dict[str, Any], fine: float) -> Any:
    """(3, 3) Maxwell capacitance matrix of the rows per metre of a cell (F/m)."""
    wires = circles(layout)
    points, sheets = points_of(layout, fine)
    triangles = Delaunay(points).simplices
    corner = points[triangles]
    one, two = corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]
    area = np.abs(one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]) / 2
    middle = corner.mean(axis=1)
    centre = np.array([(w[1], w[2]) for w in wires])
    away = np.linalg.norm(middle[:, None] - centre, axis=-1)
    copper = np.any(away < np.array([w[3] for w in wires]) * 0.9995, axis=1)
    keep = (area > 1e-12) & ~copper
    triangles, middle, away = triangles[keep], middle[keep], away[keep]
    used, inverse = np.unique(triangles, return_inverse=True)
    connected = np.ascontiguousarray(inverse.reshape(triangles.shape).T)
    mesh = skfem.MeshTri(np.ascontiguousarray(points[used].T), connected)
    epsilon = np.ones(len(triangles))
    for bottom, top, value in sheets:
        epsilon[(middle[:, 1] > bottom) & (middle[:, 1] < top)] = value
    epsilon[np.any(away < np.array([w[4] for w in wires]), axis=1)] = layout["enamel"]
    basis = skfem.Basis(mesh, skfem.ElementTriP2())
    flat = skfem.Basis(mesh, skfem.ElementTriP0(), quadrature=basis.quadrature)
    stiffness = skfem.BilinearForm(lambda u, v, w: w.eps * dot(grad(u), grad(v))).assemble(
        basis, eps=flat.interpolate(epsilon)
    )
    potential = []
    place = basis.doflocs.T
    row = np.full(len(place), -1)
    for kind, x, y, a, _ in wires:
        row[np.hypot(place[:, 0] - x, place[:, 1] - y) < a * ROUND * 1.0001] = kind
    fixed = np.flatnonzero(row >= 0)
    for kind in range(3):
        value = (row == kind).astype(float)
        potential.append(skfem.solve(*skfem.condense(stiffness, x=value, D=fixed)))
    v = np.array(potential)
    return np.asarray(EPSILON_0 * v @ (stiffness @ v.T))


def main() -> None:
    """Write all cases, or those named in the arguments."""
    for layout in CASES:
        if len(sys.argv) > 1 and layout["id"] not in sys.argv[1:]:
            continue
        coarse, finer = solve(layout, 0.045), solve(layout, 0.03)
        record = {
            **layout,
            "C": finer.tolist(),
            "change": np.abs(finer / coarse - 1)[np.triu_indices(3, 1)].tolist(),
        }
        print(json.dumps(record), flush=True)


if __name__ == "__main__":
    main()
