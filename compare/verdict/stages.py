"""One sample read at several stages of its making: which step moved which reading.

Between two stages at which a test was read, the first with value a, the next with b,

    change = b/a − 1 (for a phase the difference),     score = change over its standard uncertainty.

What both readings share cancels: calibration of the meter, leads, link, fixture, model. What remains is
re-connection and handling (from repeats if there are any, else ``REPEATABILITY``), the step of the
display, and, for a direct-current resistance whose temperatures were not stated, a room that changed by 2
K. Before the core is fitted, the inductances, ratios and resonances of a drawing do not apply: only
direct-current resistances are compared with it, and with later stages. Source: common practice; the
uncertainty of a difference with a common part by JCGM 100, F.1.2.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ...predict.design import Bench, BenchTest, Design
from ...predict.errors import Fault, ReadingsError
from ...predict.measures import MEASURE_UNITS
from ..meter import REPEATABILITY
from ..readings import CORELESS, Reading, ReadTest, told_apart
from .evaluation import Evaluation, difference, relative_deviation

ROOM = 0.0079
"""Relative standard change of a copper resistance if temperatures were not stated: 2 K (common practice, no
source) at 0.393 %/K."""
MOVED = 3.0
"""A step moved a reading beyond this |score| (common practice: three standard uncertainties, 0.3 % by
chance)."""


@dataclass(frozen=True, kw_only=True)
class StageChange:
    """One reading of one sample before and after a step.

    Attributes
    ----------
    sample : str
        Name of the sample.
    name : str
        Name of the test.
    measure : str
        What it measures.
    unit : str
        SI unit of the numbers.
    frequency : float or None
        Frequency, Hz; None with direct current.
    start, end : str
        Stage before and after the step.
    before : float
        Reading before, SI (rad for a phase).
    after : float
        Reading after, SI.
    change : float
        Change, relative (for a phase the difference, rad).
    change_uncertainty : float
        Standard uncertainty of ``change``, relative (rad).
    score : float
        ``change`` over its uncertainty, dimensionless.
    moved : bool
        Whether |score| exceeds 3.
    """

    sample: str
    name: str
    measure: str
    unit: str
    frequency: float | None
    start: str
    end: str
    before: float
    after: float
    change: float
    change_uncertainty: float
    score: float
    moved: bool


def coreless(stage: str) -> bool:
    """Whether a stage of this name is before the core is fitted."""
    return stage.strip().casefold().startswith(CORELESS)


def judged(test: BenchTest, stage: str) -> bool:
    """Whether a reading at a stage may be compared with what the finished part should read.

    Parameters
    ----------
    test : BenchTest
        The test.
    stage : str
        Name of the stage.
    """
    return test.measure == "resistance" or not coreless(stage)


def finished_readings(
    design: Design, readings: Sequence[Reading]
) -> tuple[tuple[Reading, ...], tuple[str, ...]]:
    """Readings that may be judged against the design, and labels of the others ("A1, before core: L_P").

    Parameters
    ----------
    design : Design
        The transformer.
    readings : Sequence[Reading]
        Readings of all samples, SI.

    Raises
    ------
    ReadingsError
        No reading may be judged.
    """
    tests = {test.name: test for test in design.tests}
    kept = tuple(item for item in readings if judged(tests[item.test], item.stage))
    left = dict.fromkeys(
        f"{item.sample}, {item.stage}: {item.test}"
        for item in readings
        if not judged(tests[item.test], item.stage)
    )
    if not kept:
        raise ReadingsError(
            Fault(
                "the readings",
                f"only such of a stage before the core is in ({'; '.join(left)})",
                "at least one direct-current resistance, or a reading of the assembled part",
                "compare lists them as read.",
            )
        )
    return kept, tuple(left)


def stage_changes(evaluation: Evaluation) -> tuple[StageChange, ...]:
    """Every change of every sample from one stage to the next at which the same test was read, in the file's
    order, stages before the core first; empty if no sample was read at two stages."""
    design = evaluation.design
    named = told_apart(design.tests)
    last: dict[tuple[str, int, bool], tuple[str, ReadTest]] = {}
    changes = []
    for sample in sorted(evaluation.samples, key=lambda each: not coreless(each.stage)):
        for item in sample.read:
            if item.value is None:
                continue
            test = named[item.test_index]
            key = (sample.sample, item.test_index, judged(test, sample.stage))
            if key in last:
                start, earlier = last[key]
                change = _change(sample.sample, test, (start, sample.stage), earlier, item, design.bench)
                changes += [change] if change is not None else []
            last[key] = (sample.stage, item)
    return tuple(changes)


def _change(
    sample: str, test: BenchTest, stages: tuple[str, str], earlier: ReadTest, later: ReadTest, bench: Bench
) -> StageChange | None:
    before, after = earlier.value, later.value
    if before is None or after is None or (before == 0.0 and test.measure != "phase"):
        return None
    scale = 1.0 if test.measure == "phase" else abs(before)
    uncertainty = math.hypot(_random(test, earlier, bench), _random(test, later, bench)) / scale
    if test.measure == "resistance" and not (earlier.temperature_told and later.temperature_told):
        uncertainty = math.hypot(uncertainty, ROOM)
    change = relative_deviation(test, after, before)
    gap = difference(test, after, before) / scale
    score = gap / uncertainty if uncertainty > 0 else math.copysign(math.inf, gap) if gap else 0.0
    return StageChange(
        sample=sample,
        name=test.name,
        measure=test.measure,
        unit=MEASURE_UNITS[test.measure],
        frequency=test.frequency,
        start=stages[0],
        end=stages[1],
        before=before,
        after=after,
        change=change,
        change_uncertainty=uncertainty,
        score=score,
        moved=abs(score) > MOVED,
    )


def _random(test: BenchTest, item: ReadTest, bench: Bench) -> float:
    """Standard uncertainty (SI) of what differs when the same part is read again on the same bench."""
    value, doubt = abs(item.value or 0.0), item.uncertainty or 0.0
    step = bench.resolution * value / math.sqrt(12.0)
    if item.scatter is not None:
        return math.hypot(item.scatter, step)
    if test.measure == "phase":
        return doubt  # its own scatter is not known: the whole uncertainty, which is rather too much
    share = REPEATABILITY.get(test.measure, REPEATABILITY["default"])
    return math.hypot(min(share * value, doubt), step)
