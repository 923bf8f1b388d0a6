"""``[build]`` of a design file → Build: the steps from the leg outwards, checked against the windings."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from .design import Build, SpacerStep, Step, TapeStep, Winding, WindStep
from .designfile_keys import NOT_SUPPORTED, Key, Parser, Section, Table, read_section, refuse, show
from .designfile_parsers import count, flag, later, name, names, number, one_of, quantity, relative, text
from .designfile_turns import check_turns, unequal_sections
from .errors import Faults, nearest

HALF_TURN_ON_LEGS = (
    "A half turn on an E core links only one outer leg: it acts as leakage and unbalances the legs. "
    "Give whole turns; bring both ends out on one side."
)
HALF_TURN_ON_RING = "On a toroid a wire passes through the hole a whole number of times; each pass is a turn."

_LENGTH = quantity("length", nonnegative=True)
_STYLE = Key(one_of("back_and_forth", "same_side", later=("scramble",)))


def whole_turns(reason: str) -> Parser:
    """Whole turns of at least 1; a fraction of a turn is refused with the ``reason``."""

    def parse(value: object) -> int:
        fraction = isinstance(value, float) and not value.is_integer()
        if fraction or (isinstance(value, str) and re.fullmatch(r"\d+\s*(½|1/2|[.,]\d+)", value.strip())):
            raise refuse(value, "whole turns", reason)
        result: int = count(1)(value)
        return result

    return parse


BUILD_KEYS = {
    "direction": Key(one_of("out", later=("up",))),
    "margin": Key(_LENGTH, default=0.0),
    "allowance": Key(relative(), default=0.02),
    "interlayer": Key(_LENGTH, default=0.0),
    "style": Key(_STYLE.parse, default="back_and_forth"),
    "impregnation": Key(one_of("none", "dipped", "potted"), default="none"),
    "drawing": Key(text, default=""),
    "revision": Key(text, default=""),
    "note": Key(text, default=""),
    "steps": Key(lambda value: value, required=True),
}

_NOWHERE_ELSE = {
    "chamber": later("one chamber: leave the key out"),
    "leg": later("the centre leg: leave the key out"),
}

STEP_KINDS: dict[str, dict[str, Key]] = {
    "wind": {
        "wind": Key(name, required=True),
        "turns": Key(whole_turns(HALF_TURN_ON_LEGS), required=True),
        "layers": Key(count(1)),
        "breadth": Key(quantity("length", positive=True)),
        "from_end": Key(_LENGTH),
        "thickness": Key(quantity("length", positive=True)),
        "margin": Key(_LENGTH),
        "interlayer": Key(_LENGTH),
        "style": _STYLE,
        "close": Key(flag, default=False),
        "beside": Key(flag, default=False),
        "with": Key(names, default=()),
        **_NOWHERE_ELSE,
        "sector": later("the whole circumference: leave the key out"),
        "from_angle": later("the whole circumference: leave the key out"),
    },
    "tape": {
        "tape": Key(quantity("length", positive=True), required=True),
        "wraps": Key(count(0), required=True),
        "permittivity": Key(number(1.0), default=3.3),
        **_NOWHERE_ELSE,
    },
    "spacer": {
        "spacer": Key(quantity("length", positive=True), required=True),
        "permittivity": Key(number(1.0), default=1.0),
        **_NOWHERE_ELSE,
    },
}
"""Keys of each kind of step, by the key that tells the kind."""

_ALONG_THE_LEG = ("breadth", "from_end", "thickness", "margin", "beside", "close")
"""Keys of a step that have no meaning on a toroid, whose layers go all round."""


def step_kind(step: Table) -> str:
    """The kind "wind", "tape", "spacer" or "shield" that the step's keys tell, "" if they do not."""
    told = [kind for kind in (*STEP_KINDS, "shield") if kind in step]
    return told[0] if len(told) == 1 else ""


def step_place(step: Table, ordinal: int) -> str:
    """Where a step is, counted from 1 over all steps: "step 3 (tape)", "step 1 (wind P)"."""
    kind = step_kind(step)
    what = f"wind {step['wind']}" if kind == "wind" and isinstance(step["wind"], str) else kind
    return f"step {ordinal} ({what})" if what else f"step {ordinal}"


def read_build(
    table: Table,
    windings: Mapping[str, Winding | None],
    faults: Faults,
    *,
    toroid: bool,
) -> tuple[Build | None, tuple[str, ...]]:
    """(Build, cautions) of the ``[build]`` table (m), its steps checked against the ``windings`` (None:
    known but faulty).

    Faults, which are noted: unknown windings, half turns, a foil of several turns without interlayer,
    windings that no step winds, total turns that do not add up, keys that a toroid has no use for.
    """
    before = len(faults.found)
    section = read_section(table, BUILD_KEYS, "build", faults)
    if toroid and section["margin"]:
        section.fault("margin", show(table["margin"]), "no margin on a toroid, which has no flanges")
    raw = section["steps"] if isinstance(section["steps"], list) else []
    if "steps" in section and not raw:
        section.fault("steps", show(section["steps"]), "a list of steps in the order in which they go on")
    sections = [_read_step(step, ordinal, faults, toroid=toroid) for ordinal, step in enumerate(raw, start=1)]
    for ordinal, step in enumerate(sections):
        if step is not None and "wind" in step.given:
            previous = sections[ordinal - 1] if ordinal else None
            after_wind = previous is not None and "wind" in previous.given
            _check_wind(step, windings, section, after_wind=after_wind, toroid=toroid)
    if all(step is not None for step in sections) and raw:
        check_turns([step for step in sections if step is not None], windings, faults)
    if len(faults.found) > before:
        return None, ()
    steps = tuple(_step(step) for step in sections if step is not None)
    build = Build(
        steps,
        margin=section["margin"],
        allowance=section["allowance"],
        interlayer=section["interlayer"],
        style=section["style"],
        impregnation=section["impregnation"],
        drawing=section["drawing"],
        revision=section["revision"],
        note=section["note"],
    )
    return build, unequal_sections(steps, windings)


