"""Tracks are etched: no tolerance moves one of them to another layer, and a board moves as a whole. By hand
from window, wall, margin and pitch."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from aswound.compare.causes import CATALOGUE
from aswound.predict import Design, parse_design
from aswound.predict.errors import BuildError
from aswound.predict.production import layer_counts, normal_draws, parameters, random_builds, spread
from aswound.predict.winding import check_fit, lay_out, layer_turns, spill_cautions, with_artwork

pytestmark = pytest.mark.exact


def board(*, spacing: str = "0.45 mm", steps: str | None = None, **spread: str) -> Design:
    """E 22/6/16 with a plate: 5.9 mm − 0.3 mm − 2 · 0.4 mm leave 4.8 mm: four tracks of 0.75 mm, three
    spaces of at most 0.6 mm."""
    tolerances = "".join(f'{key} = "{value}"\n' for key, value in spread.items())
    steps = steps or (
        '{ wind = "P", turns = 4 }, { spacer = "0.2 mm" }, { wind = "S", turns = 1 }, '
        '{ spacer = "0.2 mm" }, { wind = "P", turns = 4 }'
    )
    return parse_design(f"""
[core]
shape = "E 22/6/16 + PLT"
material = "MnZn 2300"
[bobbin]
wall = "0.3 mm"
flange = "0.3 mm"
[[winding]]
name = "P"
sections = "series"
wire = {{ trace = "70 um", width = "0.75 mm", spacing = "{spacing}" }}
[[winding]]
name = "S"
wire = {{ trace = "105 um", width = "4.4 mm", spacing = "0.4 mm" }}
[build]
direction = "up"
margin = "0.4 mm"
interlayer = "0.1 mm"
steps = [{steps}]
[[test]]
name = "Lk_P"
measure = "inductance"
drive = "P"
short = ["S"]
frequency = "100 kHz"
[spread]
{tolerances}
""")


BESIDE = '{ wind = "P", turns = 1 }, { wind = "P", turns = 3, beside = true }, { spacer = "0.2 mm" }'
BESIDE = f'{BESIDE}, {{ wind = "S", turns = 1 }}'.replace("turns = 1 }", "turns = 1, breadth = '1.2 mm' }", 1)
BOARDS = {
    "with room": board(),
    "exact fit": board(spacing="0.6 mm"),
    "by a hair": board(spacing="0.599 mm"),
    "two layers by a hair": board(spacing="0.6001 mm"),
    "loose edge": board(margin="0.5 mm"),
    "loose on the leg": board(margin="0.2 mm", centring="0.3 mm"),
    "from an end": board(
        steps='{ wind = "P", turns = 4, from_end = "0.4 mm" }, { spacer = "0.2 mm" }, '
        '{ wind = "S", turns = 1 }'
    ),
    "beside": board(steps=BESIDE),
    "own margin": board(
        steps='{ wind = "P", turns = 4, margin = "0.4 mm" }, { spacer = "0.2 mm" }, '
        '{ wind = "S", turns = 1, margin = "0.3 mm" }'
    ),
}


@pytest.mark.parametrize("name", BOARDS)
def test_no_tolerance_moves_a_track_to_another_layer(name: str) -> None:
    design = replace(BOARDS[name], tolerances=replace(BOARDS[name].tolerances, bobbin=0.2, breadth=0.05))
    chosen = tuple(item for item in parameters(design) if item.origin == "build")
    moved = random_builds(design, chosen, normal_draws([item.name for item in chosen], 500, 3))
    assert {item.name.split()[0] for item in chosen} >= {"margin", "bobbin", "breadth", "width"}
    assert np.all(layer_counts(moved, 500) == layer_counts(design, 1))
    made = spread(design, 200)
    assert made.tipped == ()
    assert made.apart_sentences == ()


@pytest.mark.parametrize("name", BOARDS)
def test_artwork_is_laid_where_it_was(name: str) -> None:
    before, after = lay_out(BOARDS[name]), lay_out(with_artwork(BOARDS[name]))
    np.testing.assert_allclose(after.extent, before.extent, rtol=1e-12)
    np.testing.assert_array_equal(after.turns, before.turns)


def test_a_board_that_is_cut_off_or_lies_off_moves_as_a_whole() -> None:
    """A margin 0.05 mm wider (one standard deviation of a board), and a wall wider by a fifth of 0.3 mm."""
    design = board()
    design = replace(design, tolerances=replace(design.tolerances, bobbin=0.2))
    plain = lay_out(design)
    assert plain.along(plain.extent)[0, 0] == pytest.approx([0.7e-3, 5.5e-3])
    by_name = {item.name: item for item in parameters(design)}
    for name, moves in (("margin", 0.05e-3), ("bobbin", 0.3e-3 * (np.exp(np.sqrt(np.log1p(0.04))) - 1))):
        moved = lay_out(by_name[name].change(design, 1.0))
        np.testing.assert_allclose(moved.along(moved.copper) - plain.along(plain.copper), moves, rtol=1e-9)
    taped = replace(design, tolerances=replace(design.tolerances, margin=0.3e-3))
    (stated,) = (item for item in parameters(taped) if item.name == "margin")
    moved = lay_out(stated.change(taped, -1.0))
    np.testing.assert_allclose(moved.along(moved.copper) - plain.along(plain.copper), -0.3e-3, rtol=1e-9)


def test_no_mistake_but_one_of_turns_or_order_moves_a_track_to_another_layer() -> None:
    """In the artwork turns may be missing, or boards stacked in another order; nothing else spills."""
    for design in (BOARDS["by a hair"], BOARDS["two layers by a hair"]):
        drawn = layer_turns(design)[0, :, 0]
        for cause in CATALOGUE:
            if cause.name in ("turns", "order"):
                continue
            for place in cause.places(design):
                for variant in cause.variants(design, place):
                    laid = layer_turns(variant.design)[0, :, 0]
                    assert len(laid) != len(drawn) or np.all(laid == drawn), variant.title


def _wide(width: float) -> Design:
    design = board()
    wire = replace(design.winding("S").wire, foil_width=width)
    return replace(design, windings=(design.windings[0], replace(design.windings[1], wire=wire)))


@pytest.mark.parametrize("width", [4.8e-3, 4.7e-3])
def test_one_turn_may_take_the_whole_breadth(width: float) -> None:
    """4.8 mm between the margins hold a track of 4.8 mm: its spacing is beside nothing. Its copper is as
    broad as drawn, in the middle."""
    layout = lay_out(_wide(width))
    check_fit(_wide(width))
    (index,) = (k for k, section in enumerate(layout.sections) if section.winding == "S")
    edges = layout.along(layout.copper)[0, index]
    assert edges == pytest.approx([3.1e-3 - width / 2, 3.1e-3 + width / 2], rel=1e-9)


def test_a_track_broader_than_its_layer_does_not_fit() -> None:
    with pytest.raises(BuildError, match=r"a turn 4\.810 mm broad"):
        check_fit(_wide(4.81e-3))


def test_copper_clad_is_not_taken_for_aluminium() -> None:
    kinds = [item for item in CATALOGUE if item.name == "conductor"]
    assert len(kinds) == 2  # thin wire, and all else
    assert [item.places(board()) for item in kinds] == [(), ()]


def test_a_layer_of_one_track_is_drawn_not_spilled() -> None:
    """⌊(4.8 + 0.2)/0.5⌋ = 10 of eleven tracks of 0.3 + 0.2 mm: the last one needs no space beside it."""
    design = board(steps='{ wind = "P", turns = 11 }, { spacer = "0.2 mm" }, { wind = "S", turns = 1 }')
    wire = replace(design.winding("P").wire, foil_width=0.3e-3, spacing=0.2e-3)
    design = replace(design, windings=(replace(design.windings[0], wire=wire), design.windings[1]))
    assert spill_cautions(design) == (
        "Step 1 (P) has layer 2 for 1 turn (a full layer holds 10): such a short layer raises leakage. "
        "Narrower tracks or less space between them would save that layer.",
    )


def test_a_board_with_one_winding_of_wire_is_wound_beside_margin_tape() -> None:
    """Margins stray as a board's edge is cut only where everything is tracks; only then is it stacked."""
    etched = board()
    wire = replace(etched.windings[0].wire, kind="round", diameter=0.4e-3, overall=0.46e-3, in_hand=1)
    mixed = replace(etched, windings=(etched.windings[0], replace(etched.windings[1], wire=wire)))
    assert (etched.etched, mixed.etched) == (True, False)
    assert not replace(etched, build=replace(etched.build, steps=())).etched
