"""Axisymmetric finite-element solutions of gapped pots: makes ``cases/own-gapped-pots.jsonl``.

    python tests/reference/gapped_pots.py

With ψ = r A the field obeys ∇·(∇ψ/(μ r)) = −J; L = 2π ∫ J ψ for one ampere. Biquadratic elements
(scikit-fem) on a tensor grid graded towards the edges of the gaps, in a box three times the core's size. The
error is that against a grid of twice the cells. Cases: gaps in the middle of the post, at its end, as
spacers in post and wall, wide and narrow windows, and pots without a gap.
"""

from __future__ import annotations

import itertools
import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import skfem
from skfem.helpers import dot, grad

MU_0 = 4e-7 * math.pi
MU_R = 2000.0

POTS = {
    # r_post, r_window, r_outer, window height, yoke (mm)
    "narrow": (4.0, 7.0, 8.6, 14.0, 2.2),
    "usual": (5.5, 10.5, 12.5, 11.0, 3.0),
    "wide": (6.0, 15.0, 17.0, 9.0, 3.2),
    "flat": (9.0, 17.0, 19.5, 5.0, 4.5),
}
GAPS = {
    "narrow": ((0.3, "middle"), (1.5, "middle"), (0.6, "end"), (0.8, "spacer")),
    "usual": ((0.2, "middle"), (1.0, "middle"), (0.5, "end"), (0.0, "middle"), (1.0, "spacer")),
    "wide": ((0.5, "middle"), (1.5, "end"), (1.0, "spacer")),
    "flat": ((0.3, "middle"), (1.5, "middle"), (0.8, "end"), (0.6, "spacer")),
}


def _lines(marks: list[float], fine: dict[float, float], cells: int) -> np.ndarray:
    """Grid lines through all ``marks``, geometrically finer towards those in ``fine`` (mark: least step)."""
    lines: list[float] = [marks[0]]
    for low, high in itertools.pairwise(marks):
        span = high - low
        ends = [min(fine.get(round(end, 9), span / 3), span / 3) for end in (low, high)]
        # spacing s(t) between the two ends: tanh-like by a blend of two geometric laws
        t = np.linspace(0, 1, 4001)
        density = 1 / (ends[0] + 0.35 * t * span) + 1 / (ends[1] + 0.35 * (1 - t) * span)
        total = np.concatenate([[0], np.cumsum((density[1:] + density[:-1]) / 2 * np.diff(t) * span)])
        count = max(2, math.ceil(total[-1] * cells / 10))
        inner = np.interp(np.linspace(0, total[-1], count + 1), total, low + t * span)
        lines.extend(inner[1:].tolist())
    return np.array(lines)


def solve(pot: tuple[float, ...], gap: float, kind: str, cells: int) -> tuple[float, int]:
    """(AL in H, degrees of freedom) of a pot (lengths in mm); one turn over 0.12–0.9 of the width, 84 % of
    h."""
    post, window, outer, height, yoke = pot
    top = height / 2
    gaps: list[tuple[float, float, float, float]] = []
    if gap > 0 and kind == "middle":
        gaps = [(0.0, post, -gap / 2, gap / 2)]
    elif gap > 0 and kind == "end":
        gaps = [(0.0, post, top - gap, top)]
    elif gap > 0:
        gaps = [(0.0, post, -gap / 4, gap / 4), (window, outer, -gap / 4, gap / 4)]
    coil = (post + 0.12 * (window - post), post + 0.9 * (window - post), -0.42 * height, 0.42 * height)
    reach = 3 * max(outer, top + yoke)
    marks_r = sorted({0.0, post, window, outer, coil[0], coil[1], reach})
    marks_z = sorted(
        {-reach, -top - yoke, -top, coil[2], coil[3], top, top + yoke, reach}
        | {z for g in gaps for z in g[2:]}
    )
    least = max(min((g[3] - g[2] for g in gaps), default=0.5), 0.05) / 12
    across = least if kind == "spacer" else 0.3
    fine_r = {round(post, 9): least, round(window, 9): across, round(outer, 9): least}
    fine_z = {round(z, 9): least for g in gaps for z in g[2:]}
    mesh = skfem.MeshQuad.init_tensor(
        _lines(marks_r, fine_r, cells) * 1e-3, _lines(marks_z, fine_z, cells) * 1e-3
    )
    r, z = mesh.p[:, mesh.t].mean(axis=1) * 1e3

    def inside(box: tuple[float, float, float, float]) -> np.ndarray:
        return (r > box[0]) & (r < box[1]) & (z > box[2]) & (z < box[3])

    iron = inside((0.0, outer, -top - yoke, top + yoke)) & ~inside((post, window, -top, top))
    for box in gaps:
        iron &= ~inside(box)
    reluctivity = np.where(iron, 1 / (MU_0 * MU_R), 1 / MU_0)
    density = inside(coil) / ((coil[1] - coil[0]) * (coil[3] - coil[2]) * 1e-6)
    basis = skfem.Basis(mesh, skfem.ElementQuad2(), intorder=5)
    levels = basis.with_element(skfem.ElementQuad0())
    stiff = skfem.BilinearForm(lambda u, v, w: w.nu / w.x[0] * dot(grad(u), grad(v)))
    load = skfem.LinearForm(lambda v, w: w.j * v)
    matrix = stiff.assemble(basis, nu=levels.interpolate(reluctivity))
    source = load.assemble(basis, j=levels.interpolate(density))
    edge = (reach - 1e-6) * 1e-3
    fixed = basis.get_dofs(lambda x: (x[0] < 1e-9) | (x[0] > edge) | (abs(x[1]) > edge))
    psi = skfem.solve(*skfem.condense(matrix, source, D=fixed))
    return float(2 * math.pi * source @ psi), int(basis.N)


def case(name: str, gap: float, kind: str) -> dict[str, Any]:
    """One record of the case file."""
    coarse, _ = solve(POTS[name], gap, kind, 10)
    value, unknowns = solve(POTS[name], gap, kind, 20)
    keys = ("r_post", "r_window", "r_outer", "h", "yoke")
    return {
        "id": f"{name}-{gap:g}-{kind}",
        "units": "mm, H",
        "core": dict(zip(keys, POTS[name], strict=True)) | {"mur": MU_R},
        "gap": gap,
        "kind": kind,
        "AL": value,
        "err_rel": abs(coarse / value - 1),
        "fe": {"element": "biquadratic", "ndof": unknowns},
    }


def main() -> None:
    """Write the case file."""
    path = Path(__file__).parent / "cases" / "own-gapped-pots.jsonl"
    records = [case(name, gap, kind) for name, gaps in GAPS.items() for gap, kind in gaps]
    path.write_text("".join(json.dumps(record) + "\n" for record in records), encoding="utf-8")


if __name__ == "__main__":
    main()
