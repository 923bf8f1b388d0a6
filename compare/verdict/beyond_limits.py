"""Limits that a part fails although, or because, it is as designed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ...predict.measures import MEASURE_UNITS
from ..readings import ReadTest, told_apart
from .comparison import predicted_scatter
from .decision import decide
from .evaluation import Evaluation, ReadSample
from .scatter import Scatter
from .stages import judged


@dataclass(frozen=True, kw_only=True)
class FailedLimit:
    """A limit of one test that a part fails by the rule of three zones (module ``decision``).

    Attributes
    ----------
    name : str
        Name of the test.
    measure : str
        What it measures.
    unit : str
        SI unit of the numbers.
    read : float
        Reading, SI; of several parts the one that is furthest beyond.
    minimum, maximum : float or None
        The limit, SI, as it is a lower or an upper one; else None.
    tighter : bool
        Whether it lies within the 95 % range of the prediction, so that sound parts fail it too.
    parts, looked_at : int
        Parts that fail it and were judged together, count.
    """

    name: str
    measure: str
    unit: str
    read: float
    minimum: float | None
    maximum: float | None
    tighter: bool
    parts: int
    looked_at: int


def failed_limits(
    evaluation: Evaluation, samples: Sequence[ReadSample], scatter: Scatter | None = None
) -> tuple[FailedLimit, ...]:
    """Limits that parts fail, in the order of the tests.

    Parameters
    ----------
    evaluation : Evaluation
        Readings set against the prediction.
    samples : Sequence[ReadSample]
        The parts.
    scatter : Scatter or None, optional
        How far the predictions are to be trusted, from ``predicted_scatter``; None: as that says.
    """
    failed: dict[tuple[int, bool], list[float]] = {}
    for sample in samples:
        for item in sample.read:
            if (beyond := _beyond(evaluation, item, sample.stage)) is not None and item.value is not None:
                failed.setdefault((item.test_index, beyond), []).append(item.value)
    if not failed:
        return ()
    known = predicted_scatter(evaluation) if scatter is None else scatter
    return tuple(_failed(evaluation, known, key, failed[key], len(samples)) for key in sorted(failed))


def _beyond(evaluation: Evaluation, item: ReadTest, stage: str) -> bool | None:
    """Whether a reading fails its upper limit, and not its lower one; None: neither."""
    test = evaluation.design.tests[item.test_index]
    if item.value is None or item.uncertainty is None or not judged(test, stage):
        return None
    if decide(item.value, item.uncertainty, test.minimum, test.maximum).verdict != "fail":
        return None
    return test.maximum is not None and item.value > test.maximum


def _failed(
    evaluation: Evaluation, scatter: Scatter, key: tuple[int, bool], values: Sequence[float], looked_at: int
) -> FailedLimit:
    test_index, above = key
    test = evaluation.design.tests[test_index]
    low, high = scatter.range_around(test_index, float(evaluation.prediction.values[test_index]))
    minimum, maximum = (None, test.maximum) if above else (test.minimum, None)
    return FailedLimit(
        name=told_apart(evaluation.design.tests)[test_index].name,
        measure=test.measure,
        unit=MEASURE_UNITS[test.measure],
        read=max(values) if above else min(values),
        minimum=minimum,
        maximum=maximum,
        tighter=(maximum is not None and maximum < high) or (minimum is not None and minimum > low),
        parts=len(values),
        looked_at=looked_at,
    )
