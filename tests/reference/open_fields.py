"""Fields that close through open space, in three dimensions: opposing windings on both legs of a U core, one
winding on a leg of a gapped one, and windings on sectors of a ring with a gap.

The functional ½ ∫ μ |T − ∇Ω|² dV, least over the potential Ω, with T of curl T = J: along a leg NI g(d)/h
over the height h of a winding, around a ring NI g(d)/(α r) over its angle α; g falls from 1 to 0 through the
winding, with the distance d from the core. Bricks with trilinear potential (scikit-fem), the core at a finite
permeability, mirror planes y = 0 (U core) and z = 0 (ring), Ω = 0 far away. Two meshes, the finer with
1.5 times as many elements each way; energies extrapolated as h². Knows nothing of the package.

    python tests/reference/open_fields.py

writes cases/u-opposed.jsonl, cases/u-alone.jsonl, cases/u-squares.jsonl and cases/gapped-ring.jsonl. Lengths
in mm, angles in degrees, NI in A, W in J.
"""

from __future__ import annotations

import itertools
import json
import math
import sys
from pathlib import Path
from typing import Any

import numpy as np
import skfem
from scipy.sparse import coo_matrix, diags
from scipy.sparse.linalg import cg

MU_0 = 4e-7 * math.pi
CASES = Path(__file__).parent / "cases"
RATIO = 1.5
"""Elements each way of the finer mesh over those of the coarser."""


def lines(marks: list[float], step: float, low: float | None, high: float | None) -> np.ndarray:
    """Grid through all ``marks``: elements of ``step`` at most, denser beside each mark, growing outwards to
    ``low`` and ``high``."""
    marks = sorted({round(mark, 9) for mark in marks})
    found = [marks[0]]
    for one, other in itertools.pairwise(marks):
        count = max(2, math.ceil((other - one) / step))
        even = np.linspace(0, 1, count + 1)[1:]
        crowded = (1 - np.cos(math.pi * even)) / 2 if count > 3 else even
        found += list(one + (other - one) * (0.5 * even + 0.5 * crowded))
    growth = 1.0 + 0.5 * min(1.0, step / 2)
    for far, end in ((low, -1), (high, 1)):
        size, edge = step / 2, found[0] if end < 0 else found[-1]
        while far is not None and abs(edge - (marks[0] if end < 0 else marks[-1])) < far:
            size *= growth
            edge += end * size
            found = [edge, *found] if end < 0 else [*found, edge]
    return np.array(found)


def least_energy(stiff: Any, load: np.ndarray, own: float, fixed: np.ndarray, same: np.ndarray) -> float:
    """Least of own − 2 load·Ω + Ω·stiff·Ω with Ω = 0 at ``fixed``; ``same`` gives each node its unknown."""
    found = potential(stiff, load, fixed, same)
    return own - float(load @ found)


def potential(stiff: Any, load: np.ndarray, fixed: np.ndarray, same: np.ndarray) -> np.ndarray:
    """Ω of that minimum at every node."""
    count = int(same.max()) + 1
    join = coo_matrix((np.ones(len(same)), (np.arange(len(same)), same)), (len(same), count)).tocsr()
    stiff, load = (join.T @ stiff @ join).tocsr(), join.T @ load
    free = np.setdiff1d(np.arange(count), same[fixed])
    inner, right = stiff[free][:, free].tocsr(), load[free]
    found, state = cg(inner, right, rtol=1e-7, maxiter=20000, M=diags(1 / inner.diagonal()))
    if state:
        raise RuntimeError("the iteration did not converge")
    whole = np.zeros(count)
    whole[free] = found
    return np.asarray(join @ whole)


# --- U cores --------------------------------------------------------------------------------------


