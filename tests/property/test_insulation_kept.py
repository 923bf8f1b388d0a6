"""No arrangement, and no file written of one, keeps two circuits less apart than the design does.

What lies between two windings is counted here by itself, over all pairs of their build steps, from the steps
as they stand: tape and spacers between them on one stack, partitions between two chambers, margins at the
faces.
"""

from __future__ import annotations

import itertools
import math
from pathlib import Path

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from aswound.predict import load_design, parse_design
from aswound.predict.design import Design, ShieldStep, SpacerStep, TapeStep, WindStep
from aswound.predict.designfile.rewrite import rearranged_text
from aswound.predict.errors import AswoundError
from aswound.predict.interleave.arrangements import find_arrangements
from aswound.predict.interleave.rules import Rules
from aswound.predict.winding.facing_windings import circuit_of

pytestmark = pytest.mark.property
SAMPLES = Path(__file__).parents[2] / "samples"

Measures = dict[str, float]


def _names(step: object) -> tuple[str, ...]:
    if isinstance(step, WindStep):
        return (step.winding, *step.companions)
    return (step.name,) if isinstance(step, ShieldStep) else ()


def _margin(design: Design, step: object) -> float:
    if isinstance(step, ShieldStep):  # the tests' shields are as broad as the layers
        return float(design.build.margin)
    assert isinstance(step, WindStep)
    return float(design.build.margin if step.margin is None else step.margin)


def between(design: Design) -> dict[frozenset[str], Measures]:
    """Of every two windings (or shields) of different circuits the least of each thing between them."""
    steps = design.build.steps
    least: dict[frozenset[str], Measures] = {}
    for i, j in itertools.combinations(range(len(steps)), 2):
        for one, other in itertools.product(_names(steps[i]), _names(steps[j])):
            if circuit_of(design, one) == circuit_of(design, other):
                continue
            found = {"thickness": 0.0, "wraps": math.inf, "margins": math.inf, "shield": 0.0}
            if steps[i].chamber == steps[j].chamber:
                inside = [s for s in steps[i + 1 : j] if s.chamber == steps[i].chamber]
                tapes = [s for s in inside if isinstance(s, TapeStep)]
                found["wraps"] = sum(int(s.wraps) for s in tapes)
                found["thickness"] = sum(float(s.thickness) * int(s.wraps) for s in tapes)
                found["thickness"] += sum(float(s.thickness) for s in inside if isinstance(s, SpacerStep))
                found["shield"] = float(any(isinstance(s, ShieldStep) for s in inside))
                if not any(_names(s) for s in inside):
                    found["margins"] = _margin(design, steps[i]) + _margin(design, steps[j])
            else:
                apart = abs((steps[i].chamber or 0) - (steps[j].chamber or 0))
                found["thickness"] = apart * float(design.bobbin.partition)
            before = least.setdefault(frozenset({one, other}), dict(found))
            for key, value in found.items():
                before[key] = min(before[key], value)
    return least


def assert_kept(design: Design, after: Design) -> None:
    before, now = between(design), between(after)
    for pair, measures in now.items():
        for key, value in measures.items():
            if key == "margins" and before[pair][key] == math.inf:
                continue  # no face of these two in the design
            assert value >= min(before[pair][key], 1e9) - 1e-9 or value == math.inf, (sorted(pair), key)


WIRES = {
    "P": '{ diameter = "0.315 mm", grade = 2 }',
    "S": '{ diameter = "0.5 mm", overall = "0.7 mm", in_hand = 2 }',
    "A": '{ diameter = "0.2 mm", grade = 1 }',
    "Q": '{ diameter = "0.315 mm", grade = 2 }',
}


