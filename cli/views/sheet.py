"""The view of ``plan``: the bench sheet."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from ...compare.plan import PlannedTest
from ...predict.design import Design
from ...predict.quantity import format_quantity
from ...predict.resonance import beyond_search
from . import words
from .page import Heading, Paragraph, Part


def plan_json(design: Design, tests: Sequence[PlannedTest]) -> dict[str, Any]:
    """The bench sheet as data."""
    return {
        "design": design.title,
        "tests": [
            {
                "name": test.name,
                "measure": test.measure,
                "unit": words.unit_of(test.measure),
                "connections": test.connections,
                "frequency": test.frequency,
                "level": test.level,
                "equivalent": test.equivalent,
                "corrections": list(test.corrections),
                "expected": words.number(test.expected, test.measure),
                "low": words.number(test.low, test.measure),
                "high": words.number(test.high, test.measure),
                "measurement_uncertainty": test.measurement_uncertainty,
                "limits": {"min": test.minimum, "max": test.maximum},
                "warnings": list(test.warnings),
            }
            for test in tests
        ],
        "cautions": [*design.cautions, *_unfound(tests), words.SAFETY],
    }


def plan_view(design: Design, tests: Sequence[PlannedTest]) -> Iterator[Part]:
    """The bench sheet: one block a test, then a table to fill in."""
    yield f"Bench sheet: {design.title}"
    for caution in (*_unfound(tests), words.SAFETY):
        yield words.caution(caution)
    for test in tests:
        set_up = [test.sweep or words.frequency(test.frequency)]
        if test.level is not None:
            set_up.append(f"{format_quantity(test.level, 'V', 3)} RMS at the terminals")
        if test.equivalent:
            set_up.append(f"{test.equivalent} equivalent")
        yield Heading(f"{test.name}: {test.measure.replace('_', ' ')}")
        yield Paragraph(test.connections)
        yield Paragraph("Set " + ", ".join(set_up) + ". " + " ".join(test.corrections))
        expected = words.uncertain(test.expected, test.measurement_uncertainty, test.measure)
        span = words.span(test.low, test.high, test.measure)
        bench = "" if beyond_search(test.measure, test.expected) else " (± is the bench, k = 2)"
        yield Paragraph(f"Expect {expected}{bench}; 95 % of production: {span}.")
        text = words.limits(test.minimum, test.maximum, test.measure)
        if text:
            yield f"Limits {text}."
        for warning in test.warnings:
            yield words.caution(warning)
    yield Heading("To fill in")
    rows = [
        [
            test.name,
            words.quantity(test.expected, test.measure),
            words.limits(test.minimum, test.maximum, test.measure),
            "",
            "",
        ]
        for test in tests
    ]
    yield words.table(["test", "expected", "limits", "read", "temperature"], rows, right=(1,))
    yield "'aswound plan DESIGN --csv' prints an empty readings file."


def _unfound(tests: Sequence[PlannedTest]) -> tuple[str, ...]:
    return words.resonance_cautions((test.name, test.measure, test.expected) for test in tests)
