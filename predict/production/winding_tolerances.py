"""Tolerances of what a part is wound of: wires, foils, tracks, tapes, margins and the bobbin.

What comes off one reel or roll varies together: all turns of a winding; all tape of one thickness and kind;
interlayer insulation and margin tape of one size. Windings of the same wire vary independently, as their
reels may differ (judged). One operator, or one stop on the machine, puts all sections of a winding at the
same place.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import Any, Literal

import numpy as np

from ..design import (
    Bobbin,
    Design,
    FloatArray,
    Real,
    ShieldStep,
    SpacerStep,
    Step,
    TapeStep,
    WindStep,
    Wire,
    first_build,
)
from ..winding import with_artwork
from .defaults import RING_COATING, deviation, wire_deviation
from .parameter import Parameter, edit_steps, log_normal_factor, some, stated_or

LAY_DEVIATION = 0.015
"""Standard relative deviation of the strands' length where the file states no lay: 2 to 8 % for litz (common
practice, no source)."""
_LITZ_COVERING = 0.25
"""Part of the insulation's deviation by which one kind of litz varies in overall diameter (judged)."""


def winding_parameters(design: Design) -> list[Parameter]:
    """Every tolerance of windings, insulation and bobbin of a design (one build): independent parameters."""
    result: list[Parameter] = []
    for winding in design.windings:
        result += _conductor(design, winding.name, winding.wire)
        result += _centring(design, winding.name)
    for shield in design.shields:
        result += _screen(design, shield)
    return [*result, *_blocks(design), *_insulation(design), *_bobbin(design)]


# --- conductors ------------------------------------------------------------------------------------


def _with_wire(name: str, edit: Callable[[Wire, Real], Wire]) -> Callable[[Design, Real], Design]:
    """All wire of one winding comes from one reel and varies alike in all its turns."""

    def change(design: Design, z: Real) -> Design:
        windings = tuple(
            replace(winding, wire=edit(winding.wire, z)) if winding.name == name else winding
            for winding in design.windings
        )
        return replace(design, windings=windings)

    return change


def _conductor(design: Design, name: str, wire: Wire) -> list[Parameter]:
    given = design.tolerances
    if wire.flat:
        thick = stated_or(given.thickness, deviation("thickness", wire.kind))
        broad = stated_or(given.width, deviation("width", wire.kind))
        return some(
            (
                f"{wire.kind} {name}",
                thick,
                _with_wire(name, lambda w, z: replace(w, overall=w.overall * log_normal_factor(thick, z))),
            ),
            (f"width {name}", broad, _with_wire(name, lambda w, z: _broader(w, broad * np.asarray(z)))),
        )
    bare = stated_or(given.wire, wire_deviation(wire))
    enamel = stated_or(given.enamel, deviation("enamel"))
    return some(
        (f"wire {name}", bare, _with_wire(name, lambda w, z: _thicker(w, log_normal_factor(bare, z)))),
        (f"enamel {name}", enamel, _with_wire(name, lambda w, z: _insulated(w, enamel, z))),
        (
            f"lay {name}",
            0.0 if wire.lay_known else LAY_DEVIATION,
            _with_wire(
                name, lambda w, z: replace(w, lay_factor=w.lay_factor * log_normal_factor(LAY_DEVIATION, z))
            ),
        ),
    )


def _broader(wire: Wire, change: FloatArray) -> Wire:
    """Breadth plus ``change`` (m), never below a tenth of the breadth; tracks keep their pitch."""
    least = 0.1 * np.asarray(wire.foil_width)
    width = np.maximum(np.asarray(wire.foil_width) + change, least)
    if wire.foil:
        return replace(wire, foil_width=width)
    pitch = np.asarray(wire.foil_width) + np.asarray(wire.spacing)
    width = np.minimum(width, np.where(np.asarray(wire.spacing) > 0, 0.99 * pitch, width))
    etched = np.asarray(wire.etched) + width - np.asarray(wire.foil_width)
    return replace(wire, foil_width=width, spacing=pitch - width, etched=etched)


def _thicker(wire: Wire, factor: FloatArray) -> Wire:
    """Bare diameter times ``factor``; the insulation keeps its thickness. Litz grows as a whole."""
    diameter = np.asarray(wire.diameter) * factor
    if wire.litz:
        return replace(wire, diameter=diameter, overall=wire.overall * factor)
    insulation = np.asarray(wire.overall) - np.asarray(wire.diameter)
    return replace(wire, diameter=diameter, overall=diameter + insulation)


