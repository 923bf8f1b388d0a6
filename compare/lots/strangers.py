"""Samples of a lot seen from the others: how far each lies from what they predict of it.

    y_i | others ~ N(m, Λ⁻¹ + U + ¼ C),    Λ = (C + W)⁻¹ + J_others

C : covariance of what a lot has in common, ¼ of it as the sample may be of another reel or core lot; U : of
what differs from part to part; J_others : information of the others' readings; W broad, so that what all
share, whatever it is, takes no part in the comparison.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import chdtrc

from ...predict.design import FloatArray
from .pooling import PooledLot, pool, reading_patterns

BROAD = 0.8
"""Standard deviation, in the logarithm, of whatever all samples may share while they are compared with each
other."""
OTHER_LOT = 0.25
"""Part of the variance common to a lot by which one sample may still differ honestly: of another reel, core
lot or day than the others (judged)."""
SCREEN, SCREEN_LOT = 1e-3, 0.05
"""Chance of an honest sample to be looked at as one that differs; of a whole honest lot to hold such a
one."""


@dataclass(frozen=True)
class Stranger:
    """A sample seen from the others: row of the lot, columns that it was read in, its distance and that
    distance's chance, its residual against what the others predict, with covariance."""

    row: int
    columns: NDArray[np.int64]
    distance: float
    residual: FloatArray
    covariance: FloatArray


def strangers(lot: PooledLot, kept: NDArray[np.bool_]) -> list[Stranger]:
    """The samples ``kept`` that lie further from the others than ``SCREEN`` and ``SCREEN_LOT`` allow, the
    furthest first."""
    rows = np.flatnonzero(kept)
    allowed = min(SCREEN, SCREEN_LOT / len(rows))
    usual = np.median(lot.signs[rows], axis=0)
    seen = seen_by_others(lot, kept, rows)
    chances = np.asarray(chdtrc([len(item.columns) for item in seen], [item.distance for item in seen]))
    turned = np.any((lot.signs[rows] != usual) & ~np.isnan(lot.residual[rows]), axis=1) & (len(rows) > 2)
    otherwise = set(rows[turned].tolist())
    found = [
        item for item, chance in zip(seen, chances, strict=True) if chance < allowed or item.row in otherwise
    ]
    return sorted(found, key=lambda item: -item.distance)


def seen_by_others(lot: PooledLot, kept: NDArray[np.bool_], rows: NDArray[np.int64]) -> list[Stranger]:
    """The samples ``rows`` as those ``kept`` (without the sample itself) predict them."""
    information, moment = pool_of(lot, kept)
    prior = np.linalg.inv(lot.common + BROAD**2 * lot.case.frame.same + 1e-12 * np.eye(len(lot.unit)))
    found = []
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
            found += [
                Stranger(int(some[part]), columns, float(distance[place]), gap[place], covariance)
                for place, part in enumerate(parts.tolist())
            ]
    return found


def pool_of(lot: PooledLot, kept: NDArray[np.bool_]) -> tuple[FloatArray, FloatArray]:
    """((T, T) J, (T,) moment) of the samples ``kept`` in all columns of the lot."""
    size = len(lot.unit)
    information, moment = np.zeros((size, size)), np.zeros(size)
    rows = lot.residual[kept]
    columns = np.flatnonzero(np.any(~np.isnan(rows), axis=0))
    square = np.ix_(columns, columns)
    found = pool(rows[:, columns], lot.unit[square])
    information[square], moment[columns] = found.information, found.moment
    return information, moment
