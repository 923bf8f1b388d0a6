"""What the shell is offered."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

SAMPLES = Path(__file__).parents[2] / "samples"
FLYBACK = str(SAMPLES / "flyback-24w.toml")


def offered(*words: str) -> list[str]:
    """What bash is offered for the last word."""
    done = subprocess.run(
        [sys.executable, "-c", "import sys; from aswound.cli.main import main; sys.exit(main([]))"],
        env={
            "_ASWOUND_COMPLETE": "complete_bash",
            "COMP_WORDS": " ".join(["aswound", *words]),
            "COMP_CWORD": str(len(words)),
        },
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stderr == ""
    return done.stdout.split("\n") if done.stdout else []


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


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_the_script_can_be_shown(shell: str) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "aswound", "--show-completion", shell],
        capture_output=True,
        text=True,
        check=True,
    )
    assert "_ASWOUND_COMPLETE" in done.stdout
