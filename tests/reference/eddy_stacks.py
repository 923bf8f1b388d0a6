"""Eddy-current field solutions of stacks of layers: what wrote ``cases/eddy-stacks.jsonl``.

    python tests/reference/eddy_stacks.py > tests/reference/cases/eddy-stacks.jsonl
    python tests/reference/eddy_stacks.py gaps > tests/reference/cases/eddy-gaps.jsonl

Complex vector potential in the plane of the window, scikit-fem, quadrilaterals of the second order:
∇²A = jωμ0σA
− μ0σE in every turn, ∫J = its current, H_t = 0 on the four walls. Foils lie on the lines of a graded
grid; every
round wire is a ring mesh in a cell of its own whose polygon keeps the circle's area. The two stacks of
``dev-eddy2d.jsonl``, solved by others, are solved again as a check (``check`` as argument).
"""

from __future__ import annotations

import json
import math
import sys
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import skfem
from scipy.sparse.linalg import splu
from skfem.helpers import dot, grad

MU_0, SIGMA = 4e-7 * math.pi, 5.8e7
FREQUENCIES = (1e2, 1e4, 3e4, 1e5, 3e5, 1e6, 2e6)
GAP_FREQUENCIES = (1e2, 1e4, 1e5, 3e5, 1e6)
MM = 1e-3


def foil(winding: str, x0: float, x1: float, y0: float, y1: float) -> dict[str, Any]:
    """A foil (mm)."""
    return {"kind": "foil", "x0": x0, "x1": x1, "y0": y0, "y1": y1, "w": winding}


def wires(winding: str, x: float, first: float, pitch: float, count: int, d: float) -> list[dict[str, Any]]:
    """A layer of round wires (mm) centred at x, from ``first`` along the leg."""
    return [{"kind": "wire", "xc": x, "yc": first + pitch * i, "d": d, "w": winding} for i in range(count)]


STACKS: dict[str, tuple[tuple[float, float], list[dict[str, Any]]]] = {
    "foil-interleaved-margins": (
        (4.0, 15.0),
        [foil(w, 0.6 + 0.7 * i, 0.8 + 0.7 * i, 1.5, 13.5) for i, w in enumerate("PSPS")],
    ),
    "foil-4thin-1thick": (
        (4.0, 14.0),
        [foil("P", 0.5 + 0.2 * i, 0.6 + 0.2 * i, 1.0, 13.0) for i in range(4)]
        + [foil("S", 1.8, 2.8, 1.0, 13.0)],
    ),
    "foil-unequal": (
        (4.0, 14.0),
        [foil("P", 0.6 + 0.4 * i, 0.9 + 0.4 * i, 0.5, 13.5) for i in range(2)]
        + [foil("S", 1.8 + 0.4 * i, 2.1 + 0.4 * i, 3.5, 10.5) for i in range(2)],
    ),
    "wire-loose-foil": (
        (4.0, 10.0),
        [*wires("P", 0.7, 1.0, 1.0, 9, 0.5), foil("S", 1.5, 1.8, 0.5, 9.5)],
    ),
    "wire-3layers-2foils": (
        (5.0, 8.0),
        [c for i in range(3) for c in wires("P", 0.7 + 0.56 * i, 0.78, 0.56, 12, 0.5)]
        + [foil("S", 2.6 + 0.4 * i, 2.9 + 0.4 * i, 0.5, 7.5) for i in range(2)],
    ),
    "wire-half-foil": (
        (4.0, 9.0),
        [*wires("P", 0.7, 0.78, 0.56, 7, 0.5), foil("S", 1.5, 1.8, 0.5, 8.5)],
    ),
    "wire-full-and-half-wire": (
        (4.5, 8.0),
        wires("P", 0.7, 0.78, 0.56, 12, 0.5)
        + wires("P", 1.26, 0.78, 0.56, 5, 0.5)
        + wires("S", 2.4, 1.0, 1.0, 7, 0.8),
    ),
    "wire-side-by-side": (
        (4.0, 9.0),
        [c for i in range(3) for c in wires("P", 0.8 + 0.56 * i, 0.78, 0.56, 6, 0.5)]
        + [c for i in range(3) for c in wires("S", 0.8 + 0.56 * i, 5.42, 0.56, 6, 0.5)],
    ),
}

