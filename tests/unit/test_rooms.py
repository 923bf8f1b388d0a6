"""The rooms of predict/ and compare/: imports go one way, through each room's face, and never in a circle.

The rooms stand once, in DEVELOPERS.md, in their order. All imports count: at the top of a module, inside a
function, under TYPE_CHECKING.
"""

from __future__ import annotations

import ast
import fnmatch
import re
from collections.abc import Iterable
from functools import cache
from pathlib import Path

import pytest
from product_source import ROOT, nodes_of, parsed, sources

MOST_MODULES = 13


@cache
def rooms() -> tuple[str, ...]:
    """Rooms as module paths ("predict.cores"), in order; the vocabulary's modules come first, one by one."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    table = text.split("## The rooms")[1].split("\n## ")[0]
    vocabulary = re.search(r"^\| vocabulary: (.*?) \|", table, re.MULTILINE)
    assert vocabulary
    listed = [f"predict.{name}" for name in re.findall(r"`(\w+)`", vocabulary[1])]
    folders = re.findall(r"^\| `((?:predict|compare)/[\w/]+)/` \|", table, re.MULTILINE)
    assert len(folders) > 20, "the table of DEVELOPERS.md is read"
    return (*listed, *(folder.replace("/", ".") for folder in folders))


@cache
def modules() -> dict[str, Path]:
    """Every module of the three folders by its path, packages without ``__init__``."""
    found = {}
    for path in sources():
        if "aswound" not in path.relative_to(ROOT).parts:
            name = ".".join(path.relative_to(ROOT).with_suffix("").parts)
            found[name.removesuffix(".__init__")] = path
    return found


def room_of(module: str) -> str | None:
    """The room that holds a module; None for the front doors of predict, compare and for cli."""
    holding = [room for room in rooms() if f"{module}.".startswith(f"{room}.")]
    return max(holding, key=len, default=None)


@cache
def imports_of(module: str, path: Path, text: str | None = None) -> tuple[tuple[str, str], ...]:
    """(module, name) for every relative import, wherever it stands."""
    found = []
    package = module.split(".") if path.name == "__init__.py" else module.split(".")[:-1]
    for node in nodes_of(sources()[path] if text is None else text):
        if isinstance(node, ast.ImportFrom) and node.level:
            base = package[: len(package) - (node.level - 1)] + (node.module or "").split(".")
            target = ".".join(part for part in base if part)
            for name in node.names:
                whole = f"{target}.{name.name}"
                found.append((whole if whole in modules() else target, name.name))
    return tuple(found)


def arrow_faults(module: str, imports: Iterable[tuple[str, str]]) -> list[str]:
    """What is wrong with the imports of one module: an arrow that goes up, or past a room's face."""
    own, order = room_of(module), rooms()
    faults = []
    for target, name in imports:
        there = room_of(target)
        if module.startswith("predict") and not target.startswith("predict"):
            faults.append(f"{module} imports {target}: predict knows neither compare nor cli")
        elif module.startswith("compare") and target.startswith("cli"):
            faults.append(f"{module} imports {target}: compare does not know cli")
        elif there is None or there == own:
            continue
        elif own is not None and order.index(there) > order.index(own):
            faults.append(f"{module} imports {name} from {target}, a later room")
        elif target != there and module not in ("predict", "compare"):
            faults.append(f"{module} imports {name} from {target}: take it from {there}")
    return faults


def test_imports_go_one_way_and_through_the_room() -> None:
    faults = [
        fault
        for module, path in modules().items()
        for fault in arrow_faults(module, imports_of(module, path))
    ]
    assert faults == []


@pytest.mark.parametrize(
    ("module", "line", "said"),
    [
        ("predict.cores.gap", "from ..winding import lay_out", "a later room"),
        ("predict.design.core", "def f():\n    from ..circuit import readings", "a later room"),
        ("predict.circuit.bench", "if TYPE_CHECKING:\n    from ..production import spread", "a later room"),
        ("compare.verdict.stages", "from ..diagnosis import explain", "a later room"),
        ("predict.copper.resistance", "from ..winding.layout import lay_out", "take it from predict.winding"),
        ("predict.circuit.bench", "from ...compare.meter import budget", "neither compare nor cli"),
    ],
)
def test_a_wrong_arrow_is_seen(module: str, line: str, said: str) -> None:
    (fault,) = arrow_faults(module, imports_of(module, modules()[module], line))
    assert said in fault


