"""The probability of each cause given the readings: priors times evidence, normalised.

Beside the causes of the catalogue stand "as designed", "unlisted" and a bad reading of each test; pairs of
causes add their shifts. Hypotheses are exclusive. How well the readings go with each is in ``weighing``,
what each would read in ``hypotheses``.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..predict.design import Design, FloatArray
from .causes import CATALOGUE, Cause
from .diagnosis import Alike, Diagnosis, NextTest, RankedCause, ReadingUnderCause, SecondCause
from .evaluation import Evaluation, ReadTest, evaluate
from .hypotheses import Background, Hypothesis, forward
from .next_test import LEAST_SURVIVOR, MOST_SURVIVORS, SURE, Survivor, next_tests
from .readingsfile import Reading
from .weighing import (
    SHARED_SIGNATURE,
    Case,
    case_of,
    log_as_designed,
    log_bad,
    log_bad_or_exchanged,
    log_exchanged,
    log_hypothesis,
    log_sum,
    log_under,
    log_unlisted,
    twins,
)

PRIOR_AS_DESIGNED = 0.60
PRIOR_UNLISTED = 0.04
PRIOR_BAD_READING = 0.04
PRIOR_DOUBLE = 0.04
"""What is believed of a part on the bench before it is read; single causes share the rest (common practice,
no source)."""
LISTED_DOUBLES = 1e-4
"""Double faults below this probability are not listed one by one; the rest is scaled to sum to one."""


@dataclass(frozen=True)
class _Pair:
    """Two causes together: ``total`` ln evidence with prior; which hypotheses, and their most probable
    severities."""

    total: float
    first: int
    second: int
    nodes: tuple[int, int]


@dataclass(frozen=True)
class _Scene:
    """What the entries of one sample are written from."""

    evaluation: Evaluation
    background: Background
    hypotheses: Sequence[Hypothesis]
    case: Case
    read: Sequence[ReadTest]

    @property
    def design(self) -> Design:
        return self.evaluation.design


def explain(
    design: Design,
    readings: Sequence[Reading],
    *,
    doubles: bool = True,
    catalogue: Sequence[Cause] = CATALOGUE,
) -> tuple[Diagnosis, ...]:
    """Rank the causes of every sample's readings, each sample by itself.

    doubles : also weigh pairs of causes. Raises BuildError where the design's layout is outside the models.
    """
    evaluation = evaluate(design, readings)
    background, hypotheses = forward(evaluation.design, catalogue)
    return tuple(
        _diagnose(evaluation, background, hypotheses, sample.label, sample.read, doubles=doubles)
        for sample in evaluation.samples
    )


def _diagnose(
    evaluation: Evaluation,
    background: Background,
    hypotheses: Sequence[Hypothesis],
    sample: str,
    read: Sequence[ReadTest],
    *,
    doubles: bool,
) -> Diagnosis:
    case = case_of(evaluation.design, background, read)
    scene = _Scene(evaluation, background, hypotheses, case, read)
    plain = _under(scene, None)
    missing = [evaluation.design.tests[item.place].name for item in read if item.value is None]
    notes = ("no usable reading of " + ", ".join(missing),) if missing else ()
    if not case.tests:
        notes = (*notes, "nothing was read: what stands here is only what was believed before")
    prior = _priors(hypotheses, doubles=doubles)
    logs = [log_hypothesis(case, hypothesis) for hypothesis in hypotheses]
    singles = [
        math.log(share) + log_sum(values, hypothesis.weights)
        for share, values, hypothesis in zip(prior, logs, hypotheses, strict=True)
    ]
    bad_share = math.log(PRIOR_BAD_READING / max(len(case.tests), 1))
    bad = [bad_share + log_bad_or_exchanged(case, place) for place in range(len(case.tests))]
    pairs = _pairs(case, hypotheses, prior) if doubles else []
    healthy = math.log(PRIOR_AS_DESIGNED) + log_as_designed(case)
    unlisted = math.log(PRIOR_UNLISTED) + log_unlisted(case)
    totals = np.array([healthy, unlisted, *singles, *bad, *(pair.total for pair in pairs)])
    probability = np.exp(totals - totals.max())
    probability /= probability.sum()
    split = np.cumsum([2, len(singles), len(bad)])
    (as_designed, other), single, bad_one, double = np.split(probability, split)
    marginal = single.copy()
    for share, pair in zip(double, pairs, strict=True):
        marginal[pair.first] += share
        marginal[pair.second] += share
    entries = [
        _single(scene, number, logs[number], single[number], marginal[number])
        for number in range(len(single))
    ]
    entries += [_bad(scene, place, float(share)) for place, share in enumerate(bad_one)]
    entries += [
        _double(scene, pair, float(share), float(marginal[pair.first]))
        for share, pair in zip(double, pairs, strict=True)
        if share >= LISTED_DOUBLES
    ]
    scale = 1.0 / (1.0 - float(double[double < LISTED_DOUBLES].sum()))
    scaled = [replace(entry, probability=entry.probability * scale) for entry in entries]
    ranked = tuple(sorted(scaled, key=lambda entry: -entry.probability))
    found: tuple[NextTest, ...] = ()
    alike: tuple[Alike, ...] = ()
    if case.tests and as_designed < SURE:
        survivors = _survivors(scene, float(as_designed), single, logs)
        found, alike = next_tests(evaluation.design, case.places, case.y, survivors)
    return Diagnosis(
        sample, float(as_designed) * scale, float(other) * scale, ranked, plain, found, notes, alike
    )


def _survivors(
    scene: _Scene, as_designed: float, single: FloatArray, logs: Sequence[FloatArray]
) -> list[Survivor]:
    """As designed and the single causes that are left, each at its most probable severity."""
    result = [Survivor(as_designed, None, 0, "it is as designed")] if as_designed >= LEAST_SURVIVOR else []
    for number in np.argsort(-single)[:MOST_SURVIVORS]:
        if single[number] < LEAST_SURVIVOR:
            break
        hypothesis = scene.hypotheses[number]
        node = int(np.argmax(logs[number] + np.log(hypothesis.weights)))
        title = hypothesis.title(scene.design, node)
        result.append(Survivor(float(single[number]), hypothesis, node, title))
    return result


def _priors(hypotheses: Sequence[Hypothesis], *, doubles: bool) -> FloatArray:
    """Prior of every cause at every place: a cause's weight, shared with the root of the number of its
    places."""
    places: dict[str, int] = {}
    for hypothesis in hypotheses:
        places[hypothesis.cause.name] = places.get(hypothesis.cause.name, 0) + 1
    weights = np.array([item.cause.weight / math.sqrt(places[item.cause.name]) for item in hypotheses])
    share = 1.0 - PRIOR_AS_DESIGNED - PRIOR_UNLISTED - PRIOR_BAD_READING - (PRIOR_DOUBLE if doubles else 0.0)
    return np.asarray(weights / max(weights.sum(), 1e-300) * share)


def _pairs(case: Case, hypotheses: Sequence[Hypothesis], prior: FloatArray) -> list[_Pair]:
    """Every pair of different causes, each with at most three severities; their shifts add."""
    nodes, owners, shares = [], [], []
    for place, item in enumerate(hypotheses):
        for node, share in _few(item):
            nodes.append(node)
            owners.append(place)
            shares.append(prior[place] * share)
    owner = np.array(owners, int)
    names = np.array([item.cause.name for item in hypotheses])
    one, two = np.triu_indices(len(nodes), 1)
    apart = names[owner[one]] != names[owner[two]]
    one, two = one[apart], two[apart]
    if not len(one):
        return []
    index = list(case.places)

    def picked_rows(name: str) -> FloatArray:
        return np.stack(
            [getattr(hypotheses[place], name)[node, index] for place, node in zip(owners, nodes, strict=True)]
        )

    shift, anchor, flips = picked_rows("shift"), picked_rows("anchor"), picked_rows("flips")
    weight = np.array(shares)[one] * np.array(shares)[two]
    logs = log_under(
        case,
        shift[one] + shift[two],
        anchor[one] + anchor[two] - case.anchor,
        np.abs(flips[one] - flips[two]),
    )
    here, there = np.triu_indices(len(hypotheses), 1)
    whole = float(np.sum((prior[here] * prior[there])[names[here] != names[there]]))
    logs = logs + np.log(weight / whole * PRIOR_DOUBLE)
    groups: dict[tuple[int, int], list[int]] = {}
    for row, key in enumerate(zip(owner[one].tolist(), owner[two].tolist(), strict=True)):
        groups.setdefault(key, []).append(row)
    result = []
    for (first, second), rows in groups.items():
        best = rows[int(np.argmax(logs[rows]))]
        total = log_sum(logs[rows], np.ones(len(rows)))
        result.append(_Pair(total, first, second, (nodes[one[best]], nodes[two[best]])))
    return result


def _few(hypothesis: Hypothesis) -> list[tuple[int, float]]:
    """At most three severities for a pair, with their parts of the prior: both ends and the middle of a range
    stand for all of it; of single ways the heaviest stand for themselves."""
    count = len(hypothesis.weights)
    if count > 3 and hypothesis.cause.continuous:
        return [(node, 1 / 3) for node in (0, count // 2, count - 1)]
    heaviest = np.argsort(-hypothesis.weights, kind="stable")[:3]
    return [(int(node), float(hypothesis.weights[node])) for node in sorted(heaviest)]


def _under(
    scene: _Scene, shift: FloatArray | None, anchor: FloatArray | None = None
) -> tuple[ReadingUnderCause, ...]:
    """Every reading beside its expectation under a shift (all tests) of the transformed prediction.

    anchor : the leg share's effect in that build, in place of the design's.
    """
    case, result = scene.case, []
    for item in scene.read:
        test = scene.design.tests[item.place]
        moved = float(shift[item.place]) if shift is not None else 0.0
        expected = float(scene.background.nominal[item.place]) + moved
        if test.measure == "phase":
            value = math.remainder(expected, 2 * math.pi)
        else:
            value = math.exp(expected) * float(scene.background.signs[item.place])
        score = None
        if item.place in case.places:
            place = case.places.index(item.place)
            variance = case.base[place, place] + (case.zeta[place] ** 2 + SHARED_SIGNATURE**2) * moved**2
            if anchor is not None:
                variance += float(anchor[item.place]) ** 2 - case.anchor[place] ** 2
            sd = math.sqrt(variance)
            gap = float(case.residual[place] - moved)
            score = (math.remainder(gap, 2 * math.pi) if case.phase[place] else gap) / sd
        result.append(ReadingUnderCause(test.name, test.measure, value, item.value, score))
    return tuple(result)


def _single(scene: _Scene, number: int, logs: FloatArray, probability: float, marginal: float) -> RankedCause:
    hypothesis = scene.hypotheses[number]
    posterior = hypothesis.weights * np.exp(logs - logs.max())
    posterior /= posterior.sum()
    best = int(np.argmax(posterior))
    amount, low, high = hypothesis.amount(best), None, None
    if amount is not None:
        running = np.cumsum(posterior)
        low, high = (
            float(hypothesis.amounts[int(np.searchsorted(running, point))]) for point in (0.05, 0.95 - 1e-9)
        )
    cause, place = hypothesis.cause, hypothesis.place
    return RankedCause(
        cause=cause.name,
        kind=cause.kind,
        where=place,
        title=hypothesis.title(scene.design, best),
        amount=amount,
        low=low,
        high=high,
        probability=float(probability),
        marginal=float(marginal),
        also=None,
        confirm=cause.confirm.format(where=place),
        remedy=cause.remedy.format(where=place),
        confusable=cause.confusable,
        caution=_caution(hypothesis, best),
        readings=_under(scene, hypothesis.shift[best], hypothesis.anchor[best]),
    )


def _caution(hypothesis: Hypothesis, node: int) -> str:
    """The cause's safety remark, where its amount takes something away (or has no amount)."""
    amount = hypothesis.amount(node)
    return hypothesis.cause.caution if amount is None or amount < 0 else ""


