"""Docstrings of the public functions and classes: every argument is named, every number has its unit.

The rooms that hold to it stand in ``DONE``. The style is numpydoc; a function of at most one argument may do
with one paragraph that names the unit of its result.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
DONE: tuple[str, ...] = (
    "compare",
    "compare/aims",
    "compare/causes",
    "compare/consistency",
    "compare/diagnosis",
    "compare/hypotheses",
    "compare/lots",
    "compare/meter",
    "compare/plan",
    "compare/readings",
    "compare/verdict",
    "predict",
    "predict/capacitance",
    "predict/catalogue",
    "predict/circuit",
    "predict/copper",
    "predict/cores",
    "predict/design",
    "predict/designfile",
    "predict/designfile/grammar",
    "predict/designfile/tables",
    "predict/field",
    "predict/forms",
    "predict/interleave",
    "predict/netlist",
    "predict/production",
    "predict/quantity",
    "predict/shop",
    "predict/winding",
)
"""Folders whose modules are checked, each without the folders inside it."""

Function = ast.FunctionDef | ast.AsyncFunctionDef

ARRAY = r"(?:Float|Complex|Bool|Int)Array|ArrayLike|NDArray|Real|ndarray"
NUMBER = re.compile(rf"\b(?:float|int|complex|{ARRAY})\b")
SHAPED = re.compile(rf"\b(?:{ARRAY})\b")
UNIT_FREE = re.compile(r"\bCallable\b|\bBoolArray\b|\bbool_")
"""Annotations that need no unit: functions, and arrays of true and false."""

_SIMPLE = (
    r"(?:[kMmµnp]?(?:H|Hz|rad|ohm|Ω|F|V|A|W|J|m|s|g|T|K|S|C|Wb)|kg|degC|%|SI|years?|h|"
    r"[pnµmcdk]?m[²³]|mm²|turns?|strands?|m\^-?\d|decades?|dB)"
)
UNIT = re.compile(
    rf"(?:, |\(|\bin |; ){_SIMPLE}(?:[/·⋅ ]?\(?{_SIMPLE}[²³⁻¹]*\)?)*(?![\w])"
    rf"|(?:, |\(|\bin )1/{_SIMPLE}|\b(?i:dimensionless|counts?|index|indices|seed|relative|SI units?)\b"
)
SHAPE = re.compile(r"\((?:[\w.*+×·\- ]+,\s*)+(?:[\w.*+×·\- ]+)?\)|\(\)|\bscalar\b")
_HEADING = re.compile(r"^(\w[\w ]*)\n-{3,}$", re.MULTILINE)


def sections(docstring: str) -> dict[str, str]:
    """The text under every heading of a numpydoc docstring; that before the first one under ""."""
    pieces = _HEADING.split(docstring)
    return {"": pieces[0], **dict(zip(pieces[1::2], pieces[2::2], strict=True))}


def entries(text: str) -> dict[str, str]:
    """Name → heading and text of each entry of a section; ``a, b : float`` are two of the same text."""
    found: dict[str, str] = {}
    for block in re.split(r"\n(?=\S)", text.strip("\n")):
        names = block.split("\n")[0].split(" : ")[0]
        for name in names.split(", "):
            found[name.strip("* ")] = block
    return found


def number_faults(where: str, annotation: str, text: str) -> list[str]:
    """What an entry does not say of a number: its unit, and the shape of an array."""
    if not NUMBER.search(annotation) or UNIT_FREE.search(annotation):
        return []
    text = " ".join(text.split())
    faults = [] if UNIT.search(text) else [f"{where}: no unit"]
    if SHAPED.search(annotation) and not SHAPE.search(text):
        faults.append(f"{where}: no shape")
    return faults


def parameters_of(function: Function, method: bool) -> dict[str, str]:
    """Name → annotation of every argument but ``self`` and ``cls``."""
    spec = function.args
    every = [*spec.posonlyargs, *spec.args, *spec.kwonlyargs]
    every += [item for item in (spec.vararg, spec.kwarg) if item]
    plain = {item.arg: ast.unparse(item.annotation) if item.annotation else "" for item in every}
    return {name: text for name, text in plain.items() if not (method and name in ("self", "cls"))}


def function_faults(function: Function, method: bool = False) -> list[str]:
    """What the docstring of one function lacks."""
    docstring = ast.get_docstring(function)
    if not docstring:
        return ["no docstring"]
    arguments = parameters_of(function, method)
    result = ast.unparse(function.returns) if function.returns else ""
    parts = sections(docstring)
    if len(parts) == 1:
        if len(arguments) > 1:
            return ["more than one argument and no section Parameters"]
        if len(arguments) == 1 and "\n\n" in docstring:
            return ["more than one paragraph, an argument, and no section Parameters"]
        plain = NUMBER.search(result) and not UNIT_FREE.search(result)
        return number_faults("result", "float" if plain else "", docstring)
    faults = []
    described = entries(parts.get("Parameters", ""))
    for name, annotation in arguments.items():
        if name not in described:
            faults.append(f"{name}: not described")
        else:
            faults += number_faults(name, annotation, described[name])
    faults += [f"{name}: no argument" for name in described if name and name not in arguments]
    given = parts.get("Returns", parts.get("Yields", ""))
    return faults + number_faults("result", result, given)


def class_faults(node: ast.ClassDef) -> list[str]:
    """What the docstring of a class lacks: each field, with its unit."""
    docstring = ast.get_docstring(node)
    if not docstring:
        return ["no docstring"]
    fields = {
        item.target.id: ast.unparse(item.annotation)
        for item in node.body
        if isinstance(item, ast.AnnAssign) and isinstance(item.target, ast.Name)
    }
    described = entries(sections(docstring).get("Attributes", ""))
    faults = []
    for name, annotation in fields.items():
        if name.startswith("_") or "ClassVar" in annotation:
            continue
        if name not in described:
            faults.append(f"{name}: not described")
        else:
            faults += number_faults(name, annotation, described[name])
    return faults + [f"{name}: no field" for name in described if name and name not in attributes_of(node)]


def attributes_of(node: ast.ClassDef) -> set[str]:
    """Fields and properties of a class, and what its methods set."""
    names = {item.name for item in node.body if isinstance(item, Function)}
    for item in ast.walk(node):
        if isinstance(item, ast.AnnAssign | ast.Assign):
            targets = item.targets if isinstance(item, ast.Assign) else [item.target]
            names |= {target.id for target in targets if isinstance(target, ast.Name)}
            names |= {target.attr for target in targets if isinstance(target, ast.Attribute)}
    return names


def module_faults(text: str) -> Iterator[str]:
    """ "name: what is missing" for every public function, method and class of a module."""
    for node in ast.parse(text).body:
        if getattr(node, "name", "_").startswith("_"):
            continue
        if isinstance(node, Function):
            yield from (f"{node.name}: {fault}" for fault in function_faults(node))
        elif isinstance(node, ast.ClassDef):
            yield from (f"{node.name}: {fault}" for fault in class_faults(node))
            for item in node.body:
                if isinstance(item, Function) and not item.name.startswith("_"):
                    static = any(ast.unparse(mark) == "staticmethod" for mark in item.decorator_list)
                    for fault in function_faults(item, method=not static):
                        yield f"{node.name}.{item.name}: {fault}"


@pytest.mark.parametrize("room", DONE)
def test_every_argument_is_named_and_every_number_has_its_unit(room: str) -> None:
    paths = sorted((ROOT / room).glob("*.py"))
    assert paths, room
    faults = [f"{path.name}: {fault}" for path in paths for fault in module_faults(path.read_text("utf-8"))]
    assert faults == []


def test_every_room_is_held() -> None:
    rooms = {path.parent for top in ("predict", "compare") for path in (ROOT / top).rglob("*.py")}
    assert {str(room.relative_to(ROOT)) for room in rooms} == set(DONE)


GOOD = '''
def leakage(width: FloatArray, turns: int, name: str = "P") -> FloatArray:
    """Leakage inductance of a winding.

    Parameters
    ----------
    width : (B,) array
        Breadth of the window, m.
    turns : int
        Turns, count.
    name : str, optional
        Name of the winding.

    Returns
    -------
    (B,) array
        Leakage inductance, H.
    """
'''


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("", "", None),
        (", m.", ".", "leakage: width: no unit"),
        ("width : (B,) array", "width : array", "leakage: width: no shape"),
        ("    turns : int\n        Turns, count.\n", "", "leakage: turns: not described"),
        ("Turns, count.", "A number of turns.", "leakage: turns: no unit"),
        ("inductance, H.", "inductance.", "leakage: result: no unit"),
        ("    (B,) array\n        Leakage", "    array\n        Leakage", "leakage: result: no shape"),
        ("    name : str", "    label : str", "leakage: name: not described"),
    ],
)
def test_a_wrong_docstring_of_a_function_is_seen(old: str, new: str, said: str | None) -> None:
    faults = list(module_faults(GOOD.replace(old, new)))
    assert said in faults if said else faults == []


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("def omega(f: float) -> float:\n    '''Angular frequency, rad/s.'''", None),
        ("def omega(f: float) -> float:\n    '''Angular frequency.'''", "omega: result: no unit"),
        ("def omega(f: float) -> float:\n    '''A frequency.'''", "omega: result: no unit"),
        ("def omega(f: float) -> float: ...", "omega: no docstring"),
        (
            "def omega(f: float, n: int) -> float:\n    '''Angular frequency, rad/s.'''",
            "omega: more than one argument and no section Parameters",
        ),
        (
            "class Coil:\n    '''A coil.\n\n    Attributes\n    ----------\n    turns : int\n"
            "        Turns, count.\n    '''\n    turns: int\n    length: float",
            "Coil: length: not described",
        ),
        (
            "class Coil:\n    '''A coil.\n\n    Attributes\n    ----------\n    length : float\n"
            "        How long it is.\n    '''\n    length: float",
            "Coil: length: no unit",
        ),
        (
            "class Coil:\n    '''A coil.'''\n    def length(self) -> float:\n        '''Its length.'''",
            "Coil.length: result: no unit",
        ),
        (
            "class Coil:\n    '''A coil.\n\n    Attributes\n    ----------\n    width : float\n"
            "        Breadth, m.\n    '''",
            "Coil: width: no field",
        ),
    ],
)
def test_a_short_docstring_names_the_unit_and_a_class_its_fields(text: str, said: str | None) -> None:
    assert list(module_faults(text)) == ([] if said is None else [said])
