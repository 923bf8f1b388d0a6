"""Which variants of the causes the winding window has room for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ...predict.batch import predict_many
from ...predict.design import Design, FloatArray
from ...predict.errors import BuildError
from ...predict.winding import lay_out, layout_of
from ..causes import Variant

OVERFULL = 0.05
"""How likely a build is that needs more than its window, relative to one that fits: the core does not close,
and somebody notices (judged; wire is pressed a little, and a bobbin yields)."""
FULL, HALF_FULL = 1.02, 0.4
"""Filled part of the window from which a build has no room (judged: a bobbin yields by so much), and below
which no cause fills it (the least breadth of a bunched winding makes it 2.2 times as high)."""


@dataclass(frozen=True)
class Room:
    """Of S variants of a cause at one place.

    Attributes
    ----------
    factor : (S,) array, 1 where there is room, else ``OVERFULL``, dimensionless
    possible : float, mean factor by the variants' weights, dimensionless
    """

    factor: FloatArray
    possible: float


def room_for(design: Design, groups: Sequence[tuple[Variant, ...]]) -> list[Room]:
    """Room for every variant; of a design that is itself too high for its window, nothing is known.

    Parameters
    ----------
    design : Design, the transformer as drawn
    groups : Sequence[tuple[Variant, ...]], the variants of each cause at each place
    """
    variants = {
        id(variant): variant.design
        for group in groups
        for variant in group
        if variant.design.build is not design.build or variant.design.windings is not design.windings
    }
    full = dict.fromkeys(variants, 0.0)
    if variants and HALF_FULL < float(np.max(lay_out(design).fill)) < FULL:
        try:
            full = dict(zip(variants, _filled(list(variants.values())), strict=True))
        except BuildError:  # one of them has no place in this core; the others' room is known all the same
            full = {key: _filled_alone(changed) for key, changed in variants.items()}
    result = []
    for group in groups:
        factor = np.array([OVERFULL if full.get(id(variant), 0.0) > FULL else 1.0 for variant in group])
        weights = np.array([variant.weight for variant in group])
        whole = float(weights.sum())
        result.append(Room(factor, float(weights @ factor) / whole if whole > 0 else 1.0))
    return result


def _filled(designs: Sequence[Design]) -> list[float]:
    """Filled part of the window for each design."""
    fills = predict_many(designs, lambda changed: lay_out(changed).fill[:, None], _one_by_one)
    return [float(fill) for fill in fills[:, 0]]


def _one_by_one(designs: Sequence[Design]) -> FloatArray:
    """(D, 1) the same, with layouts that the forward runs use again."""
    return np.array([layout_of(design).fill for design in designs])


def _filled_alone(design: Design) -> float:
    """The same of one design; 0 where it cannot be laid: the forward runs leave it out."""
    try:
        return _filled([design])[0]
    except BuildError:
        return 0.0


def with_room(group: tuple[Variant, ...], room: Room) -> tuple[Variant, ...]:
    """Variants with their weights by the room that there is.

    Parameters
    ----------
    group : tuple[Variant, ...], the S variants
    room : Room, room for each
    """
    return tuple(
        replace(variant, weight=variant.weight * factor)
        for variant, factor in zip(group, room.factor.tolist(), strict=True)
    )