def _read_step(step: object, ordinal: int, faults: Faults, *, toroid: bool) -> Section | None:
    kinds = "one of wind, tape or spacer"
    if not isinstance(step, dict):
        faults.add(f"step {ordinal}", show(step), f"a table with {kinds}")
        return None
    place, kind = step_place(step, ordinal), step_kind(step)
    if kind == "shield":
        faults.add(f"{place}: shield", f"a shield, which is {NOT_SUPPORTED}", kinds)
        return None
    if not kind:
        told = [known for known in (*STEP_KINDS, "shield") if known in step]
        hint = next((hint for key in step if (hint := nearest(key, STEP_KINDS))), "")
        faults.add(
            place,
            " and ".join(told) or f"a step with the keys {', '.join(step) or 'none'}",
            kinds,
            "" if told else hint,
        )
        return None
    keys = STEP_KINDS[kind]
    if toroid and kind == "wind":
        keys = {**keys, "turns": Key(whole_turns(HALF_TURN_ON_RING), required=True)}
    return read_section(step, keys, place, faults)


def _step(read: Section) -> Step:
    """The step of a section without faults."""
    if "tape" in read.given:
        return TapeStep(read["tape"], read["wraps"], read["permittivity"])
    if "spacer" in read.given:
        return SpacerStep(read["spacer"], read["permittivity"])
    same: dict[str, Any] = {
        key: read[key]
        for key in (
            "turns",
            "layers",
            "breadth",
            "from_end",
            "thickness",
            "margin",
            "interlayer",
            "style",
            "close",
            "beside",
        )
    }
    return WindStep(winding=read["wind"], companions=read["with"], **same)


# --- what a wind step may say ----------------------------------------------------------------------


def _check_wind(
    step: Section, windings: Mapping[str, Winding | None], build: Section, *, after_wind: bool, toroid: bool
) -> None:
    known = ", ".join(windings) or "none is defined"
    for key, stated in [("wind", step["wind"]), *[("with", companion) for companion in step["with"] or ()]]:
        if stated is not None and stated not in windings:
            step.fault(key, f"{stated!r}", f"the name of a winding: {known}", nearest(stated, windings))
    if step["wind"] in (step["with"] or ()):
        step.fault("with", f"{step['wind']!r}, the winding of the step itself", "other windings")
    if "thickness" in step and "breadth" not in step:
        step.fault(
            "thickness",
            "thickness without breadth",
            "both (a block of uniform current density), or breadth alone",
        )
    if step["layers"] and step["turns"] and step["layers"] > step["turns"]:
        step.fault(
            "layers", f"{step['layers']} layers of {step['turns']} turns", "at most one layer per turn"
        )
    if step["beside"] and not after_wind and not toroid:
        step.fault("beside", "true", "true only right after a step that winds")
    if toroid:
        for key in _ALONG_THE_LEG:
            if step[key]:
                step.fault(key, show(step.given[key]), "not on a toroid: its layers go all round the ring")
    _check_foil(step, windings, build, toroid=toroid)


def _check_foil(
    step: Section, windings: Mapping[str, Winding | None], build: Section, *, toroid: bool
) -> None:
    group = [
        winding for key in (step["wind"], *(step["with"] or ())) if (winding := windings.get(key)) is not None
    ]
    foils = [winding for winding in group if winding.wire.kind == "foil"]
    if not foils:
        return
    if toroid:
        step.fault("wind", f"a foil on a toroid, which is {NOT_SUPPORTED}", "round wire or litz")
    if step["with"]:
        step.fault(
            "with",
            f"a foil wound together with others, which is {NOT_SUPPORTED}",
            "round wire or litz in such a group",
        )
    interlayer = build["interlayer"] if step["interlayer"] is None else step["interlayer"]
    several = step["turns"] is not None and step["turns"] > 1
    if (
        several
        and not interlayer
        and step["thickness"] is None
        and not {"interlayer"} & (step.bad | build.bad)
    ):
        step.fault(
            "interlayer",
            f"{step['turns']} turns of foil without insulation between them",
            "an interlayer, here or in build",
            "The turns of a bare foil would touch.",
        )
    if several and step["layers"] not in (None, step["turns"]):
        step.fault(
            "layers",
            f"{step['layers']} layers of {step['turns']} turns of foil",
            "one layer per turn of a foil",
        )
