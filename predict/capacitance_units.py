"""The layers of a build as electrodes: where each lies across and along the window, and its faces."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .design import Design, FloatArray, ToroidDimensions, Wire
from .layer_capacitance import FILLING, SHEET, Face
from .layering import bundle_factor
from .layout import Layout, window_of

LITZ_COPPER = 0.95
"""Diameter of a litz bundle's conductors over its overall diameter (common practice, no source)."""
ENAMEL = 3.5
"""Relative permittivity of enamel (common practice, no source)."""


@dataclass(frozen=True)
class Space:
    """The window in which the layers face each other, B builds.

    across, along : its size (m) across and along the layers; of a ring along its mean circumference.
    flat : layers stand on the yoke. origin : the angle (rad) at which a ring is cut open. scale : (B or 1,)
    factor on the permittivity of insulation. filling : relative permittivity of what fills the air.
    """

    design: Design
    layout: Layout
    count: int
    across: float
    along: float
    flat: bool
    toroid: bool
    origin: float
    scale: FloatArray
    filling: float


@dataclass(frozen=True)
class Unit:
    """One layer with all that is wound in it. near, far : where it lies across the layers; low, high :
    along them (B,) (m). members : its sections. shares : of the layer's breadth that each takes. faces : of
    each member."""

    members: tuple[int, ...]
    near: FloatArray
    far: FloatArray
    low: FloatArray
    high: FloatArray
    there: NDArray[np.bool_]
    length: FloatArray
    shares: tuple[FloatArray, ...]
    faces: tuple[Face, ...]
    step: int
    layer: int
    leg: int
    chamber: int | None


def space_of(design: Design, layout: Layout) -> Space:
    """The space of a layout's builds."""
    dimensions = design.core.dimensions
    width, height = window_of(dimensions)
    flat = design.build.direction == "up"
    across, along = (height, width) if flat else (width, height)
    if isinstance(dimensions, ToroidDimensions):
        along = math.pi * (dimensions.inner_diameter + dimensions.outer_diameter) / 2
    return Space(
        design,
        layout,
        len(layout.top),
        across,
        along,
        flat,
        isinstance(dimensions, ToroidDimensions),
        _cut(layout),
        np.asarray(design.model.permittivity, float),
        max(FILLING[design.build.impregnation], 1.0),
    )


def _cut(layout: Layout) -> float:
    """The angle (rad) at which a ring is cut open so that no sector lies across the cut: 0, else where some
    sector begins; 0 as well where every cut meets one, which then counts up to it only."""
    sectors = [(s.from_angle, s.sector) for s in layout.sections if s.sector is not None]

    def whole(cut: float) -> bool:
        return all((begin - cut) % math.tau + size <= math.tau + 1e-9 for begin, size in sectors)

    return next((cut for cut in (0.0, *(begin for begin, _ in sectors)) if whole(cut)), 0.0)


def units_of(space: Space) -> list[Unit]:
    """The layers, from the near surface of the core outwards."""
    groups: dict[int, list[int]] = {}
    for index, section in enumerate(space.layout.sections):
        groups.setdefault(section.group, []).append(index)
    units = [_unit(space, members) for members in groups.values()]
    return sorted(units, key=lambda unit: float(np.mean(unit.near)))


def _unit(space: Space, members: list[int]) -> Unit:
    layout = space.layout
    first, section = members[0], layout.sections[members[0]]
    x0, x1, y0, y1 = np.moveaxis(layout.extent[:, first], -1, 0)
    if space.flat:
        near, far, low, high = y0, y1, x0, x1
    else:
        near, far, low, high = x0, x1, y0, y1
    if space.toroid:
        covered = 2 * math.pi if section.sector is None else section.sector
        turned = (section.from_angle - space.origin) % math.tau if section.sector is not None else 0.0
        begin = space.along * turned / math.tau
        low = np.full(space.count, begin)
        high = low + space.along * covered / (2 * math.pi)
    if section.leg == 2:
        near, far = space.across - far, space.across - near
    wires = [space.design.winding(layout.sections[index].winding).wire for index in members]
    turns = layout.turns[:, first]
    strands = [1 if wire.twisted else wire.in_hand for wire in wires]
    pitch = (high - low) / np.maximum(turns * sum(strands), 1.0)
    faces = tuple(_face(space, wire, pitch, section.block) for wire in wires)
    shares = tuple(np.full(space.count, strand / sum(strands)) for strand in strands)
    return Unit(
        tuple(members),
        near,
        far,
        low,
        high,
        (turns > 0) & (high > low),
        layout.turn_length[:, first],
        shares,
        faces,
        section.step,
        section.layer,
        section.leg,
        section.chamber,
    )


def _face(space: Space, wire: Wire, pitch: FloatArray, block: bool) -> Face:
    if wire.kind == "foil":
        return SHEET
    if wire.kind == "track":
        return Face(pitch=np.maximum(pitch, wire.foil_width), width=wire.foil_width)
    overall = np.asarray(wire.overall, float)
    bare = overall * LITZ_COPPER if wire.kind == "litz" else np.asarray(wire.diameter, float)
    if wire.twisted:
        overall = overall * bundle_factor(wire.in_hand)
        bare = bare * bundle_factor(wire.in_hand)
    pitch = np.maximum(pitch, overall) if not block else overall
    return Face(bare, overall, pitch, ENAMEL * space.scale)
