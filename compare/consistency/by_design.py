"""What a design itself says of the checks: how far a part as drawn breaks them, and how sides may differ.

A check is a law of every transformer within an allowance. Some parts are drawn outside of it: inductances
read at flux densities far apart, on steel. There only what a part has beyond its design is a contradiction:

    score = (s − s0)/√(1 + (SCATTER s0)²),     s of the readings, s0 of the design's own

And what one side of a pair has by itself of a leakage (``reading_errors``: ends that are driven here and
shorted there) is no contradiction between both.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

from ...predict.circuit import predict_bench
from ...predict.design import Design
from ...predict.production import reading_errors
from .part import BROKEN, Check, PartReadings

NOTEWORTHY = 1.0
"""|score| of a part as drawn from which it is taken off (judged): below, the allowances hold it."""
SCATTER = 0.2
"""Standard deviation, over production, of what a part as drawn breaks, as a part of it (judged on laminated
steel whose windings are read at flux densities three decades apart)."""
AS_DRAWN = "a part as drawn reads so too"


def predictions(design: Design, names: Mapping[int, str]) -> dict[str, float]:
    """What the design predicts for some of its tests.

    Parameters
    ----------
    design : Design
    names : Mapping[int, str]
        Names of the tests by their place in the design; the keys are indices into the tests.

    Returns
    -------
    dict[str, float], predicted readings by name, SI; empty without tests

    Raises
    ------
    BuildError
        The layout is outside the models.
    """
    if not names:
        return {}
    values = predict_bench(design).values
    return {name: float(values[test_index]) for test_index, name in names.items()}


def one_sided_errors(design: Design, names: Mapping[int, str]) -> dict[str, float]:
    """How far a leakage may stray by what one driven side has by itself.

    Parameters
    ----------
    design : Design
    names : Mapping[int, str]
        Names of the tests by their place in the design; the keys are indices into the tests.

    Returns
    -------
    dict[str, float], relative standard deviation by name, dimensionless; only of leakages

    Raises
    ------
    BuildError
        The layout is outside the models.
    """
    leaking = {test_index: name for test_index, name in names.items() if design.tests[test_index].short}
    if not leaking:
        return {}
    errors = {error.name: error.effect for error in reading_errors(design)}
    rows = {
        test_index: errors.get(f"model_leakage {design.tests[test_index].name}") for test_index in leaking
    }
    return {
        name: abs(float(row[test_index]))
        for test_index, name in leaking.items()
        if (row := rows[test_index]) is not None
    }


def as_predicted(readings: PartReadings) -> PartReadings | None:
    """The readings of a part as drawn: the same tests with the design's predictions, as uncertain as those
    read; None without a design."""
    if not readings.predicted:
        return None
    items = []
    for item in readings.items:
        value = readings.predicted.get(str(item), item.value)
        scale = abs(value / item.value) if item.value else 1.0
        unsure = item.uncertainty * scale
        items.append(replace(item, value=value, uncertainty=unsure, scatter=None, claimed=None))
    return replace(readings, items=tuple(items))


def beyond_design(checks: Sequence[Check], usual: Sequence[Check]) -> tuple[Check, ...]:
    """Checks less what a part as drawn breaks in them.

    Parameters
    ----------
    checks : Sequence[Check], of the readings
    usual : Sequence[Check], the same checks of a part as drawn

    Returns
    -------
    tuple[Check, ...], as many as ``checks``, in their order
    """
    drawn: dict[str, list[Check]] = {}
    for check in usual:
        drawn.setdefault(check.check, []).append(check)
    seen: dict[str, int] = {}
    result = []
    for check in checks:
        number = seen[check.check] = seen.get(check.check, -1) + 1
        same = drawn.get(check.check, [])
        result.append(_less(check, same[number]) if number < len(same) else check)
    return tuple(result)


def _less(check: Check, usual: Check) -> Check:
    if check.score is None or usual.score is None or check.holds:
        return check
    if abs(usual.score) < NOTEWORTHY or usual.score * check.score < 0:
        return check
    score = (check.score - usual.score) / math.hypot(1.0, SCATTER * usual.score)
    if abs(score) > BROKEN:
        return replace(check, score=score)
    return Check(check.check, True, score, f"{check.detail.partition('. ')[0]}; {AS_DRAWN}")
