"""The layers of a build as electrodes: where each lies across and along the window, and what its faces are.

What belongs to a layer is held in arrays (B, N) over builds and layers, so that builds may lay the same
layers in different orders.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from ..design import Design, FloatArray, ShieldStep, Wire
from ..winding import Layout, bundle_diameter, bundle_factor
from .facing_layers import ENAMEL, FILLING, SHEET, FaceTable, LayerFace
from .insulation_below import SolidInsulation, solid_insulation

LITZ_COPPER = 0.95
"""Diameter over the conductors of a litz bundle, divided by its overall diameter (common practice, no
source)."""
TOUCHING = 1e-9
"""Layers that overlap by less than this (m) lie end to end (rounding: measured on 26 designs, ten times more
or less moves no reading)."""


@dataclass(frozen=True, kw_only=True)
class ElectrodeSpace:
    """The window in which the layers of B builds face each other.

    Attributes
    ----------
    design : Design
    layout : Layout, where the turns of the builds lie
    count : int, number of builds B, count
    across : float, size of the window across the layers, m
    along : float, size of the window along the layers, m; on a toroid the mean circumference of the ring
    flat : bool, whether the layers stand on the yoke
    toroid : bool, whether the core is a ring
    origin : float, angle at which a ring is cut open, rad
    scale : () or (B,) array, factor on the permittivity of insulation, dimensionless
    filling : float, relative permittivity of what fills the air spaces, dimensionless
    solid : SolidInsulation, insulation of the build steps
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
    solid: SolidInsulation


@dataclass(frozen=True, kw_only=True)
class Units:
    """The N layers, each with everything wound in it; n sections in all.

    Attributes
    ----------
    near, far : (B, N) array, where each layer begins and ends across the layers, m
    low, high : (B, N) array, where it begins and ends along the window, m
    there : (B, N) array of bool, whether a build has the layer
    length : (B, N) array, of one turn, m
    members : tuple of tuple of int, index
    share : (n,) array, part of the breadth of its layer that each section takes, dimensionless
    faces : tuple of LayerFace
    step : (N,) array of int, build step of each layer, index
    layer : (N,) array of int, layer within its step, index
    leg : (N,) array of int, that the layer lies on, 1 or 2, count
    chamber : tuple of int or None, of each layer, count from 1; None on an undivided bobbin
    bay : (N,) array of int, place in ``ElectrodeSpace.solid.bays``, index
    unit : (n,) array of int, index
    """

    near: FloatArray
    far: FloatArray
    low: FloatArray
    high: FloatArray
    there: NDArray[np.bool_]
    length: FloatArray
    members: tuple[tuple[int, ...], ...]
    share: FloatArray
    faces: tuple[LayerFace, ...]
    step: NDArray[np.int_]
    layer: NDArray[np.int_]
    leg: NDArray[np.int_]
    chamber: tuple[int | None, ...]
    bay: NDArray[np.int_]
    unit: NDArray[np.int_]

    @cached_property
    def table(self) -> FaceTable:
        """The faces of all sections, and of the core behind them."""
        return FaceTable([*self.faces, SHEET], len(self.near))

    @cached_property
    def electrodes(self) -> NDArray[np.int_]:
        """(N, k) sections wound in each layer, index; −1 beyond the last."""
        most = max(map(len, self.members))
        return np.array([[*members, *[-1] * (most - len(members))] for members in self.members])


def units_of(space: ElectrodeSpace) -> Units:
    """The layers of a space, in the order of the layout, with their places, sections and faces."""
    layout = space.layout
    members = layout.groups
    first = [group[0] for group in members]
    sections = [layout.sections[index] for index in first]
    near, far, low, high = _places(space, first)
    turns = np.stack([layout.turns[:, list(group)].max(axis=1) for group in members], axis=1)
    steps = [space.design.build.steps[section.step] for section in sections]
    seen = np.array([not isinstance(step, ShieldStep) or step.screens for step in steps])
    share, unit, faces = _wound_in(space, members, turns, high - low)
    bays = {bay: index for index, bay in enumerate(space.solid.bays)}
    return Units(
        near=near,
        far=far,
        low=low,
        high=high,
        there=(turns > 0) & (high > low) & seen,
        length=layout.turn_length[:, first],
        members=members,
        share=share,
        faces=faces,
        step=np.array([section.step for section in sections]),
        layer=np.array([section.layer for section in sections]),
        leg=np.array([section.leg for section in sections]),
        chamber=tuple(section.chamber for section in sections),
        bay=np.array([bays[section.leg, section.chamber] for section in sections]),
        unit=unit,
    )


