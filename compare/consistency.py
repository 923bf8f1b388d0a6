"""Checks that need no design: do the readings of one part agree with each other?

Each check is a law of every linear, passive transformer, so a violation means the bench, the pins or the
file, not the design. Notation: L1, L2 open inductances, M mutual, k = M/√(L1 L2), Λ leakage (shorted
inductance), n voltage ratio with the sensed winding open. Of the design only the tests' connections are used,
the marked directions, and the bench's shorting link, whose n² L is taken off a leakage where two sides are
compared.

    leakage from both sides     Λ1/Λ2 = L1/L2 = (n k)²
    ratio against inductances   n k = √(L1/L2)
    ratio both ways             n1 n2 = 1/k² = 1/(1 − Λ/L)
    aiding and opposing         (La + Lo)/2 = L1 + L2
    aiding above opposing       La > Lo for the marked dots
    polarity                    one sign of M in all readings of a pair
    coupling below one          M² < L1 L2
    three couplings             det of the three k not below 0
    reciprocity                 M12 = M21
    shorted below open          Λ ≤ L; more shorted ≤ fewer shorted
    series against parallel     Lp/Ls = 1 + 1/Q²
    quality against L and R     Q = ωL/R (series), R/(ωL) (parallel)
    phase against quality       |tan θ| = Q
    AC above DC resistance      R(f) ≥ R
    resistance above zero       R > 0

A check needs the readings that its formula names and is left out where they are not there. Inductances are
compared at one frequency (within 1 %), open against shorted excepted, and in the series equivalent. Its
score is residual over standard uncertainty, readings taken as independent (errors of one meter are partly
shared, so that a score is rather too small); it holds while the score stays within 3. Range: tests well below
resonance, shorts at a frequency at which the winding's reactance far exceeds its resistance; k² above about
0.85 where a ratio is used and no leakage with its open inductance was read. Source: circuit theory.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, permutations

import numpy as np

from ..predict.design import Bench, BenchTest, Design, Port
from ..predict.quantity import format_quantity
from .evaluation import ReadTest

BROKEN = 3.0
"""|score| beyond which a check is broken."""
LEVEL_ALLOWANCE = 0.03
"""Relative standard allowance where inductances were read at different volts per turn: the permeability rises
with the flux density (common practice, no source)."""
SAME_LEVEL_ALLOWANCE = 0.003
"""The same at equal volts per turn (within 10 %): what the core's loss leaves."""
LEAKAGE_ALLOWANCE = 0.03
"""Relative standard allowance between two leakages: copper carries its current differently from either side
(common practice, no source)."""
UNKNOWN_COUPLING = 0.05
"""Relative standard allowance for k² taken as 1 where no leakage tells it: covers windings in separate
chambers, not windings on separate legs (common practice, no source)."""
WARM = 0.02
"""Relative standard allowance between resistances: a room some kelvins off 20 °C."""


@dataclass(frozen=True)
class Check:
    """One law on the readings of one part.

    check : its short name. score : residual over standard uncertainty (one-sided laws: positive is the wrong
    side), None where the uncertainty is zero. detail : the formula with its numbers and, where broken, what
    that means.
    """

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

    def __str__(self) -> str:
        return self.test.name


@dataclass(frozen=True)
class _Readings:
    """All readings of one part, the bench they were taken on, and the windings' directions (±1)."""

    items: tuple[_Item, ...]
    bench: Bench
    turning: dict[str, int]

    def of(self, measure: str, equivalent: str = "") -> list[_Item]:
        """Readings of a measure, if wished only those displayed in one equivalent circuit."""
        return [
            item
            for item in self.items
            if item.test.measure == measure and equivalent in ("", self.circuit(item))
        ]

    def circuit(self, item: _Item) -> str:
        return item.test.equivalent or self.bench.equivalent

    def inductances(self) -> list[_Item]:
        """Series inductances of one winding or join, open or with something shorted."""
        return [item for item in self.of("inductance", "series") if _single(item.test.drive)]

    def opens(self, first: str, second: str) -> list[tuple[_Item, _Item]]:
        """Open inductances of two windings, each above zero, at one frequency."""
        free = [item for item in self.inductances() if not item.test.short and item.value > 0]
        return [
            (a, b)
            for a in free
            for b in free
            if (_single(a.test.drive), _single(b.test.drive)) == (first, second) and _tuned(a, b)
        ]


