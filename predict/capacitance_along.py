"""Along the layers: their ends to core and neighbours, and turn to turn within a layer."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from .capacitance_across import cover
from .capacitance_energy import Energy
from .capacitance_units import Space, Unit
from .design import FloatArray
from .layer_capacitance import Face, alternating_capacitance, neighbour_capacitance
from .wire_rows import EPSILON_0


def add_faces_along(energy: Energy, units: list[Unit]) -> None:
    """Ends of layers to the core beyond them, and to the layers of the next chamber: plates."""
    space = energy.space
    if space.toroid:
        return
    bobbin = space.design.bobbin
    wall = np.asarray(bobbin.wall if space.flat else bobbin.flange) * np.ones(space.count)
    core = energy.core_line()[0]
    for i, unit in enumerate(units):
        height = np.where(unit.there, unit.far - unit.near, 0.0)
        for end, distance in ((0, unit.low), (1, space.along - unit.high)):
            beside = [other for other in units if other is not unit and _hides(unit, other, end)]
            if beside:
                continue
            solid = np.minimum(wall, distance) if not (space.flat and end == 1) else np.zeros(space.count)
            permittivity = np.maximum(bobbin.permittivity * space.scale, 1.0)
            reduced = solid / permittivity + np.maximum(distance - solid, 0.0) / space.filling
            seen = 1.0 if space.flat and end == 0 else cover(space, unit.length)
            weight = EPSILON_0 * height * unit.length * seen / np.maximum(reduced, 1e-5)
            _plates(energy, unit, end, core, weight)
        for other in units[i + 1 :]:
            _ends_facing(energy, units, unit, other)


def _hides(unit: Unit, other: Unit, end: int) -> bool:
    """Whether ``other`` stands between an end of ``unit`` and the core beyond it (in most builds)."""
    overlap = np.minimum(unit.far, other.far) - np.maximum(unit.near, other.near)
    beyond = other.high <= unit.low + 1e-9 if end == 0 else other.low >= unit.high - 1e-9
    return bool(np.mean((overlap > 0.5 * (unit.far - unit.near)) & beyond & other.there) > 0.5)


def _plates(energy: Energy, unit: Unit, end: int, potential: FloatArray, weight: FloatArray) -> None:
    for member, share in zip(unit.members, unit.shares, strict=True):
        p = energy.end(member, end) - potential
        energy.add(p, p, weight * share)
        energy.scatter(member, weight * share)


def _ends_facing(energy: Energy, units: list[Unit], one: Unit, other: Unit) -> None:
    """Two layers end to end, with the bobbin's partition or air between them."""
    space = energy.space
    overlap = np.minimum(one.far, other.far) - np.maximum(one.near, other.near)
    above = np.mean(other.low) >= np.mean(one.high) - 1e-9
    lower, upper = (one, other) if above else (other, one)
    distance = upper.low - lower.high
    both = one.there & other.there & (overlap > 0) & (distance > -1e-9)
    if not np.any(both) or one.leg != other.leg or _between(units, lower, upper):
        return
    partition = space.design.bobbin.partition if one.chamber != other.chamber else 0.0
    solid = np.minimum(partition, np.maximum(distance, 0.0))
    permittivity = np.maximum(space.design.bobbin.permittivity * space.scale, 1.0)
    reduced = solid / permittivity + np.maximum(distance - solid, 0.0) / space.filling
    length = (one.length + other.length) / 2
    weight = np.where(both, EPSILON_0 * np.maximum(overlap, 0.0) * length / np.maximum(reduced, 2e-5), 0.0)
    for member, share in zip(lower.members, lower.shares, strict=True):
        for facing, part in zip(upper.members, upper.shares, strict=True):
            p = energy.end(member, 1) - energy.end(facing, 0)
            energy.add(p, p, weight * share * part)
            for index in (member, facing):
                energy.scatter(index, weight * share * part)


def _between(units: list[Unit], lower: Unit, upper: Unit) -> bool:
    """Whether a third layer stands between two that lie end to end (in most builds)."""
    for unit in units:
        inside = (unit.low >= lower.high - 1e-9) & (unit.high <= upper.low + 1e-9) & unit.there
        level = (np.minimum(unit.far, lower.far) - np.maximum(unit.near, lower.near)) > 0
        if unit is not lower and unit is not upper and np.mean(inside & level) > 0.5:
            return True
    return False


def add_turn_to_turn(energy: Energy, units: list[Unit]) -> None:
    """Neighbouring wires of one layer: of one winding at one turn's voltage from each other, of
    windings wound together at the difference of their potentials."""
    space = energy.space
    for unit in units:
        turns = space.layout.turns[:, unit.members[0]]
        for place, member in enumerate(unit.members):
            face = unit.faces[place]
            if face.flat:
                continue
            low, high = energy.ends[member]
            if len(unit.members) == 1:
                c = neighbour_capacitance(_spaced(space, unit, place), space.filling) * unit.length
                per_turn = (high - low) / np.maximum(turns, 1.0)[:, None]
                energy.add(per_turn, per_turn, c * np.maximum(turns - 1, 0.0))
                continue
            # neighbours within the turn touch; the last of one turn and the first of the next do not
            last = place + 1 == len(unit.members)
            beside = 0 if last else place + 1
            if unit.faces[beside].flat:
                continue
            pair = (place, beside)
            faces = [_spaced(space, unit, k) if last else _touching(unit, k) for k in pair]
            c = sum(alternating_capacitance(each, space.filling) for each in faces) / 2 * unit.length
            other = energy.ends[unit.members[beside]]
            a, b = low - other[0], high - other[1]
            weight = c * (np.maximum(turns - 1, 0.0) if last else turns) / 3
            energy.add(a, a, weight)
            energy.add(b, b, weight)
            energy.add(a, b, weight / 2)
            energy.add(b, a, weight / 2)


def _touching(unit: Unit, place: int) -> Face:
    """A member's face with its wires in contact, as those of one turn are."""
    return replace(unit.faces[place], pitch=unit.faces[place].overall)


def _spaced(space: Space, unit: Unit, place: int) -> Face:
    """A member's face with the pitch between the last wire of one turn and the first of the next: the
    wires of a turn touch each other, the turns share what is left."""
    turns = np.maximum(space.layout.turns[:, unit.members[place]], 1.0)
    taken = np.zeros(space.count)
    for member, face in zip(unit.members, unit.faces, strict=True):
        wire = space.design.winding(space.layout.sections[member].winding).wire
        taken = taken + np.asarray(face.overall) * (1 if wire.twisted else wire.in_hand)
    face = unit.faces[place]
    pitch = (unit.high - unit.low) / turns - taken + np.asarray(face.overall)
    return replace(face, pitch=np.maximum(pitch, face.overall))
