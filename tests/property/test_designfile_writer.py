"""The one writer of design files: whatever layout the reader takes, the writer changes what is meant and
nothing else."""

from __future__ import annotations

import json
import re
import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from how_many import examples
from hypothesis import given, settings
from hypothesis import strategies as st

from aswound.predict import Design, parse_design
from aswound.predict.design import TapeStep, WindStep
from aswound.predict.designfile import rearranged_text, with_calibration
from aswound.predict.designfile.toml_edits import with_value
from aswound.predict.designfile.toml_positions import Positions
from aswound.predict.interleave.divisions import wire_in_hand

pytestmark = pytest.mark.property

DATA: dict[str, Any] = {
    "title": 'Two "chambers" \\ [build] # none',
    "core": {"shape": "ETD 34/17/11", "material": "MnZn 2300", "gap": "0.5 mm"},
    "bobbin": {
        "wall": "1.1 mm",
        "flange": "1.2 mm",
        "chambers": ["12 mm", "5 mm"],
        "partition": "1.5 mm",
    },
    "winding": [
        {"name": "P", "wire": {"litz_strands": 10, "strand": "0.1 mm", "overall": "0.5 mm"}, "start": "1"},
        {"name": "S [2]", "wire": {"diameter": "0.6 mm", "overall": "0.8 mm", "in_hand": 2}},
    ],
    "build": {
        "interlayer": "0.05 mm",
        "steps": [
            {"wind": "P", "turns": 32, "chamber": 1},
            {"tape": "0.06 mm", "wraps": 3, "chamber": 1},
            {"wind": "S [2]", "turns": 6, "chamber": 2},
        ],
    },
    "test": [{"name": "L", "measure": "inductance", "drive": "P", "frequency": "10 kHz"}],
}
SECTION = '[calibration]\nleakage = { factor = 1.02, uncertainty = "2 %" }\n'


class Layout:
    """A TOML text of data, each table laid out as drawn, with comments between its lines."""

    def __init__(self, draw: st.DrawFn) -> None:
        self.draw = draw
        self.comments = 0

    def one_of(self, *choices: str) -> str:
        return str(self.draw(st.sampled_from(choices)))

    def comment(self) -> str:
        self.comments += 1
        return f"# remark {self.comments}: [build] \"x = 1'"

    def between(self) -> str:
        return self.one_of("", "", "\n", f"{self.comment()}\n", "  \t\n")

    def key(self, name: str) -> str:
        return self.one_of(name, name, f'"{name}"', f"'{name}'")

    def value(self, value: Any, *, lines: bool) -> str:
        if isinstance(value, dict):
            pairs = [
                f"{self.key(name)}{self.one_of(' = ', '=')}{self.value(item, lines=lines)}"
                for name, item in value.items()
            ]
            return "{ " + ", ".join(pairs) + self.one_of(" }", "}")
        if isinstance(value, list):
            items = [self.value(item, lines=lines) for item in value]
            if lines and self.draw(st.booleans()):
                told = [f"  {item},{self.one_of('', f' {self.comment()}')}\n" for item in items]
                return "[\n" + "".join(told) + "]"
            return "[" + ", ".join(items) + self.one_of("", ",") + "]"
        if isinstance(value, str) and "'" not in value and self.draw(st.booleans()):
            return self.one_of(f"'{value}'", f"'''{value}'''")
        if isinstance(value, str):
            return self.one_of(json.dumps(value), f'"""{json.dumps(value)[1:-1]}"""')
        return str(value)

    def pair(self, key: str, value: Any) -> str:
        line = (
            f"{self.one_of('', '  ')}{key}{self.one_of(' = ', '=', '  =  ')}{self.value(value, lines=True)}"
        )
        return f"{line}{self.one_of('', f'  {self.comment()}')}\n{self.between()}"

    def header(self, path: str, *, several: bool) -> str:
        name = self.one_of(path, f" {path} ")
        line = f"[[{name}]]" if several else f"[{name}]"
        return f"{self.between()}{line}{self.one_of('', f' {self.comment()}')}\n{self.between()}"

    def headed(self, path: str, table: dict[str, Any], *, several: bool) -> str:
        text, below = self.header(path, several=several), ""
        for name, value in table.items():
            way = self.one_of("pair", "dotted", "headed") if isinstance(value, (dict, list)) else "pair"
            if way == "headed" and isinstance(value, dict):
                below += self.headed(f"{path}.{self.key(name)}", value, several=False)
            elif way == "headed" and name == "steps":
                below += "".join(
                    self.headed(f"{path}.{self.key(name)}", item, several=True) for item in value
                )
            elif way != "pair" and isinstance(value, dict):
                below_key = self.key(name)
                text += "".join(self.pair(f"{below_key}.{self.key(k)}", item) for k, item in value.items())
            else:
                text += self.pair(self.key(name), value)
        return text + below

    def whole(self, data: dict[str, Any]) -> str:
        top, tables = self.between(), ""
        for name, value in data.items():
            several = isinstance(value, list)
            way = self.one_of("headed", "headed", "inline", "dotted")
            if not isinstance(value, (dict, list)) or way == "inline":
                top += self.pair(self.key(name), value)
            elif way == "dotted" and not several:
                top += "".join(self.pair(f"{self.key(name)}.{self.key(k)}", v) for k, v in value.items())
            else:
                for item in value if several else [value]:
                    tables += self.headed(self.key(name), item, several=several)
        return top + tables


