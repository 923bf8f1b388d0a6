"""The list of deliberate mistakes stays alive: what it changes is still there once, and its tests are."""

from __future__ import annotations

import ast
import functools
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "tests" / "mutations"))

from listed import MISTAKES  # noqa: E402
from mistake import Mistake  # noqa: E402

LEAST = 120


@functools.cache
def text(file: str) -> str:
    return (ROOT / file).read_text(encoding="utf-8")


@functools.cache
def functions(file: str) -> frozenset[str]:
    return frozenset(
        node.name for node in ast.walk(ast.parse(text(file))) if isinstance(node, ast.FunctionDef)
    )


@pytest.mark.parametrize("one", MISTAKES, ids=lambda one: one.name)
def test_a_mistake_can_be_made(one: Mistake) -> None:
    assert text(one.file).count(one.before) == 1, (
        "what it changes is gone, or there twice: change the list too"
    )
    changed = text(one.file).replace(one.before, one.after)
    assert changed != text(one.file)
    if one.file.endswith(".py"):
        ast.parse(changed)
    assert one.tests
    for test in one.tests:
        file, _, function = test.partition("::")
        assert (ROOT / file).is_file(), test
        assert not function or function.partition("[")[0] in functions(file), test


def test_no_mistake_is_listed_twice() -> None:
    assert len({(one.file, one.before, one.after) for one in MISTAKES}) == len(MISTAKES)


def test_mistakes_are_made_in_every_room() -> None:
    rooms = {
        str(path.parent.relative_to(ROOT))
        for top in ("predict", "compare", "cli")
        for path in (ROOT / top).rglob("*.py")
        if path.name != "__init__.py" and path.parent.name != "aswound"
    }
    assert rooms - {str(Path(one.file).parent) for one in MISTAKES} == set()
    assert len(MISTAKES) >= LEAST
