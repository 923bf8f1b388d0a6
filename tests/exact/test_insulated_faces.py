"""Faces between circuits, counted by hand from the steps."""

from __future__ import annotations

from pathlib import Path

import pytest

from aswound.predict import load_design
from aswound.predict.design import ShieldStep
from aswound.predict.winding import ends_of
from aswound.predict.winding.circuits_apart import separations
from aswound.predict.winding.facing_windings import insulated_faces

FRAME = """title = "faces"
[core]
shape = "{core}"
material = "MnZn 2300"
[bobbin]
wall = "1 mm"
flange = "0.5 mm"
{bobbin}
[[winding]]
name = "P"
wire = {{ diameter = "0.3 mm", grade = 2 }}
[[winding]]
name = "S"
wire = {{ diameter = "0.3 mm", grade = 2 }}
[build]
steps = [ {steps} ]
"""
T = '{ tape = "0.05 mm", wraps = 2 }'
U = "U 25/20/13"
CASES = {
    "stacked": ("ETD 29/16/10", "", f'{{ wind = "P", turns = 9 }}, {T}, {{ wind = "S", turns = 9 }}'),
    "legs": (
        U,
        "",
        '{ wind = "P", turns = 9 }, { tape = "0.05 mm", wraps = 2 }, { wind = "S", turns = 9, leg = 2 }, '
        '{ tape = "0.05 mm", wraps = 1, leg = 2 }',
    ),
    "legs covered": (
        U,
        "",
        '{ wind = "P", turns = 9 }, { wind = "S", turns = 9 }, { wind = "P", turns = 9, leg = 2 }, '
        '{ wind = "S", turns = 9, leg = 2 }',
    ),
    "chambers": (
        "ETD 29/16/10",
        'chambers = 2\npartition = "0.8 mm"',
        '{ wind = "P", turns = 9, chamber = 1 }, { wind = "S", turns = 9, chamber = 2 }',
    ),
    "together": ("ETD 29/16/10", "", '{ wind = "P", turns = 9, with = ["S"] }'),
    "shield": (
        "ETD 29/16/10",
        "",
        f'{{ wind = "P", turns = 9 }}, {T}, {{ shield = "0.05 mm", width = "10 mm", name = "E", '
        f'tied = "P.start" }}, {T}, {{ wind = "S", turns = 9 }}',
    ),
}
TWO, ONE = ("tape", 2, 5e-5), ("tape", 1, 5e-5)
EXPECTED = {
    "stacked": [("stacked", "P", "S", [TWO])],
    "legs": [("legs", "P", "S", [TWO, ONE])],
    "legs covered": [("stacked", "P", "S", []), ("stacked", "P", "S", [])],
    "chambers": [("chambers", "P", "S", [("partition", 1, 8e-4)])],
    "together": [("together", "P", "S", [])],
    "shield": [("stacked", "E", "S", [TWO])],
}


@pytest.mark.parametrize("name", CASES)
def test_faces_as_counted(name: str, tmp_path: Path) -> None:
    core, bobbin, steps = CASES[name]
    file = tmp_path / "design.toml"
    file.write_text(FRAME.format(core=core, bobbin=bobbin, steps=steps), encoding="utf-8")
    found = [
        (
            face.kind,
            face.inner,
            face.outer,
            [(part.what, part.count, pytest.approx(part.thickness)) for part in face.insulation],
        )
        for face in insulated_faces(load_design(file))
        if face.between_circuits
    ]
    assert found == EXPECTED[name]


def test_a_shield_lies_in_the_middle_of_its_room(tmp_path: Path) -> None:
    """10 mm wide in 16 mm: 3 mm bare at each end. One wider than its room leaves nothing."""
    shape, bobbin, steps = CASES["shield"]
    path = tmp_path / "d.toml"
    path.write_text(FRAME.format(core=shape, bobbin=bobbin, steps=steps))
    design = load_design(path)
    (shield,) = (step for step in design.build.steps if isinstance(step, ShieldStep))
    assert ends_of(design, shield, 16e-3) == pytest.approx((3e-3, 3e-3))
    assert ends_of(design, shield, 8e-3) == (0.0, 0.0)


def test_chambers_that_are_two_apart_have_two_partitions_between(tmp_path: Path) -> None:
    """P in the first, S in the third of three chambers: two partitions of 0.8 mm."""
    path = tmp_path / "d.toml"
    bobbin = 'chambers = 3\npartition = "0.8 mm"'
    steps = '{ wind = "P", turns = 9, chamber = 1 }, { wind = "S", turns = 9, chamber = 3 }'
    path.write_text(FRAME.format(core="ETD 29/16/10", bobbin=bobbin, steps=steps))
    (apart,) = separations(load_design(path)).values()
    assert apart.thickness == pytest.approx(1.6e-3)
    assert apart.walled
