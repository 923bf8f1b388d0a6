"""Modified Bessel functions, scaled by their exponential, for the fringing of gaps in round legs.

The library's (``scipy.special``) are five times quicker for ten arguments, but importing it takes a quarter
of a second of processor time, a third of a whole ``predict``. Held against it in
``tests/reference/test_bessel.py``.
"""

from __future__ import annotations

import math

import numpy as np

from ..design import FloatArray

_POINTS_K, _POINTS_I = 128, 256
"""Intervals of the trapezoidal rule: K is good to 1e-12, I to 1e-10 up to z = 1000
(measured: tests/reference/test_bessel.py)."""


def scaled_k(order: int, z: FloatArray) -> FloatArray:
    """exp(z) K_n(z) = ∫0^∞ exp(−z (cosh t − 1)) cosh(n t) dt, by the trapezoidal rule.

    Parameters
    ----------
    order : int, order n, count
    z : (N,) array, arguments, dimensionless, above 0

    Returns
    -------
    (N,) array, the scaled function, dimensionless
    """
    end = np.arccosh(1 + 40 / z)[:, None]
    t = end * np.arange(_POINTS_K + 1) / _POINTS_K
    values = np.exp(-z[:, None] * (np.cosh(t) - 1)) * np.cosh(order * t)
    values[:, 0] /= 2
    return np.asarray((end / _POINTS_K)[:, 0] * values.sum(axis=1))


def scaled_i(order: int, z: FloatArray) -> FloatArray:
    """exp(−z) I_n(z) = (1/π) ∫0^π exp(z (cos t − 1)) cos(n t) dt, by the trapezoidal rule for a periodic
    function.

    Parameters
    ----------
    order : int, order n, count
    z : (N,) array, arguments, dimensionless, up to 1000

    Returns
    -------
    (N,) array, dimensionless
    """
    t = math.pi * np.arange(_POINTS_I + 1) / _POINTS_I
    values = np.exp(z[:, None] * (np.cos(t) - 1)) * np.cos(order * t)
    values[:, [0, -1]] /= 2
    return np.asarray(values.sum(axis=1) / _POINTS_I)
