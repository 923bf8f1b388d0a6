"""What drives a reading: its variance over random builds, shared out among the independent parameters."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..design import FloatArray

ROUNDING = 1e-12
"""A reading that scatters by no more than this part of itself is one that nothing moves."""
JOINT = "joint effects"
"""What no parameter explains by itself, and no pair that stands out."""
PAIR = "{} with {}"
_OUTSTANDING = 4.0
"""Standard deviations of chance by which a pair's joint effect must stand out to be named."""
_BUILDS_PER_TERM = 10


@dataclass(frozen=True)
class Driver:
    """A parameter's share of a reading's variance."""

    parameter: str
    share: float


def main_direction(
    z: FloatArray,
    samples: FloatArray,
    among: NDArray[np.bool_] | None = None,
    known: tuple[FloatArray, FloatArray] | None = None,
) -> FloatArray:
    """(B, T) the linear part of each reading in units of its own deviation: z (B, P) along its slopes, those
    of all builds or of those ``among`` (B,) them; ``known``: further normal variables (B, E), which are not
    in ``samples``, with their slopes (E, T).

    Normal with mean 0 and variance 1 whatever the slopes; zeros where nothing moves the reading.
    """
    if z.shape[1] == 0:
        return np.zeros_like(samples)
    some, own = (z, samples) if among is None else (z[among], samples[among])
    scatter = own - own.mean(axis=0)
    scatter = np.where(_still(own) | ~np.all(np.isfinite(own), axis=0), 0.0, scatter)
    slopes, *_ = np.linalg.lstsq(some - some.mean(axis=0), scatter, rcond=None)
    if known is not None:
        z, slopes = np.concatenate([z, known[0]], axis=1), np.concatenate([slopes, known[1]])
    length = np.linalg.norm(slopes, axis=0)
    return np.asarray(z @ np.where(length > 0, slopes / np.where(length > 0, length, 1.0), 0.0))


def _still(samples: FloatArray) -> FloatArray:
    """(T,) readings that nothing moves."""
    return np.asarray(np.ptp(samples, axis=0) <= ROUNDING * np.max(np.abs(samples), axis=0))


def variance_shares(
    names: tuple[str, ...], z: FloatArray, samples: FloatArray
) -> tuple[tuple[Driver, ...], ...]:
    """Shares of the variance of samples (B, T) by the parameters z (B, P), standard normal: per test, sorted.

    The first-order effects of Sobol's decomposition: V = Σ V_p + rest, V_p = Var E[y | z_p]. With the
    Hermite polynomials of z_p up to the third degree, orthonormal for a normal variable, V_p is the sum of
    the squares of its coefficients, found by least squares. Of what is left, pairs whose product z_p z_q
    stands out from chance (two windings' places: only their difference matters) are named as ``PAIR``;
    ``JOINT`` is the rest: other interactions, and curvature beyond the third degree (a layer that tips at
    one parameter's threshold loses a quarter to it). The degree is lower where there are fewer than ten
    builds per term; each coefficient's own scatter is taken off, so that an idle parameter gets nothing.
    Shares sum to one; none are given where nothing moves the reading or some builds have none.

    Source: I. M. Sobol', Math. Comput. Simul. 55, 2001; polynomial expansion: B. Sudret, Reliab. Eng. Syst.
    Saf. 93, 2008 (from memory).
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
    coefficients, *_ = np.linalg.lstsq(basis, scatter, rcond=None)
    free = max(number - basis.shape[1], 1)
    residual = scatter - basis @ coefficients
    rest = np.sum(residual**2, axis=0) / free
    own = np.diag(np.linalg.pinv(basis.T @ basis))
    squares = (coefficients**2 - own[:, None] * rest)[1:]
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
    """Variance that single products z_p z_q explain of the residual (B,), whose variance is ``rest``: those
    that stand out, less chance."""
    number = len(residual)
    products = (z * residual[:, None]).T @ z / number
    found = {}
    for one, other in zip(
        *np.nonzero(np.triu(products**2 > _OUTSTANDING**2 * rest / number, 1)), strict=True
    ):
        found[PAIR.format(names[one], names[other])] = float(products[one, other] ** 2 - rest / number)
    return found if rest > ROUNDING else {}
