"""The solid insulation of the build steps: how much of each material lies below every step, at every place.

The insulation between two steps at one place is what lies below the outer step less what lies below the inner
one. Builds that lay the same windings in different orders can therefore share the same arrays.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from ..design import FloatArray, SpacerStep, Step, TapeStep

Bay = tuple[int, int | None]
"""(leg, chamber) where steps lie; chamber None: across all chambers."""


@dataclass(frozen=True)
class SolidInsulation:
    """Thickness of tape and spacers at b places, for k materials and s steps.

    Attributes
    ----------
    bays : tuple of (int, int or None), the b places: leg and chamber, count from 1
    materials : tuple of float, relative permittivity of each of the k materials, dimensionless
    below : (B, b, s, k) array, thickness of tape and spacers at a place that is laid before step s, m
    whole : (B, b, k) array, thickness of all tape and spacers at a place, m
    """

    bays: tuple[Bay, ...]
    materials: tuple[float, ...]
    below: FloatArray
    whole: FloatArray


def solid_insulation(
    orders: Sequence[Sequence[Step]], numbers: Sequence[Sequence[int]], count: int
) -> SolidInsulation:
    """The solid insulation of builds that lay their steps in given orders.

    Parameters
    ----------
    orders : sequence of sequence of Step
        Build steps in winding order: one sequence for each build, or one for all ``count``.
    numbers : sequence of sequence of int
        For every order, the index s under which the layout knows each step (any number for steps that are
        insulation).
    count : int, number of builds if ``orders`` holds one sequence only, count
    """
    bays = tuple(
        sorted({(step.leg, step.chamber) for step in orders[0]}, key=lambda bay: (bay[0], bay[1] or 0))
    )
    bays = bays or ((1, None),)
    thickness_by_constant = {
        step.permittivity for steps in orders for step in steps if isinstance(step, TapeStep | SpacerStep)
    }
    materials = tuple(sorted(thickness_by_constant)) or (1.0,)
    column = {permittivity: index for index, permittivity in enumerate(materials)}
    known = 1 + max((number for each in numbers for number in each), default=0)
    builds = len(orders) if len(orders) > 1 else count
    below = np.zeros((builds, len(bays), known, len(materials)))
    whole = np.zeros((builds, len(bays), len(materials)))
    for build, (steps, named) in enumerate(zip(orders, numbers, strict=True)):
        rows: Any = slice(None) if len(orders) == 1 else build
        total: list[list[Any]] = [[0.0] * len(materials) for _ in bays]
        for step, number in zip(steps, named, strict=True):
            if not isinstance(step, TapeStep | SpacerStep):
                for index, parts in enumerate(total):
                    for k, thickness in enumerate(parts):
                        below[rows, index, number, k] = thickness
                continue
            laid: Any = step.height
            for index, (leg, chamber) in enumerate(bays):
                if step.leg == leg and step.chamber in (None, chamber):
                    k = column[step.permittivity]
                    total[index][k] = total[index][k] + laid
        for index, parts in enumerate(total):
            for k, thickness in enumerate(parts):
                whole[rows, index, k] = thickness
    return SolidInsulation(bays, materials, below, whole)
