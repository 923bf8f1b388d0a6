"""Causes, put into parts: where they apply, and what they change, with the severities of the fixed
conditions.

The 26 causes of the reported set carry their own names here (turns of the first and second winding apart,
wraps too many and missing apart, and so on); ``cause`` is the identifier that the diagnosis should name.
Further causes are reported beside them.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from .parts import Part

Random = np.random.Generator
GAUGE = 92 ** (1 / 39)


@dataclass(frozen=True)
class Done:
    """What was done to a part: the cause's identifier, where, and the amount (None where none fits)."""

    cause: str
    where: str
    amount: float | None = None


Apply = Callable[[Part, Random], Done]


@dataclass(frozen=True)
class Fault:
    """label : the benchmark's name. reported : one of the 26. applies : whether a design can have it."""

    label: str
    cause: str
    reported: bool
    applies: Callable[[Part], bool]
    apply: Apply


def family(cause: str, where: str) -> str:
    """The family that a cause belongs to. Copper faults are told apart by winding, as are all others on
    windings; the core's and the layout's by nothing but their class."""
    if cause in ("gap", "unseated", "material", "cracked", "bias", "stress", "ungapped"):
        return "gap-like"
    if cause in ("insulation", "margin", "scramble", "bunched", "offset"):
        return "spacing-like"
    if cause in ("wire", "strand", "joint", "conductor"):
        return f"copper of {where}"
    if cause in ("short-link", "leads"):
        return "link and leads"
    if cause == "reversed":
        return "reversed"
    return f"{cause} {where}"


def _windowed(part: Part) -> bool:
    return part.core.form != "toroid"


def _layered(part: Part) -> bool:
    return _windowed(part) and part.direction == "out"


def _gapped(part: Part) -> bool:
    return part.core.gap > 0


def _always(part: Part) -> bool:
    return True


def _pick(rng: Random, names: list[str]) -> str:
    return names[int(rng.integers(len(names)))]


def _turns(which: int) -> Apply:
    def apply(part: Part, rng: Random) -> Done:
        name = part.windings[which].name
        amount = int(rng.choice([-2, -1, 1, 2], p=[0.1, 0.4, 0.4, 0.1]))
        steps = part.sections(name)
        own = steps if part.winding(name).parallel else steps[-1:]
        if any(part.steps[number].turns + amount < 1 for number in own):
            amount = 1
        if part.winding(name).wire.kind == "track":
            amount = -1 if part.steps[own[-1]].turns > 1 else 1
        for number in own:
            part.steps[number].turns += amount
        return Done("turns", name, float(amount))

    return apply


def _gap(part: Part, rng: Random) -> Done:
    ratio = float(rng.uniform(0.64, 1.57))
    part.core.gap *= ratio
    return Done("gap", "core", ratio)


def _ungapped(part: Part, rng: Random) -> Done:
    part.core.gap = 0.0
    return Done("ungapped", "core")


def _unseated(part: Part, rng: Random) -> Done:
    more = float(rng.uniform(4e-6, 60e-6))
    part.truth.unseated += more
    return Done("unseated", "core", more)


def _material(part: Part, rng: Random) -> Done:
    ratio = float(rng.choice([0.5, 0.65, 1.4, 2.0]))
    part.truth.permeability *= ratio
    return Done("material", "core", ratio)


def _cracked(part: Part, rng: Random) -> Done:
    width = float(rng.uniform(3e-6, 40e-6))
    part.truth.crack += width
    part.truth.loss *= float(rng.uniform(1.0, 1.8))
    return Done("cracked", "core", width)


def _bias(part: Part, rng: Random) -> Done:
    ratio = float(rng.uniform(0.4, 0.9))
    part.truth.bias *= ratio
    return Done("bias", "core", ratio)


def _stress(part: Part, rng: Random) -> Done:
    ratio = float(rng.uniform(0.5, 0.95))
    part.truth.permeability *= ratio
    return Done("stress", "core", ratio)


def _interleaved(part: Part) -> bool:
    wound = [step for step in part.steps if step.kind == "wind"]
    names = [step.winding for step in wound]
    return _layered(part) and part.chambers == 1 and len(names) > len(set(names)) and len(set(names)) > 1


