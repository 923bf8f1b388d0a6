"""Two lots of one design compared: two suppliers, two dates, before and after a change.

Readings that are left out of either lot are left out here too. For each test,

    difference d = mean_B − mean_A,      its standard uncertainty √(s_A²/n_A + s_B²/n_B),      p by Welch's t

What both lots share cancels: model, drawing, meter, link. The forward model is then asked why they differ:
B's readings are scaled by the factor (phases: shifted) that brings A's mean onto the prediction, and the
causes that all of them could share are weighed as for any lot. A cause found in this way is in B and not
in A, or the other way round.

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
"""Two lots differ in a test if p is below this, divided by the number of tests (common practice: 1 % by
chance, shared among the tests (Bonferroni))."""


CANCELLED = {
    "model_leakage": 0.005,
    "model_inductance": 0.005,
    "model_capacitance": 0.01,
    "model_ac_resistance": 0.02,
    "mean_turn": 0.003,
}
"""What remains of the models' errors (standard, relative) in the difference of two lots of one design
(judged)."""


@dataclass(frozen=True, kw_only=True)
class LotDifference:
    """One test in both lots.

    Attributes
    ----------
    name : str, name of the test
    measure : str, what it measures
    unit : str, SI unit of the numbers
    first, second : LotTest, the test over the first and second lot
    difference : float, mean of the second less mean of the first, SI (rad for a phase)
    relative : float or None, ``difference`` over the mean of the first, dimensionless; None for a phase
    uncertainty : float, standard uncertainty of ``difference``, SI
    p : float or None
        Probability of so large a difference by chance, dimensionless; None if it cannot be tested.
    differs : bool, whether p is below ``DIFFER`` over the number of tests
    """

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
    """Two lots and how they differ.

    Attributes
    ----------
    first, second : Lot
        The first and second lot by itself.
    differences : tuple[LotDifference, ...]
        Tests that were read in both.
    cause : Together or None
        What the second lot has and the first does not; None if too few readings are common to both.
    """

    first: Lot
    second: Lot
    differences: tuple[LotDifference, ...]
    cause: Together | None

    @property
    def deviates(self) -> bool:
        """Whether either lot deviates, or the two differ."""
        return self.first.deviates or self.second.deviates or any(item.differs for item in self.differences)


def two_lots(
    design: Design, first: Sequence[Reading], second: Sequence[Reading], *, rule: str = THREE_ZONE
) -> TwoLots:
    """Compare two lots of readings of one design.

    Parameters
    ----------
    design : Design
        The transformer.
    first, second : Sequence[Reading]
        Readings of the first and second lot, SI.
    rule : str, optional
        Decision rule, a name of ``decision.RULES``.

    Raises
    ------
    ReadingsError
        Either lot has fewer than two samples.
    BuildError
        The layout is outside the models.
    """
    first_lot, second_lot = lot(design, first, rule=rule), lot(design, second, rule=rule)
    by_name = {test.name: test for test in second_lot.tests}
    pairs = [(test, by_name[test.name]) for test in first_lot.tests if test.name in by_name]
    differences = tuple(_difference(a, b, len(pairs)) for a, b in pairs)
    away = {(item.sample, item.test) for item in second_lot.left_out}
    kept = [
        item
        for item in second
        if (item.sample, "") not in away and (item.sample, item.test) not in away and item.value is not None
    ]
    moved = [_moved(item, test) for item in kept for test, _ in pairs if test.name == item.test]
    enough = len({item.sample for item in moved}) > 1
    without_model = replace(design, tolerances=replace(design.tolerances, **CANCELLED))
    return TwoLots(
        first_lot, second_lot, differences, explain_together(without_model, moved) if enough else None
    )


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
    """A reading of the second lot, scaled as if the first lot's mean were as predicted."""
    value, predicted = item.value, first.predicted
    if value is None or not np.isfinite(predicted) or beyond_search(first.measure, predicted):
        return item
    if first.measure == "phase":
        return replace(item, value=value + predicted - first.mean, impedance=None)
    factor = predicted / first.mean if first.mean else 1.0
    doubt = None if item.uncertainty is None else item.uncertainty * abs(factor)
    return replace(item, value=value * factor, uncertainty=doubt, impedance=None)
