"""The bar of whatever takes more than a second."""

from __future__ import annotations

import io
from pathlib import Path

import pytest

from aswound.cli import progress
from aswound.cli.main import main
from aswound.cli.output import write
from aswound.predict.telling import heard_by, tell

# seeds of their own: a spread that another test has asked for is remembered, and tells nothing
SAMPLE = Path(__file__).parents[2] / "samples" / "gate-drive.toml"


class Terminal(io.StringIO):
    encoding = "utf-8"

    def isatty(self) -> bool:
        return True


def test_predict_says_what_it_does_and_clears_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """On a terminal the random builds are counted on standard error; what is printed comes after the bar is
    gone, and standard output holds nothing of it."""
    terminal, out = Terminal(), io.StringIO()
    monkeypatch.setattr("sys.stderr", terminal)
    monkeypatch.setattr("sys.stdout", out)
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.setattr(progress, "PATIENCE", 0.0)
    assert main(["predict", str(SAMPLE), "--seed", "1001"]) == 0
    assert "Random builds" in terminal.getvalue()
    assert "Random builds" not in out.getvalue()
    assert "\x1b[2K" in terminal.getvalue().rpartition("Random builds")[2]  # the line is wiped


def test_nothing_is_shown_where_standard_error_is_no_terminal(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["predict", str(SAMPLE), "--seed", "1002"]) == 0
    assert capsys.readouterr().err == ""


def test_the_bar_goes_before_anything_is_printed(monkeypatch: pytest.MonkeyPatch) -> None:
    terminal = Terminal()
    monkeypatch.setattr("sys.stderr", terminal)
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.setattr(progress, "PATIENCE", 0.0)
    with progress.progress_bar() as bar, heard_by(bar):
        tell("Changed designs", 3, 9)
        assert "3 of 9" in terminal.getvalue()
        out = io.StringIO()
        before = len(terminal.getvalue())
        write("text", out)
        wiped = terminal.getvalue()[before:]
        assert "\x1b[2K" in wiped
        assert out.getvalue() == "text"


def test_ctrl_c_ends_with_130_and_no_trace(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Interrupted amid the random builds."""

    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("aswound.predict.production.monte_carlo.tell", interrupted)
    assert main(["predict", str(SAMPLE), "--seed", "1003"]) == 130
    captured = capsys.readouterr()
    assert "Traceback" not in captured.err
    assert captured.out == ""
