"""The list of deliberate mistakes stays alive: what it changes is still there once, and its tests are."""

from __future__ import annotations

import ast
import contextlib
import functools
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from product_source import ROOT, nodes_of, parsed

sys.path.insert(0, str(ROOT / "tests" / "mutations"))

from listed import MISTAKES
from mistake import Mistake

LEAST = 120


@functools.cache
def text(file: str) -> str:
    return (ROOT / file).read_text(encoding="utf-8")


@functools.cache
def functions(file: str) -> frozenset[str]:
    return frozenset(node.name for node in nodes_of(text(file)) if isinstance(node, ast.FunctionDef))


def faults_of(one: Mistake) -> Iterator[str]:
    """Why a mistake cannot be made, or by which test it cannot be noticed."""
    if text(one.file).count(one.before) != 1:
        yield "what it changes is gone, or there twice: change the list too"
        return
    changed = text(one.file).replace(one.before, one.after)
    if changed == text(one.file):
        yield "it changes nothing"
    if one.file.endswith(".py") and not is_python(one):
        yield "what it leaves is no Python"
    if not one.tests:
        yield "no test is named"
    for test in one.tests:
        file, _, function = test.partition("::")
        if not (ROOT / file).is_file() or (function and function.partition("[")[0] not in functions(file)):
            yield f"there is no {test}"


@functools.cache
def starts(file: str) -> tuple[int, ...]:
    """The lines, from 0, on which a module's statements at its top begin."""
    return tuple(
        min([node.lineno, *(mark.lineno for mark in getattr(node, "decorator_list", ()))]) - 1
        for node in parsed(text(file)).body
    )


def is_python(one: Mistake) -> bool:
    """Whether a module is still one with the mistake in it: by those of its statements in which it lies."""
    whole, lines = text(one.file), text(one.file).splitlines(keepends=True)
    begin = whole.index(one.before)
    first = whole.count("\n", 0, begin)
    last = first + one.before.count("\n")
    upper = max((line for line in starts(one.file) if line <= first), default=0)
    lower = min((line for line in starts(one.file) if line > last), default=len(lines))
    with contextlib.suppress(SyntaxError):
        ast.parse("".join(lines[upper:lower]).replace(one.before, one.after))
        return True
    return False


def test_every_mistake_can_be_made() -> None:
    assert [f"{one.name}: {fault}" for one in MISTAKES for fault in faults_of(one)] == []


@pytest.mark.parametrize(
    ("before", "after", "tests", "fault"),
    [
        ("nowhere to be found", "", ("tests/unit/test_rooms.py",), "is gone"),
        ("MOST_MODULES = 13", "MOST_MODULES = = 13", ("tests/unit/test_rooms.py",), "no Python"),
        ("MOST_MODULES = 13", "MOST_MODULES = 13", ("tests/unit/test_rooms.py",), "changes nothing"),
        ("MOST_MODULES = 13", "MOST_MODULES = 14", (), "no test is named"),
        ("MOST_MODULES = 13", "MOST_MODULES = 14", ("tests/unit/test_rooms.py::test_none",), "there is no"),
    ],
)
def test_what_cannot_be_made_is_seen(before: str, after: str, tests: tuple[str, ...], fault: str) -> None:
    assert any(fault in told for told in faults_of(Mistake("tests/unit/test_rooms.py", before, after, tests)))


def test_a_mistake_is_shown_to_slow_tests_too() -> None:
    """Half of the tests that are named are marked slow in parts."""
    assert '"--slow"' in text("tests/mutations/trial.py")


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
