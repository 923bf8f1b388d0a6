"""Runs of the program in processes of their own that need not load it again: copies (fork) of the process
that runs the tests.

A run has its own streams, folder, environment, signals and exit status, and its streams are flushed at the
end as Python flushes them. What a start looks like (what is loaded, locale, hash seed, streams that are
closed from the beginning, an interrupt meanwhile) is tried with ``subprocess`` instead.
"""

from __future__ import annotations

import contextlib
import os
import subprocess
import sys
import tempfile
import traceback
import warnings
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from aswound.cli import main as program

LOST = 120
"""What Python ends with where what it had still to write could not be written."""


CLOSED = -1
"""In place of a stream: closed from the beginning, which Python shows as None."""


class Begun:
    """A run that has begun; its streams are those given.

    ``environment`` is added to the present one; ``before`` is executed first, in the new process.
    """

    def __init__(
        self,
        arguments: Sequence[str],
        streams: tuple[int, int, int],
        *,
        folder: Path | None = None,
        environment: Mapping[str, str] | None = None,
        before: str = "",
    ) -> None:
        self.returncode: int | None = None
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", DeprecationWarning)  # the threads of the tests do not go on
            self.pid = os.fork()
        if self.pid:
            return
        status = LOST
        try:
            _take(streams)
            os.chdir(folder or Path.cwd())
            os.environ.update(environment or {})
            status = _run(arguments, before)
        except BaseException:
            traceback.print_exc()
        finally:
            os._exit(status)

    def send_signal(self, number: int) -> None:
        os.kill(self.pid, number)

    def poll(self) -> int | None:
        """The status if it has ended."""
        if self.returncode is None:
            pid, status = os.waitpid(self.pid, os.WNOHANG)
            self.returncode = os.waitstatus_to_exitcode(status) if pid else None
        return self.returncode

    def wait(self) -> int:
        """The exit status, or the signal that ended it, negative."""
        if self.returncode is None:
            self.returncode = os.waitstatus_to_exitcode(os.waitpid(self.pid, 0)[1])
        return self.returncode


def _take(streams: Sequence[int]) -> None:
    """Make these the standard streams, and close all others."""
    taken = [CLOSED if handle == CLOSED else os.dup(handle) for handle in streams]
    for stream, handle in enumerate(taken):
        if handle == CLOSED:
            os.close(stream)
        else:
            os.dup2(handle, stream)
    os.closerange(len(taken), 256)


def _run(arguments: Sequence[str], before: str) -> int:
    coding = os.environ.get("PYTHONIOENCODING", "utf-8")
    sys.stdin = _stream(0, "r", encoding=coding)
    sys.stdout = _stream(1, "w", encoding=coding)
    sys.stderr = _stream(2, "w", encoding=coding, buffering=1, errors="backslashreplace")
    sys.argv[:] = ["aswound", *arguments]
    warnings.resetwarnings()
    warnings.simplefilter("ignore")
    exec(before, {})
    status = 0
    try:
        program.run()
    except SystemExit as ended:
        status = ended.code if isinstance(ended.code, int) else int(ended.code is not None)
    for stream in (sys.stdout, sys.stderr):
        try:
            if stream is not None and not stream.closed:
                stream.flush()
        except (OSError, ValueError):
            status = LOST
    return status


def _stream(number: int, mode: str, **how: Any) -> Any:
    try:
        return open(number, mode, closefd=False, **how)
    except OSError:
        return None


def run(
    arguments: Sequence[str],
    *,
    folder: Path | None = None,
    environment: Mapping[str, str] | None = None,
    before: str = "",
    out: int | None = None,
    err: int | None = None,
) -> subprocess.CompletedProcess[str]:
    """A whole run: its status, and what it wrote where no stream is given."""
    with contextlib.ExitStack() as files:
        nothing = files.enter_context(open(os.devnull, "rb"))
        kept = [files.enter_context(tempfile.TemporaryFile()) for _ in range(2)]
        streams = (
            nothing.fileno(),
            kept[0].fileno() if out is None else out,
            kept[1].fileno() if err is None else err,
        )
        begun = Begun(arguments, streams, folder=folder, environment=environment, before=before)
        status = begun.wait()
        texts = []
        for file in kept:
            file.seek(0)
            texts.append(file.read().decode())
    return subprocess.CompletedProcess(["aswound", *arguments], status, *texts)
