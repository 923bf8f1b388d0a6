"""Exit statuses: 0 clean, 1 deviates, 2 unusable input, 3 a fault of the tool, 130 interrupted."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from aswound.cli.main import main

FLYBACK = str(Path(__file__).parents[2] / "samples" / "flyback-24w.toml")


def _raise(monkeypatch: pytest.MonkeyPatch, error: BaseException) -> None:
    def broken(*_: object, **__: object) -> None:
        raise error

    monkeypatch.setattr("aswound.predict.designfile.load_design", broken)


def test_a_fault_of_the_tool(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    _raise(monkeypatch, ZeroDivisionError("boom\nand more"))
    assert main(["predict", FLYBACK]) == 3
    shown = capsys.readouterr()
    assert shown.out == ""
    assert "please report it" in shown.err
    assert "ZeroDivisionError: boom and more" in shown.err
    assert shown.err.count("\n") == 1


@pytest.mark.parametrize("arguments", [["--debug", "predict", FLYBACK], ["predict", FLYBACK, "--debug"]])
def test_debug_shows_the_traceback_and_keeps_the_status(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, arguments: list[str]
) -> None:
    _raise(monkeypatch, ZeroDivisionError("boom"))
    assert main(arguments) == 3
    assert "Traceback" in capsys.readouterr().err
    monkeypatch.undo()
    assert main(["predict", "no-such.toml", "--debug"]) == 2
    shown = capsys.readouterr().err
    assert "Traceback" in shown
    assert "- no-such.toml" in shown


def test_interrupted(monkeypatch: pytest.MonkeyPatch) -> None:
    _raise(monkeypatch, KeyboardInterrupt())
    assert main(["predict", FLYBACK]) == 130


def test_an_unreadable_file(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    _raise(monkeypatch, PermissionError(13, "Permission denied", "x.toml"))
    assert main(["predict", FLYBACK]) == 2
    assert capsys.readouterr().err == "aswound: x.toml: Permission denied\n"


def test_no_arguments(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([]) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert "predict" in shown.err


def test_nothing_readable_is_no_deviation(capsys: pytest.CaptureFixture[str]) -> None:
    for command in ("compare", "explain"):
        assert main([command, FLYBACK, "--read", "L_P=OL"]) == 0
    assert "nothing can be said" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("arguments", "word"),
    [
        (["plan", FLYBACK, "--samples", "A1"], "--csv"),
        (["plan", FLYBACK, "--csv", "--json"], "--json"),
        (["plan", FLYBACK, "--csv", "--samples", "A1,,A2"], "name"),
        (["predict", FLYBACK, "--against", FLYBACK, "--set", "step2.wraps=4"], "--against"),
    ],
)
def test_options_that_exclude_each_other(
    capsys: pytest.CaptureFixture[str], arguments: list[str], word: str
) -> None:
    assert main(arguments) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert word in shown.err


@pytest.mark.parametrize(
    ("arguments", "status"),
    [
        (["--help"], 0),
        (["wires"], 0),
        (["plan", FLYBACK, "--csv"], 0),
        (["compare", FLYBACK, "--read", "L_P=300uH"], 1),
    ],
)
def test_a_reader_that_has_gone_does_not_change_the_verdict(arguments: list[str], status: int) -> None:
    process = subprocess.Popen(
        [sys.executable, "-m", "aswound", *arguments], stdout=subprocess.PIPE, stderr=subprocess.PIPE
    )
    assert process.stdout is not None
    assert process.stderr is not None
    process.stdout.close()
    with process.stderr as stream:
        assert stream.read() == b""
    assert process.wait() == status
