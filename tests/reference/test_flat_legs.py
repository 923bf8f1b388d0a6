"""Gapped E and EFD sets against three-dimensional field solutions (``flat_legs.py``)."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from aswound.predict.cores.magnetizing import core_inductance_factor
from aswound.predict.design import Core, EDimensions, Material

pytestmark = pytest.mark.reference

CASES = [
    json.loads(line)
    for line in (Path(__file__).parent / "cases" / "flat-legs.jsonl").read_text("utf-8").splitlines()
]


@pytest.mark.parametrize("case", CASES, ids=[case["id"] for case in CASES])
def test_inductance_factor(case: dict[str, Any]) -> None:
    """Sharp legs of infinite permeability: 2.5 % (attained 0.2 to 1.9 %, low in deep windows); with the leg
    in the middle of the yoke's depth and flush with its side the solutions differ by less than 0.1 %, so that
    where the leg lies need not be known."""
    size = {key: value * 1e-3 for key, value in case["size"].items()}
    dimensions = EDimensions(
        leg_width=size["leg"],
        leg_depth=size["depth"],
        window_width=size["w"],
        window_height=size["h"],
        outer_leg=size["outer"],
        back=size["back"],
        outer_depth=size["od"],
    )
    core = Core(
        name=case["id"],
        dimensions=dimensions,
        material=Material(name="iron", initial_permeability=1e9),
        effective_area=size["leg"] * size["depth"],
        effective_length=1e-3,
        gap=case["gap"] * 1e-3,
        face_gap=0.0,
    )
    assert float(core_inductance_factor(core)) == pytest.approx(case["AL"], rel=0.025)
