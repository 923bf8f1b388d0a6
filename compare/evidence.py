"""The probability of each cause given the readings.

The readings (logarithms of magnitudes, phases as they are) are Gaussian around the plain prediction μ0 with

    S0 = Σ g gᵀ + diag(u²),     g = change of the readings for one standard deviation of each production
                                    tolerance, model error and set-up parameter, by the same forward model

so errors shared by several readings stay shared. A cause at one severity moves the readings by δ, found by
running the forward model on the changed design (never by a sensitivity), and is itself uncertain by a part
of its own size:

    S = S0 + diag((ζ δ)²) + η² δ δᵀ,        p(y | cause) = Σ_severities w N(y; μ0 + δ, S)

Beside the causes stand "as designed", "unlisted" (broad), and a bad reading of each test (a slip of unit, a
typing error, exchanged rows). Double faults add their δ. Priors times evidence, normalised, are the
probabilities.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..predict.batch import predict_many
from ..predict.bench import readings as predicted_readings
from ..predict.design import BenchTest, Design, FloatArray
from ..predict.production import parameters
from .causes import CATALOGUE, Cause, Variant
from .diagnosis import Diagnosis, RankedCause, ReadingUnderCause, SecondCause
from .evaluation import Evaluation, ReadTest, evaluate
from .readingsfile import Reading

PRIOR_AS_DESIGNED = 0.45
PRIOR_UNLISTED = 0.04
PRIOR_BAD_READING = 0.04
PRIOR_DOUBLE = 0.06
"""What is believed of a part on the bench before it is read; single causes share the rest (common practice,
no source)."""

SIGNATURE = {"ratio": 0.03, "resistance": 0.05, "default": 0.15}
"""ζ: relative error of a predicted shift by measure: turns and copper act on ratio and resistance almost
exactly."""
SHARED_SIGNATURE = 0.10
"""η: relative error of a whole signature (its severity lies between the nodes, its place is not quite the
assumed one)."""

RESIDUAL = {
    "inductance": 0.003,
    "ac_resistance": 0.03,
    "quality": 0.30,
    "resistance": 0.002,
    "ratio": 0.0003,
    "mutual": 0.003,
    "phase": 0.02,
}
"""Standard deviation of what neither tolerances nor meter explain, reading by reading (relative; phase in
rad). Quality: generic loss data."""

UNLISTED_WIDTHS = (0.25, 0.8)
BAD_WIDTH = 0.6
SLIPS = (math.log(10), -math.log(10), math.log(1e3), -math.log(1e3))
"""A slip of one decade or one unit prefix, in the logarithm."""
SIGN_PENALTY = 12.0
"""Lost log-likelihood for a reading of the wrong sign."""
REFINEMENT = 4
"""Interpolated severities between two that were computed, for continuous causes."""
LISTED_DOUBLES = 1e-4
"""Double faults below this probability are left out (their sum is negligible) and the rest scaled to one."""


@dataclass(frozen=True)
class Hypothesis:
    """One cause at one place: S severities, T readings. shift : (S, T) δ. flips : (S, T) signs that differ
    from the nominal one."""

    cause: Cause
    place: str
    variants: tuple[Variant, ...]
    weights: FloatArray
    shift: FloatArray
    flips: FloatArray
    origin: tuple[int, ...]


@dataclass(frozen=True)
class Background:
    """nominal : (T,) transformed prediction. signs : (T,). covariance : (T, T) of build, model and set-up,
    without the meter."""

    nominal: FloatArray
    signs: FloatArray
    covariance: FloatArray


def transform(tests: Sequence[BenchTest], values: FloatArray) -> FloatArray:
    """(..., T) readings → logarithm of the magnitude, phases unchanged."""
    phase = np.array([test.measure == "phase" for test in tests])
    size = np.maximum(np.abs(values), 1e-18)
    return np.where(phase, values, np.log(size))


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
    background, hypotheses = forward(evaluation, catalogue)
    return tuple(
        _diagnose(evaluation, background, hypotheses, name, read, doubles=doubles)
        for name, read in evaluation.samples
    )


def forward(evaluation: Evaluation, catalogue: Sequence[Cause]) -> tuple[Background, list[Hypothesis]]:
    """Every forward run that the samples share: background sensitivities and the readings of every changed
    design."""
    design = evaluation.design
    tests = design.tests
    chosen = parameters(design)
    places = [(cause, place) for cause in catalogue for place in cause.places(design)]
    variants = [tuple(cause.variants(design, place)) for cause, place in places]
    designs = [design]
    for parameter in chosen:
        designs += [parameter.change(design, 1.0), parameter.change(design, -1.0)]
    designs += [variant.design for group in variants for variant in group]
    raw = predict_many(designs, predicted_readings)
    y = transform(tests, raw)
    phase = np.array([test.measure == "phase" for test in tests])
    wrapped = y - y[0]
    wrapped = np.where(phase, np.angle(np.exp(1j * wrapped)), wrapped)
    pairs = wrapped[1 : 1 + 2 * len(chosen)].reshape(len(chosen), 2, len(tests))
    sensitivity = (pairs[:, 0] - pairs[:, 1]) / 2
    background = Background(y[0], np.where(phase, 1.0, np.sign(raw[0])), sensitivity.T @ sensitivity)
    hypotheses = []
    row = 1 + 2 * len(chosen)
    for (cause, place), group in zip(places, variants, strict=True):
        if not group:
            continue
        shift = wrapped[row : row + len(group)]
        flips = np.where(phase, 0.0, np.sign(raw[row : row + len(group)]) != background.signs).astype(float)
        row += len(group)
        weights = np.array([variant.weight for variant in group])
        hypotheses.append(_hypothesis(cause, place, group, weights / weights.sum(), shift, flips))
    return background, hypotheses


def _hypothesis(
    cause: Cause,
    place: str,
    group: tuple[Variant, ...],
    weights: FloatArray,
    shift: FloatArray,
    flips: FloatArray,
) -> Hypothesis:
    """Fill in severities between those computed where the cause is continuous."""
    if not cause.continuous or len(group) < 2:
        return Hypothesis(cause, place, group, weights, shift, flips, tuple(range(len(group))))
    fine = np.linspace(0, len(group) - 1, (len(group) - 1) * REFINEMENT + 1)
    nodes = np.arange(len(group))
    columns = [np.interp(fine, nodes, shift[:, column]) for column in range(shift.shape[1])]
    nearest = np.rint(fine).astype(int)
    return Hypothesis(
        cause,
        place,
        group,
        np.full(len(fine), 1 / len(fine)),
        np.stack(columns, axis=-1),
        flips[nearest],
        tuple(nearest.tolist()),
    )


def _log_normal(residual: FloatArray, covariance: FloatArray) -> FloatArray:
    """(...,) ln N(residual; 0, covariance), residual (..., T), covariance (..., T, T)."""
    factor = np.linalg.cholesky(covariance)
    white = np.linalg.solve(factor, residual[..., None])[..., 0]
    determinant = np.sum(np.log(np.diagonal(factor, axis1=-2, axis2=-1)), axis=-1)
    return np.asarray(
        -0.5 * np.sum(white**2, axis=-1) - determinant - 0.5 * residual.shape[-1] * math.log(2 * math.pi)
    )


def _log_sum(values: FloatArray, weights: FloatArray) -> float:
    top = float(np.max(values))
    return top + math.log(float(np.sum(weights * np.exp(values - top))))


@dataclass(frozen=True)
class _Case:
    """One sample's readings in the transformed space, T present tests."""

    tests: tuple[BenchTest, ...]
    places: tuple[int, ...]
    y: FloatArray
    residual: FloatArray
    base: FloatArray
    signs: FloatArray
    zeta: FloatArray


