"""One connection of a design against frequency: |Z|, phase, L, R (or a ratio and its phase), and their range.

The impedance is that of ``bench.impedance_sweep``, as the meter sees it, link and leads included. The range
is that of honest production with the layers as designed, and of the models' own error, from random builds.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..circuit import display, impedance_sweep
from ..design import BenchTest, ComplexArray, Design, FloatArray
from .drivers import main_direction
from .monte_carlo import FEWEST, HIGH, LOW, normal_draws, percentile, random_builds
from .parameter import Origin
from .tipping import BoolArray, as_designed, layer_counts
from .tolerances import parameters

QUANTITIES = {"impedance": "ohm", "phase": "rad", "inductance": "H", "resistance": "ohm"}
"""What an impedance shows, with its unit."""
RATIO_QUANTITIES = {"ratio": "1", "phase": "rad"}
"""The same of two voltages."""
_MEASURES = {"inductance": "inductance", "resistance": "ac_resistance"}


@dataclass(frozen=True)
class Band:
    """A quantity at F frequencies: as designed, the 2.5 % and 97.5 % points over builds, and the standard
    deviation (half the range's width over 1.96), SI, (F,) each."""

    nominal: FloatArray
    low: FloatArray
    high: FloatArray
    deviation: FloatArray


@dataclass(frozen=True)
class Resonance:
    """A frequency (Hz) at which the reactance passes zero. kind : "parallel" (inductive below, |Z| large),
    "series" (capacitive below, |Z| small)."""

    frequency: float
    kind: str


@dataclass(frozen=True)
class Sweep:
    """``test``: the connection; ``frequencies`` (F,) Hz, rising; ``impedance`` (F,) Ω, of a ratio V(drive)/
    V(sense); ``bands`` by quantity."""

    test: BenchTest
    frequencies: FloatArray
    impedance: ComplexArray
    bands: Mapping[str, Band]
    resonances: tuple[Resonance, ...]

    @property
    def units(self) -> dict[str, str]:
        """Quantity → unit."""
        return RATIO_QUANTITIES if self.test.sense else QUANTITIES


def frequencies_between(low: float, high: float, number: int) -> FloatArray:
    """(F,) Hz from ``low`` to ``high``: ``number`` evenly in the logarithm, and 1, 2 and 5 times every power
    of ten, for tables."""
    decades = range(math.floor(math.log10(low)), math.ceil(math.log10(high)) + 1)
    round_ones = [float(f"{step}e{n}") for n in decades for step in (1, 2, 5)]
    every = np.concatenate([np.geomspace(low, high, number), [f for f in round_ones if low < f < high]])
    ordered = np.unique(every)
    apart = np.concatenate([[True], np.diff(np.log(ordered)) > 1e-9])
    return np.asarray(ordered[apart], float)


def swept_quantities(
    test: BenchTest, impedance: ComplexArray, frequencies: FloatArray, equivalent: str
) -> dict[str, FloatArray]:
    """Every quantity of impedances (…, F) at ``frequencies`` (F,) in the equivalent circuit ("series",
    "parallel")."""
    if test.sense:
        return {"ratio": np.abs(impedance), "phase": np.angle(1 / impedance)}
    omega = 2 * math.pi * frequencies
    kind = test.equivalent or equivalent
    result = {"impedance": np.abs(impedance), "phase": np.angle(impedance)}
    for name, measure in _MEASURES.items():
        result[name] = display(measure, impedance, omega, kind)  # type: ignore[arg-type]
    return result


def sweep(
    design: Design,
    test: BenchTest,
    frequencies: Sequence[float] | FloatArray,
    number: int = 300,
    seed: int = 1,
    origins: tuple[Origin, ...] = ("build", "model"),
) -> Sweep:
    """The connection of ``test`` (its frequency does not matter) at ``frequencies`` (Hz, > 0, rising).

    number : random builds for the range (fixed ``seed``), of which ``origins`` vary. Raises BuildError where
    the layout is outside the models.
    """
    at = np.asarray(frequencies, float)
    design = replace(design, tests=(replace(test, frequency=float(at[0])),))
    nominal = impedance_sweep(design, test, at.tolist())
    chosen = tuple(parameter for parameter in parameters(design) if parameter.origin in origins)
    z = normal_draws([item.name for item in chosen], number, seed)
    builds = impedance_sweep(random_builds(design, chosen, z), test, at.tolist(), exact=False)
    builds = np.broadcast_to(builds, (number, len(at)))
    # the conductors between the nodes of a grid: the same for all builds as for the nominal one
    builds = builds * (nominal / impedance_sweep(design, test, at.tolist(), exact=False))
    equivalent = design.bench.equivalent
    values = swept_quantities(test, nominal, at, equivalent)
    scattered = swept_quantities(test, builds, at, equivalent)
    among = as_designed(design, layer_counts(random_builds(design, chosen, z), number))
    among = among if np.sum(among) >= FEWEST else np.ones(number, bool)
    bands = {name: _band(name, values[name], scattered[name], z, among) for name in values}
    resonances = () if test.sense else crossings(at, nominal)
    return Sweep(test, at, nominal, bands, resonances)


def _band(name: str, nominal: FloatArray, samples: FloatArray, z: FloatArray, among: BoolArray) -> Band:
    if name == "phase":
        samples = nominal + np.angle(np.exp(1j * (samples - nominal)))
    direction = main_direction(z, samples, among)
    low, _ = percentile(samples, direction, LOW, among)
    high, _ = percentile(samples, direction, HIGH, among)
    return Band(nominal, low, high, (high - low) / (2 * 1.959964))


def crossings(frequencies: FloatArray, impedance: ComplexArray) -> tuple[Resonance, ...]:
    """Every resonance between two neighbouring frequencies, where the phase passes zero.

    Between them the reactance of a series resonance, the susceptance of a parallel one, runs straight in
    log f.

    As fine as the frequencies lie: two resonances between neighbours are not seen.
    """
    place = np.log(frequencies)
    found = []
    for k in range(len(place) - 1):
        here, there = complex(impedance[k]), complex(impedance[k + 1])
        if here.imag * there.imag < 0 or (there.imag == 0 and here.imag != 0):
            kind = "parallel" if here.imag > 0 else "series"
            before, after = (
                (here.imag, there.imag) if kind == "series" else ((1 / here).imag, (1 / there).imag)
            )
            part = before / (before - after)
            found.append(Resonance(math.exp(place[k] + part * (place[k + 1] - place[k])), kind))
    return tuple(found)
