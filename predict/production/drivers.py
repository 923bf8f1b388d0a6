"""What drives a reading: its variance over random builds, divided among the independent parameters."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..design import FloatArray

ROUNDING = 1e-12
"""A reading that scatters by no more than this part of itself counts as constant (rounding; judged)."""
JOINT = "joint effects"
"""The variance that neither a single parameter nor a pair that stands out explains."""
PAIR = "{} with {}"
_OUTSTANDING = 4.0
"""Standard deviations of chance by which the joint effect of a pair must stand out to be named (judged: one
in 16 000 by chance; no verdict depends on it)."""
LEAST_REST = 0.02
"""Pairs are looked for only where single parameters leave more than this part of the variance (judged by what
a reader can take in; no verdict depends on it)."""
_BUILDS_PER_TERM = 10


@dataclass(frozen=True)
class Driver:
    """The share of one parameter in the variance of a reading.

    Attributes
    ----------
    parameter : str, name of the parameter, of a pair, or ``JOINT``
    share : float, its share, 0 to 1, dimensionless
    """

    parameter: str
    share: float


def main_direction(
    z: FloatArray,
    samples: FloatArray,
    among: NDArray[np.bool_] | None = None,
    known: tuple[FloatArray, FloatArray] | None = None,
) -> FloatArray:
    """The linear part of each reading, in units of its own deviation: z along its slopes.

    It is normal with mean 0 and variance 1, whatever the slopes.

    Parameters
    ----------
    z : (B, P) array, parameters of the builds in standard deviations, dimensionless
    samples : (B, T) array, readings of the builds, SI
    among : (B,) array of bool or None, builds from which the slopes are taken; None: all
    known : ((B, E), (E, T)) arrays, or None
        Further normal variables that are not in ``samples``, dimensionless, and their slopes, SI.

    Returns
    -------
    (B, T) array, linear part, dimensionless; zeros where nothing moves the reading
    """
    if z.shape[1] == 0:
        return np.zeros_like(samples)
    some, chosen = (z, samples) if among is None else (z[among], samples[among])
    scatter = chosen - chosen.mean(axis=0)
    scatter = np.where(_still(chosen) | ~np.all(np.isfinite(chosen), axis=0), 0.0, scatter)
    slopes, _ = _least_squares(some - some.mean(axis=0), scatter)
    if known is not None:
        z, slopes = np.concatenate([z, known[0]], axis=1), np.concatenate([slopes, known[1]])
    length = np.linalg.norm(slopes, axis=0)
    return np.asarray(z @ np.where(length > 0, slopes / np.where(length > 0, length, 1.0), 0.0))


def _least_squares(basis: FloatArray, values: FloatArray) -> tuple[FloatArray, FloatArray]:
    """(coefficients (k, T), inverse of the normal matrix (k, k)) of values (B, T) on a basis (B, k). By the
    normal equations: columns of independent normal variables are near to orthogonal, so that squaring their
    condition loses nothing, at a tenth of the cost of a decomposition of all builds."""
    inverse: FloatArray = np.linalg.pinv(basis.T @ basis, hermitian=True).astype(float)
    return np.asarray(inverse @ (basis.T @ values)), np.asarray(inverse)


def _still(samples: FloatArray) -> FloatArray:
    """(T,) whether a reading is constant."""
    return np.asarray(np.ptp(samples, axis=0) <= ROUNDING * np.max(np.abs(samples), axis=0))


def variance_shares(
    names: tuple[str, ...], z: FloatArray, samples: FloatArray
) -> tuple[tuple[Driver, ...], ...]:
    """How much of the variance of each reading each parameter explains.

    The first-order effects of Sobol's decomposition: V = Σ V_p + rest, V_p = Var E[y | z_p]. With the Hermite
    polynomials of z_p up to the third degree, orthonormal for a normal variable, V_p is the sum of the
    squares of its coefficients, found by least squares. Of the rest, pairs whose product z_p z_q stands out
    from chance (the positions of two windings: only their difference matters) are named as ``PAIR``.
    ``JOINT`` is what remains: other interactions, and curvature beyond the third degree (a layer that tips
    over at the threshold of one parameter loses a quarter to it). With fewer than ten builds per term the
    degree is lower. The scatter of each coefficient is subtracted, so that an idle parameter gets nothing.

    Parameters
    ----------
    names : tuple of P str
    z : (B, P) array, parameters of the builds in standard deviations, dimensionless
    samples : (B, T) array, readings of the builds, SI

    Returns
    -------
    tuple of T tuples of Driver
        Shares for each test, largest first, which sum to one; empty where nothing moves the reading or some
        builds have no reading.

    References
    ----------
    I. M. Sobol', Math. Comput. Simul. 55, 2001; polynomial expansion: B. Sudret, Reliab. Eng. Syst. Saf. 93,
    2008 (from memory).
    """
    number, count = z.shape
    still = _still(samples) | ~np.all(np.isfinite(samples), axis=0)
    if count == 0:
        return tuple(() for _ in range(samples.shape[1]))
    degree = int(np.clip(number // (_BUILDS_PER_TERM * count), 1, 3))
    terms = [z, (z**2 - 1) / np.sqrt(2), (z**3 - 3 * z) / np.sqrt(6)][:degree]
    basis = np.concatenate([np.ones((number, 1)), *terms], axis=1)
    scale = np.where(still, 1.0, np.std(samples, axis=0))
    scatter = np.where(still, 0.0, samples - samples.mean(axis=0)) / scale
    coefficients, inverse = _least_squares(basis, scatter)
    free = max(number - basis.shape[1], 1)
    residual = scatter - basis @ coefficients
    rest = np.sum(residual**2, axis=0) / free
    leverage = np.diag(inverse)
    squares = (coefficients**2 - leverage[:, None] * rest)[1:]
    explained = np.maximum(squares.reshape(degree, count, -1).sum(axis=0), 0.0)
    result: list[tuple[Driver, ...]] = []
    for test in range(samples.shape[1]):
        if still[test]:
            result.append(())
            continue
        pairs = _pairs(names, z, residual[:, test], float(rest[test]))
        left = max(float(rest[test]) - sum(pairs.values()), 0.0)
        every = (*names, *pairs, JOINT)
        shares = np.concatenate([explained[:, test], list(pairs.values()), [left]])
        shares = shares / np.sum(shares)
        order = np.argsort(-shares)
        result.append(tuple(Driver(every[index], float(shares[index])) for index in order))
    return tuple(result)


def _pairs(names: tuple[str, ...], z: FloatArray, residual: FloatArray, rest: float) -> dict[str, float]:
    """Variance of the residual (B,) explained by single products z_p z_q: those that stand out, less chance.
    ``rest``: variance of the residual."""
    number = len(residual)
    if rest < LEAST_REST:
        return {}
    products = (z * residual[:, None]).T @ z / number
    shares = {}
    for first, second in zip(
        *np.nonzero(np.triu(products**2 > _OUTSTANDING**2 * rest / number, 1)), strict=True
    ):
        shares[PAIR.format(names[first], names[second])] = float(products[first, second] ** 2 - rest / number)
    return shares