def _insulated(wire: Wire, sd: float, z: Real) -> Wire:
    if wire.litz:
        return replace(wire, overall=wire.overall * log_normal_factor(sd * _LITZ_COVERING, z))
    insulation = (np.asarray(wire.overall) - np.asarray(wire.diameter)) * log_normal_factor(sd, z)
    return replace(wire, overall=np.asarray(wire.diameter) + insulation)


def _on_steps(numbers: Iterable[int], edit: Callable[[Step, Real], Step]) -> Callable[[Design, Real], Design]:
    """The same change on all the steps ``numbers`` (from 0)."""
    chosen = frozenset(numbers)

    def change(design: Design, z: Real) -> Design:
        return edit_steps(design, lambda number, step: edit(step, z) if number in chosen else step)

    return change


def _thickened(sd: float) -> Callable[[Step, Real], Step]:
    """A step of another thickness."""

    def edit(step: Step, z: Real) -> Step:
        assert step.thickness is not None
        return replace(step, thickness=step.thickness * log_normal_factor(sd, z))

    return edit


def _centring(design: Design, name: str) -> list[Parameter]:
    """Position of a winding along its layers; none on a ring, nor for windings wound along with another."""
    step_numbers = [
        number
        for number, step in enumerate(design.build.steps)
        if isinstance(step, WindStep) and step.winding == name
    ]
    if design.core.dimensions.ring or not step_numbers:
        return []
    case = "track" if design.build.direction == "up" else ""
    sd = stated_or(design.tolerances.centring, deviation("centring", case))

    def aside(step: Step, z: Real) -> Step:
        assert isinstance(step, WindStep)
        return replace(step, shift=np.asarray(step.shift) + sd * np.asarray(z))

    return some((f"centring {name}", sd, _on_steps(step_numbers, aside)))


def _screen(design: Design, shield: ShieldStep) -> list[Parameter]:
    given, name = design.tolerances, shield.name
    thick = stated_or(given.thickness, deviation("thickness", "foil"))
    broad = stated_or(given.width, deviation("width", "foil"))
    step_numbers = [number for number, step in enumerate(design.build.steps) if step == shield]

    def broader(step: Step, z: Real) -> Step:
        assert isinstance(step, ShieldStep)
        width = np.asarray(step.width) + broad * np.asarray(z)
        return replace(step, width=np.maximum(width, 0.1 * np.asarray(step.width)))

    return some(
        (f"foil {name}", thick, _on_steps(step_numbers, _thickened(thick))),
        (f"width {name}", broad, _on_steps(step_numbers, broader)),
    )


def _blocks(design: Design) -> list[Parameter]:
    """Sections of a stated thickness: one parameter for each winding."""
    sd = stated_or(design.tolerances.thickness, deviation("thickness", "foil"))
    blocks: dict[str, list[int]] = {}
    for number, step in enumerate(design.build.steps):
        if isinstance(step, WindStep) and step.thickness is not None:
            blocks.setdefault(step.winding, []).append(number)
    return some(
        *(
            (f"block {name}", sd, _on_steps(step_numbers, _thickened(sd)))
            for name, step_numbers in blocks.items()
        )
    )


# --- insulation ------------------------------------------------------------------------------------


def _named(base: str, sizes: Iterable[float]) -> dict[float, str]:
    """A name for every size of one thing; the plain name where there is only one."""
    ordered = sorted(set(sizes))
    return {size: base if len(ordered) == 1 else f"{base} {size * 1e3:.3g} mm" for size in ordered}


def _insulation(design: Design) -> list[Parameter]:
    given = design.tolerances
    tape = stated_or(given.tape, deviation("tape"))
    case = "track" if design.etched else ""
    return [
        *_rolls(design, TapeStep, "tape", tape),
        *_rolls(design, SpacerStep, "spacer", tape),
        *_between(design, "interlayer", stated_or(given.interlayer, deviation("interlayer")), 0.0),
        *_between(design, "margin", 0.0, stated_or(given.margin, deviation("margin", case))),
    ]


