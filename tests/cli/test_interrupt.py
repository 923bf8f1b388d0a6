"""Ctrl-C on a real pseudo-terminal: at once, one line, status 130, no traceback. Label: cli."""

from __future__ import annotations

import os
import pty
import select
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from how_many import and_slow

SAMPLES = Path(__file__).parents[2] / "samples"
FLYBACK = [str(SAMPLES / "flyback-24w.toml")]
CALLS = {
    "predict": ["predict", *FLYBACK, "--builds", "200000"],
    "explain": ["explain", *FLYBACK, str(SAMPLES / "flyback-24w.csv")],
    "interleave": ["interleave", *FLYBACK],
}
AT_ONCE = 5.0
"""Seconds from the interrupt to the end, on a machine that does other things as well."""


def _shown(terminal: int, until: float, text: str = "\0") -> str:
    """What the terminal shows up to ``text``, its end, or the time ``until``."""
    shown = ""
    while text not in shown and select.select([terminal], [], [], max(until - time.monotonic(), 0))[0]:
        try:
            part = os.read(terminal, 65536).decode()
        except OSError:  # the other end has closed
            break
        if not part:
            break
        shown += part
    return shown


def _interrupted(call: list[str], stands: str) -> tuple[int, str, float]:
    """(status, what the terminal showed, seconds from the interrupt to the end) of a command that gets SIGINT
    as soon as ``stands`` stands on the terminal, which also shows what is loaded, while it is."""
    ours, theirs = pty.openpty()
    environment = {**os.environ, "COLUMNS": "80", "LINES": "24", "TERM": "xterm"}
    process = subprocess.Popen(
        [sys.executable, "-X", "importtime", "-m", "aswound", *call],
        stdin=theirs,
        stdout=theirs,
        stderr=theirs,
        env=environment,
        start_new_session=True,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),  # a job in the background ignores it
    )
    os.close(theirs)
    try:
        shown = _shown(ours, time.monotonic() + 60, stands)
        assert stands in shown, shown
        began = time.monotonic()
        process.send_signal(signal.SIGINT)
        shown += _shown(ours, began + 60)
        status = process.wait(timeout=60)
        return status, shown.replace("\r\n", "\n"), time.monotonic() - began
    finally:
        if process.poll() is None:
            process.kill()
        process.wait()
        os.close(ours)


@pytest.mark.parametrize("name", ["explain", *and_slow("predict", "interleave")])
def test_a_command_at_work_leaves_at_once(name: str) -> None:
    """What is being done stands on the terminal; after Ctrl-C one line does."""
    _left_at_once(*_interrupted(CALLS[name], " of "))


@pytest.mark.parametrize(
    "module",
    [
        "typer.models",
        "aswound.predict.design",
        *and_slow("aswound.cli.views.prediction", "numpy._core", "tomllib"),
    ],
)
def test_a_command_that_still_loads_leaves_at_once(module: str) -> None:
    """Wherever it is on its way: the program itself, libraries, what reads a design."""
    _left_at_once(*_interrupted(CALLS["predict"], f" {module}\r"))


def _left_at_once(status: int, shown: str, spent: float) -> None:
    # a shell says 130 of both: interrupted within text that is executed (a dataclass being made), Python
    # ends itself by the signal once all is said
    assert status in (130, -signal.SIGINT)
    assert shown.endswith("aswound: interrupted.\n")
    assert shown.count("interrupted") == 1
    assert "Traceback" not in shown
    assert spent < AT_ONCE
