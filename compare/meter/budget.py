"""Uncertainty budget of one reading: every component with its standard uncertainty and its share.

Independent components u_i, each in the unit of the reading, combine to u = √Σ u_i² (JCGM 100:2008, 5.1.2);
the expanded uncertainty is U = 2 u. Each component is evaluated at the reading itself: the meter's from
its equations (module ``accuracy``), those of the set-up by predicting the reading with the link, the
leads, the temperature and the level one standard uncertainty up and down,

    u_i = |y(x + u(x)) − y(x − u(x))|/2.

Valid if the components are small enough for the reading to be nearly linear in each. A link that makes up
most of the reading is not: the law of propagation then differs from the distribution itself, JCGM 101, by
a few per cent. Sources: JCGM 100:2008 (GUM), JCGM 101:2008, clause numbers from memory.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from ...predict.circuit import BenchPrediction, predict_bench
from ...predict.design import BenchTest, Design, FloatArray
from ...predict.production import parameters, random_builds
from .accuracy import COVERAGE, meter_components

REPEATABILITY = {"resistance": 0.003, "ratio": 0.0005, "phase": 0.0, "default": 0.002}
"""Standard relative scatter of re-connecting and handling, used for a reading without a stated uncertainty
and without repeats (common practice, no source)."""
LEVEL = 0.05
"""Standard relative uncertainty of the level as set: ±10 %, k = 2 (common practice, no source)."""

HANDLING = "re-connection and handling"
LEVEL_NAME = "level"
_LEVEL_ENDS = (1 + LEVEL, 1 - LEVEL)
_WITHOUT_LEVEL = ("resistance", "capacitance", "resonance")
TEMPERATURE = "temperature"


@dataclass(frozen=True)
class Component:
    """One line of a budget.

    Attributes
    ----------
    name : str, name of the component
    standard_uncertainty : float, standard uncertainty (k = 1) in the unit of the reading, SI
    """

    name: str
    standard_uncertainty: float


@dataclass(frozen=True)
class Budget:
    """Independent components of one reading's uncertainty.

    Attributes
    ----------
    components : tuple[Component, ...]
        Components, largest first; those of zero are left out.
    """

    components: tuple[Component, ...]

    @property
    def combined(self) -> float:
        """Combined standard uncertainty √Σ u_i², SI."""
        return math.hypot(*(part.standard_uncertainty for part in self.components))

    @property
    def expanded(self) -> float:
        """Expanded uncertainty U = 2 u, SI."""
        return COVERAGE * self.combined

    def share(self, component: Component) -> float:
        """Fraction of the variance due to a component, dimensionless."""
        return (component.standard_uncertainty / self.combined) ** 2

    def without(self, name: str) -> Budget:
        """The budget without the component of that name."""
        return Budget(tuple(part for part in self.components if part.name != name))

    def eased(self, name: str, factor: float) -> Budget:
        """The budget with one component scaled.

        Parameters
        ----------
        name : str
            Name of the component.
        factor : float
            Factor on its standard uncertainty, dimensionless.
        """
        return budget(
            (part.name, part.standard_uncertainty * (factor if part.name == name else 1.0))
            for part in self.components
        )


def budget(components: Iterable[tuple[str, float]]) -> Budget:
    """A budget of components, each a name and a standard uncertainty ≥ 0 (SI); sorted and without zeros."""
    parts = [Component(name, float(size)) for name, size in components if size > 0]
    return Budget(tuple(sorted(parts, key=lambda part: -part.standard_uncertainty)))


def handled_components(
    design: Design, test: BenchTest, values: FloatArray, impedance: complex
) -> dict[str, FloatArray]:
    """Standard uncertainties of single readings due to meter and handling, by component.

    The meter's components (``meter_components``), and the scatter of re-connection (``REPEATABILITY`` of
    the reading).

    Parameters
    ----------
    design : Design
        The transformer.
    test : BenchTest
        The test.
    values : (N,) array
        Readings, SI.
    impedance : complex
        Predicted impedance at the driven terminals, ohm.

    Returns
    -------
    dict[str, FloatArray] (N,)
        Standard uncertainties, SI.

    Raises
    ------
    DesignError
        As ``meter_components``.
    """
    components = meter_components(
        design.bench, test.measure, values, impedance, test.frequency, equivalent=test.equivalent
    )
    share = REPEATABILITY.get(test.measure, REPEATABILITY["default"])
    return components | {HANDLING: share * np.abs(np.asarray(values, float))}


def reading_budgets(design: Design, prediction: BenchPrediction | None = None) -> tuple[Budget, ...]:
    """Budget of every test of a design, at the predicted reading.

    Components: the meter's, handling, "shorting link", "leads" (the bench's tolerances), "temperature" (of
    the part, [spread] temperature), "level" (LEVEL of the test's).

    Parameters
    ----------
    design : Design
        The transformer.
    prediction : BenchPrediction or None, optional
        Prediction of ``design`` if it is known already.

    Raises
    ------
    BuildError
        The layout is outside the models.
    """
    if not design.tests:
        return ()
    prediction = prediction or predict_bench(design)
    setup = _setup_components(design)
    budgets = []
    for index, test in enumerate(design.tests):
        value, impedance = prediction.values[index], complex(prediction.impedance[index])
        components = handled_components(design, test, np.asarray(value, float), impedance)
        parts = {name: float(size) for name, size in components.items()}
        parts |= {name: float(sizes[index]) for name, sizes in setup.items()}
        budgets.append(budget(parts.items()))
    return tuple(budgets)


def _setup_components(design: Design) -> dict[str, FloatArray]:
    """Standard uncertainties (T,) of the readings due to link, leads, temperature and level, by name."""
    chosen = tuple(
        parameter
        for parameter in parameters(design)
        if parameter.origin == "setup" or parameter.name == TEMPERATURE
    )
    components = {}
    if chosen:
        z = np.concatenate([np.eye(len(chosen)), -np.eye(len(chosen))])
        read = predict_bench(random_builds(design, chosen, z)).values
        for index, parameter in enumerate(chosen):
            components[parameter.name] = _half(design, read[index], read[index + len(chosen)])
    return components | {LEVEL_NAME: _level_component(design)}


def _level_component(design: Design) -> FloatArray:
    """Standard uncertainty (T,) of the readings due to the level; 0 where the level does not matter."""
    test_indices = [
        test_index for test_index, test in enumerate(design.tests) if test.measure not in _WITHOUT_LEVEL
    ]
    result = np.zeros(len(design.tests))
    if test_indices:
        tests = [design.tests[test_index] for test_index in test_indices]
        ends = [replace(test, level=test.level * factor) for factor in _LEVEL_ENDS for test in tests]
        read = predict_bench(replace(design, tests=tuple(ends))).values
        chosen = replace(design, tests=tuple(tests))
        result[test_indices] = _half(chosen, read[: len(test_indices)], read[len(test_indices) :])
    return result


def _half(design: Design, above: FloatArray, below: FloatArray) -> FloatArray:
    """above − below|/2; for a phase the shorter way round."""
    apart = above - below
    phase = np.array([test.measure == "phase" for test in design.tests], bool)
    return np.asarray(np.abs(np.where(phase, np.angle(np.exp(1j * apart)), apart)) / 2, float)
