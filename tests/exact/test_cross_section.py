"""The drawing's rectangles against the layout, its cells against the demands on them, F against sums by
hand."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from aswound.cli.views.drawing_legend import entries
from aswound.cli.views.drawing_svg import drawing_svg
from aswound.cli.views.drawing_text import drawing_parts
from aswound.cli.views.page import Figure
from aswound.cli.views.raster import fitted_axis, needed_cells
from aswound.predict.circuit.ampere_turns import ampere_turn_function, diagram_test
from aswound.predict.design import Bobbin, Design
from aswound.predict.designfile.reader import load_design, parse_design
from aswound.predict.errors import DesignError
from aswound.predict.winding.layout import lay_out
from aswound.predict.winding.rectangles import CrossSection, cross_section

SAMPLES = Path(__file__).parents[2] / "samples"
NAMES = ("flyback-24w", "bridge-300w", "gate-drive")


def design_of(name: str) -> Design:
    return load_design(SAMPLES / f"{name}.toml")


def drawn(design: Design) -> CrossSection:
    return cross_section(design, lay_out(design))


@pytest.mark.parametrize("name", NAMES)
def test_svg_rectangles_are_the_layout(name: str) -> None:
    """Every layer's rectangle in the file, in mm, is that of the layout within the four decimals written."""
    section = drawn(design_of(name))
    text = drawing_svg(section, None)
    pattern = r'<rect x="([^"]+)" y="([^"]+)" width="([^"]+)" height="([^"]+)" fill="url\(#w\d+\)">'
    found = np.array([[float(value) for value in match] for match in re.findall(pattern, text)])
    boxes = section.layout.extent[0] * 1e3
    low = np.zeros(len(boxes)) if section.ring else boxes[:, 2]
    high = np.full(len(boxes), section.height * 1e3) if section.ring else boxes[:, 3]
    expected = np.stack([boxes[:, 0], low, boxes[:, 1] - boxes[:, 0], high - low], axis=-1)
    np.testing.assert_allclose(found, expected, atol=0.51e-4)


@pytest.mark.parametrize(
    ("wire", "direction", "along", "across"),
    [
        ('{ trace = "105 um", width = "1 mm", spacing = "0.4 mm" }', "up", (0, 2), (1, 3)),
        ('{ diameter = "0.3 mm", grade = 2 }', "out", (1, 3), (0, 2)),
    ],
    ids=["board", "bobbin"],
)
def test_windings_wound_together_share_the_thickness_of_their_layer(
    wire: str, direction: str, along: tuple[int, int], across: tuple[int, int]
) -> None:
    """P, then Q wound with it: strips of half the layer each, upward on a board, outward on a bobbin."""
    text = (
        '[core]\nshape = "E 32/6/20"\nmaterial = "MnZn 2300"\n[bobbin]\nwall = "0.4 mm"\nflange = "0.3 mm"\n'
    )
    text += "".join(f'[[winding]]\nname = "{name}"\nwire = {wire}\n' for name in "PQ")
    text += f'[build]\ndirection = "{direction}"\nsteps = [{{ wind = "P", turns = 3, with = ["Q"] }}]\n'
    section = drawn(parse_design(text))
    x0, x1, y0, y1 = section.layout.extent[0][0] * 1e3
    sizes = {"x": (x0, x1 - x0), "y": (y0, y1 - y0)}
    pattern = r'<rect x="([^"]+)" y="([^"]+)" width="([^"]+)" height="([^"]+)" fill="url\(#w(\d)\)">'
    strips = re.findall(pattern, drawing_svg(section, None))
    assert [strip[4] for strip in strips] == ["0", "1"]
    low, size = sizes["y" if direction == "up" else "x"]
    for place, strip in enumerate(strips):
        values = [float(value) for value in strip[:4]]
        assert [values[k] for k in across] == pytest.approx([low + place * size / 2, size / 2], abs=1e-4)
        assert [values[k] for k in along] == pytest.approx(sizes["x" if direction == "up" else "y"], abs=1e-4)


def test_pieces_of_a_build_touch() -> None:
    """Bobbin wall, layers and tape fill the build without overlap: sums of the steps' thicknesses by hand."""
    section = drawn(design_of("flyback-24w"))
    spans = [(piece.x0, piece.x1) for piece in section.pieces if piece.kind in ("tape", "winding")]
    assert spans[0][0] == pytest.approx(1.2e-3)
    for (_, end), (start, _) in pairwise(spans):
        assert start == pytest.approx(end, abs=1e-9)
    assert spans[-1][1] == pytest.approx(float(section.layout.top[0]), abs=1e-9)
    margins = [piece for piece in section.pieces if piece.kind == "margin"]
    assert len(margins) == 8
    assert {round(piece.y1 - piece.y0, 9) for piece in margins} == {3e-3}