@st.composite
def texts(draw: st.DrawFn) -> str:
    """A design file of two to four windings in one stack or two chambers, with or without tape, spacers,
    margins, a shield, windings of one circuit."""
    names = ["P", "S", "A", "Q"][: draw(st.integers(2, 4))]
    chambers = draw(st.booleans())
    partition = draw(st.sampled_from(["0.05 mm", "0.5 mm", "1.5 mm"]))
    shield = draw(st.booleans())
    text = (
        '[core]\nshape = "ETD 34/17/11"\nmaterial = "MnZn 2300"\n[bobbin]\nwall = "1 mm"\nflange = "1 mm"\n'
    )
    if chambers:
        text += f'chambers = ["9 mm", "9 mm"]\npartition = "{partition}"\n'
    for name in names:
        text += f'[[winding]]\nname = "{name}"\nwire = {WIRES[name]}\n'
        if name == "Q" and draw(st.booleans()):
            text += 'circuit = "P"\n'
    order = list(draw(st.permutations([*names, draw(st.sampled_from(names))])))
    steps, own = [], {name: draw(st.sampled_from(["", ', margin = "2 mm"'])) for name in names}
    for place, name in enumerate(order):
        where = f", chamber = {draw(st.integers(1, 2))}" if chambers else ""
        if shield and place == 1:
            steps.append(f'{{ shield = "0.05 mm", width = "7 mm", name = "E", tied = "P.start"{where} }}')
        steps.append(f'{{ wind = "{name}", turns = {draw(st.integers(4, 16))}{own[name]}{where} }}')
        for _ in range(draw(st.integers(0, 2))):
            kind = draw(
                st.sampled_from(['tape = "0.06 mm", wraps = ', 'tape = "0.1 mm", wraps = ', "spacer"])
            )
            what = 'spacer = "0.2 mm"' if kind == "spacer" else f"{kind}{draw(st.integers(1, 3))}"
            steps.append(f"{{ {what}{where} }}")
    return f"{text}[build]\nsteps = [\n" + "".join(f"  {step},\n" for step in steps) + "]\n"


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.filter_too_much])
@given(texts())
def test_no_arrangement_and_no_file_has_less_between_two_circuits(text: str) -> None:
    try:
        design = parse_design(text)
        found = find_arrangements(design, Rules(most_sections=2, most=40)).found
    except AswoundError:
        assume(False)
        return
    for place, one in enumerate(found):
        assert_kept(design, one.design)
        assert not one.less_apart(design)
        if place % 8 == 1:
            written = rearranged_text(text, design, one.design, "changed", folder=Path(), name="x.toml")
            assert_kept(design, parse_design(written))


@pytest.mark.parametrize("name", ["flyback-24w", "bridge-300w", "gate-drive"])
def test_nor_of_the_samples(name: str) -> None:
    design = load_design(SAMPLES / f"{name}.toml")
    for one in find_arrangements(design, Rules(most_sections=2, most=200)).found:
        assert_kept(design, one.design)


SPLIT = """
[core]
shape = "ETD 34/17/11"
material = "MnZn 2300"
[bobbin]
wall = "1 mm"
flange = "1 mm"
chambers = ["9 mm", "9 mm"]
partition = "1.5 mm"
[[winding]]
name = "P"
wire = { diameter = "0.4 mm", grade = 2 }
[[winding]]
name = "S"
wire = { diameter = "0.8 mm", grade = 2 }
[build]
steps = [
  { wind = "P", turns = 36, chamber = 1 },
  { tape = "0.06 mm", wraps = 3, chamber = 1 },
  { wind = "S", turns = 8, chamber = 2 },
]
"""


def test_chambers_that_keep_two_circuits_apart_keep_them_apart() -> None:
    design = parse_design(SPLIT)
    found = find_arrangements(design)
    assert {one.order for one in found.found} == {("P", "S"), ("S", "P")}
    for one in found.found:
        taped = [s for s in one.design.build.steps if isinstance(s, TapeStep) and int(s.wraps) == 3]
        assert {step.chamber for step in taped} == {1, 2} or one.present, "the cover is not dropped"
    assert any("partition 1.50 mm" in note and "--bare P/S" in note for note in found.notes)
    bare = find_arrangements(design, Rules(bare=(("S", "P"),))).found
    less = [one.less_apart(design) for one in bare]
    assert len(bare) > len(found.found)
    assert any(less)
    for one, pairs in zip(bare, less, strict=True):
        same = {step.chamber for step in one.design.build.steps if "P" in _names(step)} & {
            step.chamber for step in one.design.build.steps if "S" in _names(step)
        }
        assert bool(pairs) == bool(same)


def test_a_shield_between_two_circuits_stays_between_them() -> None:
    steps = (
        '{ wind = "P", turns = 36 }, { tape = "0.06 mm", wraps = 2 },'
        '{ shield = "0.05 mm", width = "15 mm", name = "E", tied = "core" }, { tape = "0.06 mm", wraps = 2 },'
        '{ wind = "S", turns = 8 }'
    )
    one_chamber = SPLIT.replace('chambers = ["9 mm", "9 mm"]\npartition = "1.5 mm"\n', "")
    design = parse_design(one_chamber[: one_chamber.index("steps = [")] + f"steps = [{steps}]\n")
    orders = {one.order for one in find_arrangements(design).found}
    assert orders == {("P", "E", "S"), ("S", "E", "P")}
    assert ("P", "S", "E", "P") not in orders
