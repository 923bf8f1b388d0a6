"""Which measurement would tell most about the cause, and which causes the readings leave alike.

The expected information of a test m, given the readings y, over the surviving hypotheses k (a cause at one
severity, with probability p_k; "as designed", pairs of causes and bad readings included):

    I(m) = Σ_k p_k ∫ N(x; m_k, v) log2( p(x | cause of k) / p(x) ) dx          bits

m_k is the mean of the new reading under k given y, v its mean variance: module ``prospects``. The integral
uses Gauss-Hermite nodes of each component. Source: expected information gain, Lindley 1956 (from memory).

The second and third test are chosen for what they add to those before them: the same sum over joint
outcomes of all, by a fixed set of draws.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import combinations

import numpy as np

from ...predict.design import BenchTest, FloatArray, Port
from ...predict.measures import MEASURE_UNITS
from ...predict.notation import format_quantity
from ..hypotheses import Inquiry, nameless
from ..meter import REPEATABILITY
from .conclusion import Alike, NextTest
from .prospects import Prospect, prospect_of
from .survivors import Survivor, weight_by_label
from .weighing import Case

SURE = 0.95
"""With more than this probability as designed, there is nothing more to measure (judged; no data behind
it)."""
MOST_TESTS, MOST_INTERVENTIONS, LEAST_BITS = 3, 2, 0.02
NOTEWORTHY_BITS = 0.1
"""Information (bits) from which a further reading of a part that reads as designed is proposed (judged)."""
ALIKE = 1.5
"""Two causes are alike if their readings together differ by less than this many standard deviations (judged
by what a reader can take in; no verdict depends on it)."""
LEAST_ALIKE = 0.05
ALIKE_DISPLAYS = 2.0
"""Two displays are alike within this many standard uncertainties of the bench (common practice: two standard
uncertainties)."""
DRAWS, SEED = 192, 1
"""Readings drawn to find how much a test tells, and the seed of the draws: always the same proposals (bounds
work, not results)."""


def next_tests(
    inquiry: Inquiry, case: Case, survivors: Sequence[Survivor]
) -> tuple[tuple[NextTest, ...], tuple[Alike, ...]]:
    """What to measure next, and which causes the readings leave alike.

    At most three readings and at most two readings after an intervention, in the order of their worth for
    their effort.

    Parameters
    ----------
    inquiry : Inquiry, hypotheses and what each of them predicts
    case : Case, the readings of one sample in the transformed space
    survivors : Sequence[Survivor], the surviving hypotheses

    Returns
    -------
    tuple[NextTest, ...], what to measure next, with the information to expect; empty if nothing is offered
    tuple[Alike, ...], groups of causes that the readings leave alike, with the test that separates them
    """
    ahead = _worth_asking(inquiry, case)
    if not ahead or len({survivor.label for survivor in survivors}) < 2:
        return (), ()
    prospect = prospect_of(inquiry, case, ahead, survivors)
    bits = _bits(prospect)
    telling = [
        ahead_index
        for ahead_index in range(len(ahead))
        if bits[ahead_index] >= LEAST_BITS and _outcomes(inquiry, prospect, ahead_index) is not None
    ]
    plain = [ahead_index for ahead_index in telling if inquiry.staged[ahead[ahead_index]] is None]
    done = [ahead_index for ahead_index in telling if inquiry.staged[ahead[ahead_index]] is not None]
    chosen = _chosen(prospect, bits, plain, MOST_TESTS)
    after = _chosen(prospect, bits, done, MOST_INTERVENTIONS, [ahead_index for ahead_index, _ in chosen[:1]])
    ordered = sorted([*chosen, *after], key=lambda item: -item[1])
    result = tuple(
        _described(inquiry, prospect, ahead_index, float(bits[ahead_index])) for ahead_index, _ in ordered
    )
    return result, _alike(inquiry, prospect)


def best_of(proposals: Sequence[NextTest]) -> tuple[NextTest, ...]:
    """What is worth proposing for a part that reads as designed.

    Parameters
    ----------
    proposals : Sequence[NextTest], tests worth making, best first

    Returns
    -------
    tuple[NextTest, ...]
        The one reading, not an intervention, that adds most; none where it tells less than
        ``NOTEWORTHY_BITS``.
    """
    readings = [test for test in proposals if not test.intervention and test.bits >= NOTEWORTHY_BITS]
    return tuple(readings[:1])


def _worth_asking(inquiry: Inquiry, case: Case) -> list[int]:
    """Columns of the inquiry (index) that were not read on this sample; after an intervention only tests that
    were read before it."""
    read = {nameless(test) for test in case.tests}
    return [
        column
        for column, stage in enumerate(inquiry.staged)
        if column not in case.test_indices and (stage is None or stage.test in read)
    ]


def _bits(prospect: Prospect) -> FloatArray:
    share = prospect.share
    return expected_bits(
        prospect.mean, prospect.variance, share, [survivor.label for survivor in prospect.survivors]
    )


def expected_bits(
    mean: FloatArray, variance: FloatArray, probability: FloatArray, names: Sequence[str]
) -> FloatArray:
    """Expected information about the cause, from where the new reading lies.

    All components have the mean variance, because the uncertainty of some signatures says nothing about a
    part.

    Parameters
    ----------
    mean : (K, C) array
        Mean of each candidate under each component, transformed, dimensionless (rad for a phase).
    variance : (K, C) array, its variance, dimensionless
    probability : (K,) array, probability of each component, sum 1, dimensionless
    names : Sequence[str], cause of each component

    Returns
    -------
    (C,) array, information in bits, dimensionless
    """
    nodes, weights = np.polynomial.hermite_e.hermegauss(11)
    weights = weights / weights.sum()
    sd = np.sqrt(probability @ variance)
    at = mean[:, None, :] + nodes[None, :, None] * sd
    density = np.exp(-0.5 * ((at[:, :, None, :] - mean) / sd) ** 2) * probability[:, None]
    total = np.sum(density, axis=2)
    label = np.array(list(names))
    result = np.zeros(mean.shape[1])
    for name in dict.fromkeys(names):
        of_label = label == name
        share = probability[of_label]
        within = np.sum(density[of_label][:, :, of_label], axis=2) / share.sum()
        ratio = np.log2(np.maximum(within, 1e-300) / np.maximum(total[of_label], 1e-300))
        result += np.einsum("k,n,knc->c", share, weights, ratio)
    return np.maximum(result, 0.0)


def _chosen(
    prospect: Prospect, bits: FloatArray, offered: Sequence[int], most: int, before: Sequence[int] = ()
) -> list[tuple[int, float]]:
    """Candidates in the order in which they are worth making, each with its worth: information per effort.

    For the first its own, for the others what they add to those before them.
    """
    result: list[tuple[int, float]] = []
    left = [ahead_index for ahead_index in offered if bits[ahead_index] >= LEAST_BITS]
    while left and len(result) < most:
        if result or before:
            known = [*before, *(ahead_index for ahead_index, _ in result)]
            gains = _joint_bits(prospect, known, left)
            base = _joint_bits(prospect, known[:-1], known[-1:])[0]
            worth = np.maximum(gains - base, 0.0)
        else:
            worth = bits[left]
        best = int(np.argmax(worth / prospect.efforts[left]))
        if result and worth[best] < LEAST_BITS / 2:
            break
        value = float(worth[best] / prospect.efforts[left[best]])
        result.append((left.pop(best), value))
    return result


def _joint_bits(prospect: Prospect, known: Sequence[int], more: Sequence[int]) -> FloatArray:
    """Information to expect of the known candidates together with each of M others, by draws: (M,), in bits,
    dimensionless. Candidates by their index."""
    share = prospect.share
    random = np.random.default_rng(SEED)
    cumulative = np.cumsum(share)
    who = np.minimum(np.searchsorted(cumulative, (np.arange(DRAWS) + 0.5) / DRAWS), len(share) - 1)
    everything = [*known, *more]
    spread = prospect.spread[np.ix_(everything, everything)]
    factor = np.linalg.cholesky(spread + 1e-12 * np.eye(len(everything)) * np.trace(spread))
    mean = prospect.mean[:, everything]
    drawn = mean[who] + random.standard_normal((DRAWS, len(everything))) @ factor.T
    away = drawn[:, None, :] - mean
    count = len(known)
    inner = np.linalg.inv(spread[:count, :count]) if count else np.zeros((0, 0))
    base = -0.5 * np.einsum("nki,ij,nkj->nk", away[..., :count], inner, away[..., :count])
    gain = spread[count:, :count] @ inner
    rest = away[..., count:] - away[..., :count] @ gain.T
    variance = np.diagonal(spread)[count:] - np.sum(gain * spread[count:, :count], axis=1)
    logs = base[..., None] - 0.5 * rest**2 / np.maximum(variance, 1e-12)
    density = np.exp(logs - logs.max(axis=1, keepdims=True)) * share[:, None]
    label = np.array([survivor.label for survivor in prospect.survivors])
    same = (label[who][:, None] == label).astype(float)
    prior = np.array([share[label == name].sum() for name in label])[who]
    within = np.einsum("nk,nkm->nm", same, density) / prior[:, None]
    return np.asarray(np.mean(np.log2(np.maximum(within, 1e-300) / density.sum(axis=1)), axis=0))


def _described(inquiry: Inquiry, prospect: Prospect, index: int, bits: float) -> NextTest:
    column = prospect.columns[index]
    test, stage = inquiry.tests[column], inquiry.staged[column]
    return NextTest(
        measure=test.measure,
        drive=_words(test.drive),
        short=_words(test.short),
        sense=_words(test.sense),
        frequency=test.frequency,
        bits=bits,
        intervention="" if stage is None else stage.intervention.name,
        instruction="" if stage is None else stage.intervention.instruction,
        effort=float(inquiry.efforts[column]),
        level=f"at {format_quantity(test.level, 'V', 3)} " if test.level != 1.0 else "",
        outcomes=_displays(test, prospect, index, _outcomes(inquiry, prospect, index)),
    )


def _words(members: Port) -> str:
    return ", ".join(("-" if member.reversed else "") + member.name for member in members)


def _displays(
    test: BenchTest, prospect: Prospect, index: int, rows: tuple[int, int] | None
) -> tuple[tuple[str, str], ...]:
    """What each of two survivors would display, and its title, the more likely one first."""
    return tuple(
        (_shown(float(prospect.values[row, index]), test), prospect.survivors[row].title)
        for row in sorted(rows or (), key=lambda row: -prospect.share[row])
    )


def _outcomes(inquiry: Inquiry, prospect: Prospect, index: int) -> tuple[int, int] | None:
    """Two survivors that weigh most and that a candidate separates best.

    Only those that this bench's display can tell apart, by ``ALIKE_DISPLAYS`` of its own uncertainty and
    in the digits shown; None if it separates no two.
    """
    column = prospect.columns[index]
    test, stage = inquiry.tests[column], inquiry.staged[column]
    doubt = float(inquiry.meter[column])
    if stage is not None:  # relative to the reading before it only re-connection counts
        doubt = min(doubt, REPEATABILITY.get(test.measure, REPEATABILITY["default"]))
    mean, sd = prospect.mean[:, index], np.sqrt(prospect.variance[:, index])
    values, share = prospect.values[:, index], prospect.share
    main = [row for row, survivor in enumerate(prospect.survivors) if survivor.main]
    shown = {row: _shown(float(values[row]), test) for row in main}
    best, result = 0.0, None
    for first, second in combinations(main, 2):
        away = abs(mean[first] - mean[second])
        turned = test.measure != "phase" and values[first] * values[second] < 0
        if shown[first] == shown[second] or not (turned or away >= ALIKE_DISPLAYS * doubt):
            continue
        apart = away / math.hypot(sd[first], sd[second])
        worth = share[first] * share[second] * -math.expm1(-(apart**2))
        if result is None or worth > best:
            best, result = worth, (first, second)
    return result


def _shown(value: float, test: BenchTest) -> str:
    if test.measure == "phase":
        return f"{math.degrees(value):.0f}°"
    return format_quantity(value, MEASURE_UNITS[test.measure], 3)


def _alike(inquiry: Inquiry, prospect: Prospect) -> tuple[Alike, ...]:
    """Groups of single causes that read alike, each with the candidate that separates them best."""
    weight = weight_by_label(prospect.survivors)
    left = [
        row
        for row, survivor in enumerate(prospect.survivors)
        if survivor.listed and survivor.main and weight[survivor.label] >= LEAST_ALIKE
    ]
    left.sort(key=lambda row: -weight[prospect.survivors[row].label])
    groups = []
    while left:
        lead = left[0]
        group = [row for row in left if row == lead or prospect.apart[lead, row] < ALIKE]
        left = [row for row in left if row not in group]
        if len({prospect.survivors[row].cause for row in group}) > 1:
            groups.append(_group(inquiry, prospect, group, weight))
    return tuple(groups)


def _group(inquiry: Inquiry, prospect: Prospect, group: list[int], weight: dict[str, float]) -> Alike:
    labels = [prospect.survivors[row].label for row in group]
    rows = [row for row, survivor in enumerate(prospect.survivors) if survivor.label in labels]
    part = prospect.of(rows)
    bits = _bits(part)
    telling = np.array([_outcomes(inquiry, part, index) is not None for index in range(len(bits))])
    bits = np.where(telling, bits, 0.0)
    best = int(np.argmax(bits / prospect.efforts))
    test = _described(inquiry, part, best, float(bits[best])) if bits[best] >= LEAST_BITS else None
    causes = tuple((prospect.survivors[row].cause, prospect.survivors[row].location) for row in group)
    return Alike(causes, sum(weight[label] for label in labels), test)
