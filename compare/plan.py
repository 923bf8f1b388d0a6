"""The bench sheet: how to take each reading, what to expect, and whether its limits can be tested at all.

A limit can be tested where its tolerance T (half of the range; of one limit, its distance from the middle of
production) is at least three times the expanded uncertainty 2u of one reading, u² = meter² + handling² +
set-up² (link and leads). What production reaches comes from random builds, the model's error included.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..predict.bench import predict_bench, stated_temperature, two_terminal
from ..predict.design import BenchTest, Design, FloatArray, Member, Port
from ..predict.magnetizing import core_share
from ..predict.permeability import level_ratio
from ..predict.production import ProductionSpread, spread
from ..predict.quantity import format_quantity
from ..predict.resonance import HIGHEST
from ..predict.tolerances import parameters
from .evaluation import REPEATABILITY
from .meter import meter_uncertainty

TESTABLE = 3.0
"""Least ratio of the tolerance to the expanded uncertainty (common practice: 3 to 4, no source)."""
LINK_SHARE = 0.10
"""Share of the link in a reading from which the sheet warns."""
MODE_SHARE = 0.01
"""Relative difference of series and parallel inductance, 1/Q², from which the sheet warns."""
NOTICEABLE_FLUX = 0.02
"""Peak flux density (T) from which the level shows in the permeability."""
NOTICEABLE_CORE = 0.3
"""Share of the core in the reluctance from which its permeability matters."""
REVERSAL = 0.01
"""Direct-current resistance (ohm) below which the current is reversed against thermal voltages."""

IMPEDANCE = ("inductance", "ac_resistance", "quality")
"""Measures of the impedance at the driven terminals (the phase without a sensed winding is one more)."""


@dataclass(frozen=True)
class PlannedTest:
    """One line of the bench sheet; SI (rad for phase), temperature in °C, uncertainties standard.

    connections : one sentence. frequency, level : None with direct current. equivalent : None where the
    display does not depend on it. corrections, warnings : sentences. low, high : 95 % of production with the
    model's error. measurement_uncertainty : of one reading: meter, handling, link and leads.
    """

    name: str
    measure: str
    connections: str
    frequency: float | None
    level: float | None
    equivalent: str | None
    temperature: float
    corrections: tuple[str, ...]
    expected: float
    low: float
    high: float
    measurement_uncertainty: float
    minimum: float | None
    maximum: float | None
    warnings: tuple[str, ...]
    sweep: str | None = None


def plan(design: Design, *, builds: int = 1000, seed: int = 1) -> tuple[PlannedTest, ...]:
    """The bench sheet of every test of ``design``, in order.

    builds, seed : random builds behind ``low``, ``high`` and the set-up's uncertainty. Raises BuildError
    where the layout is outside the models.
    """
    if not design.tests:
        return ()
    prediction = predict_bench(design)
    production = spread(design, builds, seed)
    setup = _setup_uncertainty(design, builds, seed)
    shares = _link_shares(design, prediction.values)
    result = []
    for place, test in enumerate(design.tests):
        value, impedance = float(prediction.values[place]), complex(prediction.impedance[place])
        uncertainty = math.hypot(_reading_uncertainty(design, test, value, impedance), setup[place])
        warnings = [
            *_limit_warnings(test, uncertainty, production, place),
            *_link_warnings(design, test, float(shares[place])),
            *_mode_warnings(design, test, impedance),
            *_level_warnings(design, test, float(prediction.flux_density[place])),
        ]
        direct = test.measure == "resistance"
        result.append(
            PlannedTest(
                name=test.name,
                measure=test.measure,
                connections=connections(design, test),
                frequency=None if direct else test.frequency,
                level=None if direct else test.level,
                equivalent=_equivalent(design, test),
                temperature=stated_temperature(design, test),
                corrections=_corrections(test, value),
                expected=value,
                low=float(production.low[place]),
                high=float(production.high[place]),
                measurement_uncertainty=uncertainty,
                minimum=test.minimum,
                maximum=test.maximum,
                warnings=tuple(warnings),
                sweep=_sweep(test, float(production.low[place]), float(production.high[place])),
            )
        )
    return tuple(result)


# --- uncertainty -----------------------------------------------------------------------------------


def _reading_uncertainty(design: Design, test: BenchTest, value: float, impedance: complex) -> float:
    """Standard uncertainty of one reading by meter and handling."""
    meter = float(
        meter_uncertainty(
            design.bench, test.measure, value, impedance, test.frequency, equivalent=test.equivalent
        )
    )
    if test.measure == "phase":
        return meter
    return math.hypot(meter, REPEATABILITY.get(test.measure, REPEATABILITY["default"]) * value)


def _setup_uncertainty(design: Design, builds: int, seed: int) -> FloatArray:
    """(T,) standard uncertainty of the readings by link and leads; zeros where they are exactly known."""
    if not any(parameter.origin == "setup" for parameter in parameters(design)):
        return np.zeros(len(design.tests))
    return spread(design, builds, seed, origins=("setup",)).standard_uncertainty


# --- instructions ----------------------------------------------------------------------------------


def _equivalent(design: Design, test: BenchTest) -> str | None:
    if test.measure not in ("inductance", "ac_resistance"):
        return None
    return test.equivalent or design.bench.equivalent


def _pins(design: Design, member: Member) -> str:
    winding = next((winding for winding in design.windings if winding.name == member.name), None)
    sign = "reversed " if member.reversed else ""
    if winding is None or not (winding.start and winding.finish):
        return f"{sign}{member.name}"
    return f"{sign}{member.name} (pins {winding.start}–{winding.finish})"


def _listed(design: Design, port: Port, joint: str) -> str:
    return joint.join(_pins(design, member) for member in port)


def connections(design: Design, test: BenchTest) -> str:
    """The connections of ``test`` in one sentence, with the pins (start–finish) where ``design`` has them."""
    driven = _listed(design, test.drive, " in series with ")
    if test.measure == "resistance":
        return f"Connect {driven} with four wires, the sense wires inside; leave the rest open."
    if test.measure == "capacitance" and test.sense:
        other = _listed(design, test.sense, " in series with ")
        return (
            f"Short {driven} on itself, and {other} on itself; measure between the two; leave the rest "
            "and the core open."
        )
    text = f"Drive {driven}"
    if test.short:
        link = "each with its own link" if len(test.short) > 1 else "with its own link"
        shorted = _listed(design, test.short, " and ")
        text += f"; short {shorted}, {link}, as short as possible, soldered at the pins"
    if test.sense:
        text += f"; read the voltage on {_listed(design, test.sense, ' in series with ')}, unloaded"
    return text + "; leave the rest open."


def _sweep(test: BenchTest, low: float, high: float) -> str | None:
    """The frequencies through which a resonance is looked for: from a third of the lowest to three times the
    highest of production."""
    if test.measure != "resonance":
        return None
    if low >= HIGHEST:
        return f"a sweep up to {format_quantity(HIGHEST, 'Hz', 3)}"
    top = min(3 * high, HIGHEST)
    return f"a sweep from {format_quantity(low / 3, 'Hz', 2)} to {format_quantity(top, 'Hz', 2)}"


def _corrections(test: BenchTest, expected: float) -> tuple[str, ...]:
    if test.measure == "resistance":
        note = "Note the part's own temperature: copper changes by 0.39 % per kelvin."
        if expected < REVERSAL:
            return (note, "Milliohms: reverse the current and take the mean of both directions.")
        return (note,)
    if not two_terminal(test):
        return ("Keep the wires to the sensed winding away from the driving ones.",)
    if test.frequency is None:
        text = (
            "Open and short correction over the whole sweep, with the fixture as used. Read the lowest "
            "frequency at which the phase falls through zero."
        )
    else:
        frequency = format_quantity(test.frequency, "Hz", 3)
        text = f"Open and short correction at {frequency} with the fixture as used."
    if test.short:
        return (text, "It does not remove the link across what is shorted: that stays in the reading.")
    return (text,)


# --- warnings --------------------------------------------------------------------------------------


def _limit_warnings(
    test: BenchTest, uncertainty: float, production: ProductionSpread, place: int
) -> list[str]:
    """Limits that the bench cannot test, or that lie inside the 95 % range of production."""
    if test.minimum is None and test.maximum is None:
        return []
    result = []
    samples = production.samples[:, place]
    middle = float(np.median(samples))
    low = -math.inf if test.minimum is None else test.minimum
    high = math.inf if test.maximum is None else test.maximum
    tolerance = (high - low) / 2 if math.isfinite(high - low) else min(abs(high - middle), abs(middle - low))
    if tolerance < TESTABLE * 2 * uncertainty:
        result.append(
            "The limit cannot be tested on this bench: tolerance to expanded uncertainty is "
            f"{tolerance / (2 * uncertainty):.1f} : 1, wanted {TESTABLE:.0f} : 1."
        )
    if low > production.low[place] or high < production.high[place]:
        outside = float(np.mean((samples < low) | (samples > high)))
        result.append(
            "The limit asks more than production gives: about "
            f"{outside * 100:.0f} % of sound parts fall outside."
        )
    return result


def _link_shares(design: Design, values: Sequence[float] | FloatArray) -> FloatArray:
    """(T,) share of the shorting link in each reading: 1 − (reading with an ideal link)/reading; 0 for 0."""
    bench = replace(design.bench, short_inductance=0.0, short_resistance=0.0)
    read = np.asarray(values, float)
    ideal = predict_bench(replace(design, bench=bench)).values
    return np.asarray(np.divide(read - ideal, read, out=np.zeros_like(read), where=read != 0), float)


def _link_warnings(design: Design, test: BenchTest, share: float) -> list[str]:
    """What the link adds, and whether driving the other side would do better (found by predicting that)."""
    if test.measure not in ("inductance", "ac_resistance") or not test.short or abs(share) <= LINK_SHARE:
        return []
    advice = "Use a shorter link and enter what it has in [bench]"
    if len(test.short) == len(test.drive) == 1:
        swapped = replace(test, drive=test.short, short=test.drive)
        other = replace(design, tests=(swapped,))
        there = float(_link_shares(other, predict_bench(other).values)[0])
        if abs(there) < abs(share) / 2:
            driven, shorted = test.short[0].name, test.drive[0].name
            advice += f", or drive {driven} and short {shorted}: there the link makes {there * 100:.1f} %"
    return [f"The shorting link makes {share * 100:.0f} % of this reading. {advice}."]


def _mode_warnings(design: Design, test: BenchTest, impedance: complex) -> list[str]:
    """An inductance that differs between the equivalents: Lp/Ls − 1 = 1/Q²."""
    if test.measure != "inductance" or impedance.imag == 0:
        return []
    apart = (impedance.real / impedance.imag) ** 2
    if apart <= MODE_SHARE:
        return []
    return [
        f"Q is {1 / math.sqrt(apart):.1f}: series and parallel inductance differ by {apart * 100:.0f} %; set "
        f"the meter to {_equivalent(design, test)}."
    ]


def _level_warnings(design: Design, test: BenchTest, flux: float) -> list[str]:
    """An open test whose level lifts the permeability: ΔL/L = (μa/μi − 1)(core's share of the reluctance)."""
    share = float(np.max(core_share(design.core)))
    permeability_counts = test.measure in (*IMPEDANCE, "mutual") and not test.short
    if not permeability_counts or flux <= NOTICEABLE_FLUX or share <= NOTICEABLE_CORE:
        return []
    text = f"This level makes {flux * 1e3:.0f} mT in the core"
    if test.measure in ("inductance", "mutual"):
        rise = (float(level_ratio(design.core.material, flux)) - 1) * share
        text += f" and lifts the inductance by about {rise * 100:.0f} %"
    return [f"{text}: set the level exactly, at the terminals, or lower it."]