def _case(evaluation: Evaluation, background: Background, read: Sequence[ReadTest]) -> _Case:
    present = [item for item in read if item.value is not None and item.uncertainty is not None]
    places = tuple(item.place for item in present)
    tests = tuple(evaluation.design.tests[place] for place in places)
    values = np.array([item.value for item in present], float)
    uncertainty = np.array([item.uncertainty for item in present], float)
    phase = np.array([test.measure == "phase" for test in tests], bool)
    y = transform(tests, values)
    relative = np.where(phase, uncertainty, uncertainty / np.maximum(np.abs(values), 1e-18))
    extra = np.array([RESIDUAL[test.measure] for test in tests])
    index = np.array(places, int)
    residual = y - background.nominal[index]
    residual = np.where(phase, np.angle(np.exp(1j * residual)), residual)
    base = background.covariance[np.ix_(index, index)] + np.diag(relative**2 + extra**2)
    signs = np.where(
        phase, 0.0, np.where(values == 0, 1.0, np.sign(values)) != background.signs[index]
    ).astype(float)
    zeta = np.array([SIGNATURE.get(test.measure, SIGNATURE["default"]) for test in tests])
    return _Case(tests, places, y, residual, base, signs, zeta)


def _shifted(case: _Case, shift: FloatArray, flips: FloatArray) -> FloatArray:
    """(...,) ln p of the readings under shifts (..., T) of the prediction."""
    spread = case.base + SHARED_SIGNATURE**2 * shift[..., :, None] * shift[..., None, :]
    spread = spread + (case.zeta * shift)[..., :, None] ** 2 * np.eye(len(case.tests))
    wrong = np.sum(np.abs(flips - case.signs), axis=-1)
    return np.asarray(_log_normal(case.residual - shift, spread) - SIGN_PENALTY * wrong)