GAPS: dict[str, tuple[tuple[float, float], tuple[float, float], list[dict[str, Any]]]] = {
    "gap-wire-1layer": ((4.0, 10.0), (4.75, 5.25), wires("P", 1.2, 0.65, 0.725, 13, 0.5)),
    "gap-wire-2layers": (
        (5.0, 12.0),
        (5.5, 6.5),
        [c for i in range(2) for c in wires("P", 1.3 + 0.6 * i, 0.75, 0.7, 16, 0.5)],
    ),
    "gap-wire-near": ((4.0, 10.0), (4.5, 5.5), wires("P", 0.7, 0.65, 0.725, 13, 0.5)),
    "gap-foil-2turns": (
        (4.0, 12.0),
        (5.75, 6.25),
        [foil("P", 1.2 + 0.4 * i, 1.4 + 0.4 * i, 0.5, 11.5) for i in range(2)],
    ),
    "gap-open-foil-wire": (
        (4.0, 10.0),
        (4.75, 5.25),
        [foil("S", 1.0, 1.1, 0.5, 9.5), *wires("P", 1.7, 0.65, 0.725, 13, 0.5)],
    ),
}
"""Window, the gap's extent along the leg, and the layers; P alone carries current."""


def graded(start: float, stop: float, fine: float, coarse: float) -> list[float]:
    """Points from start to stop, steps growing from ``fine`` at both ends to ``coarse``."""
    length = stop - start
    steps, step = [], fine
    while 2 * sum(steps) < length:
        steps.append(min(step, coarse))
        step *= 1.5
    half = np.array(steps) * (length / (2 * sum(steps)))
    return list(start + np.concatenate([np.cumsum(half), length - np.cumsum(half)[-2::-1], [length]]))


def lines(edges: set[float], cells: list[tuple[float, float]], fine: float, coarse: float, n: int) -> Any:
    """Grid lines through all edges (mm): uniform in the cells of wires, graded elsewhere."""
    inside = sorted(edges | {end for cell in cells for end in cell})
    merged = [inside[0]]
    for value in inside[1:]:
        if value - merged[-1] > 1e-9:
            merged.append(value)
    points = [merged[0]]
    for a, b in pairwise(merged):
        if any(c[0] - 1e-9 <= a and b <= c[1] + 1e-9 for c in cells):
            cell = next(c for c in cells if c[0] - 1e-9 <= a and b <= c[1] + 1e-9)
            count = max(1, round(n * (b - a) / (cell[1] - cell[0])))
            points += list(np.linspace(a, b, count + 1)[1:])
        else:
            points += graded(a, b, fine, coarse)
    return np.array(points)


def ring_cell(cell: tuple[float, float, float, float], xs: Any, ys: Any, wire: dict[str, Any]) -> Any:
    """Nodes and quadrilaterals of one wire's cell whose boundary has the grid's nodes; which are copper."""
    xi, yi = (
        xs[(xs >= cell[0] - 1e-9) & (xs <= cell[1] + 1e-9)],
        ys[(ys >= cell[2] - 1e-9) & (ys <= cell[3] + 1e-9)],
    )
    border = (
        [(x, cell[2]) for x in xi[:-1]]
        + [(cell[1], y) for y in yi[:-1]]
        + [(x, cell[3]) for x in xi[:0:-1]]
        + [(cell[0], y) for y in yi[:0:-1]]
    )
    outer = np.array(border)
    centre = np.array([wire["xc"], wire["yc"]])
    count = len(outer)
    angle = np.arctan2(*(outer - centre).T[::-1])
    area = 0.5 * np.sum(np.sin(np.mod(np.roll(angle, -1) - angle, 2 * math.pi)))
    radius = wire["d"] / 2 * math.sqrt(math.pi / area)
    circle = centre + radius * np.stack([np.cos(angle), np.sin(angle)], -1)
    core = centre + (outer - centre) * (0.45 * radius / np.abs(outer - centre).max())
    rings, copper = [outer], []
    for t in (0.5, 1.0):
        rings.append(outer + (circle - outer) * t)
        copper.append(False)
    depth = np.cumsum(1.45 ** np.arange(7))
    for t in depth / depth[-1]:
        rings.append(circle + (core - circle) * t)
        copper.append(True)
    nodes, quads, flags = list(np.concatenate(rings)), [], []
    for r, flag in enumerate(copper):
        for i in range(count):
            j = (i + 1) % count
            quads.append((r * count + i, r * count + j, (r + 1) * count + j, (r + 1) * count + i))
            flags.append(flag)
    nx, ny = len(xi) - 1, len(yi) - 1
    base = (len(rings) - 1) * count
    ring_place = {}
    for i in range(nx):
        ring_place[(i, 0)] = base + i
        ring_place[(nx - i, ny)] = base + nx + ny + i
    for j in range(ny):
        ring_place[(nx, j)] = base + nx + j
        ring_place[(0, ny - j)] = base + 2 * nx + ny + j
    scale = 0.45 * radius / np.abs(outer - centre).max()
    for i in range(1, nx):
        for j in range(1, ny):
            ring_place[(i, j)] = len(nodes)
            nodes.append(centre + (np.array([xi[i], yi[j]]) - centre) * scale)
    for i in range(nx):
        for j in range(ny):
            quads.append(
                (ring_place[i, j], ring_place[i + 1, j], ring_place[i + 1, j + 1], ring_place[i, j + 1])
            )
            flags.append(True)
    return np.array(nodes), np.array(quads), np.array(flags)


