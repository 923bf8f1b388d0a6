"""What the tests cost is counted by file, told, and bounded where the integration runs; what is tried with
every run and what with the slow tests alone."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import cost_of_tests
import how_many
import pytest
from cost_of_tests import Cost

ROOT = Path(__file__).parents[2]


class Told:
    """Takes the lines of the summary."""

    def __init__(self) -> None:
        self.lines: list[str] = []

    def write_line(self, line: str) -> None:
        self.lines.append(line)


def reports() -> Iterator[Any]:
    """Two files of 3 and 9 s, 5 s of a slow test in the second, a piece of 2 ms measured in each."""
    for file, spent, words in (
        ("a.py", 1.0, {}),
        ("b.py", 9.0, {}),
        ("a.py", 2.0, {}),
        ("b.py", 5.0, {"slow": 1}),
    ):
        yield SimpleNamespace(nodeid=f"{file}::test", keywords=words, processor_seconds=spent)
    for piece in (1e-3, 3e-3):
        yield SimpleNamespace(nodeid="a.py::test", keywords={}, piece=piece)


def counted(*, whole: bool = True) -> Cost:
    """The cost of the reports above, from two workers that used 11 s each in all."""
    cost = Cost(SimpleNamespace(), whole=whole)  # type: ignore[arg-type]
    for report in reports():
        cost.pytest_runtest_logreport(report)
    for _ in range(2):
        cost.pytest_testnodedown(SimpleNamespace(workeroutput={"processor_seconds": 11.0}))
    return cost


def test_it_is_counted_by_file_without_the_slow_tests() -> None:
    cost = counted()
    assert cost.files == {"a.py": 3.0, "b.py": 9.0}
    assert cost.slow == 5.0
    assert cost.quick == 22.0 - 5.0  # importing the files is part of it
    assert cost.cost == pytest.approx(17.0 / 2e-3)
    told = Told()
    cost.pytest_terminal_summary(told)  # type: ignore[arg-type]
    assert told.lines[1:3] == ["   9.0 s  b.py", "   3.0 s  a.py"]
    assert "8500 pieces" in told.lines[-1]


@pytest.mark.parametrize(
    ("whole", "bound", "ci", "fails"),
    [(True, 8000, "1", True), (True, 9000, "1", False), (True, 8000, "", False), (False, 8000, "1", False)],
)
def test_the_integration_fails_beyond_the_bound(
    whole: bool, bound: int, ci: str, fails: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(cost_of_tests, "BOUND", bound)
    monkeypatch.setenv("CI", ci)
    session = SimpleNamespace(exitstatus=0)
    counted(whole=whole).pytest_sessionfinish(session)  # type: ignore[arg-type]
    assert bool(session.exitstatus) is fails


def test_a_part_of_the_suite_tells_nothing() -> None:
    told = Told()
    counted(whole=False).pytest_terminal_summary(told)  # type: ignore[arg-type]
    assert told.lines == []


def test_a_third_of_the_examples_or_ten(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv(how_many.SLOW, raising=False)
    assert [how_many.examples(many) for many in (300, 40, 25, 8)] == [100, 13, 10, 8]
    monkeypatch.setenv(how_many.SLOW, "1")
    assert how_many.examples(40) == 40


def test_further_values_are_slow() -> None:
    assert [(one.values, [mark.name for mark in one.marks]) for one in how_many.and_slow("x", ("y", 2))] == [
        (("x",), ["slow"]),
        (("y", 2), ["slow"]),
    ]


def test_the_files_that_come_first_are_there() -> None:
    text = (ROOT / "tests" / "conftest.py").read_text(encoding="utf-8")
    names = [line.strip(' ",') for line in text.split("DEAREST = (\n")[1].split(")")[0].splitlines() if line]
    assert names
    assert [name for name in names if not (ROOT / "tests" / name).is_file()] == []
