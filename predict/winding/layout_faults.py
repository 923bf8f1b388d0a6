"""What does not fit: the faults of a build against its window, chambers, legs and breadths, and by how
much."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..design import Design, FloatArray, ShieldStep, Step, TapeStep, WindStep
from ..errors import Fault
from .layering import ROUNDING, Lane
from .space import Bay, Heaps, Place, WindingSpace, place_of


def step_name(step: Step, number: int) -> str:
    """The name of a step in messages, counted from 1 over all steps: "step 3 (S)".

    Parameters
    ----------
    step : Step
    number : int, index of the step from 0
    """
    what = {TapeStep: "tape", ShieldStep: "shield"}.get(type(step), "spacer")
    if isinstance(step, WindStep):
        what = step.winding
    elif isinstance(step, ShieldStep):
        what = f"shield {step.name}"
    return f"step {number + 1} ({what})"


def place_faults(design: Design, space: WindingSpace) -> list[Fault]:
    """Steps in a chamber, on a leg or on a sector that the core and bobbin do not have.

    Parameters
    ----------
    design : Design of one or B builds
    space : WindingSpace
    """
    dimensions = design.core.dimensions
    two_legs, ring = dimensions.wound_legs > 1, dimensions.ring
    chambers = len(space.walls)
    faults = []
    if ring and space.flat:
        faults.append(Fault("build.direction", "flat layers on a toroid", "'out': layers around the ring"))
    for number, step in enumerate(design.build.steps):
        name = step_name(step, number)
        if step.leg == 2 and not two_legs:
            faults.append(Fault(name, "leg 2", "leg 1: only a U core has two legs that are wound"))
        if step.chamber is not None and (ring or not 1 <= step.chamber <= chambers):
            allowed = "no chamber on a toroid" if ring else f"a chamber from 1 to {chambers}"
            faults.append(Fault(name, f"chamber {step.chamber}", allowed))
        winds = isinstance(step, WindStep)
        if step.chamber is None and chambers > 1 and (winds or space.flat):
            faults.append(Fault(name, "no chamber", f"a chamber from 1 to {chambers}, the bobbin's chambers"))
        if isinstance(step, WindStep) and step.sector is not None and not ring:
            faults.append(Fault(name, "a sector", "a sector only on a toroid"))
        if ring and isinstance(step, ShieldStep):
            faults.append(Fault(name, "a shield on a toroid", "shields around a leg only"))
    return faults


def room_faults(design: Design, space: WindingSpace) -> list[Fault]:
    """Chambers that do not fit between the flanges.

    Parameters
    ----------
    design : Design of one or B builds
    space : WindingSpace
    """
    if space.ring or (len(space.walls) < 2 and not design.bobbin.chambers):
        return []
    bobbin = design.bobbin
    number = len(space.walls)
    room = float(np.min(space.height - 2 * np.asarray(bobbin.flange)))
    walls = (number - 1) * float(np.max(np.asarray(bobbin.partition)))
    breadths = sum(float(np.max(np.asarray(breadth))) for breadth in bobbin.chambers)
    taken = breadths * float(np.max(np.asarray(bobbin.chamber_scale))) + walls
    if taken <= room * (1 + ROUNDING) and walls < room:
        return []
    what = f"{number} chambers that take {taken * 1e3:.3f} mm with their partitions"
    if not bobbin.chambers:
        what = f"{number - 1} partitions that take {walls * 1e3:.3f} mm"
    return [
        Fault(
            "bobbin.chambers",
            what,
            f"at most {room * 1e3:.3f} mm, the room between the flanges",
            f"They do not fit by {(taken - room) * 1e3:.3f} mm: narrower or fewer chambers.",
        )
    ]


def height_faults(
    design: Design, space: WindingSpace, heaps: Heaps, step_tops: Sequence[FloatArray]
) -> list[Fault]:
    """A build that is higher than its window (both legs of a U core together) or than its chamber.

    Parameters
    ----------
    design : Design
    space : WindingSpace
    heaps : Heaps
    step_tops : sequence of (B,) arrays
        Height of the build at the place of every step when that step was on, m.
    """
    if space.flat:
        return _flat_faults(space, heaps)
    over = float(np.max(space.across(heaps))) - space.width
    if over <= ROUNDING * space.width:
        return []
    tops = [float(np.max(heaps.top(Place(leg), space.wall))) for leg in range(1, space.legs + 1)]
    highest = max(heaps.tops, key=lambda known: float(np.max(known[1])))[0]
    where = f" in chamber {highest.chamber}" if highest.chamber else ""
    found, limit = f"a build {tops[0] * 1e3:.3f} mm high{where}", "the leg outwards"
    if space.legs > 1:
        found = f"builds {tops[0] * 1e3:.3f} mm and {tops[1] * 1e3:.3f} mm high on the two legs"
        limit = "leg to leg, for both together"
    elif space.ring:
        limit = "the ring to the centre of its hole"
    return [
        Fault(
            "build",
            found,
            f"at most {space.width * 1e3:.3f} mm, the window from {limit}",
            f"It does not fit by {over * 1e3:.3f} mm: fewer or thinner layers, or another core. "
            + _most_of(design, space, highest, step_tops),
        )
    ]


def _most_of(design: Design, space: WindingSpace, place: Place, step_tops: Sequence[FloatArray]) -> str:
    """The step that takes most of the height at a place, in a sentence."""
    below, parts = float(np.max(space.bay(place).floor)), []
    for number, (step, top) in enumerate(zip(design.build.steps, step_tops, strict=True)):
        if place.overlaps(place_of(step)):
            parts.append((float(np.max(top)) - below, step_name(step, number)))
            below = max(below, float(np.max(top)))
    height, name = max(parts)
    return f"Most is taken by {name}: {height * 1e3:.3f} mm."


def _flat_faults(space: WindingSpace, heaps: Heaps) -> list[Fault]:
    faults = []
    for leg in range(1, space.legs + 1):
        for number in range(1, len(space.walls) + 1):
            several = len(space.walls) > 1
            place = Place(leg, number if several else None)
            bay = space.bay(place)
            top, limit = heaps.top(place, bay.floor), float(np.min(bay.ceiling))
            over = float(np.max(top - bay.ceiling))
            if over <= ROUNDING * space.height:
                continue
            where = "build" + (f", leg {leg}" if space.legs > 1 else "")
            where += f", chamber {number}" if several else ""
            upper = "the chamber's upper wall" if several else "the upper flange"
            faults.append(
                Fault(
                    where,
                    f"flat layers that end {np.max(top) * 1e3:.3f} mm above the lower yoke",
                    f"at most {limit * 1e3:.3f} mm, {upper}",
                    f"They do not fit by {over * 1e3:.3f} mm: fewer or thinner layers, or another core.",
                )
            )
    return faults


def _across_words(space: WindingSpace, place: Place) -> tuple[str, str]:
    """In words: from where lengths along a layer are measured, and what limits them."""
    if space.flat:
        return "from the leg", "the middle between the legs" if space.legs > 1 else "the outer wall"
    upper = "the upper flange" if place.chamber in (None, len(space.walls)) else "the chamber's upper wall"
    return "above the lower yoke", upper


def breadth_faults(
    design: Design, step: WindStep, number: int, room: Lane, space: WindingSpace, bay: Bay
) -> list[Fault]:
    """Faults of a step that runs beyond its flanges, or whose single turn is wider than its breadth.

    Parameters
    ----------
    design : Design of one or B builds
    step : WindStep
    number : int, index of the step from 0
    room : Lane
    space : WindingSpace
    bay : Bay
    """
    name, turn = step_name(step, number), float(np.max(room.pitch * room.slack))
    if room.track:
        turn = float(np.max(room.pitch - room.spacing))
    if room.hole_radius is not None:
        if room.block or np.all(room.capacity(0, room.base) >= 1):
            return []
        part = " on this sector" if step.sector is not None else ""
        return [Fault(name, f"a turn {turn * 1e3:.3f} mm broad", f"a turn that goes through the hole{part}")]
    faults = []
    origin, wall = _across_words(space, place_of(step))
    margin = np.asarray(design.build.margin if step.margin is None else step.margin)
    if step.from_end is None and np.any(margin > 0):
        wall += " less the margin"
    end = bay.end - (margin if step.from_end is None else 0.0)
    over = float(np.max(room.high - end))
    size = space.width if space.flat else space.height
    if over > ROUNDING * size:
        faults.append(
            Fault(
                name,
                f"layers that end {np.max(room.high) * 1e3:.3f} mm {origin}",
                f"at most {np.min(end) * 1e3:.3f} mm, {wall}",
                f"They do not fit by {over * 1e3:.3f} mm: a smaller breadth or from_end.",
            )
        )
    breadth = float(np.min(room.breadth))
    if breadth <= 0:
        found = f"a breadth of {breadth * 1e3:.3f} mm"
        faults.append(Fault(name, found, "a breadth above 0", "Margins or flanges leave no room."))
    elif not room.block and turn > breadth * (1 + ROUNDING):
        faults.append(
            Fault(
                name,
                f"a turn {turn * 1e3:.3f} mm broad",
                f"at most the breadth of {breadth * 1e3:.3f} mm",
                f"It does not fit by {(turn - breadth) * 1e3:.3f} mm: fewer wires in hand, a "
                "narrower foil, track or margin.",
            )
        )
    return faults


def touching_faults(step: WindStep, number: int, room: Lane, layers: int) -> list[Fault]:
    """Layers of tracks that lie on each other without insulation.

    Parameters
    ----------
    step : WindStep
    number : int, index of the step from 0
    room : Lane
    layers : int, number of layers, count
    """
    if not room.track or room.block or layers < 2 or np.all(room.interlayer > 0):
        return []
    turns = int(np.min(room.capacity(0, np.asarray(step.turns) * np.ones_like(room.base))))
    holds = f"{turns} turn{'' if turns == 1 else 's'}"
    return [
        Fault(
            step_name(step, number),
            f"{layers} layers of tracks without insulation between them",
            "an interlayer, here or in build; or one step for each layer",
            f"The tracks of one layer would touch those of the next. A layer holds {holds} here.",
        )
    ]


def far_too_high(step: WindStep, number: int, room: Lane, bay: Bay) -> list[Fault]:
    """A step whose layers would be more than twice as high as its bay, reported before they are laid.

    A step of a million turns is thus refused at once.

    Parameters
    ----------
    step : WindStep
    number : int, index of the step from 0
    room : Lane
    bay : Bay
    """
    if room.block or step.layers is not None or np.any(room.breadth < 0):
        return []
    turns = np.asarray(step.turns) * np.ones_like(room.base)
    layers = np.ceil(turns / np.maximum(room.capacity(0, turns), 1.0))
    high, limit = float(np.min(room.top(layers))), float(np.max(bay.ceiling))
    if high <= 2 * limit:
        return []
    return [
        Fault(
            step_name(step, number),
            f"{int(np.max(turns))} turns in {int(np.min(layers))} layers or more, which end above "
            f"{high * 1e3:.3g} mm",
            f"at most {limit * 1e3:.3f} mm, what the window leaves",
            "It does not fit: fewer turns, a thinner wire, fewer wires in hand, or another core.",
        )
    ]


def shield_faults(step: ShieldStep, number: int, end: FloatArray, limit: FloatArray) -> list[Fault]:
    """A shield that is wider than the room between flanges (or walls) and margins.

    Parameters
    ----------
    step : ShieldStep
    number : int, index of the step from 0
    end, limit : (B,) array, where the shield ends and where it must end, m
    """
    over = float(np.max(end - limit))
    if over <= ROUNDING * float(np.max(np.abs(limit))):
        return []
    width = float(np.max(np.asarray(step.width)))
    return [
        Fault(
            step_name(step, number),
            f"a shield {width * 1e3:.3f} mm wide",
            f"at most {(width - over) * 1e3:.3f} mm, the room between the margins",
            f"It does not fit by {over * 1e3:.3f} mm: a narrower shield or margin.",
        )
    ]
