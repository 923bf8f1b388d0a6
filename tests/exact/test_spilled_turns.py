"""A turn that spills into a layer of its own, by hand from breadth and wire."""

from __future__ import annotations

from dataclasses import replace

import pytest

from aswound.predict import Design, parse_design
from aswound.predict.design import TapeStep, WindStep
from aswound.predict.winding import spill_cautions

pytestmark = pytest.mark.exact


def design(turns: int, wire: str) -> Design:
    """A layer 20 mm broad: of wires 0.5 mm overall, with 2 % of slack, 39 side by side."""
    return parse_design(f"""
[core]
mu_i = 2000
[core.dimensions]
form = "E"
leg_width = "10 mm"
leg_depth = "12 mm"
window_width = "9 mm"
window_height = "22 mm"
outer_leg = "5 mm"
back = "5 mm"
[bobbin]
wall = "1 mm"
flange = "1 mm"
[[winding]]
name = "S"
wire = {{ diameter = "0.45 mm", overall = "0.5 mm", {wire} }}
[build]
steps = [{{ wind = "S", turns = {turns} }}]
""")


def test_five_in_hand_spill_one_turn_and_four_fit() -> None:
    """⌊20/(5 · 0.51)⌋ = 7 turns of five fill the layer, ⌊20/(4 · 0.51)⌋ = 9 of four: of eight one spills."""
    (text,) = spill_cautions(design(8, "in_hand = 5"))
    assert "spills 1 turn into layer 2 (a full layer holds 7)" in text
    assert "4 in hand instead of 5 would need 1 (R ×1.25)" in text


def test_where_nothing_spills() -> None:
    assert spill_cautions(design(7, "in_hand = 5")) == ()
    assert spill_cautions(design(12, "in_hand = 5")) == ()  # five of seven in the second layer


def test_one_in_hand_has_none_to_spare() -> None:
    (text,) = spill_cautions(design(40, "in_hand = 1"))
    assert "spills 1 turn into layer 2 (a full layer holds 39)" in text
    assert "more room" in text


def two(in_hand_of_last: int) -> Design:
    """Eight turns of five wires, twice, the second ones of another winding."""
    one = design(8, "in_hand = 5")
    (winding,) = one.windings
    (step,) = one.build.steps
    assert isinstance(step, WindStep)
    last = replace(winding, name="T", wire=replace(winding.wire, in_hand=in_hand_of_last))
    turns = 8 if in_hand_of_last == 5 else 40
    steps = (step, TapeStep(thickness=6e-5, wraps=2), replace(step, winding="T", turns=turns))
    return replace(one, windings=(winding, last), build=replace(one.build, steps=steps))


def test_two_steps_that_spill_are_one_caution() -> None:
    (text,) = spill_cautions(two(5))
    assert text.count("spills 1 turn into layer 2 (a full layer holds 7)") == 2
    assert "Step 1 (S)" in text
    assert "Step 3 (T)" in text
    assert text.count("raise leakage and its scatter") == 1
    assert text.count("4 in hand instead of 5 would need 1 (R ×1.25)") == 1, (
        "the same remedy stands in it once"
    )


def test_two_steps_with_unlike_remedies_say_which() -> None:
    (text,) = spill_cautions(two(1))
    assert "4 in hand instead of 5 would need 1 (R ×1.25) (step 1)." in text
    assert "Give the layer more room, fewer turns or thinner wire (step 3)." in text
