"""Checks that need no design: do the readings of one part agree with each other?

Each check is a law of any linear, passive transformer, so a violation means the bench, the pins or the
file, not the design. A check needs the readings that its formula names and is left out where they are not
there. Its score is the residual over its standard uncertainty, from the uncertainties of the readings taken
as independent (errors of one meter are partly shared, so a score is rather too small than too large); it
holds while the score stays within 3.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from ..predict.design import BenchTest, Design, Port
from .evaluation import ReadTest

BROKEN = 3.0
"""|score| beyond which a check is broken."""
LEVEL_ALLOWANCE = 0.03
"""Relative allowance where inductances of two windings are compared at different volts per turn: the
permeability rises with the flux density (common practice, no source)."""
FREQUENCY_ALLOWANCE = 0.03
"""Relative allowance where a leakage is compared at different frequencies or from both sides: copper and
links differ."""


@dataclass(frozen=True)
class Check:
    """One law on the readings of one part. detail : the formula with its numbers and, if broken, what that
    means."""

    check: str
    holds: bool
    score: float | None
    detail: str


@dataclass(frozen=True)
class _Item:
    """A reading with its test: value and standard uncertainty (SI)."""

    test: BenchTest
    value: float
    uncertainty: float

    @property
    def relative(self) -> float:
        return self.uncertainty / abs(self.value) if self.value else math.inf


def consistency_checks(design: Design, read: Sequence[ReadTest]) -> tuple[Check, ...]:
    """Every check that the readings ``read`` of one part allow."""
    items = [
        _Item(design.tests[item.place], item.value, item.uncertainty)
        for item in read
        if item.value is not None and item.uncertainty is not None
    ]
    corrected = [_without_link(design, items, item) for item in items]
    return tuple(check for rule in _RULES for check in rule(corrected))


def _without_link(design: Design, items: Sequence[_Item], item: _Item) -> _Item:
    """A leakage less what the bench's known shorting link adds to it, n² L, with the link's tolerance in
    its uncertainty."""
    first, shorted = _single(item.test.drive), _shorted(item.test)
    if item.test.measure != "inductance" or not first or len(shorted) != 1:
        return item
    found = _square_of_ratio(items, first, *shorted)
    if found is None:
        return item
    link = found[0] * float(np.asarray(design.bench.short_inductance).flat[0])
    doubt = link * design.bench.short_inductance_tolerance / 2
    return _Item(item.test, item.value - link, math.hypot(item.uncertainty, doubt))


def _single(port: Port) -> str:
    """The winding's name if a port is one winding, not reversed; else ""."""
    return port[0].name if len(port) == 1 and not port[0].reversed else ""


def _shorted(test: BenchTest) -> frozenset[str]:
    return frozenset(member.name for member in test.short)


def _inductances(items: Sequence[_Item], *, shorted: bool) -> list[_Item]:
    """Series-equivalent inductances of single windings, open or with something shorted."""
    return [
        item
        for item in items
        if item.test.measure == "inductance" and _single(item.test.drive) and bool(item.test.short) == shorted
    ]


def _check(
    name: str, residual: float, uncertainty: float, detail: str, meaning: str, *, one_sided: bool = False
) -> Check:
    """A check from a residual that should be zero (``one_sided``: not above zero) and its standard
    uncertainty."""
    score = (
        residual / uncertainty if uncertainty > 0 else math.copysign(math.inf, residual) if residual else 0.0
    )
    holds = score <= BROKEN if one_sided else abs(score) <= BROKEN
    return Check(name, holds, score, detail if holds else f"{detail}. {meaning}")


def _both_sides(items: Sequence[_Item]) -> list[Check]:
    """Leakage from both sides of a pair against the square of the ratio (or the open inductances)."""
    result = []
    shorted = _inductances(items, shorted=True)
    for one in shorted:
        for other in shorted:
            first, second = _single(one.test.drive), _single(other.test.drive)
            if first >= second or _shorted(one.test) != {second} or _shorted(other.test) != {first}:
                continue
            found = _square_of_ratio(items, first, second)
            if found is None or one.value <= 0 or other.value <= 0:
                continue
            square, relative, by = found
            residual = math.log(one.value / other.value / square)
            uncertainty = math.hypot(one.relative, other.relative, relative, FREQUENCY_ALLOWANCE)
            detail = (
                f"{one.test.name}/{other.test.name} = {one.value / other.value:.4g}, {by} = "
                f"{square:.4g} (the bench's link taken off), "
                f"apart by {100 * math.expm1(residual):+.1f} %"
            )
            high, low = (first, second) if square > 1 else (second, first)
            meaning = (
                "One of the two leakage readings holds something that is not in the part. Too "
                f"much from {high}: the shorting link "
                f"(it counts with the square of the ratio there). Too much from {low}: leads or "
                "fixture. Or not the winding that was meant was shorted"
            )
            result.append(_check("leakage from both sides", residual, uncertainty, detail, meaning))
    return result


