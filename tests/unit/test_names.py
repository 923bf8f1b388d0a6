"""One name, one thing: no public class or function of the product is named as another, and what has many
fields is built by keyword."""

from __future__ import annotations

import ast
from collections import defaultdict
from pathlib import Path

from product_source import ROOT, nodes_of, parsed, sources

MANY = 5
"""Fields that a reader may be asked to count; with more, every field is named where a value is built."""


def texts() -> dict[str, str]:
    """Every module by its path from the root."""
    return {str(path.relative_to(ROOT)): text for path, text in sources().items()}


def doubled(sources: dict[str, str]) -> dict[str, list[str]]:
    """Public classes and functions that more than one module defines, with the modules."""
    found: dict[str, list[str]] = defaultdict(list)
    for name, text in sources.items():
        for node in parsed(text).body:
            if isinstance(node, ast.ClassDef | ast.FunctionDef) and not node.name.startswith("_"):
                found[node.name].append(name)
    return {name: places for name, places in found.items() if len(places) > 1}


def built_by_position(text: str) -> list[str]:
    """Dataclasses of more than ``MANY`` fields that may be built by position."""
    found = []
    for node in nodes_of(text):
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
    assert len(texts()) > 300
    assert doubled(texts()) == {}


def test_many_fields_are_named_where_a_value_is_built() -> None:
    found = {path: built_by_position(text) for path, text in texts().items()}
    assert {path: names for path, names in found.items() if names} == {}


def test_the_checks_see_what_they_look_for() -> None:
    assert doubled({"a.py": "class Row: ...", "b.py": "def other(): ...\nclass Row: ..."}) == {
        "Row": ["a.py", "b.py"]
    }
    fields = "\n".join(f"    f{number}: int" for number in range(6))
    assert built_by_position(f"@dataclass(frozen=True)\nclass Long:\n{fields}") == ["Long"]
    assert built_by_position(f"@dataclass(frozen=True, kw_only=True)\nclass Long:\n{fields}") == []
    assert built_by_position(f"@dataclass\nclass Short:\n{fields.rpartition(chr(10))[0]}") == []


VAGUE = {"one": None, "other": None, "own": None, "found": ("str",), "place": ("str", "Place")}
"""Names of parameters that tell the reader nothing, with the annotations under which they may stand.

``found`` and ``place`` are fields of a ``Fault`` (what a file holds, and where): those who pass them on, as
text, name them alike. ``place`` is also a ``Place``, a leg with a chamber or sector of the winding space.
"""


def vague(text: str) -> list[str]:
    """Parameters of functions, lambdas included, that are named after nothing."""
    faults = "Fault" in text
    result = []
    for node in nodes_of(text):
        if not isinstance(node, ast.FunctionDef | ast.Lambda):
            continue
        given = node.args
        for parameter in (*given.posonlyargs, *given.args, *given.kwonlyargs, given.vararg, given.kwarg):
            if parameter is None or parameter.arg not in VAGUE:
                continue
            kind = ast.unparse(parameter.annotation) if parameter.annotation else ""
            allowed = VAGUE[parameter.arg] or ()
            if kind not in allowed or (kind == "str" and not faults):
                result.append(f"{getattr(node, 'name', 'lambda')}: {parameter.arg}")
    return result


def test_parameters_say_what_they_are() -> None:
    sources = {path: vague(text) for path, text in texts().items()}
    assert {path: names for path, names in sources.items() if names} == {}


def stray(text: str) -> list[str]:
    """Local names ``one``, ``other`` and ``own``, which say nothing of what they hold."""
    return sorted(
        {
            node.id
            for node in nodes_of(text)
            if isinstance(node, ast.Name)
            and isinstance(node.ctx, ast.Store)
            and VAGUE.get(node.id, ()) is None
        }
    )


def test_local_names_say_what_they_are() -> None:
    """Fields named ``own`` are those of a file: ``[calibration] own``."""
    fields = {"predict/design/variation.py", "compare/lots/learned.py", "cli/documents/compare_document.py"}
    names = {path: stray(text) for path, text in texts().items()}
    assert {path: left for path, left in names.items() if left and path not in fields} == {}
    assert all(names[path] == ["own"] for path in fields)


def test_a_stray_name_is_seen() -> None:
    assert stray("one = 1\nfor other, place in rows: ...\nx = [own for own in own_rows]") == [
        "one",
        "other",
        "own",
    ]
    assert stray("first = 1\nfor found in rows: ...") == []


def test_a_vague_parameter_is_seen() -> None:
    assert vague("def f(own: float, *, other: int): ...") == ["f: own", "f: other"]
    assert vague("key = lambda one: one.x") == ["lambda: one"]
    assert vague("def f(place: int): ...") == ["f: place"]
    assert vague("def f(place: str): ...") == ["f: place"]
    assert vague("from errors import Fault\ndef f(place: str, found: str): ...") == []
    assert vague("def f(place: Place): ...") == []
    assert vague("from errors import Fault\ndef f(found: list[str]): ...") == ["f: found"]


OF_PYTHON = {"__getattr__"}
"""Module functions that Python itself calls."""


def unused(sources: dict[str, str]) -> list[str]:
    """Functions, classes and constants at the top of a module that no other line of the product names.

    Names in the ``__init__`` of a room do not count: they hand on, and use nothing. A class written whole by
    the schemas (``…Document``) is found by them.
    """
    defined: dict[str, list[str]] = {}
    named: set[str] = set()
    for path, text in sources.items():
        tree = parsed(text)
        for node in nodes_of(text):
            if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load):
                named.add(node.id)
            elif isinstance(node, ast.Attribute):
                named.add(node.attr)
            elif isinstance(node, ast.Constant) and isinstance(node.value, str) and "__init__" not in path:
                named.add(node.value)
        for node in tree.body:
            marked = bool(getattr(node, "decorator_list", []))
            if isinstance(node, ast.ClassDef) or (isinstance(node, ast.FunctionDef) and not marked):
                defined.setdefault(node.name, []).append(path)
            elif isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Name):
                defined.setdefault(node.targets[0].id, []).append(path)
    return sorted(
        f"{paths[0]}: {name}"
        for name, paths in defined.items()
        if name not in named | OF_PYTHON and not name.endswith("Document") and not name.startswith("__")
    )


def test_the_product_uses_what_it_defines() -> None:
    """What only tests use belongs to them; what ``predict`` and ``compare`` hand on is for users."""
    public = {name for room in ("predict", "compare") for name in _handed_on(ROOT / room / "__init__.py")}
    left = unused(texts())
    assert [name for name in left if name.split(": ")[1] not in public] == []


def _handed_on(face: Path) -> set[str]:
    """Every text of a package's ``__init__``: what it says that it hands on."""
    tree = ast.parse(face.read_text("utf-8"))
    return {n.value for n in ast.walk(tree) if isinstance(n, ast.Constant) and isinstance(n.value, str)}


def test_what_nothing_uses_is_seen() -> None:
    sources = {"a.py": "LIMIT = 1\ndef used(): ...\ndef idle(): ...", "b.py": "from a import used\nused()"}
    assert unused(sources) == ["a.py: LIMIT", "a.py: idle"]
    assert unused({**sources, "c/__init__.py": "__all__ = ['idle']"}) == ["a.py: LIMIT", "a.py: idle"]
    assert unused({"a.py": "@command\ndef run(): ...\nclass RunDocument: ...\n__all__ = []"}) == []
