"""Help and version come without the heavy libraries, and a usage error too."""

from __future__ import annotations

import subprocess
import sys

import pytest

HEAVY = ("numpy", "scipy", "pint", "jinja2", "matplotlib")


@pytest.mark.parametrize(
    ("arguments", "status"),
    [
        (["--help"], 0),
        (["--version"], 0),
        (["predict", "--help"], 0),
        (["explain", "--help"], 0),
        (["predict", "--frobnicate"], 2),
    ],
)
def test_nothing_heavy_is_loaded(arguments: list[str], status: int) -> None:
    code = (
        "import sys\nfrom aswound.cli.main import main\n"
        f"status = main({arguments!r})\n"
        f"print(sorted(set(sys.modules) & set({HEAVY!r})), status, file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stderr.splitlines()[-1] == f"[] {status}"
    assert bool(done.stdout) == (status == 0)


def test_a_command_loads_what_it_needs() -> None:
    """The check above can fail: the same look finds numpy after a command that computes."""
    code = (
        "import sys\nfrom aswound.cli.main import main\nmain(['wires', '0.315'])\n"
        "print('numpy' in sys.modules, file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stderr == "True\n"
