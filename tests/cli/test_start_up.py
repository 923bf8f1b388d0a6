"""Help and version come without the heavy libraries, and a usage error too."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

HEAVY = ("numpy", "scipy", "pint", "jinja2")


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


SAMPLES = Path(__file__).parents[2] / "samples"
SLOW_TO_LOAD = ("pint", "scipy.stats", "scipy.optimize")
"""Libraries that take 0.1 to 1 s to load."""
NOT_NEEDED = (
    "numpy.ma",  # numpy.unique loads it
    "zipfile",
    "importlib.resources",
    "aswound.cli.sweep",
    "aswound.cli.documents.record",
)
"""Modules that take 1 to 10 ms, of which a table of causes needs none: masked arrays, workbooks, other
commands, JSON."""


@pytest.mark.parametrize(
    ("command", "sample", "libraries"),
    [
        ("predict", "bridge-300w", (*SLOW_TO_LOAD, "scipy")),
        ("compare", "bridge-300w", (*SLOW_TO_LOAD, "scipy")),
        ("sheet", "bridge-300w", (*SLOW_TO_LOAD, "scipy")),
        ("explain", "flyback-24w", (*SLOW_TO_LOAD, *NOT_NEEDED, "scipy")),  # reads a phase in degrees
        ("explain", "gate-drive", (*SLOW_TO_LOAD, *NOT_NEEDED, "scipy")),  # a ring: elliptic integrals
        ("report", "gate-drive", SLOW_TO_LOAD),
    ],
)
def test_a_sample_loads_no_library_that_it_does_not_need(
    command: str, sample: str, libraries: tuple[str, ...], tmp_path: Path
) -> None:
    """Nor is anything said but the page's name."""
    arguments = [command, str(SAMPLES / f"{sample}.toml")]
    arguments += [str(SAMPLES / f"{sample}.csv")] if command in ("compare", "explain", "report") else []
    arguments += ["--builds", "100"] if command in ("predict", "sheet", "report") else []
    arguments += ["-o", str(tmp_path / "page.html")] if command in ("sheet", "report") else []
    code = (
        "import sys, numpy\nown = set(sys.modules)\nfrom aswound.cli.main import main\n"
        f"main({arguments!r})\n"
        f"print([name for name in {libraries!r} if name in sys.modules and name not in own], file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    wrote = [f"Wrote {tmp_path / 'page.html'}."] if command in ("sheet", "report") else []
    assert done.stderr.splitlines() == [*wrote, "[]"]
