"""Help and version come without the heavy libraries, and a usage error too."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from how_many import and_slow
from small_design import SMALL, SMALL_READINGS

HEAVY = ("numpy", "scipy", "pint", "jinja2")


@pytest.mark.parametrize(
    ("arguments", "status"),
    [
        (["--help"], 0),
        (["predict", "--frobnicate"], 2),
        *and_slow((["--version"], 0), (["predict", "--help"], 0), (["explain", "--help"], 0)),
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


SCIPY = (*SLOW_TO_LOAD, "scipy")
PHASE = """
[[test]]
name = "dot"
measure = "phase"
drive = "P"
sense = "S"
frequency = "10 kHz"
"""


def arguments_of(command: str, design: Path, page: Path) -> list[str]:
    """The command of a design and of the readings beside it, with few builds."""
    arguments = [command, str(design)]
    arguments += [str(design.with_suffix(".csv"))] if command in ("compare", "explain", "report") else []
    arguments += ["--builds", "100"] if command in ("predict", "sheet", "report") else []
    return [*arguments, *(["-o", str(page)] if command in ("sheet", "report") else [])]


def loaded(libraries: tuple[str, ...], *commands: list[str]) -> list[str]:
    """What the error stream says of the commands, run in one process, and last which of the libraries are
    loaded then."""
    code = (
        "import sys, numpy\nown = set(sys.modules)\nfrom aswound.cli.main import main\n"
        f"for command in {list(commands)!r}: main(command)\n"
        f"print([name for name in {libraries!r} if name in sys.modules and name not in own], file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return done.stderr.splitlines()


def test_what_every_design_does_loads_no_library_that_it_does_not_need(tmp_path: Path) -> None:
    """Nor is anything said but the page's name."""
    design, page = tmp_path / "small.toml", tmp_path / "page.html"
    design.write_text(SMALL, encoding="utf-8")
    design.with_suffix(".csv").write_text(SMALL_READINGS, encoding="utf-8")
    commands = [arguments_of(command, design, page) for command in ("compare", "sheet")]
    assert loaded(SCIPY, *commands) == [f"Wrote {page}.", "[]"]


@pytest.mark.parametrize(
    ("command", "sample", "libraries"),
    [
        ("explain", "small", (*NOT_NEEDED, *SCIPY)),  # reads a phase in degrees
        *(
            pytest.param(*row, marks=pytest.mark.slow)
            for row in (
                ("explain", "flyback-24w", (*NOT_NEEDED, *SCIPY)),
                ("explain", "gate-drive", (*NOT_NEEDED, *SCIPY)),  # a ring: elliptic integrals
                ("sheet", "bridge-300w", SCIPY),
                ("report", "gate-drive", SLOW_TO_LOAD),
            )
        ),
    ],
)
def test_a_sample_loads_no_library_that_it_does_not_need(
    command: str, sample: str, libraries: tuple[str, ...], tmp_path: Path
) -> None:
    page, design = tmp_path / "page.html", SAMPLES / f"{sample}.toml"
    if sample == "small":
        design = tmp_path / "small.toml"
        design.write_text(SMALL + PHASE, encoding="utf-8")
        design.with_suffix(".csv").write_text(f"{SMALL_READINGS}A2,dot,0.2 deg\n", encoding="utf-8")
    told = loaded(libraries, arguments_of(command, design, page))
    assert told == [*([f"Wrote {page}."] if command in ("sheet", "report") else []), "[]"]
