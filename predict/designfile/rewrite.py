"""A design file's text with another build: the steps and how windings are joined change, all else stays.

Title, core, tests and comments stay as the user wrote them, except comments within the list of steps,
which are replaced with it. The result is read back and compared.
"""

from __future__ import annotations

import math
import tomllib
from dataclasses import fields
from pathlib import Path as FilePath

import numpy as np

from ..design import Bobbin, Build, Design, Real, SpacerStep, Step, TapeStep, Winding, WindStep
from ..errors import DesignError, Fault
from .reader import parse_design
from .toml_edits import line_ending, with_value
from .toml_positions import Path, Positions, quoted


def rearranged_text(
    text: str, before: Design, after: Design, remark: str, *, folder: FilePath, name: str
) -> str:
    """Text of the design file of ``before``, changed to that of ``after``.

    The two differ only in the build steps and in how windings are joined.

    Parameters
    ----------
    text : str, of the file of ``before``
    before : Design, the design as it is
    after : Design, the design as it should be
    remark : str, comment that explains the change, put above the steps
    folder : Path, where the file will be stored
    name : str, of the file, for messages

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
            "a file with a list build.steps",
            "Write the steps by hand; 'interleave --json' lists them.",
        )
    )


def step_text(step: Step) -> str:
    """A build step as the file writes it: ``{ wind = "P", turns = 18 }``."""
    return f"{{ {', '.join(step_items(step))} }}"


def step_items(step: Step) -> list[str]:
    """The keys of a build step with their values, as TOML: ``wind = "P"``, ``turns = 18``."""
    items: list[str] = []
    if isinstance(step, WindStep):
        items += [f"wind = {quoted(step.winding)}", f"turns = {int(np.asarray(step.turns))}"]
        if step.layers is not None:
            items.append(f"layers = {step.layers}")
        for key in ("breadth", "from_end", "thickness", "margin", "interlayer"):
            if (value := getattr(step, key)) is not None:
                items.append(f'{key} = "{_length(value)}"')
        if step.style is not None:
            items.append(f'style = "{step.style}"')
        items += [f"{key} = true" for key in ("close", "beside") if getattr(step, key)]
        if step.companions:
            items.append(f"with = [{', '.join(map(quoted, step.companions))}]")
        if step.sector is not None:
            items.append(f'sector = "{math.degrees(step.sector):.10g} deg"')
            items.append(f'from_angle = "{math.degrees(step.from_angle):.10g} deg"')
    elif isinstance(step, TapeStep):
        items += [f'tape = "{_length(step.thickness)}"', f"wraps = {int(np.asarray(step.wraps))}"]
    elif isinstance(step, SpacerStep):
        items.append(f'spacer = "{_length(step.thickness)}"')
    else:
        items += [f'shield = "{_length(step.thickness)}"', f'width = "{_length(step.width)}"']
        items.append(f"name = {quoted(step.name)}")
        items += [f"tied = {quoted(step.tied)}"] * bool(step.tied)
        items += ["closed = true"] * step.closed
        items += [f'metal = "{step.metal}"'] * (step.metal != "copper")
    if isinstance(step, TapeStep | SpacerStep):
        default = next(item.default for item in fields(step) if item.name == "permittivity")
        items += [f"permittivity = {step.permittivity:.10g}"] * (step.permittivity != default)
    items += [f"chamber = {step.chamber}"] * (step.chamber is not None)
    items += [f"leg = {step.leg}"] * (step.leg != 1)
    return items


def _length(value: Real) -> str:
    return f"{float(np.asarray(value)) * 1e3:.10g} mm"


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
    chambers = ", ".join(f'"{_length(breadth)}"' for breadth in after.chambers)
    for key, value in (("chambers", f"[{chambers}]"), ("partition", f'"{_length(after.partition)}"')):
        text = _with(text, ("bobbin", key), value, plain=True)
    return text


def _with(text: str, path: Path, value: str, *, after: str = "", plain: bool = False) -> str:
    try:
        return with_value(text, path, value, after=after, plain=plain)
    except KeyError:
        raise _cannot(f"no {path[0]!r} that a {path[-1]!r} could be written into") from None


def _with_steps(text: str, steps: tuple[Step, ...], remark: str) -> str:
    """The text with other steps: a list, or a table [[build.steps]] each, as it has them."""
    path = ("build", "steps")
    if path in Positions(text).entries:
        lines = "".join(f"  {step_text(step)},\n" for step in steps)
        return with_value(text, path, f"[\n{lines}]", remark=remark, plain=True)
    blocks = Positions(text).blocks(path)
    if not blocks:
        raise _cannot("no list build.steps")
    ending = line_ending(text)
    (first, _), (_, last) = blocks[0], blocks[-1]
    for header, end in reversed(blocks):
        body = text[header.start : end]
        kept = body[len(_without_remarks(body)) :] if end == last else ""
        text = text[: header.start] + kept + text[end:]
    tables = "\n".join("\n".join(["[[build.steps]]", *step_items(step), ""]) for step in steps)
    told = "".join(f"# {line}\n" for line in remark.splitlines())
    return text[: first.start] + (told + tables).replace("\n", ending) + text[first.start :]


def _without_remarks(block: str) -> str:
    """A table's text without the blank and comment lines at its end, which belong to what follows."""
    lines = block.splitlines(keepends=True)
    while lines and (not lines[-1].strip() or lines[-1].lstrip().startswith("#")):
        lines.pop()
    return "".join(lines)


def _joined(text: str, before: Winding, after: Winding) -> str:
    """The text with the winding's table changed."""
    names = {
        path[1]: tomllib.loads(f"name = {text[entry.value : entry.end]}")["name"]
        for path, entry in Positions(text).entries.items()
        if len(path) == 3 and (path[0], path[2]) == ("winding", "name")
    }
    (place,) = (index for index, name in names.items() if name == after.name)
    known = Positions(text).entries
    if before.total_turns != after.total_turns and ("winding", place, "total_turns") in known:
        text = _with(text, ("winding", place, "total_turns"), str(after.total_turns))
    if before.sections != after.sections:
        text = _with(text, ("winding", place, "sections"), f'"{after.sections}"', after="name")
    if before.wire.in_hand != after.wire.in_hand:
        text = _with(text, ("winding", place, "wire", "in_hand"), str(after.wire.in_hand))
    if before.wire.twisted and not after.wire.twisted:
        text = _with(text, ("winding", place, "wire", "twisted"), "false")
    return text
