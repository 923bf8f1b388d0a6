"""One build step → its layers: how many turns each holds and where it lies.

The rules are those of the design file's contract: pitch = overall diameter × wires in hand; a layer holds
floor(breadth / (pitch (1 + allowance))) turns; a single layer is spaced evenly, full layers of several are
spread over the breadth, the last partial one is wound tight from where the wire arrives. Wound tight means
at the pitch that the allowance leaves, pitch × (1 + allowance). Tracks of a board keep width + spacing
without allowance and are spaced evenly in every layer. Turns without order (scramble) fill one body over the
whole breadth, described by as many even slices as layers would hold them. All arrays are (B,) over builds.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..design import Build, FloatArray, Real, Style, WindStep, Wire

ROUNDING = 1e-9
"""What fits to this part of a turn or of the window fits."""
SCRAMBLE_LOOSENESS = 1.15
"""Room that a turn wound without order takes, over that of one in a layer: two thirds of the space are wire
then (common practice, no source)."""

# Diameter of the smallest circle around n equal circles, in diameters (circle packing; exact up to 4 and
# for 7).
_BUNDLE = {1: 1.0, 2: 2.0, 3: 1 + 2 / math.sqrt(3), 4: 1 + math.sqrt(2), 5: 2.7013, 6: 3.0, 7: 3.0}


def bundle_factor(in_hand: int) -> float:
    """Diameter of a twisted bundle of ``in_hand`` wires over that of one wire; above 7 at a packing of
    0.7."""
    return _BUNDLE.get(in_hand, math.sqrt(in_hand / 0.7))


def turn_pitch(wire: Wire) -> Real:
    """Breadth (m) that one turn of ``wire`` takes along the layer, without slack."""
    if wire.foil:
        return wire.foil_width
    if wire.track:
        return (wire.foil_width + wire.spacing) * wire.in_hand
    return wire.overall * (bundle_factor(wire.in_hand) if wire.twisted else wire.in_hand)


def layer_thickness(wire: Wire) -> Real:
    """Height (m) that a layer of ``wire`` adds to the build."""
    if wire.foil:
        return wire.overall * wire.in_hand
    if wire.track:
        return wire.overall
    return wire.overall * (bundle_factor(wire.in_hand) if wire.twisted else 1.0)


def copper_thickness(wire: Wire) -> Real:
    """Thickness (m) of the copper as a strip: d √π/2 for a round conductor (a square of the same area)."""
    if wire.flat:
        return layer_thickness(wire)
    square = math.sqrt(math.pi) / 2
    if wire.bundle:
        return layer_thickness(wire) * square
    return wire.diameter * square


@dataclass(frozen=True, kw_only=True)
class Lane:
    """The room in which a step lays its turns.

    low, high : from where to where the layers run (m); both 0 on a toroid. base : where its first layer
    begins on the stacking axis (m).
    pitch, thickness, copper, interlayer : of one turn and layer (m). slack : room over the pitch that a turn
    takes (1 + allowance; more without order; 1 for foil and tracks).
    spacing : between tracks (m), else 0. scramble : turns in no order.
    hole_radius : of a toroid (m), else None; arc : the angle of its ring that the layers cover (rad).
    block : a section of uniform density holds any number of turns. foil, track : the kind of conductor.
    """

    low: FloatArray
    high: FloatArray
    base: FloatArray
    pitch: FloatArray
    slack: float
    thickness: FloatArray
    copper: FloatArray
    interlayer: FloatArray
    spacing: FloatArray
    foil: bool
    track: bool
    block: bool
    scramble: bool
    hole_radius: float | None
    arc: float

    @property
    def breadth(self) -> FloatArray:
        """Length along the layer (m)."""
        return self.high - self.low

    @property
    def evenly(self) -> bool:
        """Whether every layer, the last one too, is spread over the breadth."""
        return self.track or self.scramble

    def inner(self, layer: int) -> FloatArray:
        """Where layer ``layer`` (from 0) begins on the stacking axis (m)."""
        return np.asarray(self.base + layer * (self.thickness + self.interlayer))

    def top(self, layers: FloatArray) -> FloatArray:
        """Where ``layers`` layers end on the stacking axis (m)."""
        between = np.maximum(layers - 1, 0) * self.interlayer
        return np.asarray(self.base + layers * self.thickness + between)

    def capacity(self, layer: int, turns: FloatArray) -> FloatArray:
        """Turns that layer ``layer`` holds: on a toroid by its part of the hole's circumference at the wire's
        centre."""
        if self.block:
            return turns
        if self.foil:
            return np.ones_like(self.base)
        breadth = self.breadth
        if self.hole_radius is not None:
            centre = self.hole_radius - self.inner(layer) - self.thickness / 2
            breadth = self.arc * np.maximum(centre, 0.0)
        return np.asarray(np.maximum(np.floor(breadth / (self.pitch * self.slack) + ROUNDING), 0.0))

    def inset(self, low: FloatArray, high: FloatArray, turns: FloatArray) -> FloatArray:
        """How far (B,) the metal of tracks that lie between ``low`` and ``high`` stays off both ends (m); 0
        for wires and foil, whose block reaches over the whole layer."""
        if not self.track or self.block:
            return np.zeros_like(self.base)
        pitch = (high - low) / np.maximum(turns, 1.0)
        return np.asarray(np.maximum(pitch - self.pitch + self.spacing, 0.0) / 2)


def lane(
    step: WindStep,
    wires: Sequence[Wire],
    base: FloatArray,
    along: tuple[FloatArray, FloatArray],
    build: Build,
    *,
    hole_radius: float | None,
) -> Lane:
    """The lane of ``step`` on ``base`` for its own wire and its companions' (wound side by side, turn by
    turn); ``along`` is where its layers begin and end (m). What the step leaves open the ``build`` says."""
    style = step.style or build.style
    interlayer = build.interlayer if step.interlayer is None else step.interlayer
    whole = np.ones_like(base)
    foil, track = wires[0].foil, all(wire.track for wire in wires)
    if step.thickness is not None:
        thickness = copper = np.asarray(step.thickness) * whole
    else:
        thickness = np.max(np.stack([layer_thickness(wire) * whole for wire in wires]), axis=0)
        copper = np.max(np.stack([copper_thickness(wire) * whole for wire in wires]), axis=0)
    scramble = style == "scramble" and not foil and not track
    slack = 1.0 if foil or track else 1.0 + build.allowance
    return Lane(
        low=along[0],
        high=along[1],
        base=base,
        pitch=np.sum(np.stack([turn_pitch(wire) * whole for wire in wires]), axis=0),
        slack=slack * (SCRAMBLE_LOOSENESS if scramble else 1.0),
        thickness=thickness,
        copper=copper,
        interlayer=np.asarray(interlayer) * whole,
        spacing=np.asarray(wires[0].spacing) * whole,
        foil=foil,
        track=track,
        block=step.thickness is not None,
        scramble=scramble,
        hole_radius=hole_radius,
        arc=math.tau if step.sector is None else step.sector,
    )


def share_turns(room: Lane, turns: FloatArray, layers: int | None, *, tips: bool) -> list[FloatArray] | None:
    """Turns of each layer, (B,) each, from the first on; None if they do not fit.

    layers : share the turns evenly over this many; without it, turns without order share as many as they
    need. tips : where the layers do not suffice, or a layer holds no turn, use one more layer (or press the
    turn in) instead of giving None.
    """
    if layers is None and not room.scramble:
        return _filled(room, turns, tips=tips)
    least = layers or 1
    if room.hole_radius is not None:
        return _shared_on_ring(room, turns, least, layers, tips=tips)
    first = room.capacity(0, turns)
    if np.any(first < 1) and not tips:
        return None
    needed = np.maximum(np.ceil(turns / np.maximum(first, 1.0)), least)
    if layers is not None and np.any(needed > layers) and not tips:
        return None
    return _evenly(turns, needed)


def _evenly(turns: FloatArray, layers: FloatArray) -> list[FloatArray]:
    """``turns`` (B,) over ``layers`` (B,), the first layers holding one more where they do not divide."""
    base, extra = np.floor(turns / layers), np.mod(turns, layers)
    return [np.where(layer < layers, base + (layer < extra), 0.0) for layer in range(int(np.max(layers)))]


def _filled(room: Lane, turns: FloatArray, *, tips: bool) -> list[FloatArray] | None:
    """Layer after layer filled to its capacity."""
    result: list[FloatArray] = []
    remaining = turns
    while np.any(remaining > 0):
        holds = room.capacity(len(result), turns)
        if np.any((holds < 1) & (remaining > 0)) and not tips:
            return None
        share = np.minimum(remaining, np.maximum(holds, 1.0))
        result.append(share)
        remaining = remaining - share
    return result


def _shared_on_ring(
    room: Lane, turns: FloatArray, least: int, layers: int | None, *, tips: bool
) -> list[FloatArray] | None:
    """As ``share_turns`` where each layer holds fewer turns than the one below: evenly over the fewest layers
    that hold their share, from ``least`` on; filled one after the other in builds that have none."""
    filled = _filled(room, turns, tips=tips)
    if filled is None:
        return None
    most = max(least, layers or 2 * len(filled))
    needed = np.zeros_like(turns)
    holds: list[FloatArray] = []
    for number in range(1, most + 1):
        holds.append(room.capacity(number - 1, turns))
        if number >= least:
            fits = np.all(np.stack(_evenly(turns, np.full_like(turns, number))) <= np.stack(holds), axis=0)
            needed = np.where((needed == 0) & fits, number, needed)
    if np.all(needed > 0):
        return _evenly(turns, needed)
    if layers is not None and not tips:
        return None
    rows = _evenly(turns, np.maximum(needed, 1))
    length = max(len(rows), len(filled))
    none = np.zeros_like(turns)
    rows, filled = rows + [none] * (length - len(rows)), filled + [none] * (length - len(filled))
    return [np.where(needed > 0, row, other) for row, other in zip(rows, filled, strict=True)]


def settled(step: WindStep, room: Lane, shares: Sequence[FloatArray]) -> Lane:
    """The lane with the height that its turns really take: without order they have no whole layers but one
    body, as high as turns × pitch × thickness ÷ breadth and at least one wire (or the ``layers`` asked for);
    its layers are slices of it."""
    if not room.scramble or room.block or room.hole_radius is not None:
        return room
    turns = np.sum(np.stack(shares), axis=0)
    layers = np.sum(np.stack([share > 0 for share in shares]), axis=0)
    least = 1 if step.layers is None else step.layers
    bodies = np.maximum(turns * room.pitch * room.slack / np.maximum(room.breadth, 1e-12), least)
    return replace(room, thickness=room.thickness * np.minimum(bodies / layers, 1.0))


def extent_along(
    step: WindStep, style: Style, room: Lane, shares: Sequence[FloatArray], layer: int, foil_width: Real
) -> tuple[FloatArray, FloatArray]:
    """Where layer ``layer`` begins and ends along the layer (m), with the step's ``covered`` applied."""
    share = shares[layer]
    if room.foil and not room.block:
        start, length = room.low, np.asarray(foil_width) * np.ones_like(room.low)
    else:
        last = np.sum(np.stack([turns > 0 for turns in shares]), axis=0) - 1
        full = room.capacity(layer, np.sum(np.stack(shares), axis=0))
        partial = (layer == last) & (last > 0) & (share < full) & (step.layers is None) & (not room.evenly)
        tight = (partial | step.close) & (not room.block) & (share > 0)
        length = np.where(tight, np.minimum(share * room.pitch * room.slack, room.breadth), room.breadth)
        from_far = descends(style, layer)
        start = room.high - length if from_far else room.low
    return (
        np.asarray(room.low + step.covered * (start - room.low)),
        np.asarray(room.low + step.covered * (start + length - room.low)),
    )


def descends(style: Style, layer: int) -> bool:
    """Whether layer ``layer`` (from 0) runs back from the far end; a winding without order is taken to go to
    and fro like an orderly one."""
    return style != "same_side" and layer % 2 == 1
