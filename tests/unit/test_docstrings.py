"""Docstrings of the public functions and classes: every argument is named, every number has its unit.

The rooms that hold to it stand in ``DONE``. The style is numpydoc; a function of at most one argument may do
with one paragraph that names the unit of its result.

Two kinds of text have other readers and a rule of their own. The docstring of a command is its help, read by
users: there the help of every argument and option says what it takes, in which unit. The fields of a JSON
document are described in ``json_key``, from which the schema is made.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from typing import Any

import pytest
import typer
from product_source import ROOT, parsed, sources

from aswound.cli.application import application

DONE: tuple[str, ...] = (
    "cli",
    "cli/aswound",
    "cli/documents",
    "cli/views",
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
    r"(?:[kMmµnp]?(?:H|Hz|rad|ohm|Ω|F|V|A|W|J|m|s|g|T|K|S|C|Wb)|kg|degC|°C|%|SI|years?|h|"
    r"[pnµmcdk]?m[²³]|mm²|turns?|strands?|pt|m\^-?\d|decades?|dB)"
)
UNIT = re.compile(
    rf"(?:, |\(|\bin |; ){_SIMPLE}(?:[/·⋅ ]?\(?{_SIMPLE}[²³⁻¹]*\)?)*(?![\w])"
    rf"|(?:, |\(|\bin )1/{_SIMPLE}|\bin (?:any|that|its|the same|the \w+'s) unit\b"
    r"|\bstandard (?:deviations|uncertainties)\b|\bbits\b"
    r"|\b(?i:dimensionless|counts?|index|indices|seed|relative|SI units?)\b"
)
SHAPE = re.compile(r"\((?:[\w.*+×·\- ]+,\s*)+(?:[\w.*+×·\- ]+)?\)|\(\)|\bscalar\b")
KEY_UNIT = re.compile(r"_(?:m2?|H|Hz|ohm|F|V|T|K|degC|kg|ohm_m|A_per_m|per_[KT])$")
"""Units at the end of a JSON key."""
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


def key_faults(field: ast.AnnAssign, call: ast.Call) -> list[str]:
    """What a field of a JSON document does not say. Its words stand in ``json_key``, from which the schema is
    made, not once more in the docstring. A ``float`` names its unit there or in its key (``gap_m``), or is a
    share between 0 and 1; an ``int`` is a count."""
    where = ast.unparse(field.target)
    given = {item.arg: ast.unparse(item.value) for item in call.keywords}
    text = str(ast.literal_eval(call.args[0])) if call.args else ""
    if "float" not in ast.unparse(field.annotation) or KEY_UNIT.search(where):
        return []
    if given.get("minimum") == "0" and given.get("maximum") == "1":
        return []
    return [] if UNIT.search(text) else [f"{where}: no unit"]


def class_faults(node: ast.ClassDef) -> list[str]:
    """What the docstring of a class lacks: each field, with its unit."""
    docstring = ast.get_docstring(node)
    if not docstring:
        return ["no docstring"]
    keys = {
        item.target.id: key_faults(item, item.value)
        for item in node.body
        if isinstance(item, ast.AnnAssign)
        and isinstance(item.target, ast.Name)
        and isinstance(item.value, ast.Call)
        and ast.unparse(item.value.func) == "json_key"
    }
    fields = {
        item.target.id: ast.unparse(item.annotation)
        for item in node.body
        if isinstance(item, ast.AnnAssign)
        and isinstance(item.target, ast.Name)
        and item.target.id not in keys
    }
    described = entries(sections(docstring).get("Attributes", ""))
    faults = [fault for each in keys.values() for fault in each]
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
    for node in parsed(text).body:
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
    texts = {path.name: text for path, text in sources().items() if path.parent == ROOT / room}
    assert texts, room
    helps = {f"{each.callback.__name__}:" for each in application().registered_commands if each.callback}
    faults = [
        f"{name}: {fault}"
        for name, text in texts.items()
        for fault in module_faults(text)
        if room != "cli" or fault.split(" ")[0] not in helps
    ]
    assert faults == []


WITH_UNIT = re.compile(r"\d ?(?:[kMmuµ]?(?:Hz|H|V|T|m)|degC|%)(?!\w)|\bSI\b")
WITHOUT = {"--ratio": "turns over turns"}
"""Options that take a plain number which counts nothing, and what that is."""


def option_faults(option: Any) -> list[str]:
    """What the help of one argument or option does not say: an integer is what its help counts; a quantity
    has an example or a default with its unit."""
    name, text = max(option.opts, key=len), f"{option.help} {option.default}"
    if not option.help:
        return [f"{name}: no help"]
    if option.type.name.startswith("float"):
        return [] if name in WITHOUT else [f"{name}: a number without unit"]
    takes_quantity = re.search(r"VALUE|FREQUENCY|VOLTAGE|SHARE", option.metavar or "")
    return [] if not takes_quantity or WITH_UNIT.search(text) else [f"{name}: no example with its unit"]


def test_the_help_of_every_option_says_what_it_takes() -> None:
    group: Any = typer.main.get_command(application())
    options = [(name, each) for name, command in group.commands.items() for each in command.params]
    assert len(options) > 100
    assert [f"{name} {fault}" for name, option in options for fault in option_faults(option)] == []


@pytest.mark.parametrize(
    ("given", "said"),
    [
        (typer.Option("--to", metavar="FREQUENCY", help="Highest frequency."), "no example with its unit"),
        (typer.Option("--to", metavar="FREQUENCY", help='Highest frequency, e.g. "1 MHz".'), None),
        (typer.Option("--to"), "no help"),
    ],
)
def test_a_silent_option_is_seen(given: Any, said: str | None) -> None:
    lone = typer.Typer()

    @lone.command()
    def command(to: str = given) -> None:
        del to

    (option,) = (each for each in typer.main.get_command(lone).params if each.name == "to")
    assert option_faults(option) == ([f"--to: {said}"] if said else [])


def test_every_room_is_held() -> None:
    rooms = {path.parent for path in sources()}
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
        ("class Row:\n    '''A row.'''\n    gap: float = json_key('The gap (m).')", None),
        ("class Row:\n    '''A row.'''\n    gap_m: float = json_key('The gap.')", None),
        ("class Row:\n    '''A row.'''\n    gap: float = json_key('The gap.')", "Row: gap: no unit"),
        ("class Row:\n    '''A row.'''\n    gap: Sequence[float] = json_key('Gaps.')", "Row: gap: no unit"),
        ("class Row:\n    '''A row.'''\n    p: float = json_key('Share.', minimum=0, maximum=1)", None),
        ("class Row:\n    '''A row.'''\n    count: int = json_key('Parts.')", None),
    ],
)
def test_a_short_docstring_names_the_unit_and_a_class_its_fields(text: str, said: str | None) -> None:
    assert list(module_faults(text)) == ([] if said is None else [said])
