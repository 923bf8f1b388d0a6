"""Learning a calibration from known-good samples: from the readings to the file and back."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from aswound.compare.hypotheses import forward
from aswound.compare.lots import Learned, LearnedFactor, learn, section
from aswound.compare.lots.calibration import calibrated_by
from aswound.compare.readings.file import Reading, readings_from_options
from aswound.compare.verdict import evaluate, predicted_scatter
from aswound.predict import load_design, parse_design, readings
from aswound.predict.design import Design, ModelFactors, OwnFactor
from aswound.predict.designfile.calibration_text import with_calibration
from aswound.predict.errors import DesignError, ReadingsError
from aswound.predict.production.calibration import calibrated
from aswound.predict.production.common_parts import SHARES, shares_of
from aswound.predict.production.tolerances import parameters

SAMPLES = Path(__file__).parents[2] / "samples"
CAPACITANCE = """
[[test]]
name = "C_PS"
measure = "capacitance"
drive = "P"
sense = "S"
frequency = "10 kHz"
"""


def flyback(extra: str = CAPACITANCE) -> Design:
    text = (SAMPLES / "flyback-24w.toml").read_text(encoding="utf-8")
    return parse_design(text + extra, folder=SAMPLES)


def read_from(design: Design, samples: int = 1, scatter: float = 0.0) -> list[Reading]:
    random = np.random.default_rng(11)
    result = []
    for number in range(samples):
        for test, value in zip(design.tests, readings(design), strict=True):
            unit = {"inductance": "H", "ratio": "", "resistance": "ohm", "capacitance": "F", "phase": "rad"}
            shown = value * (1 + scatter * random.standard_normal())
            if test.measure == "phase":
                shown, unit["phase"] = math.degrees(value), "deg"
            option = f"{test.name}={shown:.12g} {unit[test.measure]}"
            (one,) = readings_from_options([option], design)
            result.append(replace(one, sample=f"K{number + 1}", temperature=20.0))
    return result


def by_key(learned: Learned) -> dict[str, tuple[float, float, float]]:
    return {item.key: (item.factor, item.deviation, item.prior) for item in learned.factors}


def test_the_prediction_itself_teaches_factors_of_one_and_less_doubt() -> None:
    design = flyback()
    learned = learn(design, read_from(design))
    found = by_key(learned)
    assert set(found) == {"leakage", "capacitance", "mean_turn"}
    for factor, deviation, prior in found.values():
        assert factor == pytest.approx(1.0, abs=1e-5)
        assert deviation < 0.96 * prior
    assert not learned.suspicious


@pytest.mark.parametrize("key", ["leakage", "capacitance", "mean_turn"])
def test_a_true_factor_is_approached_by_what_is_believed_of_it(key: str) -> None:
    """A part whose model is off by one prior deviation: the factor moves that way by the part of the variance
    that the readings take away, and others by less."""
    design = flyback()
    plain = by_key(learn(design, read_from(design)))
    _, deviation, prior = plain[key]
    true = math.exp(prior)
    learned = by_key(learn(design, read_from(calibrated_by(design, [key], np.array([true])))))
    moved = {name: math.log(entry[0]) / entry[2] for name, entry in learned.items()}
    share = shares_of("mean_turn").design if key == "mean_turn" else 1.0
    assert moved[key] == pytest.approx((1 - (deviation / prior) ** 2) / share, rel=0.05)
    assert max(moved, key=lambda name: abs(moved[name])) == key


def test_more_samples_teach_more() -> None:
    design = flyback()
    one, many = (by_key(learn(design, read_from(design, samples))) for samples in (1, 8))
    for key in one:
        assert many[key][1] < one[key][1]


def test_which_reading_taught_what() -> None:
    design = flyback()
    learned = learn(design, read_from(design))
    tests = {item.key: item.tests for item in learned.factors}
    assert set(tests["leakage"]) == {"Lk_P", "Lk_S"}
    assert tests["capacitance"] == ("C_PS",)
    assert set(tests["mean_turn"]) == {"R_P", "R_S"}


def test_a_factor_beyond_belief_is_suspicious() -> None:
    design = flyback()
    odd = read_from(calibrated_by(design, ["leakage"], np.array([1.5])))
    named = [item.key for item in learn(design, odd).suspicious if isinstance(item, LearnedFactor)]
    assert named == ["leakage"]


def test_readings_that_bear_on_nothing_are_refused() -> None:
    design = flyback()
    with pytest.raises(ReadingsError, match="nothing that bears on leakage"):
        learn(design, [item for item in read_from(design) if item.test == "n"])


def test_what_a_stated_inductance_factor_leaves_to_learn() -> None:
    """A core given by its AL has no model error of its own; where the file states one, it is learned."""
    design = flyback()
    assert "inductance" in dict(learn(design, read_from(design)).unlearned)
    stated = flyback(CAPACITANCE + '[spread]\nmodel_inductance = "10 %"\n')
    assert "inductance" in by_key(learn(stated, read_from(stated)))


def test_the_section_reads_back_as_what_was_learned() -> None:
    text = (SAMPLES / "flyback-24w.toml").read_text(encoding="utf-8") + CAPACITANCE
    design = parse_design(text, folder=SAMPLES)
    part = calibrated_by(design, ["leakage", "capacitance"], np.array([1.03, 1.12]))
    learned = learn(design, read_from(part))
    again = parse_design(with_calibration(text, section(learned)), folder=SAMPLES)
    assert again.model.leakage == pytest.approx(learned.design.model.leakage, rel=1e-4)
    assert again.tolerances.model_leakage == pytest.approx(learned.design.tolerances.model_leakage, rel=1e-2)
    assert readings(again) == pytest.approx(readings(learned.design), rel=1e-4)


def test_a_section_is_replaced_and_all_else_stays() -> None:
    old = '[calibration]  # old\nleakage = { factor = 1, uncertainty = "1 %" }\n'
    text = f"# mine\na = 1\n{old}\n# next\n[b]\nc = 2\n"
    new = '[calibration]\nleakage = { factor = 2, uncertainty = "1 %" }\n'
    changed = with_calibration(text, new)
    assert changed.count("[calibration]") == 1
    assert "# mine" in changed
    assert "# next\n[b]" in changed
    assert with_calibration(changed, new) == changed
    assert "\r\n" in with_calibration("a = 1\r\nb = 2\r\n", new)


@pytest.mark.parametrize(
    ("text", "kept"),
    [
        (
            "a = 1\ncalibration.leakage = { factor = 1, uncertainty = 0.01 }  # old\n# mine\n[b]\n",
            "a = 1\n# mine\n[b]\n",
        ),
        ("calibration = { leakage = { factor = 1, uncertainty = 0.01 } }\na = 1\n", "a = 1\n"),
        ('note = """\n[calibration]\n"""\n', 'note = """\n[calibration]\n"""\n'),
        ("['calibration'.leakage]\nfactor = 1\n# mine\nuncertainty = 0.01\n[b]\n", "# mine\n[b]\n"),
        ("a = 1\n[[calibration.own]]\nname = 'x'\n[[calibration.own]]\nname = 'y'\n", "a = 1\n"),
        ("", ""),
    ],
)
def test_a_section_is_replaced_however_it_is_written(text: str, kept: str) -> None:
    new = '[calibration]\nleakage = { factor = 2, uncertainty = "1 %" }\n'
    assert with_calibration(text, new) == f"{kept}\n{new}"
    in_dos = with_calibration(text.replace("\n", "\r\n"), new)
    if text:
        assert in_dos == f"{kept}\n{new}".replace("\n", "\r\n")


def test_a_text_that_is_no_toml_is_refused() -> None:
    with pytest.raises(DesignError, match="cannot be changed"):
        with_calibration("a = = 1\n", '[calibration]\nleakage = { factor = 2, uncertainty = "1 %" }\n')


@pytest.mark.parametrize("name", ["flyback-24w", "bridge-300w", "gate-drive"])
def test_every_tolerance_has_its_shares(name: str) -> None:
    for item in parameters(load_design(SAMPLES / f"{name}.toml")):
        assert shares_of(item.name) in SHARES.values(), item.name


def test_shares_sum_to_one() -> None:
    for share in SHARES.values():
        assert share.design + share.lot + share.unit == pytest.approx(1.0)
        assert min(share.design, share.lot, share.unit) >= 0


def test_no_factors_change_nothing() -> None:
    design = flyback()
    assert calibrated(design, ()) is design


PAIRS = Path(__file__).parents[1] / "benchmarks" / "designs" / "pairs" / "etd29-pairs.toml"


def pairs(by: dict[str, float], samples: int = 5) -> tuple[Design, Learned]:
    """A design of three windings, and what parts teach that its models miss by so much in the tests named."""
    design = load_design(PAIRS)
    rows = [
        Reading(
            sample=f"K{number}",
            test=test.name,
            value=float(value) * by.get(test.name, 1.0),
            temperature=20.0 if test.measure == "resistance" else None,
        )
        for number in range(samples)
        for test, value in zip(design.tests, readings(design), strict=True)
    ]
    return design, learn(design, rows)


def moved(design: Design, learned: Learned) -> dict[str, float]:
    """Every reading as calibrated over as drawn."""
    ratio = np.asarray(readings(learned.design)) / np.asarray(readings(design))
    return {test.name: float(value) for test, value in zip(design.tests, ratio, strict=True)}


def test_a_pair_of_windings_is_learned_from_both_its_sides() -> None:
    """What the model is off by for P|S alone moves that pair's readings; those of other pairs stay."""
    design, learned = pairs({"Lk_P": 1.03, "Lk_S": 1.03})
    known = moved(design, learned)
    assert 1.008 < known["Lk_P"] < 1.03
    assert 1.008 < known["Lk_S"] < 1.03
    assert known["Lk_PA"] == pytest.approx(1.0, abs=0.007)  # a fifth of the 3 % at most
    own = {item.of: item for item in learned.own}
    assert own["leakage P|S"].factor > 1.004 > 1.0 > own["leakage A|P"].factor
    both = math.hypot(own["leakage P|S"].deviation, own["leakage S>P"].deviation)
    assert both < 0.8 * math.hypot(own["leakage P|S"].prior, own["leakage S>P"].prior)