def mesh_of(
    window: tuple[float, float], parts: list[dict[str, Any]], fine: float, n: int, gap: tuple[float, ...] = ()
) -> Any:
    """The mesh (mm) and the number of every element's conductor (−1: none)."""
    w, h = window
    cells = []
    for part in parts:
        if part["kind"] == "wire":
            near = [
                abs(part["yc"] - o["yc"])
                for o in parts
                if o is not part and o["kind"] == "wire" and abs(o["xc"] - part["xc"]) < 1e-9
            ]
            half = min(min(near, default=9) / 2, part["d"] * 0.56)
            cells.append((part["xc"] - half, part["xc"] + half, part["yc"] - half, part["yc"] + half))
    foils = [part for part in parts if part["kind"] == "foil"]
    xs = lines({0.0, w} | {f[k] for f in foils for k in ("x0", "x1")}, [c[:2] for c in cells], fine, 0.25, n)
    ys = lines(
        {0.0, h, *gap} | {f[k] for f in foils for k in ("y0", "y1")}, [c[2:] for c in cells], fine, 0.35, n
    )
    grid = np.stack(np.meshgrid(xs, ys, indexing="ij"), -1).reshape(-1, 2)
    ny = len(ys)
    i, j = np.meshgrid(np.arange(len(xs) - 1), np.arange(ny - 1), indexing="ij")
    quads = np.stack([i * ny + j, (i + 1) * ny + j, (i + 1) * ny + j + 1, i * ny + j + 1], -1).reshape(-1, 4)
    middle = grid[quads].mean(axis=1)
    owner = np.full(len(quads), -1)
    keep = np.ones(len(quads), bool)
    for number, part in enumerate(parts):
        if part["kind"] == "foil":
            x0, x1, y0, y1 = (part[k] for k in ("x0", "x1", "y0", "y1"))
            owner[(middle[:, 0] > x0) & (middle[:, 0] < x1) & (middle[:, 1] > y0) & (middle[:, 1] < y1)] = (
                number
            )
    nodes, elements, owners = [grid], [], []
    total = len(grid)
    wire_numbers = [number for number, part in enumerate(parts) if part["kind"] == "wire"]
    for number, cell in zip(wire_numbers, cells, strict=True):
        keep &= ~(
            (middle[:, 0] > cell[0])
            & (middle[:, 0] < cell[1])
            & (middle[:, 1] > cell[2])
            & (middle[:, 1] < cell[3])
        )
        points, local, copper = ring_cell(cell, xs, ys, parts[number])
        nodes.append(points)
        elements.append(local + total)
        owners.append(np.where(copper, number, -1))
        total += len(points)
    points = np.concatenate(nodes)
    quads = np.concatenate([quads[keep], *elements])
    owner = np.concatenate([owner[keep], *owners])
    _, first, inverse = np.unique(np.round(points, 7), axis=0, return_index=True, return_inverse=True)
    quads = inverse.reshape(-1)[quads]
    used, quads = np.unique(quads, return_inverse=True)
    return skfem.MeshQuad(points[first][used].T, quads.reshape(-1, 4).T), owner


