"""The leakage model against three-dimensional finite-element solutions (tests/reference/cases).

Every case is written as a design file and read, laid out and solved as a user's would be: blocks by
``thickness`` and ``breadth``, distances by spacers. The bars: concentric windings 3 % worst, 0.75 % median;
side by side 5 %, 2 %.
"""

from __future__ import annotations

import functools
import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from aswound.predict import leakage, parse_design
from aswound.predict.design import ToroidDimensions
from aswound.predict.field.leakage_field import interaction, window_fields
from aswound.predict.field.ring_leakage import toroid_interaction

pytestmark = pytest.mark.reference

CASES = Path(__file__).parent / "cases"
SIDE_BY_SIDE = ("sect", "pancake")
NAMES = sorted(path.name for pattern in ("dev-3d-*", "dev-3du-*") for path in CASES.glob(f"{pattern}.json"))


def load(name: str) -> dict[str, Any]:
    record: dict[str, Any] = json.loads((CASES / name).read_text(encoding="utf-8"))
    return record


def dimensions_of(core: dict[str, Any]) -> str:
    """[core.dimensions] of a case; its lengths are half widths and half depths."""
    if core["outer"] == "U":
        return (
            f'form = "U"\nleg_width = "{2 * core["a"]} mm"\nleg_depth = "{2 * core["b"]} mm"\n'
            f'window_width = "{core["xc2"] - 2 * core["a"]} mm"\nwindow_height = "{core["h"]} mm"\n'
            f'back = "{core["ty"]} mm"\n'
        )
    if core["leg"] == "rect":
        return (
            f'form = "E"\nleg_width = "{2 * core["a"]} mm"\nleg_depth = "{2 * core["b"]} mm"\n'
            f'window_width = "{core["xo"] - core["a"]} mm"\nwindow_height = "{core["h"]} mm"\n'
            f'outer_leg = "{core["wo"]} mm"\nback = "{core["ty"]} mm"\nouter_depth = "{2 * core["by"]} mm"\n'
        )
    if core["outer"] == "pot":
        return (
            f'form = "pot"\nleg_diameter = "{2 * core["rc"]} mm"\nwindow_diameter = "{2 * core["ro"]} mm"\n'
            f'outer_diameter = "{2 * core["rx"]} mm"\nwindow_height = "{core["h"]} mm"\n'
            f'back = "{core["ty"]} mm"\nslots = 2\nslot_angle = "{2 * core["slot"]} deg"\n'
        )
    return (
        f'form = "round"\nleg_diameter = "{2 * core["rc"]} mm"\nwindow_diameter = "{2 * core["ro"]} mm"\n'
        f'length = "{2 * core["X"]} mm"\ndepth = "{2 * core["by"]} mm"\nwindow_height = "{core["h"]} mm"\n'
        f'back = "{core["ty"]} mm"\n'
    )


def steps_of(record: dict[str, Any]) -> str:
    """Build steps: every block at its place, ``beside`` where it begins at the same height as the one
    before."""
    half, height, begun, lines = record["core"]["h"] / 2, 0.0, None, []
    for block in sorted(record["blocks"], key=lambda block: (block["d0"], block["z0"])):
        beside = begun == block["d0"]
        if not beside and block["d0"] - height > 1e-9:
            lines.append(f'{{ spacer = "{block["d0"] - height:.6f} mm" }},')
        extra = ", beside = true" if beside else ""
        thickness, breadth = block["d1"] - block["d0"], block["z1"] - block["z0"]
        size = f'thickness = "{thickness:.6f} mm", breadth = "{breadth:.6f} mm"'
        place = f'from_end = "{block["z0"] + half:.6f} mm"{extra}'
        lines.append(f'{{ wind = "{block["w"]}", turns = {block["turns"]}, {size}, {place} }},')
        begun, height = block["d0"], max(height, block["d1"])
    return "\n".join(lines)


