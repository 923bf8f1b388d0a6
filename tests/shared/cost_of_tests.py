"""What the tests cost: processor seconds of each file, against pieces of a yardstick measured between the
tests, so that neither a slow machine nor a busy one counts.

The ten dearest files stand below every run of the whole suite. In the integration the run fails if the quick
suite (all tests that are not marked slow, with importing the files) costs more than ``BOUND`` pieces.
"""

from __future__ import annotations

import gc
import math
import os
import resource
import statistics
import time
from collections import Counter
from collections.abc import Generator
from typing import Any

import pytest

BOUND = 145_000
"""Pieces that the quick suite may take (judged: half as much again as it took when this was written)."""
EVERY = 2.0
"""Processor seconds from one measurement of the yardstick to the next."""
SHOWN = 10
"""Files that are named."""


def used() -> float:
    """Processor seconds of this process and of those that it started and that have ended."""
    spent = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(each.ru_utime + each.ru_stime for each in spent)


def piece() -> float:
    """Processor seconds of a fixed piece of work: the second of three in size, without collecting garbage (of
    thousands of tests)."""
    collecting = gc.isenabled()
    gc.disable()
    try:
        return statistics.median(_work() for _ in range(3))
    finally:
        if collecting:
            gc.enable()


def _work() -> float:
    begin = time.thread_time()
    total, kept = 0.0, {}
    for number in range(6000):
        total += math.sqrt(number) * 0.5
        kept[number % 97, number % 89] = (total, str(number))
    return time.thread_time() - begin


class Cost:
    """Measures in the processes that run the tests; adds up and tells in the one that was started.

    ``whole``: whether all tests run, not those of some files.
    """

    def __init__(self, config: pytest.Config, *, whole: bool) -> None:
        self.config, self.whole = config, whole
        self.begin = self.last = used()
        self.measured = -EVERY
        self.files: Counter[str] = Counter()
        self.slow = self.all = self.workers = 0.0
        self.pieces: list[float] = []

    # --- where tests run

    def pytest_collection_finish(self) -> None:
        self.last = used()

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_makereport(self) -> Generator[None, Any, Any]:
        """Each of a test's three reports carries what was used since the one before it."""
        report = yield
        report.processor_seconds = used() - self.last
        if used() - self.measured > EVERY:
            report.piece = piece()
            self.measured = used()
        self.last = used()
        return report

    def pytest_sessionfinish(self, session: pytest.Session) -> None:
        output = getattr(self.config, "workeroutput", None)
        if output is not None:
            output["processor_seconds"] = used()
        elif os.environ.get("CI") and self.whole and self.cost > BOUND and session.exitstatus == 0:
            session.exitstatus = pytest.ExitCode.TESTS_FAILED

    # --- where they are told

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        spent = getattr(report, "processor_seconds", 0.0)
        self.all += spent
        if "slow" in report.keywords:
            self.slow += spent
        else:
            self.files[report.nodeid.partition("::")[0]] += spent
        self.pieces += [report.piece] if hasattr(report, "piece") else []

    @pytest.hookimpl(optionalhook=True)
    def pytest_testnodedown(self, node: Any) -> None:
        self.workers += getattr(node, "workeroutput", {}).get("processor_seconds", 0.0)

    @property
    def quick(self) -> float:
        """Processor seconds without those of the slow tests."""
        return (self.workers or used()) - self.slow

    @property
    def cost(self) -> float:
        """The quick suite in pieces of the yardstick; 0 where nothing was measured."""
        return self.quick * len(self.pieces) / sum(self.pieces) if self.pieces else 0.0

    def pytest_terminal_summary(self, terminalreporter: pytest.TerminalReporter) -> None:
        if not self.whole or not self.pieces:
            return
        told = terminalreporter.write_line
        told(
            f"{self.quick:.0f} s of processor time and {self.slow:.0f} s of tests marked slow; dearest files:"
        )
        for file, spent in self.files.most_common(SHOWN):
            told(f"{spent:6.1f} s  {file}")
        told(f"cost of the quick suite: {self.cost:.0f} pieces of the yardstick, at most {BOUND}")
