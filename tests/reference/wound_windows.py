"""Electrostatic finite-element solutions of whole windows with round wires, for ``wound-windows.jsonl``.

Two windings of two layers each in a window between four core walls, planar, per metre of turn: every wire a
conductor in its enamel, sheets of tape, bobbin. Points on circles and sheets, Delaunay triangles, quadratic
elements (scikit-fem). Energies of four patterns of potentials, the walls at zero: all of P at 1 V, all of S
at 1 V, and each running evenly over its turns, turn k of N at (k − ½)/N. The layers of a winding lie in
register, and displaced by a quarter pitch each way (what then overlaps the flange takes its place): turns
cross, so what is wound lies between. Knows nothing of the package.

    python tests/reference/wound_windows.py > tests/reference/cases/wound-windows.jsonl
"""

from __future__ import annotations

import json
from typing import Any

import numpy as np
import skfem
from scipy.sparse.linalg import splu
from scipy.spatial import Delaunay
from skfem.helpers import dot, grad

EPSILON_0 = 8.8541878128e-12
Wire = tuple[float, float, str, float]
"""x, y (mm), winding, share of its turns that lie before its middle."""
Sheet = tuple[float, float, float, float, float]
"""x0, x1, y0, y1 (mm), relative permittivity."""


def geometry(case: dict[str, Any], displaced: float) -> tuple[list[Wire], list[Sheet]]:
    """Wires and sheets, in the order wound, from the flanges' inner faces."""
    wall, flange, height = case["wall"], case["flange"], case["height"]
    sheets = [
        (0.1 * wall, wall, 0.0, height, 4.0),
        (0.0, case["width"], 0.0, flange, 4.0),
        (0.0, case["width"], height - flange, height, 4.0),
    ]
    wires: list[Wire] = []
    x = wall
    breadth = height - 2 * flange
    for name in ("P", "S"):
        outer, done, total = case[name]["overall"], 0, sum(case[name]["layers"])
        pitch = breadth / max(case[name]["layers"])
        for layer, turns in enumerate(case[name]["layers"]):
            if layer:
                sheets.append((x, x + case["interlayer"], flange, height - flange, 3.3))
                x += case["interlayer"]
            upwards = layer % 2 == 0 or case["style"] == "same_side"
            step = pitch if turns == max(case[name]["layers"]) else outer * 1.02
            for k in range(turns):
                along = (k + 0.5) * step
                y = flange + along if upwards else height - flange - along
                y += displaced * pitch * (0.25 if layer else -0.25)
                wires.append((x + outer / 2, y, name, (done + k + 0.5) / total))
            done += turns
            x += outer
        if name == "P":
            sheets.append((x, x + case["tape"], flange, height - flange, 3.3))
            x += case["tape"]
    return wires, sheets


def points(case: dict[str, Any], number: int, displaced: float) -> np.ndarray:
    """Points of the mesh: rings around every wire, lines along every sheet, a grid in between."""
    wires, sheets = geometry(case, displaced)
    width, height = case["width"], case["height"]
    found = []
    angle = 2 * np.pi * np.arange(number) / number
    for x, y, name, _ in wires:
        bare, outer = case[name]["diameter"] / 2, case[name]["overall"] / 2
        for radius, turned in ((bare, 0.0), ((bare + outer) / 2, 0.5), (outer, 0.0), (1.06 * outer, 0.5)):
            phase = angle + turned * 2 * np.pi / number
            found.append(np.stack([x + radius * np.cos(phase), y + radius * np.sin(phase)], axis=-1))
    fine = np.pi * case["P"]["overall"] / number
    for x0, x1, y0, y1, _ in sheets:
        along = np.linspace(y0, y1, int((y1 - y0) / fine))
        layers = 4 if x1 - x0 < 0.5 else 8
        for x in np.linspace(x0, x1, layers):
            found.append(np.stack([np.full_like(along, x), along], axis=-1))
    grid_x, grid_y = np.linspace(0, width, 90), np.linspace(0, height, 110)
    found.append(np.stack(np.meshgrid(grid_x, grid_y), axis=-1).reshape(-1, 2))
    everything = np.concatenate(found)
    keep = np.ones(len(everything), bool)
    for x, y, name, _ in wires:  # nothing but its own rings within a wire
        away = np.hypot(everything[:, 0] - x, everything[:, 1] - y)
        bare, outer = case[name]["diameter"] / 2, case[name]["overall"] / 2
        own = np.min(np.abs(away[:, None] - [bare, (bare + outer) / 2, outer]), axis=1) < 1e-9
        keep &= own | (away > outer * 1.0005)
    inside = (everything[:, 0] >= 0) & (everything[:, 0] <= width)
    inside &= (everything[:, 1] >= 0) & (everything[:, 1] <= height)
    return np.unique(np.round(everything[keep & inside], 7), axis=0)


