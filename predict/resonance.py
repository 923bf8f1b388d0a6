"""The lowest frequency at which an impedance turns from inductive to capacitive.

Im Z changes from + to − where B = Im(1/Z) changes from − to +. Near the crossing ω B = ω² C − 1/L is nearly
straight in ω², so the crossing is found by walking up a geometric grid and interpolating ω B in ω², twice.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from .design import ComplexArray, FloatArray

LOWEST, HIGHEST = 100.0, 3e8
"""Range (Hz) that is searched. HIGHEST stands for "none up to here": readings stay finite, so that they can
be scattered and weighed; what shows them says "none" (``beyond_search``)."""
_ONE_BUILD, _MANY_BUILDS = 1.1, 1.3  # ratio of neighbouring frequencies of the search
_REFINED = 7


def first_resonance(impedance: Callable[[float], ComplexArray]) -> FloatArray:
    """(B,) lowest resonance (Hz) of ``impedance`` (f → Z, (B,) Ω): Im Z from inductive to capacitive.

    Accurate to about 1e-4 where L and C vary slowly with frequency. Two resonances closer together than a
    tenth (many builds: a third) of their frequency count as none or one. Raises nothing; HIGHEST where
    there is none.
    """
    frequency, before = LOWEST, _slope(impedance, LOWEST)
    step = _ONE_BUILD if len(before) == 1 else _MANY_BUILDS
    found = np.full(len(before), np.nan)
    while np.any(np.isnan(found)) and frequency < HIGHEST:
        following = min(frequency * step, HIGHEST)
        after = _slope(impedance, following)
        here = np.isnan(found) & (before < 0) & (after >= 0)
        found = np.where(here, _crossing(frequency, following, before, after), found)
        frequency, before = following, after
    result = np.where(np.isnan(found), HIGHEST, found)
    if np.all(np.isnan(found)):
        return result
    low, high = 0.98 * np.nanmin(found), 1.02 * np.nanmax(found)
    grid = np.geomspace(low, high, max(_REFINED, int(np.log(high / low) / 0.03)))
    values = [_slope(impedance, float(point)) for point in grid]
    best = np.full(len(result), np.nan)
    for left, right, one, other in zip(grid[:-1], grid[1:], values[:-1], values[1:], strict=True):
        here = np.isnan(best) & (one < 0) & (other >= 0)
        best = np.where(here, _crossing(float(left), float(right), one, other), best)
    return np.where(np.isnan(best), result, best)


def _slope(impedance: Callable[[float], ComplexArray], frequency: float) -> FloatArray:
    """ω Im(1/Z)."""
    return np.asarray(2 * np.pi * frequency * (1.0 / impedance(frequency)).imag, float)


def _crossing(low: float, high: float, before: FloatArray, after: FloatArray) -> FloatArray:
    """Frequency where a line in f² crosses zero."""
    part = before / np.where(before == after, 1.0, before - after)
    return np.sqrt(low**2 + np.clip(part, 0.0, 1.0) * (high**2 - low**2))


def beyond_search(measure: str, value: float | None) -> bool:
    """Whether a reading in SI says that there is no resonance up to HIGHEST."""
    return measure == "resonance" and value is not None and value >= HIGHEST * (1 - 1e-9)
