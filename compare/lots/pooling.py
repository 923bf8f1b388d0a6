"""Many parts of one lot as one equivalent reading: what they have in common, and what differs from part to
part.

    y_i = t + e_i        t ~ N(δ, C)  the same in all parts,  e_i ~ N(0, U)  each part's own

C + U is the covariance of one part (``covariances``). C holds the design and lot shares of every
tolerance, the meter's calibration and half of the residual (``tolerance_shares``); U holds the rest and
re-connection. For any set of readings per part (S_i selects those that were read),

    J = Σ S_iᵀ U_i⁻¹ S_i        ȳ = J⁻¹ Σ S_iᵀ U_i⁻¹ y_i        p(y | δ) ∝ N(ȳ; δ, C + J⁻¹)

exactly, up to a factor that depends on neither δ nor C: ȳ holds all that the parts say about what they
share. The cost grows with the number of different sets of readings, not with the number of parts.
"""

from __future__ import annotations

import functools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ...predict.circuit import readings
from ...predict.design import BenchTest, Design, FloatArray
from ...predict.production import parameters, shares_of
from ..diagnosis import Case, clear_of_zero, sign_untold
from ..hypotheses import Background, transform, wrapped
from ..meter import REPEATABILITY
from ..readings import ReadTest
from ..verdict import RESIDUAL

RESIDUAL_UNIT = 0.5
"""Fraction of the residual's variance that differs from part to part (how the wires happen to lie; common
practice, no source). The rest belongs to the design."""
HIDDEN = 0.5
"""Standard uncertainty of the meter over the reading from which its error counts as another one in every
reading (judged: half of what is read is then the meter's floor, and nobody knows how steady that is)."""
FAR_BELOW = 1e-3
"""A reading below this fraction of the median of all parts says nothing about the meter's relative
uncertainty (judged; no data behind it)."""
LEAST = 1e-18
"""Readings of smaller magnitude (SI) count as this, because their logarithm is taken (as in ``transform``)
(bounds work, not results)."""
BUILDS = 200
ENOUGH_TO_SCATTER = 10
"""From this many parts on, their own scatter is used if it is larger than expected (judged: a standard
deviation of ten parts is known to 24 %)."""


@dataclass(frozen=True, kw_only=True)
class PooledLot:
    """N parts and T tests, each test read on at least one part.

    Attributes
    ----------
    test_indices : tuple[int, ...] (T,), index of each test in the design's tests
    residual : (N, T) array
        Transformed reading less prediction, NaN if missing, dimensionless (rad for a phase).
    signs : (N, T) array, 1 if the sign is not the predicted one, else 0, dimensionless
    case : Case, a part with the mean of all readings; its base covariance is C + U of one part
    unit : (T, T) array, covariance U of what differs from part to part, dimensionless
    common : (T, T) array, covariance C of what the parts have in common, dimensionless
    excess : (T,) array
        Scatter of the parts over the expected scatter, at least 1, included in ``unit``, dimensionless.
    """

    test_indices: tuple[int, ...]
    residual: FloatArray
    signs: FloatArray
    case: Case
    unit: FloatArray
    common: FloatArray
    excess: FloatArray


@dataclass(frozen=True)
class Pool:
    """Several parts as one reading.

    Attributes
    ----------
    mean : (T,) array, mean ȳ, dimensionless (rad for a phase)
    information : (T, T) array, J, dimensionless
    doubt : (T, T) array, covariance J⁻¹, dimensionless
    moment : (T,) array, J ȳ, dimensionless
    """

    mean: FloatArray
    information: FloatArray
    doubt: FloatArray
    moment: FloatArray


