"""What is said where a reading is not what the turns and AL would give."""

from __future__ import annotations

import re

import numpy as np
import pytest

from aswound.predict import inductance_matrix, parse_design, readings
from aswound.predict.circuit import turns_cautions
from aswound.predict.design import Design

pytestmark = pytest.mark.exact


def in_chambers(gap: str, chamber: int) -> Design:
    """85 turns in chamber 1, 10 turns beside or over them."""
    tape = '{ tape = "0.1 mm", wraps = 2 }, ' if chamber == 1 else ""
    return parse_design(f"""
[core]
shape = "ETD 34/17/11"
material = "MnZn 2300"
gap = "{gap}"
[bobbin]
wall = "1.1 mm"
flange = "1.0 mm"
chambers = 2
partition = "1 mm"
[[winding]]
name = "P"
wire = {{ diameter = "0.30 mm", grade = 2 }}
[[winding]]
name = "S"
wire = {{ diameter = "0.60 mm", grade = 2 }}
[build]
steps = [{{ wind = "P", turns = 85, chamber = 1 }}, {tape}{{ wind = "S", turns = 10, chamber = {chamber} }}]
[[test]]
name = "n"
measure = "ratio"
drive = "P"
sense = "S"
frequency = "10 kHz"
""")


def test_a_ratio_side_by_side() -> None:
    """The sentence's figures are the reading and 85/10; the reading is L_P/M of the inductance matrix (2 %,
    whose field lengths are those of another test)."""
    design = in_chambers("1.5 mm", 2)
    (text,) = turns_cautions(design)
    found = float(text.split("n reads ")[1].split(",")[0])
    matrix = np.asarray(inductance_matrix(design))
    assert found == pytest.approx(float(np.asarray(readings(design))[0]), rel=1e-3)
    assert found == pytest.approx(float(matrix[0, 0] / matrix[0, 1]), rel=0.02)
    percent = float(re.search(r"\(\+(\d+) %\)", text).group(1))  # type: ignore[union-attr]
    assert percent == pytest.approx((found / 8.5 - 1) * 100, abs=0.6)
    assert "85 : 10, give 8.5" in text
    assert "without passing through S" in text


def test_a_ratio_one_over_the_other_needs_no_word() -> None:
    assert turns_cautions(in_chambers("0.1 mm", 1)) == ()


def flat(al: str) -> Design:
    """Tracks in a window 10 mm wide and 3 mm high."""
    return parse_design(f"""
[core]
{al}
mu_i = 2300
[core.dimensions]
form = "E"
leg_width = "5 mm"
leg_depth = "16 mm"
window_width = "10 mm"
window_height = "3 mm"
outer_leg = "2.6 mm"
back = "2.6 mm"
[bobbin]
wall = "0.5 mm"
flange = "0.2 mm"
[[winding]]
name = "P"
wire = {{ trace = "70 um", width = "1.5 mm", spacing = "0.3 mm" }}
[build]
direction = "up"
steps = [
  {{ wind = "P", turns = 4 }},
  {{ spacer = "0.3 mm", permittivity = 4.4 }},
  {{ wind = "P", turns = 4 }},
]
[[test]]
name = "L_P"
measure = "inductance"
drive = "P"
frequency = "10 kHz"
""")


def test_air_flux_of_a_wide_window() -> None:
    """The sentence's percentage is the reading over 8² × 250 nH, to the rounding and 1 % of frequency."""
    design = flat('al = "250 nH"')
    (text,) = turns_cautions(design)
    percent = float(re.search(r"\+(\d+) % against N² AL", text).group(1))  # type: ignore[union-attr]
    read = float(np.asarray(readings(design))[0])
    assert percent == pytest.approx((read / (64 * 250e-9) - 1) * 100, abs=1.5)
    assert percent > 5
    assert turns_cautions(flat('gap = "0.3 mm"')) == ()