def test_resonance_and_capacitance_are_learned_apart() -> None:
    design, learned = pairs({"f_res": 0.93})
    known = moved(design, learned)
    assert known["f_res"] < 0.95
    assert known["C_PS"] == pytest.approx(1.0, abs=0.005)


def test_what_was_learned_of_readings_narrows_what_is_predicted() -> None:
    """compare's score has the learned uncertainty, and the diagnosis the same."""
    design, learned = pairs({})
    asked = [
        Reading(sample="A", test=test.name, value=float(value))
        for test, value in zip(design.tests, readings(design), strict=True)
    ]
    scatter = [predicted_scatter(evaluate(one, asked)).deviation for one in (design, learned.design)]
    wide = [forward(one, ())[0].covariance.diagonal() ** 0.5 for one in (design, learned.design)]
    for name, most in (("C_PS", 0.54), ("f_res", 0.7), ("Lk_PA", 0.6)):
        place = [test.name for test in design.tests].index(name)
        assert scatter[1][place] < most * scatter[0][place]
        assert wide[1][place] < most * wide[0][place]


def test_own_factors_read_back_from_the_file_give_the_same_readings() -> None:
    _, learned = pairs({"Lk_P": 1.02, "Lk_S": 1.02, "C_PS": 0.9})
    text = with_calibration(PAIRS.read_text(encoding="utf-8"), section(learned))
    again = parse_design(text, folder=PAIRS.parent)
    assert np.allclose(readings(again), readings(learned.design), rtol=2e-4)
    assert {item.of for item in again.model.own} == {item.of for item in learned.own}
    assert with_calibration(text, section(learned)) == text


