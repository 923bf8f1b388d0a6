"""Numbers that no test held until a deliberate mistake survived (``tests/mutations``), each by hand."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from aswound.compare.causes import CATALOGUE
from aswound.compare.consistency.checks import part_checks
from aswound.compare.consistency.part import PartReading, PartReadings
from aswound.compare.diagnosis.weighing import case_of
from aswound.compare.hypotheses.candidates import candidates
from aswound.compare.hypotheses.inquiry import inquire
from aswound.compare.readings import ReadTest
from aswound.predict import load_design, parse_design
from aswound.predict.capacitance.facing_layers import LayerFace, row_depth
from aswound.predict.circuit.section_coupling import balanced_ampere_turns, sections_of
from aswound.predict.design import Bench, BenchTest, Member
from aswound.predict.netlist.check import deviations
from aswound.predict.netlist.elements import Range, fitted_circuit
from aswound.predict.shop import build_sheet
from aswound.predict.shop.materials import wire_mass
from aswound.predict.winding import cross_section, lay_out
from aswound.predict.winding.layering import copper_thickness, layer_thickness

pytestmark = pytest.mark.exact

SAMPLES = Path(__file__).parents[2] / "samples"
STACK = """
[core]
shape = "ETD 29/16/10"
material = "MnZn 2300"
[bobbin]
wall = "1.2 mm"
flange = "1.3 mm"
{windings}
[build]
steps = [{steps}]
"""


def stack(steps: str, names: str = "PSTQ") -> str:
    """A design of 20 turns a layer of 0.5 mm wire."""
    windings = "\n".join(
        f'[[winding]]\nname = "{name}"\nwire = {{ diameter = "0.5 mm", overall = "0.56 mm" }}'
        for name in names
        if f'"{name}"' in steps
    )
    return STACK.format(windings=windings, steps=steps)


def test_the_worst_step_of_a_shorted_sweep_is_named() -> None:
    """5 % from 1 to 10 kHz, 40 % from 10 to 100 kHz: the second."""
    values = {1e3: 10.5e-6, 10e3: 10e-6, 100e3: 6e-6}
    items = tuple(
        PartReading(
            test=BenchTest(
                name=f"L at {f:g} Hz",
                measure="inductance",
                drive=(Member("P"),),
                short=(Member("S"),),
                frequency=f,
            ),
            value=value,
            uncertainty=0.002 * value,
        )
        for f, value in values.items()
    )
    laws = part_checks(PartReadings(items=items, bench=Bench(), turning={"P": 1, "S": 1}))
    (check,) = [law for law in laws if law.check == "shorted inductance on its plateau"]
    assert "L at 10000 Hz" in check.detail
    assert "L at 100000 Hz" in check.detail
    assert "a change of -40.0 %" in check.detail


def test_a_reading_without_an_uncertainty_is_not_weighed() -> None:
    design = load_design(SAMPLES / "bridge-300w.toml")
    design = replace(design, tests=design.tests[:3])
    inquiry = inquire(design, design.tests, CATALOGUE[:1])
    read = [
        ReadTest(test_index=0, value=1e-3, uncertainty=1e-6, repeats=1),
        ReadTest(test_index=1, value=1e-3, uncertainty=None, repeats=1),
        ReadTest(test_index=2, value=None, uncertainty=1e-6, repeats=0),
    ]
    case = case_of(design, inquiry.background, read, inquiry.staged, inquiry.response)
    assert case.test_indices == (0,)


def test_an_outer_winding_behind_a_shorted_one_carries_little() -> None:
    """P | S | T, S and T shorted: S keeps the flux from T, whose current would be as large by turns alone.
    S1 | P | S2 at equal distances share about evenly."""
    far = parse_design(
        stack("""
      { wind = "P", turns = 20 }, { tape = "0.1 mm", wraps = 2 }, { wind = "S", turns = 20 },
      { tape = "0.1 mm", wraps = 2 }, { wind = "T", turns = 20 },""")
    )
    test = BenchTest(
        name="Lk",
        measure="inductance",
        drive=(Member("P"),),
        short=(Member("S"), Member("T")),
        frequency=100e3,
    )
    sections = sections_of(replace(far, tests=(test,)))
    flow = balanced_ampere_turns(sections, (test,))[0, 0]
    names = [section.winding for section in sections.layout.sections]
    by_name = {name: sum(x for x, own in zip(flow, names, strict=True) if own == name) for name in names}
    assert by_name["P"] == pytest.approx(20.0)
    assert by_name["S"] + by_name["T"] == pytest.approx(-20.0)
    assert abs(by_name["T"]) < 1.0
    near = parse_design(
        stack("""
      { wind = "S", turns = 20 }, { tape = "0.1 mm", wraps = 2 }, { wind = "P", turns = 20 },
      { tape = "0.1 mm", wraps = 2 }, { wind = "T", turns = 20 },""")
    )
    shared = balanced_ampere_turns(sections_of(replace(near, tests=(test,))), (test,))[0, 0]
    assert sorted(np.abs(shared)) == pytest.approx([10.0, 10.0, 20.0], abs=1.5)


def test_mass_of_a_wire_is_copper_and_enamel() -> None:
    """Ten metres: 8890 kg/m³ of copper (IEC 60028), a ring of 1350 kg/m³ around it."""
    winding = parse_design(stack('{ wind = "P", turns = 20 }')).winding("P")
    copper = 8890.0 * math.pi / 4 * 0.5e-3**2 * 10.0
    enamel = 1350.0 * math.pi / 4 * (0.56e-3**2 - 0.5e-3**2) * 10.0
    assert wire_mass(winding, 10.0) == pytest.approx(copper + enamel, rel=1e-9)


def test_length_of_tape_is_along_its_middle() -> None:
    """Three wraps of 0.06 mm on a layer of 0.56 mm around the bobbin: 2π (r + 1.2 + 0.56 + 0.09 mm)."""
    design = parse_design(stack('{ wind = "P", turns = 20 }, { tape = "0.06 mm", wraps = 3 }'))
    (_, tape) = build_sheet(design, builds=100).operations
    around = design.core.dimensions.perimeter + math.tau * (1.2e-3 + 0.56e-3 + 0.09e-3)
    assert tape.tape_length == pytest.approx(3 * around, rel=1e-9)


def test_a_netlist_within_its_range_deviates_little() -> None:
    """Deviations are relative: of every kind of reading some per cent at most, and not all of one sign."""
    design = replace(load_design(SAMPLES / "gate-drive.toml"), tests=())
    span = Range(10e3, 100e3)
    found = deviations(fitted_circuit(design, span), span)
    assert {one.kind for one in found} == {
        "open impedance", "open resistance", "short impedance", "short resistance", "ratio",
    }  # fmt: skip
    assert all(abs(one.size) < 0.1 for one in found)


def test_a_row_looks_like_a_plane_a_ninth_of_the_pitch_behind_its_insulation() -> None:
    """Close-wound bare wires: 0.10 of the pitch (documented); enamel adds its thickness over permittivity."""
    bare = LayerFace(diameter=0.5e-3, overall=0.5e-3, pitch=0.5e-3)
    assert 0.10 <= float(row_depth(bare)) / 0.5e-3 < 0.12
    enamelled = replace(bare, overall=0.56e-3, insulation=3.0)
    assert float(row_depth(enamelled) - row_depth(bare)) == pytest.approx(0.01e-3)


def test_copper_of_a_served_bundle() -> None:
    """A square as large as the circle around three twisted wires, without their serving."""
    text = stack('{ wind = "P", turns = 20 }').replace(
        'overall = "0.56 mm"', 'overall = "0.56 mm", in_hand = 3, twisted = true, serving = "0.05 mm"'
    )
    wire = parse_design(text).winding("P").wire
    round_bundle = 0.56e-3 * (1 + 2 / math.sqrt(3))
    assert copper_thickness(wire) == pytest.approx(round_bundle * math.sqrt(math.pi) / 2)
    assert layer_thickness(wire) == pytest.approx(round_bundle + 0.1e-3)


def test_what_may_be_read_next() -> None:
    """Of the first open test a tenth of the level and of the frequency, of shorted ones a tenth of the
    frequency."""
    design = load_design(SAMPLES / "flyback-24w.toml")
    offered = [test for test, _ in candidates(design)]
    first = next(test for test in design.tests if test.measure == "inductance" and not test.short)
    leakage = next(test for test in design.tests if test.measure == "inductance" and test.short)
    assert first.frequency is not None
    assert leakage.frequency is not None
    wanted = {
        (first.drive, first.short, first.frequency, first.level / 10),
        (first.drive, first.short, first.frequency / 10, first.level),
        (leakage.drive, leakage.short, leakage.frequency / 10, leakage.level),
    }
    assert wanted <= {
        (test.drive, test.short, test.frequency, test.level)
        for test in offered
        if test.measure == "inductance"
    }


def test_margin_that_a_flat_layer_covers_is_not_drawn() -> None:
    """A layer pushed to one end of a flat build lies where its margin would: one piece of margin is left."""
    text = """
[core]
shape = "ETD 29/16/10"
material = "MnZn 2300"
[bobbin]
wall = "1.2 mm"
flange = "1.3 mm"
[[winding]]
name = "P"
wire = { diameter = "0.5 mm", overall = "0.56 mm" }
[build]
direction = "up"
margin = "0.8 mm"
steps = [{ wind = "P", turns = 4, from_end = "WHERE", breadth = "2.8 mm" }]
"""
    for where in ("0 mm", "1.9 mm"):
        design = parse_design(text.replace("WHERE", where))
        pieces = cross_section(design, lay_out(design)).pieces
        (layer,) = [piece for piece in pieces if piece.kind == "winding"]
        margins = [piece for piece in pieces if piece.kind == "margin"]
        assert len(margins) == 1
        assert all(piece.x1 <= layer.x0 + 1e-9 or piece.x0 >= layer.x1 - 1e-9 for piece in margins)
