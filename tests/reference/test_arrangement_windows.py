"""Forty arrangements of three windings, in series and in parallel, against axisymmetric finite-element
solutions with a circuit of their own (``arrangement_windows.py``, error below 1e-4)."""

from __future__ import annotations

import functools
import json
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from aswound.predict import leakage
from aswound.predict.design import FloatArray
from aswound.predict.interleave.arrangements import Arrangement
from aswound.predict.interleave.many_readings import predict_arrangements, questions_of

from .arrangement_windows import FILE, blocks_of, chosen

pytestmark = pytest.mark.reference


@functools.cache
def cases() -> tuple[list[Arrangement], list[dict[str, Any]]]:
    records = [json.loads(line) for line in FILE.read_text(encoding="utf-8").splitlines()]
    return chosen(), records


def solved() -> FloatArray:
    return np.array([record["L"] for record in cases()[1]])


def test_the_cases_are_of_these_arrangements() -> None:
    for one, record in zip(*cases(), strict=True):
        assert list(one.order) == record["order"]
        assert blocks_of(one) == record["blocks"]
        assert [w.name for w in one.design.windings if w.sections == "parallel"] == record["parallel"]
        assert record["err_rel"] < 1e-4


def test_leakage_of_each() -> None:
    found = np.array([leakage(one.design, "P", ["S", "T"]) for one in cases()[0]])
    np.testing.assert_allclose(found, solved(), rtol=5e-4)


def test_order_of_all() -> None:
    # As interleave reads them, at a frequency where resistance and eddy currents count little.
    found = cases()[0]
    questions = questions_of(found[0].design, drive="P")
    ideal = tuple(replace(test, link=0.0, frequency=100e3) for test in questions.leakage)
    readings = predict_arrangements(found, replace(questions, leakage=ideal), resonance=False)
    predicted, expected = readings.leakage[:, 0], solved()
    np.testing.assert_allclose(predicted, expected, rtol=3e-3)
    apart = expected[:, None] > 1.006 * expected  # all pairs that the tolerance tells apart
    assert np.sum(apart) > 0.95 * len(expected) * (len(expected) - 1) / 2
    assert np.all((predicted[:, None] > predicted)[apart])
