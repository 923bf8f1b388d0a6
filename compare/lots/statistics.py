"""Statistics of a lot, large or small: tolerance intervals, capability, drift, outliers, variance components.

A normal population is assumed unless stated. n parts, mean m, standard deviation s (n − 1).

    tolerance interval   m ± k s holds the share p of the population with confidence γ
      one-sided          k = t'_{γ; n−1, z_p √n}/√n          (t' noncentral, exact)
      two-sided          k from P(share ≥ p) = γ             (exact, one integral over the mean)
    capability           Cpk = min(max − m, m − min)/(3 s)
    its lower bound      Cpk − z_γ √(1/9n + Cpk²/(2(n − 1)))
    drift                slope of reading against serial number, its p from Student's t
    outlier              |x − median|/(1.4826 MAD) beyond the limit that one good lot in a hundred crosses
    batches              one-way random effects: s_w² within, s_b² between

Sources: ISO 16269-6 (tolerance intervals), A. F. Bissell, Appl. Statist. 39, 1990 (bound of Cpk), S. S.
Shapiro, M. B. Wilk, Biometrika 52, 1965 (all from memory); scipy's distributions (``scipy.special``;
``scipy.stats`` takes a second to load, and is loaded only for tests of normality).
"""

from __future__ import annotations

import functools
import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.special import chdtrc, chdtri, fdtrc, nctdtrit, ndtr, ndtri, stdtr, stdtrit

from ...predict.design import FloatArray

CONTENT, CONFIDENCE = 0.95, 0.95
"""Share p of the population, and confidence γ, of tolerance intervals and bounds (common practice, 95 %/95 %
as in ISO 16269-6)."""
FALSE_OUTLIER = 0.01
"""Probability that a good lot shows any outlier at all (common practice: 1 % by chance)."""
LEAST_FOR_SHAPE = 8
"""Normality and drift are tested from this many parts on (common practice: fewer say nothing of a shape)."""
_MOST_FOR_SHAPIRO = 5000
_HALVINGS = 60


@functools.lru_cache(maxsize=1024)
def one_sided_factor(n: int, content: float = CONTENT, confidence: float = CONFIDENCE) -> float:
    """Factor k of the one-sided tolerance limit m + k s. Exact (noncentral t).

    Parameters
    ----------
    n : int, parts, count
    content : float, optional, share p of the population, dimensionless
    confidence : float, optional, confidence γ, dimensionless

    Returns
    -------
    float, k, dimensionless; inf for fewer than two parts

    References
    ----------
    ISO 16269-6 (from memory).
    """
    if n < 2:
        return math.inf
    return float(nctdtrit(n - 1, ndtri(content) * math.sqrt(n), confidence) / math.sqrt(n))


@functools.lru_cache(maxsize=1024)
def two_sided_factor(n: int, content: float = CONTENT, confidence: float = CONFIDENCE) -> float:
    """Factor k of the two-sided tolerance interval m ± k s, exact to about 1e-6.

    P = 2 ∫₀^∞ P[χ²_{n−1} > (n−1) r²/k²] √n φ(x√n) dx with Φ(x + r) − Φ(x − r) = content. Beyond 2000 parts
    Howe's approximation, k = z √((n−1)(1 + 1/n)/χ²_{1−γ; n−1}), is accurate to 1e-4.

    Parameters
    ----------
    n : int, parts, count
    content : float, optional, share p of the population, dimensionless
    confidence : float, optional, confidence γ, dimensionless

    Returns
    -------
    float, k, dimensionless; inf for fewer than two parts

    References
    ----------
    ISO 16269-6 (from memory).
    """
    if n < 2:
        return math.inf
    degrees = n - 1
    z = ndtri((1 + content) / 2)
    howe = z * math.sqrt(degrees * (1 + 1 / n) / chdtri(degrees, confidence))
    if n > 2000:
        return float(howe)

    reach = 8.0 / math.sqrt(n)
    points, weights = np.polynomial.legendre.leggauss(48)
    x = reach * (points + 1) / 2
    widths = _root(lambda r: ndtr(x + r) - ndtr(x - r) - content, 0.0 * x, x + 12.0)
    density = weights * reach * math.sqrt(n) * np.exp(-n * x**2 / 2) / math.sqrt(2 * math.pi)

    def excess(k: FloatArray) -> FloatArray:
        return np.asarray(np.sum(density * chdtrc(degrees, degrees * widths**2 / k**2)) - confidence)

    return float(_root(excess, np.asarray(0.5 * howe), np.asarray(2.0 * howe)))


def _root(rising: Callable[[FloatArray], FloatArray], below: FloatArray, above: FloatArray) -> FloatArray:
    """Root of a rising function between ``below`` and ``above``, by bisection."""
    for _ in range(_HALVINGS):
        middle = (below + above) / 2
        over = rising(middle) > 0
        below, above = np.where(over, below, middle), np.where(over, middle, above)
    return np.asarray((below + above) / 2)


def capability(mean: float, deviation: float, minimum: float | None, maximum: float | None) -> float | None:
    """Capability index Cpk = min(max − m, m − min)/(3 s).

    Parameters
    ----------
    mean : float, mean m, SI
    deviation : float, standard deviation s, SI
    minimum, maximum : float or None, lower and upper limit, SI; None without one

    Returns
    -------
    float or None, Cpk, dimensionless; None without a limit, ±inf if nothing scatters
    """
    room = [limit for limit in (_room(mean, minimum, -1), _room(mean, maximum, 1)) if limit is not None]
    if not room:
        return None
    least = min(room)
    return least / (3 * deviation) if deviation > 0 else math.copysign(math.inf, least)


