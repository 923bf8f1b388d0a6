"""Uncertainty of values computed from readings: the law of propagation.

Law of propagation for y = f(x) with covariance U_x: U_y = J U_x Jᵀ, J = ∂f/∂x at the estimates (JCGM 100,
5.2; JCGM 102, 6.2). It holds where f is nearly linear within the uncertainty of x.

Source: JCGM 100:2008 (GUM), JCGM 102:2011 (clause numbers from memory).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ...predict.design import FloatArray

Model = Callable[[FloatArray], FloatArray]
"""f: inputs (..., n) → outputs (..., m), over any leading axes."""

_STEP = 1e-3
"""Step of the numerical derivative, in standard uncertainties. The error of a central difference is then 1e-6
of the curvature within one standard uncertainty (exact: closed form of
 the difference's error)."""


@dataclass(frozen=True)
class Estimate:
    """m quantities with their covariance.

    Attributes
    ----------
    value : (m,) array
        Values, SI.
    covariance : (m, m) array
        Covariance, SI.
    """

    value: FloatArray
    covariance: FloatArray

    @property
    def uncertainty(self) -> FloatArray:
        """Standard uncertainties (m,), SI."""
        return np.sqrt(np.maximum(np.diagonal(self.covariance), 0.0))


def propagate(model: Model, value: ArrayLike, covariance: ArrayLike) -> Estimate:
    """Estimate of y = f(x) by the law of propagation, U_y = J U_x Jᵀ.

    Valid if f is nearly linear within the uncertainties; at a minimum or maximum of f it gives zero.

    Parameters
    ----------
    model : Model
        Function f, (..., n) → (..., m).
    value : (n,) array
        Inputs x, SI.
    covariance : (n, n) array
        Covariance U_x, or standard uncertainties (n,) of independent inputs, SI.

    Returns
    -------
    Estimate
        Estimate of y with the correlations between the outputs.

    References
    ----------
    JCGM 100, 5.2.
    """
    x = np.asarray(value, float)
    matrix = _matrix(covariance)
    step = _STEP * np.sqrt(np.diagonal(matrix))
    points = np.concatenate([x + np.diag(step), x - np.diag(step)])
    images = np.asarray(model(points), float)
    n = len(x)
    spread = images[:n] - images[n:]
    slopes = np.divide(spread, 2 * step[:, None], out=np.zeros_like(spread), where=step[:, None] > 0).T
    return Estimate(np.asarray(model(x), float), slopes @ matrix @ slopes.T)


def _matrix(covariance: ArrayLike) -> FloatArray:
    given = np.asarray(covariance, float)
    return np.diag(given**2) if given.ndim == 1 else given
