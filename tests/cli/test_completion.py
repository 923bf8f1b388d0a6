"""What the shell is offered."""

from __future__ import annotations

import contextlib
import io
import os
import shutil
import subprocess
import sys
from pathlib import Path

import forked
import pytest
from how_many import and_slow

from aswound.cli.main import main

SAMPLES = Path(__file__).parents[2] / "samples"
FLYBACK = str(SAMPLES / "flyback-24w.toml")
RUN = "import sys; from aswound.cli.main import main; sys.exit(main())"
LINES = [
    ("aswound pre", "predict"),
    (f"aswound predict {FLYBACK} --draw-test n_", "n_AUX"),
    ("aswound lot x --rule g", "guarded"),
    ("aswound new --core ETD34", "ETD34/17/11"),
]
"""Lines with an unfinished last word, and something that is offered for it."""


def offered(*words: str) -> list[str]:
    """What bash is offered for the last word."""
    out, err = io.StringIO(), io.StringIO()
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("_ASWOUND_COMPLETE", "complete_bash")
        patch.setenv("COMP_WORDS", " ".join(["aswound", *words]))
        patch.setenv("COMP_CWORD", str(len(words)))
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            assert main([]) == 0
    assert err.getvalue() == ""
    return out.getvalue().split("\n") if out.getvalue() else []


@pytest.mark.parametrize(
    ("words", "some"),
    [
        (("pre",), ["predict"]),
        (("plan", "--lim"), ["--limits"]),
        (("new", "--core", "ETD34"), ["ETD34/17/11"]),
        (("cores", "etd34"), ["etd34/17/11"]),
        (("compare", FLYBACK, "--read", "Lk"), ["Lk_P=", "Lk_S="]),
        (("predict", FLYBACK, "--draw-test", "n_"), ["n_AUX"]),
        (("lot", FLYBACK, "--rule", "g"), ["guarded"]),
        (("schema", "comp"), ["compare"]),
        (("predict", "/no/such.toml", "--draw-test", "n_"), []),
        (("predict", __file__, "--draw-test", "n_"), []),
    ],
)
def test_offers(words: tuple[str, ...], some: list[str]) -> None:
    assert [line for line in offered(*words) if line] == some


def script(shell: str) -> str:
    """The script of a shell. The command finds out in which one it runs; here it is told."""
    told = {"_TYPER_COMPLETE_TEST_DISABLE_SHELL_DETECTION": "1"}
    done = forked.run(["--show-completion", shell], environment=told)
    assert done.returncode == 0, done.stderr
    return done.stdout


@pytest.mark.parametrize(
    ("shell", "mark"),
    [
        ("bash", "complete -o default -F _aswound_completion aswound"),
        ("zsh", "#compdef aswound"),
        ("fish", "complete --command aswound"),
    ],
)
def test_the_script_is_that_of_the_shell(shell: str, mark: str) -> None:
    text = script(shell)
    assert mark in text
    assert f"_ASWOUND_COMPLETE=complete_{shell}" in text


@pytest.mark.parametrize(("line", "some"), [*LINES[:1], *and_slow(*LINES[1:])])
def test_zsh_is_offered(line: str, some: str) -> None:
    """What zsh evaluates: a call of its own function that describes the words."""
    done = forked.run([], environment={"_ASWOUND_COMPLETE": "complete_zsh", "_TYPER_COMPLETE_ARGS": line})
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("_arguments '*: :((")
    assert f'"{some}"' in done.stdout.replace('":', '"')


@pytest.mark.skipif(shutil.which("fish") is None, reason="fish is not installed")
@pytest.mark.parametrize(("line", "some"), LINES)
def test_fish_offers(line: str, some: str, tmp_path: Path) -> None:
    """In the shell itself, with its script sourced and a command of this interpreter on its path."""
    command = tmp_path / "aswound"
    command.write_text(f'#!/bin/sh\nexec "{sys.executable}" -c \'{RUN}\' "$@"\n', encoding="utf-8")
    command.chmod(0o755)
    (tmp_path / "script.fish").write_text(script("fish"), encoding="utf-8")
    done = subprocess.run(
        ["fish", "--no-config", "-c", f"source {tmp_path}/script.fish; complete -C '{line}'"],
        env={**os.environ, "HOME": str(tmp_path), "PATH": f"{tmp_path}:{os.environ['PATH']}"},
        capture_output=True,
        text=True,
        check=True,
    )
    assert some in [offer.partition("\t")[0] for offer in done.stdout.splitlines()]