def _room(mean: float, limit: float | None, side: int) -> float | None:
    return None if limit is None else side * (limit - mean)


def capability_bound(index: float | None, n: int, confidence: float = CONFIDENCE) -> float | None:
    """Lower confidence bound of Cpk.

    Parameters
    ----------
    index : float or None, Cpk, dimensionless
    n : int, parts, count
    confidence : float, optional, confidence γ, dimensionless

    Returns
    -------
    float or None, bound, dimensionless; None if it is not defined (fewer than two parts)

    References
    ----------
    A. F. Bissell, Appl. Statist. 39, 1990 (from memory).
    """
    if index is None or n < 2 or not math.isfinite(index):
        return None
    z = float(ndtri(confidence))
    return index - z * math.sqrt(1 / (9 * n) + index**2 / (2 * (n - 1)))


def normality(values: FloatArray) -> float | None:
    """Test of normality: Shapiro and Wilk's, above 5000 values D'Agostino and Pearson's.

    Parameters
    ----------
    values : (N,) array, readings of one test, SI

    Returns
    -------
    float or None
        Probability p of so unusual a shape by chance, dimensionless; None for fewer than eight values or if
        all are equal.

    References
    ----------
    S. S. Shapiro, M. B. Wilk, Biometrika 52, 1965 (from memory).
    """
    if len(values) < LEAST_FOR_SHAPE or np.ptp(values) == 0:
        return None
    from scipy import stats

    test = stats.shapiro if len(values) <= _MOST_FOR_SHAPIRO else stats.normaltest
    return float(test((values - np.mean(values)) / np.std(values)).pvalue)


@dataclass(frozen=True)
class Drift:
    """Linear drift along the lot.

    Attributes
    ----------
    slope : float, change per part in the order of serial numbers, SI
    p : float, probability of so steep a slope by chance, dimensionless
    """

    slope: float
    p: float


def drift(values: FloatArray, serial_positions: FloatArray) -> Drift | None:
    """Linear drift of readings along a lot.

    Parameters
    ----------
    values : (N,) array, readings of one test, SI
    serial_positions : (N,) array, position of each part along the lot, count

    Returns
    -------
    Drift or None, slope and its probability; None for fewer than eight parts or if nothing changes
    """
    if len(values) < LEAST_FOR_SHAPE or np.ptp(serial_positions) == 0 or np.ptp(values) == 0:
        return None
    x, y = serial_positions - np.mean(serial_positions), values - np.mean(values)
    slope = float(x @ y / (x @ x))
    correlation = min(abs(float(x @ y)) / math.sqrt(float((x @ x) * (y @ y))), 1.0)
    freedom = len(values) - 2
    apart = max((1 - correlation) * (1 + correlation), 1e-300)
    return Drift(slope, float(2 * stdtr(freedom, -correlation * math.sqrt(freedom / apart))))


def outliers(values: FloatArray) -> FloatArray:
    """Values that a normal lot of this size shows in one lot out of a hundred or less.

    Robust score: distance from the median over 1.4826 MAD. Its limit is Student's t with n − 1 degrees of
    freedom at FALSE_OUTLIER/n, two-sided (the heavier tail makes up for the scatter of the MAD itself;
    common practice, no source).

    Parameters
    ----------
    values : (N,) array, readings of one test, SI

    Returns
    -------
    (M,) array, indices of the outliers; none for fewer than five values
    """
    n = len(values)
    middle = np.median(values)
    scale = 1.4826 * np.median(np.abs(values - middle))
    if n < 5 or scale == 0:
        return np.zeros(0)
    limit = -stdtrit(n - 1, FALSE_OUTLIER / (2 * n)) * (1 + 1 / math.sqrt(n))
    return np.flatnonzero(np.abs(values - middle) > limit * scale).astype(float)


@dataclass(frozen=True)
class BatchVariance:
    """Variance within and between batches.

    Attributes
    ----------
    within, between : float, standard deviation within and between batches, SI
    p : float, probability of batch means so far apart by chance, dimensionless
    """

    within: float
    between: float
    p: float


def batch_variance(values: FloatArray, batches: list[str]) -> BatchVariance | None:
    """Variance components of a one-way layout with batches of any size.

    s_w² = MS_within, s_b² = max(0, (MS_between − MS_within)/n0), n0 = (N − Σ n_i²/N)/(a − 1).

    Parameters
    ----------
    values : (N,) array, readings of one test, SI
    batches : list[str], batch of each reading

    Returns
    -------
    BatchVariance or None, components; None for fewer than two batches or if no batch has a second reading
    """
    names, index = np.unique(np.array(batches), return_inverse=True)
    a, total = len(names), len(values)
    if a < 2 or total <= a:
        return None
    count = np.bincount(index)
    means = np.bincount(index, values) / count
    within = float(np.sum((values - means[index]) ** 2)) / (total - a)
    between = float(np.sum(count * (means - values.mean()) ** 2)) / (a - 1)
    n0 = (total - float(np.sum(count**2)) / total) / (a - 1)
    p = 1.0 if within == 0 and between == 0 else float(fdtrc(a - 1, total - a, between / max(within, 1e-300)))
    return BatchVariance(math.sqrt(within), math.sqrt(max(between - within, 0.0) / n0), p)
