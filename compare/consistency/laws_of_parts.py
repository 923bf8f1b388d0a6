"""Laws of the parts of a winding, of its resonances, and of repeats.

    halves alike                 R_a = R_b for two halves of equal turns and wire: the outer one is longer
    turns by inductance          √(L_a/L_b) = N_a/N_b where one is a tap or half of the other
    resonance pair               (f_shorted/f_open)² = L/Λ if the same capacitance acts in both states
    quality of the open winding  Q above 1: less is a shorted turn, or a display of another circuit
    repeats                      their scatter within the uncertainty that is claimed for one reading

Halves and taps come from the joins of a design or from what the user states; the allowances are common
practice without a source. Scatter: ν s²/u² follows a χ² distribution, converted to a normal score by the
cube root (Wilson and Hilferty, 1931, from memory).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

from ...predict.quantity import format_quantity
from .part import (
    Check,
    PartReading,
    PartReadings,
    check_of,
    level_allowance,
    same_set_up,
    shorted,
    single_name,
)

HALF_ALLOWANCE = 0.06
"""Standard relative allowance between the resistances of two halves: the outer one is up to 10 to 15 % longer
(common practice, no source)."""
SAME_CAPACITANCE = 0.35
"""Standard relative allowance between the capacitances that act open and shorted: a short ties the ends of
the other winding together (common practice, no source)."""
USUAL_QUALITY = 3.0
"""From 1 kHz on the quality of an open winding stays above this (common practice, no source)."""
QUALITY_ALLOWANCE = 0.35
"""Standard allowance of its logarithm: the check is broken below about 1 (judged; no data behind it)."""
LEAST_REPEATS = 2
"""With at least this many readings of one test, their scatter is compared with the meter's (exact: fewer have
no scatter)."""


def _halves(readings: PartReadings) -> Iterator[Check]:
    direct = {single_name(item.test.drive): item for item in readings.of("resistance")}
    for first, second in readings.halves:
        upper, lower = direct.get(first), direct.get(second)
        if upper is None or lower is None or upper.value <= 0 or lower.value <= 0:
            continue
        residual = math.log(upper.value / lower.value)
        doubt = math.hypot(upper.relative, lower.relative, HALF_ALLOWANCE)
        detail = f"{upper}/{lower} = {upper.value / lower.value:.4g}, two halves of equal turns and wire"
        meaning = (
            "An open strand, a bad joint or a wrong wire in the half that reads more, or not a half: the "
            "outer one is longer, by 10 to 15 % at most"
        )
        yield check_of("halves alike", residual, doubt, detail, meaning)


def _taps(readings: PartReadings) -> Iterator[Check]:
    for part, whole, share in readings.taps:
        for a, b in readings.opens(part, whole):
            root = math.sqrt(a.value / b.value)
            residual = math.log(root / share)
            doubt = math.hypot(a.relative, b.relative, level_allowance(a, b)) / 2
            detail = f"√({a}/{b}) = {root:.5g}, turns of {part} over {whole} = {share:.5g}"
            meaning = (
                "Inductance goes with the square of the turns: turns of one part, or an instrument that "
                "reads small inductances wrongly (its level, its leads)"
            )
            yield check_of("turns by inductance", residual, doubt, detail, meaning)


def _resonance_pair(readings: PartReadings) -> Iterator[Check]:
    for opened in readings.of("resonance"):
        for closed in readings.of("resonance"):
            driven = single_name(opened.test.drive)
            if not driven or closed.test.drive != opened.test.drive or shorted(opened.test):
                continue
            short = shorted(closed.test)
            if not short or opened.value <= 0 or closed.value <= 0:
                continue
            coils = [item for item in readings.inductances() if single_name(item.test.drive) == driven]
            for coil in (item for item in coils if not shorted(item.test) and item.value > 0):
                for leakage in (item for item in coils if shorted(item.test) == short and item.value > 0):
                    yield _two_resonances(opened, closed, coil, leakage)


def _two_resonances(
    opened: PartReading, closed: PartReading, coil: PartReading, leakage: PartReading
) -> Check:
    square, expected = (closed.value / opened.value) ** 2, coil.value / leakage.value
    residual = math.log(square / expected)
    doubt = math.hypot(
        2 * opened.relative, 2 * closed.relative, coil.relative, leakage.relative, SAME_CAPACITANCE
    )
    acting = format_quantity(1 / ((2 * math.pi * opened.value) ** 2 * coil.value), "F", 3)
    detail = (
        f"({closed}/{opened})² = {square:.4g}, {coil}/{leakage} = {expected:.4g}, {acting} acting when open"
    )
    meaning = (
        "Another capacitance acts in the two states: the link ties a winding to ground or core, or one of "
        "the four readings is of other pins"
    )
    return check_of("resonance pair", residual, doubt, detail, meaning)


def _open_quality(readings: PartReadings) -> Iterator[Check]:
    for item, quality, doubt in _qualities(readings):
        frequency = item.test.alternating_frequency
        if shorted(item.test) or frequency < 1e3 or quality <= 0 or item.test.sense:
            continue
        residual = math.log(USUAL_QUALITY / quality)
        detail = f"{item}: Q = {quality:.3g}, an open winding stays above {USUAL_QUALITY:g}"
        meaning = (
            "A shorted turn or a closed shield takes the quality, and the inductance with it; or the "
            "display is of the other equivalent circuit, or a winding was not open"
        )
        spread = math.hypot(doubt, QUALITY_ALLOWANCE)
        yield check_of("quality of the open winding", residual, spread, detail, meaning, one_sided=True)


def _qualities(readings: PartReadings) -> Iterator[tuple[PartReading, float, float]]:
    """Reading, Q and its relative standard uncertainty, from a quality reading, else from L and R of one
    set-up."""
    told = readings.of("quality")
    for item in told:
        yield item, item.value, item.relative
    for coil in readings.of("inductance", "series"):
        for loss in readings.of("ac_resistance", "series"):
            known = any(same_set_up(coil, item) for item in told)
            if same_set_up(coil, loss) and not known and loss.value > 0 and coil.value > 0:
                reactance = coil.test.angular_frequency * coil.value
                yield coil, reactance / loss.value, math.hypot(coil.relative, loss.relative)


def _repeats(readings: PartReadings) -> Iterator[Check]:
    for item in readings.items:
        if item.repeats < LEAST_REPEATS or item.scatter is None or not item.claimed:
            continue
        freedom = item.repeats - 1
        variance = (item.scatter / item.claimed) ** 2
        part = 2 / (9 * freedom)
        score = (variance ** (1 / 3) - (1 - part)) / math.sqrt(part)
        percent = [
            100 * value / abs(item.value) if item.value else math.inf
            for value in (item.scatter, item.claimed)
        ]
        detail = (
            f"{item}: {item.repeats} readings scatter by {percent[0]:.2g} %, {percent[1]:.2g} % is claimed "
            "for one (both standard)"
        )
        meaning = (
            "Contacts, the shorting link or the leads change from one connection to the next, a slip of the "
            "unit, or two parts under one name: more than the meter and its handling explain"
        )
        yield check_of("repeats", score, 1.0, detail, meaning, one_sided=True)


PART_LAWS: tuple[Callable[[PartReadings], Iterator[Check]], ...] = (
    _halves,
    _taps,
    _resonance_pair,
    _open_quality,
    _repeats,
)
