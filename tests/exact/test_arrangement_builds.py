"""Arrangements of every kind of build: laid as one of many they are what each is on its own; what is not
arranged is refused with a reason.

A design's own text is the reference: an arrangement's design, laid out and predicted alone by the general
code, against its row in the batch of all.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from aswound.predict import parse_design, readings
from aswound.predict.design import Design
from aswound.predict.designfile.rewrite import rearranged_text
from aswound.predict.errors import BuildError, DesignError
from aswound.predict.interleave.arrangements import divisions, find_arrangements, orders
from aswound.predict.interleave.divisible_parts import rearrangement_of
from aswound.predict.interleave.divisions import arranged, connected
from aswound.predict.interleave.faces import faces_of
from aswound.predict.interleave.kept import Kept
from aswound.predict.interleave.many_readings import predict_arrangements, questions_of
from aswound.predict.interleave.rules import Rules, Sharing
from aswound.predict.winding.layout import check_fit, lay_out

WINDINGS = """
[[winding]]
name = "P"
wire = { diameter = "0.35 mm", grade = 2 }
start = "1"
finish = "2"
[[winding]]
name = "S"
wire = { diameter = "0.5 mm", grade = 2, in_hand = 2 }
"""
THIRD = """
[[winding]]
name = "T"
wire = { diameter = "0.4 mm", grade = 2 }
"""
ETD = '[core]\nshape = "ETD 34/17/11"\nmaterial = "MnZn 2300"\n[bobbin]\nwall = "1.1 mm"\nflange = "1.2 mm"\n'
POT = """[core]
shape = "P 30/19"
material = "MnZn 2300"
[bobbin]
wall = "0.9 mm"
flange = "0.9 mm"
chambers = ["5 mm", "5.4 mm"]
partition = "1 mm"
"""
LEGS = '[core]\nshape = "U 25/20/13"\nmaterial = "MnZn 2300"\n[bobbin]\nwall = "1.1 mm"\nflange = "1.2 mm"\n'
RING = '[core]\nshape = "R 16/9.6/6.3"\nmaterial = "MnZn 5000"\n[bobbin]\nwall = "0.25 mm"\n'
BOARDS = """[core]
shape = "E 38/8/25"
material = "MnZn 2300"
[bobbin]
wall = "0.8 mm"
flange = "0.5 mm"
[[winding]]
name = "P"
wire = { trace = "105 um", width = "1.5 mm", spacing = "0.3 mm" }
[[winding]]
name = "S"
wire = { trace = "140 um", width = "4.2 mm", spacing = "0.4 mm" }
[build]
direction = "up"
"""
KINDS = {
    "one stack": ETD + WINDINGS + THIRD + '[build]\ninterlayer = "0.05 mm"\n',
    "shield": ETD + WINDINGS + "[build]\n",
    "wound together": ETD + WINDINGS + THIRD + "[build]\n",
    "beside": ETD + WINDINGS + THIRD + "[build]\n",
    "without order": ETD + WINDINGS + '[build]\nstyle = "scramble"\n',
    "chambers": POT + WINDINGS + "[build]\n",
    "two legs": LEGS + WINDINGS + "[build]\n",
    "ring": RING + WINDINGS + THIRD + "[build]\n",
    "boards": BOARDS,
    "twisted": ETD + WINDINGS.replace("in_hand = 2", "in_hand = 4, twisted = true") + "[build]\n",
}
STEPS = {
    "one stack": [
        '{ tape = "0.1 mm", wraps = 1 }',
        '{ wind = "P", turns = 60 }',
        '{ tape = "0.06 mm", wraps = 3 }',
        '{ wind = "S", turns = 8 }',
        '{ spacer = "0.5 mm" }',
        '{ wind = "T", turns = 11 }',
        '{ tape = "0.06 mm", wraps = 2, permittivity = 2.9 }',
    ],
    "shield": [
        '{ wind = "P", turns = 40 }',
        '{ tape = "0.06 mm", wraps = 2 }',
        '{ shield = "0.05 mm", width = "15 mm", name = "E", tied = "P.start" }',
        '{ tape = "0.06 mm", wraps = 3 }',
        '{ wind = "S", turns = 8 }',
    ],
    "wound together": [
        '{ wind = "P", turns = 40 }',
        '{ tape = "0.06 mm", wraps = 2 }',
        '{ wind = "S", turns = 8, with = ["T"] }',
    ],
    "beside": [
        '{ wind = "P", turns = 40 }',
        '{ tape = "0.06 mm", wraps = 2 }',
        '{ wind = "S", turns = 7, breadth = "9 mm" }',
        '{ wind = "T", turns = 8, breadth = "8 mm", beside = true }',
    ],
    "without order": [
        '{ wind = "P", turns = 50 }',
        '{ tape = "0.06 mm", wraps = 2 }',
        '{ wind = "S", turns = 9 }',
    ],
    "chambers": [
        '{ tape = "0.06 mm", wraps = 1 }',
        '{ wind = "P", turns = 40, chamber = 1 }',
        '{ wind = "S", turns = 8, chamber = 2 }',
    ],
    "two legs": [
        '{ wind = "P", turns = 20 }',
        '{ tape = "0.06 mm", wraps = 3 }',
        '{ wind = "S", turns = 6 }',
        '{ wind = "P", turns = 20, leg = 2 }',
        '{ tape = "0.06 mm", wraps = 3, leg = 2 }',
        '{ wind = "S", turns = 6, leg = 2 }',
    ],
    "ring": [
        '{ wind = "P", turns = 40 }',
        '{ tape = "0.06 mm", wraps = 1 }',
        '{ wind = "S", turns = 12 }',
        '{ wind = "T", turns = 25 }',
    ],
    "boards": [
        '{ wind = "P", turns = 5, breadth = "9.2 mm" }',
        '{ tape = "0.30 mm", wraps = 1, permittivity = 4.4 }',
        '{ wind = "P", turns = 5, breadth = "9.2 mm" }',
        '{ tape = "0.30 mm", wraps = 2, permittivity = 4.4 }',
        '{ wind = "S", turns = 2, breadth = "9.2 mm" }',
        '{ tape = "0.30 mm", wraps = 2, permittivity = 4.4 }',
        '{ wind = "S", turns = 2, breadth = "9.2 mm" }',
    ],
    "twisted": ['{ wind = "P", turns = 40 }', '{ wind = "S", turns = 8 }'],
}


# What lies where, however close: short sections, and circuits that share a chamber or meet without their
# shield.
CLOSE = (("P", "S"),)
ANY = Rules(most_sections=2, bare=CLOSE, least_turns=1, least_cover=0.0)
# As the design has it, and so full that some arrangements do not fit.
FULL = {
    "one stack": ("turns = 60 ", "turns = 400 "),
    "shield": ("turns = 40 ", "turns = 650 "),
    "chambers": ("turns = 40,", "turns = 140,"),
    "two legs": ('"0.06 mm"', '"0.6 mm"'),
    "ring": ("turns = 40 ", "turns = 150 "),
    "boards": ('"0.30 mm"', '"1.3 mm"'),
}


QUICK = ("one stack", "chambers")
"""Kinds of build tried with every run; the others with --slow and in .ci/run."""


def kinds(names: Iterable[str]) -> list[Any]:
    """Parameters of a test, slow but for the quick kinds."""
    return [pytest.param(name, marks=[] if name in QUICK else pytest.mark.slow) for name in names]


def text_of(kind: str, steps: list[str] | None = None) -> str:
    return f"{KINDS[kind]}steps = [\n{','.join(steps or STEPS[kind])}\n]\n"


def design_of(kind: str, steps: list[str] | None = None) -> Design:
    return parse_design(text_of(kind, steps))


@pytest.mark.parametrize("kind", kinds(KINDS))
def test_each_reads_as_on_its_own(kind: str) -> None:
    design = design_of(kind)
    bare = CLOSE if kind in ("chambers", "shield") else ()
    found = find_arrangements(design, replace(ANY, most=120, bare=bare)).arrangements
    assert len(found) > 2
    chosen = found[:: max(len(found) // 6, 1)]
    questions = questions_of(design)
    answer = predict_arrangements(chosen, questions, resonance=False)
    tests = questions.tests[:-1]
    for place, one in enumerate(chosen):
        check_fit(one.design)
        assert one.fill == pytest.approx(float(lay_out(one.design).fill[0]), rel=1e-12)
        batch = [*answer.leakage[place], answer.resistance[place], *answer.capacitance[place]]
        try:
            single = readings(replace(one.design, tests=tests))
        except BuildError:  # opposing windings on different legs: no model, said so
            assert place in [refused for refused, _ in answer.refused]
            continue
        np.testing.assert_allclose(batch, single, rtol=1e-9)


@pytest.mark.parametrize("kind", kinds(KINDS))
def test_each_can_be_written_as_a_file(kind: str) -> None:
    design = design_of(kind)
    for one in find_arrangements(design, replace(ANY, most_sections=4, most=60)).arrangements[::7]:
        text = rearranged_text(text_of(kind), design, one.design, "changed", folder=Path(), name="x.toml")
        again = parse_design(text)
        assert again.windings == one.design.windings
        np.testing.assert_allclose(lay_out(again).extent, lay_out(one.design).extent, rtol=1e-9, atol=1e-12)


@pytest.mark.parametrize("kind", kinds(KINDS))
def test_what_fits_is_found(kind: str) -> None:
    found_and_nothing_else(kind, False)


@pytest.mark.parametrize("kind", kinds(FULL))
def test_what_fits_is_found_and_nothing_else(kind: str) -> None:
    found_and_nothing_else(kind, True)


def found_and_nothing_else(kind: str, full: bool) -> None:
    """Every order, laid out alone with all the layout's own checks; ``full``: so that some do not fit."""
    steps = [step.replace(*FULL[kind]) if full else step for step in STEPS[kind]]
    design = design_of(kind, steps)
    rules = replace(ANY, bare=CLOSE if kind in ("chambers", "shield") else ())
    space = rearrangement_of(design, rules, faces_of(design, rules))
    kept = Kept(space)
    found = find_arrangements(design, rules)
    assert found.tried + 1 == len(found.arrangements) + found.breadth + found.height + found.apart
    steps = {one.design.build.steps for one in found.arrangements}
    assert len(steps) == len(found.arrangements)
    every = sum(
        _fits(arranged(space, splits, order))
        for splits in divisions(space, rules)
        for order in orders(space, splits, rules, kept)
        if kept.holds(order)
    )
    assert every == len(found.arrangements)
    assert (found.height > 0) == full


