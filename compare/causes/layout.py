"""Causes in where the wire lies: order, insulation, breadth."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from ...predict.design import Design, SpacerStep, Step, Style, WindStep, first_build
from ...predict.winding import Y0, Y1, layer_turns, layout_of, place_of, winding_space
from . import order
from .cause import (
    COMMON,
    EVERYDAY,
    RARE,
    Cause,
    Variant,
    equally,
    evenly,
    has_window,
    laid_windings,
    laid_with,
    reads_capacitance,
    sized,
    tape_between,
    wind_steps,
    with_step,
    with_winding_steps,
)

WRAP_WEIGHTS = {-2: 1.0, -1: 4.0, 1: 4.0, 2: 2.0, 3: 1.0}
TOO_MANY_OR_MISSING = 2 * COMMON
"""Wraps too many are one common fault and missing ones another (judged)."""
COVERED = (0.45, 0.90)
OFFSETS = (0.04, 1 / 3)
"""Least and greatest displacement along the leg, fractions of the window's height (judged), in either
direction, as far as the winding has room; one that has more room may also lie at the flange."""
CROWDED = (0.2, 0.92)
"""Least and greatest fraction of a ring's circumference covered by a winding that is not spread as drawn
(judged); within ``SAME_ARC`` of the drawn one it counts as drawn."""
SAME_ARC = 0.06
SPACED = (0.5, 2 / 3, 1.5, 2.0)
"""A spacer, barrier or board layer of another thickness: ratio to the one drawn (judged)."""
LEFT = 20e-6
"""Distance (m) that bare layers keep if no tape lies between them (judged)."""
CROSSING, UNEVEN = 0.1, 0.15
"""For a winding without order: how much crossing turns lift each layer, and how far the next layer lies above
its middle surface, in diameters of its wire (judged)."""
MARGINS = (-1.0e-3, -0.5e-3, 0.5e-3, 1.0e-3, 1.5e-3, 2.0e-3, 2.5e-3)
"""Difference of a margin from the drawn one (m): half millimetres (judged)."""
NARROWED = 0.6
"""Greatest fraction of the narrowest layer's breadth that wider margins take (judged): a narrow chamber has
no room for more tape, and at 1 nothing is left of a layer."""
SAFETY = (
    "Missing insulation is a safety matter: stop, keep the part away from mains and high voltage, and have "
    "its insulation tested under the applicable safety standard by a qualified person."
)


def _not_quite_touching(design: Design, number: int) -> Design:
    """What remains between layers if all tape of step ``number`` is missing: surfaces are not even."""
    steps = design.build.steps
    tape = steps[number]
    left = SpacerStep(LEFT, permittivity=2.0, chamber=tape.chamber, leg=tape.leg)
    return replace(
        design, build=replace(design.build, steps=(*steps[: number + 1], left, *steps[number + 1 :]))
    )


def _insulation(design: Design, step_name: str) -> list[Variant]:
    number = int(step_name.removeprefix("step ")) - 1
    wraps = int(first_build(design.build.steps[number].wraps))  # type: ignore[union-attr]
    result = []
    for amount, weight in WRAP_WEIGHTS.items():
        if wraps + amount < 0:
            continue
        plural = "wrap" if abs(amount) == 1 else "wraps"
        direction = "too many" if amount > 0 else "missing"
        title = f"{step_name} (tape) has {abs(amount)} {plural} {direction}"
        changed = with_step(design, number, wraps=wraps + amount)
        if wraps + amount == 0:
            changed = _not_quite_touching(changed, number)
        result.append(Variant(float(amount), weight, changed, title))
    return result


def _spacer_title(design: Design, step_name: str, amount: float) -> str:
    drawn = _thickness(design, step_name)
    if drawn + amount <= 1.001 * LEFT:
        return f"{step_name} (spacer) is missing"
    return f"{step_name} (spacer) is {(drawn + amount) * 1e3:.2f} mm thick instead of {drawn * 1e3:.2f} mm"


def _thickness(design: Design, step_name: str) -> float:
    step = design.build.steps[int(step_name.removeprefix("step ")) - 1]
    assert isinstance(step, SpacerStep)
    return first_build(step.thickness)


def _spacer(design: Design, step_name: str) -> list[Variant]:
    """Missing but for ``LEFT``, or of another thickness."""
    number, drawn = int(step_name.removeprefix("step ")) - 1, _thickness(design, step_name)

    def changed(extra: float) -> Design:
        return with_step(design, number, thickness=drawn + extra)

    extras = equally(size - drawn for size in (LEFT, *(ratio * drawn for ratio in SPACED)))
    return sized(design, step_name, extras, changed, _spacer_title)


def _spacers(design: Design) -> tuple[str, ...]:
    """Spacers between windings, thick enough to be missing."""
    steps = design.build.steps
    wound = [number for number, step in enumerate(steps) if step.conducts]
    return tuple(
        f"step {number + 1}"
        for number, step in enumerate(steps)
        if isinstance(step, SpacerStep)
        and wound
        and wound[0] < number < wound[-1]
        and SPACED[0] * first_build(step.thickness) > LEFT
    )


def _bunched_title(design: Design, winding_name: str, covered: float) -> str:
    wire = design.winding(winding_name).wire
    if wire.flat:
        body = f"foil of {winding_name} covers" if wire.foil else f"tracks of {winding_name} cover"
        return f"the {body} only {covered * 100:.0f} % of the breadth drawn"
    name = laid_with(design, winding_name)
    return f"{name} covers only {covered * 100:.0f} % of its breadth, pushed to the start flange"


def _wound_of(flat: bool) -> Callable[[Design], tuple[str, ...]]:
    """Gives the windings of wire around a leg; with ``flat``, those of foil or tracks."""

    def places(design: Design) -> tuple[str, ...]:
        names = laid_windings(design) if has_window(design) else ()
        return tuple(name for name in names if design.winding(name).wire.flat == flat)

    return places


def _bunched(design: Design, winding_name: str) -> list[Variant]:
    def changed(covered: float) -> Design:
        return with_winding_steps(design, winding_name, covered=covered)

    return sized(design, winding_name, equally(evenly(*COVERED, 10)), changed, _bunched_title)


def _ordinary(design: Design, name: str) -> bool:
    """Whether a winding's wire could lie in other ways: wire, in layers around a leg."""
    return has_window(design) and design.build.direction == "out" and not design.winding(name).wire.flat