def u_energy(case: dict[str, Any], step: float, *, squares: bool = False) -> Any:
    """W (J); with ``squares`` the mean of H² over each winding, and over its part in the window, (A/mm)².

    x across both legs from the middle of the window, y along the depth, z along the legs."""
    core, windings = case["core"], case["wind"]
    width, depth, room, high, back = (core[key] for key in ("leg", "depth", "window", "height", "back"))
    top = high / 2
    mur, gap = core["mur"], core.get("gap", 0.0)
    across = [-room / 2 - width, -room / 2, room / 2, room / 2 + width]
    along, upward = [0.0, depth / 2], [-top - back, -top, top, top + back]
    if gap:
        upward += [-gap / 2, gap / 2]
    for one in windings:
        side = -1 if one["leg"] == 1 else 1
        middle = side * (room + width) / 2
        for offset in (one["d0"], one["d1"]):
            across += [middle - width / 2 - offset, middle + width / 2 + offset]
            along.append(depth / 2 + offset)
        upward += [one["z0"] - top, one["z1"] - top]
    far = 2.2 * (high + 2 * back)
    mesh = skfem.MeshHex.init_tensor(
        lines(across, step, far, far), lines(along, step, None, far), lines(upward, step, far, far)
    )
    basis = skfem.Basis(mesh, skfem.ElementHex1(), intorder=3)
    x, y, z = np.asarray(basis.default_parameters()["x"])
    iron = (np.abs(x) < room / 2 + width) & (y < depth / 2) & (np.abs(z) < top + back)
    iron &= ~((np.abs(x) < room / 2) & (np.abs(z) < top))
    if gap:
        iron &= ~((np.abs(z) < gap / 2) & (np.abs(x) > room / 2))
    mu = np.where(iron, mur, 1.0)
    source = np.zeros_like(x)
    for one in windings:
        side = -1 if one["leg"] == 1 else 1
        beside = np.maximum(np.abs(x - side * (room + width) / 2) - width / 2, 0.0)
        distance = np.hypot(beside, np.maximum(y - depth / 2, 0.0))
        level = np.clip((one["d1"] - distance) / (one["d1"] - one["d0"]), 0.0, 1.0)
        inside = (z > one["z0"] - top) & (z < one["z1"] - top)
        source += one["NI"] * -side * level * inside / (one["z1"] - one["z0"])
    stiff = skfem.BilinearForm(
        lambda u, v, w: w.mu * (u.grad[0] * v.grad[0] + u.grad[1] * v.grad[1] + u.grad[2] * v.grad[2])
    ).assemble(basis, mu=mu)
    load = skfem.LinearForm(lambda v, w: w.f * v.grad[2]).assemble(basis, f=mu * source)
    own = float(np.sum(mu * source**2 * basis.dx))
    p = mesh.p
    fixed = np.flatnonzero(
        (p[0] <= p[0].min()) | (p[0] >= p[0].max()) | (p[1] >= p[1].max())
        | (p[2] <= p[2].min()) | (p[2] >= p[2].max())
    )  # fmt: skip
    same = np.arange(p.shape[1])
    if not squares:
        return 2 * MU_0 / 2 * 1e-3 * least_energy(stiff, load, own, fixed, same)
    field = -np.asarray(basis.interpolate(potential(stiff, load, fixed, same)).grad)
    field[2] += source
    square, found = np.sum(field**2, axis=0), []
    for one in windings:
        side = -1 if one["leg"] == 1 else 1
        beside = np.maximum(np.abs(x - side * (room + width) / 2) - width / 2, 0.0)
        distance = np.hypot(beside, np.maximum(y - depth / 2, 0.0))
        copper = (distance > one["d0"]) & (distance < one["d1"])
        copper &= (z > one["z0"] - top) & (z < one["z1"] - top)
        within = copper & (np.abs(x) < room / 2) & (y < depth / 2)
        found.append(
            [float(np.sum((square * basis.dx)[part]) / np.sum(basis.dx[part])) for part in (copper, within)]
        )
    return found


# --- rings ----------------------------------------------------------------------------------------


def ring_energy(case: dict[str, Any], step: float) -> float:
    """W (J): r, θ (turned so that the gap lies at θ = 0), z from the middle of the ring."""
    core, windings = case["core"], case["wind"]
    r1, r2, half, mur, gap = core["r1"], core["r2"], core["H"] / 2, core["mur"], core["gap"]
    radial, upward, around = [r1, r2], [0.0, half], [0.0, 360.0]
    slit = math.degrees(gap / ((r1 + r2) / 2))  # a slit of even angle
    around += [slit / 2, 360 - slit / 2]
    for one in windings:
        for offset in (one["i0"], one["i1"]):
            radial += [r1 - offset, r2 + offset]
            upward.append(half + offset)
        if one["al"] < 180:
            turned = [(one["centre"] + end * one["al"] - core["at"]) % 360 for end in (-1, 1)]
            around += turned
    far = 3.0 * r2
    inner = min(radial)
    middle = lines([0.15 * inner, *radial], step, None, far)
    mesh = skfem.MeshHex.init_tensor(
        middle, lines(around, 1.3 * math.degrees(step / r2), None, None), lines(upward, step, None, far)
    )
    basis = skfem.Basis(mesh, skfem.ElementHex1(), intorder=3)
    r, turn, z = np.asarray(basis.default_parameters()["x"])
    iron = (r > r1) & (r < r2) & (z < half)
    iron &= (turn > slit / 2) & (turn < 360 - slit / 2)
    mu = np.where(iron, mur, 1.0)
    source = np.zeros_like(r)
    for one in windings:
        distance = np.maximum(np.maximum(r1 - r, r - r2), z - half)
        level = np.clip((one["i1"] - distance) / (one["i1"] - one["i0"]), 0.0, 1.0)
        away = np.abs((turn + core["at"] - one["centre"] + 180) % 360 - 180)
        source += one["NI"] * level * (away < one["al"]) / (2 * math.radians(one["al"])) / r
    degree = 180 / math.pi  # per radian: the mesh counts degrees
    stiff = skfem.BilinearForm(
        lambda u, v, w: w.mu * (w.x[0] * (u.grad[0] * v.grad[0] + u.grad[2] * v.grad[2])
                                + degree**2 / w.x[0] * u.grad[1] * v.grad[1])
    ).assemble(basis, mu=mu)  # fmt: skip
    load = skfem.LinearForm(lambda v, w: w.f * degree * v.grad[1]).assemble(basis, f=mu * source)
    own = float(np.sum(mu * source**2 * r * basis.dx))
    p = mesh.p
    fixed = np.flatnonzero((p[0] >= p[0].max()) | (p[2] >= p[2].max()))
    place = {tuple(at): index for index, at in enumerate(np.round(p.T, 9).tolist())}
    same = np.array([place[(at[0], at[1] % 360.0, at[2])] for at in np.round(p.T, 9).tolist()])
    same = np.unique(same, return_inverse=True)[1]
    return 2 * MU_0 / 2 * 1e-3 / degree * least_energy(stiff, load, own, fixed, same)


