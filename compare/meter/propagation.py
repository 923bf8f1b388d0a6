"""Uncertainty of values computed from readings: the law of propagation, and distributions by Monte Carlo.

Law of propagation for y = f(x) with covariance U_x: U_y = J U_x Jᵀ, J = ∂f/∂x at the estimates (JCGM 100,
5.2; JCGM 102, 6.2). If f is curved within the uncertainty of x, the distributions themselves are
propagated (JCGM 101): draws of x through f, and quantiles of the results.

Source: JCGM 100:2008 (GUM), JCGM 101:2008 (Supplement 1), JCGM 102:2011 (clause numbers from memory).
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
of the curvature within one standard uncertainty."""


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

    @property
    def correlation(self) -> FloatArray:
        """Correlation matrix (m, m), dimensionless; 0 for a quantity that is known exactly."""
        scale = np.outer(self.uncertainty, self.uncertainty)
        return np.asarray(np.divide(self.covariance, scale, out=np.zeros_like(scale), where=scale > 0))


def propagate(model: Model, value: ArrayLike, covariance: ArrayLike) -> Estimate:
    """Estimate of y = f(x) by the law of propagation, U_y = J U_x Jᵀ.

    Valid if f is nearly linear within the uncertainties, see ``curvature``.

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


def propagate_distributions(
    model: Model, draws: FloatArray, coverage: float = 0.95
) -> tuple[Estimate, FloatArray, FloatArray]:
    """Estimate and interval of y = f(x) by Monte Carlo.

    The interval is probabilistically symmetric. The error of the quantiles falls as 1/√M.

    Parameters
    ----------
    model : Model
        Function f, (..., n) → (..., m).
    draws : (M, n) array
        Draws from the joint distribution of the inputs, SI.
    coverage : float, optional
        Probability inside the interval, dimensionless.

    Returns
    -------
    Estimate
        Mean and covariance.
    (m,) array
        Lower end, the quantile (1 − coverage)/2, SI.
    (m,) array
        Upper end, the quantile (1 + coverage)/2, SI.

    References
    ----------
    JCGM 101, clause 7.
    """
    images = np.asarray(model(draws), float)
    low, high = np.quantile(images, [(1 - coverage) / 2, (1 + coverage) / 2], axis=0)
    covariance = np.atleast_2d(np.cov(images, rowvar=False))
    return Estimate(images.mean(axis=0), covariance), low, high


def curvature(model: Model, value: ArrayLike, covariance: ArrayLike) -> FloatArray:
    """How far f bends within the uncertainties of its inputs.

    The mean of f over ±u of one input less f itself, in magnitude and over u(y); the largest of all
    inputs. Below about 0.1 the law of propagation is good enough; above that use
    ``propagate_distributions``.

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
    (m,) array
        Bend over standard uncertainty, dimensionless.
    """
    x = np.asarray(value, float)
    matrix = _matrix(covariance)
    step = np.sqrt(np.diagonal(matrix))
    here = np.asarray(model(x), float)
    both = np.asarray(model(x + np.diag(step)), float) + np.asarray(model(x - np.diag(step)), float)
    bend = np.max(np.abs(both / 2 - here), axis=0)
    scale = propagate(model, x, matrix).uncertainty
    return np.asarray(np.divide(bend, scale, out=np.zeros_like(bend), where=scale > 0))


def _matrix(covariance: ArrayLike) -> FloatArray:
    given = np.asarray(covariance, float)
    return np.diag(given**2) if given.ndim == 1 else given
