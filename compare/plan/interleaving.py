"""All arrangements of a design side by side: what each reads, which are best, what each gains and costs."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from ...predict.design import Design, FloatArray
from ...predict.interleave import (
    Arrangement,
    Arrangements,
    Predictions,
    Questions,
    Rules,
    find_arrangements,
    predict_arrangements,
)
from ...predict.production import ProductionSpread, spread
from .trade_offs import change_words, count_words, pareto_set, spread_out, trade_off

Progress = Callable[[str, int, int], None]


@dataclass(frozen=True, kw_only=True)
class Comparison:
    """Arrangements in the order of their numbers (from 1), with what they read.

    Attributes
    ----------
    design : Design
        The transformer.
    rules : Rules
        Rules of the search.
    questions : Questions
        What is asked of each arrangement.
    search : Arrangements
        Result of the search.
    arrangements : tuple[Arrangement, ...]
        The arrangements.
    predictions : Predictions
        Their predictions.
    best : tuple[bool, ...]
        (A,) whether each is in the Pareto set.
    shown : tuple[int, ...]
        Arrangements to list, index.
    spreads : dict[int, ProductionSpread]
        Spread of production of those shown, by index.
    alike : dict[int, tuple[int, ...]]
        By index of those shown, indices of further best ones that read the same within production's spread.
    """

    design: Design
    rules: Rules
    questions: Questions
    search: Arrangements
    arrangements: tuple[Arrangement, ...]
    predictions: Predictions
    best: tuple[bool, ...]
    shown: tuple[int, ...]
    spreads: dict[int, ProductionSpread]
    alike: dict[int, tuple[int, ...]]

    @property
    def present(self) -> int:
        """Index of the design's own arrangement."""
        return next(index for index, arrangement in enumerate(self.arrangements) if arrangement.present)


@dataclass(frozen=True, kw_only=True)
class Detail:
    """How much to show.

    Attributes
    ----------
    rows : int
        Arrangements to show, count.
    every : bool
        Whether they are taken from all, not only from the best.
    builds : int
        Random builds for the spread of those shown, count; 0 for none.
    resonances : bool
        Whether resonances are found for all arrangements; if False only for those shown, NaN for the others
        (no figure of the Pareto set depends on them).
    """

    rows: int
    every: bool
    builds: int
    resonances: bool = True


def comparison(
    design: Design, rules: Rules, questions: Questions, detail: Detail, *, progress: Progress | None = None
) -> Comparison:
    """All arrangements, predicted, sorted and weighed.

    Parameters
    ----------
    design : Design
        The transformer.
    rules : Rules
        Rules of the search.
    questions : Questions
        What is asked of each arrangement.
    detail : Detail
        How much to show.
    progress : Progress or None, optional
        Is told how much is done.
    """
    rows, every, builds, resonances = detail.rows, detail.every, detail.builds, detail.resonances

    def tell(what: str) -> Callable[[int, int], None] | None:
        return None if progress is None else lambda done, whole: progress(what, done, whole)

    search = find_arrangements(design, rules, progress=tell("Windable arrangements"))
    predictions = predict_arrangements(
        search.arrangements, questions, resonance=resonances, progress=tell("Readings")
    )
    figures = figures_of(search.arrangements, predictions)
    best = pareto_set(figures)
    leakage = np.where(np.isfinite(figures[:, 0]), figures[:, 0], np.inf)
    order = np.lexsort((np.arange(len(best)), leakage, ~best))
    arrangements = tuple(search.arrangements[k] for k in order)
    predictions = _sorted(predictions, order)
    figures, best = figures[order], best[order]
    present = next(index for index, arrangement in enumerate(arrangements) if arrangement.present)
    spreads = {}
    if builds and np.all(np.isfinite(figures[present])):
        spreads[present] = _spread_of(arrangements[present], questions, builds)
    pool = list(range(len(best))) if every else [int(k) for k in np.flatnonzero(best)]
    alike: dict[int, tuple[int, ...]] = {}
    if not every:
        alike = alike_within(
            figures, pool, present, _reach(spreads.get(present), questions, figures.shape[1])
        )
        pool = sorted(alike)
    shown = pool[:rows] if every else [pool[k] for k in spread_out(figures[pool], rows)]
    shown = sorted({*shown, present})
    if not resonances:
        resonance_of_shown = [
            predict_arrangements([arrangements[index]], questions).resonance[0] for index in shown
        ]
        predictions.resonance[shown] = resonance_of_shown
    for done, index in enumerate(shown if builds else []):
        if progress is not None:
            progress("Production spread", done, len(shown))
        if index != present and np.all(np.isfinite(figures[index])):
            spreads[index] = _spread_of(arrangements[index], questions, builds)
    return Comparison(
        design=design,
        rules=rules,
        questions=questions,
        search=search,
        arrangements=arrangements,
        predictions=predictions,
        best=tuple(bool(value) for value in best),
        shown=tuple(shown),
        spreads={index: spreads[index] for index in shown if index in spreads},
        alike={index: alike[index] for index in shown if alike.get(index)},
    )


