"""The build sheet: heights add up, lengths are those of the layout, faces are those that the file shows."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from aswound.cli.views.forecast import forecast
from aswound.predict import load_design
from aswound.predict.shop.sheet_steps import build_sheet

SAMPLES = Path(__file__).parents[2] / "samples"
NAMES = ["flyback-24w", "bridge-300w", "gate-drive"]


def test_heights_of_the_flyback_add_up() -> None:
    """By hand: every winding is one layer of its wire's overall diameter, tape is wraps × thickness."""
    design = load_design(SAMPLES / "flyback-24w.toml")
    over = {winding.name: float(np.asarray(winding.wire.overall)) for winding in design.windings}
    added = [over["P"], 0.18e-3, over["S"], 0.18e-3, over["P"], 0.12e-3, over["AUX"], 0.18e-3]
    sheet = build_sheet(design, builds=200)
    assert [part.height.nominal for part in sheet.operations] == pytest.approx(np.cumsum(added), rel=1e-12)
    assert all(part.height.low < part.height.nominal < part.height.high for part in sheet.operations)


@pytest.mark.parametrize("name", NAMES)
def test_lengths_are_those_of_the_prediction(name: str) -> None:
    design = load_design(SAMPLES / f"{name}.toml")
    sheet = build_sheet(design, builds=200)
    predicted = {winding.name: winding.length for winding in forecast(design, 100, 1).windings}
    assert {need.winding: need.length for need in sheet.wires} == pytest.approx(predicted, rel=1e-12)
    for winding in design.windings:
        sections = [
            part for step in sheet.operations for part in step.sections if part.winding == winding.name
        ]
        assert [part.ordinal for part in sections] == list(range(1, len(sections) + 1))
        assert {part.count for part in sections} == {len(sections)}


def test_faces_of_the_samples() -> None:
    """Counted by hand from the files: three faces, four faces, one with tape and one without."""
    found = {}
    for name in NAMES:
        faces = build_sheet(load_design(SAMPLES / f"{name}.toml"), builds=200).faces
        found[name] = [
            (
                "".join(face.first_names),
                "".join(face.second_names),
                [(part.count, round(part.thickness, 9)) for part in face.insulation],
            )
            for face in faces
            if face.between_circuits
        ]
    three, two = [(3, 60e-6)], [(2, 60e-6)]
    assert found["flyback-24w"] == [("P", "S", three), ("S", "P", three), ("P", "AUX", two)]
    both = [(2, 50e-6)]
    assert found["bridge-300w"] == [("P", "S", both), ("S", "B", both), ("B", "S", both), ("S", "P", both)]
    assert found["gate-drive"] == [("D", "G1", [(1, 60e-6)]), ("G1", "G2", [])]