def _bad_reading(case: _Case, place: int) -> float:
    """ln p if the reading of one test is worthless: broad, or off by a slip of unit or decade."""
    slips = [0.0, *SLIPS]
    weights = np.array([0.6, 0.1, 0.1, 0.1, 0.1])
    scores = []
    for slip in slips:
        residual = case.residual.copy()
        covariance = case.base.copy()
        if slip == 0.0:
            covariance[place, place] += BAD_WIDTH**2
        else:
            residual[place] -= slip
        scores.append(float(_log_normal(residual, covariance)))
    others = float(np.sum(np.delete(case.signs, place)))
    return _log_sum(np.array(scores), weights) - SIGN_PENALTY * others


def _exchanged(case: _Case, place: int, other: int) -> float:
    """ln p if two readings of like measure stand in each other's row."""
    residual = case.residual.copy()
    step = case.y[other] - case.y[place]
    residual[place] += step
    residual[other] -= step
    return float(_log_normal(residual, case.base)) - SIGN_PENALTY * float(np.sum(case.signs))


@dataclass(frozen=True)
class _Weighed:
    """A hypothesis after the readings: ``logs`` (S,) ln p at each severity; ``total`` ln evidence with
    prior."""

    hypothesis: Hypothesis
    logs: FloatArray
    total: float


def _diagnose(
    evaluation: Evaluation,
    background: Background,
    hypotheses: Sequence[Hypothesis],
    sample: str,
    read: Sequence[ReadTest],
    *,
    doubles: bool,
) -> Diagnosis:
    case = _case(evaluation, background, read)
    plain = _under(evaluation, background, case, read, None)
    notes = []
    missing = [evaluation.design.tests[item.place].name for item in read if item.value is None]
    if missing:
        notes.append("no usable reading of " + ", ".join(missing))
    if not case.tests:
        return Diagnosis(
            sample, PRIOR_AS_DESIGNED, PRIOR_UNLISTED, (), plain, (), ("nothing was read", *notes)
        )
    index = list(case.places)
    single_prior = (
        1.0 - PRIOR_AS_DESIGNED - PRIOR_UNLISTED - PRIOR_BAD_READING - (PRIOR_DOUBLE if doubles else 0.0)
    )
    prior = _priors(hypotheses) * single_prior
    weighed = []
    for hypothesis, share in zip(hypotheses, prior, strict=True):
        logs = _shifted(case, hypothesis.shift[:, index], hypothesis.flips[:, index])
        weighed.append(_Weighed(hypothesis, logs, math.log(share) + _log_sum(logs, hypothesis.weights)))
    healthy = (
        math.log(PRIOR_AS_DESIGNED)
        + float(_log_normal(case.residual, case.base))
        - SIGN_PENALTY * float(case.signs.sum())
    )
    broad = [
        float(_log_normal(case.residual, case.base + width**2 * np.eye(len(index))))
        for width in UNLISTED_WIDTHS
    ]
    unlisted = math.log(PRIOR_UNLISTED) + _log_sum(np.array(broad), np.full(len(broad), 1 / len(broad)))
    unlisted -= 0.5 * SIGN_PENALTY * float(case.signs.sum())
    bad = _bad_totals(case)
    pairs = _pair_totals(case, weighed, prior, index) if doubles else []
    everything = np.array(
        [healthy, unlisted, *(item.total for item in weighed), *bad, *(total for total, *_ in pairs)]
    )
    probability = np.exp(everything - everything.max())
    probability /= probability.sum()
    singles = probability[2 : 2 + len(weighed)]
    bad_share = probability[2 + len(weighed) : 2 + len(weighed) + len(bad)]
    double = probability[2 + len(weighed) + len(bad) :]
    marginal = singles.copy()
    for share, (_, first, _, second, _) in zip(double, pairs, strict=True):
        marginal[first] += share
        marginal[second] += share
    entries = [
        _single_entry(evaluation, background, case, read, item, float(share), float(whole))
        for item, share, whole in zip(weighed, singles, marginal, strict=True)
    ]
    entries += [
        _bad_entry(evaluation, background, case, read, place, float(share))
        for place, share in enumerate(bad_share)
    ]
    for share, (_, first, node_one, second, node_two) in zip(double, pairs, strict=True):
        if share >= LISTED_DOUBLES:
            nodes = (node_one, node_two)
            entries.append(
                _double_entry(
                    evaluation,
                    background,
                    case,
                    read,
                    (weighed[first], weighed[second]),
                    nodes,
                    float(share),
                    float(marginal[first]),
                )
            )
    left_out = float(double[double < LISTED_DOUBLES].sum())
    scale = 1.0 / (1.0 - left_out)
    ranked = sorted(
        (replace(entry, probability=entry.probability * scale) for entry in entries),
        key=lambda entry: -entry.probability,
    )
    return Diagnosis(
        sample,
        float(probability[0]) * scale,
        float(probability[1]) * scale,
        tuple(ranked),
        plain,
        (),
        tuple(notes),
    )


