"""Along the layers: their ends facing core and neighbours, and turn to turn within a layer."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from ..design import FloatArray
from .across import cover
from .electrodes import TOUCHING, Units
from .energy import Energy
from .facing_layers import FaceTable, LayerFace, alternating_capacitance, neighbour_capacitance
from .wire_rows import EPSILON_0


def add_faces_along(energy: Energy) -> None:
    """Add to the energy gathered so far (F), in place, that at the ends of layers: plates facing the core and
    the layers of the next chamber."""
    space, units = energy.space, energy.units
    if space.toroid:
        return
    if not space.design.core.dimensions.permeable:
        _add_ends_facing(energy, units)
        return
    bobbin = space.design.bobbin
    wall = np.reshape(bobbin.wall if space.flat else bobbin.flange, (-1, 1))
    permittivity = np.reshape(np.maximum(bobbin.permittivity * space.scale, 1.0), (-1, 1))
    height = np.where(units.there, units.far - units.near, 0.0)
    free = _free_end(energy)
    for end, distance in ((0, units.low + free), (1, space.along - units.high + free)):
        solid = np.minimum(wall, distance) if not (space.flat and end == 1) else np.zeros((1, 1))
        reduced = solid / permittivity + np.maximum(distance - solid, 0.0) / space.filling
        seen = 1.0 if space.flat and end == 0 else cover(space, units.length)
        weight = EPSILON_0 * height * units.length * seen / np.maximum(reduced, 1e-5)
        weight = np.where(_hidden(units, end), 0.0, weight)[:, units.unit] * units.share
        energy.plates[end] += weight
        energy.own += np.where(energy.scramble, weight / 12, 0.0)
    _add_ends_facing(energy, units)


def _free_end(energy: Energy) -> FloatArray:
    """(B, N) distance (m) from the last wire of a spaced layer to the end of the layer: half the space
    between two wires, the mean of those that are wound together."""
    units, layers = energy.units, energy.open_layers[:, :-1]
    if not layers.any():
        return np.zeros(layers.shape)
    width, overall, pitch = (units.table.columns[name][:, :-1] for name in ("width", "overall", "pitch"))
    half_gap = units.share * (pitch - np.where(width > 0, width, overall)) / 2
    of_layer = (units.unit[:, None] == np.arange(layers.shape[1])).astype(float)
    return np.where(layers, half_gap @ of_layer, 0.0)


def _hidden(units: Units, end: int) -> NDArray[np.bool_]:
    """(B, N) whether another layer stands between one end of a layer and the core beyond it."""
    overlap = np.minimum(units.far[:, :, None], units.far[:, None, :])
    overlap = overlap - np.maximum(units.near[:, :, None], units.near[:, None, :])
    if end == 0:
        beyond = units.high[:, None, :] <= units.low[:, :, None] + TOUCHING
    else:
        beyond = units.low[:, None, :] >= units.high[:, :, None] - TOUCHING
    level = overlap > 0.5 * (units.far - units.near)[:, :, None]
    others = ~np.eye(units.near.shape[1], dtype=bool)
    return np.asarray((level & beyond & units.there[:, None, :] & others).any(axis=-1))


def _add_ends_facing(energy: Energy, units: Units) -> None:
    """Layers end to end, with the bobbin's partition or air between them."""
    space = energy.space
    distances = units.low[:, None, :] - units.high[:, :, None]
    overlaps = np.minimum(units.far[:, :, None], units.far[:, None, :])
    overlaps = overlaps - np.maximum(units.near[:, :, None], units.near[:, None, :])
    meet = (distances > -TOUCHING) & (overlaps > 0) & units.there[:, :, None] & units.there[:, None, :]
    meet &= (units.leg[:, None] == units.leg) & ~np.eye(len(units.leg), dtype=bool)
    b, lower, upper = np.nonzero(meet)
    apart = ~_between(units, b, lower, upper)
    b, lower, upper = b[apart], lower[apart], upper[apart]
    if not len(b):
        return
    free = _free_end(energy)
    distance = distances[b, lower, upper] + free[b, lower] + free[b, upper]
    overlap = overlaps[b, lower, upper]
    known = {chamber: index for index, chamber in enumerate(dict.fromkeys(units.chamber))}
    chamber = np.array([known[value] for value in units.chamber])
    partition = np.broadcast_to(np.asarray(space.design.bobbin.partition, float), (space.count,))[b]
    partition = np.where(chamber[lower] != chamber[upper], partition, 0.0)
    solid = np.minimum(partition, np.maximum(distance, 0.0))
    permittivity = np.maximum(space.design.bobbin.permittivity * space.scale, 1.0)
    permittivity = np.broadcast_to(permittivity, (space.count,))[b]
    reduced = solid / permittivity + np.maximum(distance - solid, 0.0) / space.filling
    length = (units.length[b, lower] + units.length[b, upper]) / 2
    weight = EPSILON_0 * overlap * length / np.maximum(reduced, 2e-5)
    table = units.electrodes
    for first in range(table.shape[1]):
        for second in range(table.shape[1]):
            lower_face, upper_face = table[lower, first], table[upper, second]
            both = (lower_face >= 0) & (upper_face >= 0)
            share = weight[both] * units.share[lower_face[both]] * units.share[upper_face[both]]
            energy.end_to_end(b[both], lower_face[both], upper_face[both], share)
            for member in (lower_face[both], upper_face[both]):
                energy.scatter(b[both], member, share)


