"""What known-good samples teach about pairs of windings and single readings.

The readings determine the model's total error in a reading (the part shared by its kind plus the part of
its own) better than either part. So the uncertainty given is that of the sum, and it replaces both. Let K
be the covariance of the sums after the samples were read. For a leakage, the pair of windings gets what
its two sides have in common, the mean of K off the diagonal; each side gets the rest of K. If only one
side was read, the pair keeps the part that it had before.
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
"""A factor is learned if the readings remove at least this fraction of its standard uncertainty (judged by
what a reader can take in; no verdict depends on it)."""
KNOWN_TO = 1e-4
"""Smallest relative uncertainty that any reading is given (judged)."""


@dataclass(frozen=True)
class FactorPosterior:
    """Posterior of factors, in units of their prior standard deviation.

    Attributes
    ----------
    mean : (F,) array, mean, dimensionless
    covariance : (F, F) array, covariance, dimensionless
    alone : (F, T) array, fraction of the variance that each reading removes on its own, dimensionless
    """

    mean: FloatArray
    covariance: FloatArray
    alone: FloatArray


def learned_of_own(
    errors: Sequence[ReadingError],
    effect: FloatArray,
    keys: Sequence[str],
    shared: FloatArray,
    posterior: FactorPosterior,
) -> tuple[LearnedOwn, ...]:
    """Errors of pairs and single readings that the samples bear on.

    Parameters
    ----------
    errors : Sequence[ReadingError], the E errors of pairs and readings
    effect : (E, T) array, change of the readings for one standard deviation of each error, dimensionless
    keys : Sequence[str], keys of [calibration], F of them
    shared : (F, T) array
        Change of the readings for one standard deviation of each key's factor, dimensionless.
    posterior : FactorPosterior, posterior of the F factors followed by the E errors
    """
    result = []
    for kind in dict.fromkeys(error.of.split()[0] for error in errors):
        mine = [number for number, error in enumerate(errors) if error.of.split()[0] == kind]
        key = SHARED.get(kind, "").removeprefix("model_")
        common = [keys.index(key)] if key in keys else []
        rows = [*common, *(len(keys) + number for number in mine)]
        part = np.concatenate([shared[common], effect[mine]])
        before, left = part.T @ part, part.T @ posterior.covariance[np.ix_(rows, rows)] @ part
        own_errors = {errors[number].of: effect[number] for number in mine}
        for number in mine:
            of, at = errors[number].of, np.flatnonzero(effect[number])
            if not len(at):
                continue
            after, prior = (math.sqrt(_variance(of, own_errors, sums, before)) for sums in (left, before))
            if after <= (1 - LEAST_LEARNED) * prior:
                mean = float(posterior.mean[len(keys) + number])
                factor = math.exp(float(effect[number][at].mean()) * mean)
                result.append(LearnedOwn(of, factor, after, prior, mean))
    return tuple(result)


def _variance(of: str, own_errors: Mapping[str, FloatArray], sums: FloatArray, before: FloatArray) -> float:
    """Share of the error ``of`` in ``sums``, the covariance (T, T) of the model's total errors.

    ``own_errors`` holds the effects (T,) of all errors of this kind, ``before`` that covariance before
    anything was read.
    """
    at = np.flatnonzero(own_errors[of])
    whole = float(sums.diagonal()[at].mean())
    pairs = [np.flatnonzero(effect) for name, effect in own_errors.items() if "|" in name]
    pair = next((columns for columns in pairs if at[0] in columns), None)
    if not of.startswith("leakage") or pair is None:
        return max(whole, KNOWN_TO**2)
    if len(pair) > 1:
        inside = sums[np.ix_(pair, pair)]
        both = float(inside[~np.eye(len(pair), dtype=bool)].mean())
    else:
        sides = sum(float(effect[pair[0]]) ** 2 for name, effect in own_errors.items() if ">" in name)
        both = float(sums[pair[0], pair[0]]) * (1 - sides / float(before[pair[0], pair[0]]))
    return max(both if "|" in of else whole - both, KNOWN_TO**2)
