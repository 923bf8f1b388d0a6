"""Published and judged constants stand still: every number that a module of predict/ and compare/ holds as a
constant is written down once more in ``constants/``, a page for each room, and says where it comes from.

    python tests/unit/test_constants.py     # writes the pages again; read the difference

Whoever moves one on purpose changes its page too, and says in the words below the constant on what it was
judged. What a page says of a constant is its literal value; numbers of a room that merely bound work (sizes
of a working set) are there as well.
"""

from __future__ import annotations

import ast
import dataclasses
import functools
import importlib
import re
import sys
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest

sys.path.append(str(Path(__file__).parents[1] / "shared"))  # where pytest finds it by itself

from product_source import ROOT, parsed, sources

PAGES = Path(__file__).parent / "constants"
TABLES = ("_KEYS", "CAUSE", "CAUSES")
"""Names of tables whose entries speak for themselves."""
ROOMS = sorted(
    {str(path.parent.relative_to(ROOT)) for path in sources() if path.relative_to(ROOT).parts[0] != "cli"}
)


@functools.cache
def names_of(path: Path) -> tuple[tuple[str, bool], ...]:
    """(name, whether words stand below it) of the constants of a module, in their order: names in capitals
    that a number stands behind. Words below the last of several lines serve them all."""
    body = parsed(sources()[path]).body
    found: list[tuple[str, bool]] = []
    waiting: list[str] = []
    for statement in body:
        targets = []
        if isinstance(statement, ast.Assign):
            targets = [node for target in statement.targets for node in ast.walk(target)]
        elif isinstance(statement, ast.AnnAssign):
            targets = [statement.target]
        names = [node.id for node in targets if isinstance(node, ast.Name)]
        if names and all(name.strip("_").isupper() for name in names):
            waiting += names
            continue
        told = isinstance(statement, ast.Expr) and isinstance(statement.value, ast.Constant)
        found += [(name, told) for name in waiting]
        waiting = []
    return (*found, *((name, False) for name in waiting))


def leaves(path: str, value: Any) -> Iterator[tuple[str, list[float]]]:
    """(path, numbers) of a constant's parts: a number, or a row of numbers, each by the keys and names that
    lead there. Sentences are left to the golden pages."""
    if isinstance(value, bool | str) or value is None:
        return
    if isinstance(value, int | float | np.integer | np.floating):
        yield path, [float(value)]
    elif dataclasses.is_dataclass(value) and not isinstance(value, type):
        for field in dataclasses.fields(value):
            yield from leaves(f"{path}.{field.name}", getattr(value, field.name))
    elif isinstance(value, Mapping):
        for key, each in value.items():
            if isinstance(key, str | int | float):
                yield from leaves(f"{path}[{key}]", each)
    elif isinstance(value, np.ndarray):
        yield path, [float(each) for each in value.ravel()]
    elif isinstance(value, frozenset | set) and all(isinstance(each, int | float) for each in value):
        yield path, sorted(map(float, value))
    elif isinstance(value, tuple | list):
        if value and all(isinstance(each, int | float) and not isinstance(each, bool) for each in value):
            yield path, list(map(float, value))
            return
        for number, each in enumerate(value):
            first = dataclasses.fields(each)[0].name if dataclasses.is_dataclass(each) else ""
            label = getattr(each, first) if first else number
            yield from leaves(f"{path}[{label}]", each)


@functools.cache
def constants_of(room: str) -> dict[str, list[float]]:
    """Module, name and place in it → numbers."""
    found: dict[str, list[float]] = {}
    for path in sorted((ROOT / room).glob("*.py")):
        parts = ["aswound", *path.relative_to(ROOT).with_suffix("").parts]
        module = importlib.import_module(".".join(parts).removesuffix(".__init__"))
        for name, _ in names_of(path):
            found.update(leaves(f"{path.stem}.{name}", getattr(module, name)))
    return found


def page_of(room: str) -> Path:
    return PAGES / f"{room.replace('/', '.')}.txt"


