"""A cause that all samples share, against causes of single samples and against honest production.

All samples without those that differ from the rest are pooled into one equivalent reading (``pooling``),
whose covariance is that of what a lot has in common plus that of the mean of what differs. A cause at one
severity in all of them shifts it as it would shift a single part; so the same likelihoods weigh it. Causes
of class ``design`` (the sheet is wrong) get their weight here, as workmanship seldom goes wrong alike in
every part.

A sample differs where its readings, given those of the others, are better explained by a cause of its own:
the others predict it by

    y_i | others ~ N(m, Λ⁻¹ + U + ¼ C),    Λ = (C + W)⁻¹ + J_others

¼ C as it may be of another reel or core lot, W broad, so that what all share, whatever it is, takes no part
in that comparison.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.stats import chi2

from ..predict.design import Design, FloatArray
from ..predict.errors import Fault, ReadingsError
from .causes import CATALOGUE, Cause
from .diagnosis import Diagnosis, RankedCause
from .entries import Scene, bad_entry, double_entry, single_entry, under
from .evaluation import Evaluation, ReadSample, ReadTest, evaluate
from .hypotheses import Hypothesis
from .inquiry import Inquiry, inquire
from .interventions import interventions_apart
from .pairs import pairs_of
from .pooling import Lot, built_covariance, everything_read, lot_of, patterns, pool, pooled_case
from .readingsfile import Reading
from .weighing import (
    Case,
    case_of,
    log_as_designed,
    log_bad_or_exchanged,
    log_nodes,
    log_sum,
    log_unlisted,
)

NOTHING_SHARED, SHARED_UNLISTED, SHARED_BAD, SHARED_DOUBLE = 0.60, 0.04, 0.04, 0.04
"""What is believed of a lot before it is read; single shared causes have the rest (common practice, no
source). A bad reading: the same slip in the rows of all samples."""
OWN, OWN_UNLISTED, OWN_BAD = 0.10, 0.01, 0.01
"""What is believed of one sample of a lot: a fault of its own, unlisted, a slip (common practice, no
source)."""
SHEET_WEIGHT = 3.0
"""Prior weight of causes of class ``design`` among those that a lot may share: as of the commonest."""
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
"""By how much less likely a cause is to be the same in every part of a lot than in one (1: as likely; common
practice, no source): accidents of single parts. A wrong drawing, reel, core lot, jig or set-up hits all."""
BROAD = 0.8
"""Standard deviation, in the logarithm, of whatever all samples may share while they are compared with each
other."""
OTHER_LOT = 0.25
"""Part of the variance common to a lot by which one sample may still differ honestly: of another reel, core
lot or day than the others (judged)."""
SCREEN, SCREEN_LOT = 1e-3, 0.05
"""Chance of an honest sample to be looked at as one that differs; of a whole honest lot to hold such a
one."""
MOST_WEIGHED = 50
"""Samples that differ, each weighed for causes of its own: the worst."""
LISTED = 1e-4


@dataclass(frozen=True)
class OwnCause:
    """A cause that one sample has alone, given the others."""

    cause: str
    kind: str
    where: str
    title: str
    amount: float | None
    probability: float


@dataclass(frozen=True)
class Apart:
    """A sample that differs from the others. probability : that something is wrong with it alone.
    causes : the most probable ones, best first (none where it was not weighed)."""

    sample: str
    probability: float
    causes: tuple[OwnCause, ...]


@dataclass(frozen=True)
class Together:
    """What samples share.

    samples : how many were read; pooled : names of those that were taken together. diagnosis : of these, as
    if they were one part. apart : the others. scatter : names of tests in which parts differ more than
    expected, and by which factor.
    """

    samples: int
    pooled: tuple[str, ...]
    diagnosis: Diagnosis
    apart: tuple[Apart, ...]
    scatter: tuple[tuple[str, float], ...]

    @property
    def shared(self) -> tuple[RankedCause, ...]:
        """The causes that the samples share, where something is more likely shared than not; at least 1 %."""
        if not self.diagnosis.deviates or len(self.pooled) < 2:
            return ()
        return tuple(item for item in self.diagnosis.causes if item.probability >= 0.01)

    @property
    def deviates(self) -> bool:
        """Something is shared, or a sample differs."""
        return bool(self.apart) or self.diagnosis.deviates


def explain_together(
    design: Design,
    readings: Sequence[Reading],
    *,
    doubles: bool = True,
    catalogue: Sequence[Cause] = CATALOGUE,
) -> Together:
    """Weigh the causes that all samples of ``readings`` may share; of a sample read at several stages the
    last one counts.

    Raises ReadingsError for fewer than two samples, BuildError where the layout is outside the models.
    """
    parted, rows, staged = interventions_apart(design, readings)
    evaluation = evaluate(parted, rows)
    inquiry = inquire(parted, evaluation.design.tests, catalogue, staged, ahead=False)
    return weigh_together(evaluation, inquiry, doubles=doubles)


def weigh_together(evaluation: Evaluation, inquiry: Inquiry, *, doubles: bool = True) -> Together:
    """As ``explain_together``, of readings that are evaluated already."""
    last = {sample.sample: sample for sample in evaluation.samples}
    usable = tuple(sample for sample in last.values() if any(_usable(item) for item in sample.read))
    if len(usable) < 2:
        raise ReadingsError(
            Fault(
                "the readings",
                f"{len(usable)} sample with a reading",
                "two samples or more",
                "A cause that samples share needs some to share it. explain judges one by itself.",
            )
        )
    design = evaluation.design
    rows = tuple(sample.read for sample in usable)
    one = everything_read(design.tests, rows)
    case = case_of(design, inquiry.background, one, inquiry.staged, inquiry.response)
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
    scatter = tuple(
        (test.name, float(factor))
        for test, factor, read in zip(case.tests, lot.excess, np.sum(~np.isnan(lot.residual), 0), strict=True)
        if factor > 1.2 + 3 / math.sqrt(read)
    )
    return Together(len(usable), names, diagnosis, odd, scatter)


def _usable(item: ReadTest) -> bool:
    return item.value is not None and item.uncertainty is not None


# --- samples that differ -----------------------------------------------------------------------------


@dataclass(frozen=True)
class _Stranger:
    """A sample seen from the others: row of the lot, columns that it was read in, its distance and that
    distance's chance, its residual against what the others predict, with covariance."""

    row: int
    columns: NDArray[np.int64]
    distance: float
    residual: FloatArray
    covariance: FloatArray


