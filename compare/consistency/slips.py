"""Which single slip would explain readings that contradict each other: a unit, a decade, two rows exchanged.

One wrong row is the most common reason why several checks are broken. Every reading that a broken check
names is tried at 1/1000, 1/10, 10 and 1000 times its value, a voltage ratio also inverted, and every two
readings of one measure exchanged. A trial that mends every broken check and lowers the sum of squared
scores by more than 25 is named. Broken checks of directions, or of a shorted inductance's plateau, are no
sign of a slip if nothing else is broken: they have their own explanation. Source: common practice, no
source.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from itertools import combinations

from .part import Check, PartReading, PartReadings

FACTORS = {1e3: "1000 times", 10.0: "10 times", 0.1: "a tenth of", 1e-3: "a thousandth of"}
DIRECTIONS = ("aiding above opposing", "polarity")
"""Checks of the windings' marked directions."""
EXPLAINED = (*DIRECTIONS, "shorted inductance on its plateau", "equal offsets", "resistances in series")
"""Checks that have an explanation of their own if nothing else is broken."""
GAIN = 25.0
"""A trial is named if it lowers the sum of squared scores by more than this (judged: five standard
uncertainties squared, for trials are many)."""
WORST = 50.0
"""Scores count only up to this, so that one check does not decide alone (judged; no data behind it)."""


def slips(
    readings: PartReadings, checks: Sequence[Check], laws: Callable[[PartReadings], Sequence[Check]]
) -> Iterator[Check]:
    """At most one broken check "slip", naming the readings of which a single slip explains all broken checks.

    Nothing is given if no check is broken or no single slip mends them. If several readings would do
    equally well all are named: the checks cannot tell which it is.

    Parameters
    ----------
    readings : PartReadings
    checks : Sequence[Check], checks of the readings as they are
    laws : Callable[[PartReadings], Sequence[Check]], function that gives the checks of changed readings
    """
    broken = [check for check in checks if not check.holds and check.check not in DIRECTIONS]
    if all(check.check in EXPLAINED for check in broken):
        return
    suspects = [
        index
        for index, item in enumerate(readings.items)
        if any(re.search(rf"(?<!\w){re.escape(str(item))}(?!\w)", check.detail) for check in broken)
    ]
    before = _misfit(broken)
    gains: list[tuple[float, str]] = []
    for words, trial in _trials(readings, suspects):
        after = [check for check in laws(trial) if check.check not in DIRECTIONS]
        gain = before - _misfit(after)
        mended = all(check.holds for check in after)
        if gain > GAIN and mended and {check.check for check in broken} <= {check.check for check in after}:
            gains.append((gain, words))
    if not gains:
        return
    best = max(gain for gain, _ in gains)
    named = [words for gain, words in gains if gain > best - GAIN / 2]
    detail = "; or ".join(named)
    yield Check(
        "slip",
        False,
        None,
        f"all broken checks would hold if {detail}. A slip of unit, decade, row or direction",
    )


def _misfit(checks: Sequence[Check]) -> float:
    return sum(min(abs(check.score or 0.0), WORST) ** 2 for check in checks if not check.holds)


def _trials(readings: PartReadings, suspects: Sequence[int]) -> Iterator[tuple[str, PartReadings]]:
    items = readings.items
    for item_index in suspects:
        item = items[item_index]
        if item.test.measure == "phase":
            continue
        for factor, words in FACTORS.items():
            scaled = replace(item, value=item.value * factor, uncertainty=item.uncertainty * factor)
            yield f"{item} were {words} the value in the file", _with(readings, {item_index: scaled})
        if item.test.measure == "ratio" and item.value > 0:
            inverse = replace(item, value=1 / item.value, uncertainty=item.uncertainty / item.value**2)
            words = (
                f"{item} were 1 over the value in the file, {inverse.value:.4g} (driven over sensed voltage)"
            )
            yield words, _with(readings, {item_index: inverse})
    for (first_index, first), (second_index, second) in combinations(enumerate(items), 2):
        alike = first.test.measure == second.test.measure and first.value != second.value
        if alike and (first_index in suspects or second_index in suspects):
            changed = {first_index: _value_of(first, second), second_index: _value_of(second, first)}
            yield f"{first} and {second} changed places", _with(readings, changed)


def _value_of(item: PartReading, reading: PartReading) -> PartReading:
    return replace(item, value=reading.value, uncertainty=reading.uncertainty)


def _with(readings: PartReadings, changed: dict[int, PartReading]) -> PartReadings:
    items = tuple(changed.get(index, item) for index, item in enumerate(readings.items))
    return replace(readings, items=items)
