"""A temporary copy of the tree in which one mistake at a time is made, and the tests that must notice it.

The copy has its own import path, so that nothing of the tree itself is imported or written. Tests run in a
forked process whose parent has loaded the libraries once (not aswound), which halves the time of a run.
"""

from __future__ import annotations

import contextlib
import importlib
import itertools
import os
import shutil
import signal
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
COPIED = ("predict", "compare", "cli", "tests", "samples")
FILES = ("pyproject.toml", "README.md", "DEVELOPERS.md")
LIBRARIES = (
    "numpy",
    "scipy.linalg",
    "scipy.stats",
    "scipy.optimize",
    "scipy.special",
    "pytest",
    "rich.table",
)
PASSED, FAILED = 0, 1
"""Exit statuses of pytest: all tests passed; some failed."""


@dataclass(frozen=True)
class Outcome:
    """What the named tests made of a mistake. ``status``: that of pytest, None where they took too long.
    ``first``: the first test that failed. ``seconds``: of wall time."""

    status: int | None
    first: str
    seconds: float

    @property
    def noticed(self) -> bool:
        """Whether a test failed (a run that never ends is noticed too)."""
        return self.status is None or self.status == FAILED


class Copy:
    """A copy of the tree. ``folder``: its root."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._ticks = itertools.count(int(time.time()) + 1000)
        nothing = shutil.ignore_patterns("__pycache__", ".pytest_cache", "fuzz")
        for name in COPIED:
            shutil.copytree(ROOT / name, folder / name, ignore=nothing, symlinks=True)
        for name in FILES:
            shutil.copy2(ROOT / name, folder / name)
        package = folder / "path" / "aswound"
        package.mkdir(parents=True)
        for file in (folder / "cli" / "aswound").iterdir():
            (package / file.name).symlink_to(file)
        for name in ("predict", "compare", "cli"):
            (package / name).symlink_to(folder / name)
        for name in LIBRARIES:
            importlib.import_module(name)

    @contextlib.contextmanager
    def with_text(self, file: str, text: str) -> Iterator[None]:
        """The copy with another text in ``file`` for a while."""
        path = self.folder / file
        before = path.read_text(encoding="utf-8")
        self._write(path, text)
        try:
            yield
        finally:
            self._write(path, before)

    def _write(self, path: Path, text: str) -> None:
        """Compiled modules are known by whole seconds and size, so every text gets a second of its own."""
        path.write_text(text, encoding="utf-8")
        tick = next(self._ticks)
        os.utime(path, (tick, tick))

    def run(self, tests: Sequence[str], limit: float = 120.0) -> Outcome:
        """Run the ``tests`` on the copy as it stands, up to the first that fails."""
        begin = time.monotonic()
        log = self.folder / "first-failure"
        log.unlink(missing_ok=True)
        child = os.fork()
        if child == 0:
            os._exit(self._child(tests, log))
        status = _waited(child, limit)
        first = log.read_text(encoding="utf-8") if log.exists() else ""
        return Outcome(status, first, time.monotonic() - begin)

    def _child(self, tests: Sequence[str], log: Path) -> int:
        os.setsid()
        with open(self.folder / "output", "wb") as sink:
            os.dup2(sink.fileno(), 1)
            os.dup2(sink.fileno(), 2)
        try:
            os.chdir(self.folder)
            os.environ["PYTHONPATH"] = str(self.folder / "path")
            os.environ["CI"] = "1"
            sys.path[:0] = [str(self.folder / "path")]
            import pytest

            class Listener:
                def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
                    if report.failed and not log.exists():
                        log.write_text(report.nodeid, encoding="utf-8")

                def pytest_collectreport(self, report: pytest.CollectReport) -> None:
                    if report.failed and not log.exists():
                        log.write_text(f"{report.nodeid} (cannot be imported)", encoding="utf-8")

            options = ["-x", "-q", "--slow", "-p", "no:cacheprovider", "-p", "no:xdist", "--tb=short"]
            status = int(pytest.main([*options, *tests], plugins=[Listener()]))
            found = sys.modules.get("aswound")
            assert found is None or str(self.folder) in str(found.__file__), "not the copy"
            return FAILED if status == 2 and log.exists() else status
        except BaseException:
            import traceback

            traceback.print_exc()
            return 3
        finally:
            sys.stdout.flush()
            sys.stderr.flush()

    def output(self) -> str:
        """What the last run printed."""
        return (self.folder / "output").read_text(encoding="utf-8", errors="replace")


def _waited(child: int, limit: float) -> int | None:
    """Exit status of a child, None where it ran longer than ``limit`` (s) and was ended."""
    end = time.monotonic() + limit
    while time.monotonic() < end:
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            return os.waitstatus_to_exitcode(status)
        time.sleep(0.02)
    with contextlib.suppress(ProcessLookupError):
        os.killpg(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return None


@contextlib.contextmanager
def copy_of_the_tree() -> Iterator[Copy]:
    """A Copy in a temporary folder."""
    with tempfile.TemporaryDirectory(prefix="mistakes-") as folder:
        yield Copy(Path(folder))


def mutated(text: str, before: str, after: str) -> str:
    """``text`` with ``before``, which must be there exactly once, replaced by ``after``."""
    count = text.count(before)
    if count != 1:
        raise ValueError(f"{before!r} is there {count} times, not once")
    return text.replace(before, after)
