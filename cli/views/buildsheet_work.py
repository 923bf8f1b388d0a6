"""The build sheet's order of operations, and from where "clockwise" is seen."""

from __future__ import annotations

import re

from ...predict.cores import THINNEST_LAMINATION
from ...predict.design import Design, Process, WindStep
from ...predict.shop import wire_cuts
from .buildsheet_steps import ShopSheet


def seen_from(design: Design) -> str:
    """What "clockwise" on the sheet means."""
    if design.core.dimensions.ring:
        where = "the way in which the turns advance around the ring, seen with the start at the top"
    elif design.build.direction == "up":
        where = "seen from above, from the last step towards the first"
    else:
        where = "seen from the lower flange, where every step starts, along the leg"
    return f"Clockwise and counter-clockwise: {where}."


def operations_of(whole: ShopSheet) -> list[str]:
    """What is done, in order; what must not wait says so."""
    design = whole.build.design
    ring = design.core.dimensions.ring
    wires = bool(wire_cuts(design))
    operations = ["Cut the wires."] if wires else []
    winding = [item for item in whole.readings if item.stage == "winding"]
    read = "; after each winding read its resistance before the next step covers it" if winding else ""
    operations.append(f"{_steps(design, wires=wires)}{read}.")
    sections = any(section.count > 1 for step in whole.build.operations for section in step.sections)
    operations += _terminations(design, wires=wires, sections=sections)
    operations += [_process(item) for item in design.build.processes if item.after == "winding"]
    if any(item.stage == "before core" for item in whole.readings):
        operations.append("Read the ratio of turns on a test core.")
    if not ring and design.core.dimensions.permeable:
        sheets = design.core.material.sheet_thickness > THINNEST_LAMINATION
        faces = "Clean the mating faces, fit the core and fix it."
        operations.append("Fit the laminations and fix them." if sheets else faces)
    finished = ["Take the readings of the finished part."]
    finished = finished if any(item.stage == "assembled" for item in whole.readings) else []
    last = [item for item in design.build.processes if item.after == "core"]
    known = {"dipped": "Impregnate: dip.", "potted": "Pot."}.get(design.build.impregnation)
    # what is expected of the finished part holds with its impregnation
    filled = [index for index, item in enumerate(last, 1) if item.impregnates and known]
    if known and not any(item.impregnates for item in design.build.processes):
        operations.append(known)
    first = filled[-1] if filled else 0
    return [*operations, *map(_process, last[:first]), *finished, *map(_process, last[first:])]


def _steps(design: Design, *, wires: bool) -> str:
    """What is wound and laid: "Wind and lay steps 1 to 8"."""
    count = len(design.build.steps)
    wound = all(isinstance(step, WindStep) for step in design.build.steps)
    verb = "Lay" if not wires else "Wind" if wound else "Wind and lay"
    if count == 1:
        return f"{verb} step 1"
    return f"{verb} steps 1 {'and' if count == 2 else 'to'} {count}"


def _terminations(design: Design, *, wires: bool, sections: bool) -> list[str]:
    """What becomes of the ends: at their pins, or marked where there are none."""
    ends = [pin for winding in design.windings for pin in (winding.start, winding.finish)]
    joined = "; join the sections" if sections else ""
    if all(ends) or (design.bobbin.pins is not None and not any(ends)):
        return [f"Terminate every end at its pin{joined}."]
    if any(ends):
        return [f"Terminate at their pins the ends that have one; mark the others, start and finish{joined}."]
    if wires:
        return [f"Mark start and finish of every winding and bring the ends out{joined}."]
    return ["Join the sections."] if sections else []


def _process(process: Process) -> str:
    told = [
        part
        for part in (process.time and f"for {process.time}", process.at and f"at {_degrees(process.at)}")
        if part
    ]
    text = f"{process.do}{' ' if told else ''}{' '.join(told)}"
    if process.within:
        return f"{text}; TIME-CRITICAL: within {process.within} of the operation before."
    return f"{text}."


def _degrees(text: str) -> str:
    """A temperature as it is written on paper: "60 degC" as "60 °C"."""
    return re.sub(r"\bdeg(?=[CF]\b)", "°", text)