def solved(case: dict[str, Any], energy: Any, step: float) -> dict[str, Any]:
    """The case with its energy, extrapolated from two meshes, and what the finer one lacks."""
    coarse, fine = energy(case, step), energy(case, step / RATIO)
    whole = fine + (fine - coarse) / (RATIO**2 - 1)
    return {**case, "W": whole, "finer_mesh": fine / whole - 1, "coarser_mesh": coarse / whole - 1}


def winding(leg: int, flow: float, d0: float, d1: float, z0: float, z1: float) -> dict[str, float]:
    return {"leg": leg, "NI": flow, "d0": d0, "d1": d1, "z0": z0, "z1": z1}


def sector(flow: float, al: float, centre: float, i0: float, i1: float) -> dict[str, float]:
    return {"NI": flow, "al": al, "centre": centre, "i0": i0, "i1": i1}


SMALL = {"leg": 4.0, "depth": 7.4, "window": 7.0, "height": 16.0, "back": 4.0, "mur": 5000.0}
MIDDLE = {"leg": 6.5, "depth": 13.0, "window": 12.0, "height": 20.0, "back": 6.5, "mur": 2300.0}
TALL = {"leg": 10.0, "depth": 15.0, "window": 14.0, "height": 44.0, "back": 10.0, "mur": 2300.0}
FLAT = {"leg": 8.0, "depth": 26.0, "window": 22.0, "height": 12.0, "back": 9.0, "mur": 2300.0}
U_CASES: dict[str, tuple[dict[str, float], list[dict[str, float]]]] = {
    "choke-thin": (MIDDLE, [winding(1, 30, 0.8, 1.6, 1, 19), winding(2, -30, 0.8, 1.6, 1, 19)]),
    "choke-thick": (MIDDLE, [winding(1, 30, 0.8, 5.0, 1, 19), winding(2, -30, 0.8, 5.0, 1, 19)]),
    "choke-small": (SMALL, [winding(1, 30, 0.6, 2.4, 1, 15), winding(2, -30, 0.6, 2.4, 1, 15)]),
    "choke-tall": (TALL, [winding(1, 30, 1.2, 4.2, 2, 42), winding(2, -30, 1.2, 4.2, 2, 42)]),
    "choke-flat": (FLAT, [winding(1, 30, 1.0, 7.0, 1, 11), winding(2, -30, 1.0, 7.0, 1, 11)]),
    "half-filled": (MIDDLE, [winding(1, 30, 0.8, 3.0, 1, 10), winding(2, -30, 0.8, 3.0, 1, 10)]),
    "ends": (TALL, [winding(1, 30, 1.2, 4.2, 2, 15), winding(2, -30, 1.2, 4.2, 29, 42)]),
    "unequal": (MIDDLE, [winding(1, 30, 0.8, 2.0, 1, 19), winding(2, -30, 0.8, 6.0, 5, 15)]),
    "both-on-one": (
        MIDDLE,
        [winding(1, 30, 0.8, 2.0, 1, 19), winding(1, -15, 2.4, 3.6, 1, 19), winding(2, -15, 0.8, 2.0, 1, 19)],
    ),
    "gapped": ({**MIDDLE, "gap": 0.5}, [winding(1, 30, 0.8, 3.0, 1, 19), winding(2, -30, 0.8, 3.0, 1, 19)]),
    "low-permeability": (
        {**MIDDLE, "mur": 300.0},
        [winding(1, 30, 0.8, 3.0, 1, 19), winding(2, -30, 0.8, 3.0, 1, 19)],
    ),
}
U_ALONE: dict[str, tuple[dict[str, float], list[dict[str, float]]]] = {
    "thin": ({**MIDDLE, "gap": 0.5}, [winding(1, 30, 0.8, 1.6, 1, 19)]),
    "thick": ({**MIDDLE, "gap": 0.5}, [winding(1, 30, 0.8, 5.0, 1, 19)]),
    "wide-gap": ({**MIDDLE, "gap": 2.0}, [winding(1, 30, 0.8, 3.0, 1, 19)]),
    "tall": ({**TALL, "gap": 1.0}, [winding(1, 30, 1.2, 4.2, 2, 42)]),
    "flat": ({**FLAT, "gap": 0.5}, [winding(1, 30, 1.0, 7.0, 1, 11)]),
    "narrow-gap": ({**SMALL, "gap": 0.2}, [winding(1, 30, 0.6, 2.4, 1, 15)]),
    "closed": ({**MIDDLE, "mur": 300.0}, [winding(1, 30, 0.8, 3.0, 1, 19)]),
}
"""One leg wound, with an equal gap in the middle of each leg: W is that of the open inductance."""
RING = {"r1": 9.5, "r2": 15.5, "H": 10.0, "mur": 2000.0, "gap": 1.0, "at": 0.0}
WIDE = {"r1": 11.5, "r2": 18.0, "H": 5.0, "mur": 2300.0, "gap": 0.5, "at": 0.0}
RING_CASES: dict[str, tuple[dict[str, float], list[dict[str, float]]]] = {
    "beside-gap": (RING, [sector(40, 80, 90, 0.5, 1.5), sector(-40, 80, 270, 0.5, 1.5)]),
    "over-gap": (RING, [sector(40, 80, 0, 0.5, 1.5), sector(-40, 80, 180, 0.5, 1.5)]),
    "gap-at-45": ({**RING, "at": 45.0}, [sector(40, 80, 0, 0.5, 1.5), sector(-40, 80, 180, 0.5, 1.5)]),
    "crowded-over": (RING, [sector(40, 60, 0, 0.5, 1.5)]),
    "crowded-opposite": (RING, [sector(40, 60, 180, 0.5, 1.5)]),
    "crowded-beside": (RING, [sector(40, 60, 90, 0.5, 1.5)]),
    "half-beside": (WIDE, [sector(30, 90, 90, 0.3, 1.1)]),
    "part-under-full": (WIDE, [sector(30, 60, 180, 0.3, 1.1), sector(-30, 180, 0, 1.4, 2.2)]),
    "part-at-gap-under-full": (WIDE, [sector(30, 60, 0, 0.3, 1.1), sector(-30, 180, 0, 1.4, 2.2)]),
    "wide-gap": ({**RING, "gap": 3.0}, [sector(40, 80, 90, 0.5, 1.5)]),
    "all-round": (RING, [sector(40, 180, 0, 0.5, 1.5)]),
    "all-round-wide": (WIDE, [sector(30, 180, 0, 0.3, 1.1)]),
    "all-round-wide-gap": ({**RING, "gap": 3.0}, [sector(40, 180, 0, 0.5, 1.5)]),
}


