"""The best changes of one order, all of them tried together.

Readings as a function of the changes are known by a surface through all forward runs made so far
(``surface``). On it every combination of up to ``CHANGES`` changes is tried, by the part of production that
it would meet (``log_yield``); the best of the best sets of changes are run in full, which mends the surface,
and so on for a few rounds. All runs of a round are one batch.

Of what was run the best have random builds laid out: where some builds take other layers than drawn, those
are parts of another kind, which stray further.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from ...predict.design import FloatArray
from ...predict.production import share_as_drawn
from .changed_order import ChangedOrder, Choice
from .surface import Surface, changed, made
from .target import Aim, log_yield, share_met

CHANGES = 3
"""Changes made to one order, at most (judged by what a reader can take in; no verdict depends on it)."""
IDLE = 0.1
"""Standard deviations of production by which a change must move a reading to be tried with others (bounds
work, not results)."""
GRID = 9
"""Amounts of each change that are combined at a time: over the whole range, then between the neighbours of
the best (bounds work, not results)."""
SETS = (14, 6, 5, 5)
"""Sets of changes that are run in each round, those of single changes before them left out (bounds work, not
results)."""
TRIED, RUN_OF_A_SET = 3, 2
"""Choices of one set that are proposed in a round, and that are run (bounds work, not results)."""
KEPT = 40
"""Sets of changes that are tried again after the first round (bounds work, not results)."""
LAID = 24
"""Of all that was run the best choices of which random builds are laid out: builds whose layers are not as
drawn are parts of another kind (bounds work, not results)."""
LAID_BUILDS = 300
"""Random builds laid out for each, count (bounds work, not results)."""
COST = 0.004
"""Yield that a change must bring to be worth making (judged by what a shop would change a build for; no other
value was compared)."""
_CENTRED = 0.005
"""Of builds that meet all aims anyway, what one is worth that lies in the middle of them (judged;
no other value was compared)."""
_OVER = 0.02
"""Part of the window by which the sum of single changes may overfill it before a build is not tried
(bounds work: what is run is laid out in full)."""
NOWHERE = 0.02
"""Yield below which a build is judged by how far it is from the aims."""


@dataclass(frozen=True)
class AimScatter:
    """How readings stray around those of a nominal build.

    Attributes
    ----------
    sigma : FloatArray, shape (T,), standard deviations of the logarithms in production, dimensionless
    wide : FloatArray, shape (T,), the same with the model's error, dimensionless
    deviations : FloatArray, shape (B, T)
        Logarithms of random builds' readings over the nominal ones, dimensionless: of builds with layers as
        drawn.
    others : FloatArray, shape (D, T), the same of builds with other layers, whichever are known: at least one
    """

    sigma: FloatArray
    wide: FloatArray
    deviations: FloatArray
    others: FloatArray


@dataclass(frozen=True, eq=False)
class Candidate:
    """A build of an order.

    Attributes
    ----------
    order : ChangedOrder, order of its windings
    choice : Choice, amounts of the changes, m or count
    logs : FloatArray, shape (T,), logarithms of its nominal readings in SI
    merit : float, what it is worth (``merits``), dimensionless
    """

    order: ChangedOrder
    choice: Choice
    logs: FloatArray
    merit: float

    @property
    def made(self) -> tuple[int, ...]:
        """Indices of the changes that are made."""
        return made(self.choice)


def merits(
    logs: FloatArray, counts: FloatArray, drawn: FloatArray, aims: Sequence[Aim], scatter: AimScatter
) -> FloatArray:
    """What builds are worth: the part of production that meets all aims, less a little for each change.

    Where next to no part meets them, a negative number that says how far they are.

    Parameters
    ----------
    logs : FloatArray, shape (C, T), logarithms of nominal readings in SI
    counts : FloatArray, shape (C,), changes made in each build, count
    drawn : FloatArray, shape (C,), part of production with layers as drawn, relative, 0 … 1
    aims : sequence of Aim, T aims
    scatter : AimScatter, how readings stray

    Returns
    -------
    FloatArray, shape (C,), merits, dimensionless
    """
    near = np.exp(np.maximum(log_yield(logs, aims, scatter.wide), -50.0))
    far = log_yield(logs, aims, scatter.sigma)
    met = share_met(logs, aims, scatter.deviations)
    if np.any(drawn < 1.0):
        met = drawn * met + (1.0 - drawn) * share_met(logs, aims, scatter.others)
    value = met + _CENTRED * near - COST * counts
    return np.asarray(np.where(met >= NOWHERE, value, np.minimum(far, 0.0) - COST * counts))


class JointSearch:
    """The search for the best changes of one order, with all that was run.

    Parameters
    ----------
    order : ChangedOrder, order with its changes
    aims : sequence of Aim, T aims
    scatter : AimScatter, how readings stray; may be replaced on the way
    """

    def __init__(self, order: ChangedOrder, aims: Sequence[Aim], scatter: AimScatter) -> None:
        self.order, self.aims, self.scatter = order, aims, scatter
        self._surface = Surface(order, len(aims))
        effects = self._surface.effects
        self._moving = [k for k, effect in enumerate(effects) if self._moves(effect[:, :-1])]
        self._tried = list(self._sets(CHANGES))
        self._rounds = 0
        self._drawn: dict[Choice, float] = {}
        self.advance()

    def advance(self) -> None:
        """One more round of forward runs."""
        self._round(SETS[self._rounds])
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
            found.append(self._surface.moved(numbers, self._grid(numbers, None)))
        return np.concatenate(found)

    def _moves(self, effect: FloatArray) -> bool:
        """Whether a change moves any reading, or makes one that has none."""
        return not bool(np.all(np.abs(effect) < IDLE * self.scatter.sigma))

    def _best_of_sets(self) -> dict[tuple[int, ...], Candidate]:
        choices = list(self._surface.run)
        logs = np.stack([self._surface.run[choice] for choice in choices])
        counts = np.array([float(len(made(choice))) for choice in choices])
        drawn = np.ones(len(choices))
        value = merits(logs, counts, drawn, self.aims, self.scatter)
        for k in np.argsort(-value, kind="stable")[:LAID]:
            if np.isfinite(value[k]):
                drawn[k] = self._share_as_drawn(choices[k])
        value = merits(logs, counts, drawn, self.aims, self.scatter)
        best: dict[tuple[int, ...], Candidate] = {}
        for k in np.argsort(-value, kind="stable"):
            if np.isfinite(value[k]):
                candidate = Candidate(self.order, choices[k], logs[k], float(value[k]))
                best.setdefault(candidate.made, candidate)
        return best

    def _share_as_drawn(self, choice: Choice) -> float:
        if choice not in self._drawn:
            self._drawn[choice] = share_as_drawn(self.order.built(choice), LAID_BUILDS, 1)
        return self._drawn[choice]

    def _sets(self, most: int) -> Iterator[tuple[int, ...]]:
        for count in range(1, most + 1):
            yield from combinations(self._moving, count)

    def _grid(self, numbers: tuple[int, ...], around: Sequence[int] | None) -> FloatArray:
        """(C, n) indices of amounts of the changes ``numbers``: over the whole range, or near some."""
        columns = []
        for index, number in enumerate(numbers):
            amounts = self.order.amounts[number]
            low, high = 0, len(amounts) - 1
            if around is not None:
                low, high = max(around[index] - GRID // 2, 0), min(around[index] + GRID // 2, high)
            at_all = {round(k) for k in np.linspace(low, high, GRID)} - {amounts.index(0.0)}
            columns.append(np.array(sorted(at_all), int))
        grids = np.meshgrid(*columns, indexing="ij")
        return np.stack([grid.ravel() for grid in grids], axis=1)

    # --- one round --------------------------------------------------------------------------------------

    def _round(self, sets: int) -> None:
        """Run the best choices by the surface through what was run before."""
        ranked: list[tuple[float, Choice]] = []
        worth = []
        for numbers in self._tried:
            chosen = self._grid(numbers, None)
            if not len(chosen):
                continue
            value = self._values(numbers, chosen)
            near = self._grid(numbers, [int(k) for k in chosen[int(np.argmax(value))]])
            chosen = np.unique(np.concatenate([chosen, near]), axis=0)
            value = self._values(numbers, chosen)
            worth.append((float(np.max(value)), numbers))
            for k in np.argsort(-value, kind="stable")[:TRIED]:
                if np.isfinite(value[k]):
                    ranked.append((float(value[k]), self._choice(numbers, chosen[k])))
        self._tried = [numbers for _, numbers in sorted(worth, key=lambda item: -item[0])[:KEPT]]
        ranked.sort(key=lambda item: -item[0])
        self._surface.add(self._first_that_fit([choice for _, choice in ranked], sets))

    def _values(self, numbers: tuple[int, ...], chosen: FloatArray) -> FloatArray:
        """(C,) what choices of a set of changes are worth by the surface; −∞ where they overfill."""
        logs = self._surface.logs(numbers, chosen)
        value = log_yield(logs, self.aims, self.scatter.sigma)
        value = value + 0.01 * log_yield(logs, self.aims, self.scatter.wide) - COST * len(numbers)
        room = self._surface.filled(numbers, chosen) <= 1 + _OVER
        return np.asarray(np.where(room & np.isfinite(value), value, -np.inf))

    def _choice(self, numbers: tuple[int, ...], chosen: FloatArray) -> Choice:
        choice = self.order.unchanged
        for number, at in zip(numbers, chosen, strict=True):
            choice = changed(choice, number, self.order.amounts[number][int(at)])
        return choice

    def _first_that_fit(self, choices: Sequence[Choice], sets: int) -> list[Choice]:
        """Of choices, the best first, those that the window holds, of so many sets."""
        new = [choice for choice in choices if choice not in self._surface.run][: 6 * sets]
        taken: dict[tuple[int, ...], int] = {}
        fitting = []
        for choice, filled in zip(new, self.order.fill(new), strict=True):
            key = made(choice)
            if filled > 1.0 or (key not in taken and len(taken) == sets) or taken.get(key, 0) == RUN_OF_A_SET:
                continue
            taken[key] = taken.get(key, 0) + 1
            fitting.append(choice)
        return fitting
