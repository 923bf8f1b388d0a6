"""Faults of turns, core and gap."""

from __future__ import annotations

import numpy as np
from scipy.optimize import brentq

from .core import permeance
from .fault import Apply, Done, Random
from .parts import Part


def turns(which: int) -> Apply:
    """One or two turns too many or too few on a winding, in its last section (in each one where they are in
    parallel)."""

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


def gap(part: Part, rng: Random) -> Done:
    """Another ground gap."""
    ratio = float(rng.uniform(0.64, 1.57))
    part.core.gap *= ratio
    return Done("gap", "core", ratio)


def ungapped(part: Part, rng: Random) -> Done:
    """A set without a gap."""
    part.core.gap = 0.0
    return Done("ungapped", "core")


STEPS = (40e-9, 63e-9, 100e-9, 160e-9, 250e-9, 315e-9, 400e-9, 630e-9, 1000e-9, 1600e-9)
"""Inductance factors (H) of gapped sets as catalogues list them (from memory)."""


def other_sets(part: Part) -> list[float]:
    """Steps of the series that another gapped set of this shape may have: within a factor of 7, not the own
    one, below what it has without a gap."""
    bare = part.copy()
    bare.core.gap = 0.0
    now, most = (float(permeance(one, np.array([1e3])).real[0]) for one in (part, bare))
    return [step for step in STEPS if step < 0.8 * most and 0.15 < abs(np.log(step / now)) < np.log(7)]


def wrong_al(part: Part, rng: Random) -> Done:
    """Another gapped set of the series: ground as far as its inductance factor asks."""
    step = float(rng.choice(other_sets(part)))
    now = float(permeance(part, np.array([1e3])).real[0])

    def missing(gap: float) -> float:
        part.core.gap = gap
        return float(permeance(part, np.array([1e3])).real[0]) - step

    part.core.gap = float(brentq(missing, 1e-7, 0.9 * part.core.size["window_height"]))
    return Done("wrong-al", "core", step / now)


def unseated(part: Part, rng: Random) -> Done:
    """Halves that stand apart."""
    more = float(rng.uniform(4e-6, 60e-6))
    part.truth.unseated += more
    return Done("unseated", "core", more)


def material(part: Part, rng: Random) -> Done:
    """Another grade."""
    ratio = float(rng.choice([0.5, 0.65, 1.4, 2.0]))
    part.truth.permeability *= ratio
    return Done("material", "core", ratio)


def brittle(part: Part) -> bool:
    """Whether the core can crack: no stack of laminations (sheets of more than 50 µm)."""
    return part.core.sheet <= 50e-6


def cracked(part: Part, rng: Random) -> Done:
    """A crack: a gap more in one place of the path, and more loss."""
    width = float(rng.uniform(3e-6, 40e-6))
    part.truth.crack += width
    part.truth.loss *= float(rng.uniform(1.0, 1.8))
    return Done("cracked", "core", width)


def bias(part: Part, rng: Random) -> Done:
    """Remanence or a bias."""
    ratio = float(rng.uniform(0.4, 0.9))
    part.truth.bias *= ratio
    return Done("bias", "core", ratio)


def stress(part: Part, rng: Random) -> Done:
    """Stress of varnish or clip."""
    ratio = float(rng.uniform(0.5, 0.95))
    part.truth.permeability *= ratio
    return Done("stress", "core", ratio)


def wrong_core(part: Part, rng: Random) -> Done:
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
