"""Three-dimensional field solutions of gapped E and EFD sets: what wrote ``cases/flat-legs.jsonl``.

    python tests/reference/flat_legs.py > tests/reference/cases/flat-legs.jsonl

Iron of infinite permeability, one turn of uniform density that fills the window's height and the middle 80 %
of its width all round the leg, corners rounded; open space around. H = T + ∇φ with T = F/h along the leg in
coil and bore (F falls from 1 to 0 across the coil), φ known on the iron: 0 on yokes and outer legs, running
evenly along the leg. Trilinear elements on a graded grid as sums of Kronecker products, conjugate gradients.
L = μ0 ∫H² dV of 1 A. Half the core (mirror through the gap) and one side of the leg (mirror) are solved. With
two grids, the finer 1.5 times: Richardson's value for an error that falls as the 4/3 power of the step (edges
of 270°) is written with both.
"""

from __future__ import annotations

import json
import math
from itertools import pairwise
from typing import Any

import numpy as np
from scipy import sparse
from scipy.sparse.linalg import LinearOperator, cg

MU_0 = 4e-7 * math.pi
COIL = (0.1, 0.9)
CORES: dict[str, dict[str, float]] = {
    "E 42/21/15": {
        "leg": 11.95,
        "depth": 14.9,
        "w": 9.125,
        "h": 30.2,
        "outer": 5.975,
        "back": 5.9,
        "od": 14.9,
    },
    "E 13/7/4": {"leg": 3.55, "depth": 3.55, "w": 2.825, "h": 9.3, "outer": 1.725, "back": 1.75, "od": 3.55},
    "EFD 20/10/7": {"leg": 8.9, "depth": 3.6, "w": 3.25, "h": 15.4, "outer": 2.3, "back": 2.3, "od": 6.65},
}
"""mm; the leg of the EFD core in the middle of the yoke's depth, or flush with one side (``shift``, mm)."""
CASES = [
    *(("EFD 20/10/7", gap, 1.355) for gap in (0.96, 0.51, 0.28)),
    *(("EFD 20/10/7", gap, 0.0) for gap in (0.96, 0.51)),
    ("E 13/7/4", 0.32, 0.0),
    *(("E 42/21/15", gap, 0.0) for gap in (3.96, 2.06, 1.14)),
]


def line(marks: list[tuple[float, float]], end: float, start: float, ratio: float = 1.35) -> Any:
    """Grid points through ``marks`` (place, step there), growing away from each by ``ratio``, from ``start``
    to ``end``."""
    marks = [*sorted(marks)]
    points = [start]
    places = sorted({start, end, *(p for p, _ in marks)})
    for a, b in pairwise(places):
        near = [s * ratio ** (math.log1p(abs(p - a) * (ratio - 1) / s) / math.log(ratio)) for p, s in marks]
        far = [s * ratio ** (math.log1p(abs(p - b) * (ratio - 1) / s) / math.log(ratio)) for p, s in marks]
        left, right = min(near), min(far)
        up, down = [], []
        total = 0.0
        while total < b - a:
            if left <= right:
                up.append(left)
                total += left
                left *= ratio
            else:
                down.append(right)
                total += right
                right *= ratio
        steps = np.array([*up, *down[::-1]]) * ((b - a) / total)
        points += list(a + np.cumsum(steps))
    return np.array(points)


def element_matrices(x: Any) -> tuple[Any, Any]:
    """Stiffness and mass matrix of linear elements on the points ``x``."""
    d = np.diff(x)
    n = len(x)
    stiff = sparse.diags([-1 / d, np.r_[1 / d, 0] + np.r_[0, 1 / d], -1 / d], [-1, 0, 1], shape=(n, n))
    mass = sparse.diags([d / 6, (np.r_[d, 0] + np.r_[0, d]) / 3, d / 6], [-1, 0, 1], shape=(n, n))
    return stiff.tocsr(), mass.tocsr()