def _movable(design: Design) -> tuple[str, ...]:
    return laid_windings(design) if has_window(design) and design.build.direction == "out" else ()


def _offset_title(design: Design, winding_name: str, amount: float) -> str:
    way = "away from" if amount > 0 else "towards"
    return (
        f"{laid_with(design, winding_name)} is displaced by {abs(amount) * 1e3:.1f} mm {way} the lower flange"
    )


def _room(design: Design, name: str) -> tuple[float, float]:
    """How far (m) a winding can move down and up before its layers meet a yoke."""
    layout = layout_of(design)
    height = first_build(design.core.dimensions.window[1])
    section_indices = [number for number, section in enumerate(layout.sections) if section.winding == name]
    low, high = layout.copper[..., section_indices, Y0], layout.copper[..., section_indices, Y1]
    return float(low.min()), float(height - high.max())


def _displacements(design: Design, name: str) -> list[float]:
    """Displacements (m) from furthest down to furthest up, none smaller than the least in either
    direction."""
    height = first_build(design.core.dimensions.window[1])
    least, most = (part * height for part in OFFSETS)
    down, up = (min(room, most) for room in _room(design, name))
    below, above = (
        evenly(least, room, 5 if room > 2 * least else 2) if room > least else [] for room in (down, up)
    )
    down, up = (room - first_build(design.bobbin.flange) for room in _room(design, name))
    below += [down] if below and down > 1.1 * below[-1] else []
    above += [up] if above and up > 1.1 * above[-1] else []
    return [*(-amount for amount in below[::-1]), *above]


def _movable_along(design: Design) -> tuple[str, ...]:
    return tuple(name for name in _movable(design) if _displacements(design, name))


def _offset(design: Design, winding_name: str) -> list[Variant]:
    def changed(amount: float) -> Design:
        moved = design
        for number in wind_steps(design, winding_name):
            step = moved.build.steps[number]
            moved = with_step(moved, number, shift=first_build(step.shift) + amount)  # type: ignore[union-attr]
        return moved

    displacements = equally(_displacements(design, winding_name))
    return sized(design, winding_name, displacements, changed, _offset_title)


def _crowded_title(design: Design, winding_name: str, part: float) -> str:
    drawn = math.degrees(_arc(design, winding_name))
    word = "crowded on" if part * 360 < drawn else "spread over"
    return (
        f"the turns of {winding_name} are {word} about {part * 360:.0f}° of the ring instead of {drawn:.0f}°"
    )


