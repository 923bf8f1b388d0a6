"""Every leakage case against the model: case, reference, ours, deviation, worst first. Figures, not a test.

python tests/reference/table.py
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))

import test_leakage_3d as solid
import test_window_fields as plane

from aswound.predict.design import ToroidDimensions
from aswound.predict.field import planar_window, round_window
from aswound.predict.ring_leakage import toroid_interaction

Row = tuple[str, str, float, float]
"""Kind, case, reference and ours (J, J/m or H)."""


def planar() -> list[Row]:
    """Windows per metre, all walls permeable."""
    rows: list[Row] = []
    for record in plane.records("dev-planar2d.jsonl"):
        window, flow = record["window"], plane.ampere_turns(record)
        blocks = plane.blocks_of(record, ("x0", "x1", "y0", "y1"))
        matrix = planar_window(window["w"] * 1e-3, window["h"] * 1e-3, blocks)
        rows.append(("planar window", record["id"], record["W_per_m"], float(flow @ matrix @ flow / 2)))
    return rows


def axisymmetric() -> list[Row]:
    """Windows around a round leg."""
    rows: list[Row] = []
    for record in plane.records("dev-axisym2d.jsonl"):
        window, flow = record["window"], plane.ampere_turns(record)
        size = [window[key] * 1e-3 for key in ("r_inner", "r_outer", "h")]
        matrix = round_window(*size, plane.blocks_of(record, ("r0", "r1", "z0", "z1")))
        rows.append(("round window", record["id"], record["W"], float(flow @ matrix @ flow / 2)))
    return rows


def beside() -> list[Row]:
    """A post and its yokes without an outer leg: the mirror where the yokes end with the post, the window
    without outer leg where they reach over the windings; yokes over a part of the windings lie between the
    two."""
    rows: list[Row] = []
    for record in plane.records("dev-axisym-outside.jsonl"):
        _, mirror, yokes = plane.outside_energies(record)
        over = record["yoke"]["r"] > max(block["r1"] for block in record["blocks"])
        bare = record["yoke"]["r"] == record["post"]["r"]
        ratio = yokes if over else mirror
        kind = "outside, yokes" if over else "outside, mirror"
        if not over and not bare:
            kind = "outside, mirror, yokes over a part"
        rows.append((kind, record["id"], record["W"], record["W"] * ratio))
    return rows


def solids() -> list[Row]:
    """Three-dimensional designs, read from a design file as a user's."""
    rows: list[Row] = []
    for name in solid.NAMES:
        reference = solid.load(name)["L_leak_P"]
        kind = "3-D, side by side" if solid.side_by_side(name) else "3-D, concentric"
        case = name.removeprefix("dev-").removesuffix(".json")
        rows.append((kind, case, reference, reference * (1 + solid.deviation(name))))
    record = solid.load("dev-3dt-tor-full.json")
    core, flow = record["core"], np.array([winding["NI"] for winding in record["wind"]])
    ring = ToroidDimensions(2e-3 * core["r2"], 2e-3 * core["r1"], 1e-3 * core["H"])
    offsets = np.array([[[winding["i0"], winding["i1"]] for winding in record["wind"]]]) * 1e-3
    energy = float(flow @ toroid_interaction(ring, offsets)[0] @ flow / 2)
    rows.append(("3-D, ring", record["id"], record["W"], energy))
    return rows


def main() -> None:
    """Print the table, kind by kind, worst first, and each kind's worst and median."""
    rows = planar() + axisymmetric() + beside() + solids()
    for kind in dict.fromkeys(row[0] for row in rows):
        own = sorted((row for row in rows if row[0] == kind), key=lambda row: -abs(row[3] / row[2] - 1))
        sizes = [abs(ours / reference - 1) * 100 for _, _, reference, ours in own]
        print(f"\n{kind}: {len(own)} cases, worst {max(sizes):.3f} %, median {np.median(sizes):.3f} %")
        for _, case, reference, ours in own:
            print(f"  {case:<28} {reference:12.5e} {ours:12.5e} {100 * (ours / reference - 1):+8.3f} %")


if __name__ == "__main__":
    main()
