"""Readings of one order as a function of its changes, from the forward runs made so far.

Logarithms of readings are nearly additive in the changes,

    ln y(a, b, c) ≈ ln y_0 + f(a) + g(b) + h(c) + o(a, b, c),

f, g, h taken from forward runs of a few amounts of each change alone. How far runs of several changes
together deviate from that sum, o, is carried over to all others: as a sum over pairs of changes of a factor
times the product of their effects, plus an offset of each set of changes, both fitted by least squares with a
prior (kriging). At what was run it is nearly what was read.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ...predict.design import FloatArray
from .changed_order import ChangedOrder, Choice

SPACED = (1, 2, 4, 8, 16, 32, 64)
"""Steps from no change, to either side, at which amounts are run alone beside the largest: readings bend most
where a change begins (bounds work, not results)."""
_OFFSET = 0.05
"""Standard deviation of the offset of one set of changes, logarithm (judged)."""
_LOCAL = 0.02
"""Standard deviation of what differs within a set, logarithm (judged)."""
_REACH = 0.1
"""Difference of effects, logarithm, over which that is alike (judged)."""
_EXACT = 5e-4
"""Standard deviation, logarithm, to which what was run is met (judged with the three above)."""


class Surface:
    """The readings of an order by the amounts of its changes.

    Parameters
    ----------
    order : ChangedOrder, order with its changes
    count : int, tests T, count
    """

    def __init__(self, order: ChangedOrder, count: int) -> None:
        self.order, self.count = order, count
        self.run: dict[Choice, FloatArray] = {}
        self.effects: list[FloatArray] = []
        self._singles()
        self._joint: tuple[list[tuple[int, ...]], FloatArray, FloatArray] | None = None

    @property
    def base(self) -> FloatArray:
        """(T,) logarithms of the readings without any change."""
        return self.run[self.order.unchanged]

    def add(self, choices: Sequence[Choice]) -> None:
        """Run choices forward, all at once.

        Parameters
        ----------
        choices : sequence of Choice, choices; those run before are not run again
        """
        self._keep(choices)
        self._fit()

    def logs(self, numbers: tuple[int, ...], chosen: FloatArray) -> FloatArray:
        """Readings of one set of changes.

        Parameters
        ----------
        numbers : tuple of int, indices of n changes
        chosen : FloatArray, shape (C, n), index of the amount of each

        Returns
        -------
        FloatArray, shape (C, T), logarithms of readings in SI
        """
        logs = self.base + self.moved(numbers, chosen)
        if self._joint is None or len(numbers) < 2:
            return np.asarray(logs)
        sets, effects, weights = self._joint
        same = np.array([float(item == numbers) for item in sets])
        each = np.stack([self.effects[k][chosen[:, at], :-1] for at, k in enumerate(numbers)], axis=1)
        for test in range(self.count):
            likeness = _likeness(each[:, :, test], effects[:, numbers, test], same)
            logs[:, test] += likeness @ weights[:, test]
        return np.asarray(logs)

    def moved(self, numbers: tuple[int, ...], chosen: FloatArray) -> FloatArray:
        """What changes do to the readings, each as alone.

        Parameters
        ----------
        numbers : tuple of int, indices of n changes
        chosen : FloatArray, shape (C, n), index of the amount of each

        Returns
        -------
        FloatArray, shape (C, T), logarithms of ratios, dimensionless
        """
        return self._sum(numbers, chosen)[:, :-1]

    def filled(self, numbers: tuple[int, ...], chosen: FloatArray) -> FloatArray:
        """Part of the window that a set of changes fills, each as alone.

        Parameters
        ----------
        numbers : tuple of int, indices of n changes
        chosen : FloatArray, shape (C, n), index of the amount of each

        Returns
        -------
        FloatArray, shape (C,), parts of the window, dimensionless
        """
        return np.asarray(self._filled + self._sum(numbers, chosen)[:, -1])

    # --- runs -----------------------------------------------------------------------------------------

    def _singles(self) -> None:
        """A few amounts of every change alone; of the others what lies between."""
        home = self.order.unchanged
        some: list[list[float]] = []
        for amounts in self.order.amounts:
            some.append([amounts[k] for k in _spaced(amounts)])
        choices = [changed(home, k, amount) for k, amounts in enumerate(some) for amount in amounts if amount]
        self._keep([home, *choices])
        filled = dict(zip([home, *choices], self.order.fill([home, *choices]).tolist(), strict=True))
        self._filled = filled[home]
        for k, (amounts, known) in enumerate(zip(self.order.amounts, some, strict=True)):
            rows = np.stack([self.run[changed(home, k, amount)] - self.base for amount in known])
            columns = [np.interp(amounts, known, rows[:, test]) for test in range(self.count)]
            room = [filled[changed(home, k, amount)] - self._filled for amount in known]
            columns.append(np.interp(amounts, known, room))
            self.effects.append(np.stack(columns, axis=1))

    def _keep(self, choices: Sequence[Choice]) -> None:
        new = [choice for choice in dict.fromkeys(choices) if choice not in self.run]
        for choice, row in zip(new, self.order.read(new), strict=True):
            self.run[choice] = row

    def _sum(self, numbers: tuple[int, ...], chosen: FloatArray) -> FloatArray:
        """(C, T + 1) what the changes do to the logarithms and to the filled part of the window."""
        parts = [self.effects[number][chosen[:, index]] for index, number in enumerate(numbers)]
        return np.asarray(np.sum(np.stack(parts), axis=0))

    def _effects_of(self, choice: Choice) -> FloatArray:
        """(n, T) what each change of a choice does alone."""
        at = [amounts.index(amount) for amounts, amount in zip(self.order.amounts, choice, strict=True)]
        return np.stack([self.effects[k][place, :-1] for k, place in enumerate(at)])

    def _fit(self) -> None:
        """By how much runs of several changes deviate from the sum of single ones, as a function of these."""
        known = [choice for choice, row in self.run.items() if len(made(choice)) > 1]
        known = [choice for choice in known if np.all(np.isfinite(self.run[choice]))]
        if not known or not np.all(np.isfinite(self.base)):
            self._joint = None
            return
        effects = np.stack([self._effects_of(choice) for choice in known])
        left = np.stack([self.run[choice] for choice in known]) - self.base - effects.sum(axis=1)
        sets = [made(choice) for choice in known]
        same = np.array([[float(row == column) for column in sets] for row in sets])
        weights = np.zeros_like(left)
        for test in range(self.count):
            likeness = _likeness(effects[:, :, test], effects[:, :, test], same)
            likeness += _EXACT**2 * np.eye(len(known))
            weights[:, test] = np.linalg.solve(likeness, left[:, test])
        self._joint = sets, effects, weights


def _likeness(effects: FloatArray, known: FloatArray, same: FloatArray) -> FloatArray:
    """Covariance of the deviations of two choices from the sum, from the effects of their changes, (C, n)
    and (K, n).

    Σ over pairs of changes of the products of all four effects, and for sets that are the ``same`` an offset,
    part of it the more alike the nearer their effects are.
    """
    product = effects @ known.T
    squares = np.sum(effects**2, axis=1)[:, None] + np.sum(known**2, axis=1)
    near = np.exp(-np.maximum(squares - 2 * product, 0.0) / (2 * _REACH**2))
    pairs = (product**2 - effects**2 @ (known**2).T) / 2
    return np.asarray(pairs + same * (_OFFSET**2 + _LOCAL**2 * near))


def made(choice: Choice) -> tuple[int, ...]:
    """Indices of the changes that a choice makes: where its amount (m or count) is not 0."""
    return tuple(number for number, amount in enumerate(choice) if amount)


def changed(choice: Choice, number: int, amount: float) -> Choice:
    """A choice with another amount of one change.

    Parameters
    ----------
    choice : Choice, amounts, m or count
    number : int, index of the change
    amount : float, its amount, m or count

    Returns
    -------
    Choice, amounts, m or count
    """
    return (*choice[:number], amount, *choice[number + 1 :])


def _spaced(amounts: Sequence[float]) -> list[int]:
    """The places of the amounts that are run alone."""
    home, last = amounts.index(0.0), len(amounts) - 1
    places = {0, home, last} | {home + side * step for step in SPACED for side in (-1, 1)}
    return sorted(k for k in places if 0 <= k <= last)
