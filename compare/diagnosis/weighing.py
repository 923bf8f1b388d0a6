"""Likelihoods: how well the readings of one sample go with a cause, with a bad reading, with nothing known.

p(y | cause) = Σ_severities w N(y; μ0 + δ, S)      S: module ``covariances``
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ...predict.design import BenchTest, Design, FloatArray
from ..hypotheses import Background, Hypothesis, Staged, phases, transform, wrapped
from ..readings import ReadTest
from .covariances import Frame, covariance_under, frame_of

UNLISTED_WIDTHS = (0.25, 0.8)
ALONE_WIDTH, ALONE = 0.6, 0.3
"""Spreads, in the logarithm, of all readings under a cause that nobody listed, and of a single reading that
stands alone for a reason that nobody listed; how likely the latter is among them (common practice, no
source)."""
SLIPS = {10.0: 0.2, 0.1: 0.2, 1e3: 0.2, 1e-3: 0.2, 1e2: 0.05, 1e-2: 0.05, 1e6: 0.05, 1e-6: 0.05}
"""A slip of decades or of a unit prefix: what stands there over what was read, with its share of all slips
(judged). Only such a step that brings the reading home is believed."""
EXCHANGED = 0.2
"""Share of exchanged rows among bad readings (judged)."""
IMPOSSIBLE = -1e9
SIGN_PENALTY = 12.0
"""Log-likelihood lost by a reading of the wrong sign."""


@dataclass(frozen=True, kw_only=True)
class Case:
    """One sample's readings in the transformed space, T tests that were read.

    frame : how they scatter together as designed. places : indices into the design's tests. y, residual :
    (T,) transformed reading, and less the prediction. signs : (T,) 1 where the reading's sign is not the
    predicted one. meter : (T,) standard uncertainty, relative (phase: rad).
    """

    frame: Frame
    places: tuple[int, ...]
    y: FloatArray
    residual: FloatArray
    signs: FloatArray
    meter: FloatArray

    @property
    def tests(self) -> tuple[BenchTest, ...]:
        """The tests that were read."""
        return self.frame.tests

    @property
    def base(self) -> FloatArray:
        """(T, T) covariance as designed."""
        return self.frame.base

    @property
    def anchor(self) -> FloatArray:
        """(T,) of the leg share, as designed."""
        return self.frame.anchor


def case_of(
    design: Design,
    background: Background,
    read: Sequence[ReadTest],
    staged: Sequence[Staged | None] = (),
    response: FloatArray | None = None,
) -> Case:
    """The readings that are there, with their covariance under honest production.

    staged, response : of every test of the design, as in ``covariances.frame_of``.
    """
    present = [item for item in read if item.value is not None and item.uncertainty is not None]
    places = tuple(item.place for item in present)
    index = np.array(places, int)
    tests = tuple(design.tests[place] for place in places)
    values = np.array([item.value for item in present], float)
    uncertainty = np.array([item.uncertainty for item in present], float)
    phase = phases(tests)
    sizes = clear_of_zero(values, uncertainty, background.nominal[index])
    y = transform(tests, np.where(phase, values, sizes))
    meter = np.where(phase, uncertainty, uncertainty / _scale(sizes, background.nominal[index]))
    frame = frame_of(
        tests,
        background.of(places),
        meter,
        [staged[place] for place in places] if staged else (),
        None if response is None else response[index],
    )
    signs = np.where(values == 0, 1.0, np.sign(values)) != background.signs[index]
    return Case(
        frame=frame,
        places=places,
        y=y,
        residual=wrapped(tests, y - frame.nominal),
        signs=np.where(phase, 0.0, signs).astype(float),
        meter=meter,
    )


def clear_of_zero(values: FloatArray, uncertainty: FloatArray, nominal: FloatArray) -> FloatArray:
    """(..., T) magnitudes whose logarithm can be taken: a zero counts as its own standard uncertainty, but
    not as more than what is expected (``nominal``, its logarithm).

    A zero is then as far from its prediction as the meter can tell, and agrees where less than the meter
    can tell is expected. What is small without being zero stays as it was read: it may be a slip of unit.
    """
    expected = np.exp(np.clip(nominal, -41.0, 41.0))
    return np.asarray(np.where(values == 0, np.minimum(uncertainty, expected), np.abs(values)))


def _scale(values: FloatArray, nominal: FloatArray) -> FloatArray:
    """(T,) what an uncertainty is relative to: the reading, but for one far below its prediction
    (``nominal``, its logarithm) the geometric mean of both. There the meter's floor may
    exceed the reading, and yet the reading is far from the prediction."""
    expected = np.exp(np.clip(nominal, -41.0, 41.0))
    return np.asarray(np.sqrt(np.maximum(values, 1e-18) * np.maximum(np.maximum(values, expected), 1e-18)))


def log_density(residual: FloatArray, covariance: FloatArray) -> FloatArray:
    """(...,) ln N(residual; 0, covariance), residual (..., T), covariance (..., T, T)."""
    factor = np.asarray(np.linalg.cholesky(covariance), float)
    white = _forward_substitution(factor, residual)
    determinant = np.sum(np.log(np.diagonal(factor, axis1=-2, axis2=-1)), axis=-1)
    constant = 0.5 * residual.shape[-1] * math.log(2 * math.pi)
    return np.asarray(-0.5 * np.sum(white**2, axis=-1) - determinant - constant)


def _forward_substitution(factor: FloatArray, right: FloatArray) -> FloatArray:
    """(..., T) x of factor x = right for lower triangular factors (..., T, T): row by row over all at once,
    which for many small systems is faster than a solver's call for each."""
    result = np.zeros(np.broadcast_shapes(factor.shape[:-1], right.shape))
    for row in range(factor.shape[-1]):
        known = np.sum(factor[..., row, :row] * result[..., :row], axis=-1)
        result[..., row] = (right[..., row] - known) / factor[..., row, row]
    return result


