"""Layers face to face: with each other, with leg and outer wall, with shields, where they see each other."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from .capacitance_energy import Energy
from .capacitance_insulation import reduced_thickness
from .capacitance_units import Space, Unit
from .design import EDimensions, FloatArray, PotDimensions, RoundDimensions, UDimensions
from .layer_capacitance import SHEET, Face, facing_capacitance
from .layout import leg_perimeter
from .round_outline import outer_leg_angle


def add_faces_across(energy: Energy, units: list[Unit]) -> None:
    """Add the energy of all faces across the layers; a layer hides what lies behind it where it covers."""
    space = energy.space
    edges = [np.zeros(space.count), np.full(space.count, space.along)]
    edges += [np.clip(edge, 0.0, space.along) for unit in units for edge in (unit.low, unit.high)]
    cuts = np.sort(np.stack(edges, axis=-1), axis=-1)
    begin, end = cuts[:, :-1], cuts[:, 1:]
    middle = (begin + end) / 2
    covers = [
        (unit.low[:, None] < middle) & (middle < unit.high[:, None]) & unit.there[:, None] for unit in units
    ]
    everywhere = end > begin

    def moments(active: NDArray[np.bool_]) -> tuple[FloatArray, FloatArray, FloatArray]:
        size = np.where(active, end - begin, 0.0)
        square = np.where(active, end**2 - begin**2, 0.0) / 2
        cube = np.where(active, end**3 - begin**3, 0.0) / 3
        return size.sum(axis=-1), square.sum(axis=-1), cube.sum(axis=-1)

    for i in range(-1, len(units)):
        open_still = everywhere if i < 0 else covers[i] & everywhere
        for j in range(i + 1, len(units)):
            active = open_still & covers[j]
            if np.any(active):
                _pair(energy, units, i, j, moments(active))
                open_still = open_still & ~covers[j]
        if i >= 0 and not space.toroid and np.any(open_still):
            _pair(energy, units, i, len(units), moments(open_still))


def _pair(
    energy: Energy, units: list[Unit], i: int, j: int, moments: tuple[FloatArray, FloatArray, FloatArray]
) -> None:
    """Two units that see each other; −1 is the near surface of the core, the number of units the far
    one."""
    space = energy.space
    inner = units[i] if i >= 0 else None
    outer = units[j] if j < len(units) else None
    start = inner.far if inner is not None else np.zeros(space.count)
    stop = outer.near if outer is not None else np.full(space.count, space.across)
    gap = np.maximum(stop - start, 0.0)
    reduced = reduced_thickness(space, inner, outer, gap)
    lengths = [unit.length for unit in (inner, outer) if unit is not None]
    if space.flat:
        m0, m1, _ = moments
        lengths = [_flat_length(space, m1 / np.maximum(m0, 1e-12))]
    length = sum(lengths, np.zeros(space.count)) / len(lengths) * _seen(space, inner, outer)
    for member, share, face in _members(space, inner):
        for other, part, opposite in _members(space, outer):
            density = facing_capacitance(face, opposite, gap, reduced, filling=space.filling)
            one = energy.core_line() if inner is None else energy.line(inner, member)
            two = energy.core_line() if outer is None else energy.line(outer, other)
            weight = density * share * part * length
            energy.facing(one, two, moments, weight)
            for index in (member, other):
                energy.scatter(index, weight * moments[0])


def _flat_length(space: Space, place: FloatArray) -> FloatArray:
    scale = np.asarray(space.design.build.mean_turn_scale, float)
    return np.asarray((leg_perimeter(space.design.core.dimensions) + 2 * math.pi * place) * scale)


def _members(space: Space, unit: Unit | None) -> list[tuple[int, FloatArray, Face]]:
    if unit is None:
        return [(-1, np.ones(space.count), SHEET)]
    return list(zip(unit.members, unit.shares, unit.faces, strict=True))


def _seen(space: Space, inner: Unit | None, outer: Unit | None) -> FloatArray | float:
    """The part of a turn along which two faces see each other: a leg all round its own winding,
    everything else of the core, and the winding of the other leg, only in the window."""
    own = [unit for unit in (inner, outer) if unit is not None]
    if len(own) == 2 and own[0].leg == own[1].leg:
        return 1.0
    if space.toroid:
        return 1.0
    on_leg = len(own) == 1 and not space.flat and (inner is None) == (own[0].leg == 1)
    return 1.0 if on_leg else cover(space, np.mean([unit.length for unit in own], axis=0))


def cover(space: Space, length: FloatArray) -> FloatArray:
    """Part of a turn of ``length`` (m) that lies in the window."""
    core = space.design.core
    if core.cover is not None:
        return np.full(space.count, core.cover)
    dimensions = core.dimensions
    if isinstance(dimensions, PotDimensions):
        return np.full(space.count, 1 - dimensions.slots * dimensions.slot_angle / (2 * math.pi))
    if isinstance(dimensions, RoundDimensions):
        return np.full(space.count, outer_leg_angle(dimensions) / (math.pi / 2))
    if isinstance(dimensions, EDimensions):
        inside = 2 * min(dimensions.outer_depth, dimensions.leg_depth)
    else:
        assert isinstance(dimensions, UDimensions)
        inside = dimensions.leg_depth
    return np.minimum(inside / length, 1.0)
