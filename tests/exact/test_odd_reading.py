"""The reading that the others contradict, where each by itself agrees with the design."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from aswound.cli.views.diagnosis import odd_reading_view
from aswound.cli.views.diagnosis_data import diagnosis_json
from aswound.cli.views.page import Paragraph
from aswound.compare import explain
from aswound.compare.diagnosis import Case, Diagnosis, Frame, Scene
from aswound.compare.diagnosis.rivals import odd_reading
from aswound.compare.hypotheses import Background
from aswound.compare.readings import Reading
from aswound.compare.verdict import DEVIATES
from aswound.predict import Design, load_design, parse_design
from aswound.predict.circuit import readings

pytestmark = pytest.mark.exact
SAMPLE = Path(__file__).parents[2] / "samples" / "gate-drive.toml"


def sound_but(factors: dict[str, float]) -> Diagnosis:
    """The diagnosis of a part as designed, with the second inductance read beside the first, but for factors
    on some readings; what it reads is in the name."""
    design = with_second_inductance(load_design(SAMPLE))
    read = [
        Reading(sample="one", test=test.name, value=float(value) * factors.get(test.name, 1.0))
        for test, value in zip(design.tests, readings(design), strict=True)
    ]
    (diagnosis,) = explain(design, read)
    return diagnosis


def with_second_inductance(design: Design) -> Design:
    first = design.tests[0]
    second = replace(first, name="L_G1", drive=(replace(first.drive[0], name="G1"),), minimum=None)
    return replace(design, tests=(*design.tests[:4], second))


def test_two_windings_of_equal_turns_that_disagree() -> None:
    """Both inductances follow one core, whose permeance strays by a tenth: 4 % more on one of them is within
    production for each by itself, and far outside of it for the difference. No cause that acts on the core
    explains it, as it would move both."""
    diagnosis = sound_but({"L_G1": 1.04})
    assert max(abs(reading.score or 0.0) for reading in diagnosis.readings) < 1.0
    odd = diagnosis.odd_reading
    assert odd is not None
    assert odd.name == "L_G1"
    by_others = readings(with_second_inductance(load_design(SAMPLE)))[4]
    assert odd.expected == pytest.approx(by_others, rel=2e-3)
    assert odd.read == pytest.approx(1.04 * by_others, rel=1e-12)
    assert 0.001 < odd.uncertainty < 0.01
    assert odd.score == pytest.approx(math.log(odd.read / odd.expected) / odd.uncertainty, rel=1e-9)
    assert diagnosis_json([diagnosis])["samples"][0]["odd_reading"] == {
        "name": "L_G1",
        "expected": odd.expected,
        "uncertainty": odd.uncertainty,
        "read": odd.read,
        "score": odd.score,
    }
    (sentence,) = (part.text for part in odd_reading_view(diagnosis) if isinstance(part, Paragraph))
    assert sentence == (
        "Each reading by itself agrees with the design, together they do not: by the others, L_G1 should be "
        f"{1e3 * odd.expected:.3f} mH ± {200 * odd.uncertainty:.2g} %; it reads {1e3 * odd.read:.3f} mH "
        f"(score +{odd.score:.1f})."
    )
    core = sum(cause.probability for cause in diagnosis.causes if cause.kind in ("core", "material"))
    assert core < 0.2
    assert diagnosis.deviates


CHOKE = """
[core]
shape = "R 25/15/10"
mu_i = 75
[[winding]]
name = "A"
wire = { diameter = "0.8 mm", grade = 2 }
[[winding]]
name = "B"
wire = { diameter = "1.0 mm", grade = 2 }
[build]
steps = [
  { wind = "A", turns = 28, sector = "150 deg" },
  { wind = "B", turns = 20, sector = "150 deg", from_angle = "180 deg" },
]
[[test]]
name = "L_A"
measure = "inductance"
drive = "A"
frequency = "100 kHz"
[[test]]
name = "L_B"
measure = "inductance"
drive = "B"
frequency = "100 kHz"
[[test]]
name = "R_A"
measure = "resistance"
drive = "A"
"""


def test_two_windings_whose_arcs_are_set_by_hand_may_disagree() -> None:
    """On powder, much of the flux closes through the air: an arc that is 12° narrower raises it by
    1.4 %. A choke whose windings disagree by 3 % is sound, and was accused of turns spread too far (93 %);
    one whose windings disagree by 15 % is not."""
    design = parse_design(CHOKE)
    first, second, third = (float(value) for value in readings(design))
    for factor, accused in ((1.03, False), (1.15, True)):
        values = (first, factor * second, third)
        read = [
            Reading(sample="one", test=test.name, value=value)
            for test, value in zip(design.tests, values, strict=True)
        ]
        (diagnosis,) = explain(design, read)
        assert diagnosis.deviates == accused
        assert (diagnosis.odd_reading is not None) == accused


def test_readings_that_go_together_or_deviate_by_themselves_name_no_odd_one() -> None:
    assert sound_but({}).odd_reading is None
    assert sound_but({"L_D": 1.04, "L_G1": 1.04}).odd_reading is None
    assert sound_but({"L_G1": 2.5}).odd_reading is None  # its own score says so


def test_two_readings_by_the_closed_form() -> None:
    """Given the second of two normal variables, the first has the mean ρ s₁/s₂ r₂ and the standard deviation
    s₁ √(1 − ρ²) (textbooks)."""
    design = load_design(SAMPLE)
    tests = design.tests[:2]
    sizes, rho, residual = np.array([0.10, 0.12]), 0.95, np.array([0.05, 0.01])
    frame = Frame(
        tests=tests,
        nominal=np.log([1e-3, 2e-3]),
        base=np.outer(sizes, sizes) * np.array([[1.0, rho], [rho, 1.0]]),
        anchor=np.zeros(2),
        zeta=np.full(2, 0.15),
        kin=np.ones((2, 2)),
        phase=np.zeros(2, bool),
        same=np.eye(2),
    )
    zero = np.zeros(2)
    y = frame.nominal + residual
    case = Case(frame=frame, test_indices=(0, 1), y=y, residual=residual, signs=zero, meter=zero)
    background = Background(
        nominal=frame.nominal,
        signs=np.ones(2),
        sensitivity=np.zeros((0, 2)),
        anchor=zero,
        leakage=np.zeros(2, bool),
        names=(),
    )
    scene = Scene(design=design, background=background, hypotheses=(), case=case, read=())
    odd = odd_reading(scene)
    wanted = (residual[0] - rho * sizes[0] / sizes[1] * residual[1]) / (sizes[0] * math.sqrt(1 - rho**2))
    against = (residual[1] - rho * sizes[1] / sizes[0] * residual[0]) / (sizes[1] * math.sqrt(1 - rho**2))
    assert abs(wanted) < 3
    assert abs(against) < 3
    assert odd is None
    further = odd_reading(
        replace(scene, case=replace(case, residual=3 * residual, y=frame.nominal + 3 * residual))
    )
    assert further is not None
    assert further.name == tests[0].name
    assert further.score == pytest.approx(3 * wanted, rel=1e-9)
    assert further.uncertainty == pytest.approx(sizes[0] * math.sqrt(1 - rho**2), rel=1e-9)
    assert further.expected == pytest.approx(1e-3 * math.exp(rho * sizes[0] / sizes[1] * 0.03), rel=1e-9)
    assert further.read == pytest.approx(1e-3 * math.exp(0.15), rel=1e-9)
    untold = np.outer(sizes, sizes) * np.array([[1.0, 0.8], [0.8, 1.0]])  # the other leaves 60 %, not half
    far = np.array([0.25, -0.1])
    apart = replace(case, frame=replace(frame, base=untold), residual=far, y=frame.nominal + far)
    assert abs(far[0] - 0.8 * sizes[0] / sizes[1] * far[1]) / (sizes[0] * 0.6) > DEVIATES
    assert odd_reading(replace(scene, case=apart)) is None