def _order(part: Part, rng: Random) -> Done:
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


def _tapes(part: Part) -> list[int]:
    wound = [number for number, step in enumerate(part.steps) if step.kind == "wind"]
    return [
        number
        for number, step in enumerate(part.steps)
        if step.kind == "tape" and wound[0] < number < wound[-1]
    ]


def _wraps(sign: int) -> Apply:
    def apply(part: Part, rng: Random) -> Done:
        least = 1 if part.direction == "up" else 0  # boards do not lie bare on each other
        places = [number for number in _tapes(part) if sign > 0 or part.steps[number].wraps > least]
        number = places[int(rng.integers(len(places)))]
        amount = int(rng.integers(1, 4)) if sign > 0 else -int(rng.integers(1, 3))
        amount = max(amount, least - part.steps[number].wraps)
        part.steps[number].wraps += amount
        return Done("insulation", f"step {number + 1}", float(amount))

    return apply


def _bunched(part: Part, rng: Random) -> Done:
    name = _pick(rng, [winding.name for winding in part.windings])
    covered = float(rng.uniform(0.45, 0.90))
    for number in part.sections(name):
        part.steps[number].covered = covered
    return Done("bunched", name, covered)


def _margin(part: Part, rng: Random) -> Done:
    room = (part.core.size["window_height"] - 2 * part.flange) / part.chambers
    more = min(float(rng.uniform(0.5e-3, 2.5e-3)), 0.25 * room)
    part.margin += more
    for step in part.steps:
        if step.margin is not None:
            step.margin += more
    return Done("margin", "core", more)


def _several(part: Part) -> list[str]:
    """Windings of wire that take several layers in one step."""
    from .layout import lay  # the layout of the nominal part

    layers = lay(part).layers
    names = {layer.winding for layer in layers if layer.before > 0 and layer.wire.kind in ("round", "litz")}
    return [winding.name for winding in part.windings if winding.name in names]


def _scramble(part: Part, rng: Random) -> Done:
    name = _pick(rng, _several(part))
    degree = float(rng.uniform(0.3, 1.0))
    for number in part.sections(name):
        part.steps[number].scrambled = degree
    part.truth.self_capacitance *= float(np.exp(rng.normal(0.1, 0.25)))
    return Done("scramble", name)


def _wire(which: int) -> Apply:
    def apply(part: Part, rng: Random) -> Done:
        winding = part.windings[which]
        ratio = float(GAUGE ** rng.choice([-1.0, -0.5, 0.5, 1.0]))
        wire = winding.wire
        build = wire.overall - wire.copper
        overall = wire.overall * ratio if wire.kind == "litz" else wire.copper * ratio + build
        winding.wire = replace(wire, copper=wire.copper * ratio, overall=overall)
        return Done("wire", winding.name, ratio)

    return apply


def _solid(which: int) -> Callable[[Part], bool]:
    return lambda part: part.windings[which].wire.kind in ("round", "litz")


def _in_hand(part: Part) -> list[str]:
    return [winding.name for winding in part.windings if winding.wire.in_hand > 1]


def _strand(part: Part, rng: Random) -> Done:
    winding = part.winding(_pick(rng, _in_hand(part)))
    lost = 1 if winding.wire.in_hand == 2 else int(rng.choice([1, 2], p=[0.75, 0.25]))
    winding.wire = replace(winding.wire, open_strands=lost)
    return Done("strand", winding.name, float(lost))


def _ringable(part: Part) -> list[str]:
    return [
        winding.name
        for winding in part.windings
        if part.steps[part.sections(winding.name)[0]].turns > 3 and winding.wire.kind in ("round", "litz")
    ]


def _shorted(part: Part, rng: Random) -> Done:
    name, lost = _pick(rng, _ringable(part)), int(rng.choice([1, 2], p=[0.67, 0.33]))
    part.truth.shorted_turns = (name, lost)
    return Done("shorted-turn", name, float(lost))


