"""No arrangement, and no file written of one, keeps two circuits less apart than the design does.

What lies between two windings is counted here by itself, over all pairs of their build steps, from the steps
as they stand: tape, spacers and shields between them on one stack, partitions between two chambers, bare
layer around the ends at the faces (margins, sections that stand away from the flange, narrow shields), the
insulation of the wires themselves.
"""

from __future__ import annotations

import functools
import itertools
import math
import re
from dataclasses import replace
from pathlib import Path

import pytest
from how_many import examples
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from aswound.predict import load_design, parse_design, readings
from aswound.predict.design import (
    BenchTest,
    Design,
    Member,
    ShieldStep,
    SpacerStep,
    TapeStep,
    ToroidDimensions,
    WindStep,
)
from aswound.predict.designfile.rewrite import rearranged_text
from aswound.predict.errors import AswoundError
from aswound.predict.interleave import adjustments
from aswound.predict.interleave.arrangements import find_arrangements
from aswound.predict.interleave.many_readings import predict_tests
from aswound.predict.interleave.rules import Rules
from aswound.predict.winding.circuits_apart import separations, shortfalls
from aswound.predict.winding.facing_windings import circuit_of
from aswound.predict.winding.layout import lay_out

pytestmark = pytest.mark.property
SAMPLES = Path(__file__).parents[2] / "samples"

Measures = dict[str, float]


def _names(step: object) -> tuple[str, ...]:
    if isinstance(step, WindStep):
        return (step.winding, *step.companions)
    return (step.name,) if isinstance(step, ShieldStep) else ()


def _room(design: Design, step: object) -> float:
    """Breadth (m) of the place where a step lies."""
    chambers = design.bobbin.chambers
    if chambers:
        return float(chambers[step.chamber - 1])  # type: ignore[attr-defined]
    return float(design.core.dimensions.window_height) - 2 * float(design.bobbin.flange)  # type: ignore[union-attr]


def _bare(design: Design, step: object) -> tuple[float, float]:
    """Bare layer (m) at the lower and the upper end."""
    room = _room(design, step)
    if isinstance(step, ShieldStep):
        return (room - float(step.width)) / 2, (room - float(step.width)) / 2
    assert isinstance(step, WindStep)
    margin = float(design.build.margin if step.margin is None else step.margin)
    low = margin if step.from_end is None else float(step.from_end)
    return low, margin if step.breadth is None else room - low - float(step.breadth)


def _creepage(design: Design, one: object, other: object) -> float:
    """Around the ends of two layers that lie on each other (m)."""
    if isinstance(design.core.dimensions, ToroidDimensions):
        return math.inf
    return min(a + b for a, b in zip(_bare(design, one), _bare(design, other), strict=True))


@functools.lru_cache(maxsize=8)
def between(design: Design) -> dict[frozenset[str], Measures]:
    """Of every two windings (or shields) of different circuits the least of each thing between them."""
    steps = design.build.steps
    least: dict[frozenset[str], Measures] = {}
    for step in steps:  # wound together, turn by turn: nothing but the wires
        for one, other in itertools.combinations(_names(step), 2):
            if circuit_of(design, one) != circuit_of(design, other):
                nothing = {"thickness": 0.0, "wraps": 0.0, "margins": math.inf, "shield": 0.0}
                least[frozenset({one, other})] = nothing
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
                    found["margins"] = _creepage(design, steps[i], steps[j])
            else:
                apart = abs((steps[i].chamber or 0) - (steps[j].chamber or 0))
                found["thickness"] = apart * float(design.bobbin.partition)
            before = least.setdefault(frozenset({one, other}), dict(found))
            for key, value in found.items():
                before[key] = min(before[key], value)
    return least


def assert_wires_kept(design: Design, after: Design) -> None:
    """The same wire with the same insulation, the same circuits, flanges and wall; partitions no thinner."""
    for winding in after.windings:
        was, now = design.winding(winding.name).wire, winding.wire
        for name in ("kind", "diameter", "overall", "strand", "strands", "thickness", "width", "spacing"):
            if hasattr(was, name):
                assert getattr(now, name) == getattr(was, name), (winding.name, name)
        assert winding.circuit == design.winding(winding.name).circuit
        assert winding.sleeving == design.winding(winding.name).sleeving
    for name in ("wall", "flange"):
        assert getattr(after.bobbin, name) == getattr(design.bobbin, name)
    assert float(after.bobbin.partition) >= float(design.bobbin.partition) - 1e-12


