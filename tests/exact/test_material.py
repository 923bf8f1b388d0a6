"""The bill of material by hand: every kind of line, its length, width, mass and number, for one part and for
a lot."""

from __future__ import annotations

import csv
import math

import pytest

from aswound.cli.views.buildsheet_material import material_csv, material_rows
from aswound.predict import parse_design
from aswound.predict.shop import bill_of_material

pytestmark = pytest.mark.exact

LEG = 9.5e-3 / 2
"""Radius (m) of the ETD 29's leg (IEC 62317-6, middle of its range; as the catalogue has it)."""
WALL = 1.2e-3
OVER = 0.4e-3

TEXT = """
[core]
shape = "ETD 29/16/10"
material = "MnZn 2300"
[bobbin]
wall = "1.2 mm"
flange = "1.3 mm"
[[winding]]
name = "P"
wire = { diameter = "0.35 mm", overall = "0.40 mm" }
[[winding]]
name = "L"
wire = { litz_strands = 20, strand = "0.1 mm", overall = "0.8 mm", in_hand = 2 }
metal = "aluminium"
[build]
reserve = "10 %"
tail = "60 mm"
steps = [
  { wind = "P", turns = 60, layers = 3, interlayer = "0.1 mm" },
  { spacer = "0.5 mm" },
  { shield = "0.05 mm", width = "16 mm", name = "E", tied = "core" },
  { tape = "0.06 mm", wraps = 3 },
  { wind = "L", turns = 5, margin = "2 mm" },
  { tape = "0.1 mm", wraps = 1 },
]
"""


def around(height: float) -> float:
    """One turn at a height above the leg (m)."""
    return math.tau * (LEG + height)


def test_every_line_by_hand() -> None:
    by_kind = {(item.kind, item.what): item for item in bill_of_material(parse_design(TEXT))}
    by_name = {kind: item for (kind, _), item in by_kind.items()}
    # 3 layers of P with two sheets of 0.1 mm between them, the first on 0.40 mm of wire, the next on 0.90 mm
    sheets = by_name["interlayer"]
    laid = around(WALL + OVER + 0.05e-3) + around(WALL + 2 * OVER + 0.15e-3)
    assert sheets.what == "insulation 0.1 mm"
    assert sheets.pieces == 2
    assert sheets.length == pytest.approx(1.1 * laid, rel=1e-3)
    assert sheets.width == pytest.approx(22.0e-3 - 2 * 1.3e-3, rel=1e-3)
    # P is 3 × 0.40 + 2 × 0.1 mm high, the spacer 0.5 mm: the screen's middle lies 0.025 mm above
    screen = by_name["screen"]
    under = WALL + 3 * OVER + 0.2e-3 + 0.5e-3
    assert screen.what == "copper foil 0.05 mm"
    assert (screen.used_for, screen.pieces, screen.width) == ("E", 1, pytest.approx(16e-3))
    assert screen.length == pytest.approx(around(under + 0.025e-3) + 5e-3, rel=1e-3)
    assert (by_name["spacer"].what, by_name["spacer"].used_for) == ("0.5 mm spacer", "step 2")
    assert by_name["spacer"].pieces == 1
    # three wraps on the screen; one over the litz (0.8 mm, one layer)
    three = by_kind["tape", "tape 0.06 mm"]
    assert three.length == pytest.approx(1.1 * 3 * around(under + 0.05e-3 + 0.09e-3), rel=1e-3)
    one = by_kind["tape", "tape 0.1 mm"]
    top = under + 0.05e-3 + 0.18e-3
    assert one.length == pytest.approx(1.1 * around(top + 0.8e-3 + 0.05e-3), rel=1e-3)
    # margin tape at both ends of the litz's one layer
    margin = by_name["margin tape"]
    assert margin.pieces == 2
    assert margin.width == pytest.approx(2e-3)
    assert margin.length == pytest.approx(1.1 * 2 * around(top + 0.4e-3), rel=1e-3)
    # wire: two litz bundles of 5 turns, a tail of 60 mm at each of their ends
    litz = next(item for item in by_kind.values() if item.kind == "wire" and item.used_for == "L")
    assert litz.pieces == 2
    bundle = 1.1 * 5 * around(top + 0.4e-3) + 2 * 60e-3
    assert litz.length == pytest.approx(2 * bundle, rel=2e-3)
    grams = 1.05 * 1e3 * 2703.0 * 20 * math.pi / 4 * 0.1e-3**2 * 2 * bundle
    assert litz.mass is not None
    assert 1e3 * litz.mass == pytest.approx(grams, rel=2e-3), "its strands are 5 % longer than the wire"
    assert by_name["core"].pieces == by_name["bobbin"].pieces == 1


def test_a_lot_is_so_many_parts() -> None:
    design = parse_design(TEXT)
    bill = bill_of_material(design)
    rows = list(csv.DictReader(material_csv(design, 250).splitlines()))
    assert len(rows) == len(bill)
    for row, item in zip(rows, bill, strict=True):
        assert (row["kind"], int(row["pieces"]), int(row["lot_pieces"])) == (
            item.kind,
            item.pieces,
            250 * item.pieces,
        )
        for name, value, scale in (
            ("length_m", item.length, 1.0),
            ("width_mm", item.width, 1e3),
            ("mass_g", item.mass, 1e3),
            ("lot_length_m", item.length, 250.0),
            ("lot_mass_kg", item.mass, 250.0),
        ):
            assert (
                row[name] == "" if value is None else float(row[name]) == pytest.approx(value * scale, 1e-5)
            )
    words = {row[0]: row[1:] for row in material_rows(design, 250)}
    screen = next(item for item in bill if item.kind == "screen")
    assert screen.length is not None
    for told, parts in zip(words["copper foil 0.05 mm, 16 mm wide"][1:], (1, 250), strict=True):
        assert float(told.removesuffix(" m")) == pytest.approx(parts * screen.length, abs=0.01)
    assert words["0.5 mm spacer"] == ["step 2", "1", "250"]
    (sheets,) = (item for item in bill if item.kind == "interlayer")
    assert sheets.length is not None
    shown = words["insulation 0.1 mm, 19.4 mm wide"]
    assert shown[0] == "between layers"
    assert float(shown[2].removesuffix(" m")) == pytest.approx(250 * sheets.length, abs=0.01)
