"""Builds with other layers than designed: one range in all commands, both kinds against full runs."""

from __future__ import annotations

import json
from dataclasses import replace
from functools import cache
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from aswound.cli.main import main
from aswound.compare import compare, explain, parse_readings
from aswound.compare.readings import ReadTest
from aswound.compare.verdict import RESIDUAL
from aswound.compare.verdict.layers_apart import reads_apart
from aswound.predict import Design, netlist, parse_design, readings, spread
from aswound.predict.design import BenchTest, Member
from aswound.predict.production import ProductionSpread, parameters, random_builds, reading_errors, told_once
from aswound.predict.winding import layer_turns

pytestmark = pytest.mark.exact

BIMODAL = """
title = "Two kinds"
[core]
shape = "ETD 34/17/11"
material = "MnZn 2300"
gap = "0.25 mm"
[bobbin]
wall = "1.1 mm"
flange = "1.0 mm"
[[winding]]
name = "P"
wire = { diameter = "0.40 mm", grade = 2 }
[[winding]]
name = "S"
wire = { diameter = "1.105 mm", grade = 2, in_hand = 3 }
[build]
steps = [
  { wind = "P", turns = 18 },
  { tape = "0.06 mm", wraps = 3 },
  { wind = "S", turns = 6 },
  { tape = "0.06 mm", wraps = 2 },
]
[[test]]
name = "Lk_P"
measure = "inductance"
drive = "P"
short = ["S"]
frequency = "100 kHz"
level = "1 uV"
[[test]]
name = "R_S"
measure = "resistance"
drive = "S"
[bench]
source_resistance = "0 ohm"
short_inductance = "0 nH"
short_resistance = "0 mohm"
[spread]
model_leakage = "10 %"
"""
"""Six turns of three in hand that all but fill their layer; the bench adds nothing of its own. The model's
error is stated, so that ``compare`` doubts it as much as ``predict``."""


@cache
def design() -> Design:
    return parse_design(BIMODAL)


@cache
def production() -> ProductionSpread:
    return spread(design())


def printed(capsys: pytest.CaptureFixture[str], command: str, tmp_path: Path, *options: str) -> Any:
    file = tmp_path / "two-kinds.toml"
    file.write_text(BIMODAL, encoding="utf-8")
    assert main([command, str(file), *options, "--json"]) in (0, 1)
    return json.loads(capsys.readouterr().out)


def test_a_spilled_build_is_another_part_and_no_end_of_the_range() -> None:
    found = production()
    (apart,) = found.apart
    assert (apart.tipping.winding, apart.tipping.designed, apart.tipping.layers) == ("S", 1, 2)
    assert 0.01 < apart.tipping.share < 0.05
    assert found.high[0] < 1.2 * found.nominal[0]
    assert apart.low[0] > 1.4 * found.nominal[0]


