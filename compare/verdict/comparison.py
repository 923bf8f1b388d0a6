"""Predicted against read: both uncertainties, limits with guard bands, the readings' consistency."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ...predict.circuit import beyond_search, reading_text, shown_with_uncertainty
from ...predict.design import Design
from ...predict.measures import MEASURE_UNITS
from ...predict.notation import aligned, format_change
from ...predict.production import BUILDS, RANGE_END, spread
from ..consistency import Check, Derived, derived_parameters, part_checks, part_readings
from ..meter import out_of_reach, wrong_signs
from ..readings import Reading, ReadTest, told_apart
from .decision import GUARD_FACTOR, THREE_ZONE, decide
from .doubts import RESIDUAL, doubted
from .evaluation import (
    DEVIATES,
    NO_RESONANCE_DOUBT,
    Evaluation,
    ReadSample,
    difference,
    evaluate,
    limits_elsewhere,
    relative_deviation,
)
from .layers_apart import reads_apart
from .scatter import Scatter
from .stages import StageChange, coreless, judged, stage_changes

LEAST_SIDE = 0.4
"""The narrower side has at least this fraction of the standard uncertainty (judged)."""
AGREEMENT = 2.0
"""A reading agrees with its prediction up to this |score| (common practice: two standard uncertainties)."""


@dataclass(frozen=True, kw_only=True)
class TestComparison:
    """One test of one sample; uncertainties are standard.

    Attributes
    ----------
    name : str
        Name of the test.
    measure : str
        What it measures.
    unit : str
        SI unit of the numbers.
    frequency : float or None
        Frequency of the test as read, Hz; None with direct current.
    predicted : float
        Predicted reading, SI (rad for a phase).
    predicted_uncertainty : float
        Standard uncertainty of the prediction, SI.
    read : float or None
        Reading, SI; None if missing.
    read_uncertainty : float or None
        Standard uncertainty of the reading, SI; None if missing.
    deviation : float or None
        read/predicted − 1, relative (for a phase the difference, rad).
    score : float or None
        Difference over combined standard uncertainty, dimensionless.
    agrees : bool or None
        Whether |score| is within ``AGREEMENT``; None if missing.
    minimum, maximum : float or None
        Lower and upper limit, SI; None without one.
    verdict : str
        "pass", "fail", "undecided", "no limit", "missing" or, before the core is fitted, "not judged".
    conformity : float or None
        Probability of meeting the limits, dimensionless; None without limits.
    repeats : int
        Readings taken, count.
    label : str
        Name that distinguishes it from others of a sweep.
    as_typed : float or None
        Resistance as typed, before it was brought to the test's temperature, ohm; else None.
    typed_at : float or None
        Temperature of that reading, degC; else None.
    predicted_low : float or None
        Lower end of the prediction's 95 % range, SI; not symmetric if production is not.
    predicted_high : float or None
        Upper end of it, SI.
    """

    name: str
    measure: str
    unit: str
    frequency: float | None
    predicted: float
    predicted_uncertainty: float
    read: float | None
    read_uncertainty: float | None
    deviation: float | None
    score: float | None
    agrees: bool | None
    minimum: float | None
    maximum: float | None
    verdict: str
    conformity: float | None
    repeats: int
    label: str = ""
    as_typed: float | None = None
    typed_at: float | None = None
    predicted_low: float | None = None
    predicted_high: float | None = None

    @property
    def testable(self) -> bool:
        """Whether a reading of this uncertainty can pass at all: the range between the limits exceeds both
        guard bands, 4u."""
        if self.minimum is None or self.maximum is None or self.read_uncertainty is None:
            return True
        return self.maximum - self.minimum > 2 * GUARD_FACTOR * self.read_uncertainty


@dataclass(frozen=True, kw_only=True)
class SampleComparison:
    """All tests of one sample (at one stage).

    Attributes
    ----------
    sample : str
        Name of the sample.
    tests : tuple[TestComparison, ...]
        The tests.
    checks : tuple[Check, ...]
        Checks that its readings allow without the design.
    derived : tuple[Derived, ...]
        Quantities that follow from the readings.
    changes : tuple[StageChange, ...]
        How the readings moved since the stage before.
    rule : str
        Decision rule applied to limits.
    cautions : tuple[str, ...]
        What to know about the readings themselves.
    """

    sample: str
    tests: tuple[TestComparison, ...]
    checks: tuple[Check, ...]
    derived: tuple[Derived, ...] = ()
    changes: tuple[StageChange, ...] = ()
    rule: str = THREE_ZONE
    cautions: tuple[str, ...] = ()

    def __str__(self) -> str:
        """One line a test: predicted, read, off by, score, verdict."""
        return _comparison_text(self)

    def __repr__(self) -> str:
        return f"<SampleComparison {_comparison_line(self)}>"

    @property
    def deviates(self) -> bool:
        """Whether a limit failed, a score exceeds 3, or a check is broken. Exit status 1 of the command."""
        return (
            any(test.verdict == "fail" for test in self.tests)
            or any(test.score is not None and abs(test.score) > DEVIATES for test in self.tests)
            or any(not check.holds for check in self.checks)
        )


def compare(
    design: Design,
    readings: Sequence[Reading],
    *,
    rule: str = THREE_ZONE,
    builds: int = BUILDS,
    seed: int = 1,
) -> tuple[SampleComparison, ...]:
    """Every sample's readings against the prediction of a design.

    The predicted uncertainty is that of ``predicted_scatter``. At a stage before the core is fitted only
    direct-current resistances are judged.

    Parameters
    ----------
    design : Design
        The transformer.
    readings : Sequence[Reading]
        Readings of all samples, SI.
    rule : str, optional
        Decides on limits, a name of ``decision.RULES``.
    builds : int, optional
        Random builds, count.
    seed : int, optional
        Seed of the random builds.

    Returns
    -------
    tuple[SampleComparison, ...]
        One comparison for each sample and stage.

    Raises
    ------
    BuildError
        The layout is outside the models.
    DesignError
        An unknown rule.

    Examples
    --------
    >>> from aswound.compare import compare, parse_readings
    >>> from aswound.predict import load_design
    >>> design = load_design("samples/flyback-24w.toml")
    >>> (part,) = compare(design, parse_readings("sample,test,reading\\nA1,L_P,300 uH\\n", design))
    >>> part.deviates, part.tests[0].agrees
    (True, False)
    """
    evaluation = evaluate(design, readings)
    scatter = predicted_scatter(evaluation, builds, seed)
    labels = [test.name for test in told_apart(evaluation.design.tests)]
    changes = stage_changes(evaluation)
    elsewhere = limits_elsewhere(design, readings)
    return tuple(
        _sample(evaluation, scatter, sample, rule, labels, changes, elsewhere)
        for sample in evaluation.samples
    )


def predicted_scatter(evaluation: Evaluation, builds: int = BUILDS, seed: int = 1) -> Scatter:
    """How far every prediction is to be trusted, for one part on this bench with the layers as designed.

    Includes production, the models' errors as far as they are to be doubted (``doubts``), link and leads,
    and the residual that none of them explains.

    Parameters
    ----------
    evaluation : Evaluation
        Readings set against the prediction.
    builds : int, optional
        Random builds, count.
    seed : int, optional
        Seed of the random builds.
    """
    design, values = evaluation.design, evaluation.prediction.values
    production = spread(doubted(design), builds, seed, origins=("build", "model", "setup"), shares=False)
    rest = [
        RESIDUAL[test.measure] * (1.0 if test.measure == "phase" else abs(float(value)))
        for test, value in zip(design.tests, values, strict=True)
    ]
    none = [
        NO_RESONANCE_DOUBT * float(value) if beyond_search(test.measure, float(value)) else 0.0
        for test, value in zip(design.tests, values, strict=True)
    ]
    deviation = production.standard_uncertainty
    least = LEAST_SIDE * deviation
    phase = np.array([test.measure == "phase" for test in design.tests], bool)
    sides = [(values - production.low) / RANGE_END, (production.high - values) / RANGE_END]
    below, above = (np.where(phase, deviation, np.maximum(side, least)) for side in sides)
    wide = [np.maximum(np.hypot(each, rest), none) for each in (deviation, below, above)]
    return Scatter(wide[0], wide[1], wide[2], production.share_as_designed, production.apart)


def score_of(evaluation: Evaluation, scatter: Scatter, item: ReadTest) -> float | None:
    """Score of a reading: its difference from the prediction over the combined standard uncertainty.

    The prediction's uncertainty is that of the side on which the reading lies.

    Parameters
    ----------
    evaluation : Evaluation
        Readings set against the prediction.
    scatter : Scatter
        How far the predictions are to be trusted, from ``predicted_scatter``.
    item : ReadTest
        The reading.

    Returns
    -------
    float or None
        Score, dimensionless; None if the reading is missing.
    """
    if item.value is None or item.uncertainty is None:
        return None
    test = evaluation.design.tests[item.test_index]
    gap = difference(test, item.value, float(evaluation.prediction.values[item.test_index]))
    combined = math.hypot(scatter.side(item.test_index, gap), item.uncertainty)
    return gap / combined if combined > 0 else math.copysign(math.inf, gap) if gap else 0.0


def _sample(
    evaluation: Evaluation,
    scatter: Scatter,
    sample: ReadSample,
    rule: str,
    labels: Sequence[str],
    changes: Sequence[StageChange],
    elsewhere: tuple[str, ...],
) -> SampleComparison:
    tests = tuple(
        _test(evaluation, scatter, item, rule, labels[item.test_index], sample.stage) for item in sample.read
    )
    part = part_readings(evaluation.design, sample.read)
    checks = part_checks(part)
    if coreless(sample.stage):  # this law assumes a ferrite's coupling if no leakage gives it
        checks = tuple(check for check in checks if check.check != "ratio against inductances")
    moved = tuple(item for item in changes if (item.sample, item.end) == (sample.sample, sample.stage))
    design, impedance = evaluation.design, evaluation.prediction.impedance
    named = told_apart(design.tests)
    read = [item.test_index for item in sample.read if item.value is not None]
    beyond = out_of_reach(
        [named[test_index] for test_index in read], [complex(impedance[test_index]) for test_index in read]
    )
    negative = wrong_signs(
        [named[item.test_index] for item in sample.read],
        [item.value for item in sample.read],
        [float(evaluation.prediction.values[item.test_index]) for item in sample.read],
    )
    cautions = (*negative, *elsewhere, *beyond, *reads_apart(evaluation, scatter, sample.read))
    return SampleComparison(
        sample=sample.label,
        tests=tests,
        checks=checks,
        derived=derived_parameters(part),
        changes=moved,
        rule=rule,
        cautions=cautions,
    )


def _test(
    evaluation: Evaluation, scatter: Scatter, item: ReadTest, rule: str, label: str, stage: str
) -> TestComparison:
    test = evaluation.design.tests[item.test_index]
    predicted = float(evaluation.prediction.values[item.test_index])
    predicted_uncertainty = float(scatter.deviation[item.test_index])
    deviation = score = agrees = None
    verdict, conformity = "missing", None
    if item.value is not None and not judged(test, stage):
        verdict = "not judged"
    elif item.value is not None and item.uncertainty is not None:
        deviation = relative_deviation(test, item.value, predicted)
        score = score_of(evaluation, scatter, item)
        agrees = score is not None and abs(score) <= AGREEMENT
        decision = decide(item.value, item.uncertainty, test.minimum, test.maximum, rule=rule)
        verdict, conformity = decision.verdict, decision.conformity
    low, high = scatter.range_around(item.test_index, predicted)
    return TestComparison(
        name=test.name,
        measure=test.measure,
        unit=MEASURE_UNITS[test.measure],
        frequency=test.frequency,
        predicted=predicted,
        predicted_uncertainty=predicted_uncertainty,
        read=item.value,
        read_uncertainty=item.uncertainty,
        deviation=deviation,
        score=score,
        agrees=agrees,
        minimum=test.minimum,
        maximum=test.maximum,
        verdict=verdict,
        conformity=conformity,
        repeats=item.repeats,
        label=label,
        as_typed=item.as_typed,
        typed_at=item.typed_at,
        predicted_low=low,
        predicted_high=high,
    )


def _comparison_line(sample: SampleComparison) -> str:
    """The result of one sample, in one line."""
    read = [test for test in sample.tests if test.score is not None]
    off = [test for test in read if test.score is not None and abs(test.score) > DEVIATES]
    text = (
        f"{sample.sample}: {len(off)} of {len(read)} readings deviate" if off else f"{sample.sample}: agrees"
    )
    failed = [test.name for test in sample.tests if test.verdict == "fail"]
    broken = [check.check for check in sample.checks if not check.holds]
    text += f"; fails {', '.join(failed)}" if failed else ""
    return (
        text + (f"; broken: {', '.join(broken)}" if broken else "")
        if read
        else f"{sample.sample}: not judged"
    )


def _comparison_text(sample: SampleComparison) -> str:
    """One line for each test: predicted, read, off by, score, verdict."""
    rows = [["test", "predicted", "read", "off by", "score", "verdict"]]
    for test in sample.tests:
        rows.append(
            [
                test.label or test.name,
                shown_with_uncertainty(
                    test.predicted,
                    test.predicted_uncertainty,
                    test.measure,
                    test.predicted_low,
                    test.predicted_high,
                ),
                shown_with_uncertainty(test.read, test.read_uncertainty, test.measure),
                _off(test),
                "-" if test.score is None else f"{test.score:+.1f}",
                test.verdict,
            ]
        )
    return f"{_comparison_line(sample)}\n{aligned(rows, right=(1, 2, 3, 4))}"


def _off(test: TestComparison) -> str:
    if test.deviation is None or math.isnan(test.deviation):
        return "-"
    if test.measure == "phase":
        return reading_text(test.deviation, "phase", 3)
    return format_change(test.deviation)
