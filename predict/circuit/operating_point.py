"""The operating point of the core in a test: the voltage that its terminals really get, the flux density, and
a direct current.

The generator of the meter has a source resistance. The voltage across the part is

    V = level · |Z| / |Z + R_source| ,

with Z the impedance at its terminals, leads included: the set level where the impedance of the part is high,
less across a low one (a meter that regulates its level at the terminals has a ``source_resistance`` of zero).
V drives the flux, the flux determines the amplitude permeability, and this the impedance: solved by repeated
substitution.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ..design import Bench, ComplexArray, FloatArray, Real

Response = tuple[ComplexArray, ComplexArray]
"""(Z, Φ) of a circuit: impedance at the terminals (Ω) and flux of the core (Wb) per ampere into them, of one
shape: (B,), or (T, B) for the circuits of several tests."""

_SETTLED = 1e-4
_MOST_STEPS = 60


@dataclass(frozen=True)
class OperatingPoint:
    """Voltage and flux densities of a test, for B builds.

    Attributes
    ----------
    level : (B,) array, RMS voltage across the terminals of the part, V
    flux_density : (B,) array, peak flux density of the alternating current, T
    bias_flux_density : (B,) array, flux density of the direct current, T
    """

    level: FloatArray
    flux_density: FloatArray
    bias_flux_density: FloatArray


def held_level(bench: Bench, level: Real, impedance: ComplexArray) -> FloatArray:
    """Voltage that the source leaves across an impedance: V = level |Z|/|Z + R_source|.

    Parameters
    ----------
    bench : Bench
    level : float or (B,) array, set level, V RMS
    impedance : (B,) array of complex, impedance at the terminals, ohm

    Returns
    -------
    (B,) array, voltage, V RMS; 0 across 0
    """
    through = np.maximum(np.abs(impedance + bench.source_resistance), 1e-30)
    return np.asarray(np.asarray(level) * np.abs(impedance) / through)


def _flux_of(bench: Bench, level: Real, response: Response, area: FloatArray) -> FloatArray:
    """Peak flux density √2 |Φ| level / (|Z + R_source| A) of a core, (..., B) in T: ``level`` as set, V RMS;
    ``response`` of the circuit, per ampere; ``area`` A of the core, m²."""
    impedance, flux = response
    through = np.maximum(np.abs(impedance + bench.source_resistance), 1e-30)
    return np.asarray(math.sqrt(2) * np.abs(flux) * level / through / area)


def settle(
    bench: Bench,
    level: Real,
    area: FloatArray,
    permeance_at: Callable[[FloatArray], ComplexArray],
    respond: Callable[[ComplexArray], Response],
) -> tuple[ComplexArray, FloatArray]:
    """The state in which the permeance of the core and its peak flux density agree.

    The field H grows with B in every material, so there is one such B: below it the circuit responds with
    more than was put in, above it with less. Repeated substitution is kept between these two bounds, and
    bisects them where it leaves them (in saturation). A build in a test is fixed once its permeance moves by
    less than 1e-4, so that its result depends on no other build and no other test.

    Parameters
    ----------
    bench : Bench
    level : float or (..., B) array, set level, V RMS
    area : (..., B) array, effective area of the core, m²
    permeance_at : callable (..., B) array to (..., B) array, permeance (H) for a peak flux density (T)
    respond : callable (..., B) array to Response

    Returns
    -------
    permeance : (..., B) array of complex, permeance at that state, H
    flux_density : (..., B) array, peak flux density, T
    """
    tried = np.zeros(np.shape(area))
    low, high = np.zeros(np.shape(area)), np.full(np.shape(area), np.inf)
    done = np.zeros(np.shape(area), bool)
    permeance = permeance_at(tried)
    flux = tried
    for step in range(_MOST_STEPS):
        flux = _flux_of(bench, level, respond(permeance), area)
        following = permeance_at(flux)
        low, high = np.where(flux >= tried, tried, low), np.where(flux < tried, tried, high)
        still = np.abs(following - permeance) <= _SETTLED * np.abs(following)
        done |= still | (high - low <= _SETTLED * 1e-2 * low)
        if np.all(done) or step == _MOST_STEPS - 1:
            break
        inside = (flux > low) & (flux < high)
        if step % 3 == 2:
            inside &= ~np.isfinite(high) | (low <= 0)
        middle = np.where(np.isfinite(high), (low + np.where(np.isfinite(high), high, 0.0)) / 2, flux)
        tried = np.where(done, tried, np.where(inside, flux, middle))
        permeance = np.where(done, permeance, following if np.all(done | inside) else permeance_at(tried))
    return permeance, flux
