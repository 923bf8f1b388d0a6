"""Two lots of one design against each other: two suppliers, two dates, before and after a change.

Of each test, with what is left out of the lots left out here,

    difference d = mean_B − mean_A,      its standard uncertainty √(s_A²/n_A + s_B²/n_B),      p by Welch's t

What both lots share cancels: model, drawing, meter, link. Why they differ is asked of the forward model: B's
readings are moved by the factor (phases: by the difference) that brings A's mean upon the prediction, and the
causes that all of them share are weighed as of any lot. A cause named so is in B and not in A, or the other
way round.

Source: B. L. Welch, Biometrika 34, 1947 (from memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.special import stdtr

from ...predict.circuit import beyond_search
from ...predict.design import Design
from ..readings import Reading
from ..verdict import THREE_ZONE
from .shared_causes import Together, explain_together
from .summary import Lot, LotTest, lot

DIFFER = 0.01
"""p below which two lots are said to differ in a test; divided by the number of tests."""


CANCELLED = {
    "model_leakage": 0.005,
    "model_inductance": 0.005,
    "model_capacitance": 0.01,
    "model_ac_resistance": 0.02,
    "mean_turn": 0.003,
}
"""What is left of the models' errors (standard, relative) in the difference of two lots of one design
(judged)."""


@dataclass(frozen=True, kw_only=True)
class LotDifference:
    """One test of both lots, SI (rad for phase). difference : mean of the second less that of the first;
    relative : over the first (None for a phase). p : of the hypothesis that they do not differ, None where
    it cannot be tested. differs : p below ``DIFFER`` over the number of tests."""

    name: str
    measure: str
    unit: str
    first: LotTest
    second: LotTest
    difference: float
    relative: float | None
    uncertainty: float
    p: float | None
    differs: bool


@dataclass(frozen=True)
class TwoLots:
    """first, second : each by itself. cause : what the second has that the first has not; None where too few
    readings are common to both."""

    first: Lot
    second: Lot
    differences: tuple[LotDifference, ...]
    cause: Together | None

    @property
    def deviates(self) -> bool:
        """Either lot deviates, or they differ."""
        return self.first.deviates or self.second.deviates or any(item.differs for item in self.differences)


def two_lots(
    design: Design, first: Sequence[Reading], second: Sequence[Reading], *, rule: str = THREE_ZONE
) -> TwoLots:
    """Compare the lots of readings ``first`` and ``second``; ``rule`` as in ``lot``.

    Raises ReadingsError for fewer than two samples in either, BuildError where the layout is outside the
    models.
    """
    one, other = lot(design, first, rule=rule), lot(design, second, rule=rule)
    by_name = {test.name: test for test in other.tests}
    pairs = [(test, by_name[test.name]) for test in one.tests if test.name in by_name]
    differences = tuple(_difference(a, b, len(pairs)) for a, b in pairs)
    away = {(item.sample, item.test) for item in other.left_out}
    kept = [
        item
        for item in second
        if (item.sample, "") not in away and (item.sample, item.test) not in away and item.value is not None
    ]
    moved = [_moved(item, test) for item in kept for test, _ in pairs if test.name == item.test]
    enough = len({item.sample for item in moved}) > 1
    without_model = replace(design, tolerances=replace(design.tolerances, **CANCELLED))
    return TwoLots(one, other, differences, explain_together(without_model, moved) if enough else None)


def _difference(a: LotTest, b: LotTest, tests: int) -> LotDifference:
    variances = (a.standard_deviation**2 / a.n, b.standard_deviation**2 / b.n)
    uncertainty = math.sqrt(sum(variances))
    difference = b.mean - a.mean
    if a.measure == "phase":
        difference = math.remainder(difference, 2 * math.pi)
    p: float | None = None
    if uncertainty > 0 and a.n > 1 and b.n > 1:
        freedom = uncertainty**4 / (variances[0] ** 2 / (a.n - 1) + variances[1] ** 2 / (b.n - 1))
        p = float(2 * stdtr(freedom, -abs(difference) / uncertainty))
    elif a.n > 1 and b.n > 1:
        p = 1.0 if difference == 0 else 0.0
    relative = difference / a.mean if a.measure != "phase" and a.mean else None
    differs = p is not None and p < DIFFER / tests
    return LotDifference(
        name=a.name,
        measure=a.measure,
        unit=a.unit,
        first=a,
        second=b,
        difference=difference,
        relative=relative,
        uncertainty=uncertainty,
        p=p,
        differs=differs,
    )


def _moved(item: Reading, first: LotTest) -> Reading:
    """A reading of the second lot as it would be, were the first lot's mean as predicted."""
    value, predicted = item.value, first.predicted
    if value is None or not np.isfinite(predicted) or beyond_search(first.measure, predicted):
        return item
    if first.measure == "phase":
        return replace(item, value=value + predicted - first.mean, impedance=None)
    factor = predicted / first.mean if first.mean else 1.0
    doubt = None if item.uncertainty is None else item.uncertainty * abs(factor)
    return replace(item, value=value * factor, uncertainty=doubt, impedance=None)
