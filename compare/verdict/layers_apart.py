"""Samples that read like builds with other layers than designed."""

from __future__ import annotations

import math
from collections.abc import Sequence

from ...predict.design import FloatArray
from ..readings import ReadTest
from .evaluation import Evaluation, difference
from .scatter import Scatter

NOTED = 2.0
"""Score from which a sample is held against builds with other layers too."""
FITS = 3.0
"""Score up to which a reading is one of another kind of build."""
_RANGE = 2 * 1.959964


def reads_apart(evaluation: Evaluation, scatter: Scatter, read: Sequence[ReadTest]) -> tuple[str, ...]:
    """A sentence where a sample that deviates reads like one kind of the builds apart: the kind that makes
    its readings likeliest, its part of all builds among the likelihood.

    ln p = ln share + Σ ln N(y; m, s), m and s of the builds of that kind, s with meter and doubts; readings
    taken as independent.
    """
    plain = (evaluation.prediction.values, scatter.deviation)
    present = [item for item in read if item.value is not None and item.uncertainty is not None]
    deviates = any(abs(_score(evaluation, item, *plain)) > NOTED for item in present)
    if not scatter.apart or not deviates:
        return ()
    kinds = [(math.log(max(scatter.share, 1e-9)) + _likelihood(evaluation, present, *plain), "")]
    for one in scatter.apart:
        own = [
            max((float(high) - float(low)) / _RANGE, float(doubt))
            for low, high, doubt in zip(one.low, one.high, scatter.deviation, strict=True)
        ]
        if all(abs(_score(evaluation, item, one.middle, own)) <= FITS for item in present):
            level = math.log(one.tipping.share) + _likelihood(evaluation, present, one.middle, own)
            kinds.append((level, one.tipping.words))
    _, text = max(kinds)
    if not text:
        return ()
    return (f"{text}, and this sample reads like one of them. Scores are against builds as designed.",)


def _score(
    evaluation: Evaluation, item: ReadTest, middles: FloatArray, deviations: FloatArray | Sequence[float]
) -> float:
    test = evaluation.design.tests[item.place]
    gap = difference(test, item.value or 0.0, float(middles[item.place]))
    return gap / max(math.hypot(float(deviations[item.place]), item.uncertainty or 0.0), 1e-300)


def _likelihood(
    evaluation: Evaluation,
    read: Sequence[ReadTest],
    middles: FloatArray,
    deviations: FloatArray | Sequence[float],
) -> float:
    total = 0.0
    for item in read:
        size = math.hypot(float(deviations[item.place]), item.uncertainty or 0.0)
        total -= _score(evaluation, item, middles, deviations) ** 2 / 2 + math.log(max(size, 1e-300))
    return total