def _between(
    units: Units, b: NDArray[np.int_], lower: NDArray[np.int_], upper: NDArray[np.int_]
) -> NDArray[np.bool_]:
    """Whether a third layer stands between two that lie end to end."""
    rows = np.arange(len(b))
    inside = units.low[b] >= units.high[b, lower, None] - TOUCHING
    inside &= (units.high[b] <= units.low[b, upper, None] + TOUCHING) & units.there[b]
    inside &= np.minimum(units.far[b], units.far[b, lower, None]) > np.maximum(
        units.near[b], units.near[b, lower, None]
    )
    inside[rows, lower] = inside[rows, upper] = False
    return np.asarray(np.any(inside, axis=-1))


def add_turn_to_turn(energy: Energy) -> None:
    """Add the energy (F) between neighbouring wires of one layer, in place. Wires of one winding differ by
    the voltage of one turn; those of windings wound together differ by the difference of their potentials."""
    space, units = energy.space, energy.units
    turns = space.layout.turns
    alone = [members[0] for members in units.members if len(members) == 1]
    alone = [member for member in alone if not units.faces[member].flat]
    if alone:
        builds, electrodes = np.indices((space.count, len(alone)))
        faces = FaceTable([_spaced(energy, member) for member in alone], space.count).of(builds, electrodes)
        c = neighbour_capacitance(faces, space.filling) * units.length[:, units.unit[alone]]
        number = turns[:, alone]
        energy.own[:, alone] += c * np.maximum(number - 1, 0.0) / np.maximum(number, 1.0) ** 2
    for index, members in enumerate(units.members):
        length = units.length[:, index]
        if len(members) == 1:
            continue
        for member in members:
            # wires of one turn touch; the last wire of a turn and the first of the next do not
            last = member == members[-1]
            beside = members[0] if last else members[members.index(member) + 1]
            if units.faces[member].flat or units.faces[beside].flat:
                continue
            pair = [_spaced(energy, k) if last else _touching(units.faces[k]) for k in (member, beside)]
            c = sum(alternating_capacitance(each, space.filling) for each in pair) / 2 * length
            number = turns[:, member]
            weight = c * (np.maximum(number - 1, 0.0) if last else number) / 3
            energy.together(member, beside, weight)


def _touching(face: LayerFace) -> LayerFace:
    """A face with its wires in contact, as the wires of one turn are."""
    return replace(face, pitch=face.overall)


def _spaced(energy: Energy, member: int) -> LayerFace:
    """The face of a section, with the pitch from the last wire of one turn to the first of the next. The
    wires of one turn touch; the turns share the rest of the breadth."""
    space, units = energy.space, energy.units
    unit_index = int(units.unit[member])
    turns = np.maximum(space.layout.turns[:, member], 1.0)
    taken: FloatArray = np.zeros(space.count)
    for neighbour in units.members[unit_index]:
        wire = space.design.winding(space.layout.sections[neighbour].winding).wire
        taken = taken + np.asarray(units.faces[neighbour].overall) * (1 if wire.twisted else wire.in_hand)
    face = units.faces[member]
    pitch = (units.high[:, unit_index] - units.low[:, unit_index]) / turns - taken + np.asarray(face.overall)
    return replace(face, pitch=np.maximum(pitch, face.overall))
