"""Readings while a part is wound, with limits, and which single faults each would stop.

Expected readings, production's range and limits are those of changed designs
(``predict.section_readings``) under the design's own tolerances. Limits follow the rule of ``limits``, or
are the specification's if its own test reads the same winding. A fault is a change of the design as in
``causes``. For a part with it, the reading is that of a good part times the ratio of the two predictions,
and

    P(outside) = mean over builds of Φ((min − y)/u) + 1 − Φ((max − y)/u),

u the standard uncertainty of one reading, without the part's temperature, which the builds already vary.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np

from ...predict.batch import predict_many
from ...predict.circuit import readings as predicted_readings
from ...predict.design import Design, FloatArray, WindStep, first_build
from ...predict.production import BUILDS, spread
from ...predict.shop import SectionReading, joined, resistance_test, section_readings, wound_apart
from ..causes import CATALOGUE, with_step
from ..meter import TEMPERATURE, Budget, reading_budgets
from ..verdict import below_normal
from .limits import proposed_limits

SURE = 0.95
"""A reading is said to stop a fault if at least this fraction of the faulty parts lies outside the limits
(judged by what a reader can take in; no verdict depends on it)."""
MOST_TURNS = 12
"""Most turns too many or too few that are tried (bounds work, not results)."""
_WEIGHED = ("wire", "strand", "conductor")
"""Causes of class copper that a resistance before coring shows."""


@dataclass(frozen=True, kw_only=True)
class ProcessFault:
    """One single fault in what is read.

    Attributes
    ----------
    kind : str, "turns", or the name of the cause
    size : float
        Signed size, to compare faults of one kind (turns, wires in hand, logarithm of the ratio of
        diameters), count or dimensionless.
    title : str, the fault in words
    reading : float, predicted reading, SI
    below, above : float
        Probability that a part with it reads below the lower and above the upper limit, dimensionless.
    """

    kind: str
    size: float
    title: str
    reading: float
    below: float
    above: float

    @property
    def outside(self) -> float:
        """Probability that the limits stop it, dimensionless."""
        return self.below + self.above

    @property
    def told(self) -> bool:
        """Whether the limits stop at least ``SURE`` of the parts with it."""
        return self.outside >= SURE


@dataclass(frozen=True, kw_only=True)
class ProcessReading:
    """One resistance to read before the core is fitted.

    Attributes
    ----------
    section : SectionReading, what is read
    expected : float, expected reading, SI
    low : float, lower end of 95 % of production, SI
    high : float, upper end of it, SI
    budget : Budget, budget of one reading
    minimum, maximum : float or None, lower and upper limit, SI; None without one
    specified : str, name of the design's own test whose limits these are; "" if they are proposed
    faults : tuple[ProcessFault, ...], every fault that was tried
    """

    section: SectionReading
    expected: float
    low: float
    high: float
    budget: Budget
    minimum: float | None
    maximum: float | None
    specified: str
    faults: tuple[ProcessFault, ...]

    def stopped(self, *, above: bool) -> tuple[ProcessFault, ...]:
        """The smallest fault of each kind that reads beyond that limit in at least ``SURE`` of the parts."""
        least: dict[str, ProcessFault] = {}
        for fault in self.faults:
            sure = (fault.above if above else fault.below) >= SURE
            if sure and (fault.kind not in least or abs(fault.size) < abs(least[fault.kind].size)):
                least[fault.kind] = fault
        return tuple(least.values())


def process_readings(design: Design, *, builds: int = BUILDS, seed: int = 1) -> tuple[ProcessReading, ...]:
    """Every resistance that can be read while a design is wound, in winding order.

    Parameters
    ----------
    design : Design
    builds : int, optional, random builds behind ranges and limits, count
    seed : int, optional, seed of the random builds

    Raises
    ------
    BuildError
        The layout is outside the models.
    """
    asked = section_readings(design)
    apart = tuple(part for part in asked if part.extent != "parallel")
    whole = tuple(part for part in asked if part.extent == "parallel")
    readings = _read(design, apart, partial(wound_apart, apart), builds, seed)
    readings |= _read(design, whole, partial(joined, whole), builds, seed)
    return tuple(readings[part] for part in asked)


def _read(
    design: Design, asked: Sequence[SectionReading], view: Callable[[Design], Design], builds: int, seed: int
) -> dict[SectionReading, ProcessReading]:
    if not asked:
        return {}
    production = spread(design, builds, seed, view=view)  # the same builds as in ``plan``
    budgets = reading_budgets(view(design))
    turns = {step: _turns(design, step, view) for step in {part.step for part in asked}}
    copper = {name: _copper(design, name, view) for name in {part.winding for part in asked}}
    result = {}
    for index, part in enumerate(asked):
        test = resistance_test(design, part.winding) if part.whole else None
        limits = proposed_limits(production.tests[index], production, index, budgets[index])
        low, high = (None, None) if limits is None else (limits.minimum, limits.maximum)
        specified = ""
        if test is not None and (test.minimum is not None or test.maximum is not None):
            low, high, specified = test.minimum, test.maximum, test.name
        bench = budgets[index].without(TEMPERATURE).combined
        faults = []
        for kind, size, title, values in (*turns[part.step], *copper[part.winding]):
            reading = float(values[index])
            built = production.samples[:, index] * (reading / float(production.nominal[index]))
            below, above = _outside(built, bench, low, high)
            faults.append(
                ProcessFault(kind=kind, size=size, title=title, reading=reading, below=below, above=above)
            )
        result[part] = ProcessReading(
            section=part,
            expected=float(production.nominal[index]),
            low=float(production.low[index]),
            high=float(production.high[index]),
            budget=budgets[index],
            minimum=low,
            maximum=high,
            specified=specified,
            faults=tuple(faults),
        )
    return result


def _outside(built: FloatArray, bench: float, low: float | None, high: float | None) -> tuple[float, float]:
    """Probability below ``low`` and above ``high`` of readings of parts ``built`` (B,) on a bench of standard
    uncertainty ``bench``; equation in the module's docstring."""
    scale = max(bench, 1e-15)
    low_share = 0.0 if low is None else float(np.mean(below_normal((low - built) / scale)))
    high_share = 0.0 if high is None else float(np.mean(below_normal((built - high) / scale)))
    return low_share, high_share


