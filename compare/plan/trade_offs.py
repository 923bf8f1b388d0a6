"""Which alternatives are worth a look: the Pareto set of several figures, of which smaller is better.

One alternative dominates another if it is no worse in any figure and better in at least one. The set that
nothing dominates holds every best compromise; for each one left out there is a better one in every
respect.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from ...predict.design import FloatArray

_SAME = 1e-6
"""Figures that differ by less than this (relative) count as equal (judged by what a reader can take in; no
verdict depends on it)."""


def pareto_set(figures: FloatArray) -> NDArray[np.bool_]:
    """Which of A alternatives no other one dominates.

    One with a missing figure (NaN) is never in the set. Equal ones stay together.

    Parameters
    ----------
    figures : (A, m) array, figures, positive or zero, SI
    """
    usable = np.all(np.isfinite(figures), axis=1)
    best: NDArray[np.bool_] = usable.copy()
    for k in np.flatnonzero(usable):
        slack = _SAME * np.abs(figures[k])
        no_worse = np.all(figures[usable] <= figures[k] + slack, axis=1)
        better = np.any(figures[usable] < figures[k] - slack, axis=1)
        best[k] = not np.any(no_worse & better)
    return best


def spread_out(figures: FloatArray, number: int) -> list[int]:
    """A few alternatives that show the whole range of their figures.

    The best in each figure, then always the one furthest (in ratios) from those chosen.

    Parameters
    ----------
    figures : (A, m) array, figures, SI
    number : int, most alternatives, count

    Returns
    -------
    list[int], indices of the alternatives, rising
    """
    if len(figures) <= number:
        return list(range(len(figures)))
    logs = np.log(np.maximum(figures, 0.0) + 1e-3 * np.maximum(np.mean(figures, axis=0), 1e-300))
    span = np.ptp(logs, axis=0)
    logs = logs / np.where(span > 0, span, 1.0)
    chosen = list(dict.fromkeys(int(row_index) for row_index in np.argmin(figures, axis=0)))[:number]
    nearest = np.min([np.sum((logs - logs[k]) ** 2, axis=1) for k in chosen], axis=0)
    while len(chosen) < number:
        chosen.append(int(np.argmax(nearest)))
        nearest = np.minimum(nearest, np.sum((logs - logs[chosen[-1]]) ** 2, axis=1))
    return sorted(chosen)


def change_words(name: str, before: float, after: float) -> tuple[float, str]:
    """A change in words: "halves leakage", "+85 % capacitance".

    Parameters
    ----------
    name : str, what changes
    before, after : float, figure before and after, SI

    Returns
    -------
    float, logarithm of after ÷ before, dimensionless; 0 for less than half a per cent
    str, the words; "" for less than half a per cent
    """
    if not (before > 0 and after > 0):
        return 0.0, ""
    ratio = after / before
    if abs(ratio - 1) < 0.005:
        return 0.0, ""
    for value, words in ((0.25, "quarters {}"), (1 / 3, "cuts {} to a third"), (0.5, "halves {}")):
        if abs(ratio / value - 1) < 0.04:
            return float(np.log(ratio)), words.format(name)
    if ratio >= 10:
        return float(np.log(ratio)), f"{ratio:.0f} times the {name}"
    return float(np.log(ratio)), f"{100 * (ratio - 1):+.0f} % {name}".replace("-", "−")


def count_words(name: str, before: int, after: int) -> tuple[float, str]:
    """A change of a count in words: "one more joint", "2 joints fewer".

    Parameters
    ----------
    name : str, what is counted
    before : int, count before
    after : int, count after

    Returns
    -------
    float, weight of the change, dimensionless; 0 for none
    str, the words; "" for no change
    """
    more = after - before
    if not more:
        return 0.0, ""
    size = "one" if abs(more) == 1 else str(abs(more))
    plural = name if abs(more) == 1 else f"{name}s"
    return 0.1 * more, f"{size} more {plural}" if more > 0 else f"{size} {plural} fewer"


def trade_off(changes: Sequence[tuple[float, str]]) -> str:
    """Gains, then what they cost: "halves leakage for +85 % capacitance and one more joint"."""
    told = sorted((change for change in changes if change[1]), key=lambda change: -abs(change[0]))
    gains = [text for size, text in told if size < 0]
    costs = [text for size, text in told if size > 0]
    if not gains and not costs:
        return "as now"
    if not gains:
        return f"only costs: {_listed(costs)}"
    if not costs:
        return f"{_listed(gains)} at no cost in these figures"
    return f"{_listed(gains)} for {_listed(costs)}"


def _listed(words: Sequence[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
