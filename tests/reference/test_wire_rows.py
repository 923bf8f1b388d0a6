"""Rows of insulated round wires against independent field solutions (cases/README.md)."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from facing_rows import facing_rows

from aswound.predict.capacitance.wire_rows import WireRow

CASES = [
    json.loads(line)
    for line in (Path(__file__).parent / "cases" / "dev-layer-capacitance.jsonl").read_text().splitlines()
]


@pytest.mark.parametrize("case", CASES, ids=[case["id"] for case in CASES])
def test_facing_rows(case: dict[str, float]) -> None:
    """Within 0.1 % (attained 0.03 %); the finite elements are good to 3e-5."""
    diameters = (case["d_conductor"] * 1e-3, case["d_outer"] * 1e-3)
    row = WireRow(*diameters, case["pitch"] * 1e-3, case["eps_enamel"])
    found = facing_rows(row, case["gap"] * 1e-3, case["eps_gap"], float(case["offset_pitch"]))
    assert found == pytest.approx(case["C_per_m_per_wire"], rel=1e-3)