def _reversed(part: Part, rng: Random) -> Done:
    winding = part.winding(_pick(rng, [winding.name for winding in part.windings[:2]]))
    winding.sense = -winding.sense
    return Done("reversed", winding.name)


def _split(part: Part) -> list[str]:
    return [winding.name for winding in part.windings if len(part.sections(winding.name)) > 1]


def _misjoined(part: Part, rng: Random) -> Done:
    winding = part.winding(_pick(rng, _split(part)))
    winding.parallel = not winding.parallel
    return Done("misjoined", winding.name)


def _link(part: Part, rng: Random) -> Done:
    more = float(rng.uniform(8e-9, 80e-9))
    inductance, resistance = part.bench.short
    part.bench.short = (inductance + more, resistance + more * 0.1e-3 / 1e-9)
    return Done("short-link", "bench", more)


def _leads(part: Part, rng: Random) -> Done:
    more = float(rng.uniform(100e-9, 900e-9))
    part.bench.lead = (part.bench.lead[0] + more, part.bench.lead[1] + more * 0.08e-3 / 1e-9)
    return Done("leads", "bench", more)


def _display(part: Part, rng: Random) -> Done:
    part.bench.equivalent = "parallel" if part.bench.equivalent == "series" else "series"
    return Done("display", "bench")


def _frequency(part: Part, rng: Random) -> Done:
    ratio = float(rng.choice([3.0, 5.0, 10.0]))
    part.truth.frequency *= ratio
    return Done("frequency", "bench", ratio)


def _temperature(part: Part, rng: Random) -> Done:
    more = float(rng.uniform(8.0, 60.0))
    part.truth.warmer += more
    return Done("temperature", "bench", more)


def _dielectric(part: Part, rng: Random) -> Done:
    ratio = float(rng.uniform(1.25, 2.2))
    part.truth.permittivity *= ratio
    return Done("dielectric", "core", ratio)


def _joint(part: Part, rng: Random) -> Done:
    from .copper import direct
    from .layout import lay

    winding = part.winding(_pick(rng, [winding.name for winding in part.windings]))
    layout = lay(part)
    own = [
        value
        for value, branch in zip(direct(part, layout, 20.0), layout.branches, strict=True)
        if branch.winding == winding.name
    ]
    plain = sum(own) / (len(own) ** 2 if winding.parallel else 1)
    winding.joint += float(plain * np.exp(rng.uniform(np.log(0.1), np.log(1.0))))
    return Done("joint", winding.name, winding.joint)


def _conductor(part: Part, rng: Random) -> Done:
    winding = part.winding(_pick(rng, [winding.name for winding in part.windings]))
    winding.metal = "aluminium"
    return Done("conductor", winding.name)


def _offset(part: Part, rng: Random) -> Done:
    from .layout import window

    name = _pick(rng, [winding.name for winding in part.windings])
    amount = float(rng.choice([-1, 1]) * rng.uniform(0.06, 0.15) * window(part)[1])
    for number in part.sections(name):
        part.steps[number].shift += amount
    return Done("offset", name, amount)


def _wrong_short(part: Part, rng: Random) -> Done:
    """Nothing shorted; with three windings sometimes another one."""
    third = [winding.name for winding in part.windings[2:]]
    other = third[0] if third and rng.uniform() < 0.5 else None
    for test in part.tests:
        if test.short:
            test.short = (other,) if other else ()
    return Done("wrong-short", "bench")


def _lead_out(part: Part, rng: Random) -> Done:
    winding = part.winding(_pick(rng, [winding.name for winding in part.windings[:2]]))
    winding.loop += float(np.exp(rng.uniform(np.log(30e-9), np.log(300e-9))))
    return Done("lead-out", winding.name, winding.loop)


def _level(part: Part, rng: Random) -> Done:
    ratio = float(rng.choice([0.1, 0.3, 3.0, 10.0]))
    part.truth.level *= ratio
    return Done("level", "bench", ratio)


def _chamber(part: Part, rng: Random) -> Done:
    name = part.windings[1].name
    for number in part.sections(name):
        used = part.steps[number].chamber or 1
        part.steps[number].chamber = used % part.chambers + 1
    return Done("chamber", name)


