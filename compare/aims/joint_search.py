"""The best changes of one order, all of them tried together.

Logarithms of readings are nearly additive in the changes,

    ln y(a, b, c) ≈ ln y_0 + f(a) + g(b) + h(c) + o(a, b, c),

f, g, h read off forward runs of a few amounts of each change alone. On this sum every combination of up to
``CHANGES`` changes is tried at once, by the part of production that it would meet (``log_yield``). The best
of each set of changes is then run in full; what it reads off the sum is o, which moves the set's own optimum
(a secant step on all aims jointly), and so on for a few rounds. All runs of a round are one batch.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from ...predict.design import FloatArray
from .changed_order import ChangedOrder, Choice
from .target import Aim, log_yield, share_met

CHANGES = 3
"""Changes made to one order, at most."""
SPACED = (1, 2, 4, 8, 16, 32, 64)
"""Steps from no change, to either side, at which amounts are run alone beside the largest: readings bend most
where a change begins."""
IDLE = 0.1
"""Standard deviations of production by which a change must move a reading to be tried with others."""
COUNTED = 3
"""Amounts (none among them) up to which only the first is run alone, as of wires in hand: each of these is a
structure of its own, which is predicted apart from the others."""
GRID = 9
"""Amounts of each change that are combined at a time: over the whole range, then between the neighbours of
the best."""
SETS = (14, 6, 5, 5)
"""Sets of changes that are run in each round, those of single changes before them left out."""
_COST = 0.004
"""Yield that a change must bring to be worth making."""
_CENTRED = 0.005
"""Of builds that meet all aims anyway, what one is worth that lies in the middle of them."""
_OVER = 0.02
"""Part of the window by which the sum of single changes may overfill it before a build is not tried."""
_NOWHERE = 0.02
"""Yield below which a build is judged by how far it is from the aims."""


@dataclass(frozen=True)
class AimScatter:
    """How readings stray around those of a nominal build.

    Attributes
    ----------
    sigma : FloatArray, shape (T,)
        Standard deviations of the logarithms in production, dimensionless.
    wide : FloatArray, shape (T,)
        The same with the model's error, dimensionless.
    deviations : FloatArray, shape (B, T)
        Logarithms of random builds' readings over the nominal ones, dimensionless.
    """

    sigma: FloatArray
    wide: FloatArray
    deviations: FloatArray


@dataclass(frozen=True, eq=False)
class Candidate:
    """A build of an order.

    Attributes
    ----------
    order : ChangedOrder
        Order of its windings.
    choice : Choice
        Amounts of the changes, m or count.
    logs : FloatArray, shape (T,)
        Logarithms of its nominal readings in SI.
    merit : float
        What it is worth (``merits``), dimensionless.
    """

    order: ChangedOrder
    choice: Choice
    logs: FloatArray
    merit: float

    @property
    def made(self) -> tuple[int, ...]:
        """Indices of the changes that are made."""
        return made(self.choice)


def made(choice: Choice) -> tuple[int, ...]:
    """Indices of the changes that a choice makes.

    Parameters
    ----------
    choice : Choice
        Amounts, m or count; 0 where a change is not made.

    Returns
    -------
    tuple of int
        Indices.
    """
    return tuple(number for number, amount in enumerate(choice) if amount)


def merits(logs: FloatArray, counts: FloatArray, aims: Sequence[Aim], scatter: AimScatter) -> FloatArray:
    """What builds are worth: the part of production that meets all aims, less a little for each change.

    Where next to no part meets them, a negative number that says how far they are.

    Parameters
    ----------
    logs : FloatArray, shape (C, T)
        Logarithms of nominal readings in SI.
    counts : FloatArray, shape (C,)
        Changes made in each build, count.
    aims : sequence of Aim
        T aims.
    scatter : AimScatter
        How readings stray.

    Returns
    -------
    FloatArray, shape (C,)
        Merits, dimensionless.
    """
    near = np.exp(np.maximum(log_yield(logs, aims, scatter.wide), -50.0))
    far = log_yield(logs, aims, scatter.sigma)
    met = share_met(logs, aims, scatter.deviations)
    value = met + _CENTRED * near - _COST * counts
    return np.asarray(np.where(met >= _NOWHERE, value, np.minimum(far, 0.0) - _COST * counts))


class JointSearch:
    """The search for the best changes of one order, with all that was run.

    Parameters
    ----------
    order : ChangedOrder
        Order with its changes.
    aims : sequence of Aim
        T aims.
    scatter : AimScatter
        How readings stray; may be replaced on the way.
    """

    def __init__(self, order: ChangedOrder, aims: Sequence[Aim], scatter: AimScatter) -> None:
        self.order, self.aims, self.scatter = order, aims, scatter
        self._run: dict[Choice, FloatArray] = {}
        self._effects: list[FloatArray] = []
        self._rounds = 0
        self._singles()
        self.advance()

    def advance(self) -> None:
        """One more round of forward runs."""
        self._round(self._rounds, self._best_of_sets())
        self._rounds += 1

    @property
    def found(self) -> list[Candidate]:
        """The best candidate of every set of changes that was run, the best set first."""
        return sorted(self._best_of_sets().values(), key=lambda candidate: -candidate.merit)

    def shifts(self) -> FloatArray:
        """What single changes and pairs of them do to the readings, no change among them: logarithms of
        ratios, dimensionless, shape (D, T)."""
        found = [np.zeros((1, len(self.aims)))]
        for numbers in self._sets(2):
            choices = self._grid(numbers, None)
            found.append(self._sum(numbers, choices)[:, :-1])
        return np.concatenate(found)

    # --- forward runs ---------------------------------------------------------------------------------

    def _singles(self) -> None:
        """A few amounts of every change alone; of the others what lies between."""
        home = self.order.unchanged
        some: list[list[float]] = []
        for amounts in self.order.amounts:
            some.append(
                [amounts[k] for k in _spaced(amounts)] if len(amounts) > COUNTED else list(amounts[:2])
            )
        choices = [_with(home, k, amount) for k, amounts in enumerate(some) for amount in amounts if amount]
        self._keep([home, *choices])
        base = self._run[home]
        filled = dict(zip([home, *choices], self.order.fill([home, *choices]).tolist(), strict=True))
        self._filled = filled[home]
        for k, (amounts, known) in enumerate(zip(self.order.amounts, some, strict=True)):
            rows = np.stack([self._run[_with(home, k, amount)] - base for amount in known])
            columns = [_along(amounts, known, rows[:, test]) for test in range(len(self.aims))]
            room = [filled[_with(home, k, amount)] - self._filled for amount in known]
            columns.append(_along(amounts, known, room))
            self._effects.append(np.stack(columns, axis=1))
        self._moving = [k for k, effect in enumerate(self._effects) if self._moves(effect)]

    def _moves(self, effect: FloatArray) -> bool:
        """Whether a change moves any reading, or makes one that has none."""
        return not bool(np.all(np.abs(effect[:, :-1]) < IDLE * self.scatter.sigma))

    def _keep(self, choices: Sequence[Choice]) -> None:
        new = [choice for choice in dict.fromkeys(choices) if choice not in self._run]
        for choice, row in zip(new, self.order.read(new), strict=True):
            self._run[choice] = row

    def _best_of_sets(self) -> dict[tuple[int, ...], Candidate]:
        choices = list(self._run)
        logs = np.stack([self._run[choice] for choice in choices])
        counts = np.array([float(len(made(choice))) for choice in choices])
        value = merits(logs, counts, self.aims, self.scatter)
        best: dict[tuple[int, ...], Candidate] = {}
        for k in np.argsort(-value, kind="stable"):
            if np.isfinite(value[k]):
                candidate = Candidate(self.order, choices[k], logs[k], float(value[k]))
                best.setdefault(candidate.made, candidate)
        return best

    # --- the sum of single changes ----------------------------------------------------------------------

    def _sets(self, most: int) -> Iterator[tuple[int, ...]]:
        for count in range(1, most + 1):
            yield from combinations(self._moving, count)

    def _grid(self, numbers: tuple[int, ...], around: Choice | None) -> FloatArray:
        """(C, n) indices of amounts of the changes ``numbers``: over the whole range, or near a choice."""
        columns = []
        for number in numbers:
            amounts = self.order.amounts[number]
            low, high = 0, len(amounts) - 1
            if around is not None and around[number]:
                at = amounts.index(around[number])
                low, high = max(at - GRID // 2, 0), min(at + GRID // 2, high)
            at_all = {round(k) for k in np.linspace(low, high, GRID)} - {amounts.index(0.0)}
            columns.append(np.array(sorted(at_all), int))
        grids = np.meshgrid(*columns, indexing="ij")
        return np.stack([grid.ravel() for grid in grids], axis=1)

    def _sum(self, numbers: tuple[int, ...], chosen: FloatArray) -> FloatArray:
        """(C, T + 1) what the changes do to the logarithms and to the filled part of the window, each as
        alone."""
        parts = [self._effects[number][chosen[:, index]] for index, number in enumerate(numbers)]
        return np.asarray(np.sum(np.stack(parts), axis=0))

    def _round(self, number: int, best: dict[tuple[int, ...], Candidate]) -> None:
        """Run the best choices by the sum, corrected by what was run of the same set before."""
        base = self._run[self.order.unchanged]
        ranked: list[tuple[float, Choice]] = []
        known = sorted(best.values(), key=lambda candidate: -candidate.merit)
        for numbers in (
            self._sets(CHANGES) if number == 0 else [candidate.made for candidate in known if candidate.made]
        ):
            around, offset = None, np.zeros(len(self.aims))
            if number and numbers in best:
                around = best[numbers].choice
                at = np.array([[self.order.amounts[k].index(around[k]) for k in numbers]])
                offset = best[numbers].logs - base - self._sum(numbers, at)[0, :-1]
            chosen = self._grid(numbers, around)
            if not len(chosen):
                continue
            moved = self._sum(numbers, chosen)
            logs = base + offset + moved[:, :-1]
            value = log_yield(logs, self.aims, self.scatter.sigma)
            value = value + 0.01 * log_yield(logs, self.aims, self.scatter.wide) - _COST * len(numbers)
            value = np.where(self._filled + moved[:, -1] <= 1 + _OVER, value, -np.inf)
            for k in np.argsort(-value, kind="stable")[:3]:
                if np.isfinite(value[k]):
                    choice = self.order.unchanged
                    for index, k_change in enumerate(numbers):
                        amounts = self.order.amounts[k_change]
                        choice = _with(choice, k_change, amounts[chosen[k, index]])
                    ranked.append((float(value[k]), choice))
        ranked.sort(key=lambda candidate: -candidate[0])
        self._keep(self._first_that_fit([choice for _, choice in ranked], SETS[number]))

    def _first_that_fit(self, choices: Sequence[Choice], sets: int) -> list[Choice]:
        """Of choices, the best first, those that the window holds, of so many sets."""
        new = [choice for choice in choices if choice not in self._run][: 6 * sets]
        taken: dict[tuple[int, ...], int] = {}
        fitting = []
        for choice, filled in zip(new, self.order.fill(new), strict=True):
            key = made(choice)
            if filled > 1.0 or (key not in taken and len(taken) == sets) or taken.get(key, 0) == 2:
                continue
            taken[key] = taken.get(key, 0) + 1
            fitting.append(choice)
        return fitting


def _along(
    amounts: Sequence[float], known: Sequence[float], values: Sequence[float] | FloatArray
) -> FloatArray:
    """Values at all amounts from those at the ``known`` ones, straight between and beyond the two that are
    known of a count."""
    if len(known) == 2:
        slope = (values[1] - values[0]) / (known[1] - known[0])
        return np.asarray(values[0] + slope * (np.array(amounts) - known[0]))
    return np.interp(amounts, known, values)


def _spaced(amounts: Sequence[float]) -> list[int]:
    """The places of the amounts that are run alone."""
    home, last = amounts.index(0.0), len(amounts) - 1
    found = {0, home, last} | {home + side * step for step in SPACED for side in (-1, 1)}
    return sorted(k for k in found if 0 <= k <= last)


def _with(choice: Choice, number: int, amount: float) -> Choice:
    return (*choice[:number], amount, *choice[number + 1 :])