def _double(scene: _Scene, pair: _Pair, probability: float, marginal: float) -> RankedCause:
    both = (scene.hypotheses[pair.first], scene.hypotheses[pair.second])
    titles = [item.title(scene.design, node) for item, node in zip(both, pair.nodes, strict=True)]
    first, second = both
    return RankedCause(
        cause=first.cause.name,
        kind=first.cause.kind,
        where=first.place,
        title=", and ".join(titles),
        amount=first.amount(pair.nodes[0]),
        low=None,
        high=None,
        probability=probability,
        marginal=marginal,
        also=SecondCause(second.cause.name, second.place, second.amount(pair.nodes[1]), titles[1]),
        confirm=" ".join(item.cause.confirm.format(where=item.place) for item in both),
        remedy=" ".join(item.cause.remedy.format(where=item.place) for item in both),
        confusable=(),
        caution=_caution(first, pair.nodes[0]) or _caution(second, pair.nodes[1]),
        readings=_under(scene, first.shift[pair.nodes[0]] + second.shift[pair.nodes[1]]),
    )


def _bad(scene: _Scene, place: int, probability: float) -> RankedCause:
    case = scene.case
    test = case.tests[place]
    plain = log_bad(case, place)
    exchanged = [other for other in twins(case, place) if log_exchanged(case, place, other) > plain]
    if exchanged:
        title = f"the readings of {test.name} and {case.tests[exchanged[0]].name} are exchanged"
    else:
        title = f"the reading of {test.name} is wrong (unit, decade, typing)"
    return RankedCause(
        cause="bad-reading",
        kind="reading",
        where=test.name,
        title=title,
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
        readings=_under(scene, None),
    )
