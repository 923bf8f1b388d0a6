"""The leading hypothesis against the next one: what each reading says for either, and whether priors decide;
and the reading that the others contradict.

    Λ_i = ½ (e_Bi² − e_Ai²) + ½ (ln S_B − ln S_A)_ii + signs,      e = S^(−1/2) (y − μ − δ)

Σ Λ_i = ln p(y | A) − ln p(y | B) for hypotheses A and B at their most probable severities. With the
symmetric root each reading keeps its own share of what correlated readings say together.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from ...predict.design import FloatArray
from ..hypotheses import wrapped
from ..verdict import DEVIATES
from .conclusion import OddReading, RunnerUp
from .covariances import covariance_under
from .entries import Scene
from .prospects import FREE
from .survivors import Survivor, weight_by_label
from .weighing import SIGN_PENALTY, Case

LEAST_PAIR = 0.05
"""A pair of causes is a rival from this probability on, if there is another rival (judged by what a reader
can take in; no verdict depends on it)."""
DOUBT = 3.0
"""Factor by which the prior of any one hypothesis may be wrong (judged; its effect is in the figures of
tests/benchmarks)."""
TOLD_BY_OTHERS = 0.5
"""The others say what a reading should be if they leave at most this fraction of its standard deviation
(judged: they then hold three quarters of its variance)."""


def runner_up(case: Case, survivors: Sequence[Survivor]) -> RunnerUp | None:
    """The second hypothesis, with what every reading says for the first one against it.

    A pair of causes that includes the leading one is no rival of it; one that shares a single cause with a
    leading pair is.

    Parameters
    ----------
    case : Case, the readings of one sample in the transformed space
    survivors : Sequence[Survivor], the surviving hypotheses
    """
    weight = weight_by_label(survivors)
    main = sorted(
        (survivor for survivor in survivors if survivor.main), key=lambda survivor: -weight[survivor.label]
    )
    if not main:
        return None
    lead = main[0]
    leading = _parts(lead)
    rivals = [survivor for survivor in main[1:] if not leading <= _parts(survivor)]
    likely = [
        survivor for survivor in rivals if len(_parts(survivor)) < 2 or weight[survivor.label] >= LEAST_PAIR
    ]
    rival = next(iter([*likely, *rivals]), None)
    if rival is None:
        return None
    shares = _shares(case, rival) - _shares(case, lead)
    names = [test.name for test in case.tests]
    return RunnerUp(
        cause=rival.cause or "as designed",
        where=rival.location,
        title=rival.title,
        probability=weight[rival.label],
        readings=tuple(zip(names, shares.tolist(), strict=True)),
    )


def _parts(survivor: Survivor) -> set[tuple[str, str]]:
    """The causes of a survivor with their places."""
    return set(zip(survivor.cause.split(" + "), survivor.location.split(" + "), strict=True))


def _shares(case: Case, survivor: Survivor) -> FloatArray:
    """Share (T,) of every reading in −ln p of the readings under a survivor."""
    columns = list(case.test_indices)
    shift = survivor.shift[columns]
    spread = covariance_under(case.frame, shift, survivor.anchor[columns], doubt=survivor.doubt[columns])
    if survivor.freed is not None:
        spread[survivor.freed, survivor.freed] += FREE
    values, vectors = np.linalg.eigh(spread)
    away = wrapped(case.tests, case.residual - shift)
    white = vectors @ ((vectors.T @ away) / np.sqrt(values))
    logs = np.einsum("ik,k,ik->i", vectors, np.log(values), vectors)
    wrong = np.abs(survivor.flips[columns] - case.signs)
    if survivor.freed is not None:
        wrong[survivor.freed] = 0.0
    return np.asarray(0.5 * white**2 + 0.5 * logs + SIGN_PENALTY * wrong)


def holds_against_priors(probabilities: Sequence[float]) -> bool:
    """Whether the first of exclusive hypotheses stays first if the prior of any one of them is ``DOUBT``
    times larger or smaller.

    Parameters
    ----------
    probabilities : Sequence[float], their probabilities, dimensionless
    """
    ranked = sorted(probabilities, reverse=True)
    return bool(len(ranked) < 2 or ranked[0] > DOUBT * ranked[1])


def odd_reading(scene: Scene) -> OddReading | None:
    """The reading that is furthest from what all others lead one to expect, of those of which the others tell
    (``TOLD_BY_OTHERS``).

    Readings of one part vary together: all inductances follow one core. Each can lie well within production
    while their differences do not. With the residuals r and their covariance S0, the residual of reading i
    given all others is normal about (S0⁻¹ r)_i / (S0⁻¹)_ii away from r_i, with the standard deviation
    1/√(S0⁻¹)_ii (conditional distribution of jointly normal variables; textbooks).

    Parameters
    ----------
    scene : Scene, readings of one sample and their scores as designed

    Returns
    -------
    OddReading or None
        None where a reading deviates by itself (that says it better), has the wrong sign, or where no reading
        is further than ``DEVIATES`` standard deviations from the others.
    """
    case = scene.case
    if len(case.tests) < 2 or case.signs.any():
        return None
    if any(score is not None and abs(score) > DEVIATES for score in scene.scores.values()):
        return None
    precision = np.linalg.inv(case.base)
    sharp = np.sqrt(np.diagonal(precision))
    told = 1 / sharp <= TOLD_BY_OTHERS * np.sqrt(np.diagonal(case.base))
    scores = np.where(told, precision @ case.residual / sharp, 0.0)
    index = int(np.argmax(np.abs(scores)))
    if abs(scores[index]) <= DEVIATES:
        return None
    uncertainty = float(1 / sharp[index])
    read, expected = float(case.y[index]), float(case.y[index] - scores[index] * uncertainty)
    if not case.frame.phase[index]:
        sign = float(scene.background.signs[case.test_indices[index]])
        read, expected = sign * math.exp(read), sign * math.exp(expected)
    return OddReading(
        name=case.tests[index].name,
        measure=case.tests[index].measure,
        expected=expected,
        uncertainty=uncertainty,
        read=read,
        score=float(scores[index]),
    )