def _spread_of(arrangement: Arrangement, questions: Questions, builds: int) -> ProductionSpread:
    tests = tuple(test for test in questions.tests if test.measure != "resonance")
    return spread(replace(arrangement.design, tests=tests), max(builds, 20), shares=False)


def _reach(production: ProductionSpread | None, questions: Questions, columns: int) -> FloatArray:
    """Lowest and highest fraction of its own figure that a part reads, (m, 2), 95 % of production.

    1 if no random builds were asked for, and for the joints. Columns as in ``figures_of``.
    """
    reach = np.ones((columns, 2))
    if production is not None:
        first = len(questions.leakage)
        tests = [0, first, first + 1][: columns - 1]
        for column, test in enumerate(tests):
            nominal = float(production.nominal[test])
            reach[column] = float(production.low[test]) / nominal, float(production.high[test]) / nominal
    return reach


def alike_within(
    figures: FloatArray, pool: list[int], first: int, reach: FloatArray
) -> dict[int, tuple[int, ...]]:
    """Alternatives that read alike, by the one that represents them.

    The representative is the one with the smallest count, then the earliest; ``first`` takes precedence.
    Alternatives are alike if all figures except the count lie within ``reach`` of the representative's.

    Parameters
    ----------
    figures : (A, m) array, figures of the alternatives, SI, the last of them a count
    pool : list[int], alternatives that are considered, index
    first : int, alternative that takes precedence, index
    reach : (m, 2) array, lowest and highest fraction of the representative's figure, dimensionless

    Returns
    -------
    dict[int, tuple[int, ...]], index of the representative → indices of the others
    """
    order = sorted(pool, key=lambda index: (index != first, figures[index, -1], index))
    groups: dict[int, list[int]] = {}
    for index in order:
        for group in groups:
            ratio = figures[index, :-1] / np.maximum(figures[group, :-1], 1e-300)
            low, high = reach[:-1, 0] * (1 - 1e-6), reach[:-1, 1] * (1 + 1e-6)
            if np.all((ratio >= low) & (ratio <= high)):
                groups[group].append(index)
                break
        else:
            groups[index] = []
    return {index: tuple(sorted(others)) for index, others in groups.items()}


def figures_of(arrangements: tuple[Arrangement, ...], predictions: Predictions) -> FloatArray:
    """Figures of which smaller is better: leakage, resistance, capacitance, joints.

    A leakage below zero was read above a resonance, where it says nothing about the coupling: it becomes
    NaN, so that it is no trade-off.

    Parameters
    ----------
    arrangements : tuple[Arrangement, ...]
        The arrangements.
    predictions : Predictions
        Their predictions.

    Returns
    -------
    (A, m) array
        Figures, SI; the last column is a count.
    """
    joints = np.array([arrangement.joints for arrangement in arrangements], float)
    leakage = predictions.leakage[:, 0]
    columns = [np.where(leakage >= 0.0, leakage, np.nan), predictions.resistance]
    if predictions.capacitance.shape[1]:
        columns.append(predictions.capacitance[:, 0])
    return np.stack([*columns, joints], axis=1)


def _sorted(predictions: Predictions, order: np.ndarray[Any, Any]) -> Predictions:
    new_index = {int(old): new for new, old in enumerate(order)}
    return Predictions(
        leakage=predictions.leakage[order],
        resistance=predictions.resistance[order],
        capacitance=predictions.capacitance[order],
        resonance=predictions.resonance[order],
        wire_length=predictions.wire_length[order],
        refused=tuple(sorted((new_index[k], reason) for k, reason in predictions.refused)),
    )


def against_present(result: Comparison, index: int) -> str:
    """What an arrangement gains and costs relative to the present one.

    Parameters
    ----------
    result : Comparison
        The comparison.
    index : int
        Index of the arrangement.
    """
    now, predictions = result.present, result.predictions
    changes = [
        change_words("leakage", predictions.leakage[now, 0], predictions.leakage[index, 0]),
        change_words("AC resistance", predictions.resistance[now], predictions.resistance[index]),
    ]
    if predictions.capacitance.shape[1]:
        changes.append(
            change_words("capacitance", predictions.capacitance[now, 0], predictions.capacitance[index, 0])
        )
    arrangement, before = result.arrangements[index], result.arrangements[now]
    changes.append(count_words("joint", before.joints, arrangement.joints))
    changes.append(count_words("shield", len(before.design.shields), len(arrangement.design.shields)))
    changes.append(count_words("insulated face", len(before.faces), len(arrangement.faces)))
    return trade_off(changes)
