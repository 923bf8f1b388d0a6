"""Sentences begin, and stated errors are, where their constants say: on either side of each bound."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest

from aswound.predict import inductance_matrix, parse_design, readings
from aswound.predict.circuit import core_cautions, ring_turn_cautions, sections_of
from aswound.predict.circuit.leakage_statement import leakage_errors
from aswound.predict.circuit.turns_and_readings import _ratio
from aswound.predict.design import Design, ToroidDimensions
from aswound.predict.field.ring_exterior import exterior_permeance
from aswound.predict.field.ring_leakage import _outside
from aswound.predict.production import parameters, reading_errors
from aswound.predict.winding import lay_out

pytestmark = pytest.mark.exact

PAIR = """
[core]
shape = "ETD 29/16/10"
material = "MnZn 2300"
[bobbin]
wall = "1 mm"
flange = "1 mm"
[[winding]]
name = "A"
wire = { diameter = "0.5 mm", grade = 2 }
[[winding]]
name = "B"
wire = { diameter = "0.5 mm", grade = 2 }
[build]
steps = [{ wind = "A", turns = TURNS, with = ["B"] }]
[[test]]
name = "Lk"
measure = "inductance"
drive = "A"
short = "B"
frequency = "10 kHz"
[[test]]
name = "n"
measure = "ratio"
drive = "A"
sense = "B"
frequency = "10 kHz"
[[test]]
name = "R"
measure = "resistance"
drive = "A"
TEMPERATURE
"""


def pair(turns: int, temperature: str = "") -> Design:
    return parse_design(PAIR.replace("TURNS", str(turns)).replace("TEMPERATURE", temperature))


@pytest.mark.parametrize(("turns", "size"), [(15, 0.10), (30, 0.15)])
def test_error_of_windings_wound_together(turns: int, size: float) -> None:
    """Of the near field's part of the leakage: 10 % in one layer, 15 % in several; 1 % of all of it."""
    design = pair(turns)
    everything, near, _ = (float(part[0, 0]) for part in leakage_errors(sections_of(design), design.tests))
    assert everything == pytest.approx(float(np.hypot(0.01, size * near)), rel=0.002)


def test_a_resistance_without_a_temperature_is_that_at_20_degrees() -> None:
    unstated, stated, warm = (
        float(np.ravel(readings(pair(15, text)))[2])
        for text in ("", 'temperature = "20 degC"', 'temperature = "25 degC"')
    )
    assert unstated == stated
    assert warm > unstated * 1.015


@pytest.mark.parametrize(("apart", "said"), [(-0.031, True), (-0.029, False), (0.029, False), (0.031, True)])
def test_a_ratio_is_explained_from_three_per_cent_on(apart: float, said: bool) -> None:
    design = pair(15)
    assert bool(_ratio(design, design.tests[1], 1 + apart)) == said


@pytest.mark.parametrize(("apart_in_chambers", "at_most"), [(False, False), (True, True)])
def test_parts_of_a_ratio_and_of_the_sharing_of_leakage(apart_in_chambers: bool, at_most: bool) -> None:
    """A winding's part of the leakage errs by a fifth of λ = 1 − k², by 0.3 % at the most."""
    first, second = (", chamber = 1", ", chamber = 2") if apart_in_chambers else ("", "")
    over = "" if apart_in_chambers else ' { tape = "0.02 mm", wraps = 1 },'
    text = PAIR.replace(', with = ["B"] }]', f'{first} }},{over} {{ wind = "B", turns = TURNS{second} }}]')
    text = text.replace("TURNS", "15").replace("TEMPERATURE", "")
    if apart_in_chambers:
        text = text.replace('flange = "1 mm"', 'flange = "1 mm"\nchambers = 2\npartition = "1 mm"')
    design = parse_design(text)
    matrix = np.asarray(inductance_matrix(design))
    apart = 1 - float(matrix[0, 1] ** 2 / (matrix[0, 0] * matrix[1, 1]))
    (split,) = (error for error in reading_errors(design) if error.name == "model_split A")
    assert (0.2 * apart > 0.003) == at_most
    assert split.effect[1] == pytest.approx(0.003 if at_most else 0.2 * apart, rel=1e-6)


