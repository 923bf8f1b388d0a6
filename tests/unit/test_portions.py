"""Work shared out among processes: the same results, faults handed on."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from aswound.predict import load_design
from aswound.predict.interleave.arrangements import find_arrangements
from aswound.predict.interleave.many_readings import predict_arrangements, questions_of
from aswound.predict.interleave.rules import Rules
from aswound.predict.portions import processes_at_hand, shared_out

SAMPLES = Path(__file__).parents[2] / "samples"
forking = pytest.mark.skipif(processes_at_hand() < 2, reason="one processor, or no fork")


@pytest.mark.parametrize("processes", [1, 2, 3, 50])
def test_every_portion_once(processes: int) -> None:
    assert sorted(shared_out(lambda number: number**2, 11, processes)) == [(k, k * k) for k in range(11)]


@pytest.mark.parametrize("processes", [1, 2])
def test_a_fault_in_a_portion_is_raised_here(processes: int) -> None:
    def work(number: int) -> int:
        if number == 3:
            raise ValueError("portion 3")
        return number

    with pytest.raises(ValueError, match="portion 3"):
        list(shared_out(work, 6, processes))


def test_nothing_to_do() -> None:
    assert list(shared_out(lambda number: number, 0, 2)) == []


@forking
def test_arrangements_read_the_same_in_two_processes() -> None:
    design = load_design(SAMPLES / "gate-drive.toml")
    found = find_arrangements(design, Rules(most_sections=2)).found
    one, two = (
        predict_arrangements(found, questions_of(design), resonance=False, processes=number)
        for number in (1, 2)
    )
    for name in ("leakage", "resistance", "capacitance", "wire_length"):
        np.testing.assert_array_equal(getattr(one, name), getattr(two, name))
    assert one.refused == two.refused