def assert_kept(design: Design, after: Design) -> None:
    assert_wires_kept(design, after)
    before, now = between(design), between(after)
    own = {shield.name for shield in design.shields}
    for names, measures in now.items():
        # a shield that was added stands for the design's of its kind, after which it is called
        pair = frozenset(name if name in own else re.sub(r"_\d+$", "", name) for name in names)
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
    ends = ["", ', margin = "1 mm"', ', margin = "2 mm"', ', from_end = "1.5 mm", breadth = "6 mm"']
    steps, own = [], {name: draw(st.sampled_from(ends)) for name in names}
    together = draw(st.sampled_from(["", names[-1]]))
    wide = draw(st.sampled_from(["5 mm", "7 mm"]))
    for place, name in enumerate(order):
        where = f", chamber = {draw(st.integers(1, 2))}" if chambers else ""
        if shield and place == 1:
            steps.append(f'{{ shield = "0.05 mm", width = "{wide}", name = "E", tied = "P.start"{where} }}')
        if together and name == together:
            continue
        beside = f', with = ["{together}"]' if together and name == names[0] else ""
        steps.append(f'{{ wind = "{name}", turns = {draw(st.integers(4, 16))}{own[name]}{where}{beside} }}')
        for _ in range(draw(st.integers(0, 2))):
            kind = draw(
                st.sampled_from(['tape = "0.06 mm", wraps = ', 'tape = "0.1 mm", wraps = ', "spacer"])
            )
            what = 'spacer = "0.2 mm"' if kind == "spacer" else f"{kind}{draw(st.integers(1, 3))}"
            steps.append(f"{{ {what}{where} }}")
    return f"{text}[build]\nsteps = [\n" + "".join(f"  {step},\n" for step in steps) + "]\n"


@settings(max_examples=examples(40), deadline=None, suppress_health_check=[HealthCheck.filter_too_much])
@given(texts())
def test_no_arrangement_and_no_file_has_less_between_two_circuits(text: str) -> None:
    try:
        design = parse_design(text)
        found = find_arrangements(design, Rules(most_sections=2, most=20)).arrangements
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
    for one in find_arrangements(design, Rules(most_sections=2, most=200)).arrangements:
        assert_kept(design, one.design)


@pytest.mark.parametrize(
    ("beside", "apart"),
    [
        ('tape = "0.06 mm", wraps = 1', 'tape = "0.06 mm", wraps = 3'),
        ('spacer = "0.05 mm"', 'spacer = "0.15 mm"'),
        ('tape = "0.2 mm", wraps = 1', 'tape = "0.06 mm", wraps = 3'),
    ],
    ids=["both", "thickness alone", "wraps alone"],
)
def test_what_lies_between_is_counted_along_the_whole_stack(beside: str, apart: str) -> None:
    """A may lie on P and on S with little between; P and S, with A alone between them, would be too close."""
    text = (
        '[core]\nshape = "ETD 34/17/11"\nmaterial = "MnZn 2300"\n[bobbin]\nwall = "1 mm"\nflange = "1 mm"\n'
        + "".join(f'[[winding]]\nname = "{name}"\nwire = {WIRES[name]}\n' for name in "PSA")
        + f"""[build]
steps = [
  {{ wind = "A", turns = 20 }}, {{ {beside} }}, {{ wind = "P", turns = 20 }}, {{ {apart} }},
  {{ wind = "S", turns = 10 }}, {{ {beside} }}, {{ wind = "A", turns = 20 }},
]
"""
    )
    design = parse_design(text)
    found = find_arrangements(design, Rules(most_sections=2)).arrangements
    orders = {one.order for one in found}
    assert {("A", "P", "S"), ("P", "S", "A"), ("A", "P", "S", "A")} <= orders
    assert not {("P", "A", "S"), ("S", "A", "P")} & orders
    for one in found:
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
    assert {one.order for one in found.arrangements} == {("P", "S"), ("S", "P")}
    for one in found.arrangements:
        taped = [s for s in one.design.build.steps if isinstance(s, TapeStep) and int(s.wraps) == 3]
        assert {step.chamber for step in taped} == {1, 2} or one.present, "the cover is not dropped"
    assert any("partition 1.50 mm" in note and "--bare P/S" in note for note in found.notes)
    bare = find_arrangements(design, Rules(bare=(("S", "P"),))).arrangements
    less = [one.less_apart(design) for one in bare]
    assert len(bare) > len(found.arrangements)
    assert any(less)
    for one, pairs in zip(bare, less, strict=True):
        same = {step.chamber for step in one.design.build.steps if "P" in _names(step)} & {
            step.chamber for step in one.design.build.steps if "S" in _names(step)
        }
        assert bool(pairs) == bool(same)


