"""What the surviving hypotheses expect of every reading that may be made next.

Under each of them all readings of a part, those made and those to come, are jointly normal
(``covariances``); those to come follow by conditioning on what was read.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ...predict.design import FloatArray
from ..hypotheses import Inquiry, nameless, phases, wrapped
from .covariances import covariance_under, frame_of
from .survivors import Survivor
from .weighing import Case, log_density

FREE = 1e2
"""Variance of a reading that is worthless (judged: any number far above a reading's variance serves)."""


@dataclass(frozen=True, kw_only=True)
class Prospect:
    """K survivors and C candidates (columns of the inquiry).

    Attributes
    ----------
    survivors : tuple[Survivor, ...]
    columns : tuple[int, ...], columns of the candidates, index
    mean : (K, C) array
        Mean of each candidate given the readings, transformed, dimensionless (rad for a phase).
    variance : (K, C) array, its variance, dimensionless
    spread : (C, C) array, mean covariance of the candidates given the readings, dimensionless
    apart : (K, K) array
        Distances of the survivors in the tests that were read, in standard deviations, dimensionless.
    values : (K, C) array, predicted displays, SI (rad for a phase)
    efforts : (C,) array, effort of each candidate relative to one plain reading, dimensionless
    """

    survivors: tuple[Survivor, ...]
    columns: tuple[int, ...]
    mean: FloatArray
    variance: FloatArray
    spread: FloatArray
    apart: FloatArray
    values: FloatArray
    efforts: FloatArray

    @property
    def share(self) -> FloatArray:
        """Probabilities (K,), sum 1, dimensionless."""
        share = np.array([survivor.probability for survivor in self.survivors])
        return np.asarray(share / share.sum())

    def of(self, rows: Sequence[int]) -> Prospect:
        """The same for some of the survivors, by index."""
        index = list(rows)
        return replace(
            self,
            survivors=tuple(self.survivors[row] for row in index),
            mean=self.mean[index],
            variance=self.variance[index],
            apart=self.apart[np.ix_(index, index)],
            values=self.values[index],
        )


def prospect_of(
    inquiry: Inquiry, case: Case, ahead: Sequence[int], survivors: Sequence[Survivor]
) -> Prospect:
    """What every survivor expects of the candidates, given the readings.

    Parameters
    ----------
    inquiry : Inquiry, hypotheses and what each of them predicts
    case : Case, the readings of one sample in the transformed space
    ahead : Sequence[int], columns of the candidates, index
    survivors : Sequence[Survivor], the surviving hypotheses
    """
    columns = [*case.test_indices, *ahead]
    known = len(case.test_indices)
    tests = tuple(inquiry.tests[column] for column in columns)
    background = inquiry.background.of(columns)
    stages = [inquiry.staged[column] for column in columns]
    meter_of = dict(zip((nameless(test) for test in case.tests), case.meter, strict=True))
    meter = inquiry.meter[columns].copy()
    for index, (test, stage) in enumerate(zip(tests, stages, strict=True)):
        meter[index] = meter_of.get(nameless(test) if stage is None else stage.test, meter[index])
    frame = frame_of(tests, background, meter, stages, inquiry.response[columns])
    shift, anchor, flips, doubt = (
        np.stack([getattr(survivor, name)[columns] for survivor in survivors])
        for name in ("shift", "anchor", "flips", "doubt")
    )
    whole = covariance_under(frame, shift, anchor, doubt=doubt)
    for row, survivor in enumerate(survivors):
        if survivor.freed is not None:
            whole[row, survivor.freed, survivor.freed] += FREE
    inside = whole[:, :known, :known]
    across = whole[:, known:, :known]
    gain = np.swapaxes(np.linalg.solve(inside, np.swapaxes(across, 1, 2)), 1, 2)
    residual = wrapped(case.tests, case.residual - shift[:, :known])
    mean = background.nominal[known:] + shift[:, known:] + np.einsum("kcr,kr->kc", gain, residual)
    left = whole[:, known:, known:] - gain @ np.swapaxes(across, 1, 2)
    variance = np.maximum(np.diagonal(left, axis1=1, axis2=2), 1e-12)
    share = np.array([survivor.probability for survivor in survivors])
    difference = wrapped(case.tests, shift[:, None, :known] - shift[None, :, :known])
    squares = -2 * (log_density(difference, inside[:, None]) - log_density(0 * difference, inside[:, None]))
    signs = background.signs[known:] * (1.0 - 2.0 * flips[:, known:])
    return Prospect(
        survivors=tuple(survivors),
        columns=tuple(ahead),
        mean=mean,
        variance=variance,
        spread=np.einsum("k,kij->ij", share / share.sum(), left),
        apart=np.sqrt(np.maximum(squares, 0.0)),
        values=np.where(phases(tests[known:]), mean, np.exp(mean) * signs),
        efforts=inquiry.efforts[list(ahead)],
    )