def read_page(room: str) -> dict[str, list[float]]:
    """What the page says; lines that begin with # are the words below the constants."""
    lines = page_of(room).read_text(encoding="utf-8").splitlines()
    pairs = (line.rsplit(" = ", 1) for line in lines if not line.startswith("#"))
    return {name: [float(part) for part in value.split(", ")] for name, value in pairs}


def same(one: list[float], other: list[float]) -> bool:
    return len(one) == len(other) and np.allclose(one, other, rtol=1e-12, atol=0.0, equal_nan=True)


@pytest.mark.parametrize("room", ROOMS)
def test_constants_are_those_of_the_page(room: str) -> None:
    there = constants_of(room)
    written = read_page(room) if page_of(room).exists() else {}
    assert sorted(there) == sorted(written), "a constant came or went: write the page again"
    moved = {name: (written[name], there[name]) for name in there if not same(written[name], there[name])}
    assert not moved, "moved: say on what it is judged, and write the page again"


@pytest.mark.parametrize("room", ROOMS)
def test_every_constant_says_where_it_comes_from(room: str) -> None:
    """Words below it: its source, or that it is judged, and on what."""
    held = constants_of(room)
    mute = [
        f"{path.stem}.{name}"
        for path in sorted((ROOT / room).glob("*.py"))
        for name, told in names_of(path)
        if not told
        and not name.startswith("_")
        and not name.endswith(TABLES)
        and any(re.match(rf"{path.stem}\.{name}\b", one) for one in held)
    ]
    assert not mute


BLOCKS = (
    *("_WIRE", "_FOIL", "_TRACK", "_STRAND", "_LITZ"),
    *("_INSULATION", "_SPACER", "_BUNCHED", "_BUNCHED_FOIL"),
)
"""Causes by themselves that the catalogue takes in."""
ORIGIN = re.compile(
    r"\b(IEC|ISO|JCGM|ASTM|CODATA)\b|[jJ]udged|common practice|from memory|exact|bounds work|[mM]easured"
    r"|follows from|[cC]alibrated as above|tests/|because|documented|half of"
)
"""What tells where a number comes from: a source; a custom of the trade; judged, and on what; it
bounds work and no result; or what it follows from."""


@pytest.mark.parametrize("room", ROOMS)
def test_what_readings_and_verdicts_rest_on_says_its_origin(room: str) -> None:
    """Of all constants with words below them, private ones too; several above one text share it. Blocks of
    the catalogue of causes hold their words inside."""
    held = constants_of(room)
    silent = [
        f"{path.stem}: {', '.join(names)}"
        for path in sorted((ROOT / room).glob("*.py"))
        for names, words in worded(path)
        if any(re.match(rf"{path.stem}\.{name}\b", one) for name in names for one in held)
        and not all(name.endswith((*TABLES, "CATALOGUE")) or name in BLOCKS for name in names)
        and not ORIGIN.search(words)
    ]
    assert not silent


def worded(path: Path) -> Iterator[tuple[list[str], str]]:
    """(names, words below them) of the constants of a module."""
    names: list[str] = []
    for statement in parsed(sources()[path]).body:
        if isinstance(statement, ast.Expr) and isinstance(statement.value, ast.Constant) and names:
            yield names, " ".join(str(statement.value.value).split())
            names = []
            continue
        targets = statement.targets if isinstance(statement, ast.Assign) else []
        own = [node.id for target in targets for node in ast.walk(target) if isinstance(node, ast.Name)]
        names = names + own if own and all(name.strip("_").isupper() for name in own) else []


def test_no_page_is_left_over() -> None:
    assert {path.name for path in PAGES.iterdir()} == {
        page_of(room).name for room in ROOMS if constants_of(room)
    }


def regenerate() -> None:
    PAGES.mkdir(exist_ok=True)
    for path in PAGES.iterdir():
        path.unlink()
    for room in ROOMS:
        found = constants_of(room)
        if found:
            text = "".join(f"{name} = {', '.join(map(repr, value))}\n" for name, value in found.items())
            page_of(room).write_text(text, encoding="utf-8")


if __name__ == "__main__":
    regenerate()