def test_gap_and_core() -> None:
    """Half the leg, two yokes, outer leg and gap of an ETD 29 as its dimensions say."""
    design = design_of("flyback-24w")
    section = drawn(design)
    core = design.core.dimensions
    width, height = core.window
    gap = next(piece for piece in section.pieces if piece.kind == "gap")
    assert gap.y1 - gap.y0 == pytest.approx(float(design.core.gap))
    assert (gap.y0 + gap.y1) / 2 == pytest.approx(height / 2)
    assert gap.x0 == pytest.approx(-core.leg_diameter / 2)  # type: ignore[union-attr]
    assert section.width == width
    end = replace(design, core=replace(design.core, gap_at="end"))
    gap = next(piece for piece in drawn(end).pieces if piece.kind == "gap")
    assert gap.y1 == pytest.approx(height)
    both = replace(design, core=replace(design.core, gap_legs="spacer"))
    gaps = [piece for piece in drawn(both).pieces if piece.kind == "gap"]
    assert [piece.y1 - piece.y0 for piece in gaps] == pytest.approx([float(design.core.gap) / 2] * 2)
    assert gaps[1].x0 == pytest.approx(width)


def test_partitions_between_chambers() -> None:
    """Three chambers of 2, 3 and 4 mm between walls of 1 mm, by hand."""
    design = design_of("flyback-24w")
    _, height = design.core.dimensions.window
    flange = (height - 11e-3) / 2
    bobbin = Bobbin(wall=1e-3, flange=flange, chambers=(2e-3, 3e-3, 4e-3), partition=1e-3, chamber_count=3)
    pieces = cross_section(replace(design, bobbin=bobbin), lay_out(design)).pieces
    walls = [(piece.y0, piece.y1) for piece in pieces if piece.kind == "bobbin"][3:]
    assert walls == [
        (pytest.approx(flange + 2e-3), pytest.approx(flange + 3e-3)),
        (pytest.approx(flange + 6e-3), pytest.approx(flange + 7e-3)),
    ]


def test_ampere_turns_of_a_split_primary() -> None:
    """P 30, S 8, P 30 with S shorted: +30 between P and S, -30 beyond S, zero at both ends."""
    design = design_of("flyback-24w")
    test = diagram_test(design)
    assert test is not None
    assert test.name == "Lk_P"
    function = ampere_turn_function(design, test)
    layout = lay_out(design)
    between = [
        float(
            np.interp(
                (layout.extent[0, a, 1] + layout.extent[0, b, 0]) / 2, function.positions, function.values
            )
        )
        for a, b in ((0, 1), (1, 2), (2, 3))
    ]
    assert between == pytest.approx([30.0, -30.0, 0.0], abs=1e-6)
    assert function.values[0] == pytest.approx(0.0, abs=1e-9)
    assert function.values[-1] == pytest.approx(0.0, abs=1e-6)


def test_open_ampere_turns_start_and_end_at_the_core() -> None:
    """Nothing shorted, all of the core's drop in the centre leg (a gap): F goes from -60 to 0."""
    design = design_of("flyback-24w")
    test = diagram_test(design, "L_P")
    assert test is not None
    function = ampere_turn_function(design, test)
    assert function.values[-1] - function.values[0] == pytest.approx(60.0)
    assert -60.0 <= function.values[0] < -55.0


def test_tests_without_a_diagram() -> None:
    design = design_of("flyback-24w")
    with pytest.raises(DesignError, match="Did you mean 'Lk_P'"):
        diagram_test(design, "LkP")
    capacitance = replace(design.tests[0], name="C", measure="capacitance")
    with pytest.raises(DesignError, match="drives a current"):
        diagram_test(replace(design, tests=(capacitance,)), "C")
    assert diagram_test(replace(design, tests=(capacitance,))) is None


@pytest.mark.parametrize("cells", [3, 7, 40, 100])
def test_cells_of_what_must_show(cells: int) -> None:
    """Every demand that fits is met, the map is monotonic, and to scale where nothing demands otherwise."""
    spans = [(0.1, 0.11), (0.11, 0.2), (0.2, 0.201), (0.7, 0.9)]
    axis = fitted_axis(0.0, 1.0, [spans, [(0.5, 0.5001)]], cells)
    assert axis.cells[0] == 0
    assert axis.count == cells
    assert list(axis.cells) == sorted(axis.cells)
    assert needed_cells(0.0, 1.0, spans) == 4
    shown = all(axis.cell(b) > axis.cell(a) for a, b in spans)
    assert shown == (cells >= 4)
    if cells == 100:
        assert axis.cell(0.7) == 70
        assert axis.cell(0.9) == 90
        assert axis.middle(80) == pytest.approx(0.805)
    assert fitted_axis(0.0, 1.0, [], cells).cells == (0, cells)


