"""Laws of one set-up read at several frequencies: what a series inductance may do along a sweep.

Open, and well below resonance, the windings' capacitance raises it: 1/L(f) = 1/L − ω² C, a straight line
over ω². Losses lower it: eddy currents in copper and laminations, the fall of the permeability itself, a
shorted turn (which makes a step down at R_t/(2π L_t)). Shorted, it falls from the open inductance to the
leakage as 1/(1 + x²), x = ω L2/R2, stays there except for the little that redistribution of current in the
copper takes away, and rises near the resonance. So

    rise by one capacitance               three points or more of a rising sweep lie on one line
    open inductance over frequency        no step down beyond what permeability and eddy currents explain
    shorted inductance on its plateau     neither a steep fall (no leakage yet) nor a rise (resonance, leads)

Series inductances of one winding at one level. A gentle fall is not treated as a fault. Source: circuit
theory; the allowances are common practice without a source.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from itertools import pairwise

from ...predict.quantity import format_quantity
from .part import Check, PartReading, PartReadings, check_of, henry, shorted, single_name

OPEN_FALL = 0.15
"""Standard relative fall of an open inductance over a decade (at least: between two readings) by eddy
currents and permeability (common practice, no source): −10 % over two decades is usual for thick wire, −40
% for laminations."""
SHORTED_FALL = 0.08
"""Standard relative fall of a leakage over a decade by redistribution of current in the copper (common
practice, no source)."""
SHORTED_RISE = 0.03
"""Standard relative rise of a leakage below resonance (common practice, no source)."""
LINE_ALLOWANCE = 0.005
"""Standard relative allowance of a point off the line of one capacitance, which losses bend (common practice,
no source)."""


def sweeps(readings: PartReadings) -> Iterator[tuple[PartReading, ...]]:
    """Series inductances above zero of one set-up at two or more frequencies (more than 1 % apart), lowest
    first."""
    groups: dict[tuple[str, frozenset[str], float], list[PartReading]] = {}
    for item in readings.inductances():
        if item.value > 0 and item.test.frequency and item.test.bias in (None, 0.0):
            key = (single_name(item.test.drive), shorted(item.test), item.test.level)
            groups.setdefault(key, []).append(item)
    for group in groups.values():
        ordered = sorted(group, key=_frequency)
        apart = [ordered[0]]
        for item in ordered[1:]:
            if _frequency(item) > 1.01 * _frequency(apart[-1]):
                apart.append(item)
        if len(apart) > 1:
            yield tuple(apart)


def _frequency(item: PartReading) -> float:
    return item.test.alternating_frequency


def _decades(low: PartReading, high: PartReading) -> float:
    return math.log10(_frequency(high) / _frequency(low))


def _open_trend(readings: PartReadings) -> Iterator[Check]:
    for sweep in sweeps(readings):
        if shorted(sweep[0].test):
            continue

        def fall(pair: tuple[PartReading, PartReading]) -> tuple[float, float]:
            low, high = pair
            allowance = OPEN_FALL * max(_decades(low, high), 1.0)
            return math.log(low.value / high.value), math.hypot(low.relative, high.relative, allowance)

        low, high = max(pairwise(sweep), key=lambda pair: fall(pair)[0] / fall(pair)[1])
        residual, doubt = fall((low, high))
        meaning = (
            "Such a drop means a shorted turn (the quality dips there), laminations or a material beyond "
            "their frequency, or two levels; state the limit at the frequency of use, and read the quality"
        )
        yield check_of(
            "open inductance over frequency", residual, doubt, _pair(low, high), meaning, one_sided=True
        )


def _one_capacitance(readings: PartReadings) -> Iterator[Check]:
    for sweep in sweeps(readings):
        if shorted(sweep[0].test) or len(sweep) < 3:
            continue
        first, last = sweep[0], sweep[-1]
        if last.value < 1.02 * first.value:
            continue  # no rise that could show a capacitance

        def off_line(
            item: PartReading, first: PartReading = first, last: PartReading = last
        ) -> tuple[float, float]:
            squares = [_frequency(reading) ** 2 for reading in (first, item, last)]
            share = (squares[1] - squares[0]) / (squares[2] - squares[0])
            expected = (1 - share) / first.value + share / last.value
            parts = ((1 - share) * first.relative / first.value, share * last.relative / last.value)
            doubt = math.hypot(*(part / expected for part in parts), item.relative, LINE_ALLOWANCE)
            return math.log(item.value * expected), doubt

        worst = max(sweep[1:-1], key=lambda item: abs(off_line(item)[0] / off_line(item)[1]))
        residual, doubt = off_line(worst)
        slope = (1 / first.value - 1 / last.value) / (_frequency(last) ** 2 - _frequency(first) ** 2)
        intercept = 1 / first.value + slope * _frequency(first) ** 2
        capacitance = format_quantity(slope / (2 * math.pi) ** 2, "F", 3)
        resonance = format_quantity(math.sqrt(intercept / slope), "Hz", 3)
        detail = (
            f"{worst} = {henry(worst.value)}, the line through {first} and {last} says "
            f"{henry(worst.value / math.exp(residual))}, with {capacitance} and a resonance at {resonance}"
        )
        meaning = "A slip in one of the rows, readings at different levels, or a step by a shorted turn"
        yield check_of("rise by one capacitance", residual, doubt, detail, meaning)


def _shorted_plateau(readings: PartReadings) -> Iterator[Check]:
    for sweep in sweeps(readings):
        if not shorted(sweep[0].test):
            continue

        def change(pair: tuple[PartReading, PartReading]) -> tuple[float, float]:
            low, high = pair
            residual = math.log(low.value / high.value)
            allowance = SHORTED_FALL * max(_decades(low, high), 1.0) if residual > 0 else SHORTED_RISE
            return residual, math.hypot(low.relative, high.relative, allowance)

        low, high = max(pairwise(sweep), key=lambda pair: abs(change(pair)[0] / change(pair)[1]))
        residual, doubt = change((low, high))
        if residual > 0:
            meaning = (
                f"{low} is not yet the leakage: there the resistance of the shorted winding and its link "
                f"exceeds its reactance. Take the leakage at {format_quantity(_frequency(high), 'Hz', 3)} "
                "or above, where it no longer changes"
            )
        else:
            meaning = (
                "Leakage rises only towards its resonance: read it at a lower frequency, and check leads "
                "and link; or the rows are exchanged"
            )
        yield check_of("shorted inductance on its plateau", residual, doubt, _pair(low, high), meaning)


def _pair(low: PartReading, high: PartReading) -> str:
    change = high.value / low.value - 1
    return f"{low} = {henry(low.value)}, {high} = {henry(high.value)}, a change of {100 * change:+.1f} %"


FREQUENCY_LAWS: tuple[Callable[[PartReadings], Iterator[Check]], ...] = (
    _open_trend,
    _one_capacitance,
    _shorted_plateau,
)
