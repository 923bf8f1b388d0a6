"""What a hypothesis says about a sample, in words and numbers: the entries of a diagnosis."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from ...predict.design import Design, FloatArray
from ..hypotheses import Background, Hypothesis
from ..readings import ReadTest
from .conclusion import RankedCause, ReadingUnderCause, SecondCause
from .covariances import SHARED_SIGNATURE
from .pairs import Pair
from .weighing import SLIPS, Case, inverted, log_bad, log_exchanged, twins


@dataclass(frozen=True, kw_only=True)
class Scene:
    """What the entries of one sample are written from.

    Attributes
    ----------
    design : Design
        The transformer, with the tests as read.
    background : Background
        Prediction, sensitivities and covariance of the design as drawn.
    hypotheses : Sequence[Hypothesis]
        The hypotheses.
    case : Case
        The readings in the transformed space.
    read : Sequence[ReadTest]
        Tests as read.
    scores : Mapping[int, float or None]
        Scores of the readings as designed, by index of the test, as in ``verdict``, dimensionless; readings
        not in it are scored by the case.
    """

    design: Design
    background: Background
    hypotheses: Sequence[Hypothesis]
    case: Case
    read: Sequence[ReadTest]
    scores: Mapping[int, float | None] = field(default_factory=dict)


def under(
    scene: Scene, shift: FloatArray | None, anchor: FloatArray | None = None, doubt: FloatArray | None = None
) -> tuple[ReadingUnderCause, ...]:
    """Every reading beside its expectation under a shift of the transformed prediction.

    Parameters
    ----------
    scene : Scene
        Design, hypotheses and readings of one sample.
    shift : (T,) array or None
        Shift of all tests of the design, dimensionless (rad for a phase); None for none.
    anchor : (T,) array or None, optional
        Effect of the leg share in that build, dimensionless; None for the design's.
    doubt : (T,) array or None, optional
        Uncertain part of the shift, dimensionless (rad for a phase); None: all of it.
    """
    case, result = scene.case, []
    for item in scene.read:
        test = scene.design.tests[item.test_index]
        moved = float(shift[item.test_index]) if shift is not None else 0.0
        expected = float(scene.background.nominal[item.test_index]) + moved
        if test.measure == "phase":
            value = math.remainder(expected, 2 * math.pi)
        else:
            value = math.exp(expected) * float(scene.background.signs[item.test_index])
        score = None
        if shift is None and item.test_index in scene.scores:
            score = scene.scores[item.test_index]
        elif item.test_index in case.test_indices:
            column = case.test_indices.index(item.test_index)
            unsure = moved if doubt is None else float(doubt[item.test_index])
            signature_variance = case.frame.zeta[column] ** 2 + SHARED_SIGNATURE**2
            variance = case.base[column, column] + signature_variance * unsure**2
            if anchor is not None:
                variance += float(anchor[item.test_index]) ** 2 - case.anchor[column] ** 2
            sd = math.sqrt(variance)
            gap = float(case.residual[column] - moved)
            score = (math.remainder(gap, 2 * math.pi) if case.frame.phase[column] else gap) / sd
        result.append(ReadingUnderCause(test.name, test.measure, value, item.value, score))
    return tuple(result)


def single_entry(
    scene: Scene, number: int, logs: FloatArray, probability: float, marginal: float
) -> RankedCause:
    """Entry of one cause.

    Parameters
    ----------
    scene : Scene, design, hypotheses and readings of one sample
    number : int, hypothesis, index
    logs : (S,) array, ln p of the readings at its severities, dimensionless
    probability : float, its probability, dimensionless
    marginal : float, probability that it is present at all, dimensionless
    """
    hypothesis = scene.hypotheses[number]
    posterior = hypothesis.weights * np.exp(logs - logs.max())
    posterior /= posterior.sum()
    best = hypothesis.told(posterior)
    amount, low, high = hypothesis.amount(best), None, None
    if amount is not None:
        running = np.cumsum(posterior)
        low, high = (
            float(hypothesis.amounts[int(np.searchsorted(running, point))]) for point in (0.05, 0.95 - 1e-9)
        )
    cause, location = hypothesis.cause, hypothesis.location
    return RankedCause(
        cause=cause.name,
        kind=cause.kind,
        where=location,
        title=hypothesis.title(scene.design, best),
        amount=amount,
        low=low,
        high=high,
        probability=float(probability),
        marginal=float(marginal),
        also=None,
        confirm=cause.confirm.format(where=location),
        remedy=cause.remedy.format(where=location),
        confusable=cause.confusable,
        caution=_caution(hypothesis, best),
        readings=under(scene, hypothesis.shift[best], hypothesis.anchor[best], hypothesis.doubt[best]),
    )


def _caution(hypothesis: Hypothesis, node: int) -> str:
    """The cause's safety remark, if its amount takes something away (or it has no amount)."""
    amount = hypothesis.amount(node)
    return hypothesis.cause.caution if amount is None or amount < 0 else ""


