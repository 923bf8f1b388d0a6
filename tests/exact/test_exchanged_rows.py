"""Readings in each other's row: what the meter does not resolve goes with the reading, not with the row."""

from __future__ import annotations

from dataclasses import replace

import pytest
from bench_tests import OPEN, resistances
from planar_board import two_layers

from aswound.compare import Reading, explain
from aswound.compare.causes import CATALOGUE
from aswound.compare.diagnosis.weighing import case_of, log_density, log_exchanged
from aswound.compare.hypotheses.inquiry import inquire
from aswound.compare.verdict import evaluate
from aswound.predict import parse_design, readings

BOARD = parse_design(two_layers("4.5 mm", 1) + OPEN.format(frequency="100 kHz") + resistances("P", "S"))
READ = {"L_P": 1.0, "R_P": 1.01, "R_S": 1.4}
"""Readings over predictions: S has some 3 mΩ, of which the meter's floor of 2 mΩ hides a good part."""


def taken(*, exchanged: bool) -> list[Reading]:
    expected = dict(zip(READ, readings(BOARD), strict=True))
    values = {name: float(expected[name]) * ratio for name, ratio in READ.items()}
    if exchanged:
        values["R_P"], values["R_S"] = values["R_S"], values["R_P"]
    return [Reading(sample="A1", test=name, value=value) for name, value in values.items()]


def test_a_reading_brings_its_uncertainty_into_the_row_where_it_belongs() -> None:
    """ln p under "exchanged" is ln p as designed of these readings in their own rows, where that of P keeps
    what the row of the small reading had."""
    evaluation = evaluate(BOARD, taken(exchanged=False))
    inquiry = inquire(evaluation.design, evaluation.design.tests, CATALOGUE)
    first, second, third = evaluation.samples[0].read
    wrong = replace(second, value=third.value, uncertainty=third.uncertainty)
    other = replace(third, value=second.value, uncertainty=second.uncertainty)
    own = case_of(evaluation.design, inquiry.background, (first, second, third))
    turned = case_of(evaluation.design, inquiry.background, (first, wrong, other))
    assert turned.meter[1] > 3 * own.meter[1]
    assert turned.meter[2] < 0.1 * own.meter[2]
    wider = own.base.copy()
    wider[1, 1] += turned.meter[1] ** 2 - own.meter[1] ** 2
    expected = float(log_density(own.residual, wider))
    assert log_exchanged(turned, 1, 2) == pytest.approx(expected, rel=1e-6)


def test_a_small_resistance_in_the_wrong_row_is_not_called_unknown() -> None:
    """With the uncertainty of the row, the reading of S was 0.1 mΩ sure and far from what S has: "unlisted",
    above 90 %."""
    (diagnosis,) = explain(BOARD, taken(exchanged=True))
    assert diagnosis.causes[0].title == "the readings of R_P and R_S are exchanged"
    assert diagnosis.causes[0].probability > 0.9
    assert diagnosis.unlisted < 0.05
