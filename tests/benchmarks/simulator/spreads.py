"""Honest production, the errors of the simulator as a model, and the meter: not normal distributions.

Bounds: inductance factor as stated (else permeability ±25 %), tape ±10 %, bare wire ±1 %, enamel ±15 %, place
±0.1 mm, turn length −1.6 … +2.4 %, permittivity ±15 %, temperature ±1 K, link ±45 %. Model: leakage 4 %,
capacitance 18 %, alternating-current resistance 16 % (standard deviations of lognormal, triangular and
uniform laws). The meter: uniform, 0.12 % (ratio) to 1.2 %, quality 3 %, and its floors of resistance and
inductance. Judged, but for the kinds of figures that the benchmark's conditions fix.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from .layers import Array
from .parts import Part, Test

Random = np.random.Generator
METER = {
    "inductance": 0.005,
    "ac_resistance": 0.012,
    "quality": 0.03,
    "resistance": 0.004,
    "ratio": 0.0012,
    "mutual": 0.006,
    "phase": 0.005,
    "capacitance": 0.01,
    "resonance": 0.012,
}
"""Half width of the meter's uniform error, relative (phase: rad)."""


@dataclass(frozen=True)
class ModelError:
    """Factors that a design's parts share: how far every model is from the truth."""

    leakage: float = 1.0
    capacitance: float = 1.0
    alternating: float = 1.0
    inductance: float = 1.0
    mean_turn: float = 1.0


def model_error(rng: Random) -> ModelError:
    """Drawn once for a design, or once a sample."""
    return ModelError(
        leakage=float(np.exp(rng.normal(0.0, 0.04))),
        capacitance=float(1 + rng.triangular(-0.42, 0.0, 0.48)),
        alternating=float(1 + rng.uniform(-0.27, 0.27)),
        inductance=float(1 + rng.uniform(-0.01, 0.01)),
        mean_turn=float(1 + rng.triangular(-0.010, 0.004, 0.018)),
    )


PAIR_ERROR = {"leakage": 0.018, "capacitance": 0.09, "resonance": 0.06}
"""Standard deviations, in the logarithm, that both readings of a pair of windings share (resonance: those of
one driven winding)."""
READING_ERROR = {
    "leakage": 0.004,
    "inductance": 0.001,
    "ratio": 0.001,
    "ac_resistance": 0.05,
    "quality": 0.03,
    "resistance": 0.0,
}
"""Standard deviations of single readings."""


def kind_of(test: Test) -> str:
    """The measure of a test, leakage apart from other inductances."""
    return "leakage" if test.measure == "inductance" and test.short else test.measure


def reading_errors(part: Part, scale: float, rng: Random, *, independent: bool = False) -> dict[str, float]:
    """How far the models are off in every reading of a design, beside what they share (``ModelError``):
    ``scale`` times the sizes above. independent : every reading for itself, pairs too."""
    found: dict[str, float] = {}
    pairs: dict[tuple[str, ...], float] = {}
    for test in part.tests:
        kind = kind_of(test)
        ends = ["+".join(sorted(group)) for group in (test.drive, test.short or test.sense)]
        key = (kind, test.name) if independent else (kind, *sorted(ends))
        if key not in pairs:
            pairs[key] = float(rng.normal(0.0, scale * PAIR_ERROR.get(kind, 0.0)))
        found[test.name] = pairs[key] + float(rng.normal(0.0, scale * READING_ERROR.get(kind, 0.0)))
    return found