def double_entry(scene: Scene, pair: Pair, probability: float, marginal: float) -> RankedCause:
    """Entry of two causes at once.

    Parameters
    ----------
    scene : Scene, design, hypotheses and readings of one sample
    pair : Pair, the two causes
    probability : float, their probability, dimensionless
    marginal : float, probability that the first is present at all, dimensionless
    """
    both = (scene.hypotheses[pair.first], scene.hypotheses[pair.second])
    titles = [item.title(scene.design, node) for item, node in zip(both, pair.nodes, strict=True)]
    first, second = both
    return RankedCause(
        cause=first.cause.name,
        kind=first.cause.kind,
        where=first.location,
        title=", and ".join(titles),
        amount=first.amount(pair.nodes[0]),
        low=None,
        high=None,
        probability=probability,
        marginal=marginal,
        also=SecondCause(second.cause.name, second.location, second.amount(pair.nodes[1]), titles[1]),
        confirm=" ".join(item.cause.confirm.format(where=item.location) for item in both),
        remedy=" ".join(item.cause.remedy.format(where=item.location) for item in both),
        confusable=(),
        caution=_caution(first, pair.nodes[0]) or _caution(second, pair.nodes[1]),
        readings=under(scene, first.shift[pair.nodes[0]] + second.shift[pair.nodes[1]]),
    )


SLIP_WORDS = {10.0: "a decade", 0.1: "a decade", 100.0: "two decades", 0.01: "two decades"}
"""What a factor is a slip of; any other is one of a unit prefix."""


def bad_title(case: Case, index: int) -> str:
    """What is wrong with the reading of a test, in words.

    Parameters
    ----------
    case : Case, the readings of one sample in the transformed space
    index : int, index of the test in the case
    """
    name = case.tests[index].name
    exchanged = _exchanged_with(case, index)
    if exchanged is not None:
        return f"the readings of {name} and {case.tests[exchanged].name} are exchanged"
    if turned := _turned(case, index):
        names = ", ".join(case.tests[position].name for position in turned)
        return (
            f"{names} {'was' if len(turned) == 1 else 'were'} written the wrong way round (1 over the ratio)"
        )
    factor = _slip(case, index)
    kind = SLIP_WORDS.get(factor, "a unit prefix")
    return f"the reading of {name} was written as {factor:g} times what was read (a slip of {kind})"


def _exchanged_with(case: Case, index: int) -> int | None:
    """A later test whose row explains the reading of test ``index`` better than any slip."""
    scores = {partner: log_exchanged(case, index, partner) for partner in twins(case, index)}
    best = max(scores, key=lambda partner: scores[partner], default=index)
    return best if best != index and scores[best] > log_bad(case, index) else None


def _slip(case: Case, index: int) -> float:
    """The step that brings the reading of test ``index`` nearest to its prediction."""
    return min(SLIPS, key=lambda factor: abs(float(case.residual[index]) - math.log(factor)))


def _turned(case: Case, index: int) -> tuple[int, ...]:
    """Ratios that are written the wrong way round, if this explains the reading better than any step."""
    turned = inverted(case, index)
    if not turned:
        return ()
    away = abs(float(case.residual[index] + 2 * case.frame.nominal[index]))
    return turned if away < abs(float(case.residual[index]) - math.log(_slip(case, index))) else ()


def _under_slip(scene: Scene, index: int) -> FloatArray:
    """Change (all tests) of what is to be expected in each row if test ``index`` has the slip of its
    title."""
    case = scene.case
    shift = np.zeros(len(scene.background.nominal))
    exchanged = _exchanged_with(case, index)
    if turned := _turned(case, index) if exchanged is None else ():
        for position in turned:
            shift[case.test_indices[position]] = -2 * case.frame.nominal[position]
    elif exchanged is None:
        shift[case.test_indices[index]] = 0.0 if case.frame.phase[index] else math.log(_slip(case, index))
    else:
        step = float(case.frame.nominal[exchanged] - case.frame.nominal[index])
        shift[case.test_indices[index]], shift[case.test_indices[exchanged]] = step, -step
    return shift


def bad_entry(scene: Scene, index: int, probability: float) -> RankedCause:
    """Entry of something wrong with one reading, or with the rows of two.

    Parameters
    ----------
    scene : Scene, design, hypotheses and readings of one sample
    index : int, index of the test in the case
    probability : float, its probability, dimensionless
    """
    case = scene.case
    test = case.tests[index]
    return RankedCause(
        cause="bad-reading",
        kind="reading",
        where=test.name,
        title=bad_title(case, index),
        amount=None,
        low=None,
        high=None,
        probability=probability,
        marginal=probability,
        also=None,
        confirm=f"Read {test.name} again, and write down the display with its unit.",
        remedy="No change of the part. Correct the row and run this again.",
        confusable=(),
        caution="",
        readings=under(scene, _under_slip(scene, index)),
    )
