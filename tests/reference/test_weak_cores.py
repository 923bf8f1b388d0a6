"""Cores of low permeability: the error that the leakage model states of them holds finite-element
solutions."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from aswound.predict import leakage_model, parse_design
from aswound.predict.field.leakage_error import GUIDING, LEAST_PERMEABILITY, expected_error
from aswound.predict.forms import PotDimensions

pytestmark = pytest.mark.reference

CASES = [
    json.loads(line)
    for line in (Path(__file__).parent / "cases" / "own-weak-cores.jsonl").read_text("utf-8").splitlines()
]
POT = PotDimensions(
    leg_diameter=0.011, window_diameter=0.021, outer_diameter=0.025, window_height=0.011, back=0.003
)
OVER = np.array([[[0.5e-3, 2e-3, 0.5e-3, 10e-3], [2.5e-3, 4e-3, 0.5e-3, 10e-3]]])
BESIDE = np.array([[[0.5e-3, 4e-3, 0.5e-3, 5e-3], [0.5e-3, 4e-3, 6e-3, 10e-3]]])


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["id"])
def test_stated_error_holds_what_a_weak_core_takes_off(case: dict) -> None:
    """From the least permeability that is taken on, k = 2; the model's infinite one is too high."""
    mu, off = case["mur"], 1 - case["ratio"]
    assert case["err_rel"] < 2e-3
    assert off > 0
    if mu >= LEAST_PERMEABILITY:
        stated = 2 * float(expected_error(POT, BESIDE if case["beside"] else OVER, permeability=mu)[0])
        assert off <= stated


def test_below_the_least_permeability_no_error_would_do() -> None:
    worst = max(1 - case["ratio"] for case in CASES if case["mur"] < LEAST_PERMEABILITY)
    assert worst > 0.6
    strong = max(1 - case["ratio"] for case in CASES if case["mur"] >= GUIDING)
    assert strong < 0.04


def test_a_weak_core_says_so() -> None:
    text = """
[core]
shape = "E 42/21/15"
mu_i = {}
[bobbin]
wall = "1.2 mm"
flange = "1.2 mm"
[[winding]]
name = "P"
wire = {{ diameter = "0.3 mm", grade = 2 }}
[[winding]]
name = "S"
wire = {{ diameter = "0.3 mm", grade = 2 }}
[build]
steps = [{{ wind = "P", turns = 30 }}, {{ wind = "S", turns = 30 }}]
"""
    (said,) = leakage_model(parse_design(text.format(26))).cautions
    assert "up to 7.7 % lower" in said
    assert "up to 38 % where they lie side by side" in said
    assert leakage_model(parse_design(text.format(2000))).cautions == ()
