"""A process that is killed and a disk that is full, while a page or a design is written: the old file stands,
and nothing else does."""

from __future__ import annotations

import os
import signal
import subprocess
from pathlib import Path

import forked
import pytest
from how_many import and_slow
from small_design import SMALL, SMALL_READINGS

FEW = ["--builds", "100"]
WRITING = {
    "report": (["report", "d.toml", "r.csv", *FEW, "-o", "page.html", "--force"], "page.html"),
    "sheet": (["sheet", "d.toml", *FEW, "-o", "page.html", "--force"], "page.html"),
    "learned": (["compare", "d.toml", "r.csv", "--learn", "-o", "d.toml"], "d.toml"),
    "new page": (["sheet", "d.toml", *FEW, "-o", "new.html"], "new.html"),
}
KILLED = (
    "import os\n"
    "os.fsync = lambda handle: os.kill(os.getpid(), 9)\n"  # all is written, not yet in its place
)
LIMITED = (
    "import resource, signal\n"
    "signal.signal(signal.SIGXFSZ, signal.SIG_IGN)\n"
    "resource.setrlimit(resource.RLIMIT_FSIZE, (1000, resource.RLIM_INFINITY))\n"  # as of a full disk: half
)


DESIGN = f"# {1000 * 'x'}{SMALL}"
"""Longer than what a full disk takes of it."""


def _folder(tmp_path: Path) -> dict[str, bytes]:
    (tmp_path / "d.toml").write_text(DESIGN, encoding="utf-8")
    (tmp_path / "r.csv").write_text(SMALL_READINGS, encoding="utf-8")
    (tmp_path / "page.html").write_text("mine\n", encoding="utf-8")
    return {name: (tmp_path / name).read_bytes() for name in os.listdir(tmp_path)}


def _run(before: str, name: str, folder: Path) -> subprocess.CompletedProcess[str]:
    arguments, _ = WRITING[name]
    return forked.run(arguments, folder=folder, before=before)


@pytest.mark.parametrize("name", ["learned", *and_slow("report", "sheet", "new page")])
def test_killed_while_it_writes(name: str, tmp_path: Path) -> None:
    """SIGKILL, which nobody can catch, when the file is written but not yet in its place."""
    folder = tmp_path / "bench"
    folder.mkdir()
    before = _folder(folder)
    assert _run(KILLED, name, folder).returncode == -signal.SIGKILL
    assert {name: (folder / name).read_bytes() for name in os.listdir(folder)} == before


@pytest.mark.parametrize("name", ["new page", *and_slow("report", "sheet", "learned")])
def test_a_disk_that_is_full_half_way(name: str, tmp_path: Path) -> None:
    folder = tmp_path / "bench"
    folder.mkdir()
    before = _folder(folder)
    done = _run(LIMITED, name, folder)
    assert done.returncode == 2, done.stderr
    assert done.stdout == ""
    assert done.stderr == f"aswound: {WRITING[name][1]}: File too large\n"
    assert {name: (folder / name).read_bytes() for name in os.listdir(folder)} == before
