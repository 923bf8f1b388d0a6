"""Which single slip would explain readings that contradict each other: a unit, a decade, two rows exchanged.

A contradiction of several checks by one wrong row is the most common of all. Every reading is tried at
1/1000, 1/10, 10 and 1000 of itself, every two of one measure in each other's row; a trial that mends every
broken check and takes more than 25 off the sum of squared scores is named. Source: common practice, no
source.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from itertools import combinations

from .part_readings import Check, Item, PartReadings

FACTORS = {1e3: "1000 times", 10.0: "10 times", 0.1: "a tenth of", 1e-3: "a thousandth of"}
GAIN = 25.0
"""Fall of the sum of squared scores from which a trial is named."""
WORST = 50.0
"""Scores count up to this, so that one check does not decide alone."""


def slips(
    readings: PartReadings, checks: Sequence[Check], laws: Callable[[PartReadings], Sequence[Check]]
) -> Iterator[Check]:
    """At most one broken check "slip" that names the readings of which one slip mends all of ``checks``.

    laws : gives the checks of changed readings. Nothing where no check is broken or no single slip mends
    them. Where several readings would do alike they are all named: the checks cannot tell which.
    """
    if all(check.holds for check in checks):
        return
    before = _misfit(checks)
    found: list[tuple[float, str]] = []
    for words, trial in _trials(readings):
        after = laws(trial)
        gain = before - _misfit(after)
        if gain > GAIN and all(check.holds for check in after) and len(after) >= len(checks):
            found.append((gain, words))
    if not found:
        return
    best = max(gain for gain, _ in found)
    named = [words for gain, words in found if gain > best - GAIN / 2]
    detail = "; or ".join(named)
    yield Check(
        "slip", False, None, f"all broken checks would hold if {detail}. A slip of unit, decade or row"
    )


def _misfit(checks: Sequence[Check]) -> float:
    return sum(min(abs(check.score or 0.0), WORST) ** 2 for check in checks if not check.holds)


def _trials(readings: PartReadings) -> Iterator[tuple[str, PartReadings]]:
    items = readings.items
    for place, item in enumerate(items):
        if item.test.measure == "phase":
            continue
        for factor, words in FACTORS.items():
            scaled = replace(item, value=item.value * factor, uncertainty=item.uncertainty * factor)
            yield f"{item} were {words} what stands there", _with(readings, {place: scaled})
    for (one, first), (two, second) in combinations(enumerate(items), 2):
        if first.test.measure == second.test.measure and first.value != second.value:
            changed = {one: _value_of(first, second), two: _value_of(second, first)}
            yield f"{first} and {second} changed places", _with(readings, changed)


def _value_of(item: Item, other: Item) -> Item:
    return replace(item, value=other.value, uncertainty=other.uncertainty)


def _with(readings: PartReadings, changed: dict[int, Item]) -> PartReadings:
    items = tuple(changed.get(place, item) for place, item in enumerate(readings.items))
    return replace(readings, items=items)