def _square_of_ratio(items: Sequence[_Item], first: str, second: str) -> tuple[float, float, str] | None:
    """(n², its relative standard uncertainty, how) of first : second, from the ratio or the open
    inductances."""
    for item in items:
        if item.test.measure == "ratio" and item.value > 0:
            pair = (_single(item.test.drive), _single(item.test.sense))
            if pair == (first, second):
                return item.value**2, 2 * item.relative, f"{item.test.name}²"
            if pair == (second, first):
                return item.value**-2, 2 * item.relative, f"1/{item.test.name}²"
    opened = {_single(item.test.drive): item for item in _inductances(items, shorted=False)}
    if first in opened and second in opened and opened[first].value > 0 and opened[second].value > 0:
        a, b = opened[first], opened[second]
        return (
            a.value / b.value,
            math.hypot(a.relative, b.relative, LEVEL_ALLOWANCE),
            f"{a.test.name}/{b.test.name}",
        )
    return None


def _ratio_by_inductance(items: Sequence[_Item]) -> list[Check]:
    """Voltage ratio against the root of the open inductances."""
    result = []
    opened = {_single(item.test.drive): item for item in _inductances(items, shorted=False)}
    for item in items:
        first, second = _single(item.test.drive), _single(item.test.sense)
        if item.test.measure != "ratio" or first not in opened or second not in opened or item.value <= 0:
            continue
        a, b = opened[first], opened[second]
        if a.value <= 0 or b.value <= 0:
            continue
        root = math.sqrt(a.value / b.value)
        residual = math.log(item.value / root)
        uncertainty = math.hypot(item.relative, a.relative / 2, b.relative / 2, LEVEL_ALLOWANCE / 2)
        detail = f"{item.test.name} = {item.value:.5g}, √({a.test.name}/{b.test.name}) = {root:.5g}"
        meaning = (
            "The inductances were read at different flux densities, frequencies or with leads in "
            "them, or the ratio is loaded; "
            "do not read turns from inductances here"
        )
        result.append(_check("ratio against inductances", residual, uncertainty, detail, meaning))
    return result


def _ratio_both_ways(items: Sequence[_Item]) -> list[Check]:
    """Ratio driven from either side: their product is 1/k², above 1 and near it."""
    result = []
    ratios = [item for item in items if item.test.measure == "ratio" and item.value > 0]
    for one in ratios:
        for other in ratios:
            first, second = _single(one.test.drive), _single(one.test.sense)
            if (
                not first
                or first >= second
                or (second, first) != (_single(other.test.drive), _single(other.test.sense))
            ):
                continue
            residual = -math.log(one.value * other.value)
            uncertainty = math.hypot(one.relative, other.relative)
            detail = (
                f"{one.test.name} × {other.test.name} = {one.value * other.value:.5g} = 1/k², not below 1"
            )
            meaning = (
                "A ratio reading is wrong or loaded: no passive transformer gives more voltage both ways"
            )
            result.append(_check("ratio both ways", residual, uncertainty, detail, meaning, one_sided=True))
    return result


def _aiding_opposing(items: Sequence[_Item]) -> list[Check]:
    """(L_aiding + L_opposing)/2 = L1 + L2; and aiding above opposing."""
    result = []
    pairs: dict[frozenset[str], dict[bool, _Item]] = {}
    for item in items:
        drive = item.test.drive
        if item.test.measure == "inductance" and not item.test.short and len(drive) == 2:
            names = frozenset(member.name for member in drive)
            pairs.setdefault(names, {})[drive[0].reversed != drive[1].reversed] = item
    opened = {_single(item.test.drive): item for item in _inductances(items, shorted=False)}
    for names, both in pairs.items():
        if len(both) < 2:
            continue
        aiding, opposing = both[False], both[True]
        detail = f"{aiding.test.name} = {aiding.value:.5g} H, {opposing.test.name} = {opposing.value:.5g} H"
        gap = opposing.value - aiding.value
        uncertainty = math.hypot(aiding.uncertainty, opposing.uncertainty)
        meaning = "A winding is reversed, or its start and finish are exchanged on the bench"
        result.append(_check("aiding above opposing", gap, uncertainty, detail, meaning, one_sided=True))
        if names <= opened.keys():
            total = sum(opened[name].value for name in names)
            mean = (aiding.value + opposing.value) / 2
            parts = [opened[name].uncertainty for name in names]
            uncertainty = math.hypot(uncertainty / 2, *parts, LEVEL_ALLOWANCE * total)
            detail = f"({aiding.test.name} + {opposing.test.name})/2 = {mean:.5g} H, L1 + L2 = {total:.5g} H"
            meaning = "A reading near resonance, at another level, or of other pins"
            result.append(_check("aiding and opposing", mean - total, uncertainty, detail, meaning))
    return result