def _places(space: ElectrodeSpace, first: list[int]) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """near, far, low and high (B, N) of ``Units``, for the layers whose first sections are ``first``."""
    sections = [space.layout.sections[index] for index in first]
    x0, x1, y0, y1 = space.layout.extent[:, first].transpose(2, 0, 1)
    near, far, low, high = (y0, y1, x0, x1) if space.flat else (x0, x1, y0, y1)
    if space.toroid:
        covered = np.array([math.tau if s.sector is None else s.sector for s in sections])
        turned = [0.0 if s.sector is None else (s.from_angle - space.origin) % math.tau for s in sections]
        low = np.broadcast_to(space.along * np.array(turned) / math.tau, near.shape)
        high = low + space.along * covered / math.tau
    second_leg = np.array([section.leg for section in sections]) == 2
    return (
        np.where(second_leg, space.across - far, near),
        np.where(second_leg, space.across - near, far),
        low,
        high,
    )


def _wound_in(
    space: ElectrodeSpace, members: tuple[tuple[int, ...], ...], turns: FloatArray, breadth: FloatArray
) -> tuple[FloatArray, NDArray[np.int_], tuple[LayerFace, ...]]:
    """share, unit and faces of ``Units``, one for each section. ``turns`` and ``breadth`` are (B, N), of the
    layers."""
    layout = space.layout
    share, unit = np.zeros(len(layout.sections)), np.zeros(len(layout.sections), int)
    faces: list[LayerFace] = [SHEET] * len(layout.sections)
    for number, group in enumerate(members):
        wires = [space.design.winding(layout.sections[index].winding).wire for index in group]
        strands = [1 if wire.twisted else wire.in_hand for wire in wires]
        pitch = breadth[:, number] / np.maximum(turns[:, number] * sum(strands), 1.0)
        for index, wire, strand in zip(group, wires, strands, strict=True):
            faces[index] = _face(space, wire, pitch, layout.sections[group[0]].block)
            share[index], unit[index] = strand / sum(strands), number
    return share, unit, tuple(faces)


def electrode_space(design: Design, layout: Layout, solid: SolidInsulation | None = None) -> ElectrodeSpace:
    """The space in which the layers of a layout face each other.

    Parameters
    ----------
    design : Design of one or B builds
    layout : Layout
    solid : SolidInsulation or None
        Insulation between the steps; None takes it from the steps of the design.
    """
    if solid is None:
        steps = design.build.steps
        solid = solid_insulation([steps], [range(len(steps))], len(layout.top))
    dimensions = design.core.dimensions
    width, height = dimensions.window
    flat = design.build.direction == "up"
    across, along = (height, width) if flat else (width, height)
    if dimensions.ring:
        along = dimensions.wound_leg.height
    return ElectrodeSpace(
        design=design,
        layout=layout,
        count=len(layout.top),
        across=across,
        along=along,
        flat=flat,
        toroid=dimensions.ring,
        origin=_cut(layout),
        scale=np.asarray(design.model.permittivity, float),
        filling=max(FILLING[design.build.impregnation], 1.0),
        solid=solid,
    )


def _cut(layout: Layout) -> float:
    """The angle (rad) at which a ring is cut open so that no sector crosses the cut: 0 if possible, else the
    beginning of a sector. If every cut crosses a sector it is 0 too, and that sector counts only up to the
    cut."""
    sectors = [(s.from_angle, s.sector) for s in layout.sections if s.sector is not None]

    def whole(cut: float) -> bool:
        return all((begin - cut) % math.tau + size <= math.tau + 1e-9 for begin, size in sectors)

    return next((cut for cut in (0.0, *(begin for begin, _ in sectors)) if whole(cut)), 0.0)


def _face(space: ElectrodeSpace, wire: Wire, pitch: FloatArray, block: bool) -> LayerFace:
    if wire.foil:
        return SHEET
    if wire.track:
        return LayerFace(pitch=np.maximum(pitch, wire.foil_width), width=wire.foil_width)
    overall = np.asarray(wire.overall, float)
    bare = overall * LITZ_COPPER if wire.litz else np.asarray(wire.diameter, float)
    if wire.twisted:
        overall = np.asarray(bundle_diameter(wire), float)
        bare = bare * bundle_factor(wire.in_hand)
    pitch = np.maximum(pitch, overall) if not block else overall
    return LayerFace(bare, overall, pitch, ENAMEL * space.scale)
