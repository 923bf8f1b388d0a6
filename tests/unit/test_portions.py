"""Work shared out among processes: the same results, faults handed on."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
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


@forking
@pytest.mark.parametrize(("count", "processes"), [(3, 1), (1, 2), (0, 2)])
def test_what_cannot_be_shared_is_done_here(count: int, processes: int) -> None:
    """One process, as on a system without fork, or one portion."""
    assert {pid for _, pid in shared_out(lambda _: os.getpid(), count, processes)} <= {os.getpid()}


def test_a_process_that_is_killed_is_no_result() -> None:
    def work(number: int) -> int:
        if number == 3:
            os.kill(os.getpid(), signal.SIGKILL)
        return number

    with pytest.raises(ChildProcessError, match=r"of 6 portions of the work were not done"):
        list(shared_out(work, 6, 2))


@forking
def test_no_process_outlives_its_parent(tmp_path: Path) -> None:
    """The parent is killed; its children end after the portion that they work on."""
    code = (
        "import os, sys, time\n"
        "from aswound.predict.portions import shared_out\n"
        "def work(number):\n"
        "    open(os.path.join(sys.argv[1], str(os.getpid())), 'w').close()\n"
        "    time.sleep(0.2)\n"
        "list(shared_out(work, 1000, 2))\n"
    )
    parent = subprocess.Popen([sys.executable, "-c", code, str(tmp_path)])
    deadline = time.monotonic() + 30
    while len(os.listdir(tmp_path)) < 2 and time.monotonic() < deadline:
        time.sleep(0.05)
    children = [int(name) for name in os.listdir(tmp_path)]
    assert len(children) == 2
    parent.kill()
    parent.wait()
    while any(map(_alive, children)) and time.monotonic() < deadline:
        time.sleep(0.05)
    assert not any(map(_alive, children))


def _alive(process: int) -> bool:
    try:
        return Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except FileNotFoundError:
        return False


def test_nothing_to_do() -> None:
    assert list(shared_out(lambda number: number, 0, 2)) == []


@forking
def test_arrangements_read_the_same_in_two_processes() -> None:
    design = load_design(SAMPLES / "gate-drive.toml")
    found = find_arrangements(design, Rules(most_sections=2)).arrangements
    one, two = (
        predict_arrangements(found, questions_of(design), resonance=False, processes=number)
        for number in (1, 2)
    )
    for name in ("leakage", "resistance", "capacitance", "wire_length"):
        np.testing.assert_array_equal(getattr(one, name), getattr(two, name))
    assert one.refused == two.refused
