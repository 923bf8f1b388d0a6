"""From build steps to layers: which turns lie where in the window.

Coordinates: x runs from the surface of the leg outwards (on a toroid from the surface of the core, on all
faces; for a section on the second leg of a U core from the surface of that leg), y along the leg from the
lower yoke. All arrays have a leading axis of builds (length 1 for a single build). A layer that some builds
lack, because their turns fit into fewer layers, has zero turns there.

Windings on both legs of a U core are taken to be wound so that their fluxes add around the core: turns on
both legs have the same sign.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import reduce

import numpy as np

from ..design import Count, Design, FloatArray, ShieldStep, Step, WindStep, columns_of
from ..errors import BuildError, Fault
from .layering import Lane, descends, extents_along, lane, layers_with_turns, settled, share_turns
from .layout_faults import (
    breadth_faults,
    far_too_high,
    height_faults,
    place_faults,
    room_faults,
    shield_faults,
    step_name,
    touching_faults,
)
from .section import Branch as Branch
from .section import Layout as Layout
from .section import Section as Section
from .space import Bay, Heaps, Place, WindingSpace, place_of, winding_space


@dataclass(frozen=True, kw_only=True)
class _Row:
    """A section as laid, before the build is pressed into its window, (B,) each (m): s0 to s1 on the stacking
    axis, a0 to a1 along the layer, the thickness of its copper, and the inset of the copper at both ends."""

    section: Section
    place: Place
    s0: FloatArray
    s1: FloatArray
    a0: FloatArray
    a1: FloatArray
    copper: FloatArray
    inset: FloatArray
    turns: FloatArray


def lay_out(design: Design, *, strict: bool = False) -> Layout:
    """The layers of all builds of a design.

    Parameters
    ----------
    design : Design
        Design, with one build or B builds.
    strict : bool
        Refuse a build that does not fit its window, or a layer that does not fit its breadth, and say by how
        much. If False (spread, causes), turns spill into one more layer, and a build that is too high is
        pressed evenly into the window, as a shop would do.

    Returns
    -------
    Layout
        Layers of all builds.

    Raises
    ------
    BuildError
        With ``strict`` where a build or layer does not fit; always for a step in a chamber, on a leg or on a
        sector that the core does not have.

    Examples
    --------
    >>> from aswound.predict import lay_out, load_design
    >>> layout = lay_out(load_design("samples/flyback-24w.toml"))
    >>> [(section.winding, int(turns)) for section, turns in zip(layout.sections, layout.turns[0])]
    [('P', 30), ('S', 8), ('P', 30), ('AUX', 9)]
    >>> f"{100 * layout.fill[0]:.0f} % of the window's height"
    "50 % of the window's height"
    """
    space = winding_space(design)
    faults = place_faults(design, space)
    if faults:
        raise BuildError(faults)
    faults += room_faults(design, space) if strict else []
    heaps = Heaps()
    rows: list[_Row] = []
    branches: list[Branch] = []
    tops: list[FloatArray] = []
    for number, step in enumerate(design.build.steps):
        place = place_of(step)
        bay = space.bay(place)
        ground = heaps.top(place, bay.floor)
        if isinstance(step, WindStep):
            beside = step.beside and heaps.place == place
            room = lane_of(design, step, space, bay, heaps, ground, beside=beside)
            if strict:
                faults += breadth_faults(design, step, number, room, space, bay)
                if hopeless := far_too_high(step, number, room, bay):
                    raise BuildError([*faults, *hopeless])
            shares = layer_shares(step, number, room, faults if strict else None)
            room = settled(step, room, shares)
            if strict:
                faults += touching_faults(step, number, room, len(shares))
            first = len(branches)
            branches += _branches_of(step, number, branches)
            new = _rows(design, number, space, room, shares, (first, len(rows)))
            rows += new
            end = reduce(np.maximum, [np.where(row.turns > 0, row.a1, room.low) for row in new])
            top = room.top(layers_with_turns(shares))
            heaps = heaps.raised(place, np.maximum(ground, top) if beside else top, room.base, end)
        elif isinstance(step, ShieldStep):
            row = _shield(design, step, number, bay, ground, branches, len(rows))
            if strict:
                faults += shield_faults(step, number, row.a1, bay.end - _margin(design, step))
            rows.append(row)
            if step.screens:  # turns shorted on themselves lie within their layer
                heaps = heaps.raised(place, ground + step.thickness, ground)
        else:
            heaps = heaps.raised(place, ground + step.height, ground)
        tops.append(heaps.top(place, bay.floor))
    if strict:
        faults += height_faults(design, space, heaps, tops)
    if faults:
        raise BuildError(faults)
    return _assembled(design, space, heaps, rows, branches, tops)


def check_fit(design: Design) -> None:
    """Check that the build fits its window and that every layer fits its breadth.

    Parameters
    ----------
    design : Design of one or B builds

    Raises
    ------
    BuildError
        If it does not fit; with all faults together.
    """
    lay_out(design, strict=True)


def _margin(design: Design, step: Step) -> FloatArray:
    stated = step.margin if isinstance(step, WindStep) else None
    return np.asarray(design.build.margin if stated is None else stated)


def lane_of(
    design: Design,
    step: WindStep,
    space: WindingSpace,
    bay: Bay,
    heaps: Heaps,
    ground: FloatArray,
    *,
    beside: bool,
) -> Lane:
    """The room of a step: where its layers may run and at what height they begin.

    Parameters
    ----------
    design : Design of one or B builds
    step : WindStep
    space : WindingSpace
    bay : Bay
    heaps : Heaps
    ground : (B,) array, height on which the step lies, m
    beside : bool, whether it lies beside the step before, at the same height
    """
    wires = [design.winding(name).wire for name in step.windings]
    if space.ring:
        low, high = bay.start, bay.end
    else:
        margin = _margin(design, step)
        if step.from_end is not None:
            low = bay.start + step.from_end
        else:
            low = heaps.end_along if beside else bay.start + margin
        high = low + step.breadth if step.breadth is not None else bay.end - margin
    return lane(
        step,
        wires,
        heaps.start if beside else ground,
        (low, high),
        design.build,
        hole_radius=space.width if space.ring else None,
    )


def layer_shares(step: WindStep, number: int, room: Lane, faults: list[Fault] | None) -> list[FloatArray]:
    """Turns of each layer of a step.

    Parameters
    ----------
    step : WindStep
    number : int, index of the step from 0
    room : Lane
    faults : list of Fault or None
        List that collects a fault where the turns do not fit; all turns are then returned as one layer. None:
        turns that do not fit spill into one more layer.

    Returns
    -------
    list of (B,) arrays, count
    """
    turns = np.asarray(step.turns) * np.ones_like(room.base)
    shares = share_turns(room, turns, step.layers, tips=faults is None)
    if shares is not None:
        return shares
    if faults is not None and np.all(room.breadth >= 0):
        holds = int(np.min(room.capacity(0, turns)))
        layers = f" in {step.layers} layer{'s' if step.layers > 1 else ''}" if step.layers else ""
        asked = f"{int(np.max(turns))} turns{layers}"
        order = " without order" if room.scramble else ""
        faults.append(
            Fault(
                step_name(step, number),
                asked,
                f"{holds} turns{order} in a layer of this breadth and wire",
                "It does not fit: more layers, a thinner wire, fewer wires in hand or fewer turns.",
            )
        )
    return [turns]


def _branches_of(step: WindStep, number: int, before: Sequence[Branch]) -> list[Branch]:
    """One branch for every winding of a step, numbered after the branches in ``before``."""
    return [Branch(name, number, sum(branch.winding == name for branch in before)) for name in step.windings]


def _rows(
    design: Design,
    number: int,
    space: WindingSpace,
    room: Lane,
    shares: list[FloatArray],
    begin: tuple[int, int],
) -> list[_Row]:
    """The sections of one step. ``begin``: index of its first branch and of its first row."""
    step = design.build.steps[number]
    assert isinstance(step, WindStep)
    names = step.windings
    first, laid = begin
    style = step.style or design.build.style
    foil_width = design.winding(step.winding).wire.foil_width
    place = place_of(step)
    laid_turns = [_miscounted(shares, count) for count in step.miscount or (0,) * len(names)]
    result: list[_Row] = []
    extents = [] if space.ring else extents_along(step, style, room, shares, foil_width)
    for layer, share in enumerate(shares):
        inner = room.inner(layer)
        outer = inner + room.thickness
        low, high = room.low, room.high
        if not space.ring:
            low, high = _shifted(*extents[layer], step.shift, space.width if space.flat else space.height)
        inset = room.inset(low, high, share)
        group = laid + len(result)
        for companion, name in enumerate(names):
            section = Section(
                winding=name,
                step=number,
                branch=first + companion,
                layer=layer,
                companion=companion,
                group=group,
                block=room.block,
                leg=step.leg,
                chamber=step.chamber,
                descending=descends(style, layer),
                scramble=room.scramble,
                from_angle=place.from_angle if step.sector is not None else 0.0,
                sector=step.sector,
            )
            result.append(
                _Row(
                    section=section,
                    place=place,
                    s0=inner,
                    s1=outer,
                    a0=low,
                    a1=high,
                    copper=room.copper,
                    inset=inset,
                    turns=laid_turns[companion][layer],
                )
            )
    return result


def _miscounted(shares: Sequence[FloatArray], count: Count) -> list[FloatArray]:
    """Turns of each layer with ``count`` more (laid on the last) or fewer (taken from the last ones)."""
    result = [*shares]
    if isinstance(count, int) and count == 0:
        return result
    left = np.asarray(count, float) * np.ones_like(shares[0])
    for layer in range(len(shares) - 1, -1, -1):
        result[layer] = np.where(shares[layer] > 0, np.maximum(shares[layer] + left, 0.0), shares[layer])
        left = left + shares[layer] - result[layer]
    return result


def _shifted(
    low: FloatArray, high: FloatArray, shift: FloatArray | float, limit: float
) -> tuple[FloatArray, FloatArray]:
    """``low`` and ``high`` moved along the layer, as far as the window allows: up to the yokes, or to leg and
    outer wall (m)."""
    low, high = low + shift, high + shift
    beyond = np.maximum(high - limit, 0.0) - np.maximum(-low, 0.0)
    return np.maximum(low - beyond, 0.0), np.minimum(high - beyond, limit)


def _shield(
    design: Design,
    step: ShieldStep,
    number: int,
    bay: Bay,
    ground: FloatArray,
    branches: list[Branch],
    laid: int,
) -> _Row:
    """The section of a shield: one turn of the shield's width, starting at the margin. Its branch is
    appended."""
    section = Section(
        winding=step.name,
        step=number,
        branch=len(branches),
        layer=0,
        companion=0,
        group=laid,
        block=False,
        leg=step.leg,
        chamber=step.chamber,
        shield=True,
    )
    branches.append(Branch(step.name, number, 0))
    low = bay.start + _margin(design, step)
    thickness = np.asarray(step.thickness) * np.ones_like(ground)
    none, ones = np.zeros_like(ground), np.ones_like(ground)
    return _Row(
        section=section,
        place=place_of(step),
        s0=ground,
        s1=ground + thickness,
        a0=low,
        a1=low + step.width,
        copper=thickness,
        inset=none,
        turns=ones,
    )


def _assembled(
    design: Design,
    space: WindingSpace,
    heaps: Heaps,
    rows: list[_Row],
    branches: list[Branch],
    tops: list[FloatArray],
) -> Layout:
    whole = np.ones_like(space.wall)

    def column(values: list[FloatArray]) -> FloatArray:
        return columns_of(values, len(whole))

    pressed = {place: space.pressing(heaps, place) for place in {row.place for row in rows}}
    floor = column([pressed[row.place][0] for row in rows])
    factor = column([pressed[row.place][1] for row in rows])
    s0 = floor + (column([row.s0 for row in rows]) - floor) * factor
    s1 = floor + (column([row.s1 for row in rows]) - floor) * factor
    # A layer that another build of the batch has and this one lacks stays inside the window.
    absent = column([row.turns for row in rows]) == 0
    beyond = np.where(absent, np.maximum(s1 - (space.height if space.flat else space.width), 0.0), 0.0)
    s0, s1 = s0 - beyond, s1 - beyond
    a0, a1 = column([row.a0 for row in rows]), column([row.a1 for row in rows])
    inset = column([row.inset for row in rows])
    middle = (s0 + s1) / 2
    half = np.minimum(column([row.copper for row in rows]), s1 - s0) / 2
    c0, c1 = a0 + inset, a1 - inset
    if space.flat:
        extent, copper = [a0, a1, s0, s1], [c0, c1, middle - half, middle + half]
    else:
        extent, copper = [s0, s1, a0, a1], [middle - half, middle + half, c0, c1]
    scale = np.reshape(design.build.mean_turn_scale * whole, (-1, 1))
    mean = (extent[0] + extent[1]) / 2
    top, fill = space.filled(heaps)
    return Layout(
        sections=tuple(row.section for row in rows),
        branches=tuple(branches),
        extent=np.stack(extent, axis=-1),
        copper=np.stack(copper, axis=-1),
        turns=column([row.turns for row in rows]),
        turn_length=(design.core.dimensions.perimeter + 2 * math.pi * mean) * scale,
        top=top,
        fill=fill,
        step_tops=column(tops),
        flat=space.flat,
    )
