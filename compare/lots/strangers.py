"""Samples of a lot as the others see them: how far each lies from what the others predict for it.

    y_i | others ~ N(m, Λ⁻¹ + U + ¼ C),    Λ = (C + W)⁻¹ + J_others

C is the covariance of what a lot has in common; a quarter of it is added because the sample may be from
another reel or core lot. U is that of what differs from part to part, J_others the information in the
others' readings. W is so broad that anything all samples share drops out of the comparison.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import chdtrc

from ...predict.design import FloatArray
from .pooling import PooledLot, pool, reading_patterns

BROAD = 0.8
"""Standard deviation, in the logarithm, allowed for anything that all samples share while they are compared
with each other (judged; no data behind it)."""
OTHER_LOT = 0.25
"""Fraction of the variance common to a lot by which one sample may still differ without a fault: from another
reel, core lot or day than the others (judged)."""
SCREEN, SCREEN_LOT = 1e-3, 0.05
"""Chance that a good sample is examined as one that differs, and that a whole good lot holds such a sample
(judged; no data behind it)."""


@dataclass(frozen=True)
class Stranger:
    """A sample as the others see it.

    Attributes
    ----------
    row : int, row of the lot, index
    columns : (t,) array, columns of the lot that were read on it, index
    distance : float, squared Mahalanobis distance from the prediction, dimensionless
    residual : (t,) array
        Reading less what the others predict, in the logarithm, dimensionless (rad for a phase).
    covariance : (t, t) array, covariance of ``residual``, dimensionless
    """

    row: int
    columns: NDArray[np.int64]
    distance: float
    residual: FloatArray
    covariance: FloatArray


def strangers(lot: PooledLot, kept: NDArray[np.bool_]) -> list[Stranger]:
    """Samples further from the others than ``SCREEN`` and ``SCREEN_LOT`` allow, the furthest first.

    Parameters
    ----------
    lot : PooledLot
    kept : (N,) bool array, which samples count
    """
    rows = np.flatnonzero(kept)
    allowed = min(SCREEN, SCREEN_LOT / len(rows))
    usual = np.median(lot.signs[rows], axis=0)
    seen = seen_by_others(lot, kept, rows)
    chances = np.asarray(chdtrc([len(item.columns) for item in seen], [item.distance for item in seen]))
    turned = np.any((lot.signs[rows] != usual) & ~np.isnan(lot.residual[rows]), axis=1) & (len(rows) > 2)
    otherwise = set(rows[turned].tolist())
    apart = [
        item for item, chance in zip(seen, chances, strict=True) if chance < allowed or item.row in otherwise
    ]
    return sorted(apart, key=lambda item: -item.distance)


def seen_by_others(lot: PooledLot, kept: NDArray[np.bool_], rows: NDArray[np.int64]) -> list[Stranger]:
    """Samples as the kept ones predict them; a kept sample does not predict itself.

    Parameters
    ----------
    lot : PooledLot
    kept : (N,) bool array, which samples predict
    rows : (n,) array, rows of the samples that are predicted, index
    """
    information, moment = _pool_of(lot, kept)
    prior = np.linalg.inv(lot.common + BROAD**2 * lot.case.frame.same + 1e-12 * np.eye(len(lot.unit)))
    distances = []
    for inside in (True, False):
        some = rows[kept[rows] == inside]
        for parts, columns in reading_patterns(lot.residual[some]):
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
            distances += [
                Stranger(int(some[part]), columns, float(distance[index]), gap[index], covariance)
                for index, part in enumerate(parts.tolist())
            ]
    return distances


def _pool_of(lot: PooledLot, kept: NDArray[np.bool_]) -> tuple[FloatArray, FloatArray]:
    """Information J, (T, T), and moment J ȳ, (T,), of the samples that count, over all columns of the lot;
    dimensionless."""
    size = len(lot.unit)
    information, moment = np.zeros((size, size)), np.zeros(size)
    rows = lot.residual[kept]
    columns = np.flatnonzero(np.any(~np.isnan(rows), axis=0))
    square = np.ix_(columns, columns)
    pooled = pool(rows[:, columns], lot.unit[square])
    information[square], moment[columns] = pooled.information, pooled.moment
    return information, moment
