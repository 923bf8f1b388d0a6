"""Enumeration of orders against a count by brute force, and what every arrangement of a design keeps."""

from __future__ import annotations

import itertools
from pathlib import Path

import numpy as np
import pytest
from how_many import examples
from hypothesis import given, settings
from hypothesis import strategies as st

from aswound.predict import load_design
from aswound.predict.design import Design, WindStep
from aswound.predict.interleave.arrangements import find_arrangements
from aswound.predict.interleave.orders import sequences
from aswound.predict.interleave.rules import Rules, equal_turns
from aswound.predict.winding.layout import check_fit

SAMPLES = Path(__file__).parents[2] / "samples"
pytestmark = pytest.mark.filterwarnings("error")


def brute(counts: list[int], bays: int) -> set[tuple[tuple[int, ...], ...]]:
    """All permutations with bay walls among them, cut at the walls, equal neighbours refused."""
    items = [symbol for symbol, count in enumerate(counts) for _ in range(count)] + [-1] * (bays - 1)
    found = set()
    for word in set(itertools.permutations(items)):
        stacks: list[list[int]] = [[]]
        for symbol in word:
            if symbol < 0:
                stacks.append([])
            else:
                stacks[-1].append(symbol)
        if all(a != b for stack in stacks for a, b in itertools.pairwise(stack)):
            found.add(tuple(map(tuple, stacks)))
    return found


@settings(deadline=None, max_examples=examples(40))
@given(st.lists(st.integers(1, 3), min_size=1, max_size=3).filter(lambda c: sum(c) <= 6), st.integers(1, 2))
def test_sequences_are_those_of_brute_force_each_once(counts: list[int], bays: int) -> None:
    found = list(sequences(counts, bays, lambda before, symbol: before != symbol, lambda _: True))
    assert len(found) == len(set(found))
    assert set(found) == brute(counts, bays)


@given(st.integers(1, 200), st.integers(1, 9))
def test_series_sections_are_as_equal_as_whole_turns_allow(turns: int, sections: int) -> None:
    parts = equal_turns(turns, sections)
    assert sum(parts) == turns
    assert max(parts) - min(parts) <= 1
    assert list(parts) == sorted(parts, reverse=True)


def brute_count(numbers: dict[str, list[int]]) -> int:
    """Distinct orders of windings in so many sections each, without equal neighbours."""
    total = 0
    for counts in itertools.product(*numbers.values()):
        total += len(brute(list(counts), 1))
    return total


def test_flyback_arrangements_are_all_there_once() -> None:
    # P and AUX have one wire in hand: series only; S has three: in parallel 3 times only. Nine turns of AUX
    # cover a sixth of the breadth: not divided.
    found = find_arrangements(load_design(SAMPLES / "flyback-24w.toml"), Rules(most_sections=2))
    assert len(found.arrangements) + found.breadth + found.height == brute_count(
        {"P": [1, 2], "S": [1, 2], "AUX": [1]}
    )
    keys = {tuple(one.design.build.steps) for one in found.arrangements}
    assert len(keys) == len(found.arrangements)


def _turns(design: Design, name: str) -> list[int]:
    return [
        int(np.asarray(step.turns))
        for step in design.build.steps
        if isinstance(step, WindStep) and name in (step.winding, *step.companions)
    ]


@pytest.mark.parametrize("name", ["flyback-24w", "bridge-300w", "gate-drive"])
def test_every_arrangement_keeps_turns_copper_and_fits(name: str) -> None:
    design = load_design(SAMPLES / f"{name}.toml")
    found = find_arrangements(design, Rules(most_sections=2))
    assert found.arrangements[0].present
    for one in found.arrangements[:: max(len(found.arrangements) // 25, 1)]:
        check_fit(one.design)
        for winding in one.design.windings:
            before, after = _turns(design, winding.name), _turns(one.design, winding.name)
            was = design.winding(winding.name)
            parallel, now = was.sections == "parallel", winding.sections == "parallel"
            assert (after[0] if now else sum(after)) == (before[0] if parallel else sum(before))
            wires = winding.wire.in_hand * (len(after) if now else 1)
            assert wires == was.wire.in_hand * (len(before) if parallel else 1)
        assert all(face.thickness > 0 for face in one.faces) or name == "gate-drive"
