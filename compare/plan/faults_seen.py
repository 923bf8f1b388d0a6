"""What a design's tests can see: every cause and severity of the catalogue against all tests together.

Let δ be the shift of all readings under a fault and S the covariance of normal readings (production,
model, set-up, meter). A part is noticed if

    T = rᵀ S⁻¹ r exceeds the value that one good part in a hundred exceeds;  under the fault T ~ χ'²_n(λ),
    λ = δᵀ S⁻¹ δ,      share noticed = P(T > χ²_{n, 99 %})

or if one of its n readings alone is beyond what one good part in a hundred shows in any of them, |r_i|/√S_ii
above the normal point of 1 − 1 %/(2 n) (Bonferroni), as ``explain`` decides (``diagnosis.stands_out``). The
larger of both shares is given: a part may be noticed by either, so at least that many are. And two faults are
told apart if no severity of the other comes within three standard deviations of it, with the error of its own
signature included. A further test is worth what it adds to the mean share noticed, over all causes by how
common they are.
Source: the distribution of T is exact for normal scatter
(textbook); the thresholds are judged.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ...predict.design import BenchTest, Design, FloatArray
from ..causes import CATALOGUE
from ..diagnosis import Frame, covariance_under, frame_of
from ..hypotheses import Hypothesis, Inquiry, inquire, wrapped

FALSE_ALARM = 0.01
"""Fraction of good parts that would be noticed by all readings together, and by one alone (common practice:
1 % by chance)."""
VISIBLE, INVISIBLE = 0.8, 0.2
"""A fault counts as seen from this share noticed on, and as invisible below ``INVISIBLE`` (judged by what a
reader can take in; no verdict depends on it)."""
APART = 3.0
"""Two faults are told apart from this many standard deviations on (common practice: three standard
deviations)."""
NEEDED = 0.2
"""A test is said to be needed for a fault if the share noticed falls by this much without it (judged by what
a reader can take in; no verdict depends on it)."""
MOST_FURTHER = 3
"""Most further tests proposed (judged by what a reader can take in; no verdict depends on it)."""


@dataclass(frozen=True, kw_only=True)
class SeenFault:
    """One cause at one place.

    Attributes
    ----------
    cause, kind : str
        Key and class of the cause.
    where : str
        Where it is.
    severities : tuple[tuple[float or None, str, float], ...]
        (amount, title, share noticed) of the severity that is noticed least, the middle one, and the one that
        is noticed most; amount in the cause's own unit, share dimensionless.
    alike : tuple[tuple[str, str], ...]
        (cause, where) that the last severity cannot be told from, if it is noticed at all.
    needs : tuple[str, ...]
        Tests without which its share noticed falls by ``NEEDED`` or more.
    """

    cause: str
    kind: str
    where: str
    severities: tuple[tuple[float | None, str, float], ...]
    alike: tuple[tuple[str, str], ...]
    needs: tuple[str, ...]

    @property
    def best(self) -> float:
        """Share noticed at the severity that shows most, dimensionless."""
        return max(share for _, _, share in self.severities)

    @property
    def invisible(self) -> bool:
        """Whether no severity is noticed in one part out of five."""
        return self.best < INVISIBLE


@dataclass(frozen=True)
class FurtherTest:
    """A test that the design does not have.

    Attributes
    ----------
    test : BenchTest
        The test.
    gain : float
        Gain in the mean share noticed over all causes, dimensionless.
    sees : tuple[tuple[str, str], ...]
        Causes that it brings from below ``INVISIBLE`` to above one half, (cause, where).
    """

    test: BenchTest
    gain: float
    sees: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class FaultCoverage:
    """What the tests of a design can see.

    Attributes
    ----------
    faults : tuple[SeenFault, ...]
        Every cause at every place.
    mean : float
        Share noticed over all causes and severities by how common they are, dimensionless.
    further : tuple[FurtherTest, ...]
        Tests that would add most, best first.
    """

    faults: tuple[SeenFault, ...]
    mean: float
    further: tuple[FurtherTest, ...]


def fault_coverage(design: Design) -> FaultCoverage:
    """Every cause of the catalogue that may be wrong with a design, against its tests together.

    Parameters
    ----------
    design : Design
        The transformer.

    Raises
    ------
    BuildError
        The layout is outside the models.
    """
    if not design.tests:
        return FaultCoverage((), 0.0, ())
    inquiry = inquire(design, design.tests, CATALOGUE)
    read_columns = list(range(inquiry.read))
    frame = _frame(inquiry, read_columns)
    hypotheses = inquiry.hypotheses
    if not hypotheses:
        return FaultCoverage((), 0.0, ())
    noticed = _all_noticed(inquiry, read_columns)
    fewer = {
        test_index: [at for at in read_columns if at != test_index]
        for test_index in read_columns
        if len(read_columns) > 1
    }
    without = {test_index: _all_noticed(inquiry, columns) for test_index, columns in fewer.items()}
    faults = []
    for number, item in enumerate(hypotheses):
        needs = [
            design.tests[test_index].name
            for test_index, shares in without.items()
            if float(np.max(noticed[number])) - float(np.max(shares[number])) >= NEEDED
        ]
        alike: tuple[tuple[str, str], ...] = ()
        if float(np.max(noticed[number])) >= 0.5:
            alike = _alike(frame, inquiry, number, read_columns, int(np.argmax(noticed[number])))
        rows = tuple(
            (item.amount(node), item.title(design, node), float(noticed[number][node]))
            for node in _shown(noticed[number])
        )
        cause = item.cause
        faults.append(
            SeenFault(
                cause=cause.name,
                kind=cause.kind,
                where=item.location,
                severities=rows,
                alike=alike,
                needs=tuple(needs),
            )
        )
    weights = np.array([item.cause.weight for item in hypotheses])
    mean = _mean(noticed, hypotheses, weights)
    return FaultCoverage(tuple(faults), mean, _further(inquiry, read_columns, noticed, weights, mean))


def _frame(inquiry: Inquiry, columns: Sequence[int]) -> Frame:
    index = list(columns)
    tests = tuple(inquiry.tests[test_index] for test_index in index)
    return frame_of(tests, inquiry.background.of(index), inquiry.meter[index])


def _noticed(frame: Frame, item: Hypothesis, meter: FloatArray) -> FloatArray:
    """Share of parts noticed at every severity, (S,); a reading of the other sign is always noticed.

    ``meter`` (T,): uncertainty by meter and handling at the prediction, relative. What a meter leaves of a
    direct-current resistance is an offset: against a larger reading it is a smaller part.
    """
    shift = wrapped(frame.tests, item.shift)
    factor = np.linalg.cholesky(frame.base)
    white = np.linalg.solve(factor, shift.T).T
    count = len(frame.tests)
    # loaded where it is needed: it takes a quarter of a second
    from scipy.special import chdtri, chndtr, ndtr, ndtri

    limit = chdtri(count, FALSE_ALARM)
    away = np.minimum(np.sum(white**2, axis=-1), 1e4)
    together = 1.0 - chndtr(limit, count, np.maximum(away, 1e-12))
    each = np.abs(shift) / np.sqrt(np.diagonal(frame.base) - _less_of_the_meter(frame, shift, meter))
    beyond = ndtri(1.0 - FALSE_ALARM / (2 * count))
    alone = np.max(ndtr(each - beyond) + ndtr(-each - beyond), axis=-1)
    share = np.maximum(together, alone)
    return np.asarray(np.where(np.any(item.flips > 0, axis=-1), 1.0, share), float)


def _less_of_the_meter(frame: Frame, shift: FloatArray, meter: FloatArray) -> FloatArray:
    """Variances (..., T) of the meter that a part shifted by ``shift`` (..., T) does not have: of a larger
    resistance the meter's offset is a smaller part."""
    direct = np.array([test.measure == "resistance" for test in frame.tests], bool)
    return np.asarray(np.where(direct, meter**2 * (1.0 - np.exp(-2.0 * np.maximum(shift, 0.0))), 0.0))