def strangers(lot: Lot, kept: NDArray[np.bool_]) -> list[_Stranger]:
    """The samples ``kept`` that lie further from the others than ``SCREEN`` and ``SCREEN_LOT`` allow, the
    furthest first."""
    rows = np.flatnonzero(kept)
    allowed = min(SCREEN, SCREEN_LOT / len(rows))
    usual = np.median(lot.signs[rows], axis=0)
    seen = seen_by_others(lot, kept, rows)
    chances = np.asarray(chi2.sf([item.distance for item in seen], [len(item.columns) for item in seen]))
    turned = np.any((lot.signs[rows] != usual) & ~np.isnan(lot.residual[rows]), axis=1) & (len(rows) > 2)
    otherwise = set(rows[turned].tolist())
    found = [
        item for item, chance in zip(seen, chances, strict=True) if chance < allowed or item.row in otherwise
    ]
    return sorted(found, key=lambda item: -item.distance)


def seen_by_others(lot: Lot, kept: NDArray[np.bool_], rows: NDArray[np.int64]) -> list[_Stranger]:
    """The samples ``rows`` as those ``kept`` (without the sample itself) predict them."""
    information, moment = pool_of(lot, kept)
    prior = np.linalg.inv(lot.common + BROAD**2 * lot.case.frame.same + 1e-12 * np.eye(len(lot.unit)))
    found = []
    for inside in (True, False):
        some = rows[kept[rows] == inside]
        for parts, columns in patterns(lot.residual[some]):
            square = np.ix_(columns, columns)
            precision = prior + information
            residual = lot.residual[np.ix_(some[parts], columns)]
            others = np.repeat(moment[None], len(parts), axis=0)
            if inside:
                weight = np.linalg.inv(lot.unit[square])
                precision[square] -= weight
                others[:, columns] -= residual @ weight
            spread = np.linalg.inv(precision)
            gap = residual - (others @ spread)[:, columns]
            covariance = spread[square] + lot.unit[square] + OTHER_LOT * lot.common[square]
            covariance = (covariance + covariance.T) / 2
            distance = np.sum(gap * np.linalg.solve(covariance, gap.T).T, axis=1)
            found += [
                _Stranger(int(some[part]), columns, float(distance[place]), gap[place], covariance)
                for place, part in enumerate(parts.tolist())
            ]
    return found


