"""Causes, put into parts: where they apply, and what they change, with the severities of the fixed
conditions.

The 26 causes of the reported set carry their own names here (turns of the first and second winding apart,
wraps too many and missing apart, and so on); ``cause`` is the identifier that the diagnosis should name.
Further causes are reported beside them.
"""

from __future__ import annotations

import itertools

from . import faults_bench as bench
from . import faults_core as core
from . import faults_winding as winding
from .fault import Done, Fault, Random, always, family, gapped, layered, windowed
from .parts import Part

__all__ = ["CAUSES", "Done", "Fault", "applicable", "family", "pairs"]

CAUSES = (
    Fault("turns 1", "turns", True, always, core.turns(0)),
    Fault("turns 2", "turns", True, always, core.turns(1)),
    Fault("gap", "gap", True, gapped, core.gap),
    Fault("ungapped", "ungapped", True, gapped, core.ungapped),
    Fault("unseated", "unseated", True, windowed, core.unseated),
    Fault("material", "material", True, always, core.material),
    Fault("cracked", "cracked", True, core.brittle, core.cracked),
    Fault("order", "order", True, winding.interleaved, winding.order),
    Fault("wraps more", "insulation", True, lambda part: bool(winding.tapes(part)), winding.wraps(1)),
    Fault("wraps less", "insulation", True, lambda part: bool(winding.tapes(part)), winding.wraps(-1)),
    Fault("bunched", "bunched", True, windowed, winding.bunched),
    Fault("margin", "margin", True, winding.with_margins, winding.margin),
    Fault(
        "scramble",
        "scramble",
        True,
        lambda part: layered(part) and bool(winding.several(part)),
        winding.scramble,
    ),
    Fault("wire 1", "wire", True, winding.solid(0), winding.wire(0)),
    Fault("wire 2", "wire", True, winding.solid(1), winding.wire(1)),
    Fault("strand", "strand", True, lambda part: bool(winding.in_hand(part)), winding.strand),
    Fault(
        "shorted-turn",
        "shorted-turn",
        True,
        lambda part: layered(part) and bool(winding.ringable(part)),
        winding.shorted,
    ),
    Fault("reversed", "reversed", True, always, winding.reversed),
    Fault("misjoined", "misjoined", True, lambda part: bool(winding.split(part)), winding.misjoined),
    Fault("short-link", "short-link", True, always, bench.link),
    Fault("leads", "leads", True, always, bench.leads),
    Fault("display", "display", True, always, bench.display),
    Fault("frequency", "frequency", True, always, bench.frequency),
    Fault("temperature", "temperature", True, always, bench.temperature),
    Fault("bias", "bias", True, always, core.bias),
    Fault("dielectric", "dielectric", True, always, winding.dielectric),
    Fault("joint", "joint", False, always, winding.joint),
    Fault("conductor", "conductor", False, always, winding.conductor),
    Fault(
        "offset",
        "offset",
        False,
        lambda part: layered(part) and bool(winding.free_ways(part)),
        winding.offset,
    ),
    Fault(
        "crowded",
        "crowded",
        False,
        lambda part: part.core.form == "toroid" and bool(winding.crowdable(part)),
        winding.crowded,
    ),
    Fault("two-wire", "two-wire", False, always, bench.two_wire),
    Fault(
        "wrong-al",
        "wrong-al",
        False,
        lambda part: gapped(part) and bool(core.other_sets(part)),
        core.wrong_al,
    ),
    Fault("wrong-short", "wrong-short", False, always, bench.wrong_short),
    Fault("lead-out", "lead-out", False, always, winding.lead_out),
    Fault("level", "level", False, always, bench.level),
    Fault("chamber", "chamber", False, lambda part: part.chambers > 1, winding.chamber),
    Fault("style", "style", False, lambda part: layered(part) and bool(winding.several(part)), winding.style),
    Fault("stress", "stress", False, always, core.stress),
    Fault("wrong-core", "wrong-core", False, always, core.wrong_core),
)


MISTAKES = ("level", "bias", "temperature", "frequency", "two-wire")
AT_THE_BENCH = ("short-link", "leads", "display", "frequency", "temperature")


def applicable(part: Part, *, reported: bool | None = None) -> list[Fault]:
    """The faults that a design can have; only (not) the reported 26 with ``reported``."""
    return [
        fault for fault in CAUSES if fault.applies(part) and (reported is None or fault.reported == reported)
    ]


def pairs(part: Part, rng: Random, count: int) -> list[tuple[Fault, Fault]]:
    """Random pairs of different causes out of the reported ones; every third pair is a mistake of the bench
    (level, bias, temperature, frequency, two wires) on a part that has a fault of its own."""
    every = [
        (one, two)
        for one, two in itertools.combinations(applicable(part, reported=True), 2)
        if one.cause != two.cause and {one.cause, two.cause} != {"gap", "ungapped"}
    ]
    chosen = [every[int(rng.integers(len(every)))] for _ in range(count)]
    able = applicable(part)
    mistakes = [fault for fault in able if fault.label in MISTAKES]
    wound = [fault for fault in able if fault.reported and fault.cause not in AT_THE_BENCH]
    for place in range(2, count, 3):
        one = mistakes[int(rng.integers(len(mistakes)))]
        others = [fault for fault in wound if fault.cause != one.cause]
        chosen[place] = (others[int(rng.integers(len(others)))], one)
    return chosen