def _arc(design: Design, name: str) -> float:
    """Largest sector (rad) of a winding's steps on a ring; 2π: all round."""
    steps = [design.build.steps[number] for number in wind_steps(design, name)]
    return max(
        math.tau if step.sector is None else step.sector for step in steps if isinstance(step, WindStep)
    )


def _on_arc(design: Design, name: str, angle: float) -> Design:
    """The winding with each of its steps spread over ``angle`` (rad) around the middle of its own sector."""
    changed = design
    for number in wind_steps(design, name):
        step = changed.build.steps[number]
        assert isinstance(step, WindStep)
        drawn = math.tau if step.sector is None else step.sector
        begin = (step.from_angle + (drawn - angle) / 2) % math.tau
        changed = with_step(changed, number, sector=angle, from_angle=begin)
    return changed


def _tightest(design: Design, name: str) -> float:
    """Fraction of the circumference that the winding needs in as many layers as drawn, turn beside turn on
    the inner face."""
    dimensions = design.core.dimensions
    assert dimensions.ring
    wire = design.winding(name).wire
    radius = dimensions.window[0] - first_build(design.bobbin.wall)
    pitch = first_build(wire.overall) * wire.in_hand * (1 + design.build.allowance)
    layers = np.atleast_2d(layer_turns(design)[..., 0])[0]
    parts = []
    for number in wind_steps(design, name):
        step = design.build.steps[number]
        assert isinstance(step, WindStep)
        depths = (np.arange(int(layers[number])) + 0.5) * first_build(wire.overall)
        holds = math.tau * np.maximum(radius - depths, pitch) / pitch
        parts.append(first_build(step.turns) / float(np.sum(holds)))
    return max(parts)


def _parts_of_ring(design: Design, name: str) -> list[float]:
    """Fractions of the circumference that the winding may cover instead of its own; none if it fills its
    sector and there is no other place for it."""
    if max(first_build(design.build.steps[number].turns) for number in wind_steps(design, name)) < 2:  # type: ignore[union-attr]
        return []  # one turn is where it is
    drawn = _arc(design, name) / math.tau
    least = max(CROWDED[0], 1.05 * min(_tightest(design, name), 1.0))
    below = evenly(least, drawn - SAME_ARC, 6) if least < drawn - SAME_ARC else []
    above = evenly(drawn + SAME_ARC, CROWDED[1], 3) if drawn + SAME_ARC < CROWDED[1] else []
    return [part for part in [*below, *above] if part <= CROWDED[1]]


def _on_rings(design: Design) -> tuple[str, ...]:
    """Windings on rings; with a gap only where ``gap_angle`` says where it lies."""
    gapped = bool(np.any(np.asarray(design.core.gap) > 0))
    if has_window(design) or (gapped and design.core.gap_angle is None):
        return ()
    return tuple(name for name in laid_windings(design) if _parts_of_ring(design, name))


def _crowded(design: Design, winding_name: str) -> list[Variant]:
    return sized(
        design,
        winding_name,
        equally(_parts_of_ring(design, winding_name)),
        lambda part: _on_arc(design, winding_name, math.tau * part),
        _crowded_title,
    )


def _narrowest(design: Design) -> float:
    """The least breadth (m) between the margins of a layer."""
    space, build = winding_space(design), design.build
    rooms = [math.inf]
    for step in build.steps:
        if isinstance(step, WindStep):
            bay = space.bay(place_of(step))
            margin = first_build(build.margin if step.margin is None else step.margin)
            rooms.append(float((bay.end - bay.start).flat[0]) - 2 * margin)
    return min(rooms)


def _margins(design: Design) -> list[float]:
    """(m) of all layers and of single steps."""
    steps = (step.margin for step in design.build.steps if isinstance(step, WindStep))
    return [first_build(margin) for margin in (design.build.margin, *steps) if margin is not None]


def _with_margins(design: Design) -> tuple[str, ...]:
    """The build, if it draws margins beside wires: otherwise there is none that could be wider, as what is
    etched keeps its breadth."""
    names = _movable(design)
    wound = any(not design.winding(name).wire.track for name in names)
    return ("core",) if wound and max(_margins(design)) > 0 else ()


def _margin(design: Design, location: str) -> list[Variant]:
    """At each end of every layer; for a step with its own margin, that one too."""
    build = design.build
    least = min(_margins(design))
    room = _narrowest(design)
    result = []
    for amount in MARGINS:
        if least + amount < 0 or 2 * amount > NARROWED * room:
            continue

        def edit(step: Step, amount: float = amount) -> Step:
            if not isinstance(step, WindStep) or step.margin is None:
                return step
            return replace(step, margin=first_build(step.margin) + amount)

        steps = tuple(edit(step) for step in build.steps)
        changed = replace(build, margin=first_build(build.margin) + amount, steps=steps)
        word = "wider" if amount > 0 else "narrower"
        title = f"the margins are {abs(amount) * 1e3:.1f} mm {word} at each end"
        result.append(Variant(amount, 1.0, replace(design, build=changed), title))
    return result


