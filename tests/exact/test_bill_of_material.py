"""Lengths and masses of the build sheet's material list, by hand from the layers' heights."""

from __future__ import annotations

import math

import numpy as np
import pytest
from planar_board import BOARD

from aswound.cli.views.buildsheet_material import material_rows
from aswound.predict import parse_design
from aswound.predict.design import Design
from aswound.predict.shop import build_sheet
from aswound.predict.shop.materials import BillLine, bill_of_material, wire_cuts, wire_mass
from aswound.predict.winding import Layout, lay_out

pytestmark = pytest.mark.exact

TEXT = """
[core]
shape = "ETD 34/17/11"
material = "MnZn 2300"
[bobbin]
wall = "1.1 mm"
flange = "1.0 mm"
[[winding]]
name = "P"
wire = { diameter = "0.50 mm", grade = 2 }
lead_length = "40 mm"
[[winding]]
name = "S"
wire = { diameter = "0.50 mm", grade = 2 }
[build]
reserve = "10 %"
margin = "3 mm"
interlayer = "0.05 mm"
steps = [
  { wind = "P", turns = 60 },
  { tape = "0.06 mm", wraps = 3 },
  { shield = "0.05 mm", name = "E", width = "12 mm", tied = "core" },
  { tape = "0.06 mm", wraps = 2 },
  { wind = "S", turns = 20 },
]
"""
LEG = 10.8e-3


@pytest.fixture(scope="module")
def design() -> Design:
    return parse_design(TEXT)


@pytest.fixture(scope="module")
def layout(design: Design) -> Layout:
    return lay_out(design)


def around(height: float) -> float:
    """Once round a round leg at a height above it, m."""
    return math.pi * (LEG + 2 * height)


def lines(design: Design, kind: str) -> list[BillLine]:
    return [line for line in bill_of_material(design) if line.kind == kind]


def test_tape_by_its_wraps(design: Design, layout: Layout) -> None:
    """Three and two wraps at the middles of their heights, and a tenth more."""
    tops = layout.step_tops[0]
    (tape,) = lines(design, "tape")
    expected = 3 * around(tops[1] - 0.09e-3) + 2 * around(tops[3] - 0.06e-3)
    assert tape.pieces == 2
    assert tape.length == pytest.approx(1.1 * expected, rel=1e-9)


def test_a_screen_overlaps_by_five_millimetres(design: Design, layout: Layout) -> None:
    (screen,) = lines(design, "screen")
    assert screen.length == pytest.approx(around(layout.step_tops[0, 2] - 0.025e-3) + 5e-3, rel=1e-9)
    assert screen.width == pytest.approx(12e-3)


def test_insulation_lies_between_layers_only(design: Design, layout: Layout) -> None:
    """One turn of it on every layer of a step but the last."""
    first = [k for k, section in enumerate(layout.sections) if section.winding == "P"]
    assert len(first) > 1
    (between,) = lines(design, "interlayer")
    tops = [float(layout.stacked(layout.extent)[0, k, 1]) for k in first[:-1]]
    assert between.pieces == len(first) - 1
    assert between.length == pytest.approx(1.1 * sum(around(top + 0.025e-3) for top in tops), rel=1e-9)


def test_margin_tape_on_both_sides_of_every_layer(design: Design, layout: Layout) -> None:
    places = layout.stacked(layout.extent)[0]
    wound = [k for k, section in enumerate(layout.sections) if not section.shield]
    (margin,) = lines(design, "margin tape")
    expected = sum(2 * around(float(np.mean(places[k]))) for k in wound)
    assert margin.pieces == 2 * len(wound)
    assert margin.length == pytest.approx(1.1 * expected, rel=1e-9)


