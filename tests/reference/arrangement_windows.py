"""Axisymmetric finite-element solutions of arrangements of three windings in one pot: makes
``cases/own-arrangements.jsonl``.

    python tests/reference/arrangement_windows.py

Where the blocks of every arrangement lie and how they are joined is taken from its design; field and circuit
are computed here. In a window whose walls are of infinite permeability ψ = r A obeys ∇·(∇ψ/(µ₀ r)) = −J with
∂ψ/∂n = 0, for ampere-turns that sum to zero. Biquadratic elements (scikit-fem) on a tensor grid whose lines
run along all edges of the blocks. The leakage of P with S and T shorted is 2 W at 1 A: of all currents in
shorted windings and in sections in parallel those of least energy flow, where resistance plays no part and
the core takes no magnetizing current. The error is that against a grid of half the cells across.
"""

from __future__ import annotations

import itertools
import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import skfem
from scipy.sparse.linalg import splu
from skfem.helpers import dot, grad

from aswound.predict import parse_design
from aswound.predict.interleave.arrangements import Arrangement, find_arrangements
from aswound.predict.interleave.rules import Rules

MU_0 = 4e-7 * math.pi
FILE = Path(__file__).parent / "cases" / "own-arrangements.jsonl"
LEG, WINDOW, HEIGHT = 6.0, 16.0, 15.0
"""Radii of post and wall, height of the window (mm)."""
DESIGN = f"""
title = "Three windings of blocks in a pot"
[core]
mu_i = 1000000
face_gap = "0 um"
[core.dimensions]
form = "pot"
leg_diameter = "{2 * LEG} mm"
window_diameter = "{2 * WINDOW} mm"
outer_diameter = "38 mm"
window_height = "{HEIGHT} mm"
back = "4 mm"
slots = 2
slot_angle = "0 deg"
[bobbin]
wall = "0.5 mm"
flange = "0 mm"
[[winding]]
name = "P"
wire = {{ diameter = "0.05 mm", grade = 1, in_hand = 400 }}
[[winding]]
name = "S"
wire = {{ diameter = "0.05 mm", grade = 1, in_hand = 400 }}
[[winding]]
name = "T"
wire = {{ diameter = "0.05 mm", grade = 1, in_hand = 400 }}
[build]
steps = [
  {{ wind = "P", turns = 40, thickness = "2 mm", breadth = "13 mm", from_end = "1 mm" }},
  {{ tape = "0.4 mm", wraps = 1 }},
  {{ wind = "S", turns = 12, thickness = "1.6 mm", breadth = "13 mm", from_end = "1 mm" }},
  {{ tape = "0.3 mm", wraps = 1 }},
  {{ wind = "T", turns = 6, thickness = "1 mm", breadth = "8 mm", from_end = "1 mm" }},
]
"""
RULES = Rules(most_sections=2, most=200, bare=(("P", "T"),))
"""P and T, no neighbours in the design, may be 0.4 mm apart: the thickest that it uses between neighbours."""
EVERY = 5
"""Of the arrangements found, in their order, so many are solved: one in five."""


def chosen() -> list[Arrangement]:
    """The arrangements that are solved."""
    return list(find_arrangements(parse_design(DESIGN), RULES).arrangements[::EVERY])


def blocks_of(one: Arrangement) -> list[dict[str, Any]]:
    """Where the sections of an arrangement lie (mm, from the window's lower inner corner), in its order."""
    return [
        {"w": section.winding, "turns": float(turns), "box": [round(float(edge) * 1e3, 9) for edge in box]}
        for section, turns, box in zip(
            one.layout.sections, one.layout.turns[0], one.layout.copper[0], strict=True
        )
    ]


def _lines(marks: set[float], step: float) -> np.ndarray:
    """Grid lines through all marks, at most ``step`` apart (mm)."""
    lines = []
    for low, high in itertools.pairwise(sorted(marks)):
        lines += np.linspace(low, high, max(math.ceil((high - low) / step), 2), endpoint=False).tolist()
    return np.array([*lines, max(marks)])