SQUARES = ("choke-small", "choke-thick", "choke-thin")
"""Cases of ``U_CASES`` whose mean square field goes to cases/u-squares.jsonl (coarser mesh)."""


def main(chosen: list[str]) -> None:
    """Write the case files; with arguments, print those cases only, or write the file of that name."""
    if "u-squares" in chosen or not chosen:
        records = []
        for key in SQUARES:
            core, windings = U_CASES[key]
            case = {"id": key, "core": core, "wind": windings}
            step = 1.6 * max(0.8, core["height"] / 20.0)
            (whole, within), _ = u_energy(case, step, squares=True)
            records.append({**case, "square": whole, "square_in_window": within})
        text = "".join(json.dumps(record) + "\n" for record in records)
        (CASES / "u-squares.jsonl").write_text(text, encoding="utf-8")
    for name, table, energy, step in (
        ("u-opposed", U_CASES, u_energy, 1.6),
        ("u-alone", U_ALONE, u_energy, 1.6),
        ("gapped-ring", RING_CASES, ring_energy, 1.2),
    ):
        records = []
        for key, (core, windings) in table.items():
            if chosen and not {key, name} & set(chosen):
                continue
            scale = core.get("height", 20.0) / 20.0
            records.append(
                solved({"id": key, "core": core, "wind": windings}, energy, step * max(0.8, scale))
            )
            print(json.dumps(records[-1]), flush=True)
        if not chosen or name in chosen:
            text = "".join(json.dumps(record) + "\n" for record in records)
            (CASES / f"{name}.jsonl").write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main(sys.argv[1:])
