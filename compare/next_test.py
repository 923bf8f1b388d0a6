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
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from ..predict.batch import predict_many
from ..predict.bench import predict_bench
from ..predict.bench import readings as predicted_readings
from ..predict.design import MEASURE_UNITS, BenchTest, Design, FloatArray, Member, Port
from ..predict.errors import BuildError
from ..predict.notation import format_quantity
from ..predict.tolerances import parameters
from .diagnosis import Alike, NextTest
from .evaluation import handled_uncertainty
from .hypotheses import Hypothesis, phases, transform, wrapped
from .weighing import RESIDUAL, SHARED_SIGNATURE, SIGNATURE, log_normal

SURE = 0.95
"""As designed with more than this: nothing more to measure."""
LEAST_SURVIVOR, MOST_SURVIVORS = 0.01, 10
MOST_TESTS, LEAST_BITS = 3, 0.05
EFFORT = {"resistance": 1.0, "capacitance": 1.3, "resonance": 1.8}
"""Effort of an extra test against that of one of the design (1); others 1.2 (judged)."""
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
class _Prospect:
    """K survivors, T' tests: the R that were read and C candidates behind them.

    mean, variance : (K, C) of each candidate given the readings. apart : (K, K) distances of the survivors in
    the tests that were read, in standard deviations. values : (K, C) predicted displays.
    """

    mean: FloatArray
    variance: FloatArray
    apart: FloatArray
    values: FloatArray


def candidates(design: Design, read: Sequence[BenchTest]) -> list[tuple[BenchTest, float]]:
    """(test, effort) of everything worth reading next: tests of the design not yet read, then extra ones."""
    found: list[tuple[BenchTest, float]] = []
    seen = {_key(test) for test in read}

    def offer(test: BenchTest, effort: float | None) -> None:
        if _key(test) not in seen:
            seen.add(_key(test))
            cost = EFFORT.get(test.measure, 1.2) if effort is None else effort
            found.append((test, cost))

    for test in design.tests:
        offer(test, 1.0)
    ports: list[Port] = [(Member(winding.name),) for winding in design.windings]
    opened = [test for test in design.tests if test.measure == "inductance" and not test.short]
    shorted = [test for test in design.tests if test.measure == "inductance" and test.short]
    low = opened[0].frequency if opened else 10e3
    level = opened[0].level if opened else 1.0
    for port in ports:
        offer(BenchTest("", "resistance", port), None)
        offer(BenchTest("", "inductance", port, frequency=low, level=level), None)
    for test in shorted[:2]:
        if len(test.short) == 1:
            offer(replace(test, drive=test.short, short=test.drive), None)
        if test.frequency is not None:
            offer(replace(test, frequency=test.frequency / 10), None)
    for test in opened[:1]:
        offer(replace(test, level=test.level / 10), None)
        if test.frequency is not None:
            offer(replace(test, frequency=test.frequency / 10), None)
        offer(replace(test, measure="quality"), None)
    high = shorted[0].frequency if shorted else 100e3
    for one, other in pairwise(ports[:3]):
        offer(BenchTest("", "capacitance", one, sense=other, frequency=high), None)
        offer(BenchTest("", "ratio", one, sense=other, frequency=low, level=level), None)
    if len(ports) > 1:
        offer(BenchTest("", "inductance", ports[0] + ports[1], frequency=low, level=level), None)
    offer(BenchTest("", "resonance", ports[0]), None)
    return found


def _key(test: BenchTest) -> object:
    return (test.measure, test.drive, test.short, test.sense, test.frequency, test.level, test.bias)


def next_tests(
    design: Design, read: Sequence[int], y: FloatArray, survivors: Sequence[Survivor]
) -> tuple[tuple[NextTest, ...], tuple[Alike, ...]]:
    """At most three tests with the information (bits) to expect of each, and groups of causes that the
    readings leave alike with the test that separates them.

    read, y : indices of the tests that were read (R), and their transformed readings (R,). No tests where the
    models cannot predict them.
    """
    tests = tuple(design.tests[place] for place in read)
    offered = candidates(design, tests)
    if not offered or len(survivors) < 2:
        return (), ()
    prospect = _prospect(design, tests, [test for test, _ in offered], y, survivors)
    if prospect is None:
        return (), ()
    probability = np.array([one.probability for one in survivors])
    probability = probability / probability.sum()
    names = [_name(one) for one in survivors]
    bits = expected_bits(prospect.mean, prospect.variance, probability, names)
    worth = bits / np.array([effort for _, effort in offered])
    chosen = [int(place) for place in np.argsort(-worth)[:MOST_TESTS] if bits[place] >= LEAST_BITS]
    named = [test for test, _ in offered]
    result = tuple(
        _described(named[place], float(bits[place]), prospect, place, survivors) for place in chosen
    )
    return result, _alike(prospect, survivors, named)


