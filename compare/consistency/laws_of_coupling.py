"""Laws between the readings of two or more windings: leakage, ratio, mutual inductance, signs.

Their equations are listed in ``checks``.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from itertools import combinations

from ...predict.design import first_build
from ...predict.quantity import format_quantity
from .part import (
    LEAKAGE_ALLOWANCE,
    LEVEL_ALLOWANCE,
    UNKNOWN_COUPLING,
    Check,
    PartReading,
    PartReadings,
    at_level_of,
    check_of,
    henry,
    level_allowance,
    rounded,
    shorted,
    single_name,
    tuned,
)

# --- leakage and ratio -----------------------------------------------------------------------------


def _leakages(readings: PartReadings, first: str, second: str) -> list[PartReading]:
    """Leakages of a pair driven at ``first``, less n² L of the bench's link (first order).

    The link's tolerance is included in their uncertainty.
    """
    leakages = [
        item
        for item in readings.inductances()
        if single_name(item.test.drive) == first and shorted(item.test) == {second}
    ]
    if not leakages:
        return []
    squares = [item.value ** (2 * sense) for item, sense in readings.ratios(first, second)]
    squares += [a.value / b.value for a, b in readings.opens(first, second)]
    if not squares:
        return []
    link_inductance = squares[0] * first_build(readings.bench.short_inductance)
    doubt = link_inductance * readings.bench.short_inductance_tolerance / 2
    return [
        PartReading(
            test=item.test,
            value=item.value - link_inductance,
            uncertainty=math.hypot(item.uncertainty, doubt),
        )
        for item in leakages
    ]


def _leakage_share(readings: PartReadings, first: str, second: str) -> tuple[float, float] | None:
    """1 − k² = Λ/L and its standard uncertainty, from either side; None if no leakage was read with its open
    inductance."""
    for drive, short in ((first, second), (second, first)):
        for opened, _ in readings.opens(drive, drive):
            for item in _leakages(readings, drive, short):
                share = item.value / opened.value
                if 0 < share < 1:
                    doubt = math.hypot(item.uncertainty / item.value, opened.relative, LEVEL_ALLOWANCE)
                    return share, share * doubt
    return None


def _coupling(readings: PartReadings, first: str, second: str) -> tuple[float, float]:
    """k² of a pair and its relative standard uncertainty; 1 with an allowance if no reading gives it."""
    found = _leakage_share(readings, first, second)
    return (1.0, UNKNOWN_COUPLING) if found is None else (1 - found[0], found[1] / (1 - found[0]))


def _squares(readings: PartReadings, first: str, second: str) -> list[tuple[float, float, str]]:
    """Every L1/L2 with its relative standard uncertainty and its source: voltage ratio, open inductances."""
    k2, doubt = _coupling(readings, first, second)
    result = []
    for item, sense in readings.ratios(first, second):
        value = (item.value**2 * k2) ** sense
        result.append((value, math.hypot(2 * item.relative, doubt), f"by the ratio {item}"))
    for a, b in readings.opens(first, second):
        relative = math.hypot(a.relative, b.relative, level_allowance(a, b))
        result.append((a.value / b.value, relative, f"by {a}/{b}"))
    return result


def _pairs(readings: PartReadings) -> list[tuple[str, str]]:
    """Every two windings or joins that are driven or sensed, in the order of the readings."""
    ports = [port for item in readings.items for port in (item.test.drive, item.test.sense)]
    return list(combinations(dict.fromkeys(member.name for port in ports for member in port), 2))


def _both_sides(readings: PartReadings) -> Iterator[Check]:
    for first, second in _pairs(readings):
        for square, relative, source in _squares(readings, first, second):
            for near in _leakages(readings, first, second):
                for far in _leakages(readings, second, first):
                    if tuned(near, far):
                        each = [readings.one_sided.get(str(item), 0.0) for item in (near, far)]
                        doubt = math.hypot(relative, LEAKAGE_ALLOWANCE, *each)
                        yield _two_leakages(near, far, square, doubt, source)


def _two_leakages(
    first: PartReading, second: PartReading, square: float, relative: float, source: str
) -> Check:
    if square < 1:
        first, second, square = second, first, 1 / square
    referred = square * second.value
    residual = first.value - referred
    size = max(abs(first.value), abs(referred))
    uncertainty = math.hypot(first.uncertainty, square * second.uncertainty, relative * size)
    detail = (
        f"{first} = {henry(first.value)}, {square:.4g} × {second} = {henry(referred)} (L1/L2 {source}; the "
        "entered link taken off)"
    )
    if residual > 0:
        excess = format_quantity(residual / square, "H", 2)
        meaning = (
            f"Too much on the side with more turns: a shorting link of {excess} more than entered would do "
            "it, or the wrong winding shorted"
        )
    else:
        leads = format_quantity(-residual / max(square - 1, 1.0), "H", 2)
        meaning = (
            f"Too much on the side with fewer turns: about {leads} of leads or fixture left in {second} "
            "would do it, or the wrong winding shorted"
        )
    return check_of("leakage from both sides", residual, uncertainty, detail, meaning)


def _ratio_by_inductance(readings: PartReadings) -> Iterator[Check]:
    for first, second in _pairs(readings):
        k2, doubt = _coupling(readings, first, second)
        for item, sense in readings.ratios(first, second):
            for a, b in readings.opens(*((first, second) if sense > 0 else (second, first))):
                root = math.sqrt(a.value / b.value)
                residual = math.log(item.value * math.sqrt(k2) / root)
                halves = math.hypot(a.relative, b.relative, level_allowance(a, b), doubt) / 2
                detail = f"{item} × k = {item.value * math.sqrt(k2):.5g}, √({a}/{b}) = {root:.5g}"
                meaning = (
                    "The inductances hold leads or were read at different flux densities, the ratio is "
                    "loaded, or the windings couple loosely; do not read turns from inductances here"
                )
                uncertainty = math.hypot(item.relative, halves)
                yield check_of("ratio against inductances", residual, uncertainty, detail, meaning)


def _ratio_both_ways(readings: PartReadings) -> Iterator[Check]:
    for first, second in _pairs(readings):
        ratios = readings.ratios(first, second)
        share = _leakage_share(readings, first, second)
        for forward, backward in ((a, b) for a, way in ratios for b, back in ratios if way > back):
            product = forward.value * backward.value
            uncertainty = math.hypot(forward.relative, backward.relative)
            detail = f"{forward} × {backward} = {product:.5g} = 1/k², "
            meaning = "A ratio reading is wrong or loaded: no passive part gives more voltage both ways"
            if share is None:
                text = detail + "not below 1"
                yield check_of(
                    "ratio both ways", -math.log(product), uncertainty, text, meaning, one_sided=True
                )
                continue
            allowance = 0.3 * share[0] + 5e-4  # open and shorted flux paths differ; copper adds 1/(2Q²)
            uncertainty = math.hypot(uncertainty, share[1], allowance)
            text = f"{detail}1/(1 − Λ/L) = {1 / (1 - share[0]):.5g}"
            meaning = "A ratio reading is wrong or loaded, or the leakage is not of this pair"
            residual = math.log(product * (1 - share[0]))
            yield check_of("ratio both ways", residual, uncertainty, text, meaning)


# --- mutual inductance and signs -------------------------------------------------------------------


def _mutuals(readings: PartReadings, first: str, second: str) -> list[PartReading]:
    """Every M of a pair that the readings give (H, signed start to start), with the name of its test."""
    result = []
    for item in readings.of("mutual"):
        drive, sense = item.test.drive, item.test.sense
        if len(drive) == len(sense) == 1 and {drive[0].name, sense[0].name} == {first, second}:
            flipped = drive[0].reversed != sense[0].reversed
            result.append(
                PartReading(
                    test=item.test, value=-item.value if flipped else item.value, uncertainty=item.uncertainty
                )
            )
    paired: set[str] = set()
    for aiding in readings.in_series(first, second, 1):
        for opposing in readings.in_series(first, second, -1):
            if tuned(aiding, opposing):
                paired |= {str(aiding), str(opposing)}
                doubt = math.hypot(aiding.uncertainty, opposing.uncertainty, LEVEL_ALLOWANCE * aiding.value)
                result.append(
                    PartReading(
                        test=aiding.test, value=(aiding.value - opposing.value) / 4, uncertainty=doubt / 4
                    )
                )
    for sign in (1, -1):
        for item in readings.in_series(first, second, sign):
            for a, b in readings.opens(first, second):
                if str(item) not in paired and tuned(item, a):
                    largest = LEVEL_ALLOWANCE * max(item.value, a.value + b.value)
                    doubt = math.hypot(item.uncertainty, a.uncertainty, b.uncertainty, largest)
                    value = sign * (item.value - a.value - b.value) / 2
                    result.append(PartReading(test=item.test, value=value, uncertainty=doubt / 2))
    return result


def _aiding_opposing(readings: PartReadings) -> Iterator[Check]:
    for first, second in _pairs(readings):
        for aiding in readings.in_series(first, second, 1):
            for opposing in readings.in_series(first, second, -1):
                if not tuned(aiding, opposing):
                    continue
                uncertainty = math.hypot(aiding.uncertainty, opposing.uncertainty)
                if {first, second} <= readings.turning.keys():
                    yield _marked_dots(readings, (first, second), aiding, opposing, uncertainty)
                for a, b in readings.opens(first, second):
                    if tuned(aiding, a):
                        total, mean = a.value + b.value, (aiding.value + opposing.value) / 2
                        parts = (a.uncertainty, b.uncertainty, LEVEL_ALLOWANCE * total)
                        detail = f"({aiding} + {opposing})/2 = {henry(mean)}, {a} + {b} = {henry(total)}"
                        meaning = "A reading near resonance, at another level, or of other pins"
                        doubt = math.hypot(uncertainty / 2, *parts)
                        yield check_of("aiding and opposing", mean - total, doubt, detail, meaning)


def _marked_dots(
    readings: PartReadings,
    pair: tuple[str, str],
    aiding: PartReading,
    opposing: PartReading,
    uncertainty: float,
) -> Check:
    if readings.turning[pair[0]] != readings.turning[pair[1]]:
        aiding, opposing = opposing, aiding
    detail = f"{aiding} = {henry(aiding.value)}, not below {opposing} = {henry(opposing.value)}"
    meaning = "A winding runs against its marked direction, or start and finish are exchanged on the bench"
    gap = opposing.value - aiding.value
    return check_of("aiding above opposing", gap, uncertainty, detail, meaning, one_sided=True)


def _signs(readings: PartReadings, first: str, second: str) -> Iterator[tuple[float, str]]:
    """What each reading says about the sign of M, start to start: (M or angle over its uncertainty, name)."""
    for item in _mutuals(readings, first, second):
        yield item.value / max(item.uncertainty, 1e-18), str(item)
    for item in readings.of("phase"):
        drive, sense = item.test.drive, item.test.sense
        if len(drive) == len(sense) == 1 and {drive[0].name, sense[0].name} == {first, second}:
            margin = math.pi / 2 - abs(math.remainder(item.value, 2 * math.pi))
            margin = -margin if drive[0].reversed != sense[0].reversed else margin
            yield margin / max(item.uncertainty, 1e-9), str(item)


def _polarity(readings: PartReadings) -> Iterator[Check]:
    for first, second in _pairs(readings):
        signs = list(_signs(readings, first, second))
        if len(signs) < 2:
            continue
        clashes = [
            min(abs(first_sign), abs(other_sign))
            for (first_sign, _), (other_sign, _) in combinations(signs, 2)
            if first_sign * other_sign < 0
        ]
        words = ", ".join(f"{name} {'same' if sign > 0 else 'opposite'} sense" for sign, name in signs)
        detail = f"{first} against {second}: {words}"
        meaning = "Start and finish were exchanged between two of these readings"
        yield check_of("polarity", max(clashes, default=0.0), 1.0, detail, meaning, one_sided=True)


def _couplings(readings: PartReadings, first: str, second: str) -> Iterator[tuple[float, float, str]]:
    """Signed k of a pair, its standard uncertainty and formula, from M and open inductances at one
    frequency."""
    for item in _mutuals(readings, first, second):
        for a, b in readings.opens(first, second):
            if tuned(item, a):
                root = math.sqrt(a.value * b.value)
                k = item.value / root
                alike = any(at_level_of(item, opened) for opened in (a, b))
                level = level_allowance(a, b) if alike else 2 * LEVEL_ALLOWANCE
                doubt = abs(k) * math.hypot(a.relative, b.relative, level) / 2
                yield k, math.hypot(item.uncertainty / root, doubt), f"k({first}, {second}) = {k:.5f}"


def _coupling_below_one(readings: PartReadings) -> Iterator[Check]:
    for first, second in _pairs(readings):
        for k, uncertainty, text in _couplings(readings, first, second):
            meaning = "The readings were not taken at one level and frequency, or one is a slip"
            detail = f"{text}, M²/(L1 L2) = {k**2:.5f} not above 1"
            yield check_of("coupling below one", abs(k) - 1, uncertainty, detail, meaning, one_sided=True)


def _three_couplings(readings: PartReadings) -> Iterator[Check]:
    names = dict.fromkeys(name for pair in _pairs(readings) for name in pair)
    for first, second, third in combinations(names, 3):
        couplings = [
            next(_couplings(readings, *pair), None)
            for pair in ((first, second), (first, third), (second, third))
        ]
        known = [item for item in couplings if item is not None]
        if len(known) < 3:
            continue
        (a, ua, _), (b, ub, _), (c, uc, _) = known
        determinant = 1 + 2 * a * b * c - a**2 - b**2 - c**2
        # the slopes vanish at k = 1; the second-order term keeps the uncertainty realistic there
        first_order = [2 * (b * c - a) * ua, 2 * (a * c - b) * ub, 2 * (a * b - c) * uc]
        second_order = [ua**2 + ub**2 + uc**2]
        told = "; ".join(text for _, _, text in known)
        detail = f"{told}: determinant {rounded(determinant):.4g}, not below 0"
        meaning = (
            "No three windings couple like this: one of the mutual readings is a slip or has the wrong sign"
        )
        uncertainty = math.hypot(*first_order, *second_order)
        yield check_of("three couplings", -determinant, uncertainty, detail, meaning, one_sided=True)


def _reciprocity(readings: PartReadings) -> Iterator[Check]:
    for first, second in combinations(readings.of("mutual"), 2):
        if (
            first.test.drive == second.test.sense
            and first.test.sense == second.test.drive
            and tuned(first, second)
        ):
            size = LEVEL_ALLOWANCE * max(abs(first.value), abs(second.value))
            uncertainty = math.hypot(first.uncertainty, second.uncertainty, size)
            detail = f"{first} = {henry(first.value)}, {second} = {henry(second.value)}"
            meaning = "Mutual inductance is the same both ways: other pins, another level, or a slip"
            yield check_of("reciprocity", first.value - second.value, uncertainty, detail, meaning)


COUPLING_LAWS: tuple[Callable[[PartReadings], Iterator[Check]], ...] = (
    _both_sides,
    _ratio_by_inductance,
    _ratio_both_ways,
    _aiding_opposing,
    _polarity,
    _coupling_below_one,
    _three_couplings,
    _reciprocity,
)
