"""One connection of a design against frequency: |Z|, phase, L and R (or a ratio and its phase), with their
ranges.

The impedance is that of ``bench.impedance_sweep``, as the meter sees it, with link and leads. The range is
that of normal production with the layers as designed, plus the error of the models, from random builds.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..circuit import display, impedance_sweep
from ..design import BenchTest, ComplexArray, Design, FloatArray
from .drivers import main_direction
from .monte_carlo import FEWEST, HIGH, LOW, RANGE_END, normal_draws, percentile, random_builds
from .parameter import Origin
from .tipping import BoolArray, as_designed, layer_counts
from .tolerances import parameters

QUANTITIES = {"impedance": "ohm", "phase": "rad", "inductance": "H", "resistance": "ohm"}
"""Quantities shown of an impedance, with their units."""
RATIO_QUANTITIES = {"ratio": "1", "phase": "rad"}
"""Quantities shown of a ratio of two voltages, with their units."""
_MEASURES = {"inductance": "inductance", "resistance": "ac_resistance"}


@dataclass(frozen=True)
class Band:
    """A quantity at F frequencies, with its range over builds.

    Attributes
    ----------
    nominal : (F,) array, value as designed, SI
    low : (F,) array, 2.5 % point over builds, SI
    high : (F,) array, 97.5 % point over builds, SI
    deviation : (F,) array, standard deviation, SI: half the width of the range over 1.96
    """

    nominal: FloatArray
    low: FloatArray
    high: FloatArray
    deviation: FloatArray


@dataclass(frozen=True)
class Resonance:
    """A frequency at which the reactance passes through zero.

    Attributes
    ----------
    frequency : float, frequency, Hz
    kind : str, "parallel" (inductive below it, |Z| large) or "series" (capacitive below it, |Z| small)
    """

    frequency: float
    kind: str


@dataclass(frozen=True)
class Sweep:
    """One connection at F frequencies.

    Attributes
    ----------
    test : BenchTest, the connection
    frequencies : (F,) array, frequencies, Hz, rising
    impedance : (F,) array of complex, impedance, ohm; for a ratio V(drive)/V(sense), dimensionless
    bands : mapping of str to Band, ranges by quantity, SI
    resonances : tuple of Resonance, resonances between the frequencies
    """

    test: BenchTest
    frequencies: FloatArray
    impedance: ComplexArray
    bands: Mapping[str, Band]
    resonances: tuple[Resonance, ...]

    @property
    def units(self) -> dict[str, str]:
        """Units by quantity."""
        return RATIO_QUANTITIES if self.test.sense else QUANTITIES


def frequencies_between(low: float, high: float, number: int) -> FloatArray:
    """Frequencies spread evenly in the logarithm, with round numbers added for tables.

    The round numbers are 1, 2 and 5 times every power of ten.

    Parameters
    ----------
    low, high : float, lowest and highest frequency, Hz
    number : int, of frequencies spread evenly, count

    Returns
    -------
    (F,) array, frequencies, Hz, rising
    """
    decades = range(math.floor(math.log10(low)), math.ceil(math.log10(high)) + 1)
    round_ones = [float(f"{step}e{n}") for n in decades for step in (1, 2, 5)]
    every = np.concatenate([np.geomspace(low, high, number), [f for f in round_ones if low < f < high]])
    ordered = np.unique(every)
    apart = np.concatenate([[True], np.diff(np.log(ordered)) > 1e-9])
    return np.asarray(ordered[apart], float)


def swept_quantities(
    test: BenchTest, impedance: ComplexArray, frequencies: FloatArray, equivalent: str
) -> dict[str, FloatArray]:
    """Every quantity of a swept impedance.

    Parameters
    ----------
    test : BenchTest, of the design
    impedance : (..., F) array of complex, impedance, ohm, or ratio, dimensionless
    frequencies : (F,) array, frequencies, Hz
    equivalent : str, equivalent circuit where the test names none: "series" or "parallel"

    Returns
    -------
    dict of str to (..., F) array
        Values by quantity, in the units of ``QUANTITIES`` or ``RATIO_QUANTITIES``.
    """
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
    """One connection of a design at many frequencies, with its range over random builds.

    Parameters
    ----------
    design : Design of one or B builds
    test : BenchTest, connection; its frequency does not matter
    frequencies : (F,) array or sequence of float, frequencies, Hz, above 0, rising
    number : int, random builds for the range, count
    seed : int, random builds are drawn from this seed
    origins : tuple of Origin, which kinds of parameters vary

    Raises
    ------
    BuildError
        Where the layout is outside the models.
    """
    at = np.asarray(frequencies, float)
    design = replace(design, tests=(replace(test, frequency=float(at[0])),))
    nominal = impedance_sweep(design, test, at.tolist())
    chosen = tuple(parameter for parameter in parameters(design) if parameter.origin in origins)
    z = normal_draws([item.name for item in chosen], number, seed)
    builds = impedance_sweep(random_builds(design, chosen, z), test, at.tolist(), exact=False)
    builds = np.broadcast_to(builds, (number, len(at)))
    # the correction for conductors between the nodes of a grid is that of the nominal build for all builds
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
    return Band(nominal, low, high, (high - low) / (2 * RANGE_END))


def crossings(frequencies: FloatArray, impedance: ComplexArray) -> tuple[Resonance, ...]:
    """Every resonance between two neighbouring frequencies, where the phase passes through zero.

    In between, the reactance of a series resonance and the susceptance of a parallel one are taken as linear
    in log f. Two resonances between the same neighbours are not seen.

    Parameters
    ----------
    frequencies : (F,) array, frequencies, Hz, rising
    impedance : (F,) array of complex, impedance, ohm
    """
    log_frequency = np.log(frequencies)
    resonances = []
    for k in range(len(log_frequency) - 1):
        here, there = complex(impedance[k]), complex(impedance[k + 1])
        if here.imag * there.imag < 0 or (there.imag == 0 and here.imag != 0):
            kind = "parallel" if here.imag > 0 else "series"
            before, after = (
                (here.imag, there.imag) if kind == "series" else ((1 / here).imag, (1 / there).imag)
            )
            part = before / (before - after)
            resonances.append(
                Resonance(math.exp(log_frequency[k] + part * (log_frequency[k + 1] - log_frequency[k])), kind)
            )
    return tuple(resonances)
