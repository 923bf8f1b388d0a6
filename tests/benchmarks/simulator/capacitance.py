"""Capacitance between layers as plates, with the potentials that the turns really have.

Two facing layers of round wire count as plates at an effective distance (Snelling, Soft Ferrites, from
memory; the form is that of mean field lines between round wires)

    d = Σ (d_o − 1.15 d_i + 0.26 p)/2ε_w + Σ t/ε

(d_o, d_i overall and bare diameter, p pitch of the wires; Σ over both layers, and over tape), foil at its
own distance. Along the layer the potential is linear in the turns. W = ½ Σ C' ∫ (V_a − V_b)² dz over
twenty strips of each layer, against the next layer outwards; the first one against the core too, and the
last. Matrix over potentials of section ends and core.
"""

from __future__ import annotations

import itertools
import math

import numpy as np

from .copper import turn_length
from .layers import Array, Layer, Layout
from .parts import Part

EPSILON0 = 8.854e-12
STRIPS = 20
ENAMELLED, POTTED = 0.9, 3.4
"""ε_w between round wires: 1 and so much for wires side by side (enamel, air in the hollows), or filled
(judged)."""


def _half(part: Part, layer: Layer) -> float:
    """Half of the distance that one layer's roundness and enamel add (m)."""
    wire = layer.wire
    if wire.kind in ("foil", "track"):
        return 0.0
    bare = wire.copper if wire.kind == "round" else 0.93 * wire.overall
    pitch = max((layer.high - layer.low) / len(layer.centres), wire.overall)
    medium = POTTED if part.impregnated else 1 + ENAMELLED * wire.overall / pitch
    return (wire.overall - 1.15 * bare + 0.26 * pitch) / 2 / (medium * part.truth.permittivity)


def matrix(part: Part, layout: Layout) -> Array:
    """(2B + 1, 2B + 1) capacitance (F) over the potentials of the B sections' starts, their finishes, and the
    core: energy V C V/2."""
    count = len(layout.branches)
    result = np.zeros((2 * count + 1, 2 * count + 1))
    ordered = sorted(layout.layers, key=lambda layer: layer.inner)
    ring = part.core.form == "toroid"
    for place, layer in enumerate(ordered):
        length = 2 * math.pi if ring else layer.high - layer.low
        low = 0.0 if ring else layer.low
        for strip in range(STRIPS):
            at = low + (strip + 0.5) * length / STRIPS
            other = _next(ordered, place, at, ring)
            one = _potential(layer, count, at, low, length)
            size = turn_length(part, layer) * (layer.high - layer.low) / STRIPS
            if other is not None:
                distance = (
                    _insulation(layout, layer, other, impregnated=part.impregnated)
                    + _half(part, layer)
                    + _half(part, other)
                )
                low_other = 0.0 if ring else other.low
                span = 2 * math.pi if ring else other.high - other.low
                two = _potential(other, count, at, low_other, span)
                scale = math.sqrt(turn_length(part, other) / turn_length(part, layer))
                factor = part.truth.self_capacitance if layer.winding == other.winding else 1.0
                factor *= _metal(layer, distance) * _metal(other, distance)
                farad = EPSILON0 * size * scale / max(distance, 5e-6) * factor
                result += farad * np.outer(one - two, one - two)
            result += _to_core(part, other is None, place == 0 or _first(ordered, place, at, ring)) * (
                size * np.outer(one - _core(count), one - _core(count))
            )
    for lower, upper in itertools.product(ordered, ordered):
        if lower.chamber < upper.chamber and not ring:
            result += _across_chambers(part, lower, upper, count)
    return result * part.truth.capacitance


def _across_chambers(part: Part, one: Layer, other: Layer, count: int) -> Array:
    """Ends of layers that face each other through the wall between two chambers, as plates."""
    height = min(one.outer, other.outer) - max(one.inner, other.inner)
    if height <= 0 or other.low < one.high:
        return np.zeros((2 * count + 1, 2 * count + 1))
    end = _potential(one, count, one.high, one.low, one.high - one.low)
    begin = _potential(other, count, other.low, other.low, other.high - other.low)
    distance = part.partition / 3.5 + max(other.low - one.high - part.partition, 0.0) + 0.1e-3
    farad = 1.6 * EPSILON0 * height * turn_length(part, one) / distance
    return farad * np.outer(end - begin, end - begin)


def _metal(layer: Layer, distance: float) -> float:
    """Part of a layer of tracks that acts as metal: its own, and what its edges reach of the gaps (0.5 d over
    the gap: fitted to a field solution of two combs of tracks 0.25 and 0.5 mm apart)."""
    if layer.wire.kind != "track":
        return 1.0
    pitch = (layer.high - layer.low) / len(layer.centres)
    gap = max(pitch - layer.breadth, 1e-6)
    own = layer.breadth / pitch
    return own + (1 - own) * min(0.5 * 4.4 * distance / gap, 1.0)


def _core(count: int) -> Array:
    row = np.zeros(2 * count + 1)
    row[-1] = 1.0
    return row


def _potential(layer: Layer, count: int, at: float, low: float, length: float) -> Array:
    """Potential of a layer at a place along it, as wtwentys of its section's ends."""
    part = min(max((at - low) / length, 0.0), 1.0)
    if layer.scrambled > 0.5:
        part = 0.5
    if layer.wire.kind in ("foil",):
        part = 0.5
    done = layer.before + layer.turns * (1 - part if layer.downwards else part)
    whole = layer.whole
    row = np.zeros(2 * count + 1)
    row[layer.branch] = 1.0 - done / whole
    row[count + layer.branch] = done / whole
    return row


def _next(ordered: list[Layer], place: int, at: float, ring: bool) -> Layer | None:
    layer = ordered[place]
    for other in ordered[place + 1 :]:
        if other.inner >= layer.outer - 1e-7 and (ring or other.low <= at <= other.high):
            return other
    return None


def _first(ordered: list[Layer], place: int, at: float, ring: bool) -> bool:
    layer = ordered[place]
    return not any(
        other.outer <= layer.inner + 1e-7 and (ring or other.low <= at <= other.high)
        for other in ordered[:place]
    )


def _insulation(layout: Layout, one: Layer, two: Layer, *, impregnated: bool) -> float:
    """Σ t/ε of what lies between two layers (m)."""
    low, high = one.outer, two.inner
    found, covered = 0.0, 0.0
    for sheet in layout.sheets:
        if sheet.chamber not in (None, one.chamber):
            continue
        common = min(sheet.at + sheet.thickness, high) - max(sheet.at, low)
        if common > 0:
            found += common / sheet.permittivity
            covered += common
    bare = max(high - low - covered, 0.0)
    if one.step == two.step:  # insulation between the layers of a section
        return found + bare / 3.3
    return found + bare / (3.0 if impregnated else 1.0)


def _to_core(part: Part, last: bool, first: bool) -> float:
    """Capacitance per area (F/m²) to the core: through the bobbin's wall, and over the air to the outer
    leg."""
    total = 0.0
    if first:
        wall = max(part.wall, 0.2e-3)
        size, around = part.core.size, 1.0
        if part.core.form == "toroid":
            around = (size["inner_diameter"] + size["outer_diameter"]) / 2 / size["inner_diameter"]
        total += around * EPSILON0 / (wall / 3.8 + 0.08e-3)
    if last and part.core.form != "toroid":
        total += 0.4 * EPSILON0 / 1.5e-3
    return total