def test_own_factors_follow_the_terminals_not_the_name_or_the_frequency() -> None:
    """explain names tests anew, and a reading at another frequency is of the same pair."""
    design = replace(flyback(), model=ModelFactors(own=(OwnFactor("leakage P|S", 1.05, 0.01),)))
    test = next(test for test in design.tests if test.name == "Lk_P")
    asked = tuple(replace(test, name=f"x {f:g}", frequency=f) for f in (50e3, 100e3))
    plain = readings(replace(design, tests=asked, model=ModelFactors()))
    assert np.asarray(readings(replace(design, tests=asked)) / plain) == pytest.approx([1.05, 1.05])


def test_a_file_of_four_factors_is_read_as_it_was() -> None:
    text = (SAMPLES / "flyback-24w.toml").read_text(encoding="utf-8")
    old = parse_design(
        text + '\n[calibration]\nleakage = { factor = 1.04, uncertainty = "2 %" }\n', folder=SAMPLES
    )
    assert old.model.leakage == 1.04
    assert old.model.own == ()


@pytest.mark.parametrize("wrong", ['own = "x"', "own = [{ factor = 1.0 }]", "own = [3]"])
def test_own_factors_that_are_none_are_refused(wrong: str) -> None:
    text = (SAMPLES / "flyback-24w.toml").read_text(encoding="utf-8")
    with pytest.raises(DesignError, match=r"calibration\.own"):
        parse_design(text + f"\n[calibration]\n{wrong}\n", folder=SAMPLES)
