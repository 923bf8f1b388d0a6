"""The cross-section of a design as rectangles.

The plane contains the axis of the leg and the outer leg. x runs from the surface of the leg outwards (on a U
core from leg 1 to leg 2), y along the leg from the lower yoke, both in m. A ring is unrolled along its hole:
x is the height above the surface of the ring towards the centre of the hole, y the length along the inner
circumference, from angle 0 to 2π. Nominal build only: of several builds the first is drawn.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from ..design import Design, FloatArray, SpacerStep, TapeStep, WindStep, first_build
from .layout import Layout
from .space import chamber_walls


@dataclass(frozen=True, kw_only=True)
class Piece:
    """A rectangle of the cross-section.

    Attributes
    ----------
    kind : str, "core", "gap", "bobbin", "margin", "tape", "spacer", "shield" or "winding"
    x0, x1, y0, y1 : float, left, right, lower and upper edge, m
    step : int or None, build step of a margin, tape, spacer, shield or winding, index from 0
    section : int or None, of a winding or shield in ``Layout.sections``, index
    """

    kind: str
    x0: float
    x1: float
    y0: float
    y1: float
    step: int | None = None
    section: int | None = None


@dataclass(frozen=True, kw_only=True)
class CrossSection:
    """What lies where, in drawing order (later pieces on top).

    Attributes
    ----------
    design : Design, design shown
    layout : Layout, its layout
    pieces : tuple of Piece, rectangles
    width : float, of the window, m; of a ring the radius of the hole
    height : float, of the window, m; of a ring the inner circumference
    flat : bool, whether layers stack along y
    ring : bool, whether the picture is an unrolled ring
    left : float, reach of the core beyond the window to the left, m: x begins at −left
    right : float, reach of the core to the right, m: x ends at width + right
    below : float, reach of the core below the window, m: y begins at −below
    above : float, reach of the core above the window, m: y ends at height + above
    """

    design: Design
    layout: Layout
    pieces: tuple[Piece, ...]
    width: float
    height: float
    flat: bool
    ring: bool
    left: float
    right: float
    below: float
    above: float


def cross_section(design: Design, layout: Layout) -> CrossSection:
    """The rectangles of a design as laid in a layout (see ``lay_out``).

    Parameters
    ----------
    design : Design of one or B builds
    layout : Layout, where the turns of its builds lie (``lay_out``)
    """
    dimensions = design.core.dimensions
    ring = dimensions.ring
    width, height = dimensions.window
    if dimensions.ring:
        height = 2 * math.pi * width
    left, right, below, above = design.core.dimensions.surround
    pieces = [*_core(design, width, height), *_bobbin(design, width, height)]
    pieces += _build(design, layout, width, height)
    return CrossSection(
        design=design,
        layout=layout,
        pieces=tuple(pieces),
        width=width,
        height=height,
        flat=design.build.direction == "up",
        ring=ring,
        left=left,
        right=right,
        below=below,
        above=above,
    )


def _core(design: Design, width: float, height: float) -> list[Piece]:
    left, right, below, above = design.core.dimensions.surround
    core, gap = design.core, first_build(design.core.gap)
    if core.dimensions.ring:
        slit = [Piece(kind="gap", x0=-left, x1=0.0, y0=0.0, y1=gap)] if gap > 0 else []
        return [Piece(kind="core", x0=-left, x1=0.0, y0=0.0, y1=height), *slit]
    pieces = [
        Piece(kind="core", x0=-left, x1=width + right, y0=-below, y1=0.0),
        Piece(kind="core", x0=-left, x1=width + right, y0=height, y1=height + above),
        Piece(kind="core", x0=-left, x1=0.0, y0=0.0, y1=height),
        Piece(kind="core", x0=width, x1=width + right, y0=0.0, y1=height),
    ]
    if gap > 0:
        each = gap / 2 if core.gap_legs == "spacer" else gap
        low = height - each if core.gap_at == "end" else (height - each) / 2
        pieces.append(Piece(kind="gap", x0=-left, x1=0.0, y0=low, y1=low + each))
        if core.gap_legs == "spacer":
            pieces.append(Piece(kind="gap", x0=width, x1=width + right, y0=low, y1=low + each))
    return pieces


def _chamber_bounds(design: Design, height: float) -> list[tuple[float, float]]:
    """Lower and upper wall (m above the lower yoke) of every chamber; a single one if there is no
    partition."""
    return [(first_build(low), first_build(high)) for low, high in chamber_walls(design, height)]


def _both_legs(design: Design) -> bool:
    return any(step.leg == 2 for step in design.build.steps)


def _bobbin(design: Design, width: float, height: float) -> list[Piece]:
    wall, flange = first_build(design.bobbin.wall), first_build(design.bobbin.flange)
    pieces = []
    if wall > 0:
        pieces.append(Piece(kind="bobbin", x0=0.0, x1=wall, y0=0.0, y1=height))
        if _both_legs(design):
            pieces.append(Piece(kind="bobbin", x0=width - wall, x1=width, y0=0.0, y1=height))
    if design.core.dimensions.ring:
        return pieces
    if flange > 0:
        pieces.append(Piece(kind="bobbin", x0=0.0, x1=width, y0=0.0, y1=flange))
        pieces.append(Piece(kind="bobbin", x0=0.0, x1=width, y0=height - flange, y1=height))
    bounds = _chamber_bounds(design, height)
    for (_, top), (bottom, _) in pairwise(bounds):
        if bottom > top:
            pieces.append(Piece(kind="bobbin", x0=0.0, x1=width, y0=top, y1=bottom))
    return pieces


# --- what is wound --------------------------------------------------------------------------------------


def _build(design: Design, layout: Layout, width: float, height: float) -> list[Piece]:
    """The rectangles of every step, in winding order."""
    flat = design.build.direction == "up"
    ring = design.core.dimensions.ring
    wall = first_build(design.bobbin.wall)
    bounds = [(0.0, height)] if ring else _chamber_bounds(design, height)
    pieces: list[Piece] = []
    for number, step in enumerate(design.build.steps):
        low, high = bounds[0][0], bounds[-1][1]
        if step.chamber is not None and not ring:
            low, high = bounds[step.chamber - 1]
        along = (wall, width / 2 if _both_legs(design) else width) if flat else (low, high)
        section_indices = layout.of_step(number)
        if section_indices:
            boxes = layout.extent[0, section_indices]
            if isinstance(step, WindStep) and not ring:
                pieces += _margins(design, step, number, boxes, along, width, flat=flat)
            for index in section_indices:
                if layout.turns[0, index] > 0:
                    pieces += _section(design, layout, index, width, height)
        elif isinstance(step, TapeStep | SpacerStep):
            thickness, top = first_build(step.height), float(layout.step_tops[0, number])
            kind = "tape" if isinstance(step, TapeStep) else "spacer"
            if thickness > 0:
                span = (top - thickness, top)
                mirror = width if step.leg == 2 else None
                pieces.append(_placed(kind, span, along, mirror, number, flat=flat))
    return pieces


def _placed(
    kind: str,
    stack: tuple[float, float],
    along: tuple[float, float],
    mirror: float | None,
    step: int,
    section: int | None = None,
    *,
    flat: bool,
) -> Piece:
    """A piece by its extent across and along the layers (m). ``mirror``: width of the window, for pieces on
    the second leg."""
    (x0, x1), (y0, y1) = (along, stack) if flat else (stack, along)
    if mirror is not None:
        x0, x1 = mirror - x1, mirror - x0
    return Piece(
        kind=kind, x0=float(x0), x1=float(x1), y0=float(y0), y1=float(y1), step=step, section=section
    )


def _margins(
    design: Design,
    step: WindStep,
    number: int,
    boxes: FloatArray,
    along: tuple[float, float],
    width: float,
    *,
    flat: bool,
) -> list[Piece]:
    """Margin tape at both ends of a step's layers, where it was asked for and the layers leave it free."""
    margin = first_build(design.build.margin if step.margin is None else step.margin)
    if margin <= 0:
        return []
    first, last, low, high = (2, 3, 0, 1) if flat else (0, 1, 2, 3)
    stack = (float(np.min(boxes[:, first])), float(np.max(boxes[:, last])))
    begin, end = float(np.min(boxes[:, low])), float(np.max(boxes[:, high]))
    pieces = []
    for start, stop in ((along[0], along[0] + margin), (along[1] - margin, along[1])):
        free = stop <= begin + 1e-9 or start >= end - 1e-9
        if free:
            mirror = width if step.leg == 2 else None
            pieces.append(_placed("margin", stack, (start, stop), mirror, number, flat=flat))
    return pieces


def _section(design: Design, layout: Layout, index: int, width: float, height: float) -> list[Piece]:
    """One layer; on a ring its arc, in two pieces if it crosses the angle 0."""
    section = layout.sections[index]
    kind = "shield" if section.shield else "winding"
    x0, x1, y0, y1 = (float(value) for value in layout.extent[0, index])
    if not design.core.dimensions.ring:
        if section.leg == 2:
            x0, x1 = width - x1, width - x0
        return [Piece(kind=kind, x0=x0, x1=x1, y0=y0, y1=y1, step=section.step, section=index)]
    if section.sector is None:
        return [Piece(kind=kind, x0=x0, x1=x1, y0=0.0, y1=height, step=section.step, section=index)]
    start = section.from_angle % math.tau / math.tau * height
    end = start + section.sector / math.tau * height
    spans = [(start, min(end, height))] + ([(0.0, end - height)] if end > height * (1 + 1e-9) else [])
    return [
        Piece(kind=kind, x0=x0, x1=x1, y0=low, y1=high, step=section.step, section=index)
        for low, high in spans
    ]
