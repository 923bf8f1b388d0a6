"""A design file's text with another build: the steps and how windings are joined change, all else stays.

Title, core, tests and comments stay as the user wrote them, except comments within the list of steps,
which are replaced with it. The result is read back and compared, so a file whose layout this module cannot
change is refused.
"""

from __future__ import annotations

import math
import re
from dataclasses import fields
from pathlib import Path

import numpy as np

from ..design import Bobbin, Build, Design, Real, SpacerStep, Step, TapeStep, Winding, WindStep
from ..errors import DesignError, Fault
from .reader import parse_design

_HEADER = re.compile(r"^\s*\[", re.MULTILINE)


def rearranged_text(text: str, before: Design, after: Design, remark: str, *, folder: Path, name: str) -> str:
    """Text of the design file of ``before``, changed to that of ``after``.

    The two differ only in the build steps and in how windings are joined.

    Parameters
    ----------
    text : str
        Text of the file of ``before``.
    before : Design
        The design as it is.
    after : Design
        The design as it should be.
    remark : str
        Comment that explains the change, put above the steps.
    folder : Path
        Where the file will be stored.
    name : str
        Name of the file, for messages.

    Raises
    ------
    DesignError
        The text cannot be changed so that it reads as ``after``.
    """
    old = {winding.name: winding for winding in before.windings}
    for winding in after.windings:
        if winding != old[winding.name]:
            text = _joined(text, old[winding.name], winding)
    text = _with_bobbin(text, before.bobbin, after.bobbin)
    text = _with_steps(text, after.build.steps, remark)
    read = parse_design(text, name=name, folder=folder)
    same = _same_steps(read.build, after.build) and read.windings == after.windings
    if not same or not _same_bobbin(read.bobbin, after.bobbin):
        raise _cannot("its steps, windings or bobbin would be read differently")
    return text


def _cannot(found: str) -> DesignError:
    return DesignError(
        Fault(
            "option --write",
            found,
            "a file with one list build.steps and windings as [[winding]] tables",
            "Write the steps by hand; 'interleave --json' lists them.",
        )
    )


def step_text(step: Step) -> str:
    """A build step as the file writes it: ``{ wind = "P", turns = 18 }``."""
    items: list[str] = []
    if isinstance(step, WindStep):
        items += [f"wind = {_string(step.winding)}", f"turns = {int(np.asarray(step.turns))}"]
        if step.layers is not None:
            items.append(f"layers = {step.layers}")
        for key in ("breadth", "from_end", "thickness", "margin", "interlayer"):
            if (value := getattr(step, key)) is not None:
                items.append(f'{key} = "{_length(value)}"')
        if step.style is not None:
            items.append(f'style = "{step.style}"')
        items += [f"{key} = true" for key in ("close", "beside") if getattr(step, key)]
        if step.companions:
            items.append(f"with = [{', '.join(map(_string, step.companions))}]")
        if step.sector is not None:
            items.append(f'sector = "{math.degrees(step.sector):.10g} deg"')
            items.append(f'from_angle = "{math.degrees(step.from_angle):.10g} deg"')
    elif isinstance(step, TapeStep):
        items += [f'tape = "{_length(step.thickness)}"', f"wraps = {int(np.asarray(step.wraps))}"]
    elif isinstance(step, SpacerStep):
        items.append(f'spacer = "{_length(step.thickness)}"')
    else:
        items += [f'shield = "{_length(step.thickness)}"', f'width = "{_length(step.width)}"']
        items.append(f"name = {_string(step.name)}")
        items += [f"tied = {_string(step.tied)}"] * bool(step.tied)
        items += ["closed = true"] * step.closed
        items += [f'metal = "{step.metal}"'] * (step.metal != "copper")
    if isinstance(step, TapeStep | SpacerStep):
        default = next(item.default for item in fields(step) if item.name == "permittivity")
        items += [f"permittivity = {step.permittivity:.10g}"] * (step.permittivity != default)
    items += [f"chamber = {step.chamber}"] * (step.chamber is not None)
    items += [f"leg = {step.leg}"] * (step.leg != 1)
    return f"{{ {', '.join(items)} }}"


def _length(value: Real) -> str:
    return f"{float(np.asarray(value)) * 1e3:.10g} mm"


def _string(text: str) -> str:
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'


def _same_steps(before: Build, after: Build) -> bool:
    """Whether two builds are equal apart from the rounding of lengths in the text."""
    if len(before.steps) != len(after.steps):
        return False
    for a, b in zip(before.steps, after.steps, strict=True):
        if type(a) is not type(b):
            return False
        for item in fields(a):
            x, y = getattr(a, item.name), getattr(b, item.name)
            if isinstance(x, float) and isinstance(y, float | int):
                if not math.isclose(x, y, rel_tol=1e-8, abs_tol=1e-12):
                    return False
            elif x != y:
                return False
    return True


def _same_bobbin(before: Bobbin, after: Bobbin) -> bool:
    lengths, meant = (
        [float(np.asarray(x)) for x in (*each.chambers, each.partition)] for each in (before, after)
    )
    return len(lengths) == len(meant) and bool(np.allclose(lengths, meant, rtol=1e-8, atol=1e-12))