@st.composite
def layouts(draw: st.DrawFn) -> str:
    text = Layout(draw).whole(DATA)
    text = text.rstrip("\n") if draw(st.booleans()) else text
    return text.replace("\n", "\r\n") if draw(st.booleans()) else text


def changed(design: Design) -> Design:
    """Another order with other chambers, more wires in hand and a winding in sections."""
    first, tape, last = design.build.steps
    assert isinstance(first, WindStep)
    assert isinstance(tape, TapeStep)
    halves = (replace(first, turns=16), replace(tape, wraps=4), replace(first, turns=16), tape, last)
    windings = tuple(
        replace(winding, wire=wire_in_hand(winding.wire, winding.wire.in_hand + 1))
        for winding in design.windings
    )
    bobbin = replace(design.bobbin, chambers=(0.0105, 0.0055), partition=0.0025)
    return replace(design, windings=windings, bobbin=bobbin, build=replace(design.build, steps=halves))


def comments(text: str) -> list[str]:
    return re.findall(r"remark \d+", text)


def without(data: dict[str, Any]) -> dict[str, Any]:
    """The data without what ``changed`` changes."""
    kept: dict[str, Any] = json.loads(json.dumps(data))
    kept["build"].pop("steps")
    for key in ("chambers", "partition"):
        kept["bobbin"].pop(key)
    for winding in kept["winding"]:
        winding["wire"].pop("in_hand", None)
    kept.pop("calibration", None)
    return kept


@settings(max_examples=examples(50), deadline=None)
@given(layouts())
def test_every_layout_that_is_read_is_written(text: str) -> None:
    assert tomllib.loads(text) == DATA
    design = parse_design(text)
    after = changed(design)
    written = rearranged_text(text, design, after, "why\nso", folder=Path(), name="x.toml")
    found = parse_design(written)
    assert found.windings == after.windings
    assert [type(step) for step in found.build.steps] == [type(step) for step in after.build.steps]
    assert without(tomllib.loads(written)) == without(DATA)
    assert "# why" in written
    assert written.count("\n") == written.count("\r\n") or "\r\n" not in text, "lines end as they did"
    kept = comments(written)
    assert kept == [one for one in comments(text) if one in kept], "comments stay in their order"
    steps = Positions(text)
    spans = [(e.start, e.end) for path, e in steps.entries.items() if path[:2] == ("build", "steps")]
    spans += [(header.start, end) for header, end in steps.blocks(("build", "steps"))]
    spans += [(e.start, e.end) for path, e in steps.entries.items() if path[:2] == ("bobbin", "chambers")]
    for match in re.finditer(r"remark \d+", text):
        if not any(start <= match.start() < end for start, end in spans):
            assert match[0] in kept, "only comments within what is replaced go"


@settings(max_examples=examples(40), deadline=None)
@given(layouts())
def test_a_calibration_is_added_and_replaced_in_every_layout(text: str) -> None:
    once = with_calibration(text, SECTION)
    assert tomllib.loads(once) == {**DATA, **tomllib.loads(SECTION)}
    assert comments(once) == comments(text)
    other = SECTION.replace("1.02", "1.05")
    assert with_calibration(once, other) == with_calibration(text, other)


@settings(max_examples=examples(40), deadline=None)
@given(layouts())
def test_every_value_is_where_it_is_said_to_be(text: str) -> None:
    """Positions against the reader: each span, read alone, is the value at its path."""
    positions = Positions(text)
    for path, entry in positions.entries.items():
        value: Any = tomllib.loads(text)
        for name in path:
            value = value[name]
        assert tomllib.loads(f"value = {text[entry.value : entry.end]}")["value"] == value
    count = sum(isinstance(value, str | int) for value in leaves(DATA))
    assert sum(text[e.value] not in "[{" for e in positions.entries.values()) == count


def leaves(value: Any) -> list[Any]:
    if isinstance(value, dict):
        return [leaf for item in value.values() for leaf in leaves(item)]
    return [leaf for item in value for leaf in leaves(item)] if isinstance(value, list) else [value]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("[t]  # here\na = 1  # one\nb = 2\n", "[t]  # here\na = 1  # one\nc = 3\nb = 2\n"),
        ("[t]\nb = 2", "[t]\nc = 3\nb = 2"),
        ("[t]\r\n", "[t]\r\nc = 3\r\n"),
        ("[t]", "[t]\nc = 3\n"),
        ("t = { b = 2 }\n", "t = { b = 2, c = 3 }\n"),
        ("t = {}\n", "t = { c = 3 }\n"),
        ("x = 1\nt.b = 2\n[u]\n", "x = 1\nt.b = 2\nt.c = 3\n[u]\n"),
        ("[t]\nc = 7 # seven\n", "[t]\nc = 3 # seven\n"),
        ("t = { c = 7 }\n", "t = { c = 3 }\n"),
        ("t.c = 7\n", "t.c = 3\n"),
    ],
)
def test_one_value_by_hand(text: str, expected: str) -> None:
    assert with_value(text, ("t", "c"), "3", after="a") == expected


def test_a_table_that_is_not_there() -> None:
    with pytest.raises(KeyError):
        with_value("a = 1\n", ("t", "c"), "3")