def solve(
    window: tuple[float, float],
    parts: list[dict[str, Any]],
    frequencies: Any,
    n: int = 8,
    gap: tuple[float, ...] = (),
) -> list[Any]:
    """[f, R, L] per metre of turn (Ω/m, H/m) of P driven with one ampere against S, turns in series.

    gap : its ends along the leg; then S is open and a sheet of current there, even over the gap and opposite
    to P's ampere-turns, is the core's answer; R is the heat in all metal, L left out (nan).
    """
    mesh, owner = mesh_of(window, parts, 0.015, n, gap)
    mesh = mesh.scaled((MM, MM))
    basis = skfem.Basis(mesh, skfem.ElementQuad2(), intorder=5)
    stiff = skfem.BilinearForm(lambda u, v, _: dot(grad(u), grad(v)) / MU_0).assemble(basis).astype(complex)
    mass = skfem.BilinearForm(lambda u, v, _: u * v)
    load = skfem.LinearForm(lambda v, _: v)
    one = np.ones((len(parts), basis.N))
    weights, areas = [], []
    metal = 0
    for number in range(len(parts)):
        part = skfem.Basis(mesh, skfem.ElementQuad2(), elements=np.where(owner == number)[0], intorder=5)
        metal = metal + mass.assemble(part) * SIGMA
        weights.append(load.assemble(part) * SIGMA)
        areas.append(float(one[number] @ weights[-1]))
    b, s = np.array(weights).T, np.array(areas)
    turns = {k: sum(p["w"] == k for p in parts) for k in "PS"}
    current = np.array(
        [float(p["w"] == "P") if gap else 1.0 if p["w"] == "P" else -turns["P"] / turns["S"] for p in parts]
    )
    answer = []
    sheet = np.zeros(basis.N)
    if gap:
        low, high = gap[0] * MM, gap[1] * MM
        facets = mesh.facets_satisfying(
            lambda x: (np.abs(x[0]) < 1e-9) & (x[1] > low) & (x[1] < high), boundaries_only=True
        )
        edge = skfem.FacetBasis(mesh, skfem.ElementQuad2(), facets=facets, intorder=5)
        sheet = -turns["P"] / (high - low) * load.assemble(edge)
    for f in frequencies:
        omega = 2 * math.pi * f
        lu = splu((stiff + 1j * omega * metal).tocsc())
        response, alone = lu.solve(b.astype(complex)), lu.solve(sheet.astype(complex))
        # I_c = E_c ∫σ − jω ∫σA, A = A_gap + Σ E_c A_c
        volts = np.linalg.solve(
            np.diag(s) - 1j * omega * (b.T @ response), current + 1j * omega * (b.T @ alone)
        )
        if gap:
            potential = alone + response @ volts
            heat = s @ np.abs(volts) ** 2 - 2 * np.real(volts.conj() @ (1j * omega * (b.T @ potential)))
            heat += omega**2 * np.real(potential.conj() @ (metal @ potential))
            answer.append([f, float(heat), math.nan])
            continue
        impedance = complex(current @ volts)
        answer.append([f, impedance.real, impedance.imag / omega])
    return answer


def main() -> None:
    """Print one record per stack, or the differences from the given stacks."""
    if sys.argv[1:] == ["check"]:
        given = Path(__file__).parent / "cases" / "dev-eddy2d.jsonl"
        for record in map(json.loads, given.read_text().splitlines()):
            window = record["window"]["w"], record["window"]["h"]
            points = record["results"]
            found = solve(window, record["conductors"], [point["f"] for point in points])
            for point, (f, r, inductance) in zip(points, found, strict=True):
                print(
                    record["id"],
                    f"{f:g}",
                    f"R {r / point['R'] - 1:+.1e} L {inductance / point['L'] - 1:+.1e}",
                )
        return
    if sys.argv[1:] == ["gaps"]:
        for name, (window, gap, parts) in GAPS.items():
            results = [{"f": f, "R": r} for f, r, _ in solve(window, parts, GAP_FREQUENCIES, gap=gap)]
            record = {"id": name, "window": dict(zip("wh", window, strict=True)), "gap": gap}
            print(json.dumps({**record, "conductors": parts, "sigma": SIGMA, "results": results}), flush=True)
        return
    for name, (window, parts) in STACKS.items():
        results = [dict(zip("fRL", row, strict=True)) for row in solve(window, parts, FREQUENCIES)]
        record = {"id": name, "window": dict(zip("wh", window, strict=True)), "conductors": parts}
        print(json.dumps({**record, "sigma": SIGMA, "results": results}), flush=True)


if __name__ == "__main__":
    main()
