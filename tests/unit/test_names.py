"""One name, one thing: no public class or function of the product is named as another, and what has many
fields is built by keyword."""

from __future__ import annotations

import ast
from collections import defaultdict
from pathlib import Path

ROOT = Path(__file__).parents[2]
MANY = 5
"""Fields that a reader may be asked to count; with more, every field is named where a value is built."""
SOURCES = sorted(path for room in ("predict", "compare", "cli") for path in (ROOT / room).rglob("*.py"))


def doubled(sources: dict[str, str]) -> dict[str, list[str]]:
    """Public classes and functions that more than one module defines, with the modules."""
    found: dict[str, list[str]] = defaultdict(list)
    for name, text in sources.items():
        for node in ast.parse(text).body:
            if isinstance(node, ast.ClassDef | ast.FunctionDef) and not node.name.startswith("_"):
                found[node.name].append(name)
    return {name: places for name, places in found.items() if len(places) > 1}


def built_by_position(text: str) -> list[str]:
    """Dataclasses of more than ``MANY`` fields that may be built by position."""
    found = []
    for node in ast.walk(ast.parse(text)):
        if not isinstance(node, ast.ClassDef):
            continue
        marks = [mark for mark in map(ast.unparse, node.decorator_list) if mark.startswith("dataclass")]
        fields = [
            line
            for line in node.body
            if isinstance(line, ast.AnnAssign) and not ast.unparse(line.annotation).startswith("ClassVar")
        ]
        if marks and len(fields) > MANY and "kw_only=True" not in marks[0]:
            found.append(node.name)
    return found


def test_no_public_name_stands_for_two_things() -> None:
    texts = {str(path.relative_to(ROOT)): path.read_text("utf-8") for path in SOURCES}
    assert len(texts) > 300
    assert doubled(texts) == {}


def test_many_fields_are_named_where_a_value_is_built() -> None:
    found = {str(path.relative_to(ROOT)): built_by_position(path.read_text("utf-8")) for path in SOURCES}
    assert {path: names for path, names in found.items() if names} == {}


def test_the_checks_see_what_they_look_for() -> None:
    assert doubled({"a.py": "class Row: ...", "b.py": "def other(): ...\nclass Row: ..."}) == {
        "Row": ["a.py", "b.py"]
    }
    fields = "\n".join(f"    f{number}: int" for number in range(6))
    assert built_by_position(f"@dataclass(frozen=True)\nclass Long:\n{fields}") == ["Long"]
    assert built_by_position(f"@dataclass(frozen=True, kw_only=True)\nclass Long:\n{fields}") == []
    assert built_by_position(f"@dataclass\nclass Short:\n{fields.rpartition(chr(10))[0]}") == []
