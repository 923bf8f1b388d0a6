"""Exit statuses: 0 clean, 1 deviates, 2 unusable input, 3 a fault of the tool, 130 interrupted."""

from __future__ import annotations

import os
import shlex
import subprocess
import sys
from pathlib import Path

import forked
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
    assert "no verdict, since no reading is usable" in capsys.readouterr().out


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
        (["wires"], 0),
        (["compare", FLYBACK, "--read", "L_P=300uH"], 1),
        (["--help"], 0),
        (["plan", FLYBACK, "--csv"], 0),
    ],
)
def test_a_reader_that_has_gone_does_not_change_the_verdict(arguments: list[str], status: int) -> None:
    read, write = os.pipe()
    os.close(read)
    done = forked.run(arguments, out=write)
    os.close(write)
    assert done.stderr == ""
    assert done.returncode == status


def test_a_program_whose_reader_has_gone_ends_as_the_verdict_says() -> None:
    """Python's own end of the process too."""
    process = subprocess.Popen(
        [sys.executable, "-m", "aswound", "wires"], stdout=subprocess.PIPE, stderr=subprocess.PIPE
    )
    assert process.stdout is not None
    assert process.stderr is not None
    process.stdout.close()
    with process.stderr as stream:
        assert stream.read() == b""
    assert process.wait() == 0


def _run(arguments: list[str], *, out: str = os.devnull, err: str = os.devnull, closed: str = "") -> int:
    """The status of a run with its streams on files of those names, or closed ("1", "2")."""
    with open(out, "wb") as told, open(err, "wb") as said:
        streams = [
            forked.CLOSED if name in closed else file.fileno() for name, file in (("1", told), ("2", said))
        ]
        return forked.run(arguments, out=streams[0], err=streams[1]).returncode


def _started(arguments: list[str], *, out: str = os.devnull, err: str = os.devnull, closed: str = "") -> int:
    """The same of a program that is started so."""
    command = [sys.executable, "-m", "aswound", *arguments]
    shell = f"{shlex.join(command)} >{out} 2>{err}" + "".join(f" {fd}>&-" for fd in closed)
    return subprocess.run(["sh", "-c", shell], check=False).returncode


DEVIATES = ["compare", FLYBACK, "--read", "L_P=300uH"]


def test_a_full_or_closed_error_stream_changes_no_status() -> None:
    """1 only ever is a verdict."""
    assert _run(["predict", "--frobnicate"], err="/dev/full") == 2
    assert _run(["wires", "0.315"], closed="2") == 0
    for streams in ({"err": "/dev/full"}, {"closed": "2"}):
        assert _run(["predict", "no-such.toml"], **streams) == 2
        assert _run(DEVIATES, **streams) == 1
    assert _started(["predict", "no-such.toml"], closed="2") == 2


@pytest.mark.slow
def test_a_program_started_with_a_full_or_closed_error_stream_changes_no_status() -> None:
    for streams in ({"err": "/dev/full"}, {"closed": "2"}):
        assert _started(["predict", "no-such.toml"], **streams) == 2
        assert _started(DEVIATES, **streams) == 1
    assert _started(["wires", "0.315"], closed="2") == 0


@pytest.mark.slow
def test_a_full_output_is_said_and_a_closed_one_is_wanted(tmp_path: Path) -> None:
    said = tmp_path / "said"
    for arguments in (DEVIATES, ["--help"], ["plan", FLYBACK, "--csv"]):
        assert _started(arguments, out="/dev/full", err=str(said)) == 2
        assert said.read_text().startswith("aswound: ")
        assert "No space left on device" in said.read_text()
    assert _started(DEVIATES, closed="1") == 1
    assert _started(["wires", "0.315"], closed="12") == 0


def test_a_full_output_is_said(tmp_path: Path) -> None:
    said = tmp_path / "said"
    for arguments in (DEVIATES, ["--help"], ["plan", FLYBACK, "--csv"]):
        assert _run(arguments, out="/dev/full", err=str(said)) == 2
        assert said.read_text().startswith("aswound: ")
        assert "No space left on device" in said.read_text()
    assert _run(DEVIATES, closed="1") == 1


def test_an_interrupt_while_the_program_starts() -> None:
    """Whatever is imported when it comes: one line and 130."""
    code = (
        "import builtins, sys\n"
        "import aswound.cli.main as main\n"
        "real, left = builtins.__import__, [{count}]\n"
        "def slow(*given, **named):\n"
        "    left[0] -= 1\n"
        "    if left[0] == 0: raise KeyboardInterrupt\n"
        "    return real(*given, **named)\n"
        "builtins.__import__ = slow\n"
        "sys.argv[1:] = ['predict', {file!r}]\n"
        "main.run()\n"
    )
    for count in (1, 2, 5, 20, 100, 400):
        done = subprocess.run(
            [sys.executable, "-c", code.format(count=count, file=FLYBACK)],
            capture_output=True,
            text=True,
            check=False,
        )
        assert (done.returncode, done.stdout, done.stderr) == (130, "", "aswound: interrupted.\n"), count


@pytest.mark.slow
def test_no_library_speaks_on_the_error_stream(tmp_path: Path) -> None:
    """Python's warnings and those of the drawing library are remarks for programmers."""
    code = (
        "import sys, warnings\n"
        "import aswound.cli.main as main\n"
        "import aswound.cli.application as application\n"
        "real = application.parser\n"
        "def parser(arguments):\n"
        "    warnings.warn('invalid value encountered', RuntimeWarning)\n"
        "    return real(arguments)\n"
        "application.parser = parser\n"
        f"sys.argv[1:] = ['predict', {FLYBACK!r}, '--draw', {str(tmp_path / 'r.svg')!r}, '--builds', '100']\n"
        "main.run()\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0
    assert (
        "".join(done.stderr.split()) == f"Cross-sectionwrittento{tmp_path / 'r.svg'}."
    )  # a long path is folded


def test_the_linear_algebra_has_one_thread() -> None:
    """Whatever the caller's environment says: digits are the same on every machine."""
    code = (
        "import sys\nimport aswound.cli.main as main\nsys.argv[1:] = ['wires', '0.315']\n"
        "try: main.run()\nexcept SystemExit: pass\n"
        "import os; print(os.environ['OPENBLAS_NUM_THREADS'], os.environ['OMP_NUM_THREADS'], file=sys.stderr)"
    )
    environment = {**os.environ, "OPENBLAS_NUM_THREADS": "8", "OMP_NUM_THREADS": "8"}
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, env=environment
    )
    assert done.stderr == "1 1\n"


@pytest.mark.parametrize(
    ("error", "said"),
    [
        (
            ChildProcessError("1 of 7 portions of the work were not done"),
            "1 of 7 portions of the work were not done",
        ),
        (MemoryError(), "no memory is left for this; fewer --builds need less."),
    ],
)
def test_what_the_machine_ended_is_no_fault_of_the_tool(
    error: Exception, said: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    _raise(monkeypatch, error)
    assert main(["predict", FLYBACK]) == 2
    assert capsys.readouterr() == ("", f"aswound: {said}\n")