def alternations(counts: tuple[int, ...]) -> int:
    """Sequences of symbols that occur so often, no two alike in a row: each symbol's occurrences joined in
    blocks, by inclusion and exclusion (textbook combinatorics)."""
    total = 0
    for blocks in itertools.product(*(range(1, count + 1) for count in counts)):
        ways = math.factorial(sum(blocks))
        for count, block in zip(counts, blocks, strict=True):
            ways = ways * math.comb(count - 1, block - 1) * (-1) ** (count - block) // math.factorial(block)
        total += ways
    return total


def test_number_of_orders_of_two_windings() -> None:
    # By hand, up to three sections: P in series 1, 2, 3; S (two in hand) in series 1, 2, 3 and in parallel 2.
    # n sections of one and m of the other alternate in 2 ways (n = m), 1 (n = m ± 1) or none:
    # 2 + 1 + 0 + 1, 1 + 2 + 1 + 2, 0 + 1 + 2 + 1.
    found = find_arrangements(design_of("without order"), replace(ANY, most_sections=3, bare=()))
    assert found.tried + 1 == 14


@pytest.mark.parametrize("parallel", ["shared", "same", "none"])
def test_number_of_orders_of_three_windings(parallel: Sharing) -> None:
    # P and T have one wire in hand, S two: in parallel by two where wires are shared out.
    series, twice, thrice = [1, 2, 3], [1, 2, 3, 2], [1, 2, 3, 2, 3]
    divided = {
        "shared": (series, twice, series),
        "same": (thrice, thrice, thrice),
        "none": (series, series, series),
    }[parallel]
    rules = replace(ANY, most_sections=3, bare=(), parallel=parallel, most=10_000)
    found = find_arrangements(design_of("one stack"), rules)
    assert not found.cut_off
    assert found.tried + 1 == sum(map(alternations, itertools.product(*divided)))