def consistency_checks(design: Design, read: Sequence[ReadTest]) -> tuple[Check, ...]:
    """Every check of the module's table that the readings ``read`` of one part allow, in the table's order.

    design : its tests (``ReadTest.place`` points into them), windings' directions and bench; predictions play
    no part. Readings without a value or an uncertainty are skipped; too few readings give an empty tuple. SI,
    standard uncertainties. Raises nothing.
    """
    items = tuple(
        _Item(design.tests[item.place], item.value, item.uncertainty)
        for item in read
        if item.value is not None and item.uncertainty is not None
    )
    turning = {winding.name: -1 if winding.turning == "ccw" else 1 for winding in design.windings}
    readings = _Readings(items, design.bench, turning)
    return tuple(check for rule in _RULES for check in rule(readings))


# --- readings that belong together -------------------------------------------------------------------


def _single(port: Port) -> str:
    """The name if a port is one winding or join, not reversed; else ""."""
    return port[0].name if len(port) == 1 and not port[0].reversed else ""


def _shorted(test: BenchTest) -> frozenset[str]:
    return frozenset(member.name for member in test.short)


def _tuned(*items: _Item) -> bool:
    """All at one frequency, within 1 %."""
    frequencies = [item.test.frequency or 0.0 for item in items]
    return max(frequencies) <= 1.01 * min(frequencies)


def _same_set_up(*items: _Item) -> bool:
    """The same terminals driven and shorted, at one frequency: displays of one impedance."""
    first = items[0].test
    alike = all(
        item.test.drive == first.drive and _shorted(item.test) == _shorted(first) and not item.test.sense
        for item in items
    )
    return alike and _tuned(*items)


def _level(a: _Item, b: _Item) -> float:
    """Relative allowance for two open inductances: small at equal volts per turn, N ∝ √L."""
    apart = math.log(a.test.level / b.test.level) - math.log(a.value / b.value) / 2
    return SAME_LEVEL_ALLOWANCE if abs(apart) < 0.1 else LEVEL_ALLOWANCE


def _at_level_of(item: _Item, opened: _Item) -> bool:
    """Whether a reading drives the winding of an open inductance at its level, within 10 %."""
    same = opened.test.drive == item.test.drive
    return same and abs(math.log(item.test.level / opened.test.level)) < 0.1


def _henry(value: float) -> str:
    return format_quantity(value, "H", 5)


def _check(
    name: str, residual: float, uncertainty: float, detail: str, meaning: str, *, one_sided: bool = False
) -> Check:
    """A check from a residual that should be zero (``one_sided``: not above zero) and its standard
    uncertainty."""
    excess = residual if one_sided else abs(residual)
    holds = excess <= BROKEN * uncertainty
    score = residual / uncertainty if uncertainty > 0 else None
    return Check(name, holds, score, detail if holds else f"{detail}. {meaning}")


# --- leakage and ratio -----------------------------------------------------------------------------


def _voltage_ratios(readings: _Readings, first: str, second: str) -> Iterator[tuple[_Item, int]]:
    """Ratio readings of a pair: +1 driven at ``first``, −1 at ``second``."""
    for item in readings.of("ratio"):
        pair = (_single(item.test.drive), _single(item.test.sense))
        if item.value > 0 and pair in ((first, second), (second, first)):
            yield item, 1 if pair == (first, second) else -1


def _leakages(readings: _Readings, first: str, second: str) -> list[_Item]:
    """Leakages of a pair driven at ``first``, less n² L of the bench's link (first order), whose
    tolerance joins their uncertainty."""
    found = [
        item
        for item in readings.inductances()
        if _single(item.test.drive) == first and _shorted(item.test) == {second}
    ]
    squares = [item.value ** (2 * sense) for item, sense in _voltage_ratios(readings, first, second)]
    squares += [a.value / b.value for a, b in readings.opens(first, second)]
    if not squares:
        return []
    link = squares[0] * float(np.asarray(readings.bench.short_inductance).flat[0])
    doubt = link * readings.bench.short_inductance_tolerance / 2
    return [_Item(item.test, item.value - link, math.hypot(item.uncertainty, doubt)) for item in found]


def _leakage_share(readings: _Readings, first: str, second: str) -> tuple[float, float] | None:
    """(1 − k² = Λ/L, its standard uncertainty) from either side; None if no leakage and open inductance were
    read."""
    for drive, short in ((first, second), (second, first)):
        for opened, _ in readings.opens(drive, drive):
            for item in _leakages(readings, drive, short):
                share = item.value / opened.value
                if 0 < share < 1:
                    doubt = math.hypot(item.uncertainty / item.value, opened.relative, LEVEL_ALLOWANCE)
                    return share, share * doubt
    return None


