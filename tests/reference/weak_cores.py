"""Axisymmetric finite-element solutions of pots of low permeability: makes ``cases/own-weak-cores.jsonl``.

    python tests/reference/weak_cores.py

Leakage of two windings of one turn each against each other, on each other (a tenth to four tenths, a half to
eight tenths of the window's width) and side by side (two halves of its height), in the pots of
``gapped_pots``, for permeabilities from 5 to 1000 over that at a million. Equation, elements and grid as
there; the error is that against a grid of twice the cells.
"""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import skfem
from gapped_pots import MU_0, POTS, _lines
from skfem.helpers import dot, grad

PERMEABILITIES = (5.0, 10.0, 20.0, 50.0, 100.0, 300.0, 1000.0)


def leakage(pot: tuple[float, ...], permeability: float, beside: bool, cells: int) -> float:
    """Leakage inductance (H) of one turn against one."""
    post, window, outer, height, yoke = pot
    top, w = height / 2, window - post
    if beside:
        coils = [(post + 0.1 * w, post + 0.9 * w, s * 0.9 * top, s * 0.1 * top) for s in (-1, 1)]
        coils = [(r0, r1, min(z0, z1), max(z0, z1)) for r0, r1, z0, z1 in coils]
    else:
        coils = [(post + a * w, post + b * w, -0.9 * top, 0.9 * top) for a, b in ((0.1, 0.4), (0.5, 0.8))]
    reach = 4 * max(outer, top + yoke)
    marks_r = sorted({0.0, post, window, outer, reach} | {r for coil in coils for r in coil[:2]})
    marks_z = sorted(
        {-reach, -top - yoke, -top, top, top + yoke, reach} | {z for coil in coils for z in coil[2:]}
    )
    mesh = skfem.MeshQuad.init_tensor(_lines(marks_r, {}, cells) * 1e-3, _lines(marks_z, {}, cells) * 1e-3)
    r, z = mesh.p[:, mesh.t].mean(axis=1) * 1e3

    def inside(box: tuple[float, float, float, float]) -> np.ndarray:
        return (r > box[0]) & (r < box[1]) & (z > box[2]) & (z < box[3])

    iron = inside((0.0, outer, -top - yoke, top + yoke)) & ~inside((post, window, -top, top))
    reluctivity = np.where(iron, 1 / (MU_0 * permeability), 1 / MU_0)
    density = np.zeros(len(r))
    for sign, coil in zip((1, -1), coils, strict=True):
        density += sign * inside(coil) / ((coil[1] - coil[0]) * (coil[3] - coil[2]) * 1e-6)
    basis = skfem.Basis(mesh, skfem.ElementQuad2(), intorder=5)
    levels = basis.with_element(skfem.ElementQuad0())
    stiff = skfem.BilinearForm(lambda u, v, w: w.nu / w.x[0] * dot(grad(u), grad(v)))
    load = skfem.LinearForm(lambda v, w: w.j * v)
    matrix = stiff.assemble(basis, nu=levels.interpolate(reluctivity))
    source = load.assemble(basis, j=levels.interpolate(density))
    edge = (reach - 1e-6) * 1e-3
    fixed = basis.get_dofs(lambda x: (x[0] < 1e-9) | (x[0] > edge) | (abs(x[1]) > edge))
    psi = skfem.solve(*skfem.condense(matrix, source, D=fixed))
    return float(2 * math.pi * source @ psi)


def main() -> None:
    """Write the case file."""
    records = []
    for name, pot in POTS.items():
        for beside in (False, True):
            whole = leakage(pot, 1e6, beside, 10)
            error = abs(whole / leakage(pot, 1e6, beside, 20) - 1)
            for mu in PERMEABILITIES:
                ratio = leakage(pot, mu, beside, 10) / whole
                record = {
                    "id": f"{name}-{'beside' if beside else 'over'}-{mu:g}",
                    "beside": beside,
                    "mur": mu,
                }
                records.append(record | {"ratio": round(ratio, 5), "err_rel": round(error, 6)})
    path = Path(__file__).parent / "cases" / "own-weak-cores.jsonl"
    path.write_text("".join(json.dumps(record) + "\n" for record in records), encoding="utf-8")


if __name__ == "__main__":
    main()