ODD = """
title = "Odd"
[core]
mu_i = 2000
[core.dimensions]
{dimensions}
[bobbin]
wall = "1 mm"
{bobbin}
[[winding]]
name = "P"
wire = {{ diameter = "0.30 mm", overall = "0.40 mm" }}
[[winding]]
name = "S"
wire = {{ diameter = "0.30 mm", overall = "0.40 mm" }}
[build]
{build}
[[test]]
name = "Lk"
measure = "inductance"
drive = "P"
short = ["S"]
frequency = "100 kHz"
"""
E_CORE = """form = "E"
leg_width = "10 mm"
leg_depth = "10 mm"
window_width = "8 mm"
window_height = "20 mm"
outer_leg = "5 mm"
back = "5 mm"
"""
U_CORE = """form = "U"
leg_width = "10 mm"
leg_depth = "10 mm"
window_width = "16 mm"
window_height = "20 mm"
back = "10 mm"
"""


def odd(tmp_path: Path, dimensions: str, bobbin: str, build: str) -> Design:
    path = tmp_path / "odd.toml"
    path.write_text(ODD.format(dimensions=dimensions, bobbin=bobbin, build=build), encoding="utf-8")
    return load_design(path)


def boxes(section: CrossSection, kind: str) -> list[tuple[float, ...]]:
    """(x0, x1, y0, y1) of every piece of a kind, in mm, to 1 nm."""
    return [
        tuple(round(value * 1e3, 6) for value in (piece.x0, piece.x1, piece.y0, piece.y1))
        for piece in section.pieces
        if piece.kind == kind
    ]


def test_chambers_tape_and_shield(tmp_path: Path) -> None:
    """Flanges 1 mm, partition 2 mm: chambers 1 to 9 and 11 to 19 mm; the last tape lies on the higher one."""
    design = odd(
        tmp_path,
        E_CORE,
        'flange = "1 mm"\nchambers = 2\npartition = "2 mm"',
        """steps = [
  { wind = "P", turns = 10, chamber = 1 },
  { tape = "0.1 mm", wraps = 2, chamber = 1 },
  { wind = "S", turns = 10, chamber = 2 },
  { shield = "0.05 mm", width = "6 mm", name = "E", chamber = 2 },
  { tape = "0.1 mm", wraps = 1 },
]""",
    )
    section = drawn(design)
    assert boxes(section, "winding") == [(1.0, 1.4, 1.0, 9.0), (1.0, 1.4, 11.0, 19.0)]
    assert boxes(section, "tape") == [(1.4, 1.6, 1.0, 9.0), (1.6, 1.7, 1.0, 19.0)]
    assert boxes(section, "shield") == [(1.4, 1.45, 11.0, 17.0)]
    assert (0.0, 8.0, 9.0, 11.0) in boxes(section, "bobbin")
    function = ampere_turn_function(design, design.tests[0])
    assert function.along_leg
    at = np.interp([0.5e-3, 5e-3, 10e-3, 15e-3, 19.5e-3], function.positions, function.values)
    np.testing.assert_allclose(at, [0.0, 5.0, 10.0, 5.0, 0.0], atol=1e-6)


def test_turns_without_order_are_one_body(tmp_path: Path) -> None:
    """50 turns of 0.4 mm, 15 % looser, on 10 mm: 50 · 0.4² · 1.02 · 1.15/10 = 0.94 mm, one piece, no layers;
    the layers of S stay two."""
    steps = """style = "scramble"
steps = [
  { wind = "P", turns = 50 },
  { wind = "S", turns = 30, style = "back_and_forth" },
]"""
    section = drawn(odd(tmp_path, E_CORE, 'flange = "5 mm"', steps))
    body, *layers = entries(section, most=9)
    assert (body.layers, body.turns) == ("-", 50)
    assert [entry.layers for entry in layers] == ["1", "2"]
    assert entries(section, most=1)[0] == body
    assert body.stack[1] - body.stack[0] == pytest.approx(50 * 0.4**2 * 1.02 * 1.15 / 10 * 1e-3, rel=1e-6)
    text = drawing_svg(section, None)
    assert re.findall("<title>([^<]*)</title></rect>", text)[-3:] == [
        "P, step 1, without order",
        "S, step 2, layer 1",
        "S, step 2, layer 2",
    ]
    (wide,) = re.findall(r'width="([0-9.]+)" height="10" [^>]*><title>P, step 1', text)
    assert float(wide) == pytest.approx(0.94, abs=0.005)
    assert "P step 1 without order, 50 turns" in text
    (figure,) = (part for part in drawing_parts(section, None) if isinstance(part, Figure))
    lines = figure.lines(80, True)
    assert "PP" in "".join(lines)
    assert "Pp" not in "".join(lines)
    assert any("small letters" in line for line in lines), "of the layers of S"


