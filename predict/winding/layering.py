"""One build step becomes layers: how many turns each holds and where it lies.

The rules are those of the design file: pitch = overall diameter × wires in hand; a layer holds floor(breadth
/ (pitch (1 + allowance))) turns. A single layer is spaced evenly. Of several layers the full ones are spread
over the breadth and the last, partial one is wound tight from the end where the wire arrives. Wound tight
means at the pitch with the allowance, pitch × (1 + allowance). The tracks of a board keep width + spacing
without allowance and are spaced evenly in every layer. Turns wound at random (scramble) fill one body over
the whole breadth, represented by as many even slices as it would take layers. All arrays are (B,) over
builds.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import reduce

import numpy as np

from ..design import Build, FloatArray, Real, Style, WindStep, Wire

ROUNDING = 1e-9
"""What exceeds its room by no more than this part of a turn or of the window still fits (rounding,
judged)."""
SCRAMBLE_LOOSENESS = 1.15
"""Room taken by a turn wound at random over that of a turn in a layer; two thirds of the space are then wire
(common practice, no source)."""

# Diameter of the smallest circle around n equal circles, in diameters (circle packing; exact up to 4 and
# for 7).
_BUNDLE = {1: 1.0, 2: 2.0, 3: 1 + 2 / math.sqrt(3), 4: 1 + math.sqrt(2), 5: 2.7013, 6: 3.0, 7: 3.0}


def bundle_factor(in_hand: int) -> float:
    """Diameter of a twisted bundle of wires in hand (count) over that of one wire, dimensionless; above 7
    wires for a packing factor of 0.7."""
    return _BUNDLE.get(in_hand, math.sqrt(in_hand / 0.7))


def bundle_diameter(wire: Wire) -> Real:
    """Diameter (m) of a twisted bundle over its serving: D = d f(n) + 2 s, f of ``bundle_factor``."""
    return wire.overall * bundle_factor(wire.in_hand) + 2 * wire.serving


def turn_pitch(wire: Wire) -> Real:
    """Breadth that one turn of a wire, foil or track takes along the layer, without slack; float or (B,)
    array, m."""
    if wire.foil:
        return wire.foil_width
    if wire.track:
        return (wire.foil_width + wire.spacing) * wire.in_hand
    return bundle_diameter(wire) if wire.twisted else wire.overall * wire.in_hand


def layer_thickness(wire: Wire) -> Real:
    """Height that a layer of a wire, foil or track adds to the build; float or (B,) array, m."""
    if wire.foil:
        return wire.overall * wire.in_hand
    if wire.track:
        return wire.overall
    return bundle_diameter(wire) if wire.twisted else wire.overall


def copper_thickness(wire: Wire) -> Real:
    """Thickness of the copper taken as a strip, float or (B,) array, in m: d √π/2 for a round conductor (a
    square of the same area)."""
    if wire.flat:
        return layer_thickness(wire)
    square = math.sqrt(math.pi) / 2
    if wire.bundle:
        return (layer_thickness(wire) - 2 * wire.serving) * square
    return wire.diameter * square


@dataclass(frozen=True, kw_only=True)
class Lane:
    """The room in which a step lays its turns, for B builds.

    Attributes
    ----------
    low : (B,) array, where the layers begin along the layer, m; 0 on a toroid
    high : (B,) array, where they end, m; 0 on a toroid
    base : (B,) array, where the first layer begins on the stacking axis, m
    pitch : (B,) array, breadth of one turn, m
    slack : float
        Room of a turn over its pitch, dimensionless: 1 + allowance; more for random winding; 1 for foil and
        tracks.
    thickness : (B,) array, height of one layer, m
    copper : (B,) array, thickness of the copper of one layer, m
    interlayer : (B,) array, insulation between layers, m
    spacing : (B,) array, space between tracks, m; 0 for other conductors
    beside_last : (B,) array, space between tracks as drawn, which the last one does not need, m; else 0
    foil : bool, whether the conductor is foil
    track : bool, whether the conductor is the track of a board
    block : bool, whether it is a section of uniform density, which holds any number of turns
    scramble : bool, whether the turns are wound at random
    hole_radius : float or None, radius of the hole of a toroid, m; None on other cores
    arc : float, angle of the ring that the layers cover, rad
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
    beside_last: FloatArray
    foil: bool
    track: bool
    block: bool
    scramble: bool
    hole_radius: float | None
    arc: float

    @property
    def breadth(self) -> FloatArray:
        """(B,) length along the layer, m."""
        return self.high - self.low

    @property
    def evenly(self) -> bool:
        """Whether every layer is spread over the breadth, the last one included."""
        return self.track or self.scramble

    def inner(self, layer: int) -> FloatArray:
        """Where a layer, index from 0, begins on the stacking axis: (B,) array, m."""
        return np.asarray(self.base + layer * (self.thickness + self.interlayer))

    def top(self, layers: FloatArray) -> FloatArray:
        """Where a number of layers, (B,) array, end on the stacking axis: (B,) array, m."""
        between = np.maximum(layers - 1, 0) * self.interlayer
        return np.asarray(self.base + layers * self.thickness + between)

    def capacity(self, layer: int, turns: FloatArray) -> FloatArray:
        """Turns that a layer holds.

        On a toroid they follow from the circumference of the hole at the centre of the wire (its part of it).

        Parameters
        ----------
        layer : int, index from 0
        turns : (B,) array, all turns of the step, count; a block holds them all

        Returns
        -------
        (B,) array, count
        """
        if self.block:
            return turns
        if self.foil:
            return np.ones_like(self.base)
        breadth = self.breadth
        if self.hole_radius is not None:
            centre = self.hole_radius - self.inner(layer) - self.thickness / 2
            breadth = self.arc * np.maximum(centre, 0.0)
        if self.track:  # no space is needed beyond the last one
            breadth = breadth + self.beside_last
        return np.asarray(np.maximum(np.floor(breadth / (self.pitch * self.slack) + ROUNDING), 0.0))

    def inset(self, low: FloatArray, high: FloatArray, turns: FloatArray) -> FloatArray:
        """Distance of the metal of tracks from both ends of their layer.

        Parameters
        ----------
        low, high : (B,) array, where the layer begins and ends, m
        turns : (B,) array, count

        Returns
        -------
        (B,) array, distance, m; 0 for wires and foil, whose block fills the whole layer
        """
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
    """The lane of a step, for its own wire and the wires of its companions.

    Companions are wound side by side, turn by turn. What the step does not specify is taken from ``build``.

    Parameters
    ----------
    step : WindStep
    wires : sequence of Wire, wire of the step's winding, then those of its companions
    base : (B,) array, where the first layer begins on the stacking axis, m
    along : tuple of two (B,) arrays, where the layers begin and end along the layer, m
    build : Build
    hole_radius : float or None, radius of the hole of a toroid, m; None on other cores
    """
    interlayer = build.interlayer if step.interlayer is None else step.interlayer
    whole = np.ones_like(base)
    foil, track = wires[0].foil, all(wire.track for wire in wires)
    if step.thickness is not None:
        thickness = copper = np.asarray(step.thickness) * whole
    else:
        thickness = reduce(np.maximum, [layer_thickness(wire) * whole for wire in wires])
        copper = reduce(np.maximum, [copper_thickness(wire) * whole for wire in wires])
    scramble = without_order(step, wires, build)
    slack = 1.0 if foil or track else 1.0 + build.allowance
    return Lane(
        low=along[0],
        high=along[1],
        base=base,
        pitch=reduce(np.add, [turn_pitch(wire) * whole for wire in wires]),
        slack=slack * (SCRAMBLE_LOOSENESS if scramble else 1.0),
        thickness=thickness,
        copper=copper,
        interlayer=np.asarray(interlayer) * whole,
        spacing=np.asarray(wires[0].spacing) * whole,
        beside_last=np.asarray(wires[0].spacing + wires[0].etched) * whole,
        foil=foil,
        track=track,
        block=step.thickness is not None,
        scramble=scramble,
        hole_radius=hole_radius,
        arc=math.tau if step.sector is None else step.sector,
    )