def _scrambleable(design: Design) -> tuple[str, ...]:
    def possible(name: str) -> bool:
        steps = [design.build.steps[number] for number in wind_steps(design, name)]
        return _ordinary(design, name) and all(
            isinstance(step, WindStep)
            and not step.close
            and not step.companions
            and step.thickness is None
            and step.layers is None
            and (step.style or design.build.style) != "scramble"
            and first_build(step.turns) >= 4
            for step in steps
        )

    return tuple(name for name in _of_several_layers(design) if possible(name))


def _of_several_layers(design: Design) -> tuple[str, ...]:
    """Windings of wire around a leg with a step of several orderly layers; a single layer is in order
    anyway."""
    sections = layout_of(design).sections if has_window(design) else ()
    several = {section.winding for section in sections if section.layer > 0 and not section.scramble}
    return tuple(name for name in laid_windings(design) if name in several and _ordinary(design, name))


def _scramble(design: Design, winding_name: str) -> list[Variant]:
    """From turns that cross here and there to one body without layers; what lies on it rests on its highest
    turns."""
    whole = f"{winding_name} is wound without order instead of in layers"
    partly = f"{winding_name} is wound partly without order, turns cross"
    loose = design
    for number in wind_steps(design, winding_name):
        step = loose.build.steps[number]
        between = loose.build.interlayer if step.interlayer is None else step.interlayer  # type: ignore[union-attr]
        loose = with_step(
            loose, number, interlayer=first_build(between) + CROSSING * _wire(design, winding_name)
        )
    full = with_winding_steps(design, winding_name, style="scramble")
    return [
        Variant(None, 1.0, _uneven(loose, winding_name), partly),
        Variant(None, 1.0, full, whole),
        Variant(None, 1.0, _uneven(full, winding_name), whole),
    ]


def _wire(design: Design, winding_name: str) -> float:
    """Overall diameter (m) of a winding's wire."""
    return first_build(design.winding(winding_name).wire.overall)


def _uneven(design: Design, winding_name: str) -> Design:
    """Each step of ``winding_name`` with ``UNEVEN`` of its wire's diameter left free above it."""
    steps: list[Step] = []
    for number, step in enumerate(design.build.steps):
        steps.append(step)
        if isinstance(step, WindStep) and number in wind_steps(design, winding_name):
            free = UNEVEN * _wire(design, winding_name)
            steps.append(SpacerStep(free, permittivity=2.0, chamber=step.chamber, leg=step.leg))
    return replace(design, build=replace(design.build, steps=tuple(steps)))


def _layered(design: Design) -> tuple[str, ...]:
    """Windings with a step of several layers, if a test depends on their order."""
    return _of_several_layers(design) if reads_capacitance(design) else ()


def _style(design: Design, winding_name: str) -> list[Variant]:
    steps = [design.build.steps[number] for number in wind_steps(design, winding_name)]
    now = [(step.style or design.build.style) for step in steps if isinstance(step, WindStep)]
    style: Style = "back_and_forth" if "same_side" in now else "same_side"
    words = "back and forth" if style == "back_and_forth" else "every layer from the same side"
    changed = with_winding_steps(design, winding_name, style=style)
    return [Variant(None, 1.0, changed, f"{winding_name} is wound {words}")]


def _chambered(design: Design) -> tuple[str, ...]:
    return laid_windings(design) if _chambers(design) > 1 else ()


def _chambers(design: Design) -> int:
    return len(design.bobbin.chambers) or design.bobbin.chamber_count


def _chamber(design: Design, winding_name: str) -> list[Variant]:
    used = {design.build.steps[number].chamber for number in wind_steps(design, winding_name)}
    return [
        Variant(
            None,
            1.0,
            with_winding_steps(design, winding_name, chamber=chamber),
            f"{winding_name} is wound in chamber {chamber}",
        )
        for chamber in range(1, _chambers(design) + 1)
        if chamber not in used
    ]


