"""One thing that a shop can change of a design, the amounts that it may take, and whether they fit."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from ..design import Design, Step
from ..errors import BuildError
from ..winding import check_fit, place_of, separations, shortfalls, winding_space


@dataclass(frozen=True, kw_only=True)
class Adjustment:
    """One thing that can be changed.

    Attributes
    ----------
    kind : str, "wraps", "spacer", "breadth", "chambers", "partition" or "in_hand"
    where : str, circuits, windings or part that it changes
    amounts : tuple of float
        What may be added, rising, m or count; for "chambers" what is moved to the upper one, negative to the
        lower one.
    change : callable (Design, float) to Design
        A design with an amount added; an amount of 0 leaves all readings as they are.
    told : callable Design to str, what is built in a design that has the change, in words
    design : Design, design whose changes these are
    """

    kind: str
    where: str
    amounts: tuple[float, ...]
    change: Callable[[Design, float], Design]
    told: Callable[[Design], str]
    design: Design

    def words(self, amount: float) -> str:
        """What is built with this change alone, in words.

        Parameters
        ----------
        amount : float, one of the amounts, m or count

        Returns
        -------
        str, for example "5 wraps of tape 0.06 mm between P and S"
        """
        return self.told(self.change(self.design, amount))

    def fitting(self, design: Design) -> tuple[float, ...]:
        """The amounts with which a design still fits its window.

        They are found by bisection: where one amount fits, so do the smaller ones.

        Parameters
        ----------
        design : Design of one build

        Returns
        -------
        tuple of float, amounts that fit, rising, m or count
        """
        below = tuple(amount for amount in reversed(self.amounts) if amount < 0)
        above = tuple(amount for amount in self.amounts if amount >= 0)
        return tuple(sorted((*self._first_that_fit(design, below), *self._first_that_fit(design, above))))

    def _first_that_fit(self, design: Design, amounts: tuple[float, ...]) -> tuple[float, ...]:
        if not amounts or change_fits(self.change(design, amounts[-1]), design):
            return amounts
        low, high = 0, len(amounts) - 1
        while low < high:
            middle = (low + high + 1) // 2
            if change_fits(self.change(design, amounts[middle - 1]), design):
                low = middle
            else:
                high = middle - 1
        return amounts[:low]


def change_fits(design: Design, before: Design) -> bool:
    """Whether a changed design fits its window and its layers their breadths, and keeps the creepage over the
    top of its partitions, where the file gives their height.

    Parameters
    ----------
    design : Design, changed design of one build
    before : Design, the design without the change
    """
    try:
        check_fit(design)
    except BuildError:
        return False
    if design.bobbin.partition_height is None:
        return True
    was, now = separations(before), separations(design)
    return not any(shortfalls(was[pair], now[pair]) for pair in was.keys() & now)


def multiples(most: float, step: float) -> tuple[float, ...]:
    """Whole multiples of a step.

    Parameters
    ----------
    most, step : float, largest and step, m

    Returns
    -------
    tuple of float, rising, from the step itself, m
    """
    return tuple(round(step * k, 9) for k in range(1, int(most / step + 1e-9) + 1))


def with_steps(design: Design, steps: Sequence[Step]) -> Design:
    """A design with other build steps.

    Parameters
    ----------
    design : Design
    steps : sequence of Step
    """
    return replace(design, build=replace(design.build, steps=tuple(steps)))


def room_of(design: Design, step: Step) -> float:
    """Breadth of the place where a step lies, between the flanges or the walls of its chamber.

    Parameters
    ----------
    design : Design of one build
    step : Step

    Returns
    -------
    float, m
    """
    return winding_space(design).bay(place_of(step)).breadth