def _coupling(readings: _Readings, first: str, second: str) -> tuple[float, float]:
    """(k², relative standard uncertainty) of a pair; taken as 1 with an allowance where nothing tells it."""
    found = _leakage_share(readings, first, second)
    return (1.0, UNKNOWN_COUPLING) if found is None else (1 - found[0], found[1] / (1 - found[0]))


def _squares(readings: _Readings, first: str, second: str) -> list[tuple[float, float, str]]:
    """Every (L1/L2, relative standard uncertainty, from what): by voltage ratio and by open inductances."""
    k2, doubt = _coupling(readings, first, second)
    result = []
    for item, sense in _voltage_ratios(readings, first, second):
        value = (item.value**2 * k2) ** sense
        result.append((value, math.hypot(2 * item.relative, doubt), f"by the ratio {item}"))
    for a, b in readings.opens(first, second):
        relative = math.hypot(a.relative, b.relative, _level(a, b))
        result.append((a.value / b.value, relative, f"{a}/{b}"))
    return result


def _pairs(readings: _Readings) -> list[tuple[str, str]]:
    """Every two windings or joins that are driven or sensed, in the order of the readings."""
    ports = [port for item in readings.items for port in (item.test.drive, item.test.sense)]
    return list(combinations(dict.fromkeys(member.name for port in ports for member in port), 2))


def _both_sides(readings: _Readings) -> Iterator[Check]:
    for first, second in _pairs(readings):
        for square, relative, source in _squares(readings, first, second):
            for one in _leakages(readings, first, second):
                for other in _leakages(readings, second, first):
                    if _tuned(one, other):
                        yield _two_leakages(one, other, square, relative, source)


def _two_leakages(one: _Item, other: _Item, square: float, relative: float, source: str) -> Check:
    if square < 1:
        one, other, square = other, one, 1 / square
    referred = square * other.value
    residual = one.value - referred
    size = max(abs(one.value), abs(referred))
    uncertainty = math.hypot(
        one.uncertainty, square * other.uncertainty, math.hypot(relative, LEAKAGE_ALLOWANCE) * size
    )
    detail = (
        f"{one} = {_henry(one.value)}, {square:.4g} × {other} = {_henry(referred)} (L1/L2 {source}; the "
        "entered link taken off)"
    )
    if residual > 0:
        link = format_quantity(residual / square, "H", 2)
        meaning = (
            f"Too much on the side with more turns: a shorting link of {link} more than entered would do it, "
            "or the wrong winding shorted"
        )
    else:
        leads = format_quantity(-residual / max(square - 1, 1.0), "H", 2)
        meaning = (
            f"Too much on the side with fewer turns: about {leads} of leads or fixture left in {other} would "
            "do it, or the wrong winding shorted"
        )
    return _check("leakage from both sides", residual, uncertainty, detail, meaning)


def _ratio_by_inductance(readings: _Readings) -> Iterator[Check]:
    for first, second in _pairs(readings):
        k2, doubt = _coupling(readings, first, second)
        for item, sense in _voltage_ratios(readings, first, second):
            for a, b in readings.opens(*((first, second) if sense > 0 else (second, first))):
                root = math.sqrt(a.value / b.value)
                residual = math.log(item.value * math.sqrt(k2) / root)
                halves = math.hypot(a.relative, b.relative, _level(a, b), doubt) / 2
                detail = f"{item} × k = {item.value * math.sqrt(k2):.5g}, √({a}/{b}) = {root:.5g}"
                meaning = (
                    "The inductances hold leads or were read at different flux densities, the ratio is "
                    "loaded, or the windings couple loosely; do not read turns from inductances here"
                )
                uncertainty = math.hypot(item.relative, halves)
                yield _check("ratio against inductances", residual, uncertainty, detail, meaning)


