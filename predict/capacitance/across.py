"""Layers face to face: with each other, with leg and outer wall, with shields, where they see each other."""

from __future__ import annotations

import math
from dataclasses import fields, replace

import numpy as np
from numpy.typing import NDArray

from ..cores.round_outline import outer_leg_angle
from ..design import EDimensions, FloatArray, PotDimensions, RoundDimensions, UDimensions
from ..winding.layout import leg_perimeter
from .electrodes import Space, Units
from .energy import Energy
from .facing_layers import SHEET, Face, facing_capacitance
from .insulation_between import Pairs, reduced_thickness


def add_faces_across(energy: Energy) -> None:
    """Add the energy of all faces across the layers; a layer hides what lies behind it where it covers."""
    space, units = energy.space, energy.units
    pairs, moments = _visible(space, units)
    b, inner, outer = pairs.build, pairs.inner, pairs.outer
    start = np.where(inner < 0, 0.0, units.far[b, inner])
    stop = np.where(outer < 0, space.across, units.near[b, outer])
    gap = np.maximum(stop - start, 0.0)
    reduced = reduced_thickness(space, units, pairs, gap)
    length = _mean_length(units, pairs)
    seen = _seen(space, units, pairs, length)
    if space.flat:
        length = _flat_length(space, moments[1] / np.maximum(moments[0], 1e-12), b)
    for rows, one, two in _members(units, pairs):
        weight = _density(space, energy, pairs.build[rows], one, two, gap[rows], reduced[rows])
        weight = weight * length[rows] * seen[rows]
        weight = weight * _share(units, one) * _share(units, two)
        first, second, third = (weight * moment[rows] for moment in moments)
        energy.face(b[rows], one, two, (first, second, third))
        for member in (one, two):
            energy.scatter(b[rows], member, first)


def _visible(space: Space, units: Units) -> tuple[Pairs, tuple[FloatArray, FloatArray, FloatArray]]:
    """The layers that see each other in some stretch, or see the core, and the moments ∫dy, ∫y dy, ∫y² dy of
    all their stretches (m, m², m³)."""
    count, size = units.near.shape
    edges = [np.zeros((count, 1)), np.full((count, 1), space.along)]
    edges += [np.clip(edge, 0.0, space.along) for edge in (units.low, units.high)]
    cuts = np.sort(np.concatenate(edges, axis=1), axis=1)
    begin, end = cuts[:, :-1], cuts[:, 1:]
    middle, wide = (begin + end) / 2, end > begin
    order = np.argsort(units.near, axis=1, kind="stable")
    covers = units.there[:, :, None] & wide[:, None, :]
    covers &= (units.low[:, :, None] < middle[:, None, :]) & (middle[:, None, :] < units.high[:, :, None])
    builds = np.arange(count)
    # from the outer wall inwards: the layer that is seen from each place, −1 where it is the core
    behind = np.full(begin.shape, -1)
    found = []
    for place in range(size - 1, -2, -1):
        unit = order[:, place] if place >= 0 else np.full(count, -1)
        here = covers[builds, unit] if place >= 0 else wide & (behind >= 0)
        seen = here & (behind >= 0) if space.toroid else here
        build, stretch = np.nonzero(seen)
        found.append((build, stretch, unit[build], behind[build, stretch]))
        behind = np.where(here, unit[:, None], behind)
    build, stretch, inner, outer = (np.concatenate(part) for part in zip(*found, strict=True))
    # one row for each pair of a build, of all its stretches together
    key = (build * (size + 1) + inner + 1) * (size + 1) + outer + 1
    pair, row = np.unique(key, return_inverse=True)
    low, high = begin[build, stretch], end[build, stretch]
    first, second, third = (
        np.bincount(row, (high**power - low**power) / power, len(pair)).astype(float) for power in (1, 2, 3)
    )
    rest, outer = np.divmod(pair, size + 1)
    build, inner = np.divmod(rest, size + 1)
    return Pairs(build, inner - 1, outer - 1), (first, second, third)


