"""The probability of each cause given the readings: priors times evidence, normalised.

Beside the causes of the catalogue stand "as designed", "unlisted" and a bad reading of each test; pairs of
causes add their shifts. Hypotheses are exclusive. How well the readings go with each is in ``weighing``,
what each would read in ``hypotheses``.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from ..predict.design import Design, FloatArray
from .causes import CATALOGUE, Cause
from .consistency import consistency_checks
from .diagnosis import Alike, Diagnosis, NextTest, RunnerUp
from .entries import Scene, bad_entry, double_entry, single_entry, under
from .evaluation import ReadTest, evaluate
from .hypotheses import Hypothesis
from .inquiry import Inquiry, inquire
from .interventions import interventions_apart
from .next_test import SURE, next_tests
from .pairs import pairs_of
from .readingsfile import Reading
from .rivals import holds_against_priors, runner_up
from .survivors import survivors_of
from .weighing import (
    case_of,
    log_as_designed,
    log_bad_or_exchanged,
    log_nodes,
    log_sum,
    log_unlisted,
)

PRIOR_AS_DESIGNED = 0.20
PRIOR_UNLISTED = 0.03
PRIOR_BAD_READING = 0.03
PRIOR_DOUBLE = 0.04
"""What is believed of a part before it is read; single causes share the rest (common practice, no source). A
part that somebody wants explained is a suspicious one: it was picked out because it failed, or stood out.
Where parts come from running production, ``sound`` says how many are."""
LISTED_DOUBLES = 1e-4
"""Double faults below this probability are not listed one by one; the rest is scaled to sum to one."""


def explain(
    design: Design,
    readings: Sequence[Reading],
    *,
    doubles: bool = True,
    catalogue: Sequence[Cause] = CATALOGUE,
    sound: float = PRIOR_AS_DESIGNED,
) -> tuple[Diagnosis, ...]:
    """Rank the causes of every sample's readings, each sample by itself.

    doubles : also weigh pairs of causes. sound : which part of such samples is sound, before they are read
    (0 … 1, both excluded: ValueError). Raises BuildError where the design's layout is outside the models.
    """
    if not 0.0 < sound < 1.0:
        raise ValueError(f"sound: {sound}, not between 0 and 1")
    parted, rows, staged = interventions_apart(design, readings)
    evaluation = evaluate(parted, rows)
    inquiry = inquire(parted, evaluation.design.tests, catalogue, staged)
    return tuple(
        _diagnose(evaluation.design, inquiry, sample.label, sample.read, doubles=doubles, sound=sound)
        for sample in evaluation.samples
    )


def _diagnose(
    design: Design,
    inquiry: Inquiry,
    sample: str,
    read: Sequence[ReadTest],
    *,
    doubles: bool,
    sound: float,
) -> Diagnosis:
    hypotheses = inquiry.hypotheses
    case = case_of(design, inquiry.background, read, inquiry.staged, inquiry.response)
    scene = Scene(design, inquiry.background, hypotheses, case, read)
    plain = under(scene, None)
    missing = [design.tests[item.place].name for item in read if item.value is None]
    notes = ("no usable reading of " + ", ".join(missing),) if missing else ()
    if not case.tests:
        notes = (*notes, "nothing was read: what stands here is only what was believed before")
    plainly = [item for item in read if inquiry.staged[item.place] is None]
    broken = [check for check in consistency_checks(design, plainly) if not check.holds]
    notes = (*notes, *(f"whatever the design, {check.check}: {check.detail}" for check in broken))
    faulty = (1.0 - sound) / (1.0 - PRIOR_AS_DESIGNED)
    prior = _priors(hypotheses, doubles=doubles) * faulty
    logs = log_nodes(case, hypotheses)
    singles = [
        math.log(share) + log_sum(values, hypothesis.weights)
        for share, values, hypothesis in zip(prior, logs, hypotheses, strict=True)
    ]
    bad_share = math.log(PRIOR_BAD_READING * faulty / max(len(case.tests), 1))
    bad = [bad_share + log_bad_or_exchanged(case, place) for place in range(len(case.tests))]
    pairs = pairs_of(case, hypotheses, prior, PRIOR_DOUBLE * faulty) if doubles else []
    healthy = math.log(sound) + log_as_designed(case)
    unlisted = math.log(PRIOR_UNLISTED * faulty) + log_unlisted(case)
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
        single_entry(scene, number, logs[number], single[number], marginal[number])
        for number in range(len(single))
    ]
    entries += [bad_entry(scene, place, float(share)) for place, share in enumerate(bad_one)]
    entries += [
        double_entry(scene, pair, float(share), float(marginal[pair.first]))
        for share, pair in zip(double, pairs, strict=True)
        if share >= LISTED_DOUBLES
    ]
    scale = 1.0 / (1.0 - float(double[double < LISTED_DOUBLES].sum()))
    scaled = [replace(entry, probability=entry.probability * scale) for entry in entries]
    ranked = tuple(sorted(scaled, key=lambda entry: -entry.probability))
    found: tuple[NextTest, ...] = ()
    alike: tuple[Alike, ...] = ()
    rival: RunnerUp | None = None
    if case.tests and as_designed < SURE:
        survivors = survivors_of(
            scene,
            float(as_designed),
            (single, logs),
            bad_one,
            list(zip(pairs, double.tolist(), strict=True)),
        )
        found, alike = next_tests(inquiry, case, survivors)
        rival = runner_up(case, survivors)
    return Diagnosis(
        sample,
        float(as_designed) * scale,
        float(other) * scale,
        ranked,
        plain,
        found,
        notes,
        alike,
        rival,
        holds_against_priors([as_designed, other, *single, *bad_one, *double]),
    )


def _priors(hypotheses: Sequence[Hypothesis], *, doubles: bool) -> FloatArray:
    """Prior of every cause at every place: a cause's weight, shared with the root of the number of its
    places."""
    places: dict[str, int] = {}
    for hypothesis in hypotheses:
        places[hypothesis.cause.name] = places.get(hypothesis.cause.name, 0) + 1
    weights = np.array([item.cause.weight / math.sqrt(places[item.cause.name]) for item in hypotheses])
    share = 1.0 - PRIOR_AS_DESIGNED - PRIOR_UNLISTED - PRIOR_BAD_READING - (PRIOR_DOUBLE if doubles else 0.0)
    return np.asarray(weights / max(weights.sum(), 1e-300) * share)