def _rolls(design: Design, kind: type[TapeStep | SpacerStep], word: str, sd: float) -> list[Parameter]:
    """One roll (or one layer of a board's stack-up) supplies all steps of one thickness and permittivity."""
    rolls: dict[tuple[float, float], list[int]] = {}
    for number, step in enumerate(design.build.steps):
        if isinstance(step, kind):
            rolls.setdefault((first_build(step.thickness), step.permittivity), []).append(number)

    names = _named(word, (thickness for thickness, _ in rolls))
    result = []
    for (thickness, permittivity), numbers in sorted(rolls.items()):
        alike = sum(rolled == thickness for rolled, _ in rolls) > 1
        name = names[thickness] + (f" of {permittivity:g}" if alike else "")
        result.append((name, sd, _on_steps(numbers, _thickened(sd))))
    return some(*result)


def _between(
    design: Design, field: Literal["interlayer", "margin"], relative: float, absolute: float
) -> list[Parameter]:
    """``interlayer`` or ``margin``, of the build and of steps with their own, by size."""
    numbers_by_thickness: dict[float, list[int]] = {}
    for number, step in enumerate(design.build.steps):
        stated = getattr(step, field, None)
        if stated is not None and np.any(np.asarray(stated) > 0):
            numbers_by_thickness.setdefault(first_build(stated), []).append(number)
    common = first_build(getattr(design.build, field))
    follows = any(getattr(step, field, None) is None for step in design.build.steps if step.conducts)
    sizes = {*numbers_by_thickness, *([common] if common > 0 and follows else [])}
    sd = max(relative, absolute)
    return some(
        *(
            (
                name,
                sd,
                _resized(field, size == common, numbers_by_thickness.get(size, []), relative, absolute),
            )
            for size, name in _named(field, sizes).items()
        )
    )


def _resized(
    field: Literal["interlayer", "margin"],
    whole: bool,
    step_numbers: list[int],
    relative: float,
    absolute: float,
) -> Callable[[Design, Real], Design]:
    """``field`` of the steps ``step_numbers``, and with ``whole`` of the build, varied together. Where the
    edge of a board is cut a little off, tracks keep their breadth."""

    def varied(value: Real, z: Real) -> Real:
        grown: Real = np.maximum(value * log_normal_factor(relative, z) + absolute * np.asarray(z), 0.0)
        return grown

    def edit(step: Step, z: Real) -> Step:
        resized: Step = _replaced(step, field, varied(getattr(step, field), z))
        return resized

    def change(design: Design, z: Real) -> Design:
        design = with_artwork(design) if field == "margin" else design
        if whole:
            size = varied(getattr(design.build, field), z)
            design = replace(design, build=_replaced(design.build, field, size))
        return _on_steps(step_numbers, edit)(design, z)

    return change


def _replaced(value: Any, field: str, content: Real) -> Any:
    return replace(value, **{field: content})


# --- bobbin ----------------------------------------------------------------------------------------


def _bobbin(design: Design) -> list[Parameter]:
    given = design.tolerances
    ring = design.core.dimensions.ring
    wall = stated_or(given.bobbin, RING_COATING if ring else deviation("bobbin"))
    thick = first_build(design.bobbin.wall) > 0 or first_build(design.bobbin.partition) > 0
    breadth = stated_or(given.breadth, deviation("breadth"))

    def thicker(d: Design, z: Real) -> Design:
        d, factor = with_artwork(d), log_normal_factor(wall, z)
        bobbin: Bobbin = replace(d.bobbin, wall=d.bobbin.wall * factor, partition=d.bobbin.partition * factor)
        return replace(d, bobbin=bobbin)

    return some(
        ("bobbin", wall if thick else 0.0, thicker),
        ("breadth", 0.0 if ring else breadth, lambda d, z: _broader_bobbin(d, log_normal_factor(breadth, z))),
    )


def _broader_bobbin(design: Design, factor: FloatArray) -> Design:
    """The room between the flanges times ``factor``; each flange moves by half of the change. Chambers and
    stated breadths of steps grow with it; those of tracks are artwork and stay."""
    design = with_artwork(design)
    height = design.core.dimensions.window[1]
    assert math.isfinite(height)
    room = height - 2 * np.asarray(design.bobbin.flange)
    flange = np.maximum(np.asarray(design.bobbin.flange) - room * (factor - 1) / 2, 0.0)
    bobbin = replace(design.bobbin, flange=flange, chamber_scale=design.bobbin.chamber_scale * factor)

    def edit(_: int, step: Step) -> Step:
        if not isinstance(step, WindStep) or step.breadth is None:
            return step
        etched = design.winding(step.winding).wire.track
        return step if etched else replace(step, breadth=step.breadth * factor)

    return edit_steps(replace(design, bobbin=bobbin), edit)
