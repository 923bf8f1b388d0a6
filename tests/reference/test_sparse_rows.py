"""A spaced layer between two close ones against independent field solutions (``sparse_rows.py``)."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from aswound.predict import lay_out, parse_design
from aswound.predict.capacitance.potentials import build_capacitance
from aswound.predict.capacitance.wire_rows import EPSILON_0

pytestmark = pytest.mark.reference

CASES = [
    json.loads(line)
    for line in (Path(__file__).parent / "cases" / "sparse-rows.jsonl").read_text("utf-8").splitlines()
]
CLOSE_TURNS = 96


def design_text(case: dict[str, Any], middle: str) -> str:
    """Windings P and S of close wires, ``middle`` between them, on a long leg without outer walls."""
    wire, spaced = case["close"], case["middle"]
    sheets = []
    for thickness, permittivity in (case["lower"], case["upper"]):
        kind = "tape" if permittivity > 1 else "spacer"
        wraps = ", wraps = 1" if kind == "tape" else ""
        sheets.append(f'{{ {kind} = "{thickness} mm"{wraps}, permittivity = {permittivity} }}')

    def winding(name: str, size: dict[str, float]) -> str:
        return (
            f'[[winding]]\nname = "{name}"\nwire = {{ diameter = "{size["d"]} mm", '
            f'overall = "{size["D"]} mm" }}\n'
        )

    return f"""
[core]
mu_i = 2000
[core.dimensions]
form = "E"
leg_width = "60 mm"
leg_depth = "60 mm"
window_width = "20 mm"
window_height = "{CLOSE_TURNS * wire["pitch"]:.4f} mm"
outer_leg = "30 mm"
back = "30 mm"
cover = 0
[bobbin]
wall = "1 mm"
flange = "0 mm"
{winding("P", wire)}{winding("S", wire)}{winding("B", spaced) if "wind" in middle else ""}
[build]
steps = [
  {{ wind = "P", turns = {CLOSE_TURNS} }},
  {sheets[0]},
  {middle},
  {sheets[1]},
  {{ wind = "S", turns = {CLOSE_TURNS} }},
]
"""


def per_area(text: str) -> dict[str, float]:
    """Capacitance between windings over their breadth and mean turn (F/m²)."""
    design = parse_design(text)
    layout = lay_out(design)
    built = build_capacitance(design, layout)
    names = [layout.branches[branch].winding if branch >= 0 else "core" for branch, _ in built.labels]
    breadth = float(layout.extent[0, 0, 3] - layout.extent[0, 0, 2])
    turn = {s.winding: float(layout.turn_length[0, i]) for i, s in enumerate(layout.sections)}
    found = {}
    for one, two in ("PB", "BS", "PS"):
        rows = [[float(name == each) for name in names] for each in (one, two)]
        if one in turn and two in turn:
            mean = (turn[one] + turn[two]) / 2
            found[one + two] = -float(np.array(rows[0]) @ built.matrix[0] @ rows[1]) / breadth / mean
    return found


def in_register(case: dict[str, Any]) -> bool:
    """Whether the middle row stands so near and so often before single wires of the others that it matters
    how they lie to each other; the model takes the mean of all places."""
    return bool(case["lower"][1] > 1 and case["middle"]["pitch"] < 3.5 * case["close"]["pitch"])


@pytest.mark.parametrize("case", CASES, ids=[case["id"] for case in CASES])
def test_three_rows(case: dict[str, Any]) -> None:
    """Middle to lower, middle to upper, and past the middle row: 2 % (attained 1.5 %), the field solutions
    are good to 1 %; 8 % to the near rows where wires face each other in register, where the solution is one
    of many. What passes is asked to 2 % or 0.3 % of what faces; through the close row of the first cases
    nothing does."""
    turns = round(CLOSE_TURNS * case["close"]["pitch"] / case["middle"]["pitch"])
    found = per_area(design_text(case, f'{{ wind = "B", turns = {turns} }}'))
    solved = -np.array(case["C"]) / (case["middle"]["pitch"] * 1e-3)
    near = 0.08 if in_register(case) else 0.02
    assert found["PB"] == pytest.approx(solved[0, 1], rel=near)
    assert found["BS"] == pytest.approx(solved[1, 2], rel=near)
    assert found["PS"] == pytest.approx(solved[0, 2], rel=0.02, abs=3e-3 * solved[0, 1])


def test_vanishing_turns_leave_what_is_without_them() -> None:
    """A hair-thin wire that floats half way between two layers leaves their field as it was, be it one turn
    or forty (0.5 %), and takes 2πε₀/ln(2D/πa) from both together (line charge between two planes; 3 %)."""
    case = {
        "close": {"d": 0.40, "D": 0.46, "pitch": 0.47},
        "middle": {"d": 0.018, "D": 0.02, "pitch": 45.12},
        "lower": (0.49, 1.0),
        "upper": (0.49, 1.0),
    }
    none = per_area(design_text(case, '{ spacer = "0.02 mm" }'))["PS"]
    distance = EPSILON_0 / none
    for turns in (1, 40):
        found = per_area(design_text(case, f'{{ wind = "B", turns = {turns} }}'))
        past = found["PB"] * found["BS"] / (found["PB"] + found["BS"])
        assert found["PS"] + past == pytest.approx(none, rel=0.005)
        wires = turns / (CLOSE_TURNS * 0.47e-3) * np.pi * EPSILON_0 / np.log(2 * distance / (np.pi * 9e-6))
        assert found["PB"] == pytest.approx(float(wires), rel=0.03)
