"""Where the layers of a part lie, by the rules of the design file's contract, written anew.

``stack`` counts from the leg's surface outwards (on a ring from its surface, for flat builds along the
leg from the lower yoke), ``along`` from the lower yoke (flat builds: from the leg's surface). Every
conductor has its own place along its layer. What a sound part never does is here as well: layers that
need one more than drawn, builds too high (pressed to fit), turns without order.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from .layers import Array, Branch, Layer, Layout, Sheet
from .parts import Part, Step, Wire

SQUARE = math.sqrt(math.pi) / 2
LOOSE = 0.20
"""How much higher a section fully without order builds than its layers (judged; orderly winding fills 0.79 to
0.9 of the space, random winding about 0.65 to 0.75)."""


def window(part: Part) -> tuple[float, float]:
    """Window of the core: from the leg to the outer leg, and along the leg (m)."""
    size = part.core.size
    if part.core.form in ("E", "U"):
        return size["window_width"], size["window_height"]
    if part.core.form == "toroid":
        return size["inner_diameter"] / 2, math.inf
    return (size["window_diameter"] - size["leg_diameter"]) / 2, size["window_height"]


def copper_area(wire: Wire) -> float:
    """Conducting cross-section (m²) of one turn, all wires in hand that are whole."""
    live = wire.in_hand - wire.open_strands
    if wire.kind == "foil":
        return wire.copper * wire.width * live
    if wire.kind == "track":
        return wire.copper * wire.width * live
    return math.pi / 4 * wire.copper**2 * wire.strands * live


def _heights(wire: Wire) -> tuple[float, float, float]:
    """Pitch along the layer, height, and thickness of the equivalent copper (m)."""
    if wire.kind == "foil":
        thick = wire.copper * wire.in_hand
        return wire.width, thick, thick
    if wire.kind == "track":
        return (wire.width + wire.spacing) * wire.in_hand, wire.copper, wire.copper
    copper = wire.overall if wire.kind == "litz" else wire.copper
    return wire.overall * wire.in_hand, wire.overall, copper * SQUARE


def lay(part: Part) -> Layout:
    """The layout of a part as it is wound."""
    across, height = window(part)
    flat, ring = part.direction == "up", part.core.form == "toroid"
    width, along = (height, across) if flat else (across, height)
    count = part.chambers
    foot = part.flange if flat else part.wall
    tops = [foot] * count
    layers: list[Layer] = []
    branches: list[Branch] = []
    sheets: list[Sheet] = []
    seen: dict[str, int] = {}
    last_foot, last_end = foot, 0.0
    for number, step in enumerate(part.steps):
        own = range(count) if step.chamber is None else [step.chamber - 1]
        if step.kind != "wind":
            thick = step.thickness * step.wraps
            for chamber in own:
                epsilon = step.permittivity * part.truth.permittivity
                sheets.append(Sheet(tops[chamber], thick, epsilon, chamber + 1))
                tops[chamber] += thick
            continue
        base = max(tops[chamber] for chamber in own)
        if step.beside:
            base = last_foot
        low, high = _ends(part, step, along, ring, flat, last_end)
        names = (step.winding, *step.companions)
        first = len(branches)
        for name in names:
            winding = part.winding(name)
            ordinal = seen.get(name, 0)
            seen[name] = ordinal + 1
            sense = -1 if ordinal in winding.opposed else 1
            branches.append(Branch(name, number, float(step.turns), ordinal, sense))
        found = _layers(part, step, number, names, first, base, low, high)
        layers += found
        last_foot, last_end = base, max(layer.high for layer in found)
        top = max([layer.outer for layer in found] + ([max(tops)] if step.beside else []))
        for chamber in own:
            tops[chamber] = top
    limit = 0.999 * (width if not flat else width - part.flange)
    if max(tops) > limit and not ring:
        squeeze = (limit - foot) / (max(tops) - foot)
        layers = [
            replace(
                layer,
                inner=foot + (layer.inner - foot) * squeeze,
                outer=foot + (layer.outer - foot) * squeeze,
                copper=layer.copper * squeeze,
            )
            for layer in layers
        ]
        sheets = [replace(sheet, thickness=sheet.thickness * squeeze) for sheet in sheets]
    return Layout(tuple(layers), tuple(branches), tuple(sheets), width, along)


def _ends(
    part: Part, step: Step, along: float, ring: bool, flat: bool, last_end: float
) -> tuple[float, float]:
    """Where the layers of a step begin and end along themselves (m)."""
    if ring:
        return 0.0, 0.0
    margin = part.margin if step.margin is None else step.margin
    if flat:
        low = part.wall if step.from_end is None else part.wall + step.from_end
        return low, along - margin if step.breadth is None else low + step.breadth
    low, high = part.flange, along - part.flange
    if step.chamber is not None or part.chambers > 1:
        each = (high - low - (part.chambers - 1) * part.partition) / part.chambers
        low += ((step.chamber or 1) - 1) * (each + part.partition)
        high = low + each
    start = low + (margin if step.from_end is None else step.from_end)
    if step.beside and step.from_end is None:
        start = last_end
    end = high - margin if step.breadth is None else start + step.breadth
    return start, end


def _layers(
    part: Part,
    step: Step,
    number: int,
    names: Sequence[str],
    branch: int,
    base: float,
    low: float,
    high: float,
) -> list[Layer]:
    wires = [part.winding(name).wire for name in names]
    if step.thickness > 0:
        return [_block(step, number, names[0], branch, base, low, high, wires[0])]
    pitch = sum(_heights(wire)[0] for wire in wires)
    thick = max(_heights(wire)[1] for wire in wires)
    kind = wires[0].kind
    slack = 1.0 if kind in ("foil", "track") else 1.0 + part.allowance
    between = part.interlayer if step.interlayer is None else step.interlayer
    style = step.style or part.style
    ring = part.core.form == "toroid"
    counts = _counts(part, step, base, high - low, pitch * slack, thick + between, kind)
    breadth = high - low
    if step.scrambled > 0:
        thick *= 1 + LOOSE * step.scrambled
    result: list[Layer] = []
    before, inner = 0, base
    for place, turns in enumerate(counts):
        downwards = style == "back_and_forth" and place % 2 == 1
        if ring:
            start, length = 0.0, 2 * math.pi * (part.core.size["inner_diameter"] / 2 - inner - thick / 2)
        elif kind == "foil":
            start, length = low, wires[0].width
        else:
            fits = math.floor(breadth / (pitch * slack) + 1e-9)
            partial = place == len(counts) - 1 and place > 0 and turns < fits and step.layers is None
            tight = (partial or step.close) and kind != "track" and step.scrambled == 0
            length = min(turns * pitch * slack, breadth) if tight else breadth
            start = high - length if downwards else low
        start = low + step.covered * (start - low) + step.shift
        length *= step.covered
        if not ring:
            room = _along(part)
            start = min(max(start, 0.0), max(room - length, 0.0))
        offset = 0.0
        for position, (name, wire) in enumerate(zip(names, wires, strict=True)):
            centres, conductor = _conductors(wire, start, length, turns, pitch, offset)
            offset += _heights(wire)[0] / pitch
            result.append(
                Layer(
                    winding=name,
                    step=number,
                    branch=branch + position,
                    turns=float(turns),
                    inner=inner,
                    outer=inner + thick,
                    copper=_heights(wire)[2],
                    low=start,
                    high=start + length,
                    centres=centres,
                    breadth=conductor,
                    before=float(before),
                    whole=float(step.turns),
                    downwards=downwards,
                    metal=copper_area(wire),
                    wire=wire,
                    scrambled=step.scrambled,
                    chamber=step.chamber or 1,
                )
            )
        before += turns
        inner += thick + between
    return result


def _block(
    step: Step, number: int, name: str, branch: int, base: float, low: float, high: float, wire: Wire
) -> Layer:
    """A stated block of uniform current density."""
    return Layer(
        winding=name,
        step=number,
        branch=branch,
        turns=float(step.turns),
        inner=base,
        outer=base + step.thickness,
        copper=step.thickness,
        low=low,
        high=high,
        centres=np.array([(low + high) / 2]),
        breadth=high - low,
        before=0.0,
        whole=float(step.turns),
        downwards=False,
        metal=copper_area(wire),
        wire=wire,
    )


def _along(part: Part) -> float:
    across, height = window(part)
    return across if part.direction == "up" else height


def _counts(
    part: Part, step: Step, base: float, breadth: float, room: float, height: float, kind: str
) -> list[int]:
    """Turns of each layer. A change under which the drawn layers do not suffice takes one more."""
    if kind == "foil":
        return [1] * step.turns

    def holds(layer: int) -> int:
        length = breadth
        if part.core.form == "toroid":
            centre = part.core.size["inner_diameter"] / 2 - base - (layer + 0.5) * height
            length = 2 * math.pi * max(centre, 1e-6)
        return max(math.floor(length / room + 1e-9), 1)

    if step.layers is not None:
        layers = max(step.layers, math.ceil(step.turns / holds(0)))
        return [step.turns // layers + (place < step.turns % layers) for place in range(layers)]
    counts: list[int] = []
    left = step.turns
    while left > 0:
        counts.append(min(left, holds(len(counts))))
        left -= counts[-1]
    if step.scrambled > 0:
        layers = len(counts)
        return [step.turns // layers + (place < step.turns % layers) for place in range(layers)]
    return counts


def _conductors(
    wire: Wire, start: float, length: float, turns: int, pitch: float, offset: float
) -> tuple[Array, float]:
    """Centres along the layer of all conductors of its turns, and their breadth (m)."""
    if wire.kind == "foil":
        return np.array([start + length / 2]), length
    each = length / turns
    if wire.kind == "track":
        single = wire.width
        step = wire.width + wire.spacing
    else:
        single = (wire.overall if wire.kind == "litz" else wire.copper) * SQUARE
        step = wire.overall
    within = (np.arange(wire.in_hand) + 0.5) * step
    width = pitch if wire.kind != "track" else step * wire.in_hand
    begin = start + np.arange(turns) * each + (each - min(width, each)) / 2 + offset * width
    scale = min(1.0, each / width)
    return (begin[:, None] + within * scale).ravel(), min(single, step * scale)
