"""What a test is to read, and how probable it is that a build reads it.

Readings y are positive and scatter by factors, so all is computed in their logarithms. Of one build with the
nominal reading ln μ and the standard deviation σ of its logarithm in production, the part that lies between
a and b is

    P = Φ((ln b − ln μ)/σ) − Φ((ln a − ln μ)/σ),

and of several tests, as if they strayed independently, the product of these: smooth however far a build is
from its aims, which is what a search needs (``log_yield``). What is told a user counts random builds, whose
tests stray together (``share_met``, ``met``).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.special import log_ndtr

from ...predict.design import FloatArray

TOLERANCE = 0.05
"""Relative tolerance of an aim that states none (common practice for a first aim, no source; an aim may state
its own)."""
_FARTHEST = 1e9
"""What stands for an infinite number of standard deviations (exact for every normal distribution: its tail is
zero there)."""


@dataclass(frozen=True)
class Aim:
    """What a test is to read.

    Attributes
    ----------
    test : str
        Name of the test.
    sense : {"=", "<=", ">="}
        Whether the reading is to be near the value, at most or at least that.
    value : float
        Reading that is aimed at, or its limit, SI.
    tolerance : float
        For "=" the deviation that is allowed to either side, SI.
    """

    test: str
    sense: Literal["=", "<=", ">="]
    value: float
    tolerance: float = 0.0

    @property
    def low(self) -> float:
        """The lowest reading that meets it, SI."""
        return {"=": self.value - self.tolerance, "<=": -math.inf, ">=": self.value}[self.sense]

    @property
    def high(self) -> float:
        """The highest reading that meets it, SI."""
        return {"=": self.value + self.tolerance, "<=": self.value, ">=": math.inf}[self.sense]


def bounds(aims: Sequence[Aim]) -> FloatArray:
    """Logarithms of the lowest and the highest reading in SI that meet each of T aims, (2, T); infinite where
    there is no limit."""
    low = [math.log(aim.low) if aim.low > 0 else -math.inf for aim in aims]
    high = [math.log(aim.high) if aim.high < math.inf else math.inf for aim in aims]
    return np.array([low, high])


def log_yield(logs: FloatArray, aims: Sequence[Aim], sigma: FloatArray) -> FloatArray:
    """Logarithm of the part of production that meets all aims, tests taken as independent.

    Parameters
    ----------
    logs : FloatArray, shape (C, T), logarithms of nominal readings in SI; NaN where there is none
    aims : sequence of Aim, T aims
    sigma : FloatArray, shape (T,), standard deviations of the logarithms in production, dimensionless

    Returns
    -------
    FloatArray, shape (C,), logarithms of parts, dimensionless; −∞ where a reading is missing
    """
    low, high = bounds(aims)
    with np.errstate(invalid="ignore"):
        a = np.clip((low - logs) / sigma, -_FARTHEST, _FARTHEST)
        b = np.clip((high - logs) / sigma, -_FARTHEST, _FARTHEST)
    turned = a > 0  # in the upper tail the complements are the numbers that do not cancel
    a, b = np.where(turned, -b, a), np.where(turned, -a, b)
    upper = log_ndtr(b)
    with np.errstate(invalid="ignore", divide="ignore"):
        part = upper + np.log1p(-np.exp(np.minimum(log_ndtr(a) - upper, 0.0)))
    total = np.sum(part, axis=-1)
    return np.asarray(np.where(np.isfinite(total), total, -np.inf))


def share_met(logs: FloatArray, aims: Sequence[Aim], deviations: FloatArray) -> FloatArray:
    """Part of random builds that meets all aims, if they stray alike around other nominal readings.

    Parameters
    ----------
    logs : FloatArray, shape (C, T), logarithms of nominal readings in SI
    aims : sequence of Aim, T aims
    deviations : FloatArray, shape (B, T)
        Logarithms of random builds' readings over the nominal ones, dimensionless.

    Returns
    -------
    FloatArray, shape (C,), parts, relative, 0 … 1
    """
    low, high = bounds(aims)
    met = np.ones((len(logs), len(deviations)), bool)
    for test in range(logs.shape[1]):
        reading = logs[:, test, None] + deviations[None, :, test]
        met &= (reading >= low[test]) & (reading <= high[test])
    return np.asarray(np.mean(met, axis=1))


def met(samples: FloatArray, aims: Sequence[Aim]) -> NDArray[np.bool_]:
    """Which readings of random builds meet each aim.

    Parameters
    ----------
    samples : FloatArray, shape (B, T), readings, SI
    aims : sequence of Aim, T aims

    Returns
    -------
    NDArray[np.bool_], shape (B, T), whether they do
    """
    low, high = np.array([aim.low for aim in aims]), np.array([aim.high for aim in aims])
    return np.asarray((samples >= low) & (samples <= high))