def _ratio_both_ways(readings: _Readings) -> Iterator[Check]:
    for first, second in _pairs(readings):
        found = list(_voltage_ratios(readings, first, second))
        share = _leakage_share(readings, first, second)
        for one, other in ((a, b) for a, way in found for b, back in found if way > back):
            product = one.value * other.value
            uncertainty = math.hypot(one.relative, other.relative)
            detail = f"{one} × {other} = {product:.5g} = 1/k², "
            meaning = "A ratio reading is wrong or loaded: no passive part gives more voltage both ways"
            if share is None:
                text = detail + "not below 1"
                yield _check(
                    "ratio both ways", -math.log(product), uncertainty, text, meaning, one_sided=True
                )
                continue
            allowance = 0.3 * share[0] + 5e-4  # open and shorted flux paths differ; copper adds 1/(2Q²)
            uncertainty = math.hypot(uncertainty, share[1], allowance)
            text = f"{detail}1/(1 − Λ/L) = {1 / (1 - share[0]):.5g}"
            meaning = "A ratio reading is wrong or loaded, or the leakage is not of this pair"
            residual = math.log(product * (1 - share[0]))
            yield _check("ratio both ways", residual, uncertainty, text, meaning)


# --- mutual inductance and signs -------------------------------------------------------------------


def _series_pairs(readings: _Readings, first: str, second: str, sign: int) -> list[_Item]:
    """Open inductances of two in series: ``sign`` +1 start to finish throughout, −1 one of them reversed."""
    return [
        item
        for item in readings.of("inductance", "series")
        if not item.test.short
        and sorted(member.name for member in item.test.drive) == sorted((first, second))
        and (item.test.drive[0].reversed == item.test.drive[1].reversed) == (sign > 0)
    ]


def _mutuals(readings: _Readings, first: str, second: str) -> list[_Item]:
    """Every M of a pair that readings give (H, signed start to start), under the name of its test."""
    result = []
    for item in readings.of("mutual"):
        drive, sense = item.test.drive, item.test.sense
        if len(drive) == len(sense) == 1 and {drive[0].name, sense[0].name} == {first, second}:
            flipped = drive[0].reversed != sense[0].reversed
            result.append(_Item(item.test, -item.value if flipped else item.value, item.uncertainty))
    paired: set[str] = set()
    for aiding in _series_pairs(readings, first, second, 1):
        for opposing in _series_pairs(readings, first, second, -1):
            if _tuned(aiding, opposing):
                paired |= {str(aiding), str(opposing)}
                doubt = math.hypot(aiding.uncertainty, opposing.uncertainty, LEVEL_ALLOWANCE * aiding.value)
                result.append(_Item(aiding.test, (aiding.value - opposing.value) / 4, doubt / 4))
    for sign in (1, -1):
        for item in _series_pairs(readings, first, second, sign):
            for a, b in readings.opens(first, second):
                if str(item) not in paired and _tuned(item, a):
                    largest = LEVEL_ALLOWANCE * max(item.value, a.value + b.value)
                    doubt = math.hypot(item.uncertainty, a.uncertainty, b.uncertainty, largest)
                    value = sign * (item.value - a.value - b.value) / 2
                    result.append(_Item(item.test, value, doubt / 2))
    return result


def _aiding_opposing(readings: _Readings) -> Iterator[Check]:
    for first, second in _pairs(readings):
        for aiding in _series_pairs(readings, first, second, 1):
            for opposing in _series_pairs(readings, first, second, -1):
                if not _tuned(aiding, opposing):
                    continue
                uncertainty = math.hypot(aiding.uncertainty, opposing.uncertainty)
                if {first, second} <= readings.turning.keys():
                    yield _marked_dots(readings, (first, second), aiding, opposing, uncertainty)
                for a, b in readings.opens(first, second):
                    if _tuned(aiding, a):
                        total, mean = a.value + b.value, (aiding.value + opposing.value) / 2
                        parts = (a.uncertainty, b.uncertainty, LEVEL_ALLOWANCE * total)
                        detail = f"({aiding} + {opposing})/2 = {_henry(mean)}, {a} + {b} = {_henry(total)}"
                        meaning = "A reading near resonance, at another level, or of other pins"
                        doubt = math.hypot(uncertainty / 2, *parts)
                        yield _check("aiding and opposing", mean - total, doubt, detail, meaning)


def _marked_dots(
    readings: _Readings, pair: tuple[str, str], aiding: _Item, opposing: _Item, uncertainty: float
) -> Check:
    if readings.turning[pair[0]] != readings.turning[pair[1]]:
        aiding, opposing = opposing, aiding
    detail = f"{aiding} = {_henry(aiding.value)}, not below {opposing} = {_henry(opposing.value)}"
    meaning = "A winding runs against its marked direction, or start and finish are exchanged on the bench"
    gap = opposing.value - aiding.value
    return _check("aiding above opposing", gap, uncertainty, detail, meaning, one_sided=True)