def lot_of(
    background: Background, case: Case, rows: Sequence[Sequence[ReadTest]], built: FloatArray | None = None
) -> PooledLot:
    """Parts as a lot.

    Parameters
    ----------
    background : Background, prediction, sensitivities and covariance of the design as drawn
    case : Case, one part on which every test counts as read that was read on any part
    rows : Sequence[Sequence[ReadTest]], what was read on each part
    built : (T, T) array or None, optional
        Covariance of what differs from part to part in building, all tests of the design, as from
        ``built_covariance``, dimensionless; None for first order, from ``background``.
    """
    tests, test_indices = case.tests, case.test_indices
    column = {test_index: number for number, test_index in enumerate(test_indices)}
    values = np.full((len(rows), len(test_indices)), np.nan)
    doubts = np.ones(values.shape)
    for number, row in enumerate(rows):
        for item in row:
            if item.value is not None and item.uncertainty is not None:
                values[number, column[item.test_index]] = item.value
                doubts[number, column[item.test_index]] = item.uncertainty
    gone = np.isnan(values)
    none = sign_untold(values, doubts, background.signs[list(test_indices)])
    sizes = clear_of_zero(np.where(none, 0.0, values), doubts, background.nominal[list(test_indices)])
    y = transform(tests, np.where(gone, 1.0, np.where(case.frame.phase, values, sizes)))
    residual = wrapped(tests, y - case.frame.nominal)
    signs = np.where(values == 0, 1.0, np.sign(values)) != background.signs[list(test_indices)]
    signs = np.where(gone | none | case.frame.phase, 0.0, signs).astype(float)
    residual[gone] = np.nan
    for number in np.flatnonzero(case.frame.phase).tolist():
        residual[:, number] = _around(residual[:, number])
    plain = _linear(background.of(test_indices))
    rest = _reading(case)
    unit = rest + (plain if built is None else built[np.ix_(test_indices, test_indices)])
    excess = _excess(residual, np.sqrt(np.diag(unit)))
    return PooledLot(
        test_indices=test_indices,
        residual=residual,
        signs=signs,
        case=case,
        unit=unit * np.outer(excess, excess),
        common=case.base - plain - rest,
        excess=excess,
    )


def _around(angles: FloatArray) -> FloatArray:
    """Angles (rad, NaN if missing) around their middle, so that angles on both sides of ±π stay together."""
    middle = np.angle(np.nanmean(np.exp(1j * angles)))
    return np.asarray(middle + np.angle(np.exp(1j * (angles - middle))))


def _linear(background: Background) -> FloatArray:
    """Covariance (T, T) of what differs in building, to first order."""
    share = np.array([shares_of(name).unit for name in background.names])
    weighted = background.sensitivity * np.sqrt(share)[:, None]
    return np.asarray(weighted.T @ weighted)


def _reading(case: Case) -> FloatArray:
    """Covariance (T, T) of the residual's unit part, of re-connection, and of what is below the meter's
    floor."""
    extra = np.array([RESIDUAL[test.measure] for test in case.tests])
    random = np.array([REPEATABILITY.get(test.measure, REPEATABILITY["default"]) for test in case.tests])
    once = case.frame.same.sum(axis=1) < 1.5
    hidden = (case.meter > HIDDEN) & once & ~case.frame.phase
    random = np.where(hidden, case.meter, np.minimum(random, case.meter))
    return np.asarray(RESIDUAL_UNIT * case.frame.same * np.outer(extra, extra) + np.diag(random**2))


@functools.lru_cache(maxsize=8)
def built_covariance(design: Design) -> FloatArray:
    """Covariance of the transformed readings of parts that differ only in building (unit shares).

    Found from ``BUILDS`` random builds, because a winding that is off centre raises a leakage in either
    direction, an effect of second order only. The standard error of a variance is 10 %.

    Parameters
    ----------
    design : Design

    Returns
    -------
    (T, T) array, covariance over all tests of the design, dimensionless (rad² for a phase)
    """
    chosen = parameters(design)
    z = np.random.default_rng(1).standard_normal((BUILDS, len(chosen)))
    size = np.sqrt([shares_of(item.name).unit for item in chosen])
    some = design
    for number, item in enumerate(chosen):
        if size[number] > 0:
            some = item.change(some, size[number] * z[:, number])
    y = transform(design.tests, np.broadcast_to(readings(some), (BUILDS, len(design.tests))))
    return np.asarray(np.atleast_2d(np.cov(wrapped(design.tests, y - y[0]), rowvar=False)))


def _excess(residual: FloatArray, expected: FloatArray) -> FloatArray:
    """Robust standard deviation (T,) of the parts over the expected one, at least 1.

    1.4826 × the median distance from the median. With many parts the tails count too, as far as a few
    outliers leave them undisturbed: the distance that 95 % do not reach over 1.96, and 99 % over 2.576
    (normal distribution).
    """
    result = np.ones(len(expected))
    for number, sd in enumerate(expected):
        there = residual[~np.isnan(residual[:, number]), number]
        count = len(there)
        if count >= ENOUGH_TO_SCATTER:
            away = np.abs(there - np.median(there))
            levels = {0.5: 0.6745} | ({0.95: 1.960} if count >= 100 else {})
            levels |= {0.99: 2.576} if count >= 1000 else {}
            spread = max(float(np.quantile(away, level)) / z for level, z in levels.items())
            result[number] = max(1.0, spread / sd)
    return result


