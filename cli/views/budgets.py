"""What a bench adds to readings: one line or a whole table of the components of their uncertainty."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ...compare.meter import Budget
from ...predict.quantity import format_percent
from ..documents import shared_records
from . import words
from .page import Part

MENTIONED = 0.04
"""Share of the variance from which a component is mentioned: a fifth of the combined uncertainty."""


def size(standard: float, expected: float, measure: str) -> str:
    """An uncertainty as people write it: in per cent of the reading; a phase in degrees.

    Parameters
    ----------
    standard : float, standard uncertainty (k = 1), SI
    expected : float, reading to expect, SI
    measure : str, what the test measures
    """
    if measure == "phase" or expected == 0:
        return words.width(2 * standard, measure)
    share = 2 * standard / abs(expected)
    return format_percent(share, 2 if share < 0.1 else 0)


def budget_json(budget: Budget) -> list[shared_records.BudgetPart]:
    """The components of one reading, largest first; standard uncertainties, SI."""
    return [
        shared_records.BudgetPart(component=part.name, standard_uncertainty=part.standard_uncertainty)
        for part in budget.components
    ]


def budget_line(budget: Budget, expected: float, measure: str) -> str:
    """What the bench's uncertainty is made of, in one line: components from ``MENTIONED`` on.

    Parameters
    ----------
    budget : Budget, budget of one reading
    expected : float, reading to expect, SI
    measure : str, what the test measures
    """
    if not budget.components:
        return "The bench as described adds no uncertainty."
    parts = [part for part in budget.components if budget.share(part) >= MENTIONED]
    named = ", ".join(f"{part.name} {size(part.standard_uncertainty, expected, measure)}" for part in parts)
    return f"The bench's ± is {size(budget.combined, expected, measure)}: {named}."


def budget_table(budget: Budget, expected: float, measure: str) -> Iterator[Part]:
    """Every component of one reading: at k = 2 in its unit and of the reading, and its share of the variance.

    Parameters
    ----------
    budget : Budget, budget of one reading
    expected : float, reading to expect, SI
    measure : str, what the test measures
    """
    if not budget.components:
        yield "The bench as described adds no uncertainty."
        return
    rows = [
        [
            part.name,
            words.width(2 * part.standard_uncertainty, measure),
            size(part.standard_uncertainty, expected, measure),
            words.per_cent(budget.share(part)),
        ]
        for part in budget.components
    ]
    total = [
        "together",
        words.width(2 * budget.combined, measure),
        size(budget.combined, expected, measure),
        "",
    ]
    columns = ["component of the bench's ±", "k = 2", "of it", "of the variance"]
    yield words.table(columns, [*rows, total], right=(1, 2, 3))


def budgets_table(rows: Sequence[tuple[str, str, float, Budget]]) -> Part:
    """One line a test, from (name, measure, expected, budget): how much, and what most of it is."""
    shown = []
    for name, measure, expected, budget in rows:
        parts = [part for part in budget.components if budget.share(part) >= MENTIONED][:3]
        shares = ", ".join(f"{part.name} {100 * budget.share(part):.0f} %" for part in parts)
        shown.append([name, size(budget.combined, expected, measure), shares or "nothing"])
    return words.table(["test", "± (k = 2)", "share of the variance"], shown, right=(1,))
