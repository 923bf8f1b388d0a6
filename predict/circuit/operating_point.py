"""Where a test puts the core: the voltage that its terminals really get, the flux density, a direct current.

The meter's generator has a source resistance. Across the part lies

    V = level · |Z| / |Z + R_source| ,

with Z the impedance at its terminals, leads included: the set level where the part's impedance is high, less
across a low one (a meter that regulates its level at the terminals is one of ``source_resistance`` zero). V
drives the flux, the flux sets the amplitude permeability, and that the impedance: solved by repeated
substitution.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ..design import Bench, BenchTest, ComplexArray, FloatArray, Real
from .nodal_analysis import Solution

Response = tuple[Solution, ComplexArray, ComplexArray]
"""(solution, Z, Φ): the circuit's, impedance at the terminals (Ω) and core flux (Wb) per ampere into them,
(B,) each."""

_SETTLED = 1e-4
_MOST_STEPS = 60


@dataclass(frozen=True)
class OperatingPoint:
    """(B,) each. level : RMS voltage across the part's terminals (V). flux_density : peak of the alternating
    one (T).
    bias_flux_density : of the direct current (T)."""

    level: FloatArray
    flux_density: FloatArray
    bias_flux_density: FloatArray


def held_level(bench: Bench, level: Real, impedance: ComplexArray) -> FloatArray:
    """V = level |Z|/|Z + R_source| (V RMS) across ``impedance`` (Ω); nothing across nothing."""
    through = np.maximum(np.abs(impedance + bench.source_resistance), 1e-30)
    return np.asarray(np.asarray(level) * np.abs(impedance) / through)


def flux_of(bench: Bench, test: BenchTest, response: Response, area: FloatArray) -> FloatArray:
    """Peak flux density (T) √2 |Φ| level / (|Z + R_source| A) of a core of ``area`` (m²)."""
    _, impedance, flux = response
    through = np.maximum(np.abs(impedance + bench.source_resistance), 1e-30)
    level = test.level * np.asarray(bench.level_scale)
    return np.asarray(math.sqrt(2) * np.abs(flux) * level / through / area)


def settle(
    bench: Bench,
    test: BenchTest,
    area: FloatArray,
    permeance_at: Callable[[FloatArray], ComplexArray],
    respond: Callable[[ComplexArray], Response],
) -> tuple[Response, FloatArray]:
    """(response, B) at which the core's permeance and its peak flux density B (T) agree, (B,).

    permeance_at : flux density → permeance. respond : permeance → response of the circuit. The field H grows
    with B in every material, so there is one such B: below it the circuit answers with more than was put in,
    above with less. Repeated substitution, kept between these two bounds and bisecting them where it leaves
    them (in saturation); a build stays as it is from where its permeance moves by less than 1e-4, so that its
    result hangs on no other build.
    """
    tried = np.zeros(np.shape(area))
    low, high = np.zeros(np.shape(area)), np.full(np.shape(area), np.inf)
    done = np.zeros(np.shape(area), bool)
    permeance = permeance_at(tried)
    for step in range(_MOST_STEPS):
        response = respond(permeance)
        found = flux_of(bench, test, response, area)
        following = permeance_at(found)
        low, high = np.where(found >= tried, tried, low), np.where(found < tried, tried, high)
        still = np.abs(following - permeance) <= _SETTLED * np.abs(following)
        done |= still | (high - low <= _SETTLED * 1e-2 * low)
        if np.all(done):
            break
        inside = (found > low) & (found < high)
        if step % 3 == 2:
            inside &= ~np.isfinite(high) | (low <= 0)
        middle = np.where(np.isfinite(high), (low + np.where(np.isfinite(high), high, 0.0)) / 2, found)
        tried = np.where(done, tried, np.where(inside, found, middle))
        permeance = np.where(done, permeance, following if np.all(done | inside) else permeance_at(tried))
    return response, found