def energies(blocks: list[dict[str, Any]], step: float) -> np.ndarray:
    """(n − 1, n − 1) energy matrix M, W = ½ xᵀ M x (J), of ampere-turns x in all blocks but the last, which
    carries −Σx."""
    edges = np.array([block["box"] for block in blocks])
    radial = {0.0, WINDOW - LEG, *edges[:, 0], *edges[:, 1]}
    along = {0.0, HEIGHT, *edges[:, 2], *edges[:, 3]}
    lines = (_lines(radial, step) + LEG) * 1e-3, _lines(along, step) * 1e-3
    mesh = skfem.MeshQuad.init_tensor(*lines)
    x, z = mesh.p[:, mesh.t].mean(axis=1) * 1e3
    x = x - LEG
    basis = skfem.Basis(mesh, skfem.ElementQuad2(), intorder=5)
    levels = basis.with_element(skfem.ElementQuad0())
    stiff = skfem.BilinearForm(lambda u, v, w: dot(grad(u), grad(v)) / (MU_0 * w.x[0])).assemble(basis)
    load = skfem.LinearForm(lambda v, w: w.j * v)
    sources = []
    for x0, x1, z0, z1 in edges:
        inside = (x > x0) & (x < x1) & (z > z0) & (z < z1)
        density = inside / ((x1 - x0) * (z1 - z0) * 1e-6)
        sources.append(load.assemble(basis, j=levels.interpolate(density)))
    balanced = np.stack([source - sources[-1] for source in sources[:-1]], axis=1)
    solution = np.zeros_like(balanced)  # of ψ, whose level is free: nought at one point
    solution[1:] = splu(stiff.tocsc()[1:, 1:]).solve(balanced[1:])
    return np.asarray(2 * math.pi * balanced.T @ solution)


def leakage(one: Arrangement, step: float) -> float:
    """2 W (H) at 1 A into P, S and T shorted: least energy over all currents that are free."""
    blocks = blocks_of(one)
    count = len(blocks)
    # currents of the blocks: a given part (1 A into P) and free ones
    given, free = np.zeros(count), []
    for name in ("P", "S", "T"):
        own = [k for k, block in enumerate(blocks) if block["w"] == name]
        parallel = one.design.winding(name).sections == "parallel"
        if name == "P":
            given[own] = 1 / len(own) if parallel else 1.0
        elif not parallel:
            free.append(np.isin(np.arange(count), own).astype(float))
        else:
            free += [np.eye(count)[k] for k in own]
        if name == "P" and parallel:  # what circulates between its sections
            free += [np.eye(count)[k] - np.eye(count)[own[0]] for k in own[1:]]
    turns = np.array([block["turns"] for block in blocks])
    start, ways = given * turns, np.array(free).T * turns[:, None]
    # ampere-turns sum to zero: one of the free ways is spent on it
    total, each = float(np.sum(start)), np.sum(ways, axis=0)
    spent = int(np.argmax(np.abs(each)))
    start = start - ways[:, spent] * total / each[spent]
    rest = [k for k in range(len(each)) if k != spent]
    ways = ways[:, rest] - np.outer(ways[:, spent], each[rest] / each[spent])
    matrix = energies(blocks, step)
    start, ways = start[:-1], ways[:-1]
    amounts = np.linalg.solve(ways.T @ matrix @ ways, -ways.T @ matrix @ start) if rest else np.zeros(0)
    flow = start + ways @ amounts
    return float(flow @ matrix @ flow)


def main() -> None:
    """Write the case file."""
    lines = []
    for one in chosen():
        coarse, value = leakage(one, 0.6), leakage(one, 0.3)
        record = {
            "order": list(one.order),
            "parallel": [w.name for w in one.design.windings if w.sections == "parallel"],
            "blocks": blocks_of(one),
            "L": value,
            "err_rel": abs(coarse / value - 1),
        }
        lines.append(json.dumps(record))
        print(record["order"], record["parallel"], value, record["err_rel"])
    FILE.write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
