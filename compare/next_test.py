"""Which measurement would tell most about the cause, and which causes the readings leave alike.

The expected information of a test m, given the readings y, over the surviving hypotheses k (a cause at one
severity, with probability p_k; "as designed" is one of them):

    I(m) = Σ_k p_k ∫ N(x; m_k, v_k) log2( p(x | cause of k) / p(x) ) dx          bits

m_k, v_k : mean and variance of the new reading under k given y, by conditioning the joint normal distribution
of all readings (tolerances, models, meter, error of the signature, as in ``weighing``). The integral by
Gauss-Hermite nodes of each component. Source: expected information gain, Lindley 1956 (from memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..predict.design import MEASURE_UNITS, BenchTest, FloatArray, Port
from ..predict.notation import format_quantity
from .candidates import nameless
from .covariances import covariance_under, frame_of
from .diagnosis import Alike, NextTest
from .hypotheses import Hypothesis, phases, wrapped
from .inquiry import Inquiry
from .interventions import Staged
from .weighing import Case, log_normal

SURE = 0.95
"""As designed with more than this: nothing more to measure."""
LEAST_SURVIVOR, MOST_SURVIVORS = 0.01, 10
MOST_TESTS, LEAST_BITS = 3, 0.05
ALIKE = 1.5
"""Two causes are alike where their readings differ by less than so many standard deviations together."""
LEAST_ALIKE = 0.05


@dataclass(frozen=True)
class Survivor:
    """A hypothesis that the readings leave: None is "as designed". node : its most probable severity."""

    probability: float
    hypothesis: Hypothesis | None
    node: int
    title: str


@dataclass(frozen=True)
class _Offer:
    """A candidate: the test, its effort, and what it is read after."""

    test: BenchTest
    effort: float
    stage: Staged | None


@dataclass(frozen=True)
class _Prospect:
    """K survivors, T' tests: the R that were read and C candidates behind them.

    mean, variance : (K, C) of each candidate given the readings. apart : (K, K) distances of the survivors in
    the tests that were read, in standard deviations. values : (K, C) predicted displays.
    """

    mean: FloatArray
    variance: FloatArray
    apart: FloatArray
    values: FloatArray


def next_tests(
    inquiry: Inquiry, case: Case, survivors: Sequence[Survivor]
) -> tuple[tuple[NextTest, ...], tuple[Alike, ...]]:
    """At most three tests with the information (bits) to expect of each, and groups of causes that the
    readings leave alike with the test that separates them. None of either where nothing is offered."""
    ahead = _worth_asking(inquiry, case)
    if not ahead or len(survivors) < 2:
        return (), ()
    prospect = _prospect(inquiry, case, ahead, survivors)
    probability = np.array([one.probability for one in survivors])
    probability = probability / probability.sum()
    names = [_name(one) for one in survivors]
    bits = expected_bits(prospect.mean, prospect.variance, probability, names)
    worth = bits / inquiry.efforts[ahead]
    chosen = [int(place) for place in np.argsort(-worth)[:MOST_TESTS] if bits[place] >= LEAST_BITS]
    offered = [
        _Offer(inquiry.tests[column], inquiry.efforts[column], inquiry.staged[column]) for column in ahead
    ]
    result = tuple(
        _described(offered[place], float(bits[place]), prospect, place, survivors) for place in chosen
    )
    return result, _alike(prospect, survivors, offered)


def _worth_asking(inquiry: Inquiry, case: Case) -> list[int]:
    """Columns that were not read of this sample; after an intervention only what was read before it."""
    read = {nameless(test) for test in case.tests}
    return [
        column
        for column, stage in enumerate(inquiry.staged)
        if column not in case.places and (stage is None or stage.test in read)
    ]


def _name(survivor: Survivor) -> str:
    return "" if survivor.hypothesis is None else survivor.hypothesis.cause.name


def _prospect(inquiry: Inquiry, case: Case, ahead: Sequence[int], survivors: Sequence[Survivor]) -> _Prospect:
    """What every survivor expects of the candidates ``ahead`` (columns), given the readings."""
    columns = [*case.places, *ahead]
    known = len(case.places)
    tests = tuple(inquiry.tests[column] for column in columns)
    background = inquiry.background.of(columns)
    own = dict(zip((nameless(test) for test in case.tests), case.meter, strict=True))
    meter = inquiry.meter[columns].copy()
    for place, column in enumerate(columns):
        stage = inquiry.staged[column]
        key = nameless(inquiry.tests[column]) if stage is None else stage.test
        meter[place] = own.get(key, meter[place])
    stages = [inquiry.staged[column] for column in columns]
    frame = frame_of(tests, background, meter, stages, inquiry.response[columns])

    def rows(name: str, plain: FloatArray) -> FloatArray:
        return np.stack(
            [
                plain if one.hypothesis is None else getattr(one.hypothesis, name)[one.node, columns]
                for one in survivors
            ]
        )

    none = np.zeros(len(columns))
    shift, flips = rows("shift", none), rows("flips", none)
    whole = covariance_under(frame, shift, rows("anchor", background.anchor))
    inside = whole[:, :known, :known]
    across = whole[:, known:, :known]
    gain = np.swapaxes(np.linalg.solve(inside, np.swapaxes(across, 1, 2)), 1, 2)
    residual = wrapped(case.tests, case.residual - shift[:, :known])
    mean = background.nominal[known:] + shift[:, known:] + np.einsum("kcr,kr->kc", gain, residual)
    variance = np.diagonal(whole[:, known:, known:], axis1=1, axis2=2) - np.sum(gain * across, axis=-1)
    difference = wrapped(case.tests, shift[:, None, :known] - shift[None, :, :known])
    squares = -2 * (log_normal(difference, inside[:, None]) - log_normal(0 * difference, inside[:, None]))
    signs = background.signs[known:] * (1.0 - 2.0 * flips[:, known:])
    shown = np.where(phases(tests[known:]), mean, np.exp(mean) * signs)
    return _Prospect(mean, np.maximum(variance, 1e-12), np.sqrt(np.maximum(squares, 0.0)), shown)


def expected_bits(
    mean: FloatArray, variance: FloatArray, probability: FloatArray, names: Sequence[str]
) -> FloatArray:
    """(C,) expected information about the cause, by where the new reading lies: all components have the mean
    variance, since that the signatures of some are uncertain says nothing about a part.

    mean, variance : (K, C). probability : (K,), sum 1. names : cause of each component (K,).
    """
    nodes, weights = np.polynomial.hermite_e.hermegauss(15)
    weights = weights / weights.sum()
    sd = np.sqrt(probability @ variance)
    at = mean[:, None, :] + nodes[None, :, None] * sd
    z = (at[:, :, None, :] - mean) / sd
    density = np.exp(-0.5 * z**2)
    total = np.einsum("knjc,j->knc", density, probability)
    result = np.zeros(mean.shape[1])
    for name in set(names):
        own = np.array([other == name for other in names])
        share = probability * own
        within = np.einsum("knjc,j->knc", density, share / share.sum())
        ratio = np.log2(np.maximum(within, 1e-300) / np.maximum(total, 1e-300))
        result += np.einsum("k,n,knc->c", share, weights, ratio)
    return np.maximum(result, 0.0)


def _described(
    offer: _Offer, bits: float, prospect: _Prospect, place: int, survivors: Sequence[Survivor]
) -> NextTest:
    test = offer.test
    return NextTest(
        test.measure,
        _words(test.drive),
        _words(test.short),
        _words(test.sense),
        test.frequency,
        bits,
        _why(test, prospect, place, survivors),
        intervention="" if offer.stage is None else offer.stage.intervention.name,
        instruction="" if offer.stage is None else offer.stage.intervention.instruction,
        effort=float(offer.effort),
    )


def _words(members: Port) -> str:
    return ", ".join(("-" if member.reversed else "") + member.name for member in members)


def _why(test: BenchTest, prospect: _Prospect, place: int, survivors: Sequence[Survivor]) -> str:
    """Which outcome points to which cause: the leading one against that from which the test parts it best."""
    mean, sd = prospect.mean[:, place], np.sqrt(prospect.variance[:, place])
    share = np.array([one.probability for one in survivors])
    worth: list[tuple[float, int, int]] = []
    for first in range(len(survivors)):
        for second in range(first + 1, len(survivors)):
            apart = abs(mean[first] - mean[second]) / math.hypot(sd[first], sd[second])
            if _name(survivors[first]) != _name(survivors[second]):
                worth.append((share[first] * share[second] * -math.expm1(-(apart**2)), first, second))
    if not worth:
        return "it narrows the amount"
    _, first, second = max(worth)
    level = f" at {format_quantity(test.level, 'V', 3)}" if test.level != 1.0 else ""
    parts = [
        f"about {_shown(float(prospect.values[row, place]), test)} if {survivors[row].title}"
        for row in sorted((first, second), key=lambda row: -share[row])
    ]
    return f"it reads{level} " + ", ".join(parts)


def _shown(value: float, test: BenchTest) -> str:
    if test.measure == "phase":
        return f"{math.degrees(value):.0f}°"
    return format_quantity(value, MEASURE_UNITS[test.measure], 3)


def _alike(
    prospect: _Prospect, survivors: Sequence[Survivor], offered: Sequence[_Offer]
) -> tuple[Alike, ...]:
    """The leading cause with those that read like it, and the candidate that parts them best."""
    listed = [
        row
        for row, one in enumerate(survivors)
        if one.hypothesis is not None and one.probability >= LEAST_ALIKE
    ]
    if not listed:
        return ()
    lead = max(listed, key=lambda row: survivors[row].probability)
    group = [row for row in listed if row == lead or prospect.apart[lead, row] < ALIKE]
    if len({_name(survivors[row]) for row in group}) < 2:
        return ()
    members = [survivors[row] for row in group]
    part = _Prospect(
        prospect.mean[group],
        prospect.variance[group],
        prospect.apart[np.ix_(group, group)],
        prospect.values[group],
    )
    share = np.array([one.probability for one in members])
    bits = expected_bits(part.mean, part.variance, share / share.sum(), [_name(one) for one in members])
    best = int(np.argmax(bits))
    test = None
    if bits[best] >= LEAST_BITS:
        test = _described(offered[best], float(bits[best]), part, best, members)
    causes = tuple((one.hypothesis.cause.name, one.hypothesis.place) for one in members if one.hypothesis)
    return (Alike(causes, float(share.sum()), test),)
