"""One order of the windings with everything that a shop can change of it: changed builds, read together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import product

import numpy as np

from ...predict.batch import predict_many
from ...predict.circuit import readings
from ...predict.design import BenchTest, Design, FloatArray
from ...predict.errors import BuildError
from ...predict.interleave import Adjustment, Arrangement, adjustments, change_fits
from ...predict.winding import lay_out

Choice = tuple[float, ...]
"""The amount of every change of an order, 0 where it is not made."""


@dataclass(frozen=True, eq=False)
class ChangedOrder:
    """An arrangement and what can be changed of it.

    Attributes
    ----------
    arrangement : Arrangement, order and division of the windings
    design : Design, its design, with the tests of the aims only
    changes : tuple of Adjustment, all changes that can be made
    amounts : tuple of tuple of float
        Amounts of each change that fit by themselves, rising, 0 among them, m or count.
    """

    arrangement: Arrangement
    design: Design
    changes: tuple[Adjustment, ...]
    amounts: tuple[tuple[float, ...], ...]

    @staticmethod
    def of(arrangement: Arrangement, tests: tuple[BenchTest, ...]) -> ChangedOrder:
        """The order of an arrangement, without changes of which no amount fits.

        Parameters
        ----------
        arrangement : Arrangement, order and division of the windings
        tests : tuple of BenchTest, tests of the aims
        """
        design = replace(arrangement.design, tests=tests)
        usable = [(adjustment, adjustment.fitting(design)) for adjustment in adjustments(design)]
        usable = [(adjustment, fitting) for adjustment, fitting in usable if fitting]
        amounts = tuple(tuple(sorted((0.0, *fitting))) for _, fitting in usable)
        return ChangedOrder(arrangement, design, tuple(adjustment for adjustment, _ in usable), amounts)

    @property
    def unchanged(self) -> Choice:
        """The choice of no change: 0 for each (m or count)."""
        return (0.0,) * len(self.changes)

    def built(self, choice: Choice) -> Design:
        """The design with a choice of changes."""
        design = self.design
        for adjustment, amount in zip(self.changes, choice, strict=True):
            if amount:
                design = adjustment.change(design, amount)
        return design

    def fits(self, choice: Choice) -> bool:
        """Whether the window holds it."""
        return change_fits(self.built(choice), self.design)

    def words(self, choice: Choice) -> tuple[str, ...]:
        """What is changed, in words; the chambers' breadths once, where the partition's words have them."""
        built = self.built(choice)
        made = [adjustment for adjustment, amount in zip(self.changes, choice, strict=True) if amount]
        walls = any(adjustment.kind == "partition" for adjustment in made)
        return tuple(
            adjustment.told(built) for adjustment in made if not (walls and adjustment.kind == "chambers")
        )

    @cached_property
    def _stated(self) -> Design:
        """The design with margins and chambers stated, as any choice may change them."""
        design = self.design
        for adjustment in self.changes:
            if adjustment.kind not in ("in_hand", "spacer"):
                design = adjustment.change(design, 0.0)
        return design

    def _alike(self, choice: Choice) -> Design:
        """The same design with the spacers that any choice may need, of no thickness where it does not need
        them: choices of the same wires in hand are then of one structure, and predicted together."""
        design = self._stated
        for adjustment, amount in zip(self.changes, choice, strict=True):
            if amount or adjustment.kind == "spacer":
                design = adjustment.change(design, amount)
        return design

    def read(self, choices: Sequence[Choice]) -> FloatArray:
        """Nominal readings of several choices.

        Parameters
        ----------
        choices : sequence of Choice, C choices

        Returns
        -------
        FloatArray, shape (C, T)
            Logarithms of readings in SI; NaN where the models refuse one or it is not positive.
        """
        count = len(self.design.tests)
        if not choices:
            return np.zeros((0, count))
        designs = [self._alike(choice) for choice in choices]
        try:
            values = predict_many(designs, readings)
        except BuildError:
            values = np.stack([_read_alone(design, count) for design in designs])
        with np.errstate(invalid="ignore", divide="ignore"):
            return np.asarray(np.where(values > 0, np.log(values), np.nan))

    def fill(self, choices: Sequence[Choice]) -> FloatArray:
        """How much of the window each build fills.

        Parameters
        ----------
        choices : sequence of Choice, C choices

        Returns
        -------
        FloatArray, shape (C,), parts of the window, dimensionless
        """
        if not choices:
            return np.zeros(0)
        designs = [self._alike(choice) for choice in choices]
        return predict_many(designs, lambda design: lay_out(design).fill[:, None])[:, 0]

    def stepped(self, choice: Choice, reach: int) -> list[Choice]:
        """All choices of the same changes with amounts near those of a choice, itself among them.

        Parameters
        ----------
        choice : Choice, amounts, m or count
        reach : int, steps by which each amount may differ, at most, count

        Returns
        -------
        list of Choice, amounts of each choice, m or count
        """
        around = []
        for steps, amount in zip(self.amounts, choice, strict=True):
            at = steps.index(amount)
            some = steps[max(at - reach, 0) : at + reach + 1] if amount else (0.0,)
            around.append([value for value in some if bool(value) == bool(amount)])
        return list(product(*around))


def _read_alone(design: Design, count: int) -> FloatArray:
    try:
        return np.ravel(readings(design))
    except BuildError:
        return np.full(count, np.nan)
