"""The gate on cost (``benchmarks/speed.py --ratios``): other work on the machine fails nothing, the cost of a
command does."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "benchmarks"))

import speed


def _found(rung: float, sample: float) -> dict[tuple[str, str], float]:
    return {("60 layers", "sheet"): rung, **{(name, "sheet"): sample for name in speed.SAMPLES}}


def _held(true_rung: float, true_sample: float, seen: tuple[float, float]) -> tuple[bool, int]:
    """(held, runs) of a command that costs so much in truth and was ``seen`` at other costs first."""
    found, runs = _found(*seen), []

    def once_more(name: str, command: str) -> None:
        runs.append(name)
        cost = true_rung if name == "60 layers" else true_sample
        found[name, command] = min(found[name, command], cost)

    return speed._held(found, "60 layers", "sheet", once_more), len(runs)


def test_a_ratio_within_its_bound_is_measured_once() -> None:
    assert _held(11.0, 3.3, (11.0, 3.3)) == (True, 0)


def test_other_work_on_the_machine_fails_nothing() -> None:
    """14.8 s measured where 11 is the cost: beyond 4 times 3.3 at first, within it when measured again."""
    held, runs = _held(11.0, 3.3, (14.8, 3.3))
    assert held
    assert runs == 2


def test_what_a_command_costs_fails_however_often_it_is_measured() -> None:
    held, runs = _held(14.8, 3.3, (14.8, 3.3))
    assert not held
    assert runs == 2 * speed.AGAIN


def test_the_sample_that_was_measured_too_dear_does_not_hide_it() -> None:
    """A rung beyond its bound stays so when the sample turns out cheaper."""
    assert not _held(17.0, 3.3, (17.0, 4.0))[0]


def test_one_design_in_process_is_measured() -> None:
    """Milliseconds, of designs that nothing is known of: no remembered reading would take less than one."""
    text = (Path(__file__).parents[2] / "samples" / "gate-drive.toml").read_text(encoding="utf-8")
    assert 1.0 < speed.one_design(text, times=2) < 2000.0


def test_one_design_makes_no_more_calls() -> None:
    """What one design costs, held on a machine under any load: the cost is that of its calls, as no array of
    one build is large."""
    for name, bound in speed.CALLS.items():
        text = (Path(__file__).parents[2] / "samples" / f"{name}.toml").read_text(encoding="utf-8")
        made = speed.calls_of_one_design(text)
        assert 0.85 * bound < made <= bound, f"{name}: {made} calls"
