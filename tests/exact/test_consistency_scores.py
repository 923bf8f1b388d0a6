"""Scores of the laws between readings, by hand: residual over standard uncertainty, every term of both.

``test_consistency`` says which law holds or breaks; here the numbers are written out once more. Three loosely
coupled coils, so that no term vanishes.
"""

from __future__ import annotations

import math
import re
from dataclasses import replace
from math import hypot, log, sqrt
from pathlib import Path

import numpy as np
import pytest

from aswound.compare.consistency.by_design import beyond_design
from aswound.compare.consistency.checks import Check, consistency_checks
from aswound.compare.consistency.part import PartReading, PartReadings, rounded
from aswound.compare.consistency.slips import _trials
from aswound.compare.consistency.undrawn import _doubt, _items
from aswound.compare.meter import REPEATABILITY
from aswound.compare.readings import Reading
from aswound.compare.readings.read_test import ReadTest
from aswound.predict.design import Bench, BenchTest, Member, Port
from aswound.predict.designfile.reader import load_design
from aswound.predict.production import reading_errors

pytestmark = pytest.mark.exact

FLYBACK = load_design(Path(__file__).parents[2] / "samples" / "flyback-24w.toml")
LINK, TOLERANCE = 200e-9, 0.5
BENCH = Bench(short_inductance=LINK, short_inductance_tolerance=TOLERANCE, equivalent="series")
P, S, A = (Member("P"),), (Member("S"),), (Member("AUX"),)
AIDING, OPPOSING = (*P, *S), (*P, Member("S", True))
L1, L2, L3 = 400e-6, 100e-6, 25e-6
"""Open inductances (H), read at equal volts per turn unless a test says otherwise."""
K12, K13, K23 = 0.8, 0.6, 0.5
M12, M13, M23 = K12 * sqrt(L1 * L2), K13 * sqrt(L1 * L3), K23 * sqrt(L2 * L3)
SAME, OTHER, LEAK, WARM = 0.003, 0.03, 0.03, 0.02
"""Allowances as documented: inductances at equal and at other volts per turn, leakages, resistances."""


def _reading(measure: str, drive: Port, value: float, relative: float = 2e-3, **more: object) -> _Reading:
    frequency = None if measure == "resistance" else 1e4
    level = {"P": 1.0, "S": 0.5, "AUX": 0.25}[drive[0].name]
    name = str(more.pop("name", measure))
    test = replace(
        BenchTest(name=name, measure=measure, drive=drive, frequency=frequency, level=level), **more
    )  # type: ignore[arg-type]
    return test, value, relative * abs(value)


_Reading = tuple[BenchTest, float, float]
L_P = _reading("inductance", P, L1, 1e-3, name="L_P")
L_S = _reading("inductance", S, L2, 4e-3, name="L_S")
L_A = _reading("inductance", A, L3, 3e-3, name="L_A")


def _checks(*readings: _Reading) -> list[Check]:
    design = replace(FLYBACK, bench=BENCH, tests=tuple(test for test, _, _ in readings))
    read = [
        ReadTest(test_index=place, value=value, uncertainty=doubt, repeats=1)
        for place, (_, value, doubt) in enumerate(readings)
    ]
    return list(consistency_checks(design, read))


def _check(law: str, *readings: _Reading) -> Check:
    (found,) = [check for check in _checks(*readings) if check.check == law]
    return found


def _score(law: str, *readings: _Reading) -> float:
    score = _check(law, *readings).score
    assert score is not None
    return score


# --- leakage and ratio -----------------------------------------------------------------------------

LK_P = _reading("inductance", P, 150e-6, 5e-3, short=S, frequency=1e5, name="Lk_P")
LK_S = _reading("inductance", S, 36e-6, 6e-3, short=P, frequency=1e5, name="Lk_S")


def _of_sides() -> list[float]:
    """What the models err by from one driven side alone, for both leakages: no contradiction between them."""
    design = replace(FLYBACK, bench=BENCH, tests=(LK_P[0], LK_S[0]))
    errors = {error.name: error.effect for error in reading_errors(design)}
    found = [float(errors[f"model_leakage {test.name}"][place]) for place, test in enumerate(design.tests)]
    assert all(0 < one < 0.03 for one in found)
    assert max(found) > 0.003
    return found


