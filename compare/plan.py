"""The bench sheet: how to take each reading, what to expect, and whether its limits can be tested at all."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from ..predict.bench import predict_bench
from ..predict.design import BenchTest, Design, Member, Port
from ..predict.magnetizing import core_share
from ..predict.production import spread
from .evaluation import REPEATABILITY
from .meter import meter_uncertainty

TESTABLE = 3.0
"""Least ratio of the tolerance to the expanded uncertainty (JCGM 106 and ILAC-G8 speak of 3…4; from
memory)."""
LINK_SHARE = 0.10
MODE_SHARE = 0.01
NOTICEABLE_FLUX = 0.02


@dataclass(frozen=True)
class PlannedTest:
    """One line of the bench sheet; SI, uncertainties standard.

    connections : one sentence. corrections, warnings : sentences. low, high : 95 % of production with the
    model's error.
    measurement_uncertainty : of one reading: meter, handling, link and leads.
    """

    name: str
    measure: str
    connections: str
    frequency: float | None
    level: float | None
    equivalent: str | None
    corrections: tuple[str, ...]
    expected: float
    low: float
    high: float
    measurement_uncertainty: float
    minimum: float | None
    maximum: float | None
    warnings: tuple[str, ...]


def plan(design: Design, *, builds: int = 1000, seed: int = 1) -> tuple[PlannedTest, ...]:
    """The bench sheet of every test of ``design``. Raises BuildError where the layout is outside the
    models."""
    prediction = predict_bench(design)
    production = spread(design, builds, seed)
    setup = spread(design, builds, seed, origins=("setup",))
    direct = _without_link(design)
    result = []
    for place, test in enumerate(design.tests):
        value, impedance = float(prediction.values[place]), complex(prediction.impedance[place])
        meter = float(
            meter_uncertainty(
                design.bench, test.measure, value, impedance, test.frequency, equivalent=test.equivalent
            )
        )
        handling = (
            0.0 if test.measure == "phase" else REPEATABILITY.get(test.measure, REPEATABILITY["default"])
        )
        uncertainty = math.hypot(meter, handling * abs(value), float(setup.standard_uncertainty[place]))
        inside = production.samples[:, place]
        flux = float(prediction.flux_density[place])
        warnings = [
            *_limit_warnings(test, uncertainty, inside),
            *_link_warnings(test, value, float(direct[place])),
            *_mode_warnings(design, test, impedance),
            *_level_warnings(design, test, flux),
        ]
        result.append(
            PlannedTest(
                name=test.name,
                measure=test.measure,
                connections=connections(design, test),
                frequency=test.frequency,
                level=None if test.measure == "resistance" else test.level,
                equivalent=(test.equivalent or design.bench.equivalent) if _two_terminal(test) else None,
                corrections=_corrections(test),
                expected=value,
                low=float(production.low[place]),
                high=float(production.high[place]),
                measurement_uncertainty=uncertainty,
                minimum=test.minimum,
                maximum=test.maximum,
                warnings=tuple(warnings),
            )
        )
    return tuple(result)


def _two_terminal(test: BenchTest) -> bool:
    return test.measure in ("inductance", "ac_resistance", "quality") or (
        test.measure == "phase" and not test.sense
    )


def _pins(design: Design, member: Member) -> str:
    winding = next((winding for winding in design.windings if winding.name == member.name), None)
    sign = "reversed " if member.reversed else ""
    if winding is None or not (winding.start and winding.finish):
        return f"{sign}{member.name}"
    return f"{sign}{member.name} (pins {winding.start}–{winding.finish})"


def _listed(design: Design, port: Port, joint: str) -> str:
    return joint.join(_pins(design, member) for member in port)


def connections(design: Design, test: BenchTest) -> str:
    """The test's connections in one sentence, with the pins where the design gives them."""
    driven = _listed(design, test.drive, " in series with ")
    if test.measure == "resistance":
        return f"Four wires to {driven}; everything else open."
    text = f"Drive {driven}"
    if test.short:
        each = "each with its own link, " if len(test.short) > 1 else ""
        text += f"; short {_listed(design, test.short, ' and ')}, {each}as short as possible, at the pins"
    if test.sense:
        text += f"; read the voltage on {_listed(design, test.sense, ' in series with ')}, unloaded"
    return text + "; everything else open."