def permeance(core: dict[str, float], gap: float, shift: float, fine: float) -> float:
    """AL (H) of the set with iron of infinite permeability; ``fine``: step at the gap's edges over it."""
    a, b, w, h = core["leg"] / 2, core["depth"] / 2, core["w"], core["h"]
    step = fine * gap
    broad = 6 * step
    far = 1.5 * max(h, 2 * (a + w))
    outer = a + w + core["outer"]
    x = line(
        [(a, step), (a + w, broad), (outer, broad), (a + COIL[0] * w, broad), (a + COIL[1] * w, broad)],
        outer + far,
        0.0,
    )
    y = line(
        [(gap / 2, step), (h / 2, broad), (h / 2 + core["back"], broad)], h / 2 + core["back"] + far, 0.0
    )
    yoke = [(-core["od"] / 2 + shift, broad), (core["od"] / 2 + shift, broad)]
    marks = [(-b, step), (b, step), *[m for m in yoke if min(abs(m[0] + b), abs(m[0] - b)) > 1e-6]]
    z = line(marks, core["od"] / 2 + shift + far, -core["od"] / 2 + shift - far)
    xs, ys, zs = np.meshgrid(x, y, z, indexing="ij")
    small = 1e-9
    in_yoke_depth = (zs >= yoke[0][0] - small) & (zs <= yoke[1][0] + small)
    leg = (xs <= a + small) & (np.abs(zs) <= b + small) & (ys >= gap / 2 - small) & (ys <= h / 2 + small)
    yoke_iron = (
        (ys >= h / 2 - small) & (ys <= h / 2 + core["back"] + small) & (xs <= outer + small) & in_yoke_depth
    )
    side = (
        (xs >= a + w - small) & (xs <= outer + small) & (ys <= h / 2 + core["back"] + small) & in_yoke_depth
    )
    fixed = leg | yoke_iron | side | (ys <= small)
    value = np.where(leg, 0.5 - ys / h, 0.0)
    value[yoke_iron | side] = 0.0
    (kx, mx), (ky, my), (kz, mz) = (element_matrices(p) for p in (x, y, z))

    def apply(v: Any) -> Any:
        v = v.reshape(xs.shape)

        def along(m: Any, u: Any, axis: int) -> Any:
            moved = np.moveaxis(u, axis, 0)
            return np.moveaxis((m @ moved.reshape(len(moved), -1)).reshape(moved.shape), 0, axis)

        vy, vz = along(my, v, 1), along(mz, v, 2)
        return (
            along(kx, along(mz, vy, 2), 0) + along(mx, along(ky, vz, 1), 0) + along(mx, along(kz, vy, 2), 0)
        ).ravel()

    away = np.hypot(np.maximum(xs[:, 0] - a, 0), np.maximum(np.abs(zs[:, 0]) - b, 0))
    share = np.clip(1 - (away - COIL[0] * w) / ((COIL[1] - COIL[0]) * w), 0, 1)
    plane = mx @ share @ mz.T
    source = np.zeros(xs.shape)
    source[:, int(np.argmin(np.abs(y - h / 2)))] += plane / h
    source[:, 0] -= plane / h
    own = float(np.sum(share * plane)) / h**2 * h / 2
    free = ~fixed.ravel()
    known = np.where(fixed, value, 0.0).ravel()
    diagonal = sum(
        np.einsum("i,j,k->ijk", *(m.diagonal() for m in ms))
        for ms in ((kx, my, mz), (mx, ky, mz), (mx, my, kz))
    ).ravel()[free]
    right = -(source.ravel() + apply(known))[free]

    def restricted(v: Any) -> Any:
        whole = np.zeros(len(free))
        whole[free] = v
        return apply(whole)[free]

    size = int(np.sum(free))
    found, state = cg(
        LinearOperator((size, size), matvec=restricted, dtype=float),
        right,
        rtol=1e-8,
        maxiter=4000,
        M=LinearOperator((size, size), matvec=lambda v: v / diagonal, dtype=float),
    )
    assert state == 0
    phi = known.copy()
    phi[free] = found
    energy = float(phi @ apply(phi) + 2 * phi @ source.ravel()) + own
    return 4 * MU_0 * energy * 1e-3


def main() -> None:
    """Write all cases."""
    for name, gap, shift in CASES:
        steps = (0.25, 0.17)
        coarse, fine = (permeance(CORES[name], gap, shift, step) for step in steps)
        ratio = (steps[0] / steps[1]) ** (4 / 3)
        value = fine + (fine - coarse) / (ratio - 1)
        record = {
            "id": f"{name} {gap} {shift}",
            "core": name,
            "gap": gap,
            "shift": shift,
            "size": CORES[name],
        }
        print(json.dumps({**record, "AL": value, "coarse": coarse, "fine": fine}), flush=True)


if __name__ == "__main__":
    main()
