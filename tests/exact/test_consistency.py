"""Laws between the readings of one part: an ideal part keeps all of them, and a wrong reading breaks its own.

The readings come from closed forms of the coupled-coil equations, written out here: L1, L2, L3 and k are
chosen, every other number follows.
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from aswound.compare.consistency.checks import Check, consistency_checks
from aswound.compare.readings.read_test import ReadTest
from aswound.predict.design import BenchTest, Design, Member, Port
from aswound.predict.designfile.reader import load_design

pytestmark = pytest.mark.exact

L1, L2, L3 = 600e-6, 600e-6 / 36, 600e-6 / 16
K12, K13, K23 = 0.998, 0.985, 0.986
M12, M13, M23 = (k * math.sqrt(a * b) for k, a, b in ((K12, L1, L2), (K13, L1, L3), (K23, L2, L3)))
LINK = 8e-9
LEAKAGE = 1 - K12**2
HIGH, LOW = 100e3, 10e3
LK_P, LK_S = L1 - M12**2 / (L2 + LINK), L2 - M12**2 / (L1 + LINK)  # with the link across the other winding
RS, QS = 2.0, 2 * math.pi * HIGH * LK_P / 2.0


def _test(name: str, measure: str, drive: Port, **more: object) -> BenchTest:
    frequency = None if measure == "resistance" else LOW
    made = BenchTest(name=name, measure=measure, drive=drive, frequency=frequency)
    return replace(made, **more)  # type: ignore[arg-type]


P, S, A = (Member("P"),), (Member("S"),), (Member("AUX"),)
AIDING, OPPOSING = (Member("P"), Member("S")), (Member("P"), Member("S", True))
READINGS: dict[str, tuple[BenchTest, float]] = {
    "L_P": (_test("L_P", "inductance", P), L1),
    "L_S": (_test("L_S", "inductance", S, level=1 / 6), L2),
    "L_A": (_test("L_A", "inductance", A, level=1 / 4), L3),
    "Lk_P": (_test("Lk_P", "inductance", P, short=S, frequency=HIGH), LK_P),
    "Lk_S": (_test("Lk_S", "inductance", S, short=P, frequency=HIGH), LK_S),
    "n_P": (_test("n_P", "ratio", P, sense=S), L1 / M12),
    "n_S": (_test("n_S", "ratio", S, sense=P), L2 / M12),
    "aid": (_test("aid", "inductance", AIDING), L1 + L2 + 2 * M12),
    "opp": (_test("opp", "inductance", OPPOSING), L1 + L2 - 2 * M12),
    "M": (_test("M", "mutual", P, sense=S), M12),
    "M_back": (_test("M_back", "mutual", S, sense=P, level=1 / 6), M12),
    "M_PA": (_test("M_PA", "mutual", P, sense=A), M13),
    "M_SA": (_test("M_SA", "mutual", S, sense=A, level=1 / 6), M23),
    "dot": (_test("dot", "phase", P, sense=S), 0.01),
    "R_P": (_test("R_P", "resistance", P), 0.55),
    "Rs": (_test("Rs", "ac_resistance", P, short=S, frequency=HIGH), RS),
    "Q": (_test("Q", "quality", P, short=S, frequency=HIGH), QS),
    "angle": (_test("angle", "phase", P, short=S, frequency=HIGH), math.atan(QS)),
    "Lk_par": (
        _test("Lk_par", "inductance", P, short=S, frequency=HIGH, equivalent="parallel"),
        LK_P * (1 + QS**-2),
    ),
    "Rp": (
        _test("Rp", "ac_resistance", P, short=S, frequency=HIGH, equivalent="parallel"),
        RS * (1 + QS**2),
    ),
    "Lk_PA": (_test("Lk_PA", "inductance", P, short=(*S, *A), frequency=HIGH), 0.9 * LK_P),
}


@cache
def _design() -> Design:
    base = load_design(Path(__file__).parents[2] / "samples" / "flyback-24w.toml")
    bench = replace(base.bench, short_inductance=LINK, short_inductance_tolerance=0.0, equivalent="series")
    return replace(base, bench=bench)


def _checks(
    *names: str, relative: float = 1e-3, design: Design | None = None, **changed: float
) -> dict[str, Check]:
    """Checks of the named ideal readings, some of them replaced: by law, the worst of each."""
    tests = tuple(READINGS[name][0] for name in names)
    values = [changed.get(name, READINGS[name][1]) for name in names]
    read = [
        ReadTest(test_index=place, value=value, uncertainty=relative * abs(value), repeats=1)
        for place, value in enumerate(values)
    ]
    found = consistency_checks(replace(design or _design(), tests=tests), read)
    ranked = sorted(found, key=lambda check: abs(check.score or 0.0) if not check.holds else -1.0)
    return {check.check: check for check in ranked}


def test_an_ideal_part_keeps_every_law() -> None:
    found = _checks(*READINGS)
    assert [check.check for check in found.values() if not check.holds] == []
    assert len(found) == 15


CASES = [
    ("leakage from both sides", ("n_P", "Lk_P", "Lk_S"), {"Lk_P": L1 - M12**2 / (L2 + 41e-9)}),
    ("leakage from both sides", ("L_P", "L_S", "Lk_P", "Lk_S"), {"Lk_S": L2 * LEAKAGE + 60e-9}),
    ("ratio against inductances", ("L_P", "L_S", "n_P", "Lk_P"), {"n_P": 5.8}),
    ("ratio against inductances", ("L_P", "L_S", "n_S"), {"L_S": 1.2 * L2}),
    ("ratio both ways", ("n_P", "n_S"), {"n_S": 0.160}),
    ("ratio both ways", ("n_P", "n_S", "L_P", "Lk_P"), {"n_S": 0.180}),
    ("aiding and opposing", ("aid", "opp", "L_P", "L_S"), {"aid": 1.3e-3}),
    ("aiding above opposing", ("aid", "opp"), {"aid": READINGS["opp"][1], "opp": READINGS["aid"][1]}),
    ("polarity", ("M", "dot"), {"dot": math.pi - 0.01}),
    ("polarity", ("aid", "opp", "dot"), {"dot": -math.pi + 0.01}),
    ("polarity", ("aid", "L_P", "L_S", "M"), {"M": -M12}),
    ("coupling below one", ("M", "L_P", "L_S"), {"M": 1.2 * math.sqrt(L1 * L2)}),
    ("coupling below one", ("aid", "opp", "L_P", "L_S"), {"aid": 1.6 * READINGS["aid"][1]}),
    ("three couplings", ("L_P", "L_S", "L_A", "M", "M_PA", "M_SA"), {"M_SA": -M23}),
    ("reciprocity", ("M", "M_back"), {"M_back": 1.5 * M12}),
    ("shorted below open", ("L_P", "Lk_P"), {"L_P": L1 * LEAKAGE, "Lk_P": L1}),
    ("shorted below open", ("Lk_P", "Lk_PA"), {"Lk_PA": 1.3 * READINGS["Lk_P"][1]}),
    ("series against parallel", ("Q", "Lk_P", "Lk_par"), {"Lk_par": LK_P}),
    ("quality against L and R", ("Q", "Lk_P", "Rs"), {"Rs": RS * (1 + QS**2)}),
    ("quality against L and R", ("Q", "Lk_par", "Rp"), {"Rp": RS}),
    ("phase against quality", ("Q", "angle"), {"angle": math.pi / 2 - math.atan(QS)}),
    ("AC above DC resistance", ("Rs", "R_P"), {"R_P": 1.3 * RS}),
    ("resistance above zero", ("R_P",), {"R_P": -0.01}),
]


@pytest.mark.parametrize(("law", "names", "changed"), CASES)
def test_each_law_holds_for_the_ideal_part_and_breaks_for_a_wrong_reading(
    law: str, names: tuple[str, ...], changed: dict[str, float]
) -> None:
    sound, wrong = _checks(*names)[law], _checks(*names, **changed)[law]
    assert sound.holds
    assert not wrong.holds
    assert wrong.score is not None
    assert wrong.score > 3 or (wrong.score < -3 and sound.score is not None and abs(sound.score) <= 3)
    assert len(wrong.detail) > len(sound.detail)
    for name in changed:
        assert name in wrong.detail or law in ("coupling below one", "three couplings")


def test_residuals_of_the_equalities_vanish_for_the_ideal_part() -> None:
    """The formulas carry no bias. (The link is taken off to first order, 0.2 % of this leakage.)"""
    found = _checks(*READINGS)
    for law in (
        "leakage from both sides",
        "ratio both ways",
        "ratio against inductances",
        "aiding and opposing",
        "reciprocity",
        "phase against quality",
    ):
        score = found[law].score
        assert score is not None
        assert abs(score) < 0.05, law


def test_a_long_link_is_named_with_its_size() -> None:
    """33 nH more than entered: Λ1 is too large by n² × 33 nH, and the check says so."""
    changed = {"Lk_P": L1 - M12**2 / (L2 + LINK + 33e-9)}
    detail = _checks("L_P", "L_S", "Lk_P", "Lk_S", **changed)["leakage from both sides"].detail
    assert "link of 33 nH more than entered" in detail
    detail = _checks("L_P", "L_S", "Lk_P", "Lk_S", Lk_S=L2 * LEAKAGE + 60e-9)[
        "leakage from both sides"
    ].detail
    assert "62 nH of leads" in detail  # n² 60 nH / (n² − 1)


def test_the_score_is_the_residual_over_the_standard_uncertainty() -> None:
    """Reciprocity by hand: 3 % allowance of the larger and 2 % of each reading."""
    check = _checks("M", "M_back", relative=0.02, M_back=1.1 * M12)["reciprocity"]
    expected = -0.1 / math.sqrt(0.02**2 + (0.02 * 1.1) ** 2 + (0.03 * 1.1) ** 2)
    assert check.score == pytest.approx(expected, rel=1e-9)
    assert check.holds


def test_a_larger_uncertainty_withdraws_the_charge() -> None:
    assert not _checks("R_P", "Rs", relative=0.01, R_P=1.3 * RS)["AC above DC resistance"].holds
    assert _checks("R_P", "Rs", relative=0.15, R_P=1.3 * RS)["AC above DC resistance"].holds


def test_marked_directions_decide_what_aiding_means() -> None:
    """With S marked ccw, start to finish in series opposes: the larger reading then is the reversed one."""
    design = _design()
    windings = tuple(
        replace(winding, turning="ccw") if winding.name == "S" else winding for winding in design.windings
    )
    turned = replace(design, windings=windings)
    assert not _checks("aid", "opp", design=turned)["aiding above opposing"].holds
    exchanged = {"aid": READINGS["opp"][1], "opp": READINGS["aid"][1]}
    assert _checks("aid", "opp", design=turned, **exchanged)["aiding above opposing"].holds


def _at(name: str, **more: object) -> tuple[BenchTest, float]:
    test, value = READINGS[name]
    return replace(test, **more), value  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("readings", "law"),
    [
        ((_at("Lk_P"), _at("Lk_S", frequency=1e3), _at("n_P")), "leakage from both sides"),
        ((_at("L_P"), _at("L_S", frequency=1e3), _at("n_P")), "ratio against inductances"),
        ((_at("aid"), _at("opp", frequency=1e3)), "aiding above opposing"),
        ((_at("Q"), _at("Lk_P", frequency=1e3), _at("Rs")), "quality against L and R"),
        ((_at("Q"), _at("Lk_P"), _at("Rs", short=A)), "quality against L and R"),
        ((_at("L_P", equivalent="parallel"), _at("L_S"), _at("n_P")), "ratio against inductances"),
        ((_at("Lk_P"), _at("Lk_PA", frequency=1e3)), "shorted below open"),
        ((_at("Rs", equivalent="parallel"), _at("R_P")), "AC above DC resistance"),
    ],
)
def test_readings_that_do_not_belong_together_are_not_compared(
    readings: tuple[tuple[BenchTest, float], ...], law: str
) -> None:
    tests = tuple(test for test, _ in readings)
    read = [
        ReadTest(test_index=place, value=value, uncertainty=1e-3 * value, repeats=1)
        for place, (_, value) in enumerate(readings)
    ]
    assert law not in {check.check for check in consistency_checks(replace(_design(), tests=tests), read)}


def test_missing_readings_are_left_out() -> None:
    design = replace(_design(), tests=(READINGS["L_P"][0], READINGS["Lk_P"][0]))
    read = [
        ReadTest(test_index=0, value=None, uncertainty=None, repeats=0),
        ReadTest(test_index=1, value=L1, uncertainty=1e-6, repeats=1),
    ]
    assert consistency_checks(design, read) == ()
    assert consistency_checks(design, []) == ()


def test_an_exact_reading_is_judged_without_a_score() -> None:
    """Uncertainty zero: the law holds exactly or not at all, and no infinite score appears."""
    check = _checks("R_P", relative=0.0, R_P=-1.0)["resistance above zero"]
    assert (check.holds, check.score) == (False, None)
    assert _checks("R_P", relative=0.0)["resistance above zero"].holds


def test_loose_coupling_is_no_contradiction() -> None:
    """k = 0.6: n² is far from L1/L2, and the checks know it from the leakage."""
    k = 0.6
    mutual = k * math.sqrt(L1 * L2)
    values = {
        "Lk_P": L1 * (1 - k**2) + 36 * k**2 * LINK,
        "Lk_S": L2 * (1 - k**2),
        "n_P": L1 / mutual,
        "n_S": L2 / mutual,
    }
    found = _checks("L_P", "L_S", "Lk_P", "Lk_S", "n_P", "n_S", **values)
    for law in ("leakage from both sides", "ratio against inductances", "ratio both ways"):
        assert found[law].holds, law


@pytest.mark.parametrize("factor", [0.0, -1.0])
@pytest.mark.parametrize("name", [*READINGS, "all"])
def test_a_reading_of_zero_or_of_the_wrong_sign_is_judged(name: str, factor: float) -> None:
    """Whatever a slip of the pen makes of one reading or of all: each score is a number, or there is none."""
    design = replace(_design(), tests=tuple(test for test, _ in READINGS.values()))
    values = [factor * value if name in (key, "all") else value for key, (_, value) in READINGS.items()]
    for relative in (1e-3, 0.0):
        read = [
            ReadTest(test_index=place, value=value, uncertainty=relative * abs(value), repeats=1)
            for place, value in enumerate(values)
        ]
        for check in consistency_checks(design, read):
            assert check.score is None or math.isfinite(check.score), check
