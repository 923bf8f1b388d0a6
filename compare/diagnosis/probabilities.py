"""Prior times evidence, normalised: every hypothesis of one case with its probability, as ranked entries.

The same for a single part (``evidence``) and for what many parts share (``shared_causes``); they differ in
the priors. Hypotheses are exclusive: as designed, unlisted, each cause at each place, a bad reading of
each test, pairs of causes.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ...predict.design import FloatArray
from ..causes import Cause
from ..hypotheses import Hypothesis
from .conclusion import RankedCause
from .entries import Scene, bad_entry, double_entry, single_entry
from .pairs import Pair, weighed_pairs
from .weighing import log_as_designed, log_bad_or_exchanged, log_nodes, log_sum, log_unlisted

AS_WELL = 1.5
"""A cause of the catalogue explains readings as well as a slip up to this ln of the likelihood ratio (judged;
no data behind it)."""
LISTED_DOUBLES = 1e-4
"""Double faults below this probability are not listed one by one; the rest is scaled to sum to one (judged by
what a reader can take in; no verdict depends on it)."""


@dataclass(frozen=True)
class Beliefs:
    """Prior probabilities, sum 1.

    Attributes
    ----------
    sound : float
        Nothing is wrong, dimensionless.
    unlisted : float
        A cause that is not in the catalogue, dimensionless.
    bad : float
        A bad reading of any test, dimensionless.
    double : float
        Two causes at once, dimensionless; 0: pairs are not weighed.
    single : (H,) array
        Prior of each hypothesis, dimensionless.
    """

    sound: float
    unlisted: float
    bad: float
    double: float
    single: FloatArray


@dataclass(frozen=True, kw_only=True)
class Posterior:
    """Probabilities of one case, with H hypotheses, T readings and P pairs; all together sum to one.

    Attributes
    ----------
    as_designed : float, as designed, dimensionless
    unlisted : float, a cause that is not in the catalogue, dimensionless
    single : (H,) array, each hypothesis, dimensionless
    bad : (T,) array, something wrong with each reading, dimensionless
    double : (P,) array, each pair, dimensionless
    pairs : Sequence[Pair]
    logs : Sequence[FloatArray] (S,)
        For each hypothesis ln p of the readings at its severities, dimensionless.
    ranked : tuple[RankedCause, ...], the entries, most probable first
    listed_sound : float
        As designed, with improbable pairs left out, dimensionless; with ``ranked`` and ``listed_unlisted`` it
        sums to one.
    listed_unlisted : float, unlisted, with improbable pairs left out, dimensionless
    """

    as_designed: float
    unlisted: float
    single: FloatArray
    bad: FloatArray
    double: FloatArray
    pairs: Sequence[Pair]
    logs: Sequence[FloatArray]
    ranked: tuple[RankedCause, ...]
    listed_sound: float
    listed_unlisted: float


def shares(hypotheses: Sequence[Hypothesis], weight: Callable[[Cause], float], total: float) -> FloatArray:
    """Prior of every cause at every place: a cause's weight, shared by the root of the number of its places,
    as far as the window has room for it.

    Parameters
    ----------
    hypotheses : Sequence[Hypothesis]
        The hypotheses.
    weight : Callable[[Cause], float]
        Gives the weight of a cause.
    total : float
        Sum of all priors, dimensionless.

    Returns
    -------
    (H,) array
        Priors, dimensionless.
    """
    count: dict[str, int] = {}
    for item in hypotheses:
        count[item.cause.name] = count.get(item.cause.name, 0) + 1
    weights = np.array(
        [weight(item.cause) * item.possible / math.sqrt(count[item.cause.name]) for item in hypotheses]
    )
    return np.asarray(weights / max(float(weights.sum()), 1e-300) * total)


def normalised(logs: Sequence[float]) -> FloatArray:
    """Probabilities of exclusive hypotheses.

    Parameters
    ----------
    logs : Sequence[float]
        ln (prior × evidence) of each, dimensionless.

    Returns
    -------
    (H,) array
        Probabilities, dimensionless.
    """
    totals = np.array(logs)
    probability = np.exp(totals - totals.max())
    return np.asarray(probability / probability.sum())


def not_above(total: float, slip: float, singles: Sequence[float], logs: Sequence[FloatArray]) -> float:
    """ln (prior × evidence) of a slip, limited to that of any cause that explains the readings as well at its
    best severity.

    A slip is what remains if no construction and no bench mistake explains the readings.

    Parameters
    ----------
    total : float, ln (prior × evidence) of the slip, dimensionless
    slip : float, ln p of the readings under the slip, dimensionless
    singles : Sequence[float], ln (prior × evidence) of each hypothesis, dimensionless
    logs : Sequence[FloatArray] (S,), ln p of the readings at the severities of each hypothesis, dimensionless

    Returns
    -------
    float, ln (prior × evidence), dimensionless
    """
    rivals = [prior for prior, values in zip(singles, logs, strict=True) if values.max() >= slip - AS_WELL]
    return min([total, *([max(rivals)] if rivals else [])])


def posterior(scene: Scene, beliefs: Beliefs) -> Posterior:
    """Weigh all hypotheses of a case.

    Parameters
    ----------
    scene : Scene
        Design, hypotheses and readings of one sample.
    beliefs : Beliefs
        Prior probabilities.
    """
    case, hypotheses = scene.case, scene.hypotheses
    logs = log_nodes(case, hypotheses)
    singles = [
        math.log(share) + log_sum(values, item.weights)
        for share, values, item in zip(beliefs.single, logs, hypotheses, strict=True)
    ]
    count = len(case.tests)
    bad_share = math.log(beliefs.bad / max(count, 1))
    slips = [log_bad_or_exchanged(case, index) for index in range(count)]
    bad = [not_above(bad_share + slip, slip, singles, logs) for slip in slips]
    pairs: list[Pair] = []
    if beliefs.double > 0:
        pairs = weighed_pairs(case, hypotheses, beliefs.single, beliefs.double, logs)
    healthy = math.log(beliefs.sound) + log_as_designed(case)
    unlisted = math.log(beliefs.unlisted) + log_unlisted(case)
    probability = normalised([healthy, unlisted, *singles, *bad, *(pair.total for pair in pairs)])
    (as_designed, not_listed), single, bad_one, double = np.split(
        probability, np.cumsum([2, len(singles), len(bad)])
    )
    marginal = single.copy()
    for share, pair in zip(double, pairs, strict=True):
        marginal[pair.first] += share
        marginal[pair.second] += share
    marginal = np.minimum(marginal, 1.0)  # sums of shares end at one, apart from rounding
    entries = [
        single_entry(scene, number, logs[number], single[number], marginal[number])
        for number in range(len(single))
    ]
    entries += [bad_entry(scene, index, float(share)) for index, share in enumerate(bad_one)]
    entries += [
        double_entry(scene, pair, float(share), float(marginal[pair.first]))
        for share, pair in zip(double, pairs, strict=True)
        if share >= LISTED_DOUBLES
    ]
    scale = 1.0 / (1.0 - float(double[double < LISTED_DOUBLES].sum()))
    scaled = [replace(entry, probability=min(entry.probability * scale, 1.0)) for entry in entries]
    return Posterior(
        as_designed=float(as_designed),
        unlisted=float(not_listed),
        single=single,
        bad=bad_one,
        double=double,
        pairs=pairs,
        logs=logs,
        ranked=tuple(sorted(scaled, key=lambda entry: -entry.probability)),
        listed_sound=min(float(as_designed) * scale, 1.0),
        listed_unlisted=min(float(not_listed) * scale, 1.0),
    )