def _priors(hypotheses: Sequence[Hypothesis]) -> FloatArray:
    """Prior of every cause at every place: a cause's weight, shared with the root of the number of its
    places."""
    places: dict[str, int] = {}
    for hypothesis in hypotheses:
        places[hypothesis.cause.name] = places.get(hypothesis.cause.name, 0) + 1
    weights = np.array([item.cause.weight / math.sqrt(places[item.cause.name]) for item in hypotheses])
    return np.asarray(weights / weights.sum()) if len(weights) else weights


def _bad_totals(case: _Case) -> list[float]:
    share = PRIOR_BAD_READING / len(case.tests)
    totals = []
    for place, test in enumerate(case.tests):
        likely = [_bad_reading(case, place)]
        likely += [
            _exchanged(case, place, other)
            for other, twin in enumerate(case.tests)
            if other != place and twin.measure == test.measure
        ]
        weights = np.array([0.8] + [0.2 / max(len(likely) - 1, 1)] * (len(likely) - 1))
        totals.append(math.log(share) + _log_sum(np.array(likely), weights))
    return totals


def _pair_totals(
    case: _Case, weighed: Sequence[_Weighed], prior: FloatArray, index: list[int]
) -> list[tuple[float, int, int, int, int]]:
    """(ln evidence with prior, first, its severity, second, its severity) of every pair of causes.

    Each cause enters with at most three severities; their shifts add.
    """
    nodes, owners, shares = [], [], []
    for place, item in enumerate(weighed):
        count = len(item.hypothesis.weights)
        for node in sorted({0, count // 2, count - 1} if count > 3 else set(range(count))):
            nodes.append(node)
            owners.append(place)
            shares.append(prior[place] / min(count, 3))
    owner = np.array(owners)
    one, two = np.triu_indices(len(nodes), 1)
    apart = owner[one] != owner[two]
    names = np.array([item.hypothesis.cause.name for item in weighed])
    apart &= names[owner[one]] != names[owner[two]]
    one, two = one[apart], two[apart]
    if not len(one):
        return []
    shift = np.stack([weighed[o].hypothesis.shift[n, index] for o, n in zip(owners, nodes, strict=True)])
    flips = np.stack([weighed[o].hypothesis.flips[n, index] for o, n in zip(owners, nodes, strict=True)])
    weight = np.array(shares)[one] * np.array(shares)[two]
    logs = _shifted(case, shift[one] + shift[two], np.abs(flips[one] - flips[two]))
    logs = logs + np.log(weight / weight.sum() * PRIOR_DOUBLE)
    groups: dict[tuple[int, int], list[int]] = {}
    for row, key in enumerate(zip(owner[one].tolist(), owner[two].tolist(), strict=True)):
        groups.setdefault(key, []).append(row)
    result = []
    for (first, second), rows in groups.items():
        values = logs[rows]
        best = rows[int(np.argmax(values))]
        result.append(
            (_log_sum(values, np.ones(len(rows))), first, nodes[one[best]], second, nodes[two[best]])
        )
    return result


def _under(
    evaluation: Evaluation,
    background: Background,
    case: _Case,
    read: Sequence[ReadTest],
    shift: FloatArray | None,
) -> tuple[ReadingUnderCause, ...]:
    """Every reading beside its expectation under a shift (T_all,) of the transformed prediction."""
    result = []
    for item in read:
        test = evaluation.design.tests[item.place]
        moved = float(shift[item.place]) if shift is not None else 0.0
        expected = float(background.nominal[item.place]) + moved
        value = (
            expected if test.measure == "phase" else math.exp(expected) * float(background.signs[item.place])
        )
        score = None
        if item.place in case.places:
            place = case.places.index(item.place)
            sd = math.sqrt(case.base[place, place] + (case.zeta[place] ** 2 + SHARED_SIGNATURE**2) * moved**2)
            score = float(case.residual[place] - moved) / sd
        result.append(ReadingUnderCause(test.name, test.measure, value, item.value, score))
    return tuple(result)


def _amounts(item: _Weighed) -> tuple[int, float | None, float | None, float | None]:
    """Most probable severity (index), its amount, and the 5 % and 95 % points of the amount."""
    hypothesis = item.hypothesis
    posterior = hypothesis.weights * np.exp(item.logs - item.logs.max())
    posterior /= posterior.sum()
    best = int(np.argmax(posterior))
    amounts = [variant.amount for variant in hypothesis.variants]
    if amounts[0] is None:
        return best, None, None, None
    known = np.array([amount for amount in amounts if amount is not None])
    if hypothesis.cause.continuous and len(known) > 1:
        fine = np.interp(np.linspace(0, len(known) - 1, len(posterior)), np.arange(len(known)), known)
    else:
        fine = known
    running = np.cumsum(posterior)
    low, high = (float(fine[int(np.searchsorted(running, point))]) for point in (0.05, 0.95 - 1e-12))
    return best, float(fine[best]), low, high


def _single_entry(
    evaluation: Evaluation,
    background: Background,
    case: _Case,
    read: Sequence[ReadTest],
    item: _Weighed,
    probability: float,
    marginal: float,
) -> RankedCause:
    best, amount, low, high = _amounts(item)
    cause, place = item.hypothesis.cause, item.hypothesis.place
    variant = item.hypothesis.variants[item.hypothesis.origin[best]]
    return RankedCause(
        cause=cause.name,
        kind=cause.kind,
        where=place,
        title=variant.title,
        amount=amount,
        low=low,
        high=high,
        probability=probability,
        marginal=marginal,
        also=None,
        confirm=cause.confirm.format(where=place),
        remedy=cause.remedy.format(where=place),
        confusable=cause.confusable,
        caution=cause.caution if amount is None or amount < 0 else "",
        readings=_under(evaluation, background, case, read, item.hypothesis.shift[best]),
    )


def _double_entry(
    evaluation: Evaluation,
    background: Background,
    case: _Case,
    read: Sequence[ReadTest],
    pair: tuple[_Weighed, _Weighed],
    nodes: tuple[int, int],
    probability: float,
    marginal: float,
) -> RankedCause:
    first, second = (item.hypothesis for item in pair)
    variants = [item.variants[item.origin[node]] for item, node in zip((first, second), nodes, strict=True)]
    return RankedCause(
        cause=first.cause.name,
        kind=first.cause.kind,
        where=first.place,
        title=f"{variants[0].title}, and {variants[1].title}",
        amount=variants[0].amount,
        low=None,
        high=None,
        probability=probability,
        marginal=marginal,
        also=SecondCause(second.cause.name, second.place, variants[1].amount, variants[1].title),
        confirm=" ".join(item.cause.confirm.format(where=item.place) for item in (first, second)),
        remedy=" ".join(item.cause.remedy.format(where=item.place) for item in (first, second)),
        confusable=(),
        caution=first.cause.caution or second.cause.caution,
        readings=_under(evaluation, background, case, read, first.shift[nodes[0]] + second.shift[nodes[1]]),
    )


def _bad_entry(
    evaluation: Evaluation,
    background: Background,
    case: _Case,
    read: Sequence[ReadTest],
    place: int,
    probability: float,
) -> RankedCause:
    test = case.tests[place]
    twins = [
        other
        for other, twin in enumerate(case.tests)
        if other != place
        and twin.measure == test.measure
        and _exchanged(case, place, other) > _bad_reading(case, place)
    ]
    title = f"the reading of {test.name} is wrong (unit, decade, typing)"
    if twins:
        title = f"the readings of {test.name} and {case.tests[twins[0]].name} are exchanged"
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
        confirm=f"Read {test.name} again, with the display photographed.",
        remedy="No change of the part. Correct the row and run this again.",
        confusable=(),
        caution="",
        readings=_under(evaluation, background, case, read, None),
    )
