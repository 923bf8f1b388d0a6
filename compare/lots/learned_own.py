"""What known-good samples taught of pairs of windings and of single readings.

The readings fix the model's whole error in a reading, what all of its kind share and what is its own, better
than either part. So its uncertainty is that of the sum, which takes the place of both. With K the covariance
of the sums after the samples were read, a pair of windings has of a leakage what its sides have in common,
the mean of K off the diagonal; a side the rest of K on it. Where one side alone was read the pair has the
part that it had before.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ...predict.design import FloatArray
from ...predict.production import SHARED, ReadingError
from .learned import LearnedOwn

LEAST_LEARNED = 0.05
"""A factor is learned where the readings take at least so much of its standard uncertainty away."""
KNOWN_TO = 1e-4
"""No reading is known better than this, relative (judged)."""


@dataclass(frozen=True)
class FactorPosterior:
    """(F,) mean and (F, F) covariance of factors in units of their prior; alone : (F, T) part of the variance
    that each reading takes away by itself."""

    mean: FloatArray
    covariance: FloatArray
    alone: FloatArray


def learned_of_own(
    errors: Sequence[ReadingError],
    effect: FloatArray,
    keys: Sequence[str],
    shared: FloatArray,
    found: FactorPosterior,
) -> tuple[LearnedOwn, ...]:
    """Each error of a pair or reading that the samples bear on.

    effect : (E, T) of each error. keys, shared : of [calibration], with their effects (F, T). found : of
    these F factors and then the E errors.
    """
    result = []
    for kind in dict.fromkeys(error.of.split()[0] for error in errors):
        mine = [number for number, error in enumerate(errors) if error.of.split()[0] == kind]
        key = SHARED.get(kind, "").removeprefix("model_")
        common = [keys.index(key)] if key in keys else []
        rows = [*common, *(len(keys) + number for number in mine)]
        part = np.concatenate([shared[common], effect[mine]])
        before, left = part.T @ part, part.T @ found.covariance[np.ix_(rows, rows)] @ part
        own = {errors[number].of: effect[number] for number in mine}
        for number in mine:
            of, at = errors[number].of, np.flatnonzero(effect[number])
            if not len(at):
                continue
            after, prior = (math.sqrt(_variance(of, own, sums, before)) for sums in (left, before))
            if after <= (1 - LEAST_LEARNED) * prior:
                mean = float(found.mean[len(keys) + number])
                factor = math.exp(float(effect[number][at].mean()) * mean)
                result.append(LearnedOwn(of, factor, after, prior, mean))
    return tuple(result)


def _variance(of: str, own: Mapping[str, FloatArray], sums: FloatArray, before: FloatArray) -> float:
    """Of the error ``of``: its part of the covariance ``sums`` (T, T) of the model's whole errors; ``own``:
    effects (T,) of all of this kind; ``before``: that covariance before anything was read."""
    at = np.flatnonzero(own[of])
    whole = float(sums.diagonal()[at].mean())
    pairs = [np.flatnonzero(effect) for name, effect in own.items() if "|" in name]
    pair = next((columns for columns in pairs if at[0] in columns), None)
    if not of.startswith("leakage") or pair is None:
        return max(whole, KNOWN_TO**2)
    if len(pair) > 1:
        inside = sums[np.ix_(pair, pair)]
        both = float(inside[~np.eye(len(pair), dtype=bool)].mean())
    else:
        sides = sum(float(effect[pair[0]]) ** 2 for name, effect in own.items() if ">" in name)
        both = float(sums[pair[0], pair[0]]) * (1 - sides / float(before[pair[0], pair[0]]))
    return max(both if "|" in of else whole - both, KNOWN_TO**2)