def log_sum(values: FloatArray, weights: FloatArray) -> float:
    """ln Σ w exp(v), safely."""
    top = float(np.max(values))
    return top + math.log(float(np.sum(weights * np.exp(values - top))))


def log_under(
    case: Case,
    shift: FloatArray,
    anchor: FloatArray,
    flips: FloatArray,
    reaches: Sequence[FloatArray] = (),
) -> FloatArray:
    """(...,) ln p of the readings under shifts (..., T) of the prediction, each with its own anchor and
    signs; ``reaches`` (..., T): further standard deviations of the shift as a whole."""
    spread = covariance_under(case.frame, shift, anchor, reaches)
    wrong = np.sum(np.abs(flips - case.signs), axis=-1)
    residual = wrapped(case.tests, case.residual - shift)
    return np.asarray(log_density(residual, spread) - SIGN_PENALTY * wrong)


def log_nodes(case: Case, hypotheses: Sequence[Hypothesis]) -> list[FloatArray]:
    """ln p of the readings at every severity of each of many hypotheses: one array (S,) for each."""
    if not hypotheses:
        return []
    index = list(case.places)
    shift, anchor, flips = (
        np.concatenate([getattr(item, name)[:, index] for item in hypotheses])
        for name in ("shift", "anchor", "flips")
    )
    ends = np.cumsum([len(item.weights) for item in hypotheses])
    return list(np.split(log_under(case, shift, anchor, flips), ends[:-1]))


def log_as_designed(case: Case) -> float:
    """ln p of the readings under honest production."""
    return float(log_density(case.residual, case.base)) - SIGN_PENALTY * float(case.signs.sum())


def log_unlisted(case: Case) -> float:
    """ln p under causes that nobody listed: all readings free by some tens of per cent, or by a factor, those
    of one test (before and after an intervention) together; or one test's alone."""
    count = len(case.tests)
    if not count:
        return 0.0  # no reading says anything
    same = case.frame.same
    broad = [float(log_density(case.residual, case.base + width**2 * same)) for width in UNLISTED_WIDTHS]
    share = np.full(len(broad), (1 - ALONE) / len(broad))
    every = log_sum(np.array(broad), share) - 0.5 * SIGN_PENALTY * float(case.signs.sum())
    alone = log_sum(
        np.array([log_alone(case, place) for place in range(count)]), np.full(count, ALONE / count)
    )
    return log_sum(np.array([every, alone]), np.ones(2))


def log_alone(case: Case, place: int) -> float:
    """ln p if the reading of one test is free and all others are as designed."""
    covariance = case.base.copy()
    covariance[place, place] += (math.pi if case.frame.phase[place] else ALONE_WIDTH) ** 2
    others = float(np.sum(np.delete(case.signs, place)))
    return float(log_density(case.residual, covariance)) - SIGN_PENALTY * others


def log_bad(case: Case, place: int) -> float:
    """ln p if the reading of one test is off by a slip of unit or decade; a phase has none."""
    if case.frame.phase[place]:
        return IMPOSSIBLE
    residual = np.repeat(case.residual[None], len(SLIPS), axis=0)
    residual[:, place] -= np.log(list(SLIPS))
    scores = log_density(residual, np.broadcast_to(case.base, (len(SLIPS), *case.base.shape)))
    return log_sum(scores, np.array(list(SLIPS.values()))) - SIGN_PENALTY * float(case.signs.sum())


def log_exchanged(case: Case, place: int, other: int) -> float:
    """ln p if two readings of like measure stand in each other's row."""
    residual = case.residual.copy()
    step = case.y[other] - case.y[place]
    residual[place] += step
    residual[other] -= step
    return float(log_density(residual, case.base)) - SIGN_PENALTY * float(np.sum(case.signs))


def twins(case: Case, place: int) -> list[int]:
    """Later tests of the same measure, whose row could have been exchanged with this one: an exchange is one
    mistake, and stands at the first of its two rows."""
    measure = case.tests[place].measure
    return [other for other, test in enumerate(case.tests) if other > place and test.measure == measure]


def log_bad_or_exchanged(case: Case, place: int) -> float:
    """ln p that something is wrong with the reading of one test, rows exchanged with later ones included."""
    others = twins(case, place)
    scores = np.array([log_bad(case, place), *(log_exchanged(case, place, other) for other in others)])
    weights = np.array([1 - EXCHANGED] + [2 * EXCHANGED / (len(others) + 1)] * len(others))
    return log_sum(scores, weights)