@pytest.mark.parametrize("others", [(L_P, L_S), (L_S, L_P)])
@pytest.mark.parametrize("swapped", [False, True])
def test_leakage_from_both_sides(others: tuple[_Reading, ...], swapped: bool) -> None:
    """Λ1 − 4 Λ2, each less its link (4 L, L/4; half the tolerance), in whatever order they were read."""
    leakages = (LK_S, LK_P) if swapped else (LK_P, LK_S)
    one, other = LK_P[1] - 4 * LINK, 4 * (LK_S[1] - LINK / 4)
    parts = (
        LK_P[2],
        4 * LINK * TOLERANCE / 2,
        4 * LK_S[2],
        LINK * TOLERANCE / 2,
        hypot(1e-3, 4e-3, SAME, LEAK, *_of_sides()) * max(one, other),
    )
    check = _check("leakage from both sides", *leakages, *others)
    assert check.score == pytest.approx((one - other) / hypot(*parts), rel=1e-9)
    wrong = (LK_P[0], 190e-6, LK_P[2])
    excess = (190e-6 - 4 * LINK - other) / 4
    text = f"a shorting link of {excess * 1e6:.0f} µH more than entered"
    assert text in _check("leakage from both sides", wrong, LK_S, *others).detail


@pytest.mark.parametrize("way", [1, -1])
def test_leakage_from_both_sides_by_a_ratio(way: int) -> None:
    """Without open inductances k² counts as 1 with 5 %: L1/L2 = n² either way the ratio is taken."""
    drive, sense, value = (P, S, 2.0) if way > 0 else (S, P, 0.5)
    ratio = _reading("ratio", drive, value, 1e-3, sense=sense)
    one, other = LK_P[1] - 4 * LINK, 4 * (LK_S[1] - LINK / 4)
    parts = (
        LK_P[2],
        4 * LINK * TOLERANCE / 2,
        4 * LK_S[2],
        LINK * TOLERANCE / 2,
        hypot(2e-3, 0.05, LEAK, *_of_sides()) * max(one, other),
    )
    assert _score("leakage from both sides", LK_P, LK_S, ratio) == pytest.approx(
        (one - other) / hypot(*parts), rel=1e-9
    )


def _share(ratio: float) -> tuple[float, float]:
    """1 − k² = Λ/L and its standard uncertainty from the side of P, the link taken off by the ratio read."""
    leakage = LK_P[1] - ratio**2 * LINK
    relative = hypot(hypot(LK_P[2], ratio**2 * LINK * TOLERANCE / 2) / leakage, 1e-3, OTHER)
    return leakage / L1, leakage / L1 * relative


@pytest.mark.parametrize("level", [0.5, 1.0])
def test_ratio_against_inductances(level: float) -> None:
    """ln(n k/√(L1/L2)); at other volts per turn the allowance is 3 %."""
    ratio = _reading("ratio", P, 2.6, 1e-3, sense=S)
    share, doubt = _share(2.6)
    other = (replace(L_S[0], level=level), *L_S[1:])
    allowance = SAME if level == 0.5 else OTHER
    uncertainty = hypot(1e-3, hypot(1e-3, 4e-3, allowance, doubt / (1 - share)) / 2)
    expected = log(2.6 * sqrt(1 - share) / 2) / uncertainty
    assert _score("ratio against inductances", ratio, L_P, other, LK_P) == pytest.approx(expected, rel=1e-9)


def test_ratio_both_ways() -> None:
    """n1 n2 is not below 1; with a leakage it is 1/(1 − Λ/L), allowed 30 % of the share and 5e-4."""
    one, other = _reading("ratio", P, 2.5, 1e-3, sense=S), _reading("ratio", S, 0.63, 2e-3, sense=P)
    product = 2.5 * 0.63
    assert _score("ratio both ways", one, other) == pytest.approx(-log(product) / hypot(1e-3, 2e-3), rel=1e-9)
    share, doubt = _share(2.5)
    uncertainty = hypot(1e-3, 2e-3, doubt, 0.3 * share + 5e-4)
    assert _score("ratio both ways", one, other, L_P, L_S, LK_P) == pytest.approx(
        log(product * (1 - share)) / uncertainty, rel=1e-9
    )


# --- mutual inductance and signs -------------------------------------------------------------------

AID = _reading("inductance", AIDING, L1 + L2 + 2 * M12, 2e-3, name="aid")
OPP = _reading("inductance", OPPOSING, L1 + L2 - 2 * M12, 5e-3, name="opp")
M = _reading("mutual", P, M12, 2e-3, sense=S, name="M")