def _members(units: Units, pairs: Pairs) -> list[tuple[NDArray[np.int_], NDArray[np.int_], NDArray[np.int_]]]:
    """(rows, electrode of the inner face, of the outer face): all combinations of what is wound together;
    the core is the electrode after all sections."""
    core = len(units.unit)
    most = max(map(len, units.members))
    table = np.full((len(units.members) + 1, most), -1)
    table[-1, 0] = core
    for place, members in enumerate(units.members):
        table[place, : len(members)] = members
    found = []
    for first in range(most):
        for second in range(most):
            one, two = table[pairs.inner, first], table[pairs.outer, second]
            rows = np.flatnonzero((one >= 0) & (two >= 0))
            if len(rows):
                found.append((rows, one[rows], two[rows]))
    return found


def _share(units: Units, electrode: NDArray[np.int_]) -> FloatArray:
    return np.append(units.share, 1.0)[electrode]


def _density(
    space: Space,
    energy: Energy,
    build: NDArray[np.int_],
    one: NDArray[np.int_],
    two: NDArray[np.int_],
    gap: FloatArray,
    reduced: FloatArray,
) -> FloatArray:
    """Capacitance (F/m²) of the faces of electrodes, kinds of face one after the other."""
    faces = [*energy.units.faces, SHEET]
    table = _FaceTable(faces, space.count)
    result = np.zeros(len(build))
    kind = table.kind[one] * 3 + table.kind[two]
    for value in np.unique(kind):
        rows = np.flatnonzero(kind == value)
        b = build[rows]
        result[rows] = facing_capacitance(
            table.of(b, one[rows]), table.of(b, two[rows]), gap[rows], reduced[rows], filling=space.filling
        )
    return result


class _FaceTable:
    """Faces of all electrodes as arrays (B, e), so that rows of any builds can be taken out."""

    def __init__(self, faces: list[Face], count: int) -> None:
        self.kind = np.array([_kind(face) for face in faces])
        self.columns = {
            item.name: np.stack(
                [np.broadcast_to(np.asarray(getattr(face, item.name), float), (count,)) for face in faces],
                axis=-1,
            )
            for item in fields(Face)
        }

    def of(self, build: NDArray[np.int_], electrode: NDArray[np.int_]) -> Face:
        """The faces of ``electrode`` in ``build``."""
        return replace(SHEET, **{name: column[build, electrode] for name, column in self.columns.items()})


def _kind(face: Face) -> int:
    """0: a closed sheet of metal, 1: tracks, 2: round wires."""
    if not face.flat:
        return 2
    return 1 if np.any(np.asarray(face.width) > 0) else 0


def _mean_length(units: Units, pairs: Pairs) -> FloatArray:
    """Mean length (m) of a turn of the layers that face each other."""
    inner, outer = units.length[pairs.build, pairs.inner], units.length[pairs.build, pairs.outer]
    alone = np.where(pairs.near_core, outer, inner)
    return np.where(pairs.core, alone, (inner + outer) / 2)


def _flat_length(space: Space, place: FloatArray, build: NDArray[np.int_]) -> FloatArray:
    scale = np.broadcast_to(np.asarray(space.design.build.mean_turn_scale, float), (space.count,))[build]
    return np.asarray((leg_perimeter(space.design.core.dimensions) + 2 * math.pi * place) * scale)


def _seen(space: Space, units: Units, pairs: Pairs, length: FloatArray) -> FloatArray:
    """The part of a turn along which two faces see each other: a leg all round its own winding,
    everything else of the core, and the winding of the other leg, only in the window."""
    if space.toroid:
        return np.ones(len(length))
    one_leg = ~pairs.core & (units.leg[pairs.inner] == units.leg[pairs.outer])
    on_leg = pairs.core & (pairs.near_core == (units.leg[pairs.unit] == 1)) & (not space.flat)
    return np.where(one_leg | on_leg, 1.0, cover(space, length))


def cover(space: Space, length: FloatArray) -> FloatArray:
    """Part of a turn of ``length`` (m) that lies in the window."""
    core = space.design.core
    if core.cover is not None:
        return np.full(np.shape(length), core.cover)
    dimensions = core.dimensions
    if isinstance(dimensions, PotDimensions):
        return np.full(np.shape(length), 1 - dimensions.slots * dimensions.slot_angle / (2 * math.pi))
    if isinstance(dimensions, RoundDimensions):
        return np.full(np.shape(length), outer_leg_angle(dimensions) / (math.pi / 2))
    if isinstance(dimensions, EDimensions):
        inside = 2 * min(dimensions.outer_depth, dimensions.leg_depth)
    else:
        assert isinstance(dimensions, UDimensions)
        inside = dimensions.leg_depth
    return np.minimum(inside / length, 1.0)
