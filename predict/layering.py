"""One build step → its layers: how many turns each holds and where it lies.

The rules are those of the design file's contract: pitch = overall diameter × wires in hand; a layer holds
floor(breadth / (pitch (1 + allowance))) turns; a single layer is spaced evenly, full layers of several are
spread over the breadth, the last partial one is wound tight from where the wire arrives. Wound tight means
at the pitch that the allowance leaves, pitch × (1 + allowance). All arrays are (B,) over builds.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from .design import FloatArray, Real, WindStep, Wire

ROUNDING = 1e-9
"""What fits to this part of a turn or of the window fits."""

# Diameter of the smallest circle around n equal circles, in diameters (circle packing; exact up to 4 and
# for 7).
_BUNDLE = {1: 1.0, 2: 2.0, 3: 1 + 2 / math.sqrt(3), 4: 1 + math.sqrt(2), 5: 2.7013, 6: 3.0, 7: 3.0}


def bundle_factor(in_hand: int) -> float:
    """Diameter of a twisted bundle of ``in_hand`` wires over that of one wire; above 7 at a packing of
    0.7."""
    return _BUNDLE.get(in_hand, math.sqrt(in_hand / 0.7))


def turn_pitch(wire: Wire) -> Real:
    """Breadth (m) that one turn of ``wire`` takes along the layer, without slack."""
    if wire.kind == "foil":
        return wire.foil_width
    return wire.overall * (bundle_factor(wire.in_hand) if wire.twisted else wire.in_hand)


def layer_thickness(wire: Wire) -> Real:
    """Height (m) that a layer of ``wire`` adds to the build."""
    if wire.kind == "foil":
        return wire.overall * wire.in_hand
    return wire.overall * (bundle_factor(wire.in_hand) if wire.twisted else 1.0)


def copper_thickness(wire: Wire) -> Real:
    """Thickness (m) of the copper as a strip: d √π/2 for a round conductor (a square of the same area)."""
    if wire.kind == "foil":
        return wire.overall * wire.in_hand
    square = math.sqrt(math.pi) / 2
    if wire.kind == "litz" or wire.twisted:
        return layer_thickness(wire) * square
    return wire.diameter * square


@dataclass(frozen=True)
class Lane:
    """The room in which a step lays its turns.

    low, high : from where to where along the leg (m); both 0 on a toroid. base : height of its first layer
    (m).
    pitch, thickness, copper, interlayer : of one turn and layer (m). slack : 1 + allowance (1 for foil).
    hole_radius : of a toroid (m), else None. block : a section of uniform density holds any number of turns.
    """

    low: FloatArray
    high: FloatArray
    base: FloatArray
    pitch: FloatArray
    slack: float
    thickness: FloatArray
    copper: FloatArray
    interlayer: FloatArray
    foil: bool
    block: bool
    hole_radius: float | None

    @property
    def breadth(self) -> FloatArray:
        """Length along the leg (m)."""
        return self.high - self.low

    def inner(self, layer: int) -> FloatArray:
        """Height (m) at which layer ``layer`` (from 0) begins."""
        return np.asarray(self.base + layer * (self.thickness + self.interlayer))

    def top(self, layers: FloatArray) -> FloatArray:
        """Height (m) at which ``layers`` layers end."""
        between = np.maximum(layers - 1, 0) * self.interlayer
        return np.asarray(self.base + layers * self.thickness + between)

    def capacity(self, layer: int, turns: FloatArray) -> FloatArray:
        """Turns that layer ``layer`` holds: on a toroid by the hole's circumference at the wire's centre."""
        if self.block:
            return turns
        if self.foil:
            return np.ones_like(self.base)
        breadth = self.breadth
        if self.hole_radius is not None:
            centre = self.hole_radius - self.inner(layer) - self.thickness / 2
            breadth = 2 * math.pi * np.maximum(centre, 0.0)
        return np.asarray(np.maximum(np.floor(breadth / (self.pitch * self.slack) + ROUNDING), 0.0))


def lane(
    step: WindStep,
    wires: Sequence[Wire],
    base: FloatArray,
    low: FloatArray,
    high: FloatArray,
    *,
    allowance: float,
    interlayer: Real,
    hole_radius: float | None,
) -> Lane:
    """The lane of ``step`` for its own wire and its companions' (wound side by side, turn by turn)."""
    whole = np.ones_like(base)
    foil = wires[0].kind == "foil"
    if step.thickness is not None:
        thickness = copper = np.asarray(step.thickness) * whole
    else:
        thickness = np.max(np.stack([layer_thickness(wire) * whole for wire in wires]), axis=0)
        copper = np.max(np.stack([copper_thickness(wire) * whole for wire in wires]), axis=0)
    return Lane(
        low=low,
        high=high,
        base=base,
        pitch=np.sum(np.stack([turn_pitch(wire) * whole for wire in wires]), axis=0),
        slack=1.0 if foil else 1.0 + allowance,
        thickness=thickness,
        copper=copper,
        interlayer=np.asarray(interlayer) * whole,
        foil=foil,
        block=step.thickness is not None,
        hole_radius=hole_radius,
    )


def share_turns(room: Lane, turns: FloatArray, layers: int | None, *, tips: bool) -> list[FloatArray] | None:
    """Turns of each layer, (B,) each, from the first on; None if they do not fit.

    layers : share the turns evenly over this many. tips : where they do not suffice, or a layer holds no
    turn, use one more layer (or press the turn in) instead of giving None.
    """
    first = room.capacity(0, turns)
    if layers is not None and room.hole_radius is None:
        if np.any(first < 1) and not tips:
            return None
        needed = np.maximum(np.ceil(turns / np.maximum(first, 1.0)), layers)
        if np.any(needed > layers) and not tips:
            return None
        base, extra = np.floor(turns / needed), np.mod(turns, needed)
        return [np.where(layer < needed, base + (layer < extra), 0.0) for layer in range(int(np.max(needed)))]
    result: list[FloatArray] = []
    remaining = turns
    while np.any(remaining > 0):
        holds = room.capacity(len(result), turns)
        if np.any((holds < 1) & (remaining > 0)) and not tips:
            return None
        share = np.minimum(remaining, np.maximum(holds, 1.0))
        result.append(share)
        remaining = remaining - share
    if layers is not None and len(result) > layers and not tips:
        return None
    return result


def extent_along(
    step: WindStep, style: str, room: Lane, shares: Sequence[FloatArray], layer: int, foil_width: Real
) -> tuple[FloatArray, FloatArray]:
    """Where layer ``layer`` begins and ends along the leg (m), with the step's ``covered`` and ``shift``
    applied."""
    share = shares[layer]
    if room.foil and not room.block:
        start, length = room.low, np.asarray(foil_width) * np.ones_like(room.low)
    else:
        last = np.sum(np.stack([turns > 0 for turns in shares]), axis=0) - 1
        full = room.capacity(layer, np.sum(np.stack(shares), axis=0))
        partial = (layer == last) & (last > 0) & (share < full) & (step.layers is None)
        tight = (partial | step.close) & (not room.block) & (share > 0)
        length = np.where(tight, np.minimum(share * room.pitch * room.slack, room.breadth), room.breadth)
        from_top = style == "back_and_forth" and layer % 2 == 1
        start = room.high - length if from_top else room.low
    low = room.low + step.covered * (start - room.low) + step.shift
    high = room.low + step.covered * (start + length - room.low) + step.shift
    return np.asarray(low), np.asarray(high)