def test_aiding_and_opposing() -> None:
    """(La + Lo)/2 − L1 − L2 with 3 % of the sum; and Lo − La for the dots."""
    aiding = (AID[0], 1.02 * AID[1], AID[2])
    residual = (1.02 * AID[1] + OPP[1]) / 2 - L1 - L2
    parts = (AID[2] / 2, OPP[2] / 2, L_P[2], L_S[2], OTHER * (L1 + L2))
    found = _score("aiding and opposing", aiding, OPP, L_P, L_S)
    assert found == pytest.approx(residual / hypot(*parts), rel=1e-9)
    dots = _score("aiding above opposing", aiding, OPP)
    assert dots == pytest.approx((OPP[1] - 1.02 * AID[1]) / hypot(AID[2], OPP[2]), rel=1e-9)


@pytest.mark.parametrize(
    ("readings", "of_mutual", "level"),
    [
        ((M,), M[2], SAME),
        (((replace(M[0], level=2.0), *M[1:]),), M[2], 2 * OTHER),
        ((AID, OPP), hypot(AID[2], OPP[2], OTHER * AID[1]) / 4, 2 * OTHER),
        ((AID,), hypot(AID[2], L_P[2], L_S[2], OTHER * AID[1]) / 2, 2 * OTHER),
        ((OPP,), hypot(OPP[2], L_P[2], L_S[2], OTHER * (L1 + L2)) / 2, 2 * OTHER),
    ],
)
def test_coupling_from_every_kind_of_reading(
    readings: tuple[_Reading, ...], of_mutual: float, level: float
) -> None:
    """k from M = V/(ωI), (La − Lo)/4, (La − L1 − L2)/2 and (L1 + L2 − Lo)/2; twice 3 % where the level is
    that of neither inductance."""
    check = _check("coupling below one", *readings, L_P, L_S)
    found = re.search(r"k\(P, S\) = (\d\.\d+)", check.detail)
    assert found is not None
    assert float(found[1]) == pytest.approx(K12, abs=1e-5)
    uncertainty = hypot(of_mutual / sqrt(L1 * L2), K12 * hypot(1e-3, 4e-3, level) / 2)
    assert check.score == pytest.approx((K12 - 1) / uncertainty, rel=1e-9)


@pytest.mark.parametrize("sign", [1, -1])
def test_three_couplings(sign: int) -> None:
    """The determinant of the matrix of couplings, its uncertainty by differences of that determinant."""
    others = [
        _reading("mutual", P, M13, 2e-3, sense=A, name="M_13"),
        _reading("mutual", S, sign * M23, 2e-3, sense=A, name="M_23"),
    ]
    couplings = np.array([K12, K13, sign * K23])
    pairs = ((1e-3, 4e-3), (1e-3, 3e-3), (4e-3, 3e-3))
    doubts = np.array(
        [abs(k) * hypot(2e-3, hypot(*u, SAME) / 2) for k, u in zip(couplings, pairs, strict=True)]
    )

    def determinant(k: np.ndarray) -> float:
        return float(np.linalg.det([[1, k[0], k[1]], [k[0], 1, k[2]], [k[1], k[2], 1]]))

    step = 1e-6 * np.eye(3)
    slopes = [(determinant(couplings + row) - determinant(couplings - row)) / 2e-6 for row in step]
    uncertainty = hypot(*(np.array(slopes) * doubts), float(np.sum(doubts**2)))
    check = _check("three couplings", M, *others, L_P, L_S, L_A)
    assert check.score == pytest.approx(-determinant(couplings) / uncertainty, rel=1e-6)
    assert check.holds == (sign > 0)
    assert f"determinant {determinant(couplings):.4g}" in check.detail


@pytest.mark.parametrize("seed", range(12))
def test_what_rounding_leaves_is_shown_as_nothing(seed: int) -> None:
    """Couplings of the matrix of rank two: its determinant is 0 but for rounding, and reads 0."""
    angles = np.random.default_rng(seed).uniform(0.2, 0.9, 2)
    k12, k13, k23 = np.cos(angles[0]), np.cos(angles[1]), np.cos(angles[0] - angles[1])
    readings = [
        _reading("mutual", drive, k * sqrt(a * b), sense=sense, name=f"M_{drive[0].name}{sense[0].name}")
        for drive, sense, k, a, b in ((P, S, k12, L1, L2), (P, A, k13, L1, L3), (S, A, k23, L2, L3))
    ]
    check = _check("three couplings", *readings, L_P, L_S, L_A)
    assert "determinant 0, not below 0" in check.detail.replace("-0,", "0,")
    assert "e-" not in check.detail
    assert rounded(-1e-18) == rounded(1e-18, 1e-6) == 0.0
    assert rounded(2e-9) == 2e-9