def _with_bobbin(text: str, before: Bobbin, after: Bobbin) -> str:
    """The text with other chambers and another partition in its table [bobbin]."""
    if after == before:
        return text
    table = re.search(r"^[ \t]*\[[ \t]*bobbin[ \t]*\][^\n]*\n", text, re.MULTILINE)
    if table is None:
        raise _cannot("no table [bobbin]")
    header = _HEADER.search(text, table.end())
    stop = len(text) if header is None else header.start()
    block = text[table.end() : stop]
    chambers = ", ".join(f'"{_length(breadth)}"' for breadth in after.chambers)
    for key, value in (("chambers", f"[{chambers}]"), ("partition", f'"{_length(after.partition)}"')):
        line = f"{key} = {value}"
        block, count = re.subn(
            rf"^[ \t]*{key}[ \t]*=[ \t]*(?:\[[^\]]*\]|\"[^\"\n]*\"|'[^'\n]*'|\d+)",
            line,
            block,
            flags=re.MULTILINE,
        )
        block = block if count else f"{line}\n{block}"
    return text[: table.end()] + block + text[stop:]


def _with_steps(text: str, steps: tuple[Step, ...], remark: str) -> str:
    table = re.search(r"^[ \t]*\[[ \t]*build[ \t]*\][^\n]*\n", text, re.MULTILINE)
    if table is None:
        raise _cannot("no table [build]")
    end = _HEADER.search(text, table.end())
    # Brackets of the list begin lines too, so the key is sought first, before any other table.
    key = re.compile(r"^[ \t]*steps[ \t]*=[ \t]*\[", re.MULTILINE).search(text, table.end())
    if key is None or (end is not None and end.start() < key.start()):
        raise _cannot("no 'steps = [' in its table [build]")
    close = _closing(text, key.end())
    lines = "".join(f"  {step_text(step)},\n" for step in steps)
    line = "".join(f"# {part}\n" for part in remark.splitlines())
    return f"{text[: key.start()]}{line}steps = [\n{lines}]{text[close + 1 :]}"


def _closing(text: str, start: int) -> int:
    """Where the bracket opened before ``start`` closes; strings and comments are skipped."""
    depth, offset = 1, start
    token = re.compile(r'"""|\'\'\'|"(?:\\.|[^"\\\n])*"|\'[^\'\n]*\'|#[^\n]*|[\[\]]', re.DOTALL)
    while (bracket := token.search(text, offset)) is not None:
        offset = bracket.end()
        if bracket[0] in ('"""', "'''"):
            offset = text.find(bracket[0], offset) + 3
        depth += {"[": 1, "]": -1}.get(bracket[0], 0)
        if depth == 0:
            return bracket.start()
    raise _cannot("a list of steps that does not end")


def _joined(text: str, before: Winding, after: Winding) -> str:
    """The text with the winding's table changed."""
    for table in re.finditer(r"^[ \t]*\[\[[ \t]*winding[ \t]*\]\][^\n]*\n", text, re.MULTILINE):
        end = re.compile(r"^[ \t]*\[(?![ \t]*winding[ \t]*\.)", re.MULTILINE).search(text, table.end())
        stop = len(text) if end is None else end.start()
        block = text[table.end() : stop]
        named = re.search(r"^[ \t]*name[ \t]*=[ \t]*([\"'])(.*)\1", block, re.MULTILINE)
        if named is not None and named[2] == after.name:
            return text[: table.end()] + _changed(block, before, after, named.end()) + text[stop:]
    raise _cannot(f"no [[winding]] with name = {after.name!r}")


def _changed(block: str, before: Winding, after: Winding, name_end: int) -> str:
    line_end = block.find("\n", name_end)
    at = len(block) if line_end < 0 else line_end + 1
    added = ""
    if before.total_turns != after.total_turns:
        block = re.sub(
            r"^([ \t]*total_turns[ \t]*=[ \t]*)\d+", rf"\g<1>{after.total_turns}", block, flags=re.MULTILINE
        )
    if before.sections != after.sections:
        block, count = re.subn(
            r"^([ \t]*sections[ \t]*=[ \t]*)([\"'])\w+\2",
            rf'\g<1>"{after.sections}"',
            block,
            flags=re.MULTILINE,
        )
        added += "" if count else f'sections = "{after.sections}"\n'
    if before.wire.in_hand != after.wire.in_hand:
        block, count = re.subn(r"(\bin_hand[ \t]*=[ \t]*)\d+", rf"\g<1>{after.wire.in_hand}", block)
        if not count:
            wire = re.search(r"^[ \t]*wire[ \t]*=[ \t]*\{", block, re.MULTILINE)
            if wire is None:
                raise _cannot(f"no 'wire = {{' of winding {after.name}")
            brace = block.index("}", wire.end())
            block = f"{block[:brace].rstrip()}, in_hand = {after.wire.in_hand} {block[brace:]}"
    if before.wire.twisted and not after.wire.twisted:
        block = re.sub(r"\btwisted[ \t]*=[ \t]*true\b", "twisted = false", block)
    return block[:at] + added + block[at:]
