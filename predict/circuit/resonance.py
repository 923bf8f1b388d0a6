"""The lowest frequency at which an impedance turns from inductive to capacitive.

Im Z changes from + to − where B = Im(1/Z) changes from − to +. Below its first pole ω B = ω² C − 1/L rises
with ω², ever faster (Foster's reactance theorem): a straight line through two points crosses zero above the
resonance. The search goes up in leaps while that line says "far off", then in small steps, and finds the
crossing by a parabola in ω², in many builds by a second one with a point amid their crossings.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from ..design import ComplexArray, FloatArray

LOWEST, HIGHEST = 100.0, 3e8
"""Range (Hz) that is searched. HIGHEST stands for "none up to here": readings stay finite, so that they can
be scattered and weighed; what shows them says "none" (``beyond_search``)."""
_LEAP, _STEP = 3.0, 1.12
"""Ratio of neighbouring frequencies of the search, far below every resonance and near them."""
_FAR = 8.0
"""A straight line that crosses zero so many times higher says that no resonance is near."""
_REFINED = 3

Point = tuple[float | FloatArray, FloatArray]
"""A frequency (Hz; one, or one of each build) and ω Im(1/Z) there (B,)."""


def first_resonance(
    impedance: Callable[[float], ComplexArray], rough: Callable[[float], ComplexArray] | None = None
) -> FloatArray:
    """(B,) lowest resonance (Hz) of ``impedance`` (f → Z, (B,) Ω): Im Z from inductive to capacitive.

    rough : the same to some per cent, for the leaps far below every resonance (None: ``impedance``).
    Accurate to about 1e-5 where L and C vary slowly with frequency; many builds: 1e-4 at the median, 3e-3
    at worst, on arrangements of the samples. Two resonances closer together than an eighth of their frequency
    count as none or one. Raises nothing; HIGHEST where there is none.
    """
    far = rough or impedance
    frequency, slope = LOWEST, _slope(far, LOWEST)
    last: tuple[float, FloatArray] | None = None
    found = np.full(len(slope), np.nan)
    bracket = (0.0, 0.0)
    near, leapt = False, rough is not None
    while np.any(np.isnan(found)) and frequency < HIGHEST:
        if (
            last is not None
            and not near
            and _crossing_above(last, (frequency, slope), np.isnan(found)) < _FAR * frequency
        ):
            near, slope = True, _slope(impedance, frequency)
        following = min(frequency * (_STEP if near else _LEAP), HIGHEST)
        after = _slope(impedance if near else far, following)
        here = np.isnan(found) & (slope < 0) & (after >= 0)
        if np.any(here) and not near:  # a leap too far: the same way again in steps
            near, slope = True, _slope(impedance, frequency)
            continue
        if np.any(here):
            bracket = (frequency, following)
            if leapt and last is not None:  # the point before was of a leap
                last, leapt = (last[0], _slope(impedance, last[0])), False
            guess = _parabola(last, (frequency, slope), (following, after))
            if len(found) > 1:
                guess = _between(impedance, guess, here, (frequency, slope), (following, after))
            found = np.where(here, guess, found)
        leapt = leapt and not near
        last, frequency, slope = (frequency, slope), following, after
    result = np.where(np.isnan(found), HIGHEST, found)
    return _refined(impedance, result, bracket) if len(result) == 1 and bracket[1] else result


def _refined(
    impedance: Callable[[float], ComplexArray], found: FloatArray, bracket: tuple[float, float]
) -> FloatArray:
    """One build's crossing, by regula falsi within its bracket."""
    low, high = bracket
    below, above = _slope(impedance, low), _slope(impedance, high)
    guess = found
    for _ in range(_REFINED):
        middle = float(guess[0])
        value = _slope(impedance, middle)
        if value[0] < 0:
            low, below = middle, value
        else:
            high, above = middle, value
        guess = _crossing(low, high, below, above)
    return guess


def _between(
    impedance: Callable[[float], ComplexArray],
    guess: FloatArray,
    here: NDArray[np.bool_],
    left: Point,
    right: Point,
) -> FloatArray:
    """Crossings of many builds that lie between the same two frequencies, by one more point amid them."""
    middle = float(np.median(guess[here]))
    value = _slope(impedance, middle)
    (low, before), (high, after) = left, right
    above = value < 0  # the crossing lies above the middle
    return _parabola(
        (np.where(above, low, high), np.where(above, before, after)),
        (np.where(above, middle, low), np.where(above, value, before)),
        (np.where(above, high, middle), np.where(above, after, value)),
    )


def _slope(impedance: Callable[[float], ComplexArray], frequency: float) -> FloatArray:
    """ω Im(1/Z)."""
    return np.asarray(2 * np.pi * frequency * (1.0 / impedance(frequency)).imag, float)


def _crossing_above(
    last: tuple[float, FloatArray], now: tuple[float, FloatArray], missing: NDArray[np.bool_]
) -> float:
    """Lowest frequency at which a line in f² through two points crosses zero, of all builds not yet found."""
    (before, old), (frequency, new) = last, now
    rise = (new - old) / (frequency**2 - before**2)
    with np.errstate(divide="ignore", invalid="ignore"):
        squares = np.where(rise > 0, frequency**2 - new / rise, np.inf)
    return float(np.sqrt(np.min(squares[missing], initial=np.inf)))


def _crossing(
    low: float | FloatArray, high: float | FloatArray, before: FloatArray, after: FloatArray
) -> FloatArray:
    """Frequency where a line in f² crosses zero."""
    part = before / np.where(before == after, 1.0, before - after)
    return np.sqrt(low**2 + np.clip(part, 0.0, 1.0) * (high**2 - low**2))


def _parabola(last: Point | None, left: Point, right: Point) -> FloatArray:
    """Frequency where the parabola in f² through three points (``last`` anywhere) crosses zero between the
    other two."""
    (low, before), (high, after) = left, right
    line = _crossing(low, high, before, after)
    if last is None:
        return line
    x0, x1, x2 = last[0] ** 2, low**2, high**2
    first = (after - before) / (x2 - x1)
    bend = (first - (before - last[1]) / (x1 - x0)) / (x2 - x0)
    square = line**2
    for _ in range(4):  # Newton's steps from the line's crossing
        value = before + first * (square - x1) + bend * (square - x1) * (square - x2)
        rise = first + bend * (2 * square - x1 - x2)
        square = np.where(rise > 0, np.clip(square - value / np.where(rise > 0, rise, 1.0), x1, x2), square)
    return np.sqrt(square)


def beyond_search(measure: str, value: float | None) -> bool:
    """Whether a reading in SI says that there is no resonance up to HIGHEST."""
    return measure == "resonance" and value is not None and value >= HIGHEST * (1 - 1e-9)