def test_three_windings_coupled_to_the_limit() -> None:
    """Without leakage the determinant, −(1 − k23)², is second order, and so is half of its uncertainty."""
    pairs = ((P, A, sqrt(L1 * L3)), (P, S, sqrt(L1 * L2)), (S, A, 0.99 * sqrt(L2 * L3)))
    readings = [
        _reading("mutual", drive, value, sense=sense, name=f"M_{drive[0].name}{sense[0].name}")
        for drive, sense, value in pairs
    ]
    scales = ((1, 1e-3, 3e-3), (1, 1e-3, 4e-3), (0.99, 4e-3, 3e-3))
    doubts = [k * hypot(2e-3, hypot(a, b, SAME) / 2) for k, a, b in scales]
    uncertainty = hypot(*(2 * 0.01 * doubt for doubt in doubts), sum(doubt**2 for doubt in doubts))
    found = _score("three couplings", *readings, L_P, L_S, L_A)
    assert found == pytest.approx(0.01**2 / uncertainty, rel=1e-6)


@pytest.mark.parametrize(
    ("angle", "over"), [(1.7, 1.7), (-1.7, 1.7), (math.pi, math.pi), (2 * math.pi - 1.7, 1.7)]
)
def test_polarity(angle: float, over: float) -> None:
    """The smaller of the two margins: the angle's distance from 90°, not M over its uncertainty (500)."""
    phase = _reading("phase", P, angle, 0.0, sense=S, name="dot")[:2]
    found = _score("polarity", M, (*phase, 0.01))
    assert found == pytest.approx((over - math.pi / 2) / 0.01, rel=1e-9)
    turned = (replace(M[0], sense=(Member("S", True),)), *M[1:])
    assert _score("polarity", turned, (*phase, 0.01)) == 0.0


# --- displays of one impedance ---------------------------------------------------------------------

Q, LS, RS = 3.0, 40e-6, 2 * math.pi * 1e4 * 40e-6 / 3.0
ONE = {"short": S}


def test_series_against_parallel() -> None:
    """Lp/Ls − 1 − 1/Q²."""
    quality = _reading("quality", P, Q, 5e-3, **ONE)
    series = _reading("inductance", P, LS, 2e-3, **ONE, name="Ls")
    parallel = _reading("inductance", P, 1.15 * LS, 3e-3, **ONE, equivalent="parallel", name="Lp")
    uncertainty = hypot(2 * 5e-3 / Q**2, 1.15 * hypot(2e-3, 3e-3))
    expected = (1.15 - 1 - 1 / Q**2) / uncertainty
    assert _score("series against parallel", quality, series, parallel) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("circuit", ["series", "parallel"])
def test_quality_against_inductance_and_resistance(circuit: str) -> None:
    """ln of Q over ωL/R, or over R/(ωL)."""
    quality = _reading("quality", P, 1.02 * Q, 5e-3, **ONE)
    coil = _reading("inductance", P, LS, 2e-3, **ONE, equivalent=circuit, name="L")
    ohms = RS if circuit == "series" else Q * 2 * math.pi * 1e4 * LS
    loss = _reading("ac_resistance", P, ohms, 3e-3, **ONE, equivalent=circuit, name="R")
    check = _check("quality against L and R", quality, coil, loss)
    assert check.score == pytest.approx(log(1.02) / hypot(5e-3, 2e-3, 3e-3), rel=1e-9)
    assert ("ω L/R" if circuit == "series" else "R/(ω L)") in check.detail


@pytest.mark.parametrize("sign", [1, -1])
def test_phase_against_quality(sign: int) -> None:
    """|θ| − atan Q, dθ = dQ/(1 + Q²)."""
    quality = _reading("quality", P, Q, 5e-3, **ONE)
    angle = (*_reading("phase", P, sign * 1.26, 0.0, **ONE, name="angle")[:2], 4e-4)
    expected = (1.26 - math.atan(Q)) / hypot(4e-4, Q * 5e-3 / (1 + Q**2))
    assert _score("phase against quality", quality, angle) == pytest.approx(expected, rel=1e-9)


def test_bounds() -> None:
    """One-sided: R − R(f) with 2 % of R, Λ − L with 3 % of L, −R."""
    direct = _reading("resistance", P, 2.0, 2e-3, name="R")
    loss = _reading("ac_resistance", P, 1.9, 3e-3, name="Rs")
    expected = 0.1 / hypot(1.9 * 3e-3, 2.0 * 2e-3, WARM * 2.0)
    assert _score("AC above DC resistance", direct, loss) == pytest.approx(expected, rel=1e-9)
    above = (LK_P[0], 1.05 * L1, 1e-6)
    expected = 0.05 * L1 / hypot(1e-6, L_P[2], LEAK * L1)
    assert _score("shorted below open", above, L_P) == pytest.approx(expected, rel=1e-9)
    negative = (direct[0], -0.01, 0.004)
    assert _score("resistance above zero", negative) == pytest.approx(2.5, rel=1e-9)