def pool_of(lot: Lot, kept: NDArray[np.bool_]) -> tuple[FloatArray, FloatArray]:
    """((T, T) J, (T,) moment) of the samples ``kept`` in all columns of the lot."""
    size = len(lot.unit)
    information, moment = np.zeros((size, size)), np.zeros(size)
    rows = lot.residual[kept]
    columns = np.flatnonzero(np.any(~np.isnan(rows), axis=0))
    square = np.ix_(columns, columns)
    found = pool(rows[:, columns], lot.unit[square])
    information[square], moment[columns] = found.information, found.moment
    return information, moment


def _split(
    design: Design, inquiry: Inquiry, lot: Lot, samples: Sequence[ReadSample]
) -> tuple[NDArray[np.bool_], tuple[Apart, ...]]:
    """(which samples are alike, the others): the worst is taken out first, until the rest is alike or one is
    left."""
    kept = np.ones(len(samples), bool)
    most = len(samples) - 1
    apart: dict[int, Apart] = {}
    prior = _prior(inquiry.hypotheses, own=True)
    while len(apart) < most:
        found = strangers(lot, kept)
        if np.sum(kept) == 2:
            found = sorted(found, key=lambda item: -_distance_from_design(lot, item.row))
        weighed = []
        for item in found[: MOST_WEIGHED if len(samples) >= 20 else 1]:
            judged = _own(design, inquiry, lot, item, prior, samples[item.row])
            if judged.probability > 0.5:
                weighed.append((item.row, judged))
        rest = found[MOST_WEIGHED:] if len(weighed) == MOST_WEIGHED else []
        weighed += [(item.row, Apart(samples[item.row].sample, 1.0, ())) for item in rest]
        if not weighed:
            break
        for row, judged in weighed[: most - len(apart)]:
            apart[row] = judged
            kept[row] = False
    # Each once more, now that the others do not stand in the way.
    weighed_rows = [row for row, item in apart.items() if item.causes or len(apart) <= MOST_WEIGHED]
    again = np.array(weighed_rows[:MOST_WEIGHED], np.int64)
    for item in seen_by_others(lot, kept, again):
        apart[item.row] = _own(design, inquiry, lot, item, prior, samples[item.row])
    for row in again.tolist():
        if apart[row].probability <= 0.5:
            del apart[row]
            kept[row] = True
    return kept, tuple(apart[row] for row in sorted(apart))


def _distance_from_design(lot: Lot, row: int) -> float:
    columns = np.flatnonzero(~np.isnan(lot.residual[row]))
    residual = lot.residual[row, columns]
    base = (lot.common + lot.unit)[np.ix_(columns, columns)]
    return float(residual @ np.linalg.solve(base, residual))


def _own(
    design: Design,
    inquiry: Inquiry,
    lot: Lot,
    stranger: _Stranger,
    prior: FloatArray,
    sample: ReadSample,
) -> Apart:
    """How likely a cause of its own is for a sample, given the others, and which."""
    columns, frame = stranger.columns, lot.case.frame
    square = np.ix_(columns, columns)
    small = replace(
        frame,
        tests=tuple(frame.tests[number] for number in columns),
        nominal=frame.nominal[columns],
        base=stranger.covariance,
        anchor=np.zeros(len(columns)),
        zeta=frame.zeta[columns],
        phase=frame.phase[columns],
        same=frame.same[square],
        again=(),
    )
    case = Case(
        frame=small,
        places=tuple(lot.places[number] for number in columns),
        y=frame.nominal[columns] + lot.residual[stranger.row, columns],
        residual=stranger.residual,
        signs=lot.signs[stranger.row, columns],
        meter=lot.case.meter[columns],
    )
    # The leg share is the same in all: what it does to this part beyond what it does to the others.
    leaning = inquiry.background.anchor
    hypotheses = [replace(item, anchor=item.anchor - leaning) for item in inquiry.hypotheses]
    logs = log_nodes(case, hypotheses)
    singles = [
        math.log(share) + log_sum(values, item.weights)
        for share, values, item in zip(prior, logs, hypotheses, strict=True)
    ]
    bad = [
        math.log(OWN_BAD / len(columns)) + log_bad_or_exchanged(case, place) for place in range(len(columns))
    ]
    none = math.log(1.0 - OWN - OWN_UNLISTED - OWN_BAD) + log_as_designed(case)
    unlisted = math.log(OWN_UNLISTED) + log_unlisted(case)
    probability = _normalised([none, unlisted, *singles, *bad])
    found = []
    for place in np.argsort(-probability[2:])[:3].tolist():
        share = float(probability[2 + place])
        if share < 0.05:
            break
        if place >= len(singles):
            test = case.tests[place - len(singles)].name
            title = f"the reading of {test} is wrong (unit, decade, typing, rows exchanged)"
            found.append(OwnCause("bad-reading", "reading", test, title, None, share))
            continue
        item = hypotheses[place]
        node = int(np.argmax(logs[place] + np.log(item.weights)))
        title, kind = item.title(design, node), item.cause.kind
        found.append(OwnCause(item.cause.name, kind, item.place, title, item.amount(node), share))
    return Apart(sample.sample, float(1.0 - probability[0]), tuple(found))