def _name(survivor: Survivor) -> str:
    return "" if survivor.hypothesis is None else survivor.hypothesis.cause.name


def _prospect(
    design: Design,
    read: Sequence[BenchTest],
    offered: Sequence[BenchTest],
    y: FloatArray,
    survivors: Sequence[Survivor],
) -> _Prospect | None:
    """Everything predicted for the tests that were read and the candidates; None outside the models."""
    named = tuple(replace(test, name=f"candidate {number}") for number, test in enumerate(offered))
    tests = (*read, *named)
    extended = replace(design, tests=tests)
    try:
        plain = predict_bench(extended)
        spread = [parameter.change(extended, 1.0) for parameter in parameters(extended)]
        raw = predict_many([*spread, *(_changed(extended, one) for one in survivors)], predicted_readings)
    except BuildError:
        return None
    moved, values = raw[: len(spread)], raw[len(spread) :]
    nominal = transform(tests, plain.values)
    gradients = wrapped(tests, transform(tests, moved) - nominal)
    shift = wrapped(tests, transform(tests, values) - nominal)
    meter = np.array(
        [
            float(handled_uncertainty(design, test, np.asarray(value), complex(impedance)))
            for test, value, impedance in zip(tests, plain.values, plain.impedance, strict=True)
        ]
    )
    relative = np.where(phases(tests), meter, meter / np.maximum(np.abs(plain.values), 1e-18))
    extra = np.array([RESIDUAL[test.measure] for test in tests])
    base = gradients.T @ gradients + np.diag(relative**2 + extra**2)
    zeta = np.array([SIGNATURE.get(test.measure, SIGNATURE["default"]) for test in tests])
    whole = base + SHARED_SIGNATURE**2 * shift[:, :, None] * shift[:, None, :]
    whole = whole + (zeta * shift)[:, :, None] ** 2 * np.eye(len(tests))
    known = len(read)
    inside = whole[:, :known, :known]
    across = whole[:, known:, :known]
    gain = np.swapaxes(np.linalg.solve(inside, np.swapaxes(across, 1, 2)), 1, 2)
    residual = wrapped(read, y - (nominal + shift)[:, :known])
    mean = nominal[known:] + shift[:, known:] + np.einsum("kcr,kr->kc", gain, residual)
    variance = np.diagonal(whole[:, known:, known:], axis1=1, axis2=2) - np.sum(gain * across, axis=-1)
    difference = wrapped(read, shift[:, None, :known] - shift[None, :, :known])
    squares = -2 * (log_normal(difference, inside[:, None]) - log_normal(0 * difference, inside[:, None]))
    shown = np.where(phases(named), mean, np.exp(mean) * np.sign(values[:, known:]))
    return _Prospect(mean, np.maximum(variance, 1e-12), np.sqrt(np.maximum(squares, 0.0)), shown)


def _changed(extended: Design, survivor: Survivor) -> Design:
    """The survivor's change on the design with the candidates among its tests."""
    if survivor.hypothesis is None:
        return extended
    hypothesis = survivor.hypothesis
    wanted = hypothesis.variants[hypothesis.origin[survivor.node]]
    variants = hypothesis.cause.variants(extended, hypothesis.place)
    same = [item for item in variants if item.title == wanted.title and item.amount == wanted.amount]
    return same[0].design


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
    test: BenchTest, bits: float, prospect: _Prospect, place: int, survivors: Sequence[Survivor]
) -> NextTest:
    return NextTest(
        test.measure,
        _words(test.drive),
        _words(test.short),
        _words(test.sense),
        test.frequency,
        bits,
        _why(test, prospect, place, survivors),
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
    prospect: _Prospect, survivors: Sequence[Survivor], offered: Sequence[BenchTest]
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
