"""The solid insulation of the build steps: how much of each material lies below every step, at every place.

Between two steps at one place lies what is below the outer one less what is below the inner one, so that
builds that lay the same windings in different orders are described by the same arrays.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from ..design import FloatArray, SpacerStep, Step, TapeStep

Bay = tuple[int, int | None]
"""(leg, chamber) at which steps lie; chamber None: across all of them."""


@dataclass(frozen=True)
class SolidInsulation:
    """``bays``: b places. ``materials``: relative permittivities, k. ``below``: (B, b, s, k) thickness (m) of
    tape and spacers that concern a place and are laid before step s. ``whole``: (B, b, k) all of it."""

    bays: tuple[Bay, ...]
    materials: tuple[float, ...]
    below: FloatArray
    whole: FloatArray


def solid_insulation(
    orders: Sequence[Sequence[Step]], numbers: Sequence[Sequence[int]], count: int
) -> SolidInsulation:
    """The insulation of builds whose steps are ``orders``, one for each build, or one for all ``count``.

    numbers : for every order, the number s under which each of its steps is known to the layout (those that
    are insulation: any).
    """
    bays = tuple(
        sorted({(step.leg, step.chamber) for step in orders[0]}, key=lambda bay: (bay[0], bay[1] or 0))
    )
    bays = bays or ((1, None),)
    found = {
        step.permittivity for steps in orders for step in steps if isinstance(step, TapeStep | SpacerStep)
    }
    materials = tuple(sorted(found)) or (1.0,)
    column = {permittivity: place for place, permittivity in enumerate(materials)}
    known = 1 + max((number for each in numbers for number in each), default=0)
    builds = len(orders) if len(orders) > 1 else count
    below = np.zeros((builds, len(bays), known, len(materials)))
    whole = np.zeros((builds, len(bays), len(materials)))
    for build, (steps, named) in enumerate(zip(orders, numbers, strict=True)):
        rows: Any = slice(None) if len(orders) == 1 else build
        total: list[list[Any]] = [[0.0] * len(materials) for _ in bays]
        for step, number in zip(steps, named, strict=True):
            if not isinstance(step, TapeStep | SpacerStep):
                for place, parts in enumerate(total):
                    for k, thickness in enumerate(parts):
                        below[rows, place, number, k] = thickness
                continue
            laid: Any = step.height
            for place, (leg, chamber) in enumerate(bays):
                if step.leg == leg and step.chamber in (None, chamber):
                    k = column[step.permittivity]
                    total[place][k] = total[place][k] + laid
        for place, parts in enumerate(total):
            for k, thickness in enumerate(parts):
                whole[rows, place, k] = thickness
    return SolidInsulation(bays, materials, below, whole)