def test_flat_layers(tmp_path: Path) -> None:
    """Layers stack from the flange upwards and run from the wall to the outer leg less the margins."""
    design = odd(
        tmp_path,
        E_CORE,
        'flange = "1 mm"',
        """direction = "up"
margin = "0.5 mm"
steps = [
  { wind = "P", turns = 10 },
  { spacer = "1.5 mm" },
  { wind = "S", turns = 10 },
]""",
    )
    section = drawn(design)
    assert section.flat
    assert boxes(section, "winding") == [(1.5, 7.5, 1.0, 1.4), (1.5, 7.5, 2.9, 3.3)]
    assert boxes(section, "spacer") == [(1.0, 8.0, 1.4, 2.9)]
    assert boxes(section, "margin")[:2] == [(1.0, 1.5, 1.0, 1.4), (7.5, 8.0, 1.0, 1.4)]
    function = ampere_turn_function(design, design.tests[0])
    at = np.interp([0.5e-3, 2e-3, 5e-3], function.positions, function.values)
    np.testing.assert_allclose(at, [0.0, 10.0, 0.0], atol=1e-6)


def test_both_legs_are_mirrored(tmp_path: Path) -> None:
    """Leg 2 lies 16 mm from leg 1: its layers end where its wall begins."""
    design = odd(
        tmp_path,
        U_CORE,
        'flange = "1 mm"',
        """steps = [
  { wind = "P", turns = 10 },
  { wind = "S", turns = 10 },
  { wind = "P", turns = 10, leg = 2 },
  { tape = "0.1 mm", wraps = 1, leg = 2 },
  { wind = "S", turns = 10, leg = 2 },
]""",
    )
    section = drawn(design)
    assert boxes(section, "winding")[2:] == [(14.6, 15.0, 1.0, 19.0), (14.1, 14.5, 1.0, 19.0)]
    assert boxes(section, "tape") == [(14.5, 14.6, 1.0, 19.0)]
    function = ampere_turn_function(design, design.tests[0])
    at = np.interp([1.4e-3, 8e-3, 14.55e-3], function.positions, function.values)
    np.testing.assert_allclose(at, [10.0, 0.0, -10.0], atol=1e-6)


def test_a_sector_past_the_angle_zero_is_two_pieces(tmp_path: Path) -> None:
    """150 degrees from 270: the last and the first quarter of the circumference, less 30 degrees."""
    design = odd(
        tmp_path,
        'form = "toroid"\nouter_diameter = "30 mm"\ninner_diameter = "18 mm"\nheight = "10 mm"',
        "",
        """steps = [
  { wind = "P", turns = 10 },
  { wind = "S", turns = 10, sector = "150 deg", from_angle = "270 deg" },
]""",
    )
    section = drawn(design)
    around = np.pi * 18
    found = boxes(section, "winding")
    assert found[0] == pytest.approx((1.0, 1.4, 0.0, around), abs=1e-6)
    assert found[1] == pytest.approx((1.4, 1.8, 0.75 * around, around), abs=1e-6)
    assert found[2] == pytest.approx((1.4, 1.8, 0.0, around / 6), abs=1e-6)


@pytest.mark.parametrize(("sections", "turns"), [("parallel", 15.0), ("series", 30.0)])
def test_ampere_turns_of_an_open_winding_in_two_sections(sections: str, turns: float) -> None:
    """Exact: of one ampere into P, 30 turns below and 30 above S, in parallel half of it is in each; across
    one section F changes by its turns times its share."""
    text = f"""
[core]
shape = "ETD 34/17/11"
material = "MnZn 2300"
gap = "0.25 mm"
[bobbin]
wall = "1.1 mm"
flange = "1 mm"
[[winding]]
name = "P"
wire = {{ diameter = "0.3 mm", grade = 2 }}
sections = "{sections}"
[[winding]]
name = "S"
wire = {{ diameter = "0.3 mm", grade = 2 }}
[build]
steps = [{{ wind = "P", turns = 30 }}, {{ wind = "S", turns = 8 }}, {{ wind = "P", turns = 30 }}]
[[test]]
name = "L_P"
measure = "inductance"
drive = "P"
frequency = "10 kHz"
"""
    design = parse_design(text)
    test = diagram_test(design)
    assert test is not None
    function = ampere_turn_function(design, test)
    for section in (0, 2):
        start, end = lay_out(design).extent[0, section, :2]
        low, high = np.interp([start, end], function.positions, function.values)
        assert high - low == pytest.approx(turns)