def test_no_module_imports_itself_by_a_detour() -> None:
    """Circles of modules: the walk removes what imports nothing that is left, until nothing more goes."""
    left = {
        module: {target for target, _ in imports_of(module, path) if target != module}
        for module, path in modules().items()
        if path.name != "__init__.py"
    }
    while free := [module for module, targets in left.items() if not targets & left.keys()]:
        for module in free:
            del left[module]
    assert left == {}


FOR_USERS = ("predict.field", "predict.design")
"""Faces that the contract or the guide name: they hand on more than other rooms take."""


def test_a_face_hands_on_what_others_take() -> None:
    """From a room's own modules, names alone: what only the room or its tests use stays inside."""
    taken = {
        (target, name)
        for module, path in modules().items()
        for target, name in imports_of(module, path)
        if room_of(module) != target
    }
    idle = []
    for room in set(rooms()) - set(FOR_USERS):
        path = modules()[room]
        if path.name == "__init__.py":
            tree = ast.parse(path.read_text(encoding="utf-8"))
            used = {node.id for node in ast.walk(tree) if isinstance(node, ast.Name)}
            handed_on = {name for target, name in imports_of(room, path) if target.startswith(f"{room}.")}
            idle += [f"{room}: {name}" for name in handed_on - used if (room, name) not in taken]
    assert sorted(idle) == []


def test_every_module_has_a_room() -> None:
    homeless = [name for name in modules() if not name.startswith("cli") and room_of(name) is None]
    assert sorted(homeless) == ["compare", "predict"]


def test_every_room_says_what_it_answers_and_is_small() -> None:
    for room in rooms():
        path = modules()[room]
        said = ast.get_docstring(parsed(sources()[path])) or ""
        assert len(re.findall(r"\.(?:\s|$)", said)) >= (2 if path.name == "__init__.py" else 1), room
        if path.name == "__init__.py":
            inside = [name for name in path.parent.glob("*.py") if name.name != "__init__.py"]
            assert len(inside) <= MOST_MODULES, room


def test_no_module_bears_the_name_of_what_its_room_hands_on() -> None:
    """``from aswound.predict.circuit import display`` must find the function."""
    for name, path in modules().items():
        if path.name == "__init__.py":
            handed_on = {
                alias.asname or alias.name
                for node in nodes_of(sources()[path])
                if isinstance(node, ast.ImportFrom) and node.module
                for alias in node.names
            }
            inside = {module.rpartition(".")[2] for module in modules() if module.rpartition(".")[0] == name}
            assert not handed_on & inside, name


def test_the_table_names_modules_that_are_there() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    table = text.split("## The rooms")[1].split("\n## ")[0]
    rows = re.findall(r"^\| `((?:predict|compare)/[\w/]+)/` \|[^|]*\|([^|]*)\|$", table, re.MULTILINE)
    assert len(rows) > 20
    for folder, where in rows:
        names = set(re.findall(r"`([\w*]+)`", where)) - {"weight"}
        there = [path.stem for path in (ROOT / folder).glob("*.py")]
        assert {name for name in names if not fnmatch.filter(there, name)} == set(), folder


@pytest.mark.parametrize("face", [path for path in sources() if path.name == "__init__.py"], ids=str)
def test_a_face_lists_its_own_names(face: Path) -> None:
    """What ``__all__`` hands on is the product's own, and no name of the room is forgotten."""
    own: set[str] = set()
    handed_on: set[str] = set()
    listed = None
    for node in parsed(sources()[face]).body:
        if isinstance(node, ast.ImportFrom) and node.level:
            names = {name.asname or name.name for name in node.names}
            if node.level == 1 and node.module is not None:
                own |= names
            handed_on |= names
        elif isinstance(node, ast.FunctionDef | ast.ClassDef):
            own.add(node.name)
        elif isinstance(node, ast.Assign | ast.AnnAssign):
            targets = node.targets if isinstance(node, ast.Assign) else [node.target]
            names = {target.id for target in targets if isinstance(target, ast.Name)}
            if "__all__" not in names:
                own |= names
            elif isinstance(node.value, ast.List):
                listed = set(ast.literal_eval(node.value))
    if listed is not None:
        assert {name for name in own if not name.startswith("_")} <= listed <= own | handed_on