CHOKE = """
[core]
shape = "EI 66"
material = "silicon steel GO 0.30"
[bobbin]
wall = "1.5 mm"
flange = "1.5 mm"
[[winding]]
name = "P"
wire = { diameter = "0.12 mm", grade = 2 }
[build]
steps = [{ wind = "P", turns = 2400 }]
[[test]]
name = "L"
measure = "inductance"
drive = "P"
frequency = "120 Hz"
level = "LEVEL"
bias = "2 mA"
"""


def test_level_and_direct_current_together_are_said_from_five_per_cent_on() -> None:
    """A direct current that takes 18 % with levels that add 10 % (said) and less than 5 % (not said)."""

    def factors(level: str) -> list[float]:
        text = " ".join(core_cautions(parse_design(CHOKE.replace("LEVEL", level))))
        return (
            [
                float(each)
                for each in re.findall(r"permeability to ×([\d.]+), the level alone to ×([\d.]+)", text)[0]
            ]
            if "level alone" in text
            else []
        )

    held, lifted = factors("0.3 V")
    assert held == pytest.approx(0.82, abs=0.01)
    assert 1.05 < lifted < 1.2
    assert not factors("10 mV")


RING = """
[core]
mu_i = 5000
[core.dimensions]
form = "toroid"
outer_diameter = "25 mm"
inner_diameter = "15 mm"
height = "10 mm"
[bobbin]
wall = "0.3 mm"
[[winding]]
name = "S"
wire = { diameter = "0.3 mm", grade = 2 }
[[winding]]
name = "P"
wire = { diameter = "1.0 mm", grade = 2 }
[build]
steps = [{ wind = "S", turns = 100 }, { tape = "0.05 mm", wraps = WRAPS }, { wind = "P", turns = 2 }]
[[test]]
name = "Lk"
measure = "inductance"
drive = "S"
short = ["P"]
frequency = "100 kHz"
"""


@pytest.mark.parametrize("wraps", [2, 60, 90])
def test_turns_side_by_side_have_room_in_what_is_left_of_the_hole(wraps: int) -> None:
    """1.2 times their breadth on the circle that the build leaves; there they read more, and from 10 % on
    that is said (90 wraps: ×1.2)."""
    design = parse_design(RING.replace("WRAPS", str(wraps)))
    (text,) = ring_turn_cautions(design)
    arc, more = re.findall(r"on (\d+)° they read Lk ×([\d.-]+)\.", text)[0]
    left = 7.5e-3 - max(float(lay_out(design).step_tops[0, 2]), 2 * 1.094e-3)
    assert math.radians(float(arc)) == pytest.approx(1.2 * 2 * 1.094e-3 / left, rel=0.03)
    assert 1.1 < float(more) < 3


@pytest.mark.parametrize("part", [0.3, 0.75, 0.95])
def test_air_outside_a_build_that_fills_the_hole(part: float) -> None:
    """The cubic through fixed offsets meets the solution at the offset itself, up to 98 % of the hole."""
    ring = ToroidDimensions(25e-3, 15e-3, 10e-3)
    top = part * 7.5e-3
    exact = exterior_permeance(7.5e-3 - top, 12.5e-3 + top, 10e-3 + 2 * top)
    assert _outside(ring, np.array([top]), 24)[0, : len(exact)] == pytest.approx(exact, rel=2e-3)


@pytest.mark.parametrize(("degrees", "together"), [(32, False), (34, True), (14, False), (12, True)])
def test_level_and_temperature_act_together_from_ten_kelvin_on(degrees: int, together: bool) -> None:
    text = CHOKE.replace("LEVEL", "1 V").replace('bias = "2 mA"', f'temperature = "{degrees} degC"')
    names = [parameter.name for parameter in parameters(parse_design(text))]
    assert ("model_together" in names) == together