def test_sections_in_parallel_share_the_wires_out() -> None:
    """S has two in hand: in two sections in parallel each has one, in series each has both."""
    design = design_of("without order")
    rules = replace(ANY, most_sections=2, bare=())
    space = rearrangement_of(design, rules, faces_of(design, rules))
    seen = set()
    for splits in divisions(space, rules):
        for unit, split in zip(space.units, splits, strict=True):
            for name in dict(unit.wires):
                winding = connected(space, splits, design.winding(name))
                pieces = split.sections if split.connection == "parallel" else 1
                assert winding.wire.in_hand * pieces == design.winding(name).wire.in_hand
                seen.add(pieces)
    assert seen == {1, 2}


def _fits(design: Design) -> bool:
    try:
        check_fit(design)
    except BuildError:
        return False
    return True


@pytest.mark.parametrize(
    ("kind", "steps", "said"),
    [
        (
            "ring",
            ['{ wind = "P", turns = 20, sector = "120 deg" }', *STEPS["ring"][1:]],
            "sectors of a ring",
        ),
        (
            "chambers",
            [*STEPS["chambers"][1:2], '{ tape = "0.06 mm", wraps = 2 }', STEPS["chambers"][2]],
            "across several chambers",
        ),
    ],
)
def test_what_is_not_arranged_is_refused_in_words(kind: str, steps: list[str], said: str) -> None:
    with pytest.raises(DesignError, match=said):
        find_arrangements(design_of(kind, steps))