def _style(part: Part, rng: Random) -> Done:
    name = _pick(rng, _several(part))
    for number in part.sections(name):
        now = part.steps[number].style or part.style
        part.steps[number].style = "same_side" if now == "back_and_forth" else "back_and_forth"
    return Done("style", name)


def _wrong_core(part: Part, rng: Random) -> Done:
    """Another stack: the leg's depth and the area go together."""
    ratio = float(rng.choice([0.65, 0.8, 1.25, 1.5]))
    part.core.area *= ratio
    size = part.core.size
    for key in ("leg_depth", "outer_depth"):
        if key in size:
            size[key] *= ratio
    if "leg_diameter" in size:
        part.truth.mean_turn *= 1 + 0.35 * (ratio**0.5 - 1)
    return Done("wrong-core", "core")


CAUSES = (
    Fault("turns 1", "turns", True, _always, _turns(0)),
    Fault("turns 2", "turns", True, _always, _turns(1)),
    Fault("gap", "gap", True, _gapped, _gap),
    Fault("ungapped", "ungapped", True, _gapped, _ungapped),
    Fault("unseated", "unseated", True, _windowed, _unseated),
    Fault("material", "material", True, _always, _material),
    Fault("cracked", "cracked", True, _always, _cracked),
    Fault("order", "order", True, _interleaved, _order),
    Fault("wraps more", "insulation", True, lambda part: bool(_tapes(part)), _wraps(1)),
    Fault("wraps less", "insulation", True, lambda part: bool(_tapes(part)), _wraps(-1)),
    Fault("bunched", "bunched", True, _windowed, _bunched),
    Fault("margin", "margin", True, _layered, _margin),
    Fault("scramble", "scramble", True, lambda part: _layered(part) and bool(_several(part)), _scramble),
    Fault("wire 1", "wire", True, _solid(0), _wire(0)),
    Fault("wire 2", "wire", True, _solid(1), _wire(1)),
    Fault("strand", "strand", True, lambda part: bool(_in_hand(part)), _strand),
    Fault(
        "shorted-turn", "shorted-turn", True, lambda part: _layered(part) and bool(_ringable(part)), _shorted
    ),
    Fault("reversed", "reversed", True, _always, _reversed),
    Fault("misjoined", "misjoined", True, lambda part: bool(_split(part)), _misjoined),
    Fault("short-link", "short-link", True, _always, _link),
    Fault("leads", "leads", True, _always, _leads),
    Fault("display", "display", True, _always, _display),
    Fault("frequency", "frequency", True, _always, _frequency),
    Fault("temperature", "temperature", True, _always, _temperature),
    Fault("bias", "bias", True, _always, _bias),
    Fault("dielectric", "dielectric", True, _always, _dielectric),
    Fault("joint", "joint", False, _always, _joint),
    Fault("conductor", "conductor", False, _always, _conductor),
    Fault("offset", "offset", False, _layered, _offset),
    Fault("wrong-short", "wrong-short", False, _always, _wrong_short),
    Fault("lead-out", "lead-out", False, _always, _lead_out),
    Fault("level", "level", False, _always, _level),
    Fault("chamber", "chamber", False, lambda part: part.chambers > 1, _chamber),
    Fault("style", "style", False, lambda part: _layered(part) and bool(_several(part)), _style),
    Fault("stress", "stress", False, _always, _stress),
    Fault("wrong-core", "wrong-core", False, _always, _wrong_core),
)


def applicable(part: Part, *, reported: bool | None = None) -> list[Fault]:
    """The faults that a design can have; only (not) the reported 26 with ``reported``."""
    return [
        fault for fault in CAUSES if fault.applies(part) and (reported is None or fault.reported == reported)
    ]


def pairs(part: Part, rng: Random, count: int) -> list[tuple[Fault, Fault]]:
    """Random pairs of different causes out of the reported ones."""
    every = [
        (one, two)
        for one, two in itertools.combinations(applicable(part, reported=True), 2)
        if one.cause != two.cause and {one.cause, two.cause} != {"gap", "ungapped"}
    ]
    return [every[int(rng.integers(len(every)))] for _ in range(count)]