_BUNCHED = Cause(
    name="bunched",
    kind="layout",
    weight=COMMON,
    places=_wound_of(flat=False),
    variants=_bunched,
    confirm=(
        "Look at {where} from the outside or on an X-ray: the leakage rises far more than "
        "the capacitance between windings falls."
    ),
    remedy=(
        "Spread {where} over the whole breadth between the margins; use wires in hand or foil for few turns."
    ),
    confusable=("order", "insulation", "short-link"),
    continuous=True,
    title=_bunched_title,
)
_BUNCHED_FOIL = replace(
    _BUNCHED,
    places=_wound_of(flat=True),
    confirm=(
        "Measure the width of the foil or of the tracks of {where}, and where they lie: the leakage rises "
        "far more than the capacitance between windings falls. A narrower foil also reads more resistance; "
        "one folded over does not."
    ),
    remedy="State the width of {where} with its tolerance on the sheet; measure it on the first part.",
)
"""Foil cannot be pushed together: it is narrower than drawn, or folded over."""
_INSULATION = Cause(
    name="insulation",
    kind="layout",
    weight=TOO_MANY_OR_MISSING,
    places=lambda design: tuple(f"step {number + 1}" for number in tape_between(design)),
    variants=_insulation,
    confirm=(
        "Read the capacitance between the windings on both sides of that tape (it rises "
        "as the leakage falls); count the wraps of an opened part."
    ),
    remedy=("Have the wraps of {where} counted and signed for; name tape type and thickness on the sheet."),
    confusable=("bunched", "order"),
    caution=SAFETY,
)
_SPACER = replace(
    _INSULATION,
    weight=COMMON,
    places=_spacers,
    variants=_spacer,
    confirm=(
        "Read the capacitance between the windings on both sides of that spacer (it rises as the leakage "
        "falls); measure the spacer, or the board in a section."
    ),
    remedy="State the thickness of {where} with its tolerance, and measure it on the first part.",
    continuous=True,
    title=_spacer_title,
)
"""A spacer, a barrier or a board's layer: its amount is the difference in thickness, m."""
CAUSES = (
    order.CAUSE,
    _INSULATION,
    _SPACER,
    _BUNCHED,
    _BUNCHED_FOIL,
    Cause(
        name="crowded",
        kind="layout",
        weight=EVERYDAY,
        places=_on_rings,
        variants=_crowded,
        confirm=(
            "Look at {where}: do its turns cover the arc as drawn? Spread them by hand and read the "
            "inductance again: it falls as they spread, most of all on powder cores."
        ),
        remedy="Show on the sheet over which angle {where} is spread, and where its ends are.",
        undone_by=(("spread", 0.0),),
        neutral=1.0,
        drawn=lambda design, winding_name: _arc(design, winding_name) / math.tau,
        confusable=("material", "turns", "leads", "lead-out"),
        continuous=True,
        title=_crowded_title,
    ),
    Cause(
        name="offset",
        kind="layout",
        weight=RARE,
        places=_movable_along,
        variants=_offset,
        confirm="Look at {where} from the outside or on an X-ray: its ends must line up with the others'.",
        remedy="Hold {where} in place with margin tape or end turns; wind with steady tension.",
        confusable=("bunched", "insulation", "margin"),
        continuous=True,
        title=_offset_title,
    ),
    Cause(
        name="margin",
        kind="layout",
        weight=COMMON,
        places=_with_margins,
        variants=_margin,
        confirm="Measure the margins of an opened part; the capacitance falls with the breadth.",
        remedy="State the margin's width with its tolerance on the sheet; measure it on the first part.",
        confusable=("insulation", "bunched", "scramble", "effective-breadth"),
        caution=SAFETY,
    ),
    Cause(
        name="scramble",
        kind="layout",
        weight=COMMON,
        places=_scrambleable,
        variants=_scramble,
        confirm="Look at a section of {where}; self-capacitance and resonance scatter from part to part.",
        remedy="Have {where} wound in layers, side by side.",
        confusable=("insulation", "margin", "bunched"),
    ),
    Cause(
        name="chamber",
        kind="layout",
        weight=RARE,
        places=_chambered,
        variants=_chamber,
        confirm="Check which chamber {where} lies in; the capacitance between the windings shows it too.",
        remedy="Show the chamber of {where} on the drawing of the bobbin.",
        confusable=("order", "bunched"),
        caution=SAFETY,
    ),
    Cause(
        name="style",
        kind="layout",
        weight=RARE,
        places=_layered,
        variants=_style,
        confirm="Unwind part of {where} and see from which flange each layer starts.",
        remedy="State on the sheet from which side each layer of {where} starts.",
        confusable=("dielectric", "scramble"),
    ),
)