_Tried = tuple[str, float, str, FloatArray]
"""Kind, size, title and the readings of all tests."""


def _turns(design: Design, number: int, view: Callable[[Design], Design]) -> list[_Tried]:
    """Turns too many and too few in one build step, as builds of one batch."""
    step = design.build.steps[number]
    assert isinstance(step, WindStep)
    now = int(first_build(step.turns))
    most = max(2, min(MOST_TURNS, now // 2))
    amounts = np.array([amount for amount in range(-most, most + 1) if amount and now + amount >= 1])
    changed = with_step(design, number, turns=now + amounts)
    rows = predicted_readings(view(changed))
    result: list[_Tried] = []
    for amount, values in zip(amounts.tolist(), rows, strict=True):
        plural = "turn" if abs(amount) == 1 else "turns"
        title = f"{abs(amount)} {plural} too {'many' if amount > 0 else 'few'}"
        result.append(("turns", float(amount), title, values))
    return result


def _copper(design: Design, name: str, view: Callable[[Design], Design]) -> list[_Tried]:
    """Another wire, wires in hand that do not conduct, another metal."""
    variants = [
        (cause.name, variant)
        for cause in CATALOGUE
        if cause.kind == "copper" and cause.name in _WEIGHED and name in cause.places(design)
        for variant in cause.variants(design, name)
    ]
    if not variants:  # tracks are of one copper
        return []
    rows = predict_many([view(variant.design) for _, variant in variants], predicted_readings)
    result: list[_Tried] = []
    for (kind, variant), values in zip(variants, rows, strict=True):
        size = 1.0 if variant.amount is None else variant.amount
        result.append((kind, math.log(size) if kind == "wire" else size, variant.title, values))
    return result