# --- what the rest shares ----------------------------------------------------------------------------


def _prior(hypotheses: Sequence[Hypothesis], *, own: bool, doubles: bool = False) -> FloatArray:
    """Prior of every cause at every place: in one sample alone (without the sheet, which is the same for
    all), or in all alike."""
    places: dict[str, int] = {}
    for item in hypotheses:
        places[item.cause.name] = places.get(item.cause.name, 0) + 1

    def weight(cause: Cause) -> float:
        if cause.kind == "design":
            return 1e-6 if own else SHEET_WEIGHT
        return cause.weight if own else cause.weight * ALIKE.get(cause.name, 1.0)

    weights = np.array([weight(item.cause) / math.sqrt(places[item.cause.name]) for item in hypotheses])
    rest = 1.0 - NOTHING_SHARED - SHARED_UNLISTED - SHARED_BAD - (SHARED_DOUBLE if doubles else 0.0)
    return np.asarray(weights / max(float(weights.sum()), 1e-300) * (OWN if own else rest))


def _normalised(logs: Sequence[float]) -> FloatArray:
    totals = np.array(logs)
    probability = np.exp(totals - totals.max())
    return np.asarray(probability / probability.sum())


def _shared(design: Design, inquiry: Inquiry, case: Case, label: str, *, doubles: bool) -> Diagnosis:
    """The causes of the pooled reading, as a diagnosis of one part."""
    hypotheses = inquiry.hypotheses
    read = _as_read(inquiry, case)
    scene = Scene(design, inquiry.background, hypotheses, case, read)
    prior = _prior(hypotheses, own=False, doubles=doubles)
    logs = log_nodes(case, hypotheses)
    singles = [
        math.log(share) + log_sum(values, item.weights)
        for share, values, item in zip(prior, logs, hypotheses, strict=True)
    ]
    count = len(case.tests)
    bad = [math.log(SHARED_BAD / count) + log_bad_or_exchanged(case, place) for place in range(count)]
    pairs = pairs_of(case, hypotheses, prior, SHARED_DOUBLE) if doubles else []
    healthy = math.log(NOTHING_SHARED) + log_as_designed(case)
    unlisted = math.log(SHARED_UNLISTED) + log_unlisted(case)
    probability = _normalised([healthy, unlisted, *singles, *bad, *(pair.total for pair in pairs)])
    (as_designed, other), single, bad_one, double = np.split(
        probability, np.cumsum([2, len(singles), len(bad)])
    )
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
        if share >= LISTED
    ]
    scale = 1.0 / (1.0 - float(double[double < LISTED].sum()))
    entries = [replace(entry, probability=entry.probability * scale) for entry in entries]
    ranked = tuple(sorted(entries, key=lambda entry: -entry.probability))
    plain = under(scene, None)
    return Diagnosis(label, float(as_designed) * scale, float(other) * scale, ranked, plain, (), ())


def _as_read(inquiry: Inquiry, case: Case) -> tuple[ReadTest, ...]:
    """The pooled reading in the units of the tests: the mean of the samples (geometric; of phases plain)."""
    result = []
    for number, place in enumerate(case.places):
        if case.frame.phase[number]:
            value, doubt = math.remainder(float(case.y[number]), 2 * math.pi), float(case.meter[number])
        else:
            sign = float(inquiry.background.signs[place]) * (1.0 - 2.0 * float(case.signs[number]))
            value = sign * math.exp(float(case.y[number]))
            doubt = abs(value) * float(case.meter[number])
        result.append(ReadTest(place, value, doubt, 1))
    return tuple(result)
