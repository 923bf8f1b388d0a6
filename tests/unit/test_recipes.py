"""The recipes of DEVELOPERS.md work as they stand: each is applied to a copy of the tree and used there."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
STEP = re.compile(
    r"^(?:In `(?P<file>[^`\n]+)`, (?P<side>above|below) `(?P<mark>[^`\n]+)`|"
    r"At the end of `(?P<last>[^`\n]+)`):\n\n"
    r"```\w+\n(?P<block>.*?)^```$",
    re.MULTILINE | re.DOTALL,
)


def copy_of_the_tree(folder: Path) -> Path:
    """An importable copy: the packages as pyproject.toml maps them, the tests beside them."""
    package = folder / "aswound"
    ignore = shutil.ignore_patterns("__pycache__", "aswound", "regression")
    shutil.copytree(ROOT / "cli" / "aswound", package)
    for top in ("predict", "compare", "cli"):
        shutil.copytree(ROOT / top, package / top, ignore=ignore)
    shutil.copytree(
        ROOT / "tests", folder / "tests", ignore=shutil.ignore_patterns("__pycache__", "regression")
    )
    shutil.copytree(ROOT / "samples", folder / "samples")
    for name in ("DEVELOPERS.md", "README.md", "pyproject.toml"):
        shutil.copy(ROOT / name, folder / name)
    return folder


def follow(heading: str, folder: Path) -> int:
    """Do what the section ``heading`` says, in the copy; the number of blocks put in."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").split(f"## {heading}\n")[1].split("\n## ")[0]
    steps = list(STEP.finditer(text))
    for step in steps:
        name = step["file"] or step["last"]
        path = folder / name if name.startswith("tests/") else folder / "aswound" / name
        old = path.read_text(encoding="utf-8")
        if step["last"]:
            path.write_text(f"{old}\n{step['block']}", encoding="utf-8")
            continue
        marks = [number for number, line in enumerate(old.split("\n")) if line.startswith(step["mark"])]
        assert len(marks) == 1, f"{step['mark']!r} stands once in {step['file']}"
        lines = old.split("\n")
        at = marks[0] + (step["side"] == "below")
        lines[at:at] = step["block"].split("\n")[:-1]
        path.write_text("\n".join(lines), encoding="utf-8")
    return len(steps)


def run(folder: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    environment = os.environ | {"PYTHONPATH": str(folder), "PYTHONPYCACHEPREFIX": str(folder / "compiled")}
    return subprocess.run(
        [sys.executable, *arguments], cwd=folder, env=environment, capture_output=True, text=True, check=False
    )


def aswound(folder: Path, *arguments: str) -> str:
    done = run(folder, "-m", "aswound", *arguments)
    assert done.returncode in (0, 1), done.stderr
    return done.stdout


@pytest.fixture
def tree(tmp_path: Path) -> Path:
    return copy_of_the_tree(tmp_path)


def expect_tests_to_pass(folder: Path, *selection: str) -> None:
    done = run(folder, "-m", "pytest", "-q", "-p", "no:cacheprovider", *selection)
    assert done.returncode == 0, done.stdout + done.stderr


def test_the_copy_is_what_runs(tree: Path) -> None:
    done = run(tree, "-c", "import aswound.predict; print(aswound.predict.__file__)")
    assert done.stdout.startswith(str(tree))


@pytest.mark.slow
def test_a_core(tree: Path) -> None:
    assert follow("Add a core, a wire, a material", tree) == 1
    assert "R 25.3/14.8/20" in aswound(tree, "cores", "R 25")
    expect_tests_to_pass(tree, "tests/published/test_catalogue_cores.py", "-k", "25.3")


@pytest.mark.slow
def test_a_cause(tree: Path) -> None:
    assert follow("Add a cause", tree) == 3
    samples = ("samples/flyback-24w.toml", "samples/flyback-24w.csv")
    said = json.loads(aswound(tree, "explain", *samples, "--json"))
    assert all(
        {"P", "S"} <= {cause["where"] for cause in sample["causes"] if cause["cause"] == "enamel"}
        for sample in said["samples"]
    )
    expect_tests_to_pass(
        tree, "tests/unit/test_causes.py", "--slow", "-k", "gate-drive-enamel or identifiers"
    )


@pytest.mark.slow
def test_a_measure(tree: Path) -> None:
    assert follow("Add a test of the bench (a measure)", tree) == 4
    design = tree / "d.toml"
    text = (tree / "samples" / "flyback-24w.toml").read_text(encoding="utf-8")
    for name, measure in (("D_P", "dissipation"), ("Q_P", "quality")):
        text += f'\n[[test]]\nname = "{name}"\nmeasure = "{measure}"\ndrive = "P"\nfrequency = "100 kHz"\n'
    design.write_text(text, encoding="utf-8")
    tests = {test["name"]: test for test in json.loads(aswound(tree, "predict", "d.toml", "--json"))["tests"]}
    assert tests["D_P"]["predicted"] == pytest.approx(1 / tests["Q_P"]["predicted"], rel=1e-9)
    off = 3 * tests["D_P"]["high"]
    said = json.loads(aswound(tree, "explain", "d.toml", "--read", f"D_P={off}", "--json"))
    (sample,) = said["samples"]
    assert sample["as_designed"] < 0.5
