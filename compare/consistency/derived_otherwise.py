"""Coupling, capacitance and resonance without two open inductances and a leakage, and which readings are
missing.

    aiding, opposing           La = L1 + L2 + 2M, Lo = L1 + L2 − 2M:   M = (La − Lo)/4,  L1 + L2 = (La + Lo)/2
                               with L1 (or L2):  k = M/√(L1 L2)
    one leakage, one open      Λ1, L1:  k² = 1 − Λ1/L1,  with the voltage ratio n = V1/V2 = L1/M:
    inductance, the ratio      M = L1/n,  L2 = L1/(n k)²;  with stated turns N instead:  L2 = L1/N²
    two frequencies            1/L'(ω) = 1/L − ω² C:  C = (1/L'₁ − 1/L'₂)/(ω₂² − ω₁²),  f₀ = 1/(2π √(L C))
    a resonance                C = 1/(ω₀² L)

M from aiding and opposing is a small difference if the coupling is weak, and so is 1 − k if it is tight;
the uncertainty shows it. Two frequencies assume the same permeability at both; if the inductance falls
with frequency, no capacitance is derived. Source: circuit theory.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations

import numpy as np

from ...predict.design import FloatArray, Join
from .derived import Derived, derive, leakage_of, link_of, open_of
from .part import PartReading, PartReadings, single_name
from .two_wire import in_series

APART = 1.5
"""A capacitance is derived from two frequencies with at least this ratio (judged; no data behind it)."""
FIVEFOLD = 2.0
"""A capacitance is given if its value is at least this many standard uncertainties from zero (common
practice: two standard uncertainties)."""

Stated = Sequence[tuple[str, str, float]]
"""(first, second, turns of the first over those of the second), as the user states them."""


def derived_otherwise(readings: PartReadings, stated: Stated) -> tuple[Derived, ...]:
    """All quantities of the module's docstring that the readings of one part allow, SI.

    Parameters
    ----------
    readings : PartReadings
    stated : Stated, turns ratios as stated, dimensionless
    """
    names = windings_read(readings)
    derived: list[Derived] = []
    for first, second in combinations(names, 2):
        derived += _aiding_opposing(readings, first, second)
        derived += _one_sided(readings, first, second, stated)
        derived += _one_sided(readings, second, first, stated)
    for name in names:
        derived += _two_frequencies(readings, name)
        derived += _resonance(readings, name)
    return tuple(derived)


def windings_read(readings: PartReadings) -> list[str]:
    """Windings that any reading names, in order."""
    ports = [port for item in readings.items for port in (item.test.drive, item.test.sense, item.test.short)]
    return list(dict.fromkeys(member.name for port in ports for member in port))


def missing(readings: PartReadings, known: Sequence[Derived], joins: Sequence[Join] = ()) -> tuple[str, ...]:
    """Readings that would give what cannot be derived yet.

    For each pair of windings without a coupling and each winding without a capacitance, the reading that
    would give it; for direct-current resistances, the one that would reveal leads in them. A join has no
    coupling to what is in it.

    Parameters
    ----------
    readings : PartReadings
    known : Sequence[Derived], quantities derived so far
    joins : Sequence[Join], joins that are read like windings
    """
    inside = _members(joins)
    names = windings_read(readings)
    has = {item.name for item in known}
    told = []
    for first, second in combinations(names, 2):
        pair = f"{first}, {second}"
        ways = (f"k of {pair}", f"k of {second}, {first}", f"k of {pair} by aiding and opposing")
        if has & set(ways) or inside.get(first, {first}) & inside.get(second, {second}):
            continue
        opened = [name for name in (first, second) if open_of(readings, name) is not None]
        shorted = leakage_of(readings, first, second) or leakage_of(readings, second, first)
        ratio = any(
            {single_name(item.test.drive), single_name(item.test.sense)} == {first, second}
            for item in readings.of("ratio")
        )
        if shorted is not None and not opened:
            needs = f"the open inductance of {single_name(shorted.test.drive)}"
        elif shorted is None and opened:
            needs = f"the inductance of {opened[0]} with {second if opened[0] == first else first} shorted"
        elif shorted is not None and single_name(shorted.test.drive) not in opened:
            needs = f"the open inductance of {single_name(shorted.test.drive)}"
        else:
            needs = f"the open inductance of {first}, and that with {second} shorted"
        beside = "" if len(opened) == 2 or ratio else f" (M too with the voltage ratio {first} : {second})"
        if len(opened) == 2 and shorted is None:
            needs += ", or both in series, aiding and opposing"
        told.append(f"k of {pair}: {needs}{beside}")
    for name in names:
        if f"capacitance across {name}" not in has and open_of(readings, name) is not None:
            way = "its open inductance once more at five times the frequency, or its resonance"
            told.append(f"capacitance across {name}: {way}")
    return (*told, *_leads(readings, inside))


def _members(joins: Sequence[Join]) -> dict[str, set[str]]:
    """The windings in every join, which may hold earlier joins."""
    inside: dict[str, set[str]] = {}
    for join in joins:
        inside[join.name] = set().union(*(inside.get(member.name, {member.name}) for member in join.members))
    return inside


def _leads(readings: PartReadings, inside: Mapping[str, set[str]]) -> tuple[str, ...]:
    """Leads in resistances that were read one by one on two wires.

    Without drawn resistances (``compare`` has them) only a reading in series can reveal them.
    """
    direct = [single_name(item.test.drive) for item in readings.of("resistance") if len(item.test.drive) == 1]
    apart = (
        (first, second)
        for first, second in combinations(dict.fromkeys(direct), 2)
        if not inside.get(first, {first}) & inside.get(second, {second})
    )
    first, second = next(apart, ("", ""))
    if not first or next(in_series(readings), None) is not None:
        return ()
    return (
        f"leads in the resistances of {first}, {second}: both in series, read as well (drive "
        f'"{first} + {second}"); with a design, compare finds them from its resistances',
    )


# --- each way ---------------------------------------------------------------------------------------


def _aiding_opposing(readings: PartReadings, first: str, second: str) -> Iterator[Derived]:
    all_aiding, all_opposed = readings.in_series(first, second, 1), readings.in_series(first, second, -1)
    if not all_aiding or not all_opposed:
        return
    aiding, opposed = all_aiding[0], all_opposed[0]
    first_open, second_open = open_of(readings, first), open_of(readings, second)
    opened = tuple(item for item in (first_open, second_open) if item is not None)
    label = f"{first}, {second}"

    def model(x: FloatArray) -> FloatArray:
        La, Lo = x[..., 0], x[..., 1]
        M, total = (La - Lo) / 4, (La + Lo) / 2
        if not opened:
            return np.stack([M, total], axis=-1)
        L1 = x[..., 2]
        L2 = x[..., 3] if len(opened) == 2 else total - L1
        return np.stack([M, M / np.sqrt(np.where(L1 * L2 > 0, L1 * L2, np.nan))], axis=-1)

    second_row = (
        (f"k of {label} by aiding and opposing", "1") if opened else (f"L of {first} plus L of {second}", "H")
    )
    names = ((f"M of {label} by aiding and opposing", "H"), second_row)
    yield from derive(names, model, (aiding, opposed, *opened), link_of(readings))


def _one_sided(readings: PartReadings, near: str, far: str, stated: Stated) -> Iterator[Derived]:
    """From the leakage and the open inductance of ``near``, if ``far`` has no open inductance."""
    leak, opened = leakage_of(readings, near, far), open_of(readings, near)
    if leak is None or opened is None or open_of(readings, far) is not None:
        return
    read = next((item for item, way in readings.ratios(near, far) if way > 0), None)
    turns = next((ratio for first, second, ratio in stated if (first, second) == (near, far)), None)
    if turns is None:
        turns = next((1 / ratio for first, second, ratio in stated if (first, second) == (far, near)), None)
    items = (opened, leak) if read is None else (opened, leak, read)

    def model(x: FloatArray) -> FloatArray:
        L1, shown, link_inductance = x[..., 0], x[..., 1], x[..., -1]
        n = x[..., 2] if read is not None else np.full_like(L1, turns if turns is not None else np.nan)
        squared = np.where(np.isnan(n), 0.0, n**2)
        share = (shown - squared * link_inductance) / L1
        k = np.sqrt(np.clip(1 - share, 0.0, 1.0))
        L2 = L1 / (n * k) ** 2 if read is not None else L1 / n**2
        return np.stack([share, k, k * np.sqrt(L1 * L2), L2], axis=-1)

    label = f"{near}, {far}"
    by = "" if read is not None else " by the stated turns"
    names = (
        (f"1 − k² of {label}", "1"),
        (f"k of {label}", "1"),
        (f"M of {label}{by}", "H"),
        (f"open inductance of {far}{by}", "H"),
    )
    derived = list(derive(names, model, items, link_of(readings)))
    yield from (derived if read is not None or turns is not None else derived[:2])


def _opens(readings: PartReadings, name: str) -> list[PartReading]:
    free = [item for item in readings.inductances() if not item.test.short and item.test.frequency]
    mine = [item for item in free if single_name(item.test.drive) == name and item.value > 0]
    return sorted(mine, key=lambda item: item.test.alternating_frequency)


def _two_frequencies(readings: PartReadings, name: str) -> Iterator[Derived]:
    items = _opens(readings, name)
    if len(items) < 2:
        return
    low, high = items[0], items[-1]
    slow, fast = low.test.alternating_frequency, high.test.alternating_frequency
    if fast < APART * slow or high.value <= low.value:
        return
    first, second = (2 * math.pi * slow) ** 2, (2 * math.pi * fast) ** 2

    def model(x: FloatArray) -> FloatArray:
        C = (1 / x[..., 0] - 1 / x[..., 1]) / (second - first)
        L = 1 / (1 / x[..., 0] + first * C)
        return np.stack([C, 1 / (2 * np.pi * np.sqrt(np.where(L * C > 0, L * C, np.nan)))], axis=-1)

    names = ((f"capacitance across {name}", "F"), (f"resonance of {name}", "Hz"))
    derived = list(derive(names, model, (low, high), link_of(readings)))
    if derived and derived[0].value > FIVEFOLD * derived[0].uncertainty:
        yield from derived


def _resonance(readings: PartReadings, name: str) -> Iterator[Derived]:
    items = _opens(readings, name)
    rows = [
        item
        for item in readings.of("resonance")
        if single_name(item.test.drive) == name and not item.test.short
    ]
    rising = len(items) > 1 and items[-1].value > items[0].value  # then the two frequencies give it
    if not items or not rows or rising:
        return

    def model(x: FloatArray) -> FloatArray:
        return np.asarray(1 / ((2 * np.pi * x[..., 1]) ** 2 * x[..., 0]))[..., None]

    names = ((f"capacitance across {name}", "F"),)
    yield from derive(names, model, (items[0], rows[0]), link_of(readings))
