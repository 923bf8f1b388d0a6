"""``[build]`` of a design file → Build: its steps in order, checked against core, bobbin and windings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ...design import (
    Bobbin,
    Build,
    Dimensions,
    Process,
    ShieldStep,
    SpacerStep,
    Step,
    TapeStep,
    Winding,
    WindStep,
)
from ...errors import Faults, nearest
from ..grammar import (
    MOST_STEPS,
    Key,
    ParsedTable,
    Table,
    one_of,
    parse_table,
    quantity_parser,
    relative,
    text,
    value_text,
)
from .contacts import check_contacts
from .steps import (
    HALF_TURN_ON_RING,
    KINDS,
    STEP_KINDS,
    STYLE,
    Surroundings,
    check_place,
    check_shield,
    check_wind,
    step_kind,
    step_place,
    whole_turns,
)
from .turns import check_turns, unequal_sections

_LENGTH = quantity_parser("length", nonnegative=True)

BUILD_KEYS = {
    "direction": Key(one_of("out", "up"), default="out"),
    "margin": Key(_LENGTH, default=0.0),
    "allowance": Key(relative(), default=0.02),
    "interlayer": Key(_LENGTH, default=0.0),
    "style": Key(STYLE, default="back_and_forth"),
    "impregnation": Key(one_of("none", "dipped", "potted"), default="none"),
    "drawing": Key(text, default=""),
    "revision": Key(text, default=""),
    "note": Key(text, default=""),
    "tail": Key(_LENGTH),
    "reserve": Key(relative()),
    "processes": Key(lambda value: value, default=()),
    "steps": Key(lambda value: value, required=True),
}

PROCESS_KEYS = {
    "do": Key(text, required=True),
    "after": Key(one_of("winding", "core"), default="core"),
    "time": Key(text, default=""),
    "at": Key(text, default=""),
    "within": Key(text, default=""),
}


def _processes(section: ParsedTable, faults: Faults) -> tuple[Process, ...]:
    """What is done besides winding, in order."""
    raw = section["processes"]
    if "processes" in section.given and not isinstance(raw, list):
        section.fault("processes", value_text(raw), 'a list such as [{ do = "Varnish", time = "30 min" }]')
        return ()
    processes = []
    for ordinal, row in enumerate(raw, start=1):
        place = f"build: processes, entry {ordinal}"
        if not isinstance(row, dict):
            faults.add(place, value_text(row), 'a table such as { do = "Varnish", time = "30 min" }')
            continue
        parsed = parse_table(row, PROCESS_KEYS, place, faults)
        if parsed["do"]:
            processes.append(parsed.made(Process))
    return tuple(processes)


def read_build(
    table: Table,
    windings: Mapping[str, Winding | None],
    faults: Faults,
    *,
    dimensions: Dimensions | None = None,
    bobbin: Bobbin | None = None,
) -> tuple[Build | None, tuple[str, ...]]:
    """Build of the table ``[build]``, with its steps checked against windings, core and bobbin.

    Faults: unknown windings, half turns, a foil of several turns without interlayer, windings that no step
    winds, total turns that do not add up, chambers, legs and sectors that do not exist, keys that do not
    apply to a toroid.

    Parameters
    ----------
    table : Table, the table ``[build]``
    windings : Mapping[str, Winding or None], by name; None for one with faults
    faults : Faults, receives every fault that is found
    dimensions : Dimensions or None, optional, of the core; None if not known, then not checked
    bobbin : Bobbin or None, optional, the bobbin; None if not known, then not checked

    Returns
    -------
    Build or None, build, SI; None if there are faults
    tuple[str, ...], cautions
    """
    before = len(faults.found)
    section = parse_table(table, BUILD_KEYS, "build", faults)
    toroid = dimensions is not None and dimensions.ring
    if toroid and section["margin"]:
        section.fault("margin", value_text(table["margin"]), "no margin on a toroid, which has no flanges")
    if toroid and section["direction"] == "up":
        section.fault("direction", "'up'", "'out' on a toroid: layers go round the ring")
    raw = section["steps"] if isinstance(section["steps"], list) else []
    if "steps" in section and not raw:
        section.fault(
            "steps", value_text(section["steps"]), "a list of steps in the order in which they go on"
        )
    if len(raw) > MOST_STEPS:
        hint = "Describe equal layers of one winding in one step, with its turns and interlayer."
        section.fault("steps", f"{len(raw)} steps", f"at most {MOST_STEPS} steps", hint)
        raw = []
    sections = [_read_step(step, ordinal, faults, toroid=toroid) for ordinal, step in enumerate(raw, start=1)]
    processes = _processes(section, faults)
    chambers = None if bobbin is None else bobbin.chamber_count
    around = Surroundings(dimensions, chambers, section, windings)
    shields: set[str] = set()
    for ordinal, step in enumerate(sections):
        if step is None:
            continue
        check_place(step, around)
        if "wind" in step.given:
            check_wind(step, sections[ordinal - 1] if ordinal else None, around)
        elif "shield" in step.given:
            check_shield(step, shields, around)
    if all(step is not None for step in sections) and raw:
        known = [step for step in sections if step is not None]
        check_turns(known, windings, faults)
        if len(faults.found) == before:
            check_contacts(known, windings)
    if len(faults.found) > before:
        return None, ()
    steps = tuple(_step(step) for step in sections if step is not None)
    build = section.made(Build, steps=steps, processes=processes)
    dry = () if "impregnation" in section.given else _dry(processes)
    return build, (*unequal_sections(steps, windings), *_closed_shields(steps), *dry)


def check_shield_names(build: Build, joins: Sequence[str], faults: Faults) -> None:
    """Check that no shield has the name of a join.

    Parameters
    ----------
    build : Build, the build
    joins : Sequence[str], names of the joins
    faults : Faults, receives every fault that is found
    """
    for ordinal, step in enumerate(build.steps, start=1):
        if isinstance(step, ShieldStep) and step.name in joins:
            faults.add(
                f"step {ordinal} (shield): name",
                f"{step.name!r} a second time",
                "a name that no winding, no join, no other shield and not the core has",
            )


def _dry(processes: Sequence[Process]) -> tuple[str, ...]:
    """A caution where the file impregnates the part and does not say so of what fills its gaps."""
    done = [process.do for process in processes if process.impregnates]
    if not done:
        return ()
    return (
        f'build.processes: "{done[0]}" impregnates the part, but build.impregnation is not given: '
        'capacitance and resonance are those of the dry part. Give "dipped" or "potted", or "none" for a '
        "part that is read dry.",
    )


def _closed_shields(steps: Sequence[Step]) -> tuple[str, ...]:
    """A caution for every shield whose ends touch."""
    return tuple(
        f"step {ordinal} (shield {step.name}): it is closed on itself, a shorted turn around the leg. "
        "That is an error in building: overlap its ends with insulation between them."
        for ordinal, step in enumerate(steps, start=1)
        if isinstance(step, ShieldStep) and step.closed
    )


def _read_step(step: object, ordinal: int, faults: Faults, *, toroid: bool) -> ParsedTable | None:
    if not isinstance(step, dict):
        faults.add(f"step {ordinal}", value_text(step), f"a table with {KINDS}")
        return None
    place, kind = step_place(step, ordinal), step_kind(step)
    if not kind:
        told = [known for known in STEP_KINDS if known in step]
        hint = next((hint for key in step if (hint := nearest(key, STEP_KINDS))), "")
        faults.add(
            place,
            " and ".join(told) or f"a step with the keys {', '.join(step) or 'none'}",
            KINDS,
            "" if told else hint,
        )
        return None
    keys = STEP_KINDS[kind]
    if toroid and kind == "wind":
        keys = {**keys, "turns": Key(whole_turns(HALF_TURN_ON_RING), required=True)}
    return parse_table(step, keys, place, faults)


def _step(read: ParsedTable) -> Step:
    """The step of a table without faults."""
    if "tape" in read.given:
        return read.made(TapeStep, thickness=read["tape"])
    if "spacer" in read.given:
        return read.made(SpacerStep, thickness=read["spacer"])
    if "shield" in read.given:
        return read.made(ShieldStep, thickness=read["shield"])
    begin = read["from_angle"] or 0.0
    return read.made(WindStep, winding=read["wind"], companions=read["with"], from_angle=begin)
