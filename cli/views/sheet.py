"""The view of ``plan``: the bench sheet."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from ...compare.plan import PlannedTest
from ...predict.circuit import beyond_search
from ...predict.design import Design
from ...predict.quantity import format_quantity
from ..documents import plan_document, shared_records
from ..documents.record import ABSENT, as_object, record_of
from . import words
from .apart import apart_json
from .budgets import budget_json, budget_line, budget_table
from .page import Heading, Paragraph, Part
from .proposed_limits import proposal_json


def plan_json(design: Design, tests: Sequence[PlannedTest], *, proposed: bool = False) -> dict[str, Any]:
    """The bench sheet as data.

    Parameters
    ----------
    design : Design
    tests : Sequence[PlannedTest], every test as planned
    proposed : bool, optional, whether limits are proposed
    """
    return as_object(
        plan_document.PlanDocument(
            design=design.title,
            tests=[
                record_of(
                    plan_document.PlanTest,
                    test,
                    unit=words.unit_of(test.measure),
                    expected=words.json_number(test.expected, test.measure),
                    low=words.json_number(test.low, test.measure),
                    high=words.json_number(test.high, test.measure),
                    builds_apart=apart_json(test.apart, index, test.measure),
                    budget=budget_json(test.budget),
                    window=None if test.window is None else record_of(plan_document.Window, test.window),
                    limits=shared_records.Limits(min=test.minimum, max=test.maximum),
                    proposed=proposal_json(test) if proposed else ABSENT,
                )
                for index, test in enumerate(tests)
            ],
            cautions=[*words.design_cautions(design), *_unfound(tests), words.SAFETY],
        )
    )


def plan_view(design: Design, tests: Sequence[PlannedTest], *, budgets: bool = False) -> Iterator[Part]:
    """The bench sheet: one block for each test, then a table to fill in.

    Parameters
    ----------
    design : Design
    tests : Sequence[PlannedTest], every test as planned
    budgets : bool, optional, whether every component of the bench's uncertainty is listed in a table
    """
    yield f"Bench sheet: {design.title}"
    for test in tests:
        yield Heading(f"{test.name}: {test.measure.replace('_', ' ')}")
        yield Paragraph(test.connections)
        yield Paragraph(f"Set {words.set_up(test)}. " + " ".join(test.corrections))
        expected = words.uncertain(test.expected, test.measurement_uncertainty, test.measure)
        span = words.span(test.low, test.high, test.measure)
        bench = "" if beyond_search(test.measure, test.expected) else " (± is the bench, k = 2)"
        yield Paragraph(f"Expect {expected}{bench}; 95 % of production: {span}.")
        if bench and budgets:
            yield from budget_table(test.budget, test.expected, test.measure)
        elif bench:
            yield Paragraph(budget_line(test.budget, test.expected, test.measure))
        holds = window_line(test)
        if holds:
            yield Paragraph(holds)
        text = words.limits(test.minimum, test.maximum, test.measure)
        if text:
            yield f"Limits {text}."
        for note in test.notes:
            yield Paragraph(note)
        for warning in test.warnings:
            yield words.caution(warning)
    yield Heading("To fill in")
    rows = [
        [
            test.name,
            words.quantity_text(test.expected, test.measure),
            words.limits(test.minimum, test.maximum, test.measure),
            "",
            "",
        ]
        for test in tests
    ]
    yield words.table(["test", "expected", "limits", "read", "temperature"], rows, right=(1,))
    yield "'aswound plan DESIGN --csv' prints an empty readings file, 'aswound enter DESIGN' fills it in."
    yield from words.cautions(*words.design_cautions(design), *_unfound(tests))


def window_line(test: PlannedTest) -> str:
    """The frequencies at which an inductance reading holds within 1 %."""
    window = test.window
    if window is None or (window.lowest is None and window.highest is None):
        return ""
    low = None if window.lowest is None else format_quantity(window.lowest, "Hz", 2)
    high = None if window.highest is None else format_quantity(window.highest, "Hz", 2)
    if window.empty:
        return (
            f"No frequency reads this within 1 %: the short is effective from {low} on, and capacitance "
            f"counts from {high} on."
        )
    if low and high:
        return f"Holds within 1 % from {low} (short effective) to {high} (capacitance)."
    return f"Holds within 1 % up to {high} (capacitance)." if high else f"Holds within 1 % from {low} on."


def _unfound(tests: Sequence[PlannedTest]) -> tuple[str, ...]:
    return words.resonance_cautions((test.name, test.measure, test.expected) for test in tests)
