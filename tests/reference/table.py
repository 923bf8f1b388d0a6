"""Every field case and published table against the models: case, reference, ours, deviation, worst first.
Figures, not a test.

python tests/reference/table.py
"""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))
sys.path.insert(0, str(Path(__file__).parents[1] / "published"))
sys.path.insert(0, str(Path(__file__).parents[1] / "shared"))

import test_eddy as eddy
import test_gapped_al as gapped
import test_leakage_3d as solid
import test_magnetizing as tables
import test_ring_sectors as rings
import test_window_fields as plane
import test_wire_rows as wires
from published_sizes import published_deviation

from aswound.predict import inductance_matrix, parse_design
from aswound.predict.catalogue.lookup import load_catalogue
from aswound.predict.cores.magnetizing import core_inductance_factor
from aswound.predict.design import ToroidDimensions
from aswound.predict.field import planar_window, round_window
from aswound.predict.field.ring_leakage import toroid_interaction

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
    rows += [("sectors of a ring", case["id"], case["W"], rings.modelled(case)) for case in rings.RECORDS]
    return rows


def gaps() -> list[Row]:
    """Inductance factors of gapped pots (field solutions) and of two published tables."""
    rows: list[Row] = []
    for case in gapped.CASES:
        design = parse_design(gapped.design_text(case))
        rows.append(
            ("AL of gapped pots", case["id"], case["AL"], float(np.ravel(inductance_matrix(design))[0]))
        )
    for core, table in ((tables.E42, tables.E42_TABLE), (tables.RM8, tables.RM8_TABLE)):
        for nanohenry, micrometre in table:
            ours = float(core_inductance_factor(replace(core, gap=micrometre * 1e-6)))
            case = f"{core.name}, {micrometre} um"
            rows.append(("AL of published tables", case, nanohenry * 1e-9, ours))
    return rows


def copper() -> list[Row]:
    """Stacks of layers: resistance and leakage, each at its worst frequency up to 1 MHz and beyond."""
    rows: list[Row] = []
    for name in ("dev-eddy2d.jsonl", "eddy-stacks.jsonl"):
        for record in eddy.records(name):
            points = eddy.impedances(record)
            for kind, place in (("R of stacks", 1), ("L of stacks", 2)):
                worst = max(points, key=lambda point: abs(point[place]))
                key = "R" if place == 1 else "L"
                reference = next(each[key] for each in record["results"] if each["f"] == worst[0])
                case = f"{record['id']}, {worst[0] / 1e3:g} kHz"
                rows.append((kind, case, reference, reference * (1 + worst[place])))
    return rows


def charges() -> list[Row]:
    """Facing rows of round wires, per wire and metre."""
    rows: list[Row] = []
    for case in wires.CASES:
        row = wires.WireRow(
            case["d_conductor"] * 1e-3, case["d_outer"] * 1e-3, case["pitch"] * 1e-3, case["eps_enamel"]
        )
        ours = wires.facing_rows(row, case["gap"] * 1e-3, case["eps_gap"], float(case["offset_pitch"]))
        rows.append(("layer capacitance", str(case["id"]), case["C_per_m_per_wire"], ours))
    return rows


def catalogue() -> list[Row]:
    """Published Ae and le of every core against IEC 60205 from its dimensions."""
    rows: list[Row] = []
    for core in load_catalogue().cores.values():
        published = {"area": core.published_area, "length": core.published_length}
        for key, deviation in published_deviation(core).items():
            value = published.get(key)
            if value is not None:
                family = core.name.split()[0]
                rows.append((f"{key} of {family} cores", core.name, value, value * (1 + deviation)))
    return rows


def main() -> None:
    """Print the table, kind by kind, worst first, and each kind's worst and median."""
    rows = planar() + axisymmetric() + beside() + solids() + gaps() + copper() + charges() + catalogue()
    for kind in dict.fromkeys(row[0] for row in rows):
        own = sorted((row for row in rows if row[0] == kind), key=lambda row: -abs(row[3] / row[2] - 1))
        sizes = [abs(ours / reference - 1) * 100 for _, _, reference, ours in own]
        print(f"\n{kind}: {len(own)} cases, worst {max(sizes):.3f} %, median {np.median(sizes):.3f} %")
        for _, case, reference, ours in own:
            print(f"  {case:<28} {reference:12.5e} {ours:12.5e} {100 * (ours / reference - 1):+8.3f} %")


if __name__ == "__main__":
    main()
