"""Faults of the winding: where the wire lies, which wire it is, how it is connected."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from .copper import direct
from .fault import Apply, Done, Random, layered, pick
from .layout import lay, window
from .parts import Part

GAUGE = 92 ** (1 / 39)
"""Ratio of neighbouring AWG sizes."""


def interleaved(part: Part) -> bool:
    """Whether a winding is split around another one."""
    wound = [step for step in part.steps if step.kind == "wind"]
    names = [step.winding for step in wound]
    return layered(part) and part.chambers == 1 and len(names) > len(set(names)) and len(set(names)) > 1


def order(part: Part, rng: Random) -> Done:
    """Sections of the split winding together: interleaving lost. The places keep their tapes."""
    wound = [number for number, step in enumerate(part.steps) if step.kind == "wind"]
    names = [part.steps[number].winding for number in wound]
    split = next(name for name in names if names.count(name) > 1)
    grouped = sorted(range(len(wound)), key=lambda k: (names[k] != split, k))
    if rng.uniform() < 0.5:
        grouped = sorted(range(len(wound)), key=lambda k: (names[k] == split, k))
    moved = [part.steps[wound[k]] for k in grouped]
    places = [part.steps[number] for number in wound]
    fields = ("breadth", "from_end", "margin", "beside", "chamber")
    kept = [{key: getattr(step, key) for key in fields} for step in places]
    for number, step, keep in zip(wound, moved, kept, strict=True):
        part.steps[number] = replace(step, **keep)
    return Done("order", split)


def tapes(part: Part) -> list[int]:
    """Numbers of the tapes between windings."""
    wound = [number for number, step in enumerate(part.steps) if step.kind == "wind"]
    return [
        number
        for number, step in enumerate(part.steps)
        if step.kind == "tape" and wound[0] < number < wound[-1]
    ]


def wraps(sign: int) -> Apply:
    """Wraps of tape too many (sign 1) or missing (−1)."""

    def apply(part: Part, rng: Random) -> Done:
        least = 1 if part.direction == "up" else 0  # boards do not lie bare on each other
        places = [number for number in tapes(part) if sign > 0 or part.steps[number].wraps > least]
        number = places[int(rng.integers(len(places)))]
        amount = int(rng.integers(1, 4)) if sign > 0 else -int(rng.integers(1, 3))
        amount = max(amount, least - part.steps[number].wraps)
        part.steps[number].wraps += amount
        return Done("insulation", f"step {number + 1}", float(amount))

    return apply


def bunched(part: Part, rng: Random) -> Done:
    """A winding on a part of its breadth, from the start flange."""
    name = pick(rng, [winding.name for winding in part.windings])
    covered = float(rng.uniform(0.45, 0.90))
    for number in part.sections(name):
        part.steps[number].covered = covered
    return Done("bunched", name, covered)


def with_margins(part: Part) -> bool:
    """Layers with margins drawn: where there are none, none can be wider."""
    return layered(part) and (part.margin > 0 or any(step.margin for step in part.steps))


def margin(part: Part, rng: Random) -> Done:
    """Wider margins at both ends of every layer."""
    room = (part.core.size["window_height"] - 2 * part.flange) / part.chambers
    more = min(float(rng.uniform(0.5e-3, 2.5e-3)), 0.25 * room)
    part.margin += more
    for step in part.steps:
        if step.margin is not None:
            step.margin += more
    return Done("margin", "core", more)


def several(part: Part) -> list[str]:
    """Windings of wire that take several layers in one step."""

    layers = lay(part).layers
    names = {layer.winding for layer in layers if layer.before > 0 and layer.wire.kind in ("round", "litz")}
    return [winding.name for winding in part.windings if winding.name in names]


def scramble(part: Part, rng: Random) -> Done:
    """A winding of several layers without order, more or less."""
    name = pick(rng, several(part))
    degree = float(rng.uniform(0.3, 1.0))
    for number in part.sections(name):
        part.steps[number].scrambled = degree
    part.truth.self_capacitance *= float(np.exp(rng.normal(0.1, 0.25)))
    return Done("scramble", name)


def wire(which: int) -> Apply:
    """Another wire size, half or one step of AWG, enamel as before."""

    def apply(part: Part, rng: Random) -> Done:
        winding = part.windings[which]
        ratio = float(GAUGE ** rng.choice([-1.0, -0.5, 0.5, 1.0]))
        wire = winding.wire
        build = wire.overall - wire.copper
        overall = wire.overall * ratio if wire.kind == "litz" else wire.copper * ratio + build
        winding.wire = replace(wire, copper=wire.copper * ratio, overall=overall)
        return Done("wire", winding.name, ratio)

    return apply


def solid(which: int) -> Callable[[Part], bool]:
    """Whether a winding is of wire that can be mistaken."""
    return lambda part: part.windings[which].wire.kind in ("round", "litz")


def in_hand(part: Part) -> list[str]:
    """Windings of several wires in hand."""
    return [winding.name for winding in part.windings if winding.wire.in_hand > 1]


def strand(part: Part, rng: Random) -> Done:
    """Wires in hand that do not conduct."""
    winding = part.winding(pick(rng, in_hand(part)))
    lost = 1 if winding.wire.in_hand == 2 else int(rng.choice([1, 2], p=[0.75, 0.25]))
    winding.wire = replace(winding.wire, open_strands=lost)
    return Done("strand", winding.name, float(lost))


def ringable(part: Part) -> list[str]:
    """Windings with turns that may be shorted."""
    return [
        winding.name
        for winding in part.windings
        if part.steps[part.sections(winding.name)[0]].turns > 3 and winding.wire.kind in ("round", "litz")
    ]


def shorted(part: Part, rng: Random) -> Done:
    """One or two turns shorted on themselves."""
    name, lost = pick(rng, ringable(part)), int(rng.choice([1, 2], p=[0.67, 0.33]))
    part.truth.shorted_turns = (name, lost)
    return Done("shorted-turn", name, float(lost))


def reversed(part: Part, rng: Random) -> Done:
    """Start and finish exchanged at the pins."""
    winding = part.winding(pick(rng, [winding.name for winding in part.windings[:2]]))
    winding.sense = -winding.sense
    return Done("reversed", winding.name)


def split(part: Part) -> list[str]:
    """Windings of several sections."""
    return [winding.name for winding in part.windings if len(part.sections(winding.name)) > 1]


def misjoined(part: Part, rng: Random) -> Done:
    """Sections in parallel instead of in series, or the reverse."""
    winding = part.winding(pick(rng, split(part)))
    winding.parallel = not winding.parallel
    return Done("misjoined", winding.name)


def dielectric(part: Part, rng: Random) -> Done:
    """All insulation of another permittivity."""
    ratio = float(rng.uniform(1.25, 2.2))
    part.truth.permittivity *= ratio
    return Done("dielectric", "core", ratio)


def joint(part: Part, rng: Random) -> Done:
    """A bad joint, a tenth of the winding's resistance to all of it."""
    from .layout import lay

    winding = part.winding(pick(rng, [winding.name for winding in part.windings]))
    layout = lay(part)
    own = [
        value
        for value, branch in zip(direct(part, layout, 20.0), layout.branches, strict=True)
        if branch.winding == winding.name
    ]
    plain = sum(own) / (len(own) ** 2 if winding.parallel else 1)
    winding.joint += float(plain * np.exp(rng.uniform(np.log(0.1), np.log(1.0))))
    return Done("joint", winding.name, winding.joint)