def test_a_shield_between_two_circuits_stays_between_them() -> None:
    """Once more at every new face that they have, called after the first; never dropped."""
    steps = (
        '{ wind = "P", turns = 36 }, { tape = "0.06 mm", wraps = 2 },'
        '{ shield = "0.05 mm", width = "15 mm", name = "E", tied = "core" }, { tape = "0.06 mm", wraps = 2 },'
        '{ wind = "S", turns = 8 }'
    )
    one_chamber = SPLIT.replace('chambers = ["9 mm", "9 mm"]\npartition = "1.5 mm"\n', "")
    text = one_chamber[: one_chamber.index("steps = [")] + f"steps = [{steps}]\n"
    design = parse_design(text)
    found = {
        one.order: one.design
        for one in find_arrangements(design, Rules(most_sections=2, least_cover=0.0)).arrangements
    }
    assert {"".join(order) for order in found} == {"PES", "SEP", "PESEP", "SEPES", "PESEPES", "SEPESEP"}
    more = found["P", "E", "S", "E", "P"]
    assert [shield.name for shield in more.shields] == ["E", "E_2"]
    assert {(one.tied, one.thickness, one.width) for one in more.shields} == {("core", 0.05e-3, 15e-3)}
    wraps = [int(step.wraps) if isinstance(step, TapeStep) else 0 for step in more.build.steps]
    assert wraps == [0, 2, 0, 2, 0, 2, 0, 2, 0]
    written = rearranged_text(text, design, more, "changed", folder=Path(), name="x.toml")
    assert [shield.name for shield in parse_design(written).shields] == ["E", "E_2"]
    # the batch in which all orders are predicted has both foils, each with a name of its own, too
    test = BenchTest(
        name="C", measure="capacitance", drive=(Member("P"),), sense=(Member("S"),), frequency=1e4
    )
    search = find_arrangements(design, Rules(most_sections=2, least_cover=0.0)).arrangements
    values, _, _ = predict_tests(search, (test,))
    for one, value in zip(search, values, strict=True):
        assert value == pytest.approx(readings(replace(one.design, tests=(test,))), rel=1e-9)


def test_two_shields_on_each_other_stay_two() -> None:
    """P | E | F | S with E at the primary's side: no face has one of them alone, nor the two changed over."""
    foil = '{ shield = "0.05 mm", width = "15 mm", name = "%s", tied = "%s.start" }'
    tape = '{ tape = "0.06 mm", wraps = 2 }'
    steps = ['{ wind = "P", turns = 36 }', foil % ("E", "P"), foil % ("F", "S"), '{ wind = "S", turns = 8 }']
    one_chamber = SPLIT.replace('chambers = ["9 mm", "9 mm"]\npartition = "1.5 mm"\n', "")
    design = parse_design(
        one_chamber[: one_chamber.index("steps = [")] + f"steps = [{f', {tape}, '.join(steps)}]\n"
    )
    orders = {
        "".join(one.order)
        for one in find_arrangements(design, Rules(most_sections=2, least_cover=0.0)).arrangements
    }
    assert {"PEFS", "SFEP", "PEFSFEP"} <= orders
    assert all("PS" not in order and "SP" not in order for order in orders)
    assert not any(alone in order for order in orders for alone in ("PES", "PFS", "SEP", "SFP"))


def test_creepage_over_a_partition_is_kept_where_the_file_says_how_high_it_is() -> None:
    """By hand: the partition ends 1 + 6 mm above the leg; up from the outermost layer of the one winding,
    over 1.5 mm, down to that of the other."""
    assert separations(parse_design(SPLIT))["P", "S"].creepage == math.inf
    text = SPLIT.replace('partition = "1.5 mm"', 'partition = "1.5 mm"\npartition_height = "6 mm"')
    design = parse_design(text)
    layout = lay_out(design)
    tops = dict.fromkeys("PS", 0.0)
    for section, (_, top, _, _) in zip(layout.sections, layout.extent[0], strict=True):
        tops[section.winding] = max(tops[section.winding], float(top))
    over = sum(7e-3 - top for top in tops.values()) + 1.5e-3
    assert separations(design)["P", "S"].creepage == pytest.approx(over, rel=1e-9)
    before = separations(design)
    found = find_arrangements(design, Rules(most_sections=3, least_cover=0.0)).arrangements
    assert found
    for one in found:
        after = separations(one.design)
        assert all(not shortfalls(before[pair], after[pair]) for pair in before)
    for change in adjustments(design):
        for amount in change.fitting(design)[-1:]:
            after = separations(change.change(design, amount))
            assert all(not shortfalls(before[pair], after[pair]) for pair in before)
    with pytest.raises(AswoundError, match="partition_height"):
        parse_design(text.replace('chambers = ["9 mm", "9 mm"]\npartition = "1.5 mm"\n', ""))
    with pytest.raises(
        AswoundError, match=r"at most 6.75 mm, from the bobbin's wall to the end of the window"
    ):
        parse_design(text.replace('partition_height = "6 mm"', 'partition_height = "6.8 mm"'))