def _corrections(test: BenchTest) -> tuple[str, ...]:
    if test.measure == "resistance":
        return ("Note the part's own temperature; below 10 mΩ reverse the current and take the mean.",)
    if not _two_terminal(test):
        return ("Keep the reading lead away from the driving one.",)
    frequency = f"{(test.frequency or 0.0) / 1e3:g} kHz"
    text = f"Open and short correction at {frequency} with the fixture as used."
    if test.short:
        return (text, "The link across the shorted winding is not corrected: it stays in the reading.")
    return (text,)


def _limit_warnings(test: BenchTest, uncertainty: float, samples: np.ndarray) -> list[str]:
    if test.minimum is None and test.maximum is None:
        return []
    result = []
    middle = float(np.median(samples))
    if test.minimum is not None and test.maximum is not None:
        tolerance = (test.maximum - test.minimum) / 2
    else:
        limit = test.maximum if test.maximum is not None else test.minimum
        tolerance = abs(float(limit or 0.0) - middle)
    if uncertainty > 0 and tolerance / (2 * uncertainty) < TESTABLE:
        result.append(
            "The limit cannot be tested on this bench: tolerance to expanded uncertainty is "
            f"{tolerance / (2 * uncertainty):.1f} : 1, "
            f"wanted {TESTABLE:.0f} : 1."
        )
    low = -math.inf if test.minimum is None else test.minimum
    high = math.inf if test.maximum is None else test.maximum
    outside = float(np.mean((samples < low) | (samples > high)))
    if outside > 0.025:
        result.append(
            f"The limit asks more than production gives: about {outside * 100:.0f} % of sound "
            "parts fall outside."
        )
    return result


def _without_link(design: Design) -> np.ndarray:
    """Readings with an ideal link, (T,)."""
    bench = replace(design.bench, short_inductance=0.0, short_resistance=0.0)
    return predict_bench(replace(design, bench=bench)).values


def _link_warnings(test: BenchTest, value: float, ideal: float) -> list[str]:
    if test.measure != "inductance" or not test.short or value <= 0:
        return []
    share = 1 - ideal / value
    if abs(share) <= LINK_SHARE:
        return []
    shorted = " or ".join(member.name for member in test.short)
    return [
        f"The shorting link makes {share * 100:.0f} % of this reading. Use a shorter link and "
        "enter its inductance in [bench], or drive "
        f"{shorted} and short {' or '.join(member.name for member in test.drive)}: there it hardly counts."
    ]


def _mode_warnings(design: Design, test: BenchTest, impedance: complex) -> list[str]:
    if test.measure not in ("inductance", "ac_resistance") or impedance.real <= 0:
        return []
    quality = abs(impedance.imag) / impedance.real
    apart = 1 / quality**2 if test.measure == "inductance" else quality**2
    if test.measure == "ac_resistance" or apart <= MODE_SHARE:
        return []
    mode = test.equivalent or design.bench.equivalent
    return [
        f"Q is {quality:.1f}: series and parallel inductance differ by {apart * 100:.0f} %; set "
        f"the meter to {mode}."
    ]


def _level_warnings(design: Design, test: BenchTest, flux: float) -> list[str]:
    share = float(np.max(core_share(design.core)))
    if flux <= NOTICEABLE_FLUX or share <= 0.3 or test.measure == "resistance":
        return []
    rise = flux * design.core.material.level_coefficient * share
    return [
        f"This level makes {flux * 1e3:.0f} mT in the core and lifts the inductance by about "
        f"{rise * 100:.0f} %: set the level exactly, "
        "at the terminals, or lower it."
    ]
