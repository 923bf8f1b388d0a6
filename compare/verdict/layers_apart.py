"""Samples that read like builds with other layers than designed."""

from __future__ import annotations

import math
from collections.abc import Sequence

from ...predict.design import FloatArray
from ...predict.production import RANGE_END
from ..readings import ReadTest
from .evaluation import Evaluation, difference
from .scatter import Scatter

NOTED = 2.0
"""From this score on a sample is also compared with builds of other layers (common practice: two standard
uncertainties)."""
FITS = 3.0
"""A reading fits another kind of build up to this score (common practice: three standard uncertainties, 0.3 %
by chance)."""


def reads_apart(evaluation: Evaluation, scatter: Scatter, read: Sequence[ReadTest]) -> tuple[str, ...]:
    """A sentence if a deviating sample reads like one kind of build with other layers.

    The kind that makes the readings most likely is named, with its share of the likelihood over all kinds.
    ln p = ln share + Σ ln N(y; m, s), with m and s of the builds of that kind, s including meter and
    doubts; readings are taken as independent.

    Parameters
    ----------
    evaluation : Evaluation, readings set against the prediction
    scatter : Scatter, how far the predictions are to be trusted, from ``predicted_scatter``
    read : Sequence[ReadTest], tests as read on the sample
    """
    plain = (evaluation.prediction.values, scatter.deviation)
    present = [item for item in read if item.value is not None and item.uncertainty is not None]
    deviates = any(abs(_score(evaluation, item, *plain)) > NOTED for item in present)
    if not scatter.apart or not deviates:
        return ()
    kinds = [(math.log(max(scatter.share, 1e-9)) + _likelihood(evaluation, present, *plain), "")]
    for tipped_build in scatter.apart:
        mine = [
            max((float(high) - float(low)) / (2 * RANGE_END), float(doubt))
            for low, high, doubt in zip(tipped_build.low, tipped_build.high, scatter.deviation, strict=True)
        ]
        if all(abs(_score(evaluation, item, tipped_build.middle, mine)) <= FITS for item in present):
            level = math.log(tipped_build.tipping.share) + _likelihood(
                evaluation, present, tipped_build.middle, mine
            )
            kinds.append((level, tipped_build.tipping.words))
    _, text = max(kinds)
    if not text:
        return ()
    return (f"{text}, and this sample reads like one of them. Scores are against builds as designed.",)


def _score(
    evaluation: Evaluation, item: ReadTest, middles: FloatArray, deviations: FloatArray | Sequence[float]
) -> float:
    test = evaluation.design.tests[item.test_index]
    gap = difference(test, item.value or 0.0, float(middles[item.test_index]))
    return gap / max(math.hypot(float(deviations[item.test_index]), item.uncertainty or 0.0), 1e-300)


def _likelihood(
    evaluation: Evaluation,
    read: Sequence[ReadTest],
    middles: FloatArray,
    deviations: FloatArray | Sequence[float],
) -> float:
    total = 0.0
    for item in read:
        size = math.hypot(float(deviations[item.test_index]), item.uncertainty or 0.0)
        total -= _score(evaluation, item, middles, deviations) ** 2 / 2 + math.log(max(size, 1e-300))
    return total
