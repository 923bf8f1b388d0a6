"""The examples of docstrings, run as they stand; every name of the public API that does something has one."""

from __future__ import annotations

import doctest
import importlib
import inspect
import pkgutil
import re
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import pytest

import aswound.cli
import aswound.compare
import aswound.predict

ROOT = Path(__file__).parents[2]
VALUES = {"Design", "Diagnosis", "Reading"}
"""Names of the public API that are what functions return."""


def modules() -> Iterator[str]:
    """Modules whose text holds an example."""
    for package in (aswound.predict, aswound.compare, aswound.cli):
        for found in pkgutil.walk_packages(package.__path__, f"{package.__name__}."):
            folder, _, rest = found.name.removeprefix("aswound.").partition(".")
            path = ROOT / folder / rest.replace(".", "/")
            for file in (path.with_suffix(".py"), path / "__init__.py"):
                if file.is_file() and ">>> " in file.read_text(encoding="utf-8"):
                    yield found.name


@pytest.mark.parametrize("name", sorted(set(modules())))
def test_examples(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    module = importlib.import_module(name)
    runner = doctest.DocTestRunner(optionflags=doctest.NORMALIZE_WHITESPACE)
    written = (ROOT / name.removeprefix("aswound.").replace(".", "/")).with_suffix(".py").read_text("utf-8")
    tests = doctest.DocTestFinder(exclude_empty=True).find(module)
    assert sum(len(test.examples) for test in tests) == written.count(">>> ")
    for test in tests:
        assert runner.run(test).failed == 0


@pytest.mark.parametrize("package", [aswound.predict, aswound.compare])
def test_the_public_api_has_examples(package: ModuleType) -> None:
    for name in set(package.__all__) - VALUES:
        written = inspect.getdoc(inspect.unwrap(getattr(package, name)))
        assert written is not None, name
        assert ">>> " in written, name


PAGES = [
    ROOT / name
    for name in ("README.md", "DEVELOPERS.md", "tests/mutations/README.md", "tests/benchmarks/README.md")
]
NAMED = re.compile(r"(?<![\w/.])(?:tests|predict|compare|cli|samples|\.ci)/[\w./*-]*\w/?")


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_files_named_in_prose_exist(page: Path) -> None:
    """Also the options of our own scripts that stand there: each script knows them."""
    text = page.read_text(encoding="utf-8")
    for named in set(NAMED.findall(text)):
        assert list(ROOT.glob(named.rstrip("/"))), named
    for script, options in re.findall(r"python (tests/[\w/]+\.py)((?: +[^\n#`;]+)?)", text):
        for option in re.findall(r"--[\w-]+", options):
            assert f'"{option}"' in (ROOT / script).read_text(encoding="utf-8"), (script, option)