def reading_patterns(residual: FloatArray) -> Iterator[tuple[NDArray[np.int64], NDArray[np.int64]]]:
    """Parts grouped by the set of tests that was read on them; parts without any reading are left out.

    Parameters
    ----------
    residual : (N, T) array, transformed readings less prediction, NaN if missing, dimensionless

    Yields
    ------
    (n,) int array, (t,) int array, indices of the parts in the group, and of the tests read on them
    """
    there = ~np.isnan(residual)
    kinds, kind = np.unique(there, axis=0, return_inverse=True)
    for number, row in enumerate(kinds):
        if np.any(row):
            yield np.flatnonzero(np.ravel(kind) == number), np.flatnonzero(row)


def pool(residual: FloatArray, unit: FloatArray) -> Pool:
    """Parts as one reading. Every test must have been read on at least one of them.

    Parameters
    ----------
    residual : (N, T) array, transformed readings less prediction, NaN if missing, dimensionless
    unit : (T, T) array, covariance U of what differs from part to part, dimensionless
    """
    size = len(unit)
    information, moment = np.zeros((size, size)), np.zeros(size)
    for parts, tests in reading_patterns(residual):
        weight = np.linalg.inv(unit[np.ix_(tests, tests)])
        information[np.ix_(tests, tests)] += len(parts) * weight
        moment[tests] += weight @ residual[np.ix_(parts, tests)].sum(axis=0)
    doubt = np.linalg.inv(information)
    return Pool(doubt @ moment, information, (doubt + doubt.T) / 2, moment)


def everything_read(tests: Sequence[BenchTest], rows: Sequence[Sequence[ReadTest]]) -> tuple[ReadTest, ...]:
    """One row with every test that was read on any part.

    Its uncertainty is the root mean square over the parts (relative; absolute for a phase), its value that
    of the first part. A reading far below those of most parts (``FAR_BELOW``; a zero) does not count: the
    meter's floor, relative to such a reading, says nothing about the others.

    Parameters
    ----------
    tests : Sequence[BenchTest], tests of the design
    rows : Sequence[Sequence[ReadTest]], what was read on each part

    Returns
    -------
    tuple[ReadTest, ...], one entry for each test that was read
    """
    read: dict[int, list[ReadTest]] = {}
    for row in rows:
        for item in row:
            if item.value is not None and item.uncertainty is not None:
                read.setdefault(item.test_index, []).append(item)
    result = []
    for test_index in sorted(read):
        sizes = np.array([max(abs(item.value or 0.0), LEAST) for item in read[test_index]])
        doubts = np.array([item.uncertainty for item in read[test_index]], float)
        if tests[test_index].measure == "phase":
            sizes = np.ones(len(sizes))
        usual = np.flatnonzero(sizes >= FAR_BELOW * np.median(sizes))
        doubt = sizes[usual[0]] * np.sqrt(np.mean(np.square(doubts[usual] / sizes[usual])))
        result.append(
            ReadTest(
                test_index=test_index,
                value=read[test_index][usual[0]].value,
                uncertainty=float(doubt),
                repeats=1,
            )
        )
    return tuple(result)


def pooled_case(lot: PooledLot, kept: NDArray[np.bool_]) -> tuple[Case, NDArray[np.int64]]:
    """The mean of several parts as one case, with covariance C + J⁻¹ and the signs of most parts.

    Parameters
    ----------
    lot : PooledLot
    kept : (N,) bool array, which parts count

    Returns
    -------
    Case, the case
    (t,) array, columns of the lot that are in it, indices
    """
    columns = np.flatnonzero(np.any(~np.isnan(lot.residual[kept]), axis=0))
    square = np.ix_(columns, columns)
    pooled = pool(lot.residual[kept][:, columns], lot.unit[square])
    small = lot.case.frame.of(columns, lot.common[square] + pooled.doubt)
    there = ~np.isnan(lot.residual[kept][:, columns])
    wrong = lot.signs[kept][:, columns].sum(axis=0) > 0.5 * there.sum(axis=0)
    case = Case(
        frame=small,
        test_indices=tuple(lot.test_indices[number] for number in columns),
        y=small.nominal + pooled.mean,
        residual=wrapped(small.tests, pooled.mean),
        signs=wrong.astype(float),
        meter=lot.case.meter[columns],
    )
    return case, columns
