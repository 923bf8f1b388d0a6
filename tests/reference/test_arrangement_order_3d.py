"""The order in which arrangements are ranked by leakage, against three-dimensional finite-element solutions.

The cases are those of ``test_leakage_3d`` (tests/reference/cases): each solution is of one arrangement; where
two are of one core with as many turns on P, their order is that of the arrangements of one part. Beyond that
leakage is compared per turn² and length of window, in which cores of different sizes can be ranked.
"""

from __future__ import annotations

import functools
import itertools
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from aswound.predict import parse_design
from aswound.predict.interleave.arrangements import find_arrangements
from aswound.predict.interleave.many_readings import predict_arrangements, questions_of
from aswound.predict.interleave.rules import Rules

from .test_leakage_3d import NAMES, design_text, load, side_by_side

pytestmark = pytest.mark.reference
CONCENTRIC = [name for name in NAMES if not side_by_side(name)]
APART = 0.05
"""Cases whose solutions differ by less are not ranked: 3 % of the model, 0.3 % of either solution."""


@functools.cache
def case(name: str) -> dict[str, Any]:
    """The record with the leakage of its arrangement as ``interleave`` predicts it (``predicted``)."""
    record = load(name)
    design = parse_design(design_text(record))
    others = [winding for winding in record["turns"] if winding != "P"]
    assert len(others) == 1
    # The case's own blocks are the design's present arrangement.
    present = find_arrangements(design, Rules(most=1)).arrangements[0]
    # Far above the resistances, far below resonance; an ideal short.
    questions = questions_of(design, drive="P", frequency=100e3)
    questions = replace(questions, leakage=tuple(replace(test, link=0.0) for test in questions.leakage))
    answer = predict_arrangements([present], questions, resonance=False)
    return record | {"predicted": float(answer.leakage[0, 0])}


def per_turn(record: dict[str, Any], leakage: float) -> float:
    """Leakage per turn² of P and per length of the leg's circumference over the window's height (H)."""
    core = record["core"]
    around = 2 * np.pi * core["rc"] if core["leg"] == "round" else 4 * (core["a"] + core["b"])
    return leakage / record["turns"]["P"] ** 2 / float(around / core["h"])


def same_part(one: dict[str, Any], other: dict[str, Any]) -> bool:
    return bool(one["core"] == other["core"] and one["turns"]["P"] == other["turns"]["P"])


def test_arrangements_of_one_core() -> None:
    # E 42: P|S against S|P|S with margins; ETD 39: P|S against a secondary on two thirds of the breadth.
    pairs = [
        (case(one), case(other))
        for one, other in itertools.combinations(CONCENTRIC, 2)
        if same_part(case(one), case(other))
    ]
    assert len(pairs) == 2
    for one, other in pairs:
        solved = other["L_leak_P"] / one["L_leak_P"]
        assert abs(solved - 1) > APART
        assert other["predicted"] / one["predicted"] == pytest.approx(solved, rel=0.03)


@pytest.mark.parametrize("names", [CONCENTRIC, NAMES], ids=["concentric", "all"])
def test_order_of_all_cases(names: list[str]) -> None:
    ranked = 0
    for one, other in itertools.combinations(names, 2):
        first, second = case(one), case(other)
        solved = per_turn(second, second["L_leak_P"]) / per_turn(first, first["L_leak_P"])
        predicted = per_turn(second, second["predicted"]) / per_turn(first, first["predicted"])
        if abs(np.log(solved)) > APART:
            assert (predicted > 1) == (solved > 1), f"{one} against {other}"
            ranked += 1
    assert ranked >= 0.9 * len(names) * (len(names) - 1) / 2
