"""What lies between two layers: solid insulation of the build steps, the bobbin's walls, air, filling."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from .capacitance_units import Space, Unit
from .design import FloatArray, SpacerStep, TapeStep

INTERLAYER = 3.3
"""Relative permittivity of insulation between the layers of one step (as tape; common practice, no
source)."""
WALL_AIR = 0.1
"""Share of a bobbin's wall that is clearance to the leg (common practice, no source)."""


def reduced_thickness(space: Space, inner: Unit | None, outer: Unit | None, gap: FloatArray) -> FloatArray:
    """Thickness over relative permittivity (m) of what lies in a gap: the solid layers of the build
    steps, the rest air or its filling. Where a part was pressed into its window the solids are thinned
    alike."""
    solids = _solids(space, inner, outer)
    whole = sum((thickness for thickness, _ in solids), np.zeros(space.count))
    squeeze = np.minimum(gap / np.maximum(whole, 1e-12), 1.0)
    reduced = np.maximum(gap - whole, 0.0) / space.filling
    for thickness, permittivity in solids:
        reduced = reduced + thickness * squeeze / permittivity
    return np.asarray(reduced)


def _solids(space: Space, inner: Unit | None, outer: Unit | None) -> list[tuple[FloatArray, FloatArray]]:
    """(thickness, relative permittivity) of the solid insulation between two units."""
    build = space.design.build
    if inner is not None and outer is not None and inner.step == outer.step:
        step = build.steps[inner.step]
        between = build.interlayer if getattr(step, "interlayer", None) is None else step.interlayer  # type: ignore[union-attr]
        layers = outer.layer - inner.layer
        return [_solid(space, np.asarray(between) * layers, INTERLAYER)]
    found = []
    if inner is None or outer is None:
        found += _bobbin(space, inner, outer)
    if inner is not None and outer is not None and inner.leg != outer.leg:
        chosen: Sequence[int] = [
            k
            for k, step in enumerate(build.steps)
            if k > (inner.step if getattr(step, "leg", 1) == inner.leg else outer.step)
        ]
    else:
        first = -1 if inner is None else inner.step
        last = len(build.steps) if outer is None else outer.step
        if (inner is None and outer is not None and outer.leg == 2) or (
            outer is None and inner is not None and inner.leg == 2
        ):
            first, last = (outer.step, len(build.steps)) if inner is None else (-1, inner.step)  # type: ignore[union-attr]
        chosen = range(min(first, last) + 1, max(first, last))
    unit = inner if inner is not None else outer
    for k in chosen:
        step = build.steps[k]
        if isinstance(step, TapeStep | SpacerStep) and _concerns(step, unit):
            wraps = np.asarray(step.wraps) if isinstance(step, TapeStep) else 1
            found.append(_solid(space, np.asarray(step.thickness) * wraps, step.permittivity))
    return found


def _concerns(step: TapeStep | SpacerStep, unit: Unit | None) -> bool:
    if unit is None:
        return True
    return step.chamber in (None, unit.chamber) and step.leg == unit.leg


def _solid(space: Space, thickness: FloatArray, permittivity: float) -> tuple[FloatArray, FloatArray]:
    """Permittivities above 1 scale with the insulation's; a spacer of air is air."""
    value = np.where(permittivity > 1, np.maximum(permittivity * space.scale, 1.0), space.filling)
    return thickness * np.ones(space.count), np.broadcast_to(value, (space.count,))


def _bobbin(space: Space, inner: Unit | None, outer: Unit | None) -> list[tuple[FloatArray, FloatArray]]:
    """The bobbin's wall (in flat builds its flange) where one of the faces is the core."""
    bobbin = space.design.bobbin
    if space.flat:
        return [_solid(space, np.asarray(bobbin.flange), bobbin.permittivity)]
    unit = outer if inner is None else inner
    assert unit is not None
    on_leg = (inner is None) == (unit.leg == 1)
    if not on_leg:
        return []
    share = 1.0 if space.toroid else 1.0 - WALL_AIR
    return [_solid(space, np.asarray(bobbin.wall) * share, bobbin.permittivity)]