def _shorted_below_open(items: Sequence[_Item]) -> list[Check]:
    """Shorted never exceeds open; more shorted never exceeds fewer shorted."""
    result = []
    everything = _inductances(items, shorted=False) + _inductances(items, shorted=True)
    for one in everything:
        for other in everything:
            more, fewer = _shorted(one.test), _shorted(other.test)
            if one is other or _single(one.test.drive) != _single(other.test.drive) or not more > fewer:
                continue
            if one.value <= 0 or other.value <= 0:
                continue
            residual = one.value - other.value
            allowance = FREQUENCY_ALLOWANCE * other.value
            uncertainty = math.hypot(one.uncertainty, other.uncertainty, allowance)
            detail = f"{one.test.name} = {one.value:.5g} H, not above {other.test.name} = {other.value:.5g} H"
            meaning = (
                "Rows exchanged, wrong pins, or a test frequency at which the short is "
                "none (or above resonance)"
            )
            result.append(
                _check("shorted below open", residual, uncertainty, detail, meaning, one_sided=True)
            )
    return result


def _mutual_below_one(items: Sequence[_Item]) -> list[Check]:
    """M² below L1 L2: a coupling factor below one."""
    result = []
    opened = {_single(item.test.drive): item for item in _inductances(items, shorted=False)}
    for item in items:
        first, second = _single(item.test.drive), _single(item.test.sense)
        if item.test.measure != "mutual" or first not in opened or second not in opened or item.value == 0:
            continue
        a, b = opened[first], opened[second]
        if a.value <= 0 or b.value <= 0:
            continue
        coupling = abs(item.value) / math.sqrt(a.value * b.value)
        uncertainty = math.hypot(item.relative, a.relative / 2, b.relative / 2, LEVEL_ALLOWANCE / 2)
        detail = f"k = |{item.test.name}|/√({a.test.name} {b.test.name}) = {coupling:.5f}, not above 1"
        meaning = "The three readings were not taken at one level and frequency, or one is a slip"
        result.append(
            _check("coupling below one", math.log(coupling), uncertainty, detail, meaning, one_sided=True)
        )
    return result


def _same_set_up(one: BenchTest, other: BenchTest) -> bool:
    return (
        one.drive == other.drive
        and frozenset(one.short) == frozenset(other.short)
        and one.frequency is not None
        and one.frequency == other.frequency
        and one.equivalent == other.equivalent
    )


def _quality_coherent(items: Sequence[_Item]) -> list[Check]:
    """Q = ωL/R where all three come from one set-up (series and parallel alike)."""
    result = []
    by_measure: dict[str, list[_Item]] = {}
    for item in items:
        by_measure.setdefault(item.test.measure, []).append(item)
    for quality in by_measure.get("quality", []):
        for coil in by_measure.get("inductance", []):
            for loss in by_measure.get("ac_resistance", []):
                alike = _same_set_up(coil.test, loss.test) and quality.test.drive == coil.test.drive
                alike = alike and quality.test.frequency == coil.test.frequency
                alike = alike and frozenset(quality.test.short) == frozenset(coil.test.short)
                if not alike or loss.value <= 0 or coil.value == 0 or quality.value <= 0:
                    continue
                omega = 2 * math.pi * float(coil.test.frequency or 0.0)
                expected = omega * abs(coil.value) / loss.value
                uncertainty = math.hypot(quality.relative, coil.relative, loss.relative)
                detail = (
                    f"{quality.test.name} = {quality.value:.4g}, ω "
                    f"{coil.test.name}/{loss.test.name} = {expected:.4g}"
                )
                meaning = (
                    "The displays come from different equivalent circuits (series, parallel) or frequencies"
                )
                residual = math.log(quality.value / expected)
                result.append(_check("quality against L and R", residual, uncertainty, detail, meaning))
    return result


def _alternating_above_direct(items: Sequence[_Item]) -> list[Check]:
    """Alternating-current resistance not below direct-current resistance of the driven winding."""
    result = []
    direct = {_single(item.test.drive): item for item in items if item.test.measure == "resistance"}
    for item in items:
        name = _single(item.test.drive)
        if item.test.measure != "ac_resistance" or name not in direct:
            continue
        other = direct[name]
        warm = 0.02 * other.value  # a room some kelvins off 20 °C
        uncertainty = math.hypot(item.uncertainty, other.uncertainty, warm)
        detail = f"{item.test.name} = {item.value:.4g} Ω, not below {other.test.name} = {other.value:.4g} Ω"
        meaning = "The direct-current reading holds contacts or leads (no four-wire), or the pins differ"
        result.append(
            _check(
                "AC above DC resistance",
                other.value - item.value,
                uncertainty,
                detail,
                meaning,
                one_sided=True,
            )
        )
    return result


def _positive(items: Sequence[_Item]) -> list[Check]:
    """Passivity: resistances above zero."""
    result = []
    for item in items:
        if item.test.measure in ("resistance", "ac_resistance") and item.value <= 0:
            detail = f"{item.test.name} = {item.value:.4g} Ω, above 0"
            meaning = "No passive part has it: a slip, or a correction that took too much away"
            score = -item.value / item.uncertainty if item.uncertainty > 0 else math.inf
            result.append(Check("resistance above zero", False, float(np.abs(score)), f"{detail}. {meaning}"))
    return result


_RULES: tuple[Callable[[Sequence[_Item]], list[Check]], ...] = (
    _both_sides,
    _ratio_by_inductance,
    _ratio_both_ways,
    _aiding_opposing,
    _mutual_below_one,
    _shorted_below_open,
    _quality_coherent,
    _alternating_above_direct,
    _positive,
)