def _signs(readings: _Readings, first: str, second: str) -> Iterator[tuple[float, str]]:
    """What each reading says of the sign of M, start to start: (M or angle over its uncertainty, name)."""
    for item in _mutuals(readings, first, second):
        yield item.value / max(item.uncertainty, 1e-18), str(item)
    for item in readings.of("phase"):
        drive, sense = item.test.drive, item.test.sense
        if len(drive) == len(sense) == 1 and {drive[0].name, sense[0].name} == {first, second}:
            margin = math.pi / 2 - abs(math.remainder(item.value, 2 * math.pi))
            margin = -margin if drive[0].reversed != sense[0].reversed else margin
            yield margin / max(item.uncertainty, 1e-9), str(item)


def _polarity(readings: _Readings) -> Iterator[Check]:
    for first, second in _pairs(readings):
        found = list(_signs(readings, first, second))
        if len(found) < 2:
            continue
        clashes = [
            min(abs(one), abs(other)) for (one, _), (other, _) in combinations(found, 2) if one * other < 0
        ]
        words = ", ".join(f"{name} {'same' if sign > 0 else 'opposite'} sense" for sign, name in found)
        detail = f"{first} against {second}: {words}"
        meaning = "Start and finish were exchanged between two of these readings"
        yield _check("polarity", max(clashes, default=0.0), 1.0, detail, meaning, one_sided=True)


def _couplings(readings: _Readings, first: str, second: str) -> Iterator[tuple[float, float, str]]:
    """(signed k, standard uncertainty, formula) of a pair, from M and open inductances at one frequency."""
    for item in _mutuals(readings, first, second):
        for a, b in readings.opens(first, second):
            if _tuned(item, a):
                root = math.sqrt(a.value * b.value)
                k = item.value / root
                alike = any(_at_level_of(item, opened) for opened in (a, b))
                level = _level(a, b) if alike else 2 * LEVEL_ALLOWANCE
                doubt = abs(k) * math.hypot(a.relative, b.relative, level) / 2
                yield k, math.hypot(item.uncertainty / root, doubt), f"k({first}, {second}) = {k:.5f}"


def _coupling_below_one(readings: _Readings) -> Iterator[Check]:
    for first, second in _pairs(readings):
        for k, uncertainty, text in _couplings(readings, first, second):
            meaning = "The readings were not taken at one level and frequency, or one is a slip"
            detail = f"{text}, M²/(L1 L2) = {k**2:.5f} not above 1"
            yield _check("coupling below one", abs(k) - 1, uncertainty, detail, meaning, one_sided=True)


def _three_couplings(readings: _Readings) -> Iterator[Check]:
    names = dict.fromkeys(name for pair in _pairs(readings) for name in pair)
    for one, two, three in combinations(names, 3):
        found = [next(_couplings(readings, *pair), None) for pair in ((one, two), (one, three), (two, three))]
        known = [item for item in found if item is not None]
        if len(known) < 3:
            continue
        (a, ua, _), (b, ub, _), (c, uc, _) = known
        determinant = 1 + 2 * a * b * c - a**2 - b**2 - c**2
        # the slopes vanish at k = 1; the second-order term keeps the uncertainty honest there
        first_order = [2 * (b * c - a) * ua, 2 * (a * c - b) * ub, 2 * (a * b - c) * uc]
        second_order = [ua**2 + ub**2 + uc**2]
        detail = f"{'; '.join(text for _, _, text in known)}: determinant {determinant:.4g}, not below 0"
        meaning = (
            "No three windings couple like this: one of the mutual readings is a slip or has the wrong sign"
        )
        uncertainty = math.hypot(*first_order, *second_order)
        yield _check("three couplings", -determinant, uncertainty, detail, meaning, one_sided=True)


def _reciprocity(readings: _Readings) -> Iterator[Check]:
    for one, other in combinations(readings.of("mutual"), 2):
        if one.test.drive == other.test.sense and one.test.sense == other.test.drive and _tuned(one, other):
            size = LEVEL_ALLOWANCE * max(abs(one.value), abs(other.value))
            uncertainty = math.hypot(one.uncertainty, other.uncertainty, size)
            detail = f"{one} = {_henry(one.value)}, {other} = {_henry(other.value)}"
            meaning = "Mutual inductance is the same both ways: other pins, another level, or a slip"
            yield _check("reciprocity", one.value - other.value, uncertainty, detail, meaning)


# --- bounds and displays of one impedance ----------------------------------------------------------


