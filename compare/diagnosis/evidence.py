"""The probability of each cause given the readings: priors times evidence, normalised.

Besides the causes of the catalogue there are "as designed", "unlisted" and a bad reading of each test;
pairs of causes add their shifts. Hypotheses are exclusive. How well the readings fit each is in
``weighing``, what each would read in ``hypotheses``.
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from ...predict.design import Design
from ..causes import CATALOGUE, Cause
from ..consistency import consistency_checks
from ..hypotheses import Hypothesis, Inquiry, inquire, interventions_apart
from ..meter import wrong_signs
from ..readings import Reading, ReadTest
from ..verdict import evaluate, failed_limits, predicted_scatter, score_of
from .bench_limit import bench_limit
from .conclusion import Alike, Diagnosis, NextTest, RunnerUp
from .entries import Scene, under
from .families import families_of
from .next_test import SURE, best_of, next_tests
from .probabilities import Beliefs, posterior, shares
from .rivals import holds_against_priors, odd_reading, runner_up
from .survivors import survivors_of
from .weighing import case_of, stands_out

WORTH_WHEN_SURE = 0.15
"""Information (bits) from which a further reading is proposed where one cause is all but certain (judged)."""
PRIOR_AS_DESIGNED = 0.15
PRIOR_UNLISTED = 0.03
PRIOR_BAD_READING = 0.03
PRIOR_DOUBLE = 0.02
MOST_APART, FAULTY = 0.9, 0.05
"""Prior probabilities for a part; single causes share the rest (common practice, no source). A part that
somebody wants explained is a suspicious one: it was picked out because it failed, or stood out. At most
``MOST_APART`` of the good parts have other layers than drawn; ``FAULTY`` is the fraction of a production
that has a fault (judged). If parts come from running production, ``sound`` says how many are good."""


def explain(
    design: Design,
    readings: Sequence[Reading],
    *,
    doubles: bool = True,
    catalogue: Sequence[Cause] = CATALOGUE,
    sound: float = PRIOR_AS_DESIGNED,
) -> tuple[Diagnosis, ...]:
    """Rank the causes of every sample's readings, each sample by itself.

    Parameters
    ----------
    design : Design
        The transformer.
    readings : Sequence[Reading]
        Readings of all samples, SI.
    doubles : bool, optional
        Whether pairs of causes are weighed too.
    catalogue : Sequence[Cause], optional
        Causes to be weighed.
    sound : float, optional
        Fraction of such samples that is good, before they are read (between 0 and 1), dimensionless.

    Raises
    ------
    BuildError
        The layout is outside the models.
    ValueError
        ``sound`` is not between 0 and 1.

    Examples
    --------
    >>> from aswound.compare import explain, load_readings
    >>> from aswound.predict import load_design
    >>> design = load_design("samples/flyback-24w.toml")
    >>> taken = load_readings("samples/flyback-24w.csv", design)
    >>> (diagnosis,) = explain(design, [reading for reading in taken if reading.sample == "A3"])
    >>> diagnosis.causes[0].cause, diagnosis.causes[0].probability > 0.5
    ('order', True)
    """
    if not 0.0 < sound < 1.0:
        raise ValueError(f"sound: {sound}, not between 0 and 1")
    parted, rows, staged = interventions_apart(design, readings)
    evaluation = evaluate(parted, rows)
    inquiry = inquire(parted, evaluation.design.tests, catalogue, staged)
    scatter = predicted_scatter(evaluation)
    diagnoses = []
    for sample in evaluation.samples:
        scores = {
            item.test_index: score_of(evaluation, scatter, item)
            for item in sample.read
            if inquiry.staged[item.test_index] is None
        }
        diagnosis = _diagnose(
            evaluation.design,
            inquiry,
            sample.label,
            sample.read,
            believed=functools.partial(beliefs, inquiry.hypotheses, sound=sound, doubles=doubles),
            tests=len(design.tests),
            scores=scores,
        )
        finished = replace(sample, read=tuple(item for item in sample.read if item.test_index in scores))
        diagnoses.append(replace(diagnosis, failed_limits=failed_limits(evaluation, [finished], scatter)))
    return tuple(diagnoses)


def beliefs(
    hypotheses: Sequence[Hypothesis],
    *,
    sound: float = PRIOR_AS_DESIGNED,
    doubles: bool = True,
    stands_out: bool = False,
) -> Beliefs:
    """Prior probabilities for a part: ``sound`` that nothing is wrong, the rest shared as the constants above
    say.

    What normal production does now and then (``Cause.of_sound``) has its share of the good parts. For
    parts that were picked out because their readings are off, it gets its share of production relative to
    ``FAULTY``, as a fault would.

    Parameters
    ----------
    hypotheses : Sequence[Hypothesis]
    sound : float, optional, probability that nothing is wrong, dimensionless
    doubles : bool, optional, whether pairs of causes are weighed too
    stands_out : bool, optional, whether the part was picked out because its readings are off
    """
    parts = [
        sum(variant.weight for variant in item.variants) if item.cause.of_sound else 0.0
        for item in hypotheses
    ]
    share = min(sum(parts), MOST_APART)
    apart = sound * share
    if stands_out:
        apart = max((1.0 - sound) * share / (share + FAULTY), apart)
    plain = sound * (1.0 - share)
    faulty = (1.0 - plain - apart) / (1.0 - PRIOR_AS_DESIGNED)
    double = PRIOR_DOUBLE if doubles else 0.0
    rest = 1.0 - PRIOR_AS_DESIGNED - PRIOR_UNLISTED - PRIOR_BAD_READING - double
    of_sound_parts = np.array(parts) * (apart / max(sum(parts), 1e-300))
    return Beliefs(
        sound=plain,
        unlisted=PRIOR_UNLISTED * faulty,
        bad=PRIOR_BAD_READING * faulty,
        double=double * faulty,
        single=of_sound_parts + shares(hypotheses, lambda c: 0.0 if c.of_sound else c.weight, rest * faulty),
    )


def _diagnose(
    design: Design,
    inquiry: Inquiry,
    sample: str,
    read: Sequence[ReadTest],
    *,
    believed: Callable[..., Beliefs],
    tests: int,
    scores: Mapping[int, float | None],
) -> Diagnosis:
    hypotheses = inquiry.hypotheses
    case = case_of(design, inquiry.background, read, inquiry.staged, inquiry.response)
    scene = Scene(
        design=design,
        background=inquiry.background,
        hypotheses=hypotheses,
        case=case,
        read=read,
        scores=scores,
    )
    plain = under(scene, None)
    missing = [design.tests[item.test_index].name for item in read if item.value is None]
    notes = ("no usable reading of " + ", ".join(missing),) if missing else ()
    if not case.tests:
        notes = (*notes, "nothing was read: these probabilities are the priors alone")
    notes = (
        *notes,
        *wrong_signs(
            [design.tests[item.test_index] for item in read],
            [item.value for item in read],
            [reading.expected for reading in plain],
        ),
    )
    plainly = [item for item in read if inquiry.staged[item.test_index] is None]
    broken = [check for check in consistency_checks(design, plainly) if not check.holds]
    notes = (*notes, *(f"Whatever the design, {check.check}: {check.detail}." for check in broken))
    off = stands_out(case)
    weighed = posterior(scene, believed(stands_out=off))
    proposals: tuple[NextTest, ...] = ()
    alike: tuple[Alike, ...] = ()
    rival: RunnerUp | None = None
    limit = ""
    if case.tests and weighed.as_designed < SURE:
        survivors = survivors_of(
            scene,
            weighed.as_designed,
            (weighed.single, weighed.logs),
            weighed.bad,
            list(zip(weighed.pairs, weighed.double.tolist(), strict=True)),
        )
        proposals, alike = next_tests(inquiry, case, survivors)
        if not off and weighed.as_designed >= max(weighed.single.max(initial=0.0), weighed.unlisted):
            proposals, alike = best_of(proposals), ()
        if weighed.single.max(initial=0.0) >= SURE:
            proposals = tuple(test for test in proposals if test.bits >= WORTH_WHEN_SURE)
        rival = runner_up(case, survivors)
        limit = bench_limit(inquiry, case, survivors)
    everything = [weighed.as_designed, weighed.unlisted, *weighed.single, *weighed.bad, *weighed.double]
    return Diagnosis(
        sample=sample,
        as_designed=weighed.listed_sound,
        unlisted=weighed.listed_unlisted,
        causes=weighed.ranked,
        readings=plain,
        next_tests=proposals,
        notes=notes,
        alike=alike,
        runner_up=rival,
        robust=holds_against_priors(everything),
        families=families_of(weighed.ranked, plain),
        tests=tests,
        bench_limit=limit,
        stands_out=off,
        odd_reading=odd_reading(scene),
    )
