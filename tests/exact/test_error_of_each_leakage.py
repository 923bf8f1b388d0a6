"""A pair of windings that the leakage model knows badly does not blur what it knows of the others."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from twin_design import TWIN

from aswound.cli.views.calibration import calibration_in_words
from aswound.cli.views.prediction import assumptions
from aswound.compare.causes import CATALOGUE
from aswound.compare.diagnosis import frame_of
from aswound.compare.hypotheses import inquire
from aswound.compare.hypotheses.forward_runs import EXACT
from aswound.compare.hypotheses.interventions import INTERVENTIONS
from aswound.compare.plan.warnings import level_warnings
from aswound.predict import Design, load_design, spread
from aswound.predict.circuit import is_leakage, leakage_errors, own_names, sections_of, shared_leakage_error
from aswound.predict.production import reading_errors

pytestmark = pytest.mark.exact

FORWARD = """
title = "Forward transformer, reset winding wound with the primary"
[core]
shape = "ETD 34/17/11"
material = "MnZn 2300"
[bobbin]
wall = "1.1 mm"
flange = "1.4 mm"
[[winding]]
name = "P"
wire = {{ diameter = "0.355 mm", grade = 2 }}
[[winding]]
name = "RESET"
wire = {{ diameter = "0.20 mm", grade = 2 }}
circuit = "P"
[[winding]]
name = "S"
wire = {{ foil = "0.1 mm", width = "14 mm" }}
[build]
margin = "3 mm"
steps = [
  {reset}
  {{ tape = "0.06 mm", wraps = 3 }},
  {{ wind = "S", turns = 6, interlayer = "0.05 mm" }},
]
[[test]]
name = "Lk_S"
measure = "inductance"
drive = "P"
short = ["S"]
frequency = "100 kHz"
[[test]]
name = "Lk_RESET"
measure = "inductance"
drive = "P"
short = ["RESET"]
frequency = "100 kHz"
[[test]]
name = "C_S"
measure = "capacitance"
drive = "P"
sense = "S"
frequency = "100 kHz"
[[test]]
name = "C_RESET"
measure = "capacitance"
drive = "P"
sense = "RESET"
frequency = "100 kHz"
"""
TOGETHER = '{ wind = "P", turns = 44, layers = 2, with = ["RESET"] },'
APART = """{ wind = "P", turns = 44, layers = 2 },
  { tape = "0.06 mm", wraps = 3 },
  { wind = "RESET", turns = 44, layers = 1 },"""


def forward(folder: Path, reset: str) -> Design:
    path = folder / "forward.toml"
    path.write_text(FORWARD.format(reset=reset), encoding="utf-8")
    return load_design(path)


def width(design: Design) -> tuple[float, float]:
    """Half the 95 % range of both leakages over the nominal value."""
    of = spread(design, number=400)
    first, second = ((of.high - of.low) / 2 / of.nominal)[:2]
    return float(first), float(second)


def test_the_shared_error_is_that_of_the_pair_known_best(tmp_path: Path) -> None:
    together, apart = forward(tmp_path, TOGETHER), forward(tmp_path, APART)
    assert shared_leakage_error(together) == pytest.approx(shared_leakage_error(apart), rel=0.1)
    assert shared_leakage_error(together) < 0.012


def test_a_reset_winding_wound_with_the_primary_does_not_widen_the_other_leakage(tmp_path: Path) -> None:
    of_secondary, of_reset = width(forward(tmp_path, TOGETHER))
    assert of_secondary < 0.06
    assert 0.20 < of_reset < 0.30


def test_the_capacitance_to_the_secondary_is_that_of_layers_that_face_each_other(
    tmp_path: Path,
) -> None:
    """Wires wound side by side are no sheets; what lies beyond the tape sees them as one."""
    errors = {error.of: error.effect for error in reading_errors(forward(tmp_path, TOGETHER))}
    assert errors["capacitance P|S"][2] == pytest.approx(0.05, abs=0.001)
    assert errors["capacitance P|RESET"][3] > 0.12


def test_the_page_names_the_reading_that_is_known_worse(tmp_path: Path) -> None:
    assert "(leakage ±2 %, Lk_RESET ±25 %, k = 2;" in assumptions(forward(tmp_path, TOGETHER)).text


CHOKE = """
title = "Common-mode choke"
[core]
shape = "R 25/15/10"
material = "MnZn 5000"
[bobbin]
wall = "0.3 mm"
[[winding]]
name = "A"
wire = { diameter = "0.8 mm", grade = 2 }
[[winding]]
name = "B"
wire = { diameter = "0.8 mm", grade = 2 }
[build]
steps = [
  { wind = "A", turns = TURNS, sector = "150 deg" },
  { wind = "B", turns = 20, sector = "150 deg" },
]
[[test]]
name = "L_opp"
measure = "inductance"
drive = ["A", "-B"]
frequency = "100 kHz"
[[test]]
name = "Lk_A"
measure = "inductance"
drive = "A"
short = ["B"]
frequency = "100 kHz"
[[test]]
name = "L_aid"
measure = "inductance"
drive = ["A", "B"]
frequency = "10 kHz"
"""


def choke(folder: Path, turns: int) -> Design:
    path = folder / "choke.toml"
    path.write_text(CHOKE.replace("TURNS", str(turns)), encoding="utf-8")
    return load_design(path)


def test_series_opposition_of_equal_turns_is_a_leakage_of_the_pair(tmp_path: Path) -> None:
    """The model may be off in it as in the leakage with the other winding shorted, partly alike and partly
    alone. Where turns are left over, it reads the core."""
    design = choke(tmp_path, 20)
    assert [is_leakage(design, test) for test in design.tests] == [True, True, False]
    assert own_names(design, design.tests[0]) == ("leakage A|B", "leakage A>-B")
    errors = {error.of: error.effect for error in reading_errors(design)}
    assert errors["leakage A|B"][0] == pytest.approx(errors["leakage A|B"][1], rel=0.02)
    assert errors["leakage A|B"][2] == 0.0
    assert errors["leakage A>-B"][0] == pytest.approx(errors["leakage A>B"][1], rel=0.02)
    assert errors["leakage A>-B"][1] == 0.0
    assert is_leakage(choke(tmp_path, 21), design.tests[0])
    assert not is_leakage(choke(tmp_path, 23), design.tests[0])


def test_what_is_learned_of_it_is_said_in_words() -> None:
    assert calibration_in_words("leakage A>-B") == "leakage of A in series opposition with B"
    assert calibration_in_words("leakage A B>-C -D") == "leakage of A B in series opposition with C D"


def test_series_opposition_is_no_open_inductance_to_the_diagnosis(tmp_path: Path) -> None:
    """It is of a kind with the leakage, turns do not act on it exactly, no core is demagnetised for it."""
    design = choke(tmp_path, 20)
    inquiry = inquire(design, design.tests, CATALOGUE, ahead=False)
    frame = frame_of(design.tests, inquiry.background.of([0, 1, 2]), np.full(3, 0.005))
    assert frame.kin.tolist() == [[1, 1, 0], [1, 1, 0], [0, 0, 1]]
    turns = next(item for item in inquiry.hypotheses if item.cause.name == "turns")
    assert turns.unsure[:3].tolist() == [1.0, 1.0, EXACT]
    demagnetised = next(item for item in INTERVENTIONS if item.name == "demagnetised")
    assert [test.name for test in demagnetised.rereads(design)] == ["L_aid"]
    assert level_warnings(design, design.tests[0], 0.2) == []
    assert len(level_warnings(design, design.tests[2], 0.2)) == 1


HALF_BRIDGE = (
    TWIN
    + """[[test]]
name = "Lk_both"
measure = "inductance"
drive = "P"
short = ["S1", "S2"]
frequency = "100 kHz"
[[test]]
name = "Lk_one"
measure = "inductance"
drive = "P"
short = ["S1"]
frequency = "100 kHz"
[[test]]
name = "Lk_between"
measure = "inductance"
drive = "S1"
short = ["S2"]
frequency = "100 kHz"
"""
)


def test_readings_that_are_known_worse_are_named(tmp_path: Path) -> None:
    """From one and a half times the shared error on."""
    path = tmp_path / "half-bridge.toml"
    path.write_text(HALF_BRIDGE, encoding="utf-8")
    design = load_design(path)
    shared = shared_leakage_error(design)
    both, single, between = leakage_errors(sections_of(design), design.tests)[0][0] / shared
    assert both < 1.5 < single < 2.0 < between
    stated = "(leakage ±5 %, Lk_one ±10 %, Lk_between ±14 %, k = 2;"
    assert stated in assumptions(design).text
