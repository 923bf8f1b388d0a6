"""A part that is consistent with the design and fails a limit: both are said."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from bench_tests import OPEN, RATIO, resistances

from aswound.cli.main import main
from aswound.cli.views.diagnosis import diagnosis_view, verdict
from aswound.cli.views.diagnosis_data import diagnosis_json
from aswound.cli.views.page import render
from aswound.cli.views.together import together_json, together_view
from aswound.compare import compare, explain, parse_readings
from aswound.compare.diagnosis.conclusion import Diagnosis
from aswound.compare.lots import explain_together
from aswound.predict import Design, load_design, parse_design
from aswound.predict.design import BenchTest

TEXT = """
title = "Bus supply 12 W"
[core]
shape = "EFD 20/10/7"
material = "MnZn 2300"
al = "160 nH"
al_tolerance = "5 %"
[bobbin]
wall = "0.8 mm"
flange = "0.8 mm"
[[winding]]
name = "P"
wire = { diameter = "0.20 mm", grade = 2 }
[[winding]]
name = "S"
wire = { diameter = "0.45 mm", grade = 2, in_hand = 2 }
[build]
steps = [
  { wind = "P", turns = 30 },
  { tape = "0.05 mm", wraps = 2 },
  { wind = "S", turns = 8 },
  { tape = "0.05 mm", wraps = 2 },
  { wind = "P", turns = 30 },
]
"""
TEXT += OPEN.format(frequency="10 kHz") + 'nominal = "576 uH"\ntolerance = "2 %"\n' + RATIO + resistances("P")
DESIGN = parse_design(TEXT)
TIGHT = "L_P (≤ 587.5 µH) fails its limit: the limit is tighter than production"

PLAIN = TIGHT.replace("≤", "<=").replace("µ", "u")


def limited(test_name: str, minimum: float | None, maximum: float | None) -> Design:
    """The design with other limits of one test."""

    def edit(test: BenchTest) -> BenchTest:
        return replace(test, minimum=minimum, maximum=maximum) if test.name == test_name else test

    return replace(DESIGN, tests=tuple(edit(test) for test in DESIGN.tests))


def read(design: Design, *rows: str) -> Diagnosis:
    (diagnosis,) = explain(design, parse_readings("\n".join(("sample,test,reading", *rows)), design))
    return diagnosis


def one(inductance: str) -> tuple[str, ...]:
    return (f"A,L_P,{inductance}", "A,n,7.50", "A,R_P,1.12 ohm")


def test_the_heading_says_both() -> None:
    diagnosis = read(DESIGN, *one("598 uH"))
    assert not diagnosis.deviates
    assert verdict(diagnosis) == f"A: consistent with the design; no reading deviates; {TIGHT}"
    page = " ".join(render(diagnosis_view(DESIGN, [diagnosis], 5), 80, plain=True).split())
    assert PLAIN in page
    assert "Sound parts fail the limit of L_P too. Widen it, or" in page
    (compared,) = compare(DESIGN, parse_readings("sample,test,reading\nA,L_P,598 uH\n", DESIGN))
    assert compared.deviates
    assert [test.verdict for test in compared.tests] == ["fail"]


def test_the_json_has_the_limit_that_fails() -> None:
    (sample,) = diagnosis_json([read(DESIGN, *one("598 uH"))])["samples"]
    assert sample["failed_limits"] == [
        {
            "name": "L_P",
            "unit": "H",
            "read": pytest.approx(598e-6),
            "limits": {"min": None, "max": pytest.approx(576e-6 * 1.02)},
            "tighter_than_production": True,
            "parts": 1,
        }
    ]


@pytest.mark.parametrize("inductance", ["580 uH", "588 uH"])
def test_a_limit_that_holds_or_is_undecided_is_not_named(inductance: str) -> None:
    diagnosis = read(DESIGN, *one(inductance))
    assert diagnosis.failed_limits == ()
    assert verdict(diagnosis) == "A: consistent with the design; no reading deviates"


def test_a_lower_limit() -> None:
    (failed,) = read(DESIGN, *one("556 uH")).failed_limits
    assert (failed.minimum, failed.maximum) == (pytest.approx(576e-6 * 0.98), None)
    assert failed.tighter


def test_what_is_tighter_than_production_is_what_compare_predicts() -> None:
    """Just inside the 95 % range of ``compare`` and just beyond it."""
    (compared,) = compare(DESIGN, parse_readings("sample,test,reading\nA,L_P,580 uH\n", DESIGN))
    high = compared.tests[0].predicted_high
    assert high is not None
    for factor, tighter in ((0.9999, True), (1.0001, False)):
        diagnosis = read(limited("L_P", None, high * factor), *one(f"{high * 1.008e6:.6g} uH"))
        (failed,) = diagnosis.failed_limits
        assert failed.tighter == tighter
        assert not diagnosis.deviates
        assert verdict(diagnosis).endswith(
            "fails its limit: the limit is tighter than production" if tighter else "fails its limit"
        )


def test_two_limits_that_fail() -> None:
    design = replace(limited("R_P", None, 1.05), title="two")
    assert verdict(read(design, *one("598 uH"))).endswith(
        "; L_P (≤ 587.5 µH) and R_P (≤ 1.050 Ω) fail their limits: the limits are tighter than production"
    )


def test_a_part_that_is_decided_against_is_headed_by_its_cause_alone() -> None:
    diagnosis = read(DESIGN, "A,L_P,480 uH", "A,n,7.50", "A,R_P,1.12 ohm")
    assert diagnosis.deviates
    assert [failed.name for failed in diagnosis.failed_limits] == ["L_P"]
    assert "limit" not in verdict(diagnosis)


def test_parts_together() -> None:
    rows = [
        f"{name},L_P,{value} uH\n{name},R_P,1.12 ohm"
        for name, value in zip("ABC", (598, 580, 597), strict=True)
    ]
    readings = parse_readings("\n".join(("sample,test,reading", *rows)), DESIGN)
    together = explain_together(DESIGN, readings)
    (failed,) = together.diagnosis.failed_limits
    assert (failed.parts, failed.looked_at, failed.read) == (2, 3, pytest.approx(598e-6))
    page = " ".join(render(together_view(DESIGN, together, 5), 80, plain=True).split())
    assert PLAIN.replace(")", ", 2 of 3 parts)") in page
    assert [item.parts for item in together_json(together).failed_limits] == [2]


def test_before_the_core_is_in_no_inductance_fails() -> None:
    rows = "sample,test,reading,stage\nA,L_P,20 uH,before core\nA,R_P,1.12 ohm,before core\n"
    diagnoses = explain(DESIGN, parse_readings(rows, DESIGN))
    assert [diagnosis.failed_limits for diagnosis in diagnoses] == [()]


def test_the_status_is_about_the_design_and_not_the_limit(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Contract, section 4: ``explain`` ends with 1 where the part is less likely as designed than not."""
    path = tmp_path / "tight.toml"
    path.write_text(TEXT, encoding="utf-8")
    read_it = [str(path), "--read", "L_P=598 uH", "--read", "n=7.50", "--read", "R_P=1.12 ohm"]
    assert load_design(path).tests[0].maximum == pytest.approx(576e-6 * 1.02)
    assert main(["explain", *read_it, "--brief"]) == 0
    assert TIGHT in capsys.readouterr().out
    assert main(["compare", *read_it, "--brief"]) == 1