def conductor(part: Part, rng: Random) -> Done:
    """Aluminium instead of copper."""
    winding = part.winding(pick(rng, [winding.name for winding in part.windings]))
    winding.metal = "aluminium"
    return Done("conductor", winding.name)


def free_ways(part: Part) -> list[tuple[str, float]]:
    """(winding, farthest displacement) along the leg, down and up, until its layers meet a yoke or a third of
    the window is passed; those of less than 5 % left out."""
    height = window(part)[1]
    layers = lay(part).layers
    found = []
    for winding in part.windings:
        own = [layer for layer in layers if layer.winding == winding.name]
        down, up = min(layer.low for layer in own), height - max(layer.high for layer in own)
        for room, way in ((down, -1.0), (up, 1.0)):
            if room > 0.05 * height:
                found.append((winding.name, way * min(room, height / 3)))
    return found


def offset(part: Part, rng: Random) -> Done:
    """A winding displaced along the leg, up to a third of the window where it has room."""
    ways = free_ways(part)
    name, farthest = ways[int(rng.integers(len(ways)))]
    least = 0.05 * window(part)[1]
    amount = float(np.copysign(rng.uniform(least, abs(farthest)), farthest))
    for number in part.sections(name):
        part.steps[number].shift += amount
    return Done("offset", name, amount)


def crowdable(part: Part) -> list[tuple[str, float]]:
    """(winding, least part of the ring on which it still lies in one layer) of windings that can lie on less
    than 0.85 of it."""
    layers = lay(part).layers
    found = []
    for winding in part.windings:
        own = [layer for layer in layers if layer.winding == winding.name]
        if len(own) > 1 or own[0].wire.kind not in ("round", "litz"):
            continue
        radius = part.core.size["inner_diameter"] / 2 - own[0].outer
        least = 1.1 * own[0].turns * own[0].wire.overall * own[0].wire.in_hand / (2 * np.pi * radius)
        if least < 0.75:
            found.append((winding.name, max(float(least), 0.25)))
    return found


def crowded(part: Part, rng: Random) -> Done:
    """The turns of one winding on a part of the ring."""
    ways = crowdable(part)
    name, least = ways[int(rng.integers(len(ways)))]
    covered = float(rng.uniform(least, 0.85))
    for number in part.sections(name):
        part.steps[number].arc = covered
    return Done("crowded", name, covered)


def lead_out(part: Part, rng: Random) -> Done:
    """A loop in the lead-outs."""
    winding = part.winding(pick(rng, [winding.name for winding in part.windings[:2]]))
    winding.loop += float(np.exp(rng.uniform(np.log(30e-9), np.log(300e-9))))
    return Done("lead-out", winding.name, winding.loop)


def chamber(part: Part, rng: Random) -> Done:
    """The second winding in the next chamber."""
    name = part.windings[1].name
    for number in part.sections(name):
        used = part.steps[number].chamber or 1
        part.steps[number].chamber = used % part.chambers + 1
    return Done("chamber", name)


def style(part: Part, rng: Random) -> Done:
    """Layers all from one side instead of back and forth, or the reverse."""
    name = pick(rng, several(part))
    for number in part.sections(name):
        now = part.steps[number].style or part.style
        part.steps[number].style = "same_side" if now == "back_and_forth" else "back_and_forth"
    return Done("style", name)
