"""Faults of the bench: link, leads, display, frequency, temperature, level, what was shorted,
two wires."""

from __future__ import annotations

import numpy as np

from .fault import Done, Random
from .parts import Part


def link(part: Part, rng: Random) -> Done:
    """A longer shorting link."""
    more = float(rng.uniform(8e-9, 80e-9))
    inductance, resistance = part.bench.short
    part.bench.short = (inductance + more, resistance + more * 0.1e-3 / 1e-9)
    return Done("short-link", "bench", more)


def leads(part: Part, rng: Random) -> Done:
    """Leads that nobody corrected for."""
    more = float(rng.uniform(100e-9, 900e-9))
    part.bench.lead = (part.bench.lead[0] + more, part.bench.lead[1] + more * 0.08e-3 / 1e-9)
    return Done("leads", "bench", more)


def two_wire(part: Part, rng: Random) -> Done:
    """Leads and contacts in every direct-current reading."""
    part.bench.two_wire = float(np.exp(rng.uniform(np.log(5e-3), np.log(200e-3))))
    return Done("two-wire", "bench", part.bench.two_wire)


def display(part: Part, rng: Random) -> Done:
    """The other equivalent circuit."""
    part.bench.equivalent = "parallel" if part.bench.equivalent == "series" else "series"
    return Done("display", "bench")


def frequency(part: Part, rng: Random) -> Done:
    """A higher frequency for inductance, resistance and quality."""
    ratio = float(rng.choice([3.0, 5.0, 10.0]))
    part.truth.frequency *= ratio
    return Done("frequency", "bench", ratio)


def temperature(part: Part, rng: Random) -> Done:
    """A part warmer than stated."""
    more = float(rng.uniform(8.0, 60.0))
    part.truth.warmer += more
    return Done("temperature", "bench", more)


def wrong_short(part: Part, rng: Random) -> Done:
    """Nothing shorted; with three windings sometimes another one."""
    third = [winding.name for winding in part.windings[2:]]
    other = third[0] if third and rng.uniform() < 0.5 else None
    for test in part.tests:
        if test.short:
            test.short = (other,) if other else ()
    return Done("wrong-short", "bench")


def level(part: Part, rng: Random) -> Done:
    """Another level."""
    ratio = float(rng.choice([0.1, 0.3, 3.0, 10.0]))
    part.truth.level *= ratio
    return Done("level", "bench", ratio)
