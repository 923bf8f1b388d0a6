"""Parts that read as designed: what is decided against them, what is proposed, and what noise is."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.special import chdtrc

from aswound.compare import explain
from aswound.compare.causes import CATALOGUE
from aswound.compare.consistency import consistency_checks
from aswound.compare.diagnosis.conclusion import HARDLY
from aswound.compare.diagnosis.next_test import NOTEWORTHY_BITS
from aswound.compare.diagnosis.weighing import (
    BEYOND,
    SIGN_TOLD,
    case_of,
    chi_square_beyond,
    stands_out,
)
from aswound.compare.hypotheses.inquiry import inquire
from aswound.compare.readings import Reading
from aswound.compare.readings.read_test import ReadTest
from aswound.predict import load_design, predict_bench

ROOT = Path(__file__).parents[2]
DESIGN = load_design(ROOT / "samples" / "flyback-24w.toml")
VALUES = dict(zip([test.name for test in DESIGN.tests], predict_bench(DESIGN).values.tolist(), strict=True))


def _readings(names: tuple[str, ...], **scaled: float) -> list[Reading]:
    return [Reading(sample="A1", test=name, value=VALUES[name] * scaled.get(name, 1.0)) for name in names]


def test_of_a_sound_part_with_few_readings_one_reading_more_is_proposed() -> None:
    (sound,) = explain(DESIGN, _readings(("L_P", "n", "R_P")))
    assert not sound.stands_out
    assert not sound.deviates
    assert len(sound.next_tests) <= 1
    assert all(not test.intervention and test.bits >= NOTEWORTHY_BITS for test in sound.next_tests)
    assert sound.alike == ()
    (faulty,) = explain(DESIGN, _readings(("L_P", "n", "R_P"), R_P=1.3))
    assert faulty.stands_out
    assert len(faulty.next_tests) > 1


def test_a_part_stands_out_beyond_its_point_of_chi_square() -> None:
    """One reading: d² is its score squared, the point of χ² with one degree of freedom 6.63 (99 %)."""
    place = [test.name for test in DESIGN.tests].index("L_P")
    tests = (DESIGN.tests[place],)
    inquiry = inquire(replace(DESIGN, tests=tests), tests, CATALOGUE, ahead=False)
    asked = replace(DESIGN, tests=inquiry.tests)
    assert BEYOND == 0.99
    for score, out in ((2.5, False), (2.65, True), (-2.5, False), (-2.65, True)):
        unsure = 1e-4
        plain = ReadTest(test_index=0, value=VALUES["L_P"], uncertainty=unsure * VALUES["L_P"], repeats=1)
        size = float(np.sqrt(case_of(asked, inquiry.background, (plain,)).base[0, 0]))
        value = VALUES["L_P"] * np.exp(score * size)
        read = replace(plain, value=float(value), uncertainty=unsure * float(value))
        assert stands_out(case_of(asked, inquiry.background, (read,))) is out
    assert not stands_out(case_of(asked, inquiry.background, ()))


@pytest.mark.parametrize(("score", "out"), [(2.9, False), (3.15, True), (-3.15, True)])
def test_one_reading_far_out_stands_out_among_others_that_agree(score: float, out: bool) -> None:
    """Four readings, independent but for the design: the normal point of 1 − 0.01/4 on both sides is 3.02,
    that of χ² with four degrees of freedom 13.28, which 3.15² does not reach."""
    base, residual = np.diag([0.01, 0.02, 0.03, 0.04]) ** 2, np.zeros(4)
    residual[1] = score * 0.02
    (place,) = [number for number, test in enumerate(DESIGN.tests) if test.name == "L_P"]
    tests = (DESIGN.tests[place],)
    inquiry = inquire(replace(DESIGN, tests=tests), tests, CATALOGUE, ahead=False)
    read = ReadTest(test_index=0, value=VALUES["L_P"], uncertainty=1e-4 * VALUES["L_P"], repeats=1)
    one = case_of(replace(DESIGN, tests=inquiry.tests), inquiry.background, (read,))
    four = replace(
        one,
        frame=replace(one.frame, tests=one.frame.tests * 4, base=base),
        residual=residual,
        signs=np.zeros(4),
        meter=np.zeros(4),
        y=np.zeros(4),
    )
    assert stands_out(four) is out


def test_what_is_less_than_the_meter_tells_has_no_sign() -> None:
    """A reading on the wrong side of zero, within ``SIGN_TOLD`` uncertainties, is noise: a part is not
    accused for it. Beyond, its sign counts."""
    place = [test.name for test in DESIGN.tests].index("R_S")
    tests = (DESIGN.tests[place],)
    inquiry = inquire(replace(DESIGN, tests=tests), tests, CATALOGUE, ahead=False)
    asked = replace(DESIGN, tests=inquiry.tests)
    unsure = 2 * VALUES["R_S"]
    for times, wrong in ((0.9, 0.0), (1.1, 1.0)):
        read = ReadTest(test_index=0, value=-times * SIGN_TOLD * unsure, uncertainty=unsure, repeats=1)
        case = case_of(asked, inquiry.background, (read,))
        assert case.signs.tolist() == [wrong]
        assert stands_out(case) is bool(wrong)


def test_nothing_is_decided_against_a_part_within_production() -> None:
    (sound,) = explain(DESIGN, _readings(tuple(VALUES)))
    accused = replace(sound, as_designed=2 * HARDLY, causes=(replace(sound.causes[0], probability=0.9),))
    assert not replace(accused, stands_out=False).deviates
    assert replace(accused, stands_out=True).deviates
    assert replace(accused, stands_out=False, as_designed=HARDLY / 2).deviates


def test_what_a_design_itself_breaks_is_no_contradiction() -> None:
    """Windings of a laminated core that are read at flux densities far apart: the ratio is not the root of
    the inductances, by design. Beyond that, it is."""
    import sys

    sys.path.insert(0, str(ROOT / "tests" / "benchmarks"))
    from ladder import RUNGS

    from aswound.predict import parse_design

    design = parse_design(RUNGS["mains"])
    values = predict_bench(design).values
    names = [test.name for test in design.tests]

    def law(inductance: float) -> bool:
        read = [
            ReadTest(
                test_index=place,
                value=float(value) * (inductance if names[place] == "L_P" else 1.0),
                uncertainty=1e-3 * abs(float(value)),
                repeats=1,
            )
            for place, value in enumerate(values)
        ]
        (found,) = [
            one for one in consistency_checks(design, read) if one.check == "ratio against inductances"
        ]
        return found.holds

    assert law(1.0)
    assert law(0.97)
    assert not law(3.0)


@pytest.mark.slow
def test_sound_parts_are_rarely_sent_back() -> None:
    """The tool's own production of the samples, 200 parts each: at most 2 % end with status 1 (and what
    chance adds to 600 parts, two standard deviations), leakages beyond a score of 3 at most 0.5 %."""
    import sys

    sys.path.insert(0, str(ROOT / "tests" / "benchmarks"))
    from false_alarms import alarms

    total = None
    for number, name in enumerate(("flyback-24w", "bridge-300w", "gate-drive")):
        one = alarms(load_design(ROOT / "samples" / f"{name}.toml"), 200, 7 + number)
        total = one if total is None else total + one
    assert total is not None
    most = 0.02 + 2 * (0.02 * 0.98 / total.parts) ** 0.5
    assert total.compared <= most * total.parts
    assert total.explained is not None
    assert total.explained <= most * total.parts
    assert total.leakages_beyond <= 0.005 * total.leakages


@pytest.mark.parametrize("freedom", [1, 2, 3, 4, 7, 12, 25, 40])
def test_the_closed_form_of_chi_square_is_that_of_the_library(freedom: int) -> None:
    """``scipy.special.chdtrc``, over the range in which a verdict may turn."""
    for value in (0.0, 0.3, 3.841458820694124, 6.6, 11.3, 26.2, 90.0):
        expected = float(chdtrc(freedom, value))
        assert chi_square_beyond(value, freedom) == pytest.approx(expected, rel=1e-11)
