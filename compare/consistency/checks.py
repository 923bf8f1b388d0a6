"""Checks of one part's readings against each other; all but one need no design.

Each check is a law of every linear, passive transformer. So a violation points to the bench, the pins or
the file, not to the design. Notation: L1, L2 open inductances, M mutual, k = M/√(L1 L2), Λ leakage
(shorted inductance), n voltage ratio with the sensed winding open. From the design the checks take only
the tests' connections, the marked directions, which windings are halves or taps of a join, and the bench's
shorting link, whose n² L is subtracted from a leakage when two sides are compared.

    leakage from both sides     Λ1/Λ2 = L1/L2 = (n k)²
    ratio against inductances   n k = √(L1/L2)
    ratio both ways             n1 n2 = 1/k² = 1/(1 − Λ/L)
    aiding and opposing         (La + Lo)/2 = L1 + L2
    aiding above opposing       La > Lo for the marked dots
    polarity                    one sign of M in all readings of a pair
    coupling below one          M² < L1 L2
    three couplings             det of the three k not below 0
    reciprocity                 M12 = M21
    rise by one capacitance     1/L(f) = 1/L − ω² C, from three frequencies on
    open inductance over frequency, shorted inductance on its plateau: no steep fall, no rise of the latter
    shorted below open          Λ ≤ L; more shorted ≤ fewer shorted
    series against parallel     Lp/Ls = 1 + 1/Q²
    quality against L and R     Q = ωL/R (series), R/(ωL) (parallel)
    phase against quality       |tan θ| = Q
    AC above DC resistance      R(f) ≥ R
    resistance above zero       R > 0
    halves alike, turns by inductance, resonance pair, quality of the open winding, repeats: ``laws_of_parts``
    equal offsets, resistances in series: two wires instead of four (``two_wire``); the former uses
    the drawn resistances if there is a drawing
    slip                        one unit, decade or exchange that would mend every broken check: ``slips``

A check needs the readings in its formula and is left out if they were not taken. Inductances are compared
at one frequency (within 1 %), except open against shorted, and in the series equivalent. The score is
residual over standard uncertainty, with readings taken as independent (the errors of one meter are partly
shared, so the score is rather too small). A check holds if the score stays within 3. Valid for tests well
below resonance, shorts at a frequency at which the winding's reactance far exceeds its resistance, and k²
above about 0.85 where a ratio is used and no leakage was read together with its open inductance. Source:
circuit theory.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from itertools import combinations, permutations

from ...predict.circuit import members_of
from ...predict.circuit import readings as predicted
from ...predict.design import BenchTest, Design, Member
from ..readings import ReadTest, told_apart
from .by_design import as_predicted, beyond_design, one_sided_errors, predictions
from .laws_of_coupling import COUPLING_LAWS
from .laws_of_frequency import FREQUENCY_LAWS
from .laws_of_parts import PART_LAWS
from .part import (
    LEAKAGE_ALLOWANCE,
    WARM,
    Check,
    PartReading,
    PartReadings,
    check_of,
    henry,
    same_set_up,
    shorted,
    single_name,
    tuned,
)
from .slips import slips
from .two_wire import equal_offsets, in_series


def consistency_checks(design: Design, read: Sequence[ReadTest]) -> tuple[Check, ...]:
    """Every check of the module's table that the readings of one part allow, in the table's order.

    Of the design's predictions the direct-current resistances are used, and what breaks a check in a part as
    drawn (``by_design``). Readings without a value or an uncertainty are skipped.

    Parameters
    ----------
    design : Design
        Its tests (``ReadTest.test_index`` is an index into them), the windings' directions and the bench.
    read : Sequence[ReadTest]
        Tests as read on one part, SI, standard uncertainties.

    Returns
    -------
    tuple[Check, ...]
        The checks; empty if there are too few readings.

    Raises
    ------
    BuildError
        The layout is outside the models.
    """
    return part_checks(part_readings(design, read))


def part_readings(design: Design, read: Sequence[ReadTest]) -> PartReadings:
    """Readings of one part, with the design's bench and the windings' directions.

    Tests of a sweep are named with their frequency.

    Parameters
    ----------
    design : Design
        The transformer.
    read : Sequence[ReadTest]
        Tests as read on one part.
    """
    test_indices = sorted({item.test_index for item in read})
    named = dict(
        zip(test_indices, told_apart([design.tests[test_index] for test_index in test_indices]), strict=True)
    )
    items = tuple(
        _item(named[item.test_index], item, item.value, item.uncertainty)
        for item in read
        if item.value is not None and item.uncertainty is not None
    )
    turning = {winding.name: -1 if winding.turning == "ccw" else 1 for winding in design.windings}
    drawn = _drawn_resistances(design, [item.test for item in items])
    halves, taps = parts_of_joins(design)
    names = {test_index: named[test_index].name for test_index in test_indices}
    return PartReadings(
        items=items,
        bench=design.bench,
        turning=turning,
        halves=halves,
        taps=taps,
        drawn=drawn,
        predicted=predictions(design, names),
        one_sided=one_sided_errors(design, names),
    )


def _drawn_resistances(design: Design, tests: Sequence[BenchTest]) -> dict[str, float]:
    """Direct-current resistances (ohm, by winding) that the design predicts for the single windings that were
    read."""
    direct = {single_name(test.drive): test for test in tests if test.measure == "resistance"}
    direct = {
        name: test for name, test in direct.items() if name in {winding.name for winding in design.windings}
    }
    if not direct:
        return {}
    asked = replace(design, tests=tuple(direct.values()))
    return dict(zip(direct, predicted(asked).tolist(), strict=True))


def _item(test: BenchTest, read: ReadTest, value: float, uncertainty: float) -> PartReading:
    if read.scatter is None:
        return PartReading(test=test, value=value, uncertainty=uncertainty)
    claimed = max(math.sqrt(max(uncertainty**2 - read.scatter**2, 0.0)), 1e-9 * read.scatter)
    return PartReading(
        test=test,
        value=value,
        uncertainty=uncertainty,
        repeats=read.repeats,
        scatter=read.scatter * math.sqrt(read.repeats),
        claimed=claimed,
    )


def parts_of_joins(design: Design) -> tuple[tuple[tuple[str, str], ...], tuple[tuple[str, str, float], ...]]:
    """Halves and taps known from a design's joins, as in ``PartReadings``: the names of the two halves of
    each pair, and (part, whole, turns of the part over those of the whole), dimensionless."""
    turns = {winding.name: design.turns_of(winding.name) for winding in design.windings}
    halves: list[tuple[str, str]] = []
    taps: list[tuple[str, str, float]] = []
    for join in design.joins:
        members = members_of(design, (Member(join.name),))
        for first_member, second_member in combinations(members, 2):
            first, second = design.winding(first_member.name), design.winding(second_member.name)
            if turns[first_member.name] == turns[second_member.name] and (first.wire, first.metal) == (
                second.wire,
                second.metal,
            ):
                halves.append((first_member.name, second_member.name))
        whole = sum(-turns[member.name] if member.reversed else turns[member.name] for member in members)
        if join.in_series and whole > 0 and all(inner.name in turns for inner in join.members):
            taps += [(member.name, join.name, turns[member.name] / whole) for member in members]
    return tuple(dict.fromkeys(halves)), tuple(taps)


def part_checks(readings: PartReadings) -> tuple[Check, ...]:
    """Every check of the module's table that the readings allow, in the table's order."""
    plain = as_predicted(readings)
    usual = _laws(plain) if plain is not None else ()

    def laws(some: PartReadings) -> tuple[Check, ...]:
        return beyond_design(_laws(some), usual)

    checks = laws(readings)
    return (*checks, *slips(readings, checks, laws))


def _laws(readings: PartReadings) -> tuple[Check, ...]:
    return tuple(check for law in _LAWS for check in law(readings))


# --- bounds and displays of one impedance ----------------------------------------------------------


def _shorted_below_open(readings: PartReadings) -> Iterator[Check]:
    for first, second in permutations(readings.inductances(), 2):
        more, fewer = shorted(first.test), shorted(second.test)
        if first.test.drive != second.test.drive or not more > fewer or (fewer and not tuned(first, second)):
            continue
        if first.value <= 0 or second.value <= 0:  # above resonance there is no bound
            continue
        allowance = LEAKAGE_ALLOWANCE * second.value
        uncertainty = math.hypot(first.uncertainty, second.uncertainty, allowance)
        detail = f"{first} = {henry(first.value)}, not above {second} = {henry(second.value)}"
        meaning = "Rows exchanged, wrong pins, or a reading near resonance"
        residual = first.value - second.value
        yield check_of("shorted below open", residual, uncertainty, detail, meaning, one_sided=True)


def _quality_coherent(readings: PartReadings) -> Iterator[Check]:
    meaning = "The displays come from different equivalent circuits (series, parallel) or frequencies"
    for quality in readings.of("quality"):
        if quality.value <= 0:
            continue
        for circuit in ("series", "parallel"):
            for coil in readings.of("inductance", circuit):
                for loss in readings.of("ac_resistance", circuit):
                    if not same_set_up(quality, coil, loss) or loss.value <= 0 or coil.value == 0:
                        continue
                    reactance = coil.test.angular_frequency * abs(coil.value)
                    expected = reactance / loss.value if circuit == "series" else loss.value / reactance
                    uncertainty = math.hypot(quality.relative, coil.relative, loss.relative)
                    formula = f"ω {coil}/{loss}" if circuit == "series" else f"{loss}/(ω {coil})"
                    detail = f"{quality} = {quality.value:.4g}, {formula} = {expected:.4g}"
                    residual = math.log(quality.value / expected)
                    yield check_of("quality against L and R", residual, uncertainty, detail, meaning)
        for angle in readings.of("phase"):
            if same_set_up(quality, angle):
                expected = math.atan(quality.value)
                uncertainty = math.hypot(angle.uncertainty, quality.uncertainty / (1 + quality.value**2))
                detail = f"|{angle}| = {abs(angle.value):.5g} rad, atan {quality} = {expected:.5g} rad"
                residual = abs(angle.value) - expected
                yield check_of("phase against quality", residual, uncertainty, detail, meaning)


def _series_parallel(readings: PartReadings) -> Iterator[Check]:
    for quality in readings.of("quality"):
        for series in readings.of("inductance", "series"):
            for parallel in readings.of("inductance", "parallel"):
                if not same_set_up(quality, series, parallel) or series.value * quality.value == 0:
                    continue
                expected, measured = 1 + quality.value**-2, parallel.value / series.value
                slope = 2 * quality.relative / quality.value**2
                relative = math.hypot(series.relative, parallel.relative) * abs(measured)
                detail = f"{parallel}/{series} = {measured:.5g}, 1 + 1/{quality}² = {expected:.5g}"
                meaning = "A reading was displayed in the other equivalent circuit or at another frequency"
                uncertainty = math.hypot(slope, relative)
                yield check_of("series against parallel", measured - expected, uncertainty, detail, meaning)


def _alternating_above_direct(readings: PartReadings) -> Iterator[Check]:
    for item in readings.of("ac_resistance", "series"):
        for direct in readings.of("resistance"):
            if item.test.drive != direct.test.drive:
                continue
            uncertainty = math.hypot(item.uncertainty, direct.uncertainty, WARM * direct.value)
            detail = f"{item} = {item.value:.4g} Ω, not below {direct} = {direct.value:.4g} Ω"
            meaning = "The direct-current reading holds contacts or leads (no four wires), or the pins differ"
            residual = direct.value - item.value
            yield check_of("AC above DC resistance", residual, uncertainty, detail, meaning, one_sided=True)


def _positive(readings: PartReadings) -> Iterator[Check]:
    for item in readings.of("resistance") + readings.of("ac_resistance"):
        detail = f"{item} = {item.value:.4g} Ω, not below 0"
        meaning = "No passive part reads so: a slip, or a correction that took too much away"
        yield check_of(
            "resistance above zero", -item.value, item.uncertainty, detail, meaning, one_sided=True
        )


_LAWS: tuple[Callable[[PartReadings], Iterator[Check]], ...] = (
    *COUPLING_LAWS,
    *FREQUENCY_LAWS,
    _shorted_below_open,
    _series_parallel,
    _quality_coherent,
    _alternating_above_direct,
    _positive,
    *PART_LAWS,
    equal_offsets,
    in_series,
)