def _all_noticed(inquiry: Inquiry, columns: Sequence[int]) -> list[FloatArray]:
    frame = _frame(inquiry, columns)
    meter = inquiry.meter[list(columns)]
    return [_noticed(frame, item.of(columns), meter) for item in inquiry.hypotheses]


def _alike(
    frame: Frame, inquiry: Inquiry, number: int, columns: Sequence[int], node: int
) -> tuple[tuple[str, str], ...]:
    """Causes with a severity within ``APART`` of severity ``node`` of hypothesis ``number``."""
    hypotheses = inquiry.hypotheses
    mine = hypotheses[number].of(columns)
    less = np.diag(_less_of_the_meter(frame, mine.shift[node], inquiry.meter[list(columns)]))
    distances = []
    for index, hypothesis in enumerate(hypotheses):
        if index == number:
            continue
        theirs = hypothesis.of(columns)
        spread = covariance_under(frame, theirs.shift, theirs.anchor, doubt=theirs.doubt)
        gap = wrapped(frame.tests, mine.shift[node] - theirs.shift)
        white = np.linalg.solve(np.linalg.cholesky(spread - less), gap[..., None])[..., 0]
        signs = np.any(theirs.flips != mine.flips[node], axis=-1)
        distance = np.where(signs, np.inf, np.sqrt(np.sum(white**2, axis=-1)))
        if float(np.min(distance)) < APART:
            distances.append((float(np.min(distance)), (hypothesis.cause.name, hypothesis.location)))
    return tuple(name for _, name in sorted(distances))


def _shown(noticed: FloatArray) -> list[int]:
    """Severities to show: the one noticed least, the middle one, and the one noticed most."""
    order = np.argsort(noticed, kind="stable")
    return [int(order[rank]) for rank in sorted({0, len(order) // 2, len(order) - 1})]


def _mean(noticed: Sequence[FloatArray], hypotheses: Sequence[Hypothesis], weights: FloatArray) -> float:
    pairs = zip(noticed, hypotheses, strict=True)
    each = np.array([float(np.sum(share * item.weights)) for share, item in pairs])
    return float(np.sum(weights * each) / np.sum(weights))


def _further(
    inquiry: Inquiry, columns: Sequence[int], noticed: Sequence[FloatArray], weights: FloatArray, mean: float
) -> tuple[FurtherTest, ...]:
    candidates: NDArray[np.int64] = np.arange(inquiry.read, len(inquiry.tests))
    further = []
    for column in candidates.tolist():
        if inquiry.staged[column] is not None:
            continue
        shares = _all_noticed(inquiry, [*columns, column])
        sees = tuple(
            (item.cause.name, item.location)
            for item, before, after in zip(inquiry.hypotheses, noticed, shares, strict=True)
            if float(np.max(before)) < INVISIBLE and float(np.max(after)) > 0.5
        )
        gain = _mean(shares, inquiry.hypotheses, weights) - mean
        further.append(FurtherTest(inquiry.tests[column], gain, sees))
    return tuple(sorted(further, key=lambda item: -item.gain)[:MOST_FURTHER])