def test_all_commands_say_one_range(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """predict and plan to the last bit, interleave and the netlist's factors to rounding (the netlist's
    leakage is read at the middle of its range, here 100 kHz as well); compare to three in ten thousand of
    the range, as it doubts capacitance and alternating-current resistance more than predict (``LEAST``),
    and with what neither explains added."""
    found = production()
    low, high = float(found.low[0]), float(found.high[0])
    (apart,) = found.apart
    second = [float(apart.low[0]), float(apart.high[0])]

    for command in ("predict", "plan"):
        test = printed(capsys, command, tmp_path)["tests"][0]
        assert [test["low"], test["high"]] == [low, high]
        (other,) = test["builds_apart"]
        assert [other["low"], other["high"]] == second
        assert (other["winding"], other["step"], other["layers"], other["outside"]) == ("S", 3, 2, True)
        assert other["share"] == apart.tipping.share

    arrangements = printed(capsys, "interleave", tmp_path, "--rows", "1")["arrangements"]
    (present,) = (one for one in arrangements if one["present"])
    assert present["spread"]["leakage_H"] == pytest.approx([low, high], rel=1e-12)
    (other,) = present["spread"]["builds_apart"]
    assert [other["low"], other["high"]] == pytest.approx(second, rel=1e-12)

    plain, *ends = netlist.builds.ends_of_production(design(), 10e3, 1e6)
    factors = [dict(end.factors)["leakage"] for end in ends]
    assert factors == pytest.approx([low / found.nominal[0], high / found.nominal[0]], rel=1e-12)
    assert plain.apart[0].startswith(apart.tipping.words)

    (sample,) = compare(design(), parse_readings("sample,test,reading\nA1,Lk_P,540 nH\n", design()))
    (test,) = sample.tests
    rest = RESIDUAL["inductance"] * test.predicted
    sides = [test.predicted - (test.predicted_low or 0.0), (test.predicted_high or 0.0) - test.predicted]
    own = [np.sqrt(side**2 - (1.959964 * rest) ** 2) for side in sides]
    assert own == pytest.approx([test.predicted - low, high - test.predicted], rel=3e-4)


@pytest.mark.slow
def test_both_kinds_hold_95_per_cent_of_builds_that_are_run_in_full() -> None:
    """3000 builds of other random numbers, each a forward run of its own; of the second kind as many as there
    are (some 70, whose share in a range is known to 2.6 %)."""
    plain, number = design(), 3000
    chosen = tuple(one for one in parameters(plain) if one.origin in ("build", "model"))
    random = np.random.default_rng(99)
    builds = random_builds(plain, chosen, random.standard_normal((number, len(chosen))))
    errors = np.array([error.effect for error in reading_errors(plain)])
    values = readings(builds) * np.exp(random.standard_normal((number, len(errors))) @ errors)
    layers = layer_turns(builds)[:, 2, 0]
    found = production()
    (apart,) = found.apart
    assert np.mean(layers == 2) == pytest.approx(apart.tipping.share, abs=0.012)
    inside = (values >= found.low) & (values <= found.high)
    assert np.all(np.abs(np.mean(inside[layers == 1], axis=0) - 0.95) < 0.016)
    inside = (values >= apart.low) & (values <= apart.high)
    assert np.all(np.mean(inside[layers == 2], axis=0) > 0.87)
    assert not np.any(inside[layers == 1, 0])


def test_a_spilled_part_is_named_and_not_accused() -> None:
    """The reading of a build of two layers: ``compare`` says which builds read so, ``explain`` names it as a
    cause of its own; neither does for a part that deviates otherwise."""
    (apart,) = production().apart
    rows = parse_readings(f"sample,test,reading\nA1,Lk_P,{apart.middle[0] * 1e9:.1f} nH\n", design())
    (sample,) = compare(design(), rows)
    assert sample.deviates
    assert any(text.startswith(apart.tipping.words) for text in sample.cautions)
    (diagnosis,) = explain(design(), rows)
    first = diagnosis.causes[0]
    assert (first.cause, first.where, first.amount) == ("layer", "S", 1.0)
    assert first.probability > 0.5

    other = parse_readings("sample,test,reading\nA1,Lk_P,300 nH\n", design())
    (sample,) = compare(design(), other)
    assert not any("needs 2 layers" in text for text in sample.cautions)


def test_a_part_that_agrees_is_not_taken_for_another_kind() -> None:
    """Readings at the middle of the builds as designed: nothing stands out, so a layer more is at most as
    likely as its share of production is, whatever else could be wrong."""
    (apart,) = production().apart
    value = float(np.asarray(readings(design()))[0])
    rows = parse_readings(f"sample,test,reading\nA1,Lk_P,{value * 1e9:.2f} nH\n", design())
    (diagnosis,) = explain(design(), rows)
    layer = sum(one.probability for one in diagnosis.causes if one.cause == "layer")
    share = apart.tipping.share
    assert layer <= share / (1 - share) * diagnosis.as_designed


SECOND_KIND_COMMON = """
[core]
shape = "ETD 39/20/13"
material = "MnZn 2300"
gap = "0.9 mm"
[bobbin]
wall = "1.2 mm"
flange = "1.2 mm"
chambers = ["12 mm", "10 mm"]
partition = "2 mm"
[[winding]]
name = "P"
wire = { litz_strands = 120, strand = "0.071 mm", overall = "1.05 mm" }
[[winding]]
name = "S"
wire = { litz_strands = 400, strand = "0.1 mm", overall = "2.6 mm" }
[build]
steps = [{ wind = "P", turns = 32, chamber = 1 }, { wind = "S", turns = 4, chamber = 2 }]
[[test]]
name = "L_P"
measure = "inductance"
drive = "P"
frequency = "100 kHz"
[[test]]
name = "Lk_P"
measure = "inductance"
drive = "P"
short = "S"
frequency = "100 kHz"
[[test]]
name = "n"
measure = "ratio"
drive = "P"
sense = "S"
frequency = "100 kHz"
"""


@pytest.mark.slow
def test_a_common_second_kind_does_not_lead_over_the_design() -> None:
    """A quarter of the builds of two chambers in litz take a layer more, and read nearly alike: a part whose
    readings all agree is as designed first."""
    litz = parse_design(SECOND_KIND_COMMON)
    rows = parse_readings("sample,test,reading\nA1,L_P,252 uH\nA1,Lk_P,75.1 uH\nA1,n,9.60\n", litz)
    (diagnosis,) = explain(litz, rows)
    assert diagnosis.as_designed > 2 * diagnosis.causes[0].probability


def test_a_wide_layer_does_not_widen_what_explain_takes_for_honest() -> None:
    """The scatter of builds as designed: what it was where the layer has room (a thinner wire) within a
    fifth, though one standard deviation of the wire tips the layer."""
    from aswound.compare.hypotheses import forward

    def scatter(text: str) -> float:
        background, _ = forward(replace(parse_design(text)), ())
        return float(np.sqrt(background.covariance[0, 0]))

    edge = BIMODAL.replace("1.105 mm", "1.12 mm")
    assert scatter(edge) == pytest.approx(scatter(BIMODAL.replace("1.105 mm", "1.05 mm")), rel=0.2)


def test_two_steps_on_the_edge_are_one_caution() -> None:
    """Both are named in it, and what helps stands in it once."""
    text = """
[core]
shape = "ETD 39/20/13"
material = "MnZn 2300"
gap = "0.8 mm"
[bobbin]
wall = "1.2 mm"
flange = "1.2 mm"
chambers = ["11 mm", "11 mm"]
partition = "1.5 mm"
[[winding]]
name = "P"
wire = { litz_strands = 60, strand = "0.1 mm", overall = "1.08 mm" }
[[winding]]
name = "S"
wire = { litz_strands = 200, strand = "0.1 mm", overall = "1.82 mm" }
[build]
steps = [ { wind = "P", turns = 40, chamber = 1 }, { wind = "S", turns = 6, chamber = 2 } ]
[[test]]
name = "Lk_P"
measure = "inductance"
drive = "P"
short = ["S"]
frequency = "100 kHz"
"""
    found = spread(parse_design(text), 300, shares=False)
    assert len(found.tipped) == 2
    (caution,) = found.apart_sentences
    assert "step 1 (P)" in caution
    assert "step 2 (S)" in caution
    assert caution.count("Give the layer more room") == 1


def test_steps_that_tip_in_the_same_builds_are_told_once() -> None:
    """14 turns of 2 × 0.777 mm and 2 % of slack take 22.2 mm, the margins leave 21.6: a layer and a turn,
    in both sections at once, which share reel and bobbin. The data keep both steps."""
    text = """
[core]
shape = "E 42/21/20"
material = "MnZn 3000"
[bobbin]
wall = "1.2 mm"
flange = "1.3 mm"
[[winding]]
name = "P"
wire = { diameter = "0.71 mm", grade = 2, in_hand = 2 }
[[winding]]
name = "S"
wire = { foil = "0.3 mm", width = "20 mm" }
[build]
margin = "3 mm"
steps = [
  { wind = "P", turns = 14 },
  { tape = "0.06 mm", wraps = 3 },
  { wind = "S", turns = 4, interlayer = "0.05 mm" },
  { tape = "0.06 mm", wraps = 3 },
  { wind = "P", turns = 14 },
]
[[test]]
name = "Lk"
measure = "inductance"
drive = "P"
short = ["S"]
frequency = "100 kHz"
"""
    found = spread(parse_design(text), 1000, shares=False)
    assert [item.tipping.step for item in found.apart] == [0, 4]
    (caution,) = found.apart_sentences
    assert caution.count("builds step") == 1
    assert "steps 1 and 5 (P) take only 1 layer each instead of 2: then Lk" in caution
    first, second = found.apart
    assert len(told_once([first, replace(second, low=second.low * 0.99)])) == 2
    assert len(told_once([first, replace(second, tipping=replace(second.tipping, layers=3))])) == 2


@pytest.mark.parametrize(
    ("read", "doubt", "kind"),
    [
        (0.90, 0.0, "fewer"),  # 0.2 φ(0.6) against 0.1 φ(1.55)
        (0.8935, 0.0, "fewer"),  # 0.2 φ(1.25), 0.1 φ(0.9): nearer to the other, but that is rarer
        (0.89, 0.0, "fewest"),  # 0.2 φ(1.6), 0.1 φ(0.55)
        (0.89, 0.03, "fewer"),  # where the meter leaves more open, the shares decide
        (0.96, 0.0, ""),  # 5.4 from "fewer": too far
        (0.945, 0.02, "fewer"),  # 0.2 φ(1.74) against 0.7 φ(2.46) as designed
        (0.95, 0.02, ""),  # 0.2 φ(1.97), 0.7 φ(2.24)
        (0.989, 0.0, ""),  # deviates from nothing
    ],
)
def test_which_kind_of_build_a_sample_reads_like(read: float, doubt: float, kind: str) -> None:
    """The kind with the largest product of share and density, if the sample is within three standard
    deviations of it: by hand, from densities of the normal distribution."""
    test = BenchTest(name="L", measure="inductance", drive=(Member("P"),))

    def build(words: str, share: float, middle: float) -> SimpleNamespace:
        low, high = (np.array([middle + end * 1.959964 * 0.01]) for end in (-1, 1))
        tipping = SimpleNamespace(words=words, share=share)
        return SimpleNamespace(middle=np.array([middle]), low=low, high=high, tipping=tipping)

    kinds = {"fewer": (0.2, 0.906), "fewest": (0.1, 0.8845)}
    evaluation = SimpleNamespace(
        design=SimpleNamespace(tests=(test,)), prediction=SimpleNamespace(values=np.array([1.0]))
    )
    scatter = SimpleNamespace(
        deviation=np.array([0.01]), share=0.7, apart=tuple(build(word, *kinds[word]) for word in kinds)
    )
    item = ReadTest(test_index=0, value=read, uncertainty=doubt, repeats=1)
    told = reads_apart(evaluation, scatter, [item])  # type: ignore[arg-type]
    assert [sentence.partition(",")[0] for sentence in told] == ([kind] if kind else [])