def _shorted_below_open(readings: _Readings) -> Iterator[Check]:
    for one, other in permutations(readings.inductances(), 2):
        more, fewer = _shorted(one.test), _shorted(other.test)
        if one.test.drive != other.test.drive or not more > fewer or (fewer and not _tuned(one, other)):
            continue
        if one.value <= 0 or other.value <= 0:  # above resonance: no bound
            continue
        allowance = LEAKAGE_ALLOWANCE * other.value
        uncertainty = math.hypot(one.uncertainty, other.uncertainty, allowance)
        detail = f"{one} = {_henry(one.value)}, not above {other} = {_henry(other.value)}"
        meaning = "Rows exchanged, wrong pins, or a reading near resonance"
        residual = one.value - other.value
        yield _check("shorted below open", residual, uncertainty, detail, meaning, one_sided=True)


def _quality_coherent(readings: _Readings) -> Iterator[Check]:
    meaning = "The displays come from different equivalent circuits (series, parallel) or frequencies"
    for quality in readings.of("quality"):
        if quality.value <= 0:
            continue
        for circuit in ("series", "parallel"):
            for coil in readings.of("inductance", circuit):
                for loss in readings.of("ac_resistance", circuit):
                    if not _same_set_up(quality, coil, loss) or loss.value <= 0 or coil.value == 0:
                        continue
                    reactance = 2 * math.pi * float(coil.test.frequency or 0.0) * abs(coil.value)
                    expected = reactance / loss.value if circuit == "series" else loss.value / reactance
                    uncertainty = math.hypot(quality.relative, coil.relative, loss.relative)
                    formula = f"ω {coil}/{loss}" if circuit == "series" else f"{loss}/(ω {coil})"
                    detail = f"{quality} = {quality.value:.4g}, {formula} = {expected:.4g}"
                    residual = math.log(quality.value / expected)
                    yield _check("quality against L and R", residual, uncertainty, detail, meaning)
        for angle in readings.of("phase"):
            if _same_set_up(quality, angle):
                expected = math.atan(quality.value)
                uncertainty = math.hypot(angle.uncertainty, quality.uncertainty / (1 + quality.value**2))
                detail = f"|{angle}| = {abs(angle.value):.5g} rad, atan {quality} = {expected:.5g} rad"
                residual = abs(angle.value) - expected
                yield _check("phase against quality", residual, uncertainty, detail, meaning)


def _series_parallel(readings: _Readings) -> Iterator[Check]:
    for quality in readings.of("quality"):
        for series in readings.of("inductance", "series"):
            for parallel in readings.of("inductance", "parallel"):
                if not _same_set_up(quality, series, parallel) or series.value * quality.value == 0:
                    continue
                expected, found = 1 + quality.value**-2, parallel.value / series.value
                slope = 2 * quality.relative / quality.value**2
                relative = math.hypot(series.relative, parallel.relative) * abs(found)
                detail = f"{parallel}/{series} = {found:.5g}, 1 + 1/{quality}² = {expected:.5g}"
                meaning = "A reading was displayed in the other equivalent circuit or at another frequency"
                uncertainty = math.hypot(slope, relative)
                yield _check("series against parallel", found - expected, uncertainty, detail, meaning)


def _alternating_above_direct(readings: _Readings) -> Iterator[Check]:
    for item in readings.of("ac_resistance", "series"):
        for direct in readings.of("resistance"):
            if item.test.drive != direct.test.drive:
                continue
            uncertainty = math.hypot(item.uncertainty, direct.uncertainty, WARM * direct.value)
            detail = f"{item} = {item.value:.4g} Ω, not below {direct} = {direct.value:.4g} Ω"
            meaning = "The direct-current reading holds contacts or leads (no four wires), or the pins differ"
            residual = direct.value - item.value
            yield _check("AC above DC resistance", residual, uncertainty, detail, meaning, one_sided=True)


def _positive(readings: _Readings) -> Iterator[Check]:
    for item in readings.of("resistance") + readings.of("ac_resistance"):
        detail = f"{item} = {item.value:.4g} Ω, not below 0"
        meaning = "No passive part has it: a slip, or a correction that took too much away"
        yield _check("resistance above zero", -item.value, item.uncertainty, detail, meaning, one_sided=True)


_RULES: tuple[Callable[[_Readings], Iterator[Check]], ...] = (
    _both_sides,
    _ratio_by_inductance,
    _ratio_both_ways,
    _aiding_opposing,
    _polarity,
    _coupling_below_one,
    _three_couplings,
    _reciprocity,
    _shorted_below_open,
    _series_parallel,
    _quality_coherent,
    _alternating_above_direct,
    _positive,
)
