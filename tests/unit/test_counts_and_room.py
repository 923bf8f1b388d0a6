"""Counts that are far off, builds that the window has no room for, sets that have no neighbours."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from aswound.compare import explain, parse_readings
from aswound.compare.causes import CATALOGUE
from aswound.compare.causes.cause import COMMON, OCCASIONAL, RARE
from aswound.compare.diagnosis.probabilities import shares
from aswound.compare.hypotheses import forward
from aswound.compare.hypotheses.hypothesis import NEXT_COUNT
from aswound.compare.hypotheses.room import OVERFULL, room_for, with_room
from aswound.predict import parse_design, readings
from aswound.predict.winding import lay_out

MAINS = """
[core]
shape = "EI 48"
material = "silicon steel NO 0.50"
stacking_factor = 0.95
[bobbin]
wall = "1.0 mm"
flange = "1.0 mm"
[[winding]]
name = "PRI"
wire = { diameter = "0.2 mm", grade = 1 }
[[winding]]
name = "SEC"
wire = { diameter = "0.5 mm", grade = 1 }
[build]
steps = [
  { wind = "PRI", turns = 920 },
  { tape = "0.1 mm", wraps = 3 },
  { wind = "SEC", turns = 80 },
]
[[test]]
name = "L"
measure = "inductance"
drive = "PRI"
frequency = "100 Hz"
[[test]]
name = "n"
measure = "ratio"
drive = "PRI"
sense = "SEC"
frequency = "100 Hz"
[[test]]
name = "R1"
measure = "resistance"
drive = "PRI"
[[test]]
name = "R2"
measure = "resistance"
drive = "SEC"
"""
UNITS = {"inductance": "H", "resistance": "ohm", "ratio": ""}


def _read(text: str) -> str:
    design = parse_design(text)
    values = readings(design).tolist()
    rows = [
        f"A,{test.name},{value:.5g} {UNITS[test.measure]}"
        for test, value in zip(design.tests, values, strict=True)
    ]
    return "\n".join(["sample,test,reading", *rows])


@pytest.mark.parametrize("turns", [840, 880, 1000])
def test_a_count_that_is_far_off_is_named(turns: int) -> None:
    """A layer forgotten, a counter read wrong: the winding and, within 3 %, the number of turns."""
    rows = _read(MAINS.replace("turns = 920", f"turns = {turns}"))
    (found,) = explain(parse_design(MAINS), parse_readings(rows, parse_design(MAINS)))
    first = found.causes[0]
    assert (first.cause, first.where) == ("turns", "PRI")
    assert first.probability > 0.8
    assert first.amount == pytest.approx(turns - 920, rel=0.03)
    few = "few" if turns < 920 else "many"
    assert first.title == f"PRI has about {abs(first.amount):.0f} turns too {few}"


def test_counts_between_are_those_of_a_forward_run() -> None:
    """Nine per cent fewer turns of either winding against a build with that count: the ratio to 0.1 %, all
    readings to 1 %. No wide step between counts; priors sum to one."""
    design = parse_design(MAINS)
    _, hypotheses = forward(design, tuple(cause for cause in CATALOGUE if cause.name == "turns"))
    plain = np.log(readings(design))
    for place, drawn in (("PRI", 920), ("SEC", 80)):
        (item,) = (one for one in hypotheses if one.location == place)
        assert item.weights.sum() == pytest.approx(1.0)
        assert np.all(np.diff(item.amounts) >= 0)
        low, high = item.amounts[0], item.amounts[-1]
        assert (low, high) == (-(drawn // 3), drawn // 4)
        sizes = np.unique(np.abs(item.amounts[item.amounts < 0]))
        assert np.all(np.diff(sizes) <= 1 + (NEXT_COUNT - 1) * sizes[:-1])
        node = int(np.argmin(np.abs(item.amounts + 0.09 * drawn)))
        amount = item.amounts[node]
        built = parse_design(MAINS.replace(f"turns = {drawn}", f"turns = {drawn + amount:.0f}"))
        shift = np.log(readings(built)) - plain
        assert item.shift[node, 1] == pytest.approx(shift[1], abs=1e-3)
        assert item.shift[node] == pytest.approx(shift, abs=0.01)


def test_a_prior_of_a_far_count_is_less_than_that_of_one_turn() -> None:
    """One turn is ten times as likely as any one count that is far off."""
    _, hypotheses = forward(parse_design(MAINS), tuple(cause for cause in CATALOGUE if cause.name == "turns"))
    for item in hypotheses:
        one = item.weights[np.abs(item.amounts) == 1].sum() / 2
        assert np.all(item.weights[np.abs(item.amounts) > 2] < one / 10)


def test_what_does_not_fit_its_window_is_hardly_believed() -> None:
    """Three more wraps of thick tape in a window that is nearly full; nothing changes where there is room."""
    text = MAINS.replace("turns = 80", "turns = 130").replace("turns = 920", "turns = 1000")
    full = parse_design(text.replace('"0.1 mm", wraps = 3', '"0.45 mm", wraps = 3'))
    assert 0.8 < float(lay_out(full).fill[0]) < 1.0
    tape = tuple(cause for cause in CATALOGUE if cause.name == "insulation")
    groups = [tape[0].variants(full, "step 2")]
    (room,) = room_for(full, [tuple(groups[0])])
    fills = [float(lay_out(one.design).fill[0]) for one in groups[0]]
    assert room.factor.tolist() == [OVERFULL if fill > 1.02 else 1.0 for fill in fills]
    assert OVERFULL in room.factor
    assert 1.0 in room.factor
    nowhere = replace(full.build.steps[2], chamber=3)
    unlaid = replace(full, build=replace(full.build, steps=(*full.build.steps[:2], nowhere)))
    beside = (*groups[0], replace(groups[0][0], design=unlaid))
    (with_unlaid,) = room_for(full, [beside])
    assert with_unlaid.factor.tolist() == [*room.factor.tolist(), 1.0]
    kept = with_room(tuple(groups[0]), room)
    assert [one.weight for one in kept] == [
        one.weight * factor for one, factor in zip(groups[0], room.factor, strict=True)
    ]
    assert room.possible == pytest.approx(
        sum(one.weight for one in kept) / sum(one.weight for one in groups[0])
    )
    _, (item,) = forward(full, tape)
    assert item.possible == pytest.approx(room.possible)
    alone = shares([item, replace(item, possible=1.0)], lambda _: 1.0, 1.0)
    assert alone[0] / alone[1] == pytest.approx(room.possible)
    roomy = parse_design(MAINS)
    (room,) = room_for(roomy, [tuple(tape[0].variants(roomy, "step 2"))])
    assert room.possible == 1.0


@pytest.mark.parametrize(
    ("core", "weight"),
    [
        ('gap = "0.3 mm"\nal = "400 nH"', 1.5 * COMMON),
        ('gap = "0.3 mm"\nal = "370 nH"', 1.5 * COMMON),
        ('gap = "0.3 mm"\nal = "450 nH"', 1.5 * COMMON),
        ('gap = "0.3 mm"', RARE),
        ('gap = "0.3 mm"\nal = "400 nH"\ngap_legs = "spacer"', RARE),
        ("", OCCASIONAL),
    ],
)
def test_a_set_that_is_no_step_has_no_neighbours(core: str, weight: float) -> None:
    """A gap ground to a length, or made by spacers: another set of the series is rare. A gapped set in place
    of one without a gap is occasional (catalogue of faults, row 5)."""
    design = parse_design(
        f'[core]\nshape = "ETD 34/17/11"\nmaterial = "MnZn 2300"\n{core}\n[bobbin]\nwall = "1 mm"\n'
        '[[winding]]\nname = "P"\nwire = { diameter = "0.4 mm", grade = 1 }\n'
        '[build]\nsteps = [{ wind = "P", turns = 20 }]\n'
    )
    (cause,) = [one for one in CATALOGUE if one.name == "wrong-al" and one.places(design)]
    assert cause.weight == weight
