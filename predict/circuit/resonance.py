"""The lowest frequency at which an impedance turns from inductive to capacitive.

Im Z changes from + to − where B = Im(1/Z) changes from − to +. Below its first pole ω B = ω² C − 1/L rises
with ω², ever faster (Foster's reactance theorem), so a straight line through two points crosses zero above
the resonance. The search climbs a fixed grid of frequencies, in leaps while that line says that the resonance
is far away, then point by point. The crossing is found by a cubic in ω² through the two points around it, the
point below these and one between them. The points, and so the result, do not depend on the other builds in
the search.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from ..design import ComplexArray, FloatArray, IntArray

LOWEST, HIGHEST = 100.0, 3e8
"""Range (Hz) that is searched. HIGHEST means "none up to here": readings stay finite, so that they can be
scattered and weighed; displays show "none found" (``beyond_search``). Judged: wider than
anything that the bench reads here."""
_LAST, _LEAP = 132, 10
"""Intervals of the grid, each a factor of 1.12, and intervals in one leap far below every resonance. The
first follows from the range; of the second 5 and 20 move no reading of 26 designs (measured)."""
_FAR = 8.0
"""A straight line that crosses zero this many times higher shows that no resonance is near (measured on 26
designs: 4 and 16 move no reading)."""
_BELOW = 3
"""Points below a rough resonance from which the true one is searched (measured on 26 designs: 1 and 6 move no
reading)."""
_NEWTON = 5
"""Newton steps from the crossing of the straight line to that of the cubic (measured on 26 designs: 3 and 10
move no reading)."""

Point = tuple[float | FloatArray, FloatArray]
"""A frequency (Hz; a single one, or one for each build) and ω Im(1/Z) there (B,)."""


def first_resonance(
    impedance: Callable[[float], ComplexArray], rough: Callable[[float], ComplexArray] | None = None
) -> FloatArray:
    """Lowest resonance of an impedance: the frequency where Im Z turns from inductive to capacitive.

    Accurate to about 1e-5 where L and C vary slowly with frequency. Two resonances closer together than an
    eighth of their frequency count as none or one.

    Parameters
    ----------
    impedance : callable float to (B,) array
        Impedance (ohm) at a frequency (Hz).
    rough : callable float to (B,) array, or None
        The same to some per cent, to find where to search; from ``_BELOW`` points below its lowest resonance
        ``impedance`` decides. None: ``impedance``.

    Returns
    -------
    (B,) array
        Resonance, Hz; HIGHEST where there is none.
    """
    known: dict[float, FloatArray] = {}

    def exact(grid_index: float) -> FloatArray:
        if grid_index not in known:
            known[grid_index] = _slope(impedance, _frequency(grid_index))
        return known[grid_index]

    interval = None
    if rough is not None:
        guess = _intervals(rough, 0)
        first = max(int(np.min(np.where(guess < 0, _LAST, guess))) - _BELOW, 0)
        if first < _LAST - _BELOW and np.all(exact(first) < 0):
            interval = _intervals(impedance, first, exact)
    if interval is None:
        interval = _intervals(impedance, 0, exact)
    result = np.full(len(interval), HIGHEST)
    for begin in sorted(set(interval[interval >= 0].tolist())):
        grid_indices = (max(begin - 1, 0.25), begin, begin + 0.5, begin + 1)
        points = [(_frequency(each), exact(each)) for each in grid_indices]
        result = np.where(interval == begin, _amid(points), result)
    return result


def _intervals(
    impedance: Callable[[float], ComplexArray],
    first: int,
    exact: Callable[[float], FloatArray] | None = None,
) -> IntArray:
    """(B,) interval of the grid that holds the resonance of each build, from point ``first`` on: in leaps
    while it is far away, unless the search begins there, then point by point; −1 where there is none.

    ``exact``: ω Im(1/Z) at points of the grid, as far as it is known; None: of ``impedance``.
    """
    known: dict[int, FloatArray] = {}

    def at(grid_index: int) -> FloatArray:
        if exact is not None:
            return exact(grid_index)
        if grid_index not in known:
            known[grid_index] = _slope(impedance, _frequency(grid_index))
        return known[grid_index]

    grid_index, slope = first, at(first)
    last: tuple[float, FloatArray] | None = None
    interval = np.full(len(slope), -1)
    near = first > 0
    while np.any(interval < 0) and grid_index < _LAST:
        frequency = _frequency(grid_index)
        if last is not None and not near:
            near = _crossing_above(last, (frequency, slope), interval < 0) < _FAR * frequency
        following = min(grid_index + (1 if near else _LEAP), _LAST)
        after = at(following)
        here = (interval < 0) & (slope < 0) & (after >= 0)
        if np.any(here) and not near:  # the leap went too far: repeat it point by point
            near = True
            continue
        interval[here] = grid_index
        last, grid_index, slope = (frequency, slope), following, after
    return interval


def _frequency(grid_index: float) -> float:
    """Frequency (Hz) of a point of the grid, or between two."""
    return float(LOWEST * (HIGHEST / LOWEST) ** (grid_index / _LAST))


def _amid(points: Sequence[tuple[float, FloatArray]]) -> FloatArray:
    """Crossings between the second and the last of four points, the third of which lies between those."""
    (_, before), (middle, value), (high, after) = points[1:]
    above = value < 0
    left: Point = (np.where(above, middle, points[1][0]), np.where(above, value, before))
    right: Point = (np.where(above, high, middle), np.where(above, after, value))
    squares = [frequency**2 for frequency, _ in points]
    terms = [values for _, values in points]
    for order in range(1, len(points)):
        terms[order:] = [
            (terms[row] - terms[row - 1]) / (squares[row] - squares[row - order])
            for row in range(order, len(points))
        ]
    low, top = np.square(left[0]), np.square(right[0])
    square = np.square(_crossing(left[0], right[0], left[1], right[1]))
    for _ in range(_NEWTON):
        value, rise = terms[-1], np.zeros_like(square)
        for row in range(len(points) - 2, -1, -1):
            rise = rise * (square - squares[row]) + value
            value = value * (square - squares[row]) + terms[row]
        square = np.where(rise > 0, np.clip(square - value / np.where(rise > 0, rise, 1.0), low, top), square)
    return np.sqrt(square)


def _slope(impedance: Callable[[float], ComplexArray], frequency: float) -> FloatArray:
    """ω Im(1/Z)."""
    return np.asarray(2 * np.pi * frequency * (1.0 / impedance(frequency)).imag, float)


def _crossing_above(
    last: tuple[float, FloatArray], now: tuple[float, FloatArray], missing: NDArray[np.bool_]
) -> float:
    """Lowest frequency at which a line in f² through two points crosses zero, over all builds not found
    yet."""
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


def beyond_search(measure: str, value: float | None) -> bool:
    """Whether a reading says that there is no resonance up to HIGHEST.

    Parameters
    ----------
    measure : str
        Measure of the test.
    value : float or None
        Reading, SI.

    Returns
    -------
    bool
        True for a resonance that was not found.
    """
    return measure == "resonance" and value is not None and value >= HIGHEST * (1 - 1e-9)