def produced(part: Part, error: ModelError, rng: Random) -> Part:
    """One part as production makes it: a changed copy."""
    made = part.copy()
    truth, core = made.truth, made.core
    truth.leakage *= error.leakage
    truth.capacitance *= error.capacitance
    truth.alternating *= error.alternating
    truth.inductance *= error.inductance
    truth.mean_turn *= error.mean_turn * float(rng.triangular(0.994, 1.0, 1.006))
    truth.resistivity *= float(rng.uniform(0.99, 1.01))
    truth.permittivity *= float(rng.uniform(0.85, 1.15))
    truth.self_capacitance *= float(rng.uniform(0.95, 1.05))
    truth.warmer += float(rng.uniform(-1.0, 1.0))
    truth.loss *= float(np.exp(rng.normal(0.0, 0.25)))
    if core.gap > 0:
        truth.leg_share = float(
            rng.uniform(0.85, 1.0) if core.gap_legs == "centre" else rng.uniform(0.4, 0.6)
        )
        bound = part.tolerance if part.tolerance is not None else 0.06
        truth.inductance *= float(1 + rng.uniform(-bound, bound))
    else:
        truth.leg_share = 1.0 if core.form == "toroid" else float(rng.uniform(0.35, 0.65))
        bound = part.tolerance if part.tolerance is not None else 0.25
        truth.permeability *= float(1 + rng.uniform(-bound, bound))
        core.face_gap *= float(rng.uniform(0.5, 1.5))
    tape = {step.thickness: float(rng.uniform(0.9, 1.1)) for step in made.steps if step.kind != "wind"}
    wound = {winding.name: float(rng.uniform(-0.15e-3, 0.15e-3)) for winding in made.windings}
    for step in made.steps:
        if step.kind == "wind":
            if made.direction == "out" and core.form != "toroid":
                step.shift += wound[step.winding] * 0.7
        else:
            step.thickness *= tape[step.thickness]
    for winding in made.windings:
        wire = winding.wire
        thick = float(rng.triangular(0.99, 1.0, 1.01))
        if wire.kind in ("round", "litz"):
            build = (wire.overall - wire.copper * thick) * float(rng.uniform(0.85, 1.15))
            overall = wire.copper * thick + build if wire.kind == "round" else wire.overall
            lay = float(rng.uniform(1.02, 1.08)) if wire.kind == "litz" else 1.0
            winding.wire = replace(wire, copper=wire.copper * thick, overall=overall, lay=lay)
        else:
            stretch = float(rng.uniform(0.96, 1.04))
            winding.wire = replace(wire, copper=wire.copper * stretch, overall=wire.overall * stretch)
    made.wall *= float(rng.uniform(0.95, 1.05))
    inductance, resistance = made.bench.short
    link = float(rng.uniform(0.55, 1.45))
    made.bench.short = (inductance * link, resistance * float(rng.uniform(0.5, 1.5)))
    return made


def uncertainty(part: Part, test: Test, value: float) -> float:
    """Expanded uncertainty (k = 2) that an honest operator writes beside a reading of this meter, absolute:
    the bound over √3 is the standard one, plus the floors of both."""
    relative = 2 * METER[test.measure] / math.sqrt(3)
    floor = _floor(part, test)
    return math.hypot(relative * (1.0 if test.measure == "phase" else abs(value)), floor)


def _floor(part: Part, test: Test) -> float:
    """Expanded floor of the meter in the unit of the reading."""
    ohm, henry = part.bench.floor
    omega = 2 * math.pi * (test.frequency or 1.0)
    if test.measure == "resistance":
        return ohm
    if test.measure == "ac_resistance":
        return math.hypot(ohm, omega * henry)
    if test.measure == "inductance":
        return math.hypot(henry, ohm / omega)
    if test.measure == "capacitance":
        return 0.05e-12
    return 0.0


def metered(part: Part, tests: list[Test], shown: Array, rng: Random) -> Array:
    """(T,) the display with the meter's errors."""
    result = np.array(shown, float)
    for number, test in enumerate(tests):
        relative = float(rng.uniform(-1, 1)) * METER[test.measure]
        absolute = float(rng.uniform(-1, 1)) * _floor(part, test) * math.sqrt(3) / 2
        if test.measure == "phase":
            result[number] += relative
        else:
            result[number] = result[number] * (1 + relative) + absolute
    return result
