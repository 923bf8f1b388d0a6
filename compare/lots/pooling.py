"""Many parts of one lot as one equivalent reading: what they have in common, and what differs from part to
part.

    y_i = t + e_i        t ~ N(δ, C)  the same in all parts,  e_i ~ N(0, U)  each part's own

C + U is the covariance of one part (``covariances``): design and lot shares of every tolerance, the meter's
calibration and half of the residual are in C (``tolerance_shares``), the rest and re-connection in U. For any
set of readings per part (S_i picks those that were read),

    J = Σ S_iᵀ U_i⁻¹ S_i        ȳ = J⁻¹ Σ S_iᵀ U_i⁻¹ y_i        p(y | δ) ∝ N(ȳ; δ, C + J⁻¹)

exactly, with a factor that does not hang on δ nor on C: all that the parts say of what they share is in ȳ.
The cost grows with the number of different sets, not of parts.
"""

from __future__ import annotations

import functools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ...predict.circuit import readings
from ...predict.design import BenchTest, Design, FloatArray
from ...predict.production import parameters, shares_of
from ..diagnosis import Case, clear_of_zero
from ..hypotheses import Background, transform, wrapped
from ..meter import REPEATABILITY
from ..readings import ReadTest
from ..verdict import RESIDUAL

RESIDUAL_UNIT = 0.5
"""Part of the residual's variance that differs from part to part (how wires happen to lie; common practice,
no source); the other part is the design's."""
FAR_BELOW = 1e-3
"""Share of the median of all parts below which a reading does not tell the meter's relative uncertainty."""
LEAST = 1e-18
"""Magnitude (SI) below which a reading counts as this one: its logarithm is taken (as in ``transform``)."""
BUILDS = 200
ENOUGH_TO_SCATTER = 10
"""Parts from which on their own scatter is taken where it is larger than expected."""


@dataclass(frozen=True, kw_only=True)
class PooledLot:
    """N parts, T tests, each read on one part or more.

    places : the tests, indices into the design's. residual : (N, T) transformed reading less prediction, NaN
    where it is missing. signs : (N, T) 1 where the sign is not the predicted one. case : a part with the mean
    of all, as if it were one; its base is the covariance C + U of one part. unit : (T, T) U.
    common : (T, T) C. excess : (T,) by how much the parts scatter more than expected (1: no more), inside
    ``unit``.
    """

    places: tuple[int, ...]
    residual: FloatArray
    signs: FloatArray
    case: Case
    unit: FloatArray
    common: FloatArray
    excess: FloatArray


@dataclass(frozen=True)
class Pool:
    """(T,) mean ȳ of some parts; information : (T, T) J; doubt : (T, T) J⁻¹."""

    mean: FloatArray
    information: FloatArray
    doubt: FloatArray
    moment: FloatArray


def lot_of(
    background: Background,
    case: Case,
    rows: Sequence[Sequence[ReadTest]],
    built: FloatArray | None = None,
) -> PooledLot:
    """The parts ``rows``; ``case``: one part on which every test counts as read that any of them has.

    built : covariance of what differs in building from part to part, all tests of the design, as
    ``built_covariance`` has it; None: to first order, from ``background``.
    """
    tests, places = case.tests, case.places
    column = {place: number for number, place in enumerate(places)}
    values = np.full((len(rows), len(places)), np.nan)
    doubts = np.ones(values.shape)
    for number, row in enumerate(rows):
        for item in row:
            if item.value is not None and item.uncertainty is not None:
                values[number, column[item.place]] = item.value
                doubts[number, column[item.place]] = item.uncertainty
    gone = np.isnan(values)
    sizes = clear_of_zero(values, doubts, background.nominal[list(places)])
    y = transform(tests, np.where(gone, 1.0, np.where(case.frame.phase, values, sizes)))
    residual = wrapped(tests, y - case.frame.nominal)
    signs = np.where(values == 0, 1.0, np.sign(values)) != background.signs[list(places)]
    signs = np.where(gone | case.frame.phase, 0.0, signs).astype(float)
    residual[gone] = np.nan
    for number in np.flatnonzero(case.frame.phase).tolist():
        residual[:, number] = _around(residual[:, number])
    plain = _linear(background.of(places))
    rest = _reading(case)
    unit = rest + (plain if built is None else built[np.ix_(places, places)])
    excess = _excess(residual, np.sqrt(np.diag(unit)))
    return PooledLot(
        places=places,
        residual=residual,
        signs=signs,
        case=case,
        unit=unit * np.outer(excess, excess),
        common=case.base - plain - rest,
        excess=excess,
    )


def _around(angles: FloatArray) -> FloatArray:
    """Angles (rad, NaN: none) around their middle, so that those on both sides of ±π stay together."""
    middle = np.angle(np.nanmean(np.exp(1j * angles)))
    return np.asarray(middle + np.angle(np.exp(1j * (angles - middle))))