def test_mass_of_a_metre_of_wire(design: Design) -> None:
    """Copper of 8890 kg/m³ and a ring of insulation of 1350 kg/m³."""
    winding = design.winding("P")
    overall = float(winding.wire.overall)
    copper = 8890 * math.pi / 4 * 0.5e-3**2
    enamel = 1350 * math.pi / 4 * (overall**2 - 0.5e-3**2)
    assert wire_mass(winding, 1.0) == pytest.approx(copper + enamel, rel=1e-9)
    assert enamel > 0.01 * copper


def _secondary(wire: str) -> Design:
    return parse_design(
        TEXT.replace('name = "S"\nwire = { diameter = "0.50 mm", grade = 2 }', f'name = "S"\nwire = {wire}')
    )


@pytest.mark.parametrize(("stated", "factor"), [("", 1.05), (", lay_factor = 1.02", 1.02)])
def test_the_strands_of_litz_are_longer_than_the_wire(stated: str, factor: float) -> None:
    """A metre of 60 strands of 0.1 mm: 60 π/4 0.1² mm² of copper, 5 % longer by common practice."""
    litz = _secondary(f'{{ litz_strands = 60, strand = "0.1 mm", overall = "1.1 mm"{stated} }}')
    strands = 60 * math.pi / 4 * 0.1e-3**2
    assert wire_mass(litz.winding("S"), 1.0) == pytest.approx(8890 * strands * factor, rel=1e-9)
    (cut,) = (cut for cut in wire_cuts(litz) if cut.winding == "S")
    (need,) = (need for need in build_sheet(litz, builds=100).wires if need.winding == "S")
    assert need.length == pytest.approx(cut.wound)
    assert need.mass == pytest.approx(8890 * strands * factor * cut.wound, rel=1e-9)


def _length_of_turns(design: Design) -> float:
    layout = lay_out(design)
    here = [k for k, section in enumerate(layout.sections) if section.winding == "S"]
    return float((layout.turns * layout.turn_length)[0, here].sum())


def test_the_wires_of_a_twisted_bundle_are_cut_longer_than_its_turns() -> None:
    """Twisted wires take 3 % more than the turns here; 10 % of reserve on that, and two tails of 50 mm."""
    flat, twisted = (
        _secondary(f'{{ diameter = "0.50 mm", grade = 2, in_hand = 3{more} }}')
        for more in ("", ", twisted = true, lay_factor = 1.03")
    )
    (cut,) = (cut for cut in wire_cuts(twisted) if cut.winding == "S")
    assert cut.wound == pytest.approx(1.03 * _length_of_turns(twisted), rel=1e-9)
    assert cut.length == pytest.approx(1.1 * cut.wound + 0.1, rel=1e-9)
    (cut,) = (cut for cut in wire_cuts(flat) if cut.winding == "S")
    assert cut.wound == pytest.approx(_length_of_turns(flat), rel=1e-9)


def test_a_board_has_etched_layers_and_no_bobbin() -> None:
    """Four layers of P (one step has two), four of S, five prepregs of 0.2 mm and one of 0.25 mm."""
    lines = [(line.kind, line.used_for, line.pieces) for line in bill_of_material(parse_design(BOARD))]
    assert lines == [
        ("core", "core set", 1),
        ("tracks", "P", 4),
        ("tracks", "S", 4),
        ("spacer", "steps 2, 4, 6, 8, 10", 5),
        ("spacer", "step 12", 1),
    ]


def test_foil_has_a_width() -> None:
    """14 mm of foil, told once in words; round wire has none."""
    wire = 'name = "S"\nwire = { diameter = "0.50 mm", grade = 2 }'
    assert wire in TEXT
    text = TEXT.replace(wire, 'name = "S"\nwire = { foil = "0.1 mm", width = "14 mm" }')
    design = parse_design(text.replace("turns = 20", "turns = 5"))
    widths = {line.used_for: line.width for line in bill_of_material(design) if line.kind == "wire"}
    assert widths == {"P": None, "S": pytest.approx(14e-3)}
    (row,) = (row for row in material_rows(design, 1) if row[1] == "S")
    assert row[0] == "foil 0.1 mm × 14 mm"
