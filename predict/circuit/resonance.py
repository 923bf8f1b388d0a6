"""The lowest frequency at which an impedance turns from inductive to capacitive.

Im Z changes from + to − where B = Im(1/Z) changes from − to +. Below its first pole ω B = ω² C − 1/L rises
with ω², ever faster (Foster's reactance theorem), so a straight line through two points crosses zero above
the resonance. Points lie on a fixed grid of frequencies: a tenth of them first, then, from where that line
says that the resonance is no longer far away, one after the other, many in one step. The crossing is found by
a cubic in ω² through the two points around it, the point below these and one between them. The points of a
build, and so its result, do not depend on the other builds in the search.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TypeAlias

import numpy as np

from ..design import ComplexArray, FloatArray, IntArray

LOWEST, HIGHEST = 100.0, 3e8
"""Range (Hz) that is searched. HIGHEST means "none up to here": readings stay finite, so that they can be
scattered and weighed; displays show "none found" (``beyond_search``). Judged: wider than
anything that the bench reads here."""
_LAST, _LEAP = 132, 10
"""Intervals of the grid, each a factor of 1.12, and intervals from one of the first points to the next. The
first number follows from the range; of the second 5 and 20 move no reading of 26 designs (measured)."""
_FAR = 8.0
"""A straight line that crosses zero this many times higher shows that no resonance is near (measured on 26
designs: 4 and 16 move no reading)."""
_BELOW = 2
"""Points below a rough resonance from which the true one is searched (measured on 26 designs: 1 and 6 move no
reading)."""
_NEWTON = 5
"""Newton steps from the crossing of the straight line to that of the cubic (measured on 26 designs: 3 and 10
move no reading)."""
_STEP, _ROUGH_STEP = 4, 20
"""Intervals of the grid that are looked at in one step, near a rough resonance and without one; the next step
goes on where it ended (bounds work, not results)."""

Impedance: TypeAlias = Callable[[FloatArray], ComplexArray]
"""Impedance (F, B) (ohm) of builds at frequencies (F, 1) or (F, B) (Hz)."""


def first_resonance(impedance: Impedance, rough: IntArray | None = None) -> FloatArray:
    """Lowest resonance of an impedance: the frequency where Im Z turns from inductive to capacitive.

    Accurate to about 1e-5 where L and C vary slowly with frequency. Two resonances closer together than an
    eighth of their frequency count as none or one.

    Parameters
    ----------
    impedance : callable (F, 1) or (F, B) array to (F, B) array, impedance (ohm) at frequencies (Hz)
    rough : (B,) array of int or None
        ``resonance_intervals`` (index) of an impedance that is the same to some per cent: from ``_BELOW``
        points below them ``impedance`` decides. None: those of ``impedance``.

    Returns
    -------
    (B,) array, resonance, Hz; HIGHEST where there is none
    """
    if rough is None:
        rough = resonance_intervals(impedance)
    start = np.where(rough < 0, _LAST, np.maximum(rough - _BELOW, 0))
    interval, known = _scanned(impedance, np.where(start < _LAST - _BELOW, start, _LAST), _STEP)
    if np.any(interval < 0):
        interval = np.where(interval < 0, resonance_intervals(impedance), interval)
    begin = np.maximum(interval, 0).astype(float)
    frequencies = grid_frequency(np.stack([np.maximum(begin - 1, 0.25), begin, begin + 0.5, begin + 1]))
    if np.all(np.isfinite(known) | (interval < 0)):
        slopes = np.insert(known, 2, _slope(impedance, frequencies[2:3]), axis=0)
    else:
        slopes = _slope(impedance, frequencies)
    return np.where(interval < 0, HIGHEST, _amid(frequencies, slopes))


def resonance_intervals(impedance: Impedance) -> IntArray:
    """The interval of the grid that holds the lowest resonance, (B,) array: index, from ``grid_frequency`` of
    this number to the next; −1 where there is none. ``impedance`` gives (F, B) ohm at (F, 1) or (F, B) Hz."""
    coarse = np.append(np.arange(0, _LAST, _LEAP), _LAST)
    frequency = grid_frequency(coarse[:, None])
    slope = _slope(impedance, frequency)
    squares = frequency**2
    with np.errstate(divide="ignore", invalid="ignore"):
        rise = np.diff(slope, axis=0) / np.diff(squares, axis=0)
        crossing = np.sqrt(np.where(rise > 0, squares[1:] - slope[1:] / rise, np.inf))
        near = crossing < _FAR * frequency[1:]  # not where both are above zero
    reached = np.zeros(slope.shape, bool)
    reached[1:] = near
    reached[:-1] |= (slope[:-1] < 0) & (slope[1:] >= 0)
    start = np.where(np.any(reached, axis=0), coarse[np.argmax(reached, axis=0)], _LAST)
    return _scanned(impedance, start, _ROUGH_STEP)[0]


def _scanned(impedance: Impedance, start: IntArray, step: int) -> tuple[IntArray, FloatArray]:
    """(B,) first interval from ``start`` (B,) on in which the slope turns from − to +, or −1; looked at
    ``step`` at a time. And (3, B) the slope at the point before it and at its ends, NaN where not looked
    at."""
    interval, here = np.full(len(start), -1), start
    around = np.full((3, len(start)), math.nan)
    before = np.full((1, len(start)), math.nan)
    while np.any((interval < 0) & (here < _LAST)):
        grid_indices = np.minimum(here + np.arange(step + 1)[:, None], _LAST)
        slope = _slope(impedance, grid_frequency(grid_indices))
        turns = (slope[:-1] < 0) & (slope[1:] >= 0)
        place = np.argmax(turns, axis=0)
        new = (interval < 0) & np.any(turns, axis=0)
        seen = np.take_along_axis(np.concatenate([before, slope]), place + np.arange(3)[:, None], axis=0)
        around = np.where(new, seen, around)
        interval = np.where(new, np.take_along_axis(grid_indices, place[None], axis=0)[0], interval)
        here, before = np.where(interval < 0, grid_indices[-1], _LAST), slope[-2:-1]
    return interval, around


def grid_frequency(grid_index: FloatArray | IntArray) -> FloatArray:
    """Frequency of points of the grid, or between two, by their number: (...,) array, Hz."""
    return np.asarray(LOWEST * (HIGHEST / LOWEST) ** (grid_index / _LAST), float)


def grid_interval(frequency: FloatArray) -> IntArray:
    """The interval of the grid that holds a frequency (Hz): number of its lower point (``grid_frequency``),
    (...,) array, count."""
    number = np.log(frequency / LOWEST) / np.log(HIGHEST / LOWEST) * _LAST
    return np.asarray(np.floor(number), np.int64)


def _amid(frequencies: FloatArray, values: FloatArray) -> FloatArray:
    """(B,) crossings between the second and the last of four points (4, B), the third of which lies between
    those."""
    _, low, middle, high = frequencies
    _, before, value, after = values
    above = value < 0
    left = (np.where(above, middle, low), np.where(above, value, before))
    right = (np.where(above, high, middle), np.where(above, after, value))
    squares = frequencies**2
    terms = list(values)
    for order in range(1, len(terms)):
        terms[order:] = [
            (terms[row] - terms[row - 1]) / (squares[row] - squares[row - order])
            for row in range(order, len(terms))
        ]
    bottom, top = np.square(left[0]), np.square(right[0])
    square = np.square(_crossing(left[0], right[0], left[1], right[1]))
    for _ in range(_NEWTON):
        value, rise = terms[-1], np.zeros_like(square)
        for row in range(len(terms) - 2, -1, -1):
            rise = rise * (square - squares[row]) + value
            value = value * (square - squares[row]) + terms[row]
        square = np.where(
            rise > 0, np.clip(square - value / np.where(rise > 0, rise, 1.0), bottom, top), square
        )
    return np.sqrt(square)


def _slope(impedance: Impedance, frequency: FloatArray) -> FloatArray:
    """(F, B) ω Im(1/Z)."""
    return np.asarray(2 * np.pi * frequency * (1.0 / impedance(frequency)).imag, float)


def _crossing(low: FloatArray, high: FloatArray, before: FloatArray, after: FloatArray) -> FloatArray:
    """Frequency where a line in f² crosses zero."""
    part = before / np.where(before == after, 1.0, before - after)
    return np.sqrt(low**2 + np.clip(part, 0.0, 1.0) * (high**2 - low**2))


def beyond_search(measure: str, value: float | None) -> bool:
    """Whether a reading says that there is no resonance up to HIGHEST.

    Parameters
    ----------
    measure : str, of the test
    value : float or None, reading, SI
    """
    return measure == "resonance" and value is not None and value >= HIGHEST * (1 - 1e-9)