def without_order(step: WindStep, wires: Sequence[Wire], build: Build) -> bool:
    """Whether the turns of a step lie at random; foil and tracks always lie in layers.

    Parameters
    ----------
    step : WindStep
    wires : sequence of Wire, wire of the step's winding, then those of its companions
    build : Build
    """
    tracks = all(wire.track for wire in wires)
    return (step.style or build.style) == "scramble" and not wires[0].foil and not tracks


def share_turns(room: Lane, turns: FloatArray, layers: int | None, *, tips: bool) -> list[FloatArray] | None:
    """Turns of each layer, from the first layer on.

    Parameters
    ----------
    room : Lane
    turns : (B,) array, all turns of the step, count
    layers : int or None
        Share the turns evenly over this many layers, count. None: fill layer after layer; random winding
        shares them over as many layers as it needs.
    tips : bool
        Where the layers do not suffice, or a layer holds no turn, use one more layer (or press the turn in)
        instead of returning None.

    Returns
    -------
    list of (B,) arrays, or None, turns of each layer, count; None if they do not fit
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
    """``turns`` (B,) over ``layers`` (B,); the first layers hold one more where the division leaves a
    remainder."""
    base, extra = np.floor(turns / layers), np.mod(turns, layers)
    return [np.where(layer < layers, base + (layer < extra), 0.0) for layer in range(int(np.max(layers)))]


def _filled(room: Lane, turns: FloatArray, *, tips: bool) -> list[FloatArray] | None:
    """Fill layer after layer to its capacity."""
    result: list[FloatArray] = []
    remaining = turns
    while (remaining > 0).any():
        holds = room.capacity(len(result), turns)
        if not tips and ((holds < 1) & (remaining > 0)).any():
            return None
        share = np.minimum(remaining, np.maximum(holds, 1.0))
        result.append(share)
        remaining = remaining - share
    return result


def _shared_on_ring(
    room: Lane, turns: FloatArray, least: int, layers: int | None, *, tips: bool
) -> list[FloatArray] | None:
    """As ``share_turns``, where each layer holds fewer turns than the one below: evenly over the fewest
    layers (at least ``least``) that hold their share. Builds without such a number fill layer after layer."""
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
    return [np.where(needed > 0, row, filled_row) for row, filled_row in zip(rows, filled, strict=True)]


def settled(step: WindStep, room: Lane, shares: Sequence[FloatArray]) -> Lane:
    """The lane with the height that its turns really take.

    Turns wound at random have no whole layers but form one body, as high as turns × pitch × thickness ÷
    breadth and at least one wire (or the ``layers`` asked for). Its layers are slices of that body.

    Parameters
    ----------
    step : WindStep
    room : Lane
    shares : sequence of (B,) arrays, count

    Returns
    -------
    Lane, room with the thickness of a slice; unchanged for winding in layers
    """
    if not room.scramble or room.block or room.hole_radius is not None:
        return room
    turns = reduce(np.add, shares)
    layers = layers_with_turns(shares)
    least = 1 if step.layers is None else step.layers
    bodies = np.maximum(turns * room.pitch * room.slack / np.maximum(room.breadth, 1e-12), least)
    return replace(room, thickness=room.thickness * np.minimum(bodies / layers, 1.0))


def layers_with_turns(shares: Sequence[FloatArray]) -> FloatArray:
    """Layers of a step that hold turns, by the turns of each layer; all (B,) arrays, count."""
    return np.asarray(sum(share > 0 for share in shares), float)


def extents_along(
    step: WindStep, style: Style, room: Lane, shares: Sequence[FloatArray], foil_width: Real
) -> list[tuple[FloatArray, FloatArray]]:
    """Where the layers of a step begin and end along the layer, with the step's ``covered`` applied.

    Parameters
    ----------
    step : WindStep
    style : Style
    room : Lane
    shares : sequence of (B,) arrays, turns of each layer, count
    foil_width : float or (B,) array, width of the foil, m; used for foil only

    Returns
    -------
    list of pairs of (B,) arrays, beginning and end of each layer, m
    """
    strip = room.foil and not room.block
    last_tight = len(shares) > 1 and step.layers is None and not room.evenly
    last, total = layers_with_turns(shares) - 1, reduce(np.add, shares)
    ends = []
    for layer, share in enumerate(shares):
        if strip:
            start, length = room.low, np.asarray(foil_width) * np.ones_like(room.low)
        else:
            length = room.breadth
            if not room.block and (last_tight or step.close):
                partial = last_tight & (layer == last) & (last > 0) & (share < room.capacity(layer, total))
                tight = (partial | step.close) & (share > 0)
                length = np.where(tight, np.minimum(share * room.pitch * room.slack, length), length)
            start = room.high - length if descends(style, layer) else room.low
        low, high = start - room.low, start + length - room.low
        ends.append((np.asarray(room.low + step.covered * low), np.asarray(room.low + step.covered * high)))
    return ends


def descends(style: Style, layer: int) -> bool:
    """Whether a layer runs back from the far end.

    Random winding is taken to go back and forth like winding in layers.

    Parameters
    ----------
    style : Style
    layer : int, index from 0
    """
    return style != "same_side" and layer % 2 == 1
