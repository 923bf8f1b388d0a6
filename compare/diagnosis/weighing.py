"""Likelihoods: how well the readings of one sample fit a cause, a bad reading, or an unknown cause.

p(y | cause) = Σ_severities w N(y; μ0 + δ, S)      S: module ``covariances``
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ...predict.design import BenchTest, Design, FloatArray
from ..hypotheses import Background, Hypothesis, Staged, phases, transform, wrapped
from ..readings import ReadTest
from .covariances import Frame, covariance_under, frame_of

UNLISTED_WIDTHS = (0.25, 0.8)
ALONE_WIDTH, ALONE = 0.6, 0.3
"""Spreads, in the logarithm, of all readings under an unlisted cause, and of a single reading that is off
alone for an unlisted reason; and the probability of the latter among them (common practice, no source)."""
INVERTED = 0.2
"""Share of ratios written as sensed over driven voltage in all slips of a ratio (judged; no data behind
it)."""
SLIPS = {10.0: 0.2, 0.1: 0.2, 1e3: 0.2, 1e-3: 0.2, 1e2: 0.05, 1e-2: 0.05, 1e6: 0.05, 1e-6: 0.05}
"""A slip of decades or of a unit prefix: what was written over what was read, with its share of all slips
(judged). Only a step that brings the reading back to its prediction is believed."""
EXCHANGED = 0.2
"""Share of exchanged rows among bad readings (judged)."""
BEYOND = 0.99
"""Part of the sound parts whose readings do not stand out (judged)."""
IMPOSSIBLE = -1e9
SIGN_TOLD = 2.5
"""Standard uncertainties of the meter from which a reading has a sign: below, one on the wrong side of zero
counts as a zero (common practice: 1 % by chance)."""
SIGN_PENALTY = 12.0
"""Log-likelihood lost by a reading of the wrong sign (judged: six in a million, a sign is hardly ever read
wrong)."""


@dataclass(frozen=True, kw_only=True)
class Case:
    """One sample's readings in the transformed space, for T tests that were read.

    Attributes
    ----------
    frame : Frame
        How they scatter together as designed.
    test_indices : tuple[int, ...] (T,)
        Index of each test in the design's tests.
    y : (T,) array
        Transformed readings, dimensionless (rad for a phase).
    residual : (T,) array
        Transformed readings less prediction, dimensionless (rad for a phase).
    signs : (T,) array
        1 where the sign of the reading is not the predicted one, else 0, dimensionless.
    meter : (T,) array
        Standard uncertainty, relative (rad for a phase).
    """

    frame: Frame
    test_indices: tuple[int, ...]
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
        """Covariance (T, T) as designed, dimensionless."""
        return self.frame.base

    @property
    def anchor(self) -> FloatArray:
        """Change (T,) for one standard deviation of the leg share, as designed, dimensionless."""
        return self.frame.anchor


def case_of(
    design: Design,
    background: Background,
    read: Sequence[ReadTest],
    staged: Sequence[Staged | None] = (),
    response: FloatArray | None = None,
) -> Case:
    """The readings that were taken, with their covariance under normal production.

    Parameters
    ----------
    design : Design
        The transformer.
    background : Background
        Prediction, sensitivities and covariance of the design as drawn.
    read : Sequence[ReadTest]
        Tests as read on the sample.
    staged : Sequence[Staged or None], optional
        For every test of the design None, or what it is read after.
    response : (T,) array or None, optional
        What the intervention does to any part, as in ``covariances.frame_of``, dimensionless (rad for a
        phase).
    """
    present = [item for item in read if item.value is not None and item.uncertainty is not None]
    test_indices = tuple(item.test_index for item in present)
    index = np.array(test_indices, int)
    tests = tuple(design.tests[test_index] for test_index in test_indices)
    values = np.array([item.value for item in present], float)
    uncertainty = np.array([item.uncertainty for item in present], float)
    phase = phases(tests)
    none = sign_untold(values, uncertainty, background.signs[index])
    sizes = clear_of_zero(np.where(none, 0.0, values), uncertainty, background.nominal[index])
    y = transform(tests, np.where(phase, values, sizes))
    meter = np.where(phase, uncertainty, uncertainty / _scale(sizes, background.nominal[index]))
    frame = frame_of(
        tests,
        background.of(test_indices),
        meter,
        [staged[test_index] for test_index in test_indices] if staged else (),
        None if response is None else response[index],
    )
    signs = ~none & (np.sign(values) != background.signs[index])
    return Case(
        frame=frame,
        test_indices=test_indices,
        y=y,
        residual=wrapped(tests, y - frame.nominal),
        signs=np.where(phase, 0.0, signs).astype(float),
        meter=meter,
    )


def sign_untold(values: FloatArray, uncertainty: FloatArray, signs: FloatArray) -> NDArray[np.bool_]:
    """Which readings have the wrong sign and are so near to zero that it tells nothing.

    Parameters
    ----------
    values : (..., T) array
        Readings, SI; NaN if missing.
    uncertainty : (..., T) array
        Standard uncertainties, SI.
    signs : (T,) array
        Signs of the expected readings, dimensionless.

    Returns
    -------
    (..., T) array of bool
        Whether they count as zero.
    """
    return np.asarray((np.abs(values) <= SIGN_TOLD * uncertainty) & (np.sign(values) != signs))


def clear_of_zero(values: FloatArray, uncertainty: FloatArray, nominal: FloatArray) -> FloatArray:
    """Magnitudes whose logarithm can be taken.

    A zero counts as its own standard uncertainty, but not as more than what is expected. It is then as far
    from its prediction as the meter can resolve, and agrees if less than that is expected. A small reading
    that is not zero stays as it was read: it may be a slip of unit.

    Parameters
    ----------
    values : (..., T) array
        Readings, SI.
    uncertainty : (..., T) array
        Standard uncertainties, SI.
    nominal : (..., T) array
        Logarithm of the expected reading, dimensionless.

    Returns
    -------
    (..., T) array
        Magnitudes, SI.
    """
    expected = np.exp(np.clip(nominal, -41.0, 41.0))
    return np.asarray(np.where(values == 0, np.minimum(uncertainty, expected), np.abs(values)))


def _scale(values: FloatArray, nominal: FloatArray) -> FloatArray:
    """What an uncertainty is relative to, (T,): the reading or, for one far below its prediction
    (``nominal``, its logarithm), the geometric mean of both.

    There the meter's floor may exceed the reading, and yet the reading is far from the prediction.
    """
    expected = np.exp(np.clip(nominal, -41.0, 41.0))
    return np.asarray(np.sqrt(np.maximum(values, 1e-18) * np.maximum(np.maximum(values, expected), 1e-18)))


def log_density(residual: FloatArray, covariance: FloatArray) -> FloatArray:
    """ln N(residual; 0, covariance).

    Parameters
    ----------
    residual : (..., T) array, residuals, dimensionless (rad for a phase)
    covariance : (..., T, T) array, covariances, dimensionless

    Returns
    -------
    (...,) array, log density, dimensionless
    """
    factor = np.asarray(np.linalg.cholesky(covariance), float)
    white = _forward_substitution(factor, residual)
    determinant = np.sum(np.log(np.diagonal(factor, axis1=-2, axis2=-1)), axis=-1)
    constant = 0.5 * residual.shape[-1] * math.log(2 * math.pi)
    return np.asarray(-0.5 * np.sum(white**2, axis=-1) - determinant - constant)


def _forward_substitution(factor: FloatArray, right: FloatArray) -> FloatArray:
    """Solution x (..., T) of factor x = right for lower triangular factors (..., T, T).

    Row by row over all at once, which for many small systems is faster than calling a solver for each.
    """
    result = np.zeros(np.broadcast_shapes(factor.shape[:-1], right.shape))
    for row in range(factor.shape[-1]):
        known = np.sum(factor[..., row, :row] * result[..., :row], axis=-1)
        result[..., row] = (right[..., row] - known) / factor[..., row, row]
    return result


def log_sum(values: FloatArray, weights: FloatArray) -> float:
    """ln Σ w exp(v), without overflow.

    Parameters
    ----------
    values : (N,) array
        v, dimensionless.
    weights : (N,) array
        w, dimensionless.

    Returns
    -------
    float
        The logarithm, dimensionless.
    """
    top = float(np.max(values))
    return top + math.log(float(np.sum(weights * np.exp(values - top))))


def log_under(
    case: Case,
    shift: FloatArray,
    anchor: FloatArray,
    flips: FloatArray,
    reaches: Sequence[FloatArray] = (),
    doubt: FloatArray | None = None,
) -> FloatArray:
    """ln p of the readings under shifts of the prediction.

    Parameters
    ----------
    case : Case, the readings of one sample in the transformed space
    shift : (..., T) array, shifts, dimensionless (rad for a phase)
    anchor : (..., T) array
        Change for one standard deviation of the leg share under each shift, dimensionless.
    flips : (..., T) array, 1 where the sign differs from the nominal one, else 0, dimensionless
    reaches : Sequence[FloatArray] (..., T), optional
        Further standard deviations of the shift as a whole, dimensionless.
    doubt : (..., T) array, optional, as in ``covariances.covariance_under``, dimensionless (rad for a phase)

    Returns
    -------
    (...,) array, ln p, dimensionless
    """
    spread = covariance_under(case.frame, shift, anchor, reaches, doubt)
    wrong = np.sum(np.abs(flips - case.signs), axis=-1)
    residual = wrapped(case.tests, case.residual - shift)
    return np.asarray(log_density(residual, spread) - SIGN_PENALTY * wrong)


def log_nodes(case: Case, hypotheses: Sequence[Hypothesis]) -> list[FloatArray]:
    """ln p of the readings at every severity of each of many hypotheses.

    Parameters
    ----------
    case : Case
        The readings of one sample in the transformed space.
    hypotheses : Sequence[Hypothesis]
        The hypotheses.

    Returns
    -------
    list of (S,) arrays
        ln p for each hypothesis, dimensionless.
    """
    if not hypotheses:
        return []
    index = list(case.test_indices)
    shift, anchor, flips, doubt = (
        np.concatenate([getattr(item, name)[:, index] for item in hypotheses])
        for name in ("shift", "anchor", "flips", "doubt")
    )
    ends = np.cumsum([len(item.weights) for item in hypotheses])
    return list(np.split(log_under(case, shift, anchor, flips, doubt=doubt), ends[:-1]))


def stands_out(case: Case) -> bool:
    """Whether the readings together, or one of them alone, lie beyond what ``BEYOND`` of sound parts show.

        d² = rᵀ S0⁻¹ r  above that point of χ² with T degrees of freedom, or
        max |r_i| / √S0_ii  above the normal point of 1 − (1 − ``BEYOND``)/T on both sides (Bonferroni),

    r the residual as designed; or a reading has the wrong sign. Most faults move one reading or a few, which
    the sum over many hides.

    Parameters
    ----------
    case : Case, one sample's readings

    Returns
    -------
    bool, False without readings
    """
    if not case.tests:
        return False
    white = _forward_substitution(np.asarray(np.linalg.cholesky(case.base), float), case.residual)
    alone = np.max(np.abs(case.residual) / np.sqrt(np.diagonal(case.base)))
    return bool(
        case.signs.any()
        or chi_square_beyond(float(np.sum(white**2)), len(white)) < 1 - BEYOND
        or chi_square_beyond(float(alone) ** 2, 1) < (1 - BEYOND) / len(white)
    )


def chi_square_beyond(value: float, freedom: int) -> float:
    """Probability that the sum of squares of normal variables is larger than a value.

        ν even   e^{−x/2} Σ (x/2)^j/j!,   j = 0 … ν/2 − 1
        ν odd    erfc √(x/2) + e^{−x/2} Σ (x/2)^{j − ½}/Γ(j + ½),   j = 1 … (ν − 1)/2

    Closed forms of the incomplete gamma function (textbooks): the library of special functions takes longer
    to load than a diagnosis of a part.

    Parameters
    ----------
    value : float, value x, at least 0, dimensionless
    freedom : int, number of variables ν, at least 1, count

    Returns
    -------
    float, probability, dimensionless
    """
    half, odd = value / 2, freedom % 2
    probability = math.erfc(math.sqrt(half)) if odd else 0.0
    term = math.exp(-half) * (2 * math.sqrt(half / math.pi) if odd else 1.0)
    for step in range((freedom - odd) // 2):
        probability += term
        term *= half / (step + 1 + odd / 2)
    return probability


def log_as_designed(case: Case) -> float:
    """ln p of the readings under normal production, dimensionless."""
    return float(log_density(case.residual, case.base)) - SIGN_PENALTY * float(case.signs.sum())


def log_unlisted(case: Case) -> float:
    """ln p under unlisted causes, dimensionless: all readings free by some tens of per cent or by a factor,
    those of one test (before and after an intervention) together; or the readings of one test alone."""
    count = len(case.tests)
    if not count:
        return 0.0  # no reading says anything
    same = case.frame.same
    broad = [float(log_density(case.residual, case.base + width**2 * same)) for width in UNLISTED_WIDTHS]
    share = np.full(len(broad), (1 - ALONE) / len(broad))
    every = log_sum(np.array(broad), share) - 0.5 * SIGN_PENALTY * float(case.signs.sum())
    alone = log_sum(
        np.array([log_alone(case, index) for index in range(count)]), np.full(count, ALONE / count)
    )
    return log_sum(np.array([every, alone]), np.ones(2))


def log_alone(case: Case, index: int) -> float:
    """ln p if the reading of one test is free and all others are as designed.

    Parameters
    ----------
    case : Case, the readings of one sample in the transformed space
    index : int, index of the test in the case

    Returns
    -------
    float, ln p, dimensionless
    """
    covariance = case.base.copy()
    covariance[index, index] += (math.pi if case.frame.phase[index] else ALONE_WIDTH) ** 2
    others = float(np.sum(np.delete(case.signs, index)))
    return float(log_density(case.residual, covariance)) - SIGN_PENALTY * others


def log_bad(case: Case, index: int) -> float:
    """ln p if the reading of one test is off by a slip of unit or decade, or the ratios are written the wrong
    way round; a phase has none.

    Parameters
    ----------
    case : Case, the readings of one sample in the transformed space
    index : int, index of the test in the case

    Returns
    -------
    float, ln p, dimensionless
    """
    if case.frame.phase[index]:
        return IMPOSSIBLE
    residual = np.repeat(case.residual[None], len(SLIPS), axis=0)
    residual[:, index] -= np.log(list(SLIPS))
    weights = np.array(list(SLIPS.values()))
    if turned := list(inverted(case, index)):
        row = case.residual.copy()
        row[turned] = -row[turned] - 2 * case.frame.nominal[turned]
        residual = np.concatenate([residual, row[None]])
        weights = np.append((1.0 - INVERTED) * weights, INVERTED)
    scores = log_density(residual, np.broadcast_to(case.base, (len(residual), *case.base.shape)))
    return log_sum(scores, weights) - SIGN_PENALTY * float(case.signs.sum())


def inverted(case: Case, index: int) -> tuple[int, ...]:
    """Voltage ratios that look as if they were written the wrong way round, this test the first of them.

    Parameters
    ----------
    case : Case, the readings of one sample in the transformed space
    index : int, index of the test in the case

    Returns
    -------
    tuple[int, ...]
        Indices of the tests; empty unless 1 over this reading is nearer to its prediction than the reading
        is, and no earlier ratio is turned too.
    """
    turned = [
        position
        for position, test in enumerate(case.tests)
        if test.measure == "ratio"
        and abs(case.residual[position] + 2 * case.frame.nominal[position]) < abs(case.residual[position])
    ]
    return tuple(turned) if turned[:1] == [index] else ()


def log_exchanged(case: Case, index: int, second: int) -> float:
    """ln p if two readings of the same measure are in each other's row.

    A small reading in the row of a large one brings an uncertainty that its own row did not ask for; what its
    partner brings less is not taken off (in a lot the covariance holds no more than a part of the meter's).

    Parameters
    ----------
    case : Case, the readings of one sample in the transformed space
    index : int, index of the test in the case
    second : int, index of the other test in the case

    Returns
    -------
    float, ln p, dimensionless
    """
    rows, back = [index, second], [second, index]
    residual, covariance = case.residual.copy(), case.base.copy()
    residual[rows] += case.y[back] - case.y[rows]
    if not case.frame.phase[index]:  # the meter's error goes with the reading, relative to what it belongs to
        expected = case.frame.nominal[rows]
        absolute = case.meter[rows] * _scale(np.exp(case.y[rows]), expected)
        meter = absolute[::-1] / _scale(np.exp(case.y[back]), expected)
        covariance[rows, rows] += np.maximum(meter**2 - case.meter[rows] ** 2, 0.0)
    return float(log_density(residual, covariance)) - SIGN_PENALTY * float(np.sum(case.signs))


def twins(case: Case, index: int) -> list[int]:
    """Later tests of the same measure, whose row could have been exchanged with this one.

    An exchange is one mistake, and belongs to the first of its two rows.

    Parameters
    ----------
    case : Case, the readings of one sample in the transformed space
    index : int, index of the test in the case

    Returns
    -------
    list[int], indices of the tests
    """
    measure = case.tests[index].measure
    return [twin for twin, test in enumerate(case.tests) if twin > index and test.measure == measure]


def log_bad_or_exchanged(case: Case, index: int) -> float:
    """ln p that something is wrong with the reading of one test, including rows exchanged with later ones.

    Parameters
    ----------
    case : Case
        The readings of one sample in the transformed space.
    index : int
        Index of the test in the case.

    Returns
    -------
    float
        ln p, dimensionless.
    """
    others = twins(case, index)
    scores = np.array([log_bad(case, index), *(log_exchanged(case, index, second) for second in others)])
    weights = np.array([1 - EXCHANGED] + [2 * EXCHANGED / (len(others) + 1)] * len(others))
    return log_sum(scores, weights)
