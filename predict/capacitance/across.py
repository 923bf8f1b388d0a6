"""Layers face to face: with each other, with leg and outer wall, and with shields, wherever they see each
other."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..design import FloatArray
from .electrodes import ElectrodeSpace, Units
from .energy import Energy
from .facing_layers import shape_thickness
from .insulation_between import Pairs, reduced_thickness
from .stacks import Gaps, Series, in_open_stacks, stack_faces
from .wire_rows import EPSILON_0


def add_faces_across(energy: Energy) -> None:
    """Add the energy (F) of all faces across the layers, in place. A close-wound layer hides what lies behind
    the part it covers. A spaced layer lets its neighbours see each other through its openings (``stacks``).
    """
    space, units, layers = energy.space, energy.units, energy.open_layers
    gaps = _gaps(space, units)
    through = in_open_stacks(gaps, layers)
    pairs, row, (closed,) = gaps.together((~through).astype(float))
    gap, reduced = _between(space, units, pairs)
    facing = [
        _Facing(*each, *_shapes(space, units, pairs, each, gap, reduced)) for each in _members(units, pairs)
    ]
    reduced = np.maximum(reduced, 1e-9)
    if not through.all():
        _add_closed(energy, pairs, closed, facing, reduced)
    if through.any():
        series = _in_series(space, units, pairs, facing, gap, reduced)
        _add_open(energy, *stack_faces(space, units, gaps.of(through), layers, pairs, row[through], series))


@dataclass(frozen=True)
class _Facing:
    """Electrodes that face each other, R rows: pair of layers, electrode of the inner and of the outer face
    (index), and what the shapes of both add in series (m of vacuum)."""

    pair: NDArray[np.int_]
    first: NDArray[np.int_]
    second: NDArray[np.int_]
    below: FloatArray
    above: FloatArray


def _add_closed(
    energy: Energy,
    pairs: Pairs,
    moments: tuple[FloatArray, FloatArray, FloatArray],
    facing: list[_Facing],
    reduced: FloatArray,
) -> None:
    """Neighbouring layers in stretches where no layer is open: each pair on its own."""
    space, units = energy.space, energy.units
    length = _turn(space, units, pairs, moments[0], moments[1])
    seen = np.where(_all_round(space, units, pairs), 1.0, _in_window(space, length))
    for each in facing:
        weight = EPSILON_0 / (reduced[each.pair] + each.below + each.above) * (length * seen)[each.pair]
        weights = [weight * moment[each.pair] for moment in moments]
        _add(energy, pairs, each.pair, each.first, each.second, weights)


def _in_series(
    space: ElectrodeSpace,
    units: Units,
    pairs: Pairs,
    facing: list[_Facing],
    gap: FloatArray,
    reduced: FloatArray,
) -> Series:
    """What lies between all neighbours, with the shapes of wires wound together by their share."""
    below, above = np.zeros(len(gap)), np.zeros(len(gap))
    for each in facing:
        share = _share(units, each.first) * _share(units, each.second)
        below[each.pair] += share * each.below
        above[each.pair] += share * each.above
    return Series(gap, reduced, below, above, _all_round(space, units, pairs))


def _add_open(energy: Energy, faces: Gaps, full: FloatArray, part: FloatArray) -> None:
    """All pairs of the stacks in which at least one layer is open, from what ``stack_faces`` gives."""
    space, units = energy.space, energy.units
    seen, _, (whole, rest) = faces.together(full, part)
    length = _turn(space, units, seen, whole[0] + rest[0], whole[1] + rest[1])
    inside = _in_window(space, length)
    moments = [length * (inside * a + (1 - inside) * b) for a, b in zip(whole, rest, strict=True)]
    for rows, first, second in _members(units, seen):
        _add(energy, seen, rows, first, second, [moment[rows] for moment in moments])


def _add(
    energy: Energy,
    pairs: Pairs,
    rows: NDArray[np.int_],
    first_face: NDArray[np.int_],
    second_face: NDArray[np.int_],
    weights: list[FloatArray],
) -> None:
    """Add the electrodes ``first_face`` and ``second_face``, whose layers are ``rows`` of ``pairs``."""
    share = _share(energy.units, first_face) * _share(energy.units, second_face)
    first, second, third = (share * weight for weight in weights)
    build = pairs.build[rows]
    energy.face(build, first_face, second_face, (first, second, third))
    for member in (first_face, second_face):
        energy.scatter(build, member, first)


def _between(space: ElectrodeSpace, units: Units, pairs: Pairs) -> tuple[FloatArray, FloatArray]:
    """(gap, reduced): distance (m) between two layers, and the thickness over permittivity of what fills it
    (m of vacuum)."""
    start = np.where(pairs.inner < 0, 0.0, units.far[pairs.build, pairs.inner])
    stop = np.where(pairs.outer < 0, space.across, units.near[pairs.build, pairs.outer])
    gap = np.maximum(stop - start, 0.0)
    return gap, reduced_thickness(space, units, pairs, gap)


def _gaps(space: ElectrodeSpace, units: Units) -> Gaps:
    """The gaps between layers, and to the core, in every stretch along which no layer begins or ends."""
    count, size = units.near.shape
    edges = [np.zeros((count, 1)), np.full((count, 1), space.along)]
    edges += [np.minimum(np.maximum(edge, 0.0), space.along) for edge in (units.low, units.high)]
    cuts = np.sort(np.concatenate(edges, axis=1), axis=1)
    begin, end = cuts[:, :-1], cuts[:, 1:]
    middle, wide = (begin + end) / 2, end > begin
    order = np.argsort(units.near, axis=1, kind="stable")
    covers = units.there[:, :, None] & wide[:, None, :]
    covers &= (units.low[:, :, None] < middle[:, None, :]) & (middle[:, None, :] < units.high[:, :, None])
    builds = np.arange(count)
    # from the outer wall inwards: the layer that is seen from each place, −1 where it is the core
    behind = np.full(begin.shape, -1)
    gaps = []
    for index in range(size - 1, -2, -1):
        unit = order[:, index] if index >= 0 else np.full(count, -1)
        here = covers[builds, unit] if index >= 0 else wide & (behind >= 0)
        seen = here & (behind >= 0) if space.toroid else here
        build, stretch = np.nonzero(seen)
        gaps.append((build, stretch, unit[build], behind[build, stretch]))
        behind = np.where(here, unit[:, None], behind)
    build, stretch, inner, outer = (np.concatenate(part) for part in zip(*gaps, strict=True))
    return Gaps(
        build=build,
        stretch=stretch,
        inner=inner,
        outer=outer,
        low=begin[build, stretch],
        high=end[build, stretch],
        size=size,
    )


def _members(units: Units, pairs: Pairs) -> list[tuple[NDArray[np.int_], NDArray[np.int_], NDArray[np.int_]]]:
    """(rows, electrode of the inner face, electrode of the outer face) for all combinations of sections wound
    together. The core is the electrode after the last section."""
    core = np.full((1, units.electrodes.shape[1]), -1)
    core[0, 0] = len(units.unit)
    table = np.concatenate([units.electrodes, core])
    faces = []
    for first in range(table.shape[1]):
        for second in range(table.shape[1]):
            inner_face, outer_face = table[pairs.inner, first], table[pairs.outer, second]
            rows = np.flatnonzero((inner_face >= 0) & (outer_face >= 0))
            if len(rows):
                faces.append((rows, inner_face[rows], outer_face[rows]))
    return faces


def _share(units: Units, electrode: NDArray[np.int_]) -> FloatArray:
    return np.append(units.share, 1.0)[electrode]


def _shapes(
    space: ElectrodeSpace,
    units: Units,
    pairs: Pairs,
    members: tuple[NDArray[np.int_], NDArray[np.int_], NDArray[np.int_]],
    gap: FloatArray,
    reduced: FloatArray,
) -> tuple[FloatArray, FloatArray]:
    """What the shapes of the faces of electrodes add (``_members``), as thicknesses (m) of vacuum in series:
    that of the first and that of the second."""
    pair, first, second = members
    twice = np.concatenate([pair, pair])
    build = pairs.build[twice]
    faces = units.table.of(build, np.concatenate([first, second]))
    opposite = units.table.of(build, np.concatenate([second, first]))
    added = shape_thickness(faces, opposite, gap[twice], reduced[twice], filling=space.filling)
    return added[: len(pair)], added[len(pair) :]


def _mean_length(units: Units, pairs: Pairs) -> FloatArray:
    """Mean length (m) of a turn of the layers that face each other."""
    inner, outer = units.length[pairs.build, pairs.inner], units.length[pairs.build, pairs.outer]
    alone = np.where(pairs.near_core, outer, inner)
    return np.where(pairs.core, alone, (inner + outer) / 2)


def _flat_length(space: ElectrodeSpace, distance: FloatArray, build: NDArray[np.int_]) -> FloatArray:
    scale = np.broadcast_to(np.asarray(space.design.build.mean_turn_scale, float), (space.count,))[build]
    return np.asarray((space.design.core.dimensions.perimeter + 2 * math.pi * distance) * scale)


def _turn(
    space: ElectrodeSpace, units: Units, pairs: Pairs, first: FloatArray, second: FloatArray
) -> FloatArray:
    """Length (m) of the turns along which two layers face each other. ``first`` and ``second`` are the
    moments of the stretch: ∫dy and ∫y dy."""
    if space.flat:
        return _flat_length(space, second / np.maximum(first, 1e-30), pairs.build)
    return _mean_length(units, pairs)


def _all_round(space: ElectrodeSpace, units: Units, pairs: Pairs) -> NDArray[np.bool_]:
    """Whether two faces see each other along the whole turn. Windings on the same leg do, and so do a leg and
    its own winding. The rest of the core, and the winding on the other leg, are seen in the window only."""
    if space.toroid:
        return np.ones(len(pairs.build), bool)
    one_leg = ~pairs.core & (units.leg[pairs.inner] == units.leg[pairs.outer])
    on_leg = pairs.core & (pairs.near_core == (units.leg[pairs.unit] == 1)) & (not space.flat)
    return np.asarray(one_leg | on_leg)


def _in_window(space: ElectrodeSpace, length: FloatArray) -> FloatArray:
    """``cover``; 1 on a toroid, where no core stands outside the turns."""
    return np.ones(np.shape(length)) if space.toroid else cover(space, length)


def cover(space: ElectrodeSpace, length: FloatArray) -> FloatArray:
    """Part of a turn that lies inside the window.

    Parameters
    ----------
    space : ElectrodeSpace
    length : (...,) array, m

    Returns
    -------
    (...,) array
        Part of it inside the window, 0 to 1, dimensionless: ``Core.cover`` where the design gives one, else
        from the dimensions of the core.
    """
    core = space.design.core
    if core.cover is not None:
        return np.full(np.shape(length), core.cover)
    return core.dimensions.turn_in_window(length)
