"""How many turns every layer of every step holds, and which wire of several sets its height, without laying
them out: enough to tell whether two builds are wound alike. Tracks hold what was etched, in every build."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from ..design import Design, FloatArray, ShieldStep, Step, WindStep
from ..errors import BuildError
from .layering import layer_thickness, settled, without_order
from .layout import lane_of, lay_out, layer_shares
from .layout_faults import place_faults
from .space import Heaps, place_of, winding_space


def layer_turns(design: Design) -> FloatArray:
    """Number of layers, and turns in the first and last layer, of each of the S build steps.

    The counts are those of ``lay_out`` without its sections, at a hundredth of the work where there are many
    layers.

    Parameters
    ----------
    design : Design of one or B builds

    Returns
    -------
    (B, S, 3) array
        Number of layers, turns of the first, turns of the last, count; 0 for steps that wind nothing.

    Raises
    ------
    BuildError
        For a step in a place that the core does not have.
    """
    if any(isinstance(step, WindStep) and step.beside for step in design.build.steps):
        return _counted(design)
    space = winding_space(design)
    faults = place_faults(design, space)
    if faults:
        raise BuildError(faults)
    heaps = Heaps()
    result = np.zeros((len(space.wall), len(design.build.steps), 3))
    for number, step in enumerate(design.build.steps):
        place = place_of(step)
        ground = heaps.top(place, space.bay(place).floor)
        if isinstance(step, WindStep):
            room = lane_of(design, step, space, space.bay(place), heaps, ground, beside=False)
            shares = layer_shares(step, number, room, None)
            room = settled(step, room, shares)
            layers = np.sum(np.stack([share > 0 for share in shares]), axis=0)
            result[:, number, 0] = layers
            result[:, number, 1] = shares[0]
            for share in shares:
                result[:, number, 2] = np.where(share > 0, share, result[:, number, 2])
            heaps = heaps.raised(place, room.top(layers), room.base)
        elif isinstance(step, ShieldStep):
            heaps = heaps.raised(place, ground + step.thickness, ground)
        else:
            heaps = heaps.raised(place, ground + step.height, ground)
    return result


def steps_in_layers(design: Design) -> NDArray[np.bool_]:
    """Which build steps wind in layers.

    Turns without order fill a body: the slices that stand for it are no layers that anybody could count, and
    another number of them is no other kind of part.

    Parameters
    ----------
    design : Design with S steps

    Returns
    -------
    (S,) array of bool, false for steps that wind nothing, or wind without order
    """
    wires = {winding.name: winding.wire for winding in design.windings}
    return np.array(
        [
            isinstance(step, WindStep)
            and not without_order(step, [wires[name] for name in step.windings], design.build)
            for step in design.build.steps
        ],
        bool,
    )


def with_artwork(design: Design) -> Design:
    """A design whose tracks keep the breadth that they have now, whatever becomes of margins and bobbin.

    A layer of tracks is etched as drawn. A board that is cut, or lies in its window, a little off carries all
    its tracks along, and none of them moves to another layer.

    Parameters
    ----------
    design : Design of one or B builds

    Returns
    -------
    Design
        The design with a stated ``breadth`` for every step of tracks that had none; with the same layout.
    """
    if not any(winding.wire.track for winding in design.windings):
        return design
    space, steps = winding_space(design), list[Step]()
    for number, step in enumerate(design.build.steps):
        if isinstance(step, WindStep) and step.breadth is None and _etched(design, step):
            bay = space.bay(place_of(step))
            margin = np.asarray(design.build.margin if step.margin is None else step.margin)
            low = bay.start + (margin if step.from_end is None else step.from_end)
            if step.beside and step.from_end is None:
                low = _end_of(design, number - 1)
            breadth = bay.end - margin - low
            step = replace(step, breadth=breadth if len(breadth) > 1 else float(breadth[0]))
        steps.append(step)
    return replace(design, build=replace(design.build, steps=tuple(steps)))


def _etched(design: Design, step: WindStep) -> bool:
    return step.thickness is None and all(design.winding(name).wire.track for name in step.windings)


def _end_of(design: Design, number: int) -> FloatArray:
    """(B,) where step ``number`` (index from 0) ends along the layer, none being displaced, m."""
    steps = [replace(step, shift=0.0) if isinstance(step, WindStep) else step for step in design.build.steps]
    layout = lay_out(replace(design, build=replace(design.build, steps=tuple(steps))))
    here = [k for k, section in enumerate(layout.sections) if section.step == number]
    return np.asarray(np.max(layout.along(layout.extent)[:, here, 1], axis=1))


def thickest_over_mean(design: Design) -> FloatArray:
    """What the thickest of windings wound together has over their mean: height of a layer (m) over the mean
    of its wires, (B, K), one column for each set of windings that are wound together and have no stated
    thickness. Where two of them are of one size, the height of their layers has a kink, as whichever wire is
    thicker sets it."""
    space = winding_space(design)
    whole = np.ones(len(space.wall))
    sets = {
        step.windings: None
        for step in design.build.steps
        if isinstance(step, WindStep) and len(step.windings) > 1 and step.thickness is None
    }
    wires = {winding.name: winding.wire for winding in design.windings}
    columns = []
    for names in sets:
        heights = np.stack([layer_thickness(wires[name]) * whole for name in names])
        columns.append(heights.max(axis=0) - heights.mean(axis=0))
    return np.stack(columns, axis=1) if columns else np.zeros((len(whole), 0))


def _counted(design: Design) -> FloatArray:
    """``layer_turns`` taken from the finished layout, where steps lie beside each other."""
    layout = lay_out(design)
    result = np.zeros((len(layout.top), len(design.build.steps), 3))
    for index, section in enumerate(layout.sections):
        if section.companion or section.shield:
            continue
        turns = layout.turns[:, index]
        result[:, section.step, 0] += turns > 0
        if section.layer == 0:
            result[:, section.step, 1] = turns
        result[:, section.step, 2] = np.where(turns > 0, turns, result[:, section.step, 2])
    return result
