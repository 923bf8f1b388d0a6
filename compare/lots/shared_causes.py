"""A cause that all samples share, weighed against causes in single samples and against normal production.

All samples except those that differ from the rest are pooled into one equivalent reading (``pooling``).
Its covariance is that of what a lot has in common plus that of the mean of what differs. A cause at one
severity in all of them shifts it just as it would shift a single part, so the same likelihoods weigh it.
Causes of class ``design`` (the sheet is wrong) get their weight here, because workmanship seldom goes
wrong the same way in every part.

A sample differs if its readings, given those of the others, are better explained by a cause of its own
(``strangers``).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ...predict.design import Design, FloatArray
from ...predict.errors import Fault, ReadingsError
from ..causes import CATALOGUE, Cause
from ..diagnosis import (
    Beliefs,
    Case,
    Diagnosis,
    RankedCause,
    Scene,
    case_of,
    families_of,
    log_as_designed,
    log_bad_or_exchanged,
    log_nodes,
    log_sum,
    log_unlisted,
    normalised,
    posterior,
    shares,
    under,
)
from ..hypotheses import Inquiry, inquire, interventions_apart
from ..readings import Reading, ReadTest
from ..verdict import Evaluation, ReadSample, evaluate, failed_limits
from .pooling import PooledLot, built_covariance, everything_read, lot_of, pooled_case
from .strangers import Stranger, seen_by_others, strangers

NOTHING_SHARED, SHARED_UNLISTED, SHARED_BAD, SHARED_DOUBLE = 0.60, 0.04, 0.04, 0.04
"""Prior probabilities for a lot; single shared causes have the rest (common practice, no source). A bad
reading here is the same slip in the rows of all samples."""
OWN, OWN_UNLISTED, OWN_BAD = 0.10, 0.01, 0.01
"""Prior probabilities for one sample of a lot: a fault of its own, an unlisted fault, a slip (common
practice, no source)."""
SHEET_WEIGHT = 3.0
"""Prior weight of causes of class ``design`` among those that a lot may share: the same as the commonest
cause (judged; no data behind it)."""
ALIKE = {
    "shorted-turn": 0.1,
    "cracked": 0.1,
    "joint": 0.2,
    "unseated": 0.3,
    "bias": 0.3,
    "lead-out": 0.5,
    "offset": 0.5,
    "stress": 0.5,
    "metal-near": 0.5,
}
"""How much less likely a cause is to be the same in every part of a lot than to occur in one (1: equally
likely; common practice, no source). Accidents hit single parts; a wrong drawing, reel, core lot, jig or
set-up hits them all."""
MOST_WEIGHED = 50
"""At most this many differing samples, the worst, are each weighed for causes of their own (bounds work, not
results)."""


@dataclass(frozen=True, kw_only=True)
class OwnCause:
    """A cause that one sample has alone, given the others.

    Attributes
    ----------
    cause : str, key of the cause
    kind : str, class of the cause; "reading" for a bad reading
    where : str, winding, gap or test that it concerns
    title : str, the cause in words
    amount : float or None, severity in the cause's own unit (SI, count or dimensionless); None if it has none
    probability : float, probability, dimensionless
    """

    cause: str
    kind: str
    where: str
    title: str
    amount: float | None
    probability: float


@dataclass(frozen=True)
class StrangeSample:
    """A sample that differs from the others.

    Attributes
    ----------
    sample : str
        Name of the sample.
    probability : float
        Probability that something is wrong with this sample alone, dimensionless.
    causes : tuple[OwnCause, ...]
        The most probable causes, best first; empty if it was not weighed.
    """

    sample: str
    probability: float
    causes: tuple[OwnCause, ...]


@dataclass(frozen=True)
class Together:
    """What samples share.

    Attributes
    ----------
    samples : int
        Samples read, count.
    pooled : tuple[str, ...]
        Names of the samples that were pooled.
    diagnosis : Diagnosis
        Diagnosis of the pooled samples as if they were one part.
    apart : tuple[StrangeSample, ...]
        The samples that differ.
    scatter : tuple[tuple[str, float], ...]
        (test, factor) of each test in which parts differ more than expected, and by what factor,
        dimensionless.
    """

    samples: int
    pooled: tuple[str, ...]
    diagnosis: Diagnosis
    apart: tuple[StrangeSample, ...]
    scatter: tuple[tuple[str, float], ...]

    @property
    def shared(self) -> tuple[RankedCause, ...]:
        """Causes of at least 1 % that the samples share, if it is more likely than not that they share
        one."""
        if not self.diagnosis.deviates or len(self.pooled) < 2:
            return ()
        return tuple(item for item in self.diagnosis.causes if item.probability >= 0.01)

    @property
    def deviates(self) -> bool:
        """Whether the samples share a cause, or one of them differs."""
        return bool(self.apart) or self.diagnosis.deviates


def explain_together(
    design: Design,
    readings: Sequence[Reading],
    *,
    doubles: bool = True,
    catalogue: Sequence[Cause] = CATALOGUE,
    ahead: bool = False,
) -> Together:
    """Weigh the causes that all samples may share.

    If a sample was read at several stages, the last one counts.

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
    ahead : bool, optional
        Whether the forward runs include what may be read next, as those of ``explain`` do; the same runs then
        serve both. Nothing of it is in the result.

    Raises
    ------
    ReadingsError
        Fewer than two samples.
    BuildError
        The layout is outside the models.

    Examples
    --------
    >>> from aswound.compare import explain_together, parse_readings
    >>> from aswound.predict import load_design
    >>> design = load_design("samples/flyback-24w.toml")
    >>> rows = "".join(f"{part},L_P,400 uH\\n{part},R_P,562 mohm\\n" for part in "ABC")
    >>> together = explain_together(design, parse_readings(f"sample,test,reading\\n{rows}", design))
    >>> together.diagnosis.causes[0].kind
    'design'
    """
    parted, rows, staged = interventions_apart(design, readings)
    evaluation = evaluate(parted, rows)
    inquiry = inquire(parted, evaluation.design.tests, catalogue, staged, ahead=ahead)
    return weigh_together(evaluation, inquiry, doubles=doubles)


def weigh_together(evaluation: Evaluation, inquiry: Inquiry, *, doubles: bool = True) -> Together:
    """As ``explain_together``, for readings that have been evaluated already.

    Parameters
    ----------
    evaluation : Evaluation, readings set against the prediction
    inquiry : Inquiry, hypotheses and what each of them predicts
    doubles : bool, optional, whether pairs of causes are weighed too

    Raises
    ------
    ReadingsError
        Fewer than two samples with a usable reading.
    """
    last = {sample.sample: sample for sample in evaluation.samples}
    usable = tuple(sample for sample in last.values() if any(_usable(item) for item in sample.read))
    if len(usable) < 2:
        raise ReadingsError(
            Fault(
                "the readings",
                f"{len(usable)} sample with a reading",
                "two samples or more",
                "A shared cause needs at least two samples. Use explain for a single one.",
            )
        )
    design = evaluation.design
    rows = tuple(sample.read for sample in usable)
    all_read = everything_read(design.tests, rows)
    case = case_of(design, inquiry.background, all_read, inquiry.staged, inquiry.response)
    plain = replace(design, tests=inquiry.tests[: inquiry.read])
    lot = lot_of(inquiry.background, case, rows, built_covariance(plain))
    kept, odd = _split(design, inquiry, lot, usable)
    names = tuple(sample.sample for sample, here in zip(usable, kept, strict=True) if here)
    label = f"{len(names)} of {len(usable)} samples"
    if len(names) == len(usable):
        label = f"all {len(usable)} samples"
    elif len(names) == 1:
        label = names[0]
    pooled, _ = pooled_case(lot, kept)
    diagnosis = _shared(design, inquiry, pooled, label, doubles=doubles)
    finished = [
        replace(sample, read=tuple(item for item in sample.read if inquiry.staged[item.test_index] is None))
        for sample, here in zip(usable, kept, strict=True)
        if here
    ]
    diagnosis = replace(diagnosis, failed_limits=failed_limits(evaluation, finished))
    scatter = tuple(
        (test.name, float(factor))
        for test, factor, read in zip(case.tests, lot.excess, np.sum(~np.isnan(lot.residual), 0), strict=True)
        if factor > 1.2 + 3 / math.sqrt(read)
    )
    return Together(len(usable), names, diagnosis, odd, scatter)


def _usable(item: ReadTest) -> bool:
    return item.value is not None and item.uncertainty is not None


# --- samples that differ -----------------------------------------------------------------------------


def _split(
    design: Design, inquiry: Inquiry, lot: PooledLot, samples: Sequence[ReadSample]
) -> tuple[NDArray[np.bool_], tuple[StrangeSample, ...]]:
    """Which samples are alike, and the others.

    The worst is taken out first, until the rest are alike or only one is left.
    """
    kept = np.ones(len(samples), bool)
    most = len(samples) - 1
    apart: dict[int, StrangeSample] = {}
    prior = shares(inquiry.hypotheses, _own_weight, OWN)
    while len(apart) < most:
        farthest = strangers(lot, kept)
        if np.sum(kept) == 2:
            farthest = sorted(farthest, key=lambda item: -_distance_from_design(lot, item.row))
        weighed = []
        for item in farthest[: MOST_WEIGHED if len(samples) >= 20 else 1]:
            judged = _own(design, inquiry, lot, item, prior, samples[item.row])
            if judged.probability > 0.5:
                weighed.append((item.row, judged))
        rest = farthest[MOST_WEIGHED:] if len(weighed) == MOST_WEIGHED else []
        weighed += [(item.row, StrangeSample(samples[item.row].sample, 1.0, ())) for item in rest]
        if not weighed:
            break
        for row, judged in weighed[: most - len(apart)]:
            apart[row] = judged
            kept[row] = False
    # Each once more, now that the others no longer mask it.
    weighed_rows = [row for row, item in apart.items() if item.causes or len(apart) <= MOST_WEIGHED]
    again = np.array(weighed_rows[:MOST_WEIGHED], np.int64)
    for item in seen_by_others(lot, kept, again):
        apart[item.row] = _own(design, inquiry, lot, item, prior, samples[item.row])
    for row in again.tolist():
        if apart[row].probability <= 0.5:
            del apart[row]
            kept[row] = True
    return kept, tuple(apart[row] for row in sorted(apart))


def _distance_from_design(lot: PooledLot, row: int) -> float:
    columns = np.flatnonzero(~np.isnan(lot.residual[row]))
    residual = lot.residual[row, columns]
    base = (lot.common + lot.unit)[np.ix_(columns, columns)]
    return float(residual @ np.linalg.solve(base, residual))


def _own(
    design: Design,
    inquiry: Inquiry,
    lot: PooledLot,
    stranger: Stranger,
    prior: FloatArray,
    sample: ReadSample,
) -> StrangeSample:
    """How likely a sample is to have a cause of its own, given the others, and which cause."""
    columns = stranger.columns
    frame = lot.case.frame.of(columns, stranger.covariance)
    small = replace(frame, anchor=np.zeros(len(columns)), again=())
    case = Case(
        frame=small,
        test_indices=tuple(lot.test_indices[number] for number in columns),
        y=frame.nominal + lot.residual[stranger.row, columns],
        residual=stranger.residual,
        signs=lot.signs[stranger.row, columns],
        meter=lot.case.meter[columns],
    )
    # The leg share is the same in all parts: only its effect on this one beyond that on the others counts.
    leaning = inquiry.background.anchor
    hypotheses = [replace(item, anchor=item.anchor - leaning) for item in inquiry.hypotheses]
    logs = log_nodes(case, hypotheses)
    singles = [
        math.log(share) + log_sum(values, item.weights)
        for share, values, item in zip(prior, logs, hypotheses, strict=True)
    ]
    bad = [
        math.log(OWN_BAD / len(columns)) + log_bad_or_exchanged(case, index) for index in range(len(columns))
    ]
    none = math.log(1.0 - OWN - OWN_UNLISTED - OWN_BAD) + log_as_designed(case)
    unlisted = math.log(OWN_UNLISTED) + log_unlisted(case)
    probability = normalised([none, unlisted, *singles, *bad])
    causes = []
    for index in np.argsort(-probability[2:])[:3].tolist():
        share = float(probability[2 + index])
        if share < 0.05:
            break
        if index >= len(singles):
            cause, kind, where = "bad-reading", "reading", case.tests[index - len(singles)].name
            title, amount = f"the reading of {where} is wrong (unit, decade, typing, rows exchanged)", None
        else:
            item = hypotheses[index]
            node = item.told(item.weights * np.exp(logs[index] - logs[index].max()))
            cause, kind, where = item.cause.name, item.cause.kind, item.location
            title, amount = item.title(design, node), item.amount(node)
        causes.append(
            OwnCause(cause=cause, kind=kind, where=where, title=title, amount=amount, probability=share)
        )
    return StrangeSample(sample.sample, float(1.0 - probability[0]), tuple(causes))


# --- what the rest shares ----------------------------------------------------------------------------


def _own_weight(cause: Cause) -> float:
    """Prior weight in one sample alone: the sheet is the same for all."""
    return 1e-6 if cause.kind == "design" else cause.weight


def _shared_weight(cause: Cause) -> float:
    """Prior weight in all samples alike."""
    return SHEET_WEIGHT if cause.kind == "design" else cause.weight * ALIKE.get(cause.name, 1.0)


def _shared(design: Design, inquiry: Inquiry, case: Case, label: str, *, doubles: bool) -> Diagnosis:
    """Causes of the pooled reading, as a diagnosis of one part."""
    scene = Scene(
        design=design,
        background=inquiry.background,
        hypotheses=inquiry.hypotheses,
        case=case,
        read=_as_read(inquiry, case),
    )
    double = SHARED_DOUBLE if doubles else 0.0
    rest = 1.0 - NOTHING_SHARED - SHARED_UNLISTED - SHARED_BAD - double
    single = shares(inquiry.hypotheses, _shared_weight, rest)
    weighed = posterior(scene, Beliefs(NOTHING_SHARED, SHARED_UNLISTED, SHARED_BAD, double, single))
    plain = under(scene, None)
    return Diagnosis(
        sample=label,
        as_designed=weighed.listed_sound,
        unlisted=weighed.listed_unlisted,
        causes=weighed.ranked,
        readings=plain,
        next_tests=(),
        notes=(),
        families=families_of(weighed.ranked, plain),
    )


def _as_read(inquiry: Inquiry, case: Case) -> tuple[ReadTest, ...]:
    """The pooled reading in the units of the tests: the mean of the samples (geometric; arithmetic for
    phases)."""
    result = []
    for number, test_index in enumerate(case.test_indices):
        if case.frame.phase[number]:
            value, doubt = math.remainder(float(case.y[number]), 2 * math.pi), float(case.meter[number])
        else:
            sign = float(inquiry.background.signs[test_index]) * (1.0 - 2.0 * float(case.signs[number]))
            value = sign * math.exp(float(case.y[number]))
            doubt = abs(value) * float(case.meter[number])
        result.append(ReadTest(test_index=test_index, value=value, uncertainty=doubt, repeats=1))
    return tuple(result)
