"""How far honest production strays: Monte Carlo over random builds, and what drives each reading."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .bench import readings
from .design import Design, FloatArray
from .tolerances import Origin, Parameter, parameters

ROUNDING = 1e-12
"""A reading that scatters by no more than this part of itself is one that nothing moves."""


@dataclass(frozen=True)
class Driver:
    """A parameter's share of a reading's variance."""

    parameter: str
    share: float


@dataclass(frozen=True)
class ProductionSpread:
    """T readings over B random builds (model error included, meter not).

    nominal, low, high, standard_uncertainty : (T,) the plain prediction, the 2.5 % and 97.5 % points, and
    half the width of the 95 % range over 1.96 (SI, rad). samples : (B, T). drivers : per test, shares that
    sum to one, largest first; empty where nothing moves the reading.
    """

    nominal: FloatArray
    low: FloatArray
    high: FloatArray
    standard_uncertainty: FloatArray
    samples: FloatArray
    drivers: tuple[tuple[Driver, ...], ...]


def random_builds(design: Design, chosen: tuple[Parameter, ...], z: FloatArray) -> Design:
    """The design with every parameter of ``chosen`` moved: z (B, P) in standard deviations."""
    for column, parameter in enumerate(chosen):
        design = parameter.change(design, z[:, column])
    return design


def spread(
    design: Design, number: int = 2000, seed: int = 1, *, origins: tuple[Origin, ...] = ("build", "model")
) -> ProductionSpread:
    """Monte Carlo over ``number`` random builds of ``design`` (fixed ``seed``), all tests.

    origins : which parameters vary. The interval is of single parts: 95 % of honest production as the model,
    with its own error, would show on a perfect meter.
    """
    chosen = tuple(parameter for parameter in parameters(design) if parameter.origin in origins)
    z = np.random.default_rng(seed).standard_normal((number, len(chosen)))
    samples = readings(random_builds(design, chosen, z))
    nominal = readings(design)
    phase = np.array([test.measure == "phase" for test in design.tests])
    turned = nominal + np.angle(np.exp(1j * (samples - nominal)))
    samples = np.where(phase, turned, samples)
    low, high = np.quantile(samples, [0.025, 0.975], axis=0)
    return ProductionSpread(
        nominal, low, high, (high - low) / (2 * 1.959964), samples, _drivers(chosen, z, samples)
    )


def _drivers(
    chosen: tuple[Parameter, ...], z: FloatArray, samples: FloatArray
) -> tuple[tuple[Driver, ...], ...]:
    """Variance shares by regression on the independent parameters; what is left is their joint, curved
    effect."""
    centred = z - z.mean(axis=0)
    scatter = samples - samples.mean(axis=0)
    total = np.sum(scatter**2, axis=0)
    still = np.ptp(samples, axis=0) <= ROUNDING * np.max(np.abs(samples), axis=0)
    safe = np.where(still, 1.0, total)
    slopes, *_ = np.linalg.lstsq(centred, scatter, rcond=None)
    explained = slopes**2 * np.sum(centred**2, axis=0)[:, None] / safe
    rest = np.maximum(1.0 - np.sum((centred @ slopes) ** 2, axis=0) / safe, 0.0)
    result: list[tuple[Driver, ...]] = []
    for test in range(samples.shape[1]):
        if still[test]:
            result.append(())
            continue
        shares = np.append(explained[:, test], rest[test])
        shares = shares / np.sum(shares)
        names = [parameter.name for parameter in chosen] + ["joint effects"]
        order = np.argsort(-shares)
        result.append(tuple(Driver(names[index], float(shares[index])) for index in order))
    return tuple(result)