def design_text(record: dict[str, Any], permeability: float = 2000) -> str:
    windings = "".join(
        f'[[winding]]\nname = "{name}"\nwire = {{ diameter = "0.2 mm", grade = 1 }}\n'
        for name in record["turns"]
    )
    return (
        f'[core]\nmu_i = {permeability:g}\nface_gap = "0 um"\n'
        f"[core.dimensions]\n{dimensions_of(record['core'])}"
        f'[bobbin]\nwall = "0 mm"\nflange = "0 mm"\n{windings}[build]\nsteps = [\n{steps_of(record)}\n]\n'
    )


@functools.cache
def deviation(name: str) -> float:
    """Model over reference, less one."""
    record = load(name)
    others = [winding for winding in record["turns"] if winding != "P"]
    return float(leakage(parse_design(design_text(record)), "P", others) / record["L_leak_P"] - 1)


def side_by_side(name: str) -> bool:
    return any(word in name for word in SIDE_BY_SIDE)


@pytest.mark.parametrize("name", NAMES)
def test_leakage_against_three_dimensional_solution(name: str) -> None:
    assert abs(deviation(name)) <= (0.05 if side_by_side(name) else 0.03)


@pytest.mark.parametrize("name", NAMES)
def test_design_file_and_window_fields_agree(name: str) -> None:
    """What layout and network make of the file is the field's energy at the case's own currents.

    With a core of next to no reluctance to 1e-4. The case's own core, mu_r = 2000, lowers the reading: at
    most 0.3 % where the windings are concentric, 0.5 % side by side.
    """
    record = load(name)
    height = record["core"]["h"] / 2
    places = [[b["d0"], b["d1"], b["z0"] + height, b["z1"] + height] for b in record["blocks"]]
    flow = np.array([block["NI"] for block in record["blocks"]])
    stiff = parse_design(design_text(record, 1e6))
    fields = window_fields(stiff.core.dimensions, np.array([places]) * 1e-3)
    energy = float(flow @ interaction(fields, flow[None, None])[0, 0] @ flow) / 2
    others = [winding for winding in record["turns"] if winding != "P"]
    assert float(leakage(stiff, "P", others)) == pytest.approx(2 * energy, rel=1e-4)
    lowered = 1 - (1 + deviation(name)) * record["W"] / energy
    assert 0 < lowered < (5e-3 if side_by_side(name) else 3e-3)


@pytest.mark.parametrize(("sectioned", "bar"), [(False, 0.0075), (True, 0.02)])
def test_median_deviation(sectioned: bool, bar: float) -> None:
    values = [abs(deviation(name)) for name in NAMES if side_by_side(name) == sectioned]
    assert len(values) >= 8
    assert float(np.median(values)) <= bar


def test_calibrated_on_the_concentric_cases() -> None:
    """0.64 % root mean square. The calibrated constants of ``turn_lengths`` stand at its least: χ of 0.21 or
    0.25 makes it 0.70 and 0.68 %, the corner's mirror missing wholly or not at all 0.98 and 0.80 %, a cap at
    three widths 0.73 % (four or more read these cases alike)."""
    values = [deviation(name) for name in NAMES if not side_by_side(name)]
    assert float(np.sqrt(np.mean(np.square(values)))) <= 0.0066


def test_ring_with_full_windings() -> None:
    """0.5 % of the three-dimensional solution."""
    record = load("dev-3dt-tor-full.json")
    core = record["core"]
    ring = ToroidDimensions(2e-3 * core["r2"], 2e-3 * core["r1"], 1e-3 * core["H"])
    offsets = np.array([[[winding["i0"], winding["i1"]] for winding in record["wind"]]]) * 1e-3
    flow = np.array([winding["NI"] for winding in record["wind"]])
    energy = flow @ toroid_interaction(ring, offsets)[0] @ flow / 2
    assert energy == pytest.approx(record["W"], rel=5e-3)