def _linear(background: Background) -> FloatArray:
    """(T, T) of what differs in building, to first order."""
    share = np.array([shares_of(name).unit for name in background.names])
    own = background.sensitivity * np.sqrt(share)[:, None]
    return np.asarray(own.T @ own)


def _reading(case: Case) -> FloatArray:
    """(T, T) of the residual's unit part and of re-connection."""
    extra = np.array([RESIDUAL[test.measure] for test in case.tests])
    random = np.array([REPEATABILITY.get(test.measure, REPEATABILITY["default"]) for test in case.tests])
    random = np.minimum(random, case.meter)
    return np.asarray(RESIDUAL_UNIT * case.frame.same * np.outer(extra, extra) + np.diag(random**2))


@functools.lru_cache(maxsize=8)
def built_covariance(design: Design) -> FloatArray:
    """(T, T) of the transformed readings of parts that differ in building alone (unit shares): by ``BUILDS``
    random builds, as what is off centre either way raises a leakage, to second order only. All tests of the
    design. Standard error of a variance 10 %."""
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
    """(T,) robust standard deviation of the parts over the expected one, at least 1.

    1.4826 × the median distance from the median; of many parts the tails too, as small numbers of outliers
    leave them: the distance that 95 % do not reach over 1.96, 99 % over 2.576 (normal distribution).
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
    """(parts, tests) for every different set of tests that parts were read in; parts without any reading are
    in none."""
    there = ~np.isnan(residual)
    kinds, kind = np.unique(there, axis=0, return_inverse=True)
    for number, row in enumerate(kinds):
        if np.any(row):
            yield np.flatnonzero(np.ravel(kind) == number), np.flatnonzero(row)


def pool(residual: FloatArray, unit: FloatArray) -> Pool:
    """The parts (N, T) as one reading. Every test must be read on one of them."""
    size = len(unit)
    information, moment = np.zeros((size, size)), np.zeros(size)
    for parts, tests in reading_patterns(residual):
        weight = np.linalg.inv(unit[np.ix_(tests, tests)])
        information[np.ix_(tests, tests)] += len(parts) * weight
        moment[tests] += weight @ residual[np.ix_(parts, tests)].sum(axis=0)
    doubt = np.linalg.inv(information)
    return Pool(doubt @ moment, information, (doubt + doubt.T) / 2, moment)


def everything_read(tests: Sequence[BenchTest], rows: Sequence[Sequence[ReadTest]]) -> tuple[ReadTest, ...]:
    """One row that holds every one of ``tests`` that any part was read in, with the uncertainty of all in the
    root mean square (relative, of phases absolute) and the first part's value.

    A reading far below those of most parts (``FAR_BELOW``; a zero) has no part in it: the meter's floor,
    relative to it, says nothing of the others.
    """
    read: dict[int, list[ReadTest]] = {}
    for row in rows:
        for item in row:
            if item.value is not None and item.uncertainty is not None:
                read.setdefault(item.place, []).append(item)
    result = []
    for place in sorted(read):
        sizes = np.array([max(abs(item.value or 0.0), LEAST) for item in read[place]])
        doubts = np.array([item.uncertainty for item in read[place]], float)
        if tests[place].measure == "phase":
            sizes = np.ones(len(sizes))
        usual = np.flatnonzero(sizes >= FAR_BELOW * np.median(sizes))
        doubt = sizes[usual[0]] * np.sqrt(np.mean(np.square(doubts[usual] / sizes[usual])))
        result.append(
            ReadTest(place=place, value=read[place][usual[0]].value, uncertainty=float(doubt), repeats=1)
        )
    return tuple(result)


def pooled_case(lot: PooledLot, kept: NDArray[np.bool_]) -> tuple[Case, NDArray[np.int64]]:
    """(case of the mean of the parts ``kept``, columns of the lot that are in it): its covariance is C +
    J⁻¹, its signs those of most parts."""
    columns = np.flatnonzero(np.any(~np.isnan(lot.residual[kept]), axis=0))
    square = np.ix_(columns, columns)
    one = pool(lot.residual[kept][:, columns], lot.unit[square])
    base = lot.common[square] + one.doubt
    frame = lot.case.frame
    small = replace(
        frame,
        tests=tuple(frame.tests[number] for number in columns),
        nominal=frame.nominal[columns],
        base=base,
        anchor=frame.anchor[columns],
        zeta=frame.zeta[columns],
        phase=frame.phase[columns],
        same=frame.same[square],
        again=frame.again if len(columns) == len(frame.tests) else (),
    )
    there = ~np.isnan(lot.residual[kept][:, columns])
    wrong = lot.signs[kept][:, columns].sum(axis=0) > 0.5 * there.sum(axis=0)
    case = Case(
        frame=small,
        places=tuple(lot.places[number] for number in columns),
        y=frame.nominal[columns] + one.mean,
        residual=wrapped(small.tests, one.mean),
        signs=wrong.astype(float),
        meter=lot.case.meter[columns],
    )
    return case, columns