def energies(case: dict[str, Any], number: int, displaced: float) -> tuple[np.ndarray, int]:
    """(4, 4) F/m of the patterns P, S, P even, S even, and the degrees of freedom."""
    wires, sheets = geometry(case, displaced)
    at = points(case, number, displaced)
    triangles = Delaunay(at).simplices
    a, b, c = (at[triangles[:, k]] for k in range(3))
    area = 0.5 * np.abs((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0])
    triangles = triangles[area > 1e-9]
    middle = at[triangles].mean(axis=1)
    permittivity = np.full(len(middle), case["filling"])
    for x0, x1, y0, y1, value in sheets:
        within = (middle[:, 0] > x0) & (middle[:, 0] < x1) & (middle[:, 1] > y0) & (middle[:, 1] < y1)
        permittivity[within] = value
    conductor = np.zeros(len(middle), bool)
    for x, y, name, _ in wires:
        away = np.hypot(middle[:, 0] - x, middle[:, 1] - y)
        permittivity[away < case[name]["overall"] / 2] = 3.5
        conductor |= away < case[name]["diameter"] / 2 * 0.9999
    kept = np.ascontiguousarray(triangles[~conductor])
    used, inverse = np.unique(kept, return_inverse=True)
    mesh = skfem.MeshTri(np.ascontiguousarray(at[used].T), np.ascontiguousarray(inverse.reshape(-1, 3).T))
    basis = skfem.Basis(mesh, skfem.ElementTriP2())
    piece = basis.with_element(skfem.ElementTriP0())
    stiff = skfem.BilinearForm(lambda u, v, w: w.eps * dot(grad(u), grad(v))).assemble(
        basis, eps=piece.interpolate(permittivity[~conductor])
    )
    place = basis.doflocs
    fixed = np.full(place.shape[1], -1)
    edge = 1e-7
    walls = (place[0] < edge) | (place[0] > case["width"] - edge)
    walls |= (place[1] < edge) | (place[1] > case["height"] - edge)
    fixed[walls] = len(wires)
    for index, (x, y, name, _) in enumerate(wires):
        fixed[np.hypot(place[0] - x, place[1] - y) < case[name]["diameter"] / 2 * 1.00001] = index
    patterns = np.zeros((len(wires) + 1, 4))
    for index, (_, _, name, share) in enumerate(wires):
        column = 0 if name == "P" else 1
        patterns[index, column], patterns[index, column + 2] = 1.0, share
    free = np.flatnonzero(fixed < 0)
    bound = np.flatnonzero(fixed >= 0)
    u = np.zeros((place.shape[1], 4))
    u[bound] = patterns[fixed[bound]]
    stiff = stiff.tocsc()
    u[free] = splu(stiff[free][:, free]).solve(-(stiff[free][:, bound] @ u[bound]))
    return EPSILON_0 * (u.T @ (stiff @ u)), len(free)


BASE: dict[str, Any] = {
    "width": 8.0,
    "height": 10.0,
    "wall": 1.0,
    "flange": 1.0,
    "interlayer": 0.05,
    "tape": 0.18,
    "style": "back_and_forth",
    "filling": 1.0,
    "P": {"diameter": 0.8, "overall": 0.9, "layers": [8, 8]},
    "S": {"diameter": 1.0, "overall": 1.1, "layers": [7, 7]},
}
CASES: dict[str, dict[str, Any]] = {
    "back-and-forth": {},
    "same-side": {"style": "same_side"},
    "partial": {"S": {"diameter": 1.0, "overall": 1.1, "layers": [7, 3]}},
    "potted": {"filling": 4.0},
    "thick-tape": {"tape": 1.0, "interlayer": 0.2},
}


def main() -> None:
    for name, change in CASES.items():
        case = {**BASE, **change}
        coarse, _ = energies(case, 48, 0.0)
        fine, unknowns = energies(case, 96, 0.0)
        apart, _ = energies(case, 96, 1.0)
        size = np.sqrt(np.diag(fine))
        error = float(np.max(np.abs(coarse - fine) / np.outer(size, size)))
        record = {"id": name, **case, "energy_F_per_m": fine.tolist(), "displaced_F_per_m": apart.tolist()}
        record |= {"coarser_mesh": error, "unknowns": unknowns}
        print(json.dumps(record))


if __name__ == "__main__":
    main()
