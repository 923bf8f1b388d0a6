"""The view of ``plan --limits``: proposed limits, what widens them, and lines for the design file."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterator, Sequence

from ...compare.plan import COVERAGE, PlannedTest, ProposedLimits
from ...predict.design import Design
from ...predict.quantity import format_quantity, format_range
from ..documents import plan_document
from ..documents.record import record_of
from . import words
from .page import Heading, Paragraph, Part


def _limit_text(value: float, limits: ProposedLimits, measure: str) -> str:
    """A proposed limit (SI) as the design file takes it, with the digits of its rounding: 558 µH as "558 uH";
    ``measure`` is what the test measures."""
    shown = math.degrees(value) if measure == "phase" else value
    exponent = math.floor(math.log10(limits.step) + 1e-9)
    if measure == "phase":
        digits = 1 - min(exponent, 0)
    else:
        digits = 1 if shown == 0 else max(math.floor(math.log10(abs(shown)) + 1e-12) - exponent + 1, 1)
    return format_quantity(value, words.unit_of(measure), digits, ascii=True)


def _texts(test: PlannedTest) -> tuple[str, str]:
    """Minimum and maximum as text; empty where none is proposed."""
    limits = test.proposed
    if limits is None:
        return "", ""
    low, high = limits.minimum, limits.maximum
    return (
        "" if low is None else _limit_text(low, limits, test.measure),
        "" if high is None else _limit_text(high, limits, test.measure),
    )


def proposal_json(test: PlannedTest) -> plan_document.Proposed | None:
    """A proposal as data (SI); None where there is none."""
    limits = test.proposed
    if limits is None:
        return None
    given = {"min": limits.minimum, "max": limits.maximum, "driver": limits.driver or None}
    return record_of(plan_document.Proposed, limits, **given)


def limits_csv(tests: Sequence[PlannedTest]) -> str:
    """One line a test: test, min, max, driver, gain (of the half width, if that were halved)."""
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\n")
    writer.writerow(["test", "min", "max", "driver", "gain"])
    for test in tests:
        limits = test.proposed
        driver = ("", "") if limits is None else (limits.driver, f"{limits.gain:.3f}")
        writer.writerow([test.name, *_texts(test), *driver])
    return buffer.getvalue()


def limits_view(design: Design, tests: Sequence[PlannedTest]) -> Iterator[Part]:
    """A table of the proposals, what would narrow each, then lines ready for the design file.

    Parameters
    ----------
    design : Design
    tests : Sequence[PlannedTest], every test as planned
    """
    yield f"Proposed limits: {design.title}"
    yield Paragraph(
        f"Each is the middle of production plus and minus {COVERAGE:.0f} standard deviations of build and "
        "model, plus a guard band of the bench's expanded uncertainty (k = 2), rounded outwards. A "
        "specification may need less or more: these are what a sound part meets on this bench."
    )
    rows = []
    for test in tests:
        limits = test.proposed
        span = format_range(test.low, test.high, words.unit_of(test.measure))
        low, high = _texts(test)
        guard = "" if limits is None else f"{words.quantity_text(limits.guard_band, test.measure, 2)}"
        rows.append([test.name, span, guard, low, high])
    yield words.table(["test", "95 % of production", "guard band", "min", "max"], rows, right=(2, 3, 4))
    yield Heading("What would narrow them")
    for test in tests:
        yield Paragraph(_narrowing(test), "  ")
    yield Heading("For the design file")
    for test in tests:
        low, high = _texts(test)
        if low or high:
            yield f"# {test.name}"
            for key, text in (("min", low), ("max", high)):
                if text:
                    yield f"{key} = {_in_file(text, test.measure)}"
    yield ""
    yield from words.cautions(*words.design_cautions(design))


def _in_file(text: str, measure: str) -> str:
    """The limit as a TOML value: a number where the measure has no unit, else a string."""
    return text if words.unit_of(measure) == "1" else f'"{text}"'


def _narrowing(test: PlannedTest) -> str:
    limits = test.proposed
    if limits is None:
        return f"{test.name}: no finite reading is expected; no limit is proposed."
    if not limits.driver and test.measure == "phase":
        return f"{test.name}: tells the polarity; ±10° is enough for that (common practice)."
    if not limits.driver:
        return f"{test.name}: no known scatter widens it."
    where = "on the bench" if limits.at_bench else "in the model" if _is_model(limits) else "in production"
    return (
        f"{test.name}: {limits.driver} ({where}) widens it most; half of it would narrow the limits by "
        f"{limits.gain * 100:.0f} %."
    )


def _is_model(limits: ProposedLimits) -> bool:
    return limits.driver.startswith("model_")