@pytest.mark.parametrize("frequency", [1.02e4, 0.98e4])
def test_readings_two_per_cent_apart_in_frequency_are_not_compared(frequency: float) -> None:
    off = (replace(L_S[0], frequency=frequency), *L_S[1:])
    near = (replace(L_S[0], frequency=1.005e4), *L_S[1:])
    ratio = _reading("ratio", P, 2.5, 1e-3, sense=S)
    assert "ratio against inductances" not in {check.check for check in _checks(ratio, L_P, off)}
    assert "ratio against inductances" in {check.check for check in _checks(ratio, L_P, near)}


def test_above_resonance_there_is_no_bound() -> None:
    """A negative inductance is capacitive: neither it nor a leakage beside it is judged by Λ ≤ L."""
    for leakage, opened in ((-1e-6, L1), (LK_P[1], -L1)):
        readings = (LK_P[0], leakage, 1e-7), (L_P[0], opened, 1e-7)
        assert "shorted below open" not in {check.check for check in _checks(*readings)}


def test_what_is_tried_of_a_ratio_keeps_its_relative_uncertainty() -> None:
    """6 ± 0.06: decades, and one over it, 1/6 ± 0.06/36."""
    test = BenchTest(name="n", measure="ratio", drive=P, sense=S, frequency=1e4)
    part = PartReadings(items=(PartReading(test=test, value=6.0, uncertainty=0.06),), bench=BENCH, turning={})
    tried = {words: trial.items[0] for words, trial in _trials(part, [0])}
    assert [item.value for item in tried.values()] == pytest.approx([6000.0, 60.0, 0.6, 0.006, 1 / 6])
    assert [item.uncertainty for item in tried.values()] == pytest.approx([60.0, 0.6, 6e-3, 6e-5, 0.06 / 36])
    assert [*tried][-1].startswith("n were 1 over the value in the file, 0.1667")


def test_what_a_part_as_drawn_breaks_is_taken_off() -> None:
    """(s − s0)/√(1 + (0.2 s0)²) with s0 = 5: 12 becomes 7/√2, and 8 becomes 3/√2, which holds; below 1, or of
    the other sign, nothing is taken off."""

    def broken(score: float) -> Check:
        return Check("law", False, score, "numbers. What it means")

    def less(score: float, drawn: float) -> Check:
        (found,) = beyond_design([broken(score)], [broken(drawn)])
        return found

    assert less(12.0, 5.0).score == pytest.approx(7 / sqrt(2))
    assert not less(12.0, 5.0).holds
    assert less(-12.0, -5.0).score == pytest.approx(-7 / sqrt(2))
    mended = less(8.0, 5.0)
    assert (mended.holds, mended.score) == (True, pytest.approx(3 / sqrt(2)))
    assert mended.detail == "numbers; a part as drawn reads so too"
    assert less(12.0, 0.9) == less(12.0, -5.0) == broken(12.0)


def test_repeats_of_a_part_without_a_drawing() -> None:
    """100, 102, 104, each ± 1: s = 2, and √(1² + 2²/3) of their mean."""
    test = BenchTest(name="L", measure="inductance", drive=P)
    rows = [Reading(sample="A", test="L", value=value, uncertainty=1.0) for value in (100.0, 102.0, 104.0)]
    (item,) = _items(rows, {"L": test}, BENCH)
    assert (item.value, item.repeats, item.scatter, item.claimed) == (102.0, 3, pytest.approx(2.0), 1.0)
    assert item.uncertainty == pytest.approx(sqrt(1 + 4 / 3))


def test_without_a_frequency_a_reading_has_the_basic_accuracy() -> None:
    """± 1 % is half of it as a standard uncertainty, of the value or (phase) in rad; with re-connection."""
    bench = replace(BENCH, accuracy=0.01)
    coil, angle = (BenchTest(name="x", measure=measure, drive=P) for measure in ("inductance", "phase"))
    again = REPEATABILITY.get("inductance", REPEATABILITY["default"])
    assert _doubt(coil, 3e-3, None, bench) == pytest.approx(3e-3 * hypot(0.005, again))
    assert _doubt(angle, 1.2, None, bench) == pytest.approx(0.005)
