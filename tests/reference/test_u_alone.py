"""Open inductance of a winding on one leg of a U core with a gap in each leg, against three-dimensional
fields (``open_fields.py``): the flux that goes from yoke to yoke through the air is 7 to 20 % of it."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from aswound.predict import Design, parse_design
from aswound.predict.circuit import inductance_matrix
from aswound.predict.cores import inductance_factor
from aswound.predict.production.tolerances import _al_error

pytestmark = pytest.mark.reference

RECORDS = [
    json.loads(line)
    for line in (Path(__file__).parent / "cases" / "u-alone.jsonl").read_text("utf-8").splitlines()
]


def as_design(case: dict[str, Any], core: str = "", leg: int = 1) -> Design:
    """The case as a design file: one turn of foil, as thick as the winding."""
    lengths, block = case["core"], case["wind"][0]
    gap = f'gap = "{2 * lengths["gap"]} mm"\ngap_legs = "spacer"' if "gap" in lengths else ""
    return parse_design(f"""
[core]
mu_i = {lengths["mur"]}
face_gap = "0 um"
{gap}
{core}
[core.dimensions]
form = "U"
leg_width = "{lengths["leg"]} mm"
leg_depth = "{lengths["depth"]} mm"
window_width = "{lengths["window"]} mm"
window_height = "{lengths["height"]} mm"
back = "{lengths["back"]} mm"
[bobbin]
wall = "{block["d0"]} mm"
flange = "{block["z0"]} mm"
[[winding]]
name = "P"
wire = {{ foil = "{block["d1"] - block["d0"]} mm", width = "{block["z1"] - block["z0"]} mm" }}
[build]
steps = [{{ wind = "P", turns = 1, leg = {leg} }}]
""")


def off(case: dict[str, Any], leg: int = 1) -> float:
    found = float(inductance_matrix(as_design(case, leg=leg)).ravel()[0])
    return found / (2 * case["W"] / case["wind"][0]["NI"] ** 2) - 1


@pytest.mark.parametrize(
    "case", [case for case in RECORDS if "gap" in case["core"]], ids=lambda case: case["id"]
)
def test_one_wound_leg(case: dict[str, Any]) -> None:
    """0.7 to 3.8 % high with gaps of up to a twentieth of each leg, 9.8 % with a tenth; the error that is
    stated of the inductance (k = 2) holds it: 6 %, 12 % for long gaps. On the other leg alike."""
    long = case["id"] == "wide-gap"
    assert 0.005 < off(case) < (0.10 if long else 0.04)
    stated = 2 * _al_error(as_design(case).core)
    assert stated == pytest.approx(0.12 if long else 0.06)
    assert off(case, 2) == pytest.approx(off(case), abs=1e-9)
    assert abs(case["finer_mesh"]) < 0.0135


def test_a_closed_core_of_low_permeability() -> None:
    """mu 300 without a gap: 8 % low. The flux takes the inner side of the corners, shorter than the path of
    IEC 60205; ±25 % are stated of ungapped sets."""
    (case,) = (case for case in RECORDS if case["id"] == "closed")
    assert -0.09 < off(case) < -0.06


def test_a_stated_al_holds_that_flux() -> None:
    """With al the reading is al times the turns squared, with what thickness and window add: not 7 % more."""
    (case,) = (case for case in RECORDS if case["id"] == "narrow-gap")
    factor = float(inductance_factor(as_design(case)))
    stated = as_design(case, f'al = "{factor * 1e9:.6f} nH"')
    assert float(inductance_matrix(stated).ravel()[0]) == pytest.approx(factor, rel=0.03)
