"""The view of ``lot``: one table of all tests, then what is remarkable about each."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

from ...compare.lots import NOT_NORMAL, Lot, LotTest, TwoLots
from ...compare.verdict import DEVIATES
from ...predict.design import Design
from ...predict.quantity import format_change, format_percent
from ..documents import lot_document, shared_records
from ..documents.record import as_object, record_of
from . import words
from .page import Heading, Paragraph, Part
from .together import shared_json, shared_view, together_json

FEW = 10
"""Parts below which the page says how little a capability index from so few parts means."""
CAPABLE = 1.33
"""The capability index that is commonly asked for (common practice)."""
_NAMED = 8

HOW = (
    "Cpk is the index of the parts as read; the true one is, with 95 % confidence, at least the bound behind "
    "≥. The tolerance interval holds 95 % of such parts with 95 % confidence, if the lot is normal. The mean "
    "is compared with the prediction of a single part: what all parts share (core, material, model, meter, "
    "link) does not average out."
)


def lot_json(lot: Lot) -> dict[str, Any]:
    """The contract's object of ``lot --json``."""
    return as_object(
        lot_document.LotDocument(
            samples=lot.samples,
            ordered_by=lot.ordered_by,
            tests=[_test_json(test) for test in lot.tests],
            shared_cause=shared_json(lot.together),
            together=None if lot.together is None else together_json(lot.together),
        )
    )


def _finite(value: float | None) -> float | None:
    return value if value is not None and math.isfinite(value) else None


def _test_json(test: LotTest) -> lot_document.LotTestRecord:
    drift, batches = test.drift, test.batches
    return record_of(
        lot_document.LotTestRecord,
        test,
        process_standard_deviation=test.process_deviation,
        predicted=words.json_number(test.predicted, test.measure),
        predicted_low=words.json_number(test.predicted_low, test.measure),
        predicted_high=words.json_number(test.predicted_high, test.measure),
        deviation=_finite(test.deviation),
        limits=shared_records.Limits(min=test.minimum, max=test.maximum),
        cpk=_finite(test.cpk),
        cpk_lower=_finite(test.cpk_lower),
        normality_p=test.normality,
        drift_per_part=None if drift is None else drift.slope,
        drift_p=None if drift is None else drift.p,
        excluded=[record_of(lot_document.Excluded, item) for item in test.left_out],
        within_batches=None if batches is None else batches.within,
        between_batches=None if batches is None else batches.between,
        batches_p=None if batches is None else batches.p,
    )


def lot_view(
    design: Design, lot: Lot, rule: str = "", cautions: Sequence[str] = (), *, marks: bool = True
) -> Iterator[Part]:
    """The verdict in one sentence, the table, remarks by test.

    Parameters
    ----------
    design : Design
    lot : Lot, statistics of the lot
    rule : str, optional, how limits decided
    cautions : Sequence[str], optional, what to know of the readings
    marks : bool, optional, whether tests that fail a limit or deviate are marked
    """
    yield design.title or "(no title)"
    yield Heading(_sentence(lot))
    rows = [_row(test) for test in lot.tests]
    for row, test in zip(rows, lot.tests, strict=True):
        if marks:
            row[0] = words.marked(test.name, fails=test.fails > 0, deviates=abs(test.score) > DEVIATES)
    yield words.table(
        ["test", "n", "mean", "s", "expected", "off by", "Cpk", "out"], rows, right=(1, 2, 3, 4, 5, 7)
    )
    yield from _left_out(lot)
    remarks = [(test, remark) for test in lot.tests for remark in _remarks(lot, test)]
    for test, remark in remarks:
        yield Paragraph(f"{test.name}: {remark}", "  ", "! ")
    yield from shared_view(lot.together)
    yield Heading("95 % of such parts")
    yield words.table(["test", "from", "to", "limits"], [_interval(test) for test in lot.tests], right=(1, 2))
    yield Heading("How to read this")
    yield Paragraph(f"{f'{words.MARKS} ' if marks else ''}{HOW} {rule}".rstrip())
    if any(test.cpk is not None and test.n < FEW for test in lot.tests):
        worked = next(test for test in lot.tests if test.cpk is not None and test.n < FEW)
        yield Paragraph(
            f"With {worked.n} parts an index says little: {worked.name} shows {_index(worked.cpk)}, which "
            f"proves only ≥ {_index(worked.cpk_lower)}."
        )
    yield from words.cautions(*design.cautions, *cautions)


def _left_out(lot: Lot) -> Iterator[Part]:
    """Which readings are in no mean, interval or capability, and why."""
    for item in lot.left_out:
        what = f"{item.test} of {item.sample}" if item.test else f"{item.sample}, all readings"
        yield words.caution(f"Left out of mean, interval and Cpk: {what} ({item.why}).")
    apart = 0 if lot.together is None else len(lot.together.apart)
    if apart and not any(not item.test for item in lot.left_out) and 2 * apart > lot.samples:
        yield words.caution(
            f"{apart} of {lot.samples} samples have a fault of their own. They are no lot, so none is left "
            "out: mean, interval and Cpk say little."
        )


def two_lots_json(both: TwoLots, names: tuple[str, str]) -> dict[str, Any]:
    """The fields that ``lot --json`` has in addition if two files are compared.

    Parameters
    ----------
    both : TwoLots, both lots and what differs
    names : tuple[str, str], names of the two files
    """
    return {
        "lots": [
            {"file": name, **lot_json(lot)}
            for name, lot in zip(names, (both.first, both.second), strict=True)
        ],
        "differences": [record_of(lot_document.Difference, item) for item in both.differences],
        "difference_cause": None if both.cause is None else together_json(both.cause),
    }


def two_lots_view(design: Design, both: TwoLots, names: tuple[str, str]) -> Iterator[Part]:
    """What differs between two lots, and the likely cause; each lot has a page of its own.

    Parameters
    ----------
    design : Design
    both : TwoLots, both lots and what differs
    names : tuple[str, str], names of the two files
    """
    yield design.title or "(no title)"
    differing = [item for item in both.differences if item.differs]
    text = f"A {names[0]} ({both.first.samples} samples), B {names[1]} ({both.second.samples})"
    if not differing:
        yield Heading(f"{text}: no difference that the scatter does not explain")
    else:
        yield Heading(f"{text}: they differ in {', '.join(item.name for item in differing)}")
    rows = []
    for item in both.differences:
        shift = (
            words.quantity_text(item.difference, "phase", 3)
            if item.relative is None
            else f"{'+' if item.relative >= 0 else ''}{format_percent(item.relative, 2)}"
        )
        rows.append(
            [
                "*" if item.differs else "",
                item.name,
                words.quantity_text(item.first.mean, item.measure),
                words.width(item.first.standard_deviation, item.measure),
                words.quantity_text(item.second.mean, item.measure),
                words.width(item.second.standard_deviation, item.measure),
                shift,
                "-" if item.p is None else "< 0.0001" if item.p < 1e-4 else f"{item.p:.2g}",
            ]
        )
    yield words.table(
        ["", "test", "mean A", "s of A", "mean B", "s of B", "B over A", "p"], rows, right=(2, 3, 4, 5, 6, 7)
    )
    for name, lot in (("A", both.first), ("B", both.second)):
        for gone in lot.left_out:
            what = f"{gone.test} of {gone.sample}" if gone.test else f"{gone.sample}, all readings"
            yield words.caution(f"Left out of {name}: {what} ({gone.why}).")
    if differing and both.cause is not None:
        yield Heading("What B has that A has not")
        causes = both.cause.shared
        if not causes:
            yield Paragraph(
                "No cause of the catalogue, shared by all of B, explains it better than normal scatter "
                "between lots of material."
            )
        for cause in causes[:3]:
            yield Paragraph(f"{words.per_cent(cause.probability)}: {cause.title}.", "  ", "")
        if causes:
            yield Paragraph(causes[0].confirm, "         ", "Confirm: ")
    yield Heading("How to read this")
    yield Paragraph(
        "*: differs; p is the chance of so large a difference between lots that are alike (Welch's t), "
        "held against 1 % over the number of tests. What both lots share (model, meter, link) cancels. Each "
        "lot by itself: lot DESIGN FILE."
    )
    yield from words.cautions()


def _sentence(lot: Lot) -> str:
    fails = [test.name for test in lot.tests if test.fails]
    off = [test.name for test in lot.tests if abs(test.score) > DEVIATES]
    strange = () if lot.together is None else tuple(item.sample for item in lot.together.apart)
    odd = sorted({*strange, *(name for test in lot.tests for name in test.outliers)})
    shared = () if lot.together is None else lot.together.shared
    text = f"{lot.samples} samples"
    if not lot.tests:
        return f"{text}: no verdict, since no reading is usable"
    told = []
    if fails:
        told.append(f"limits failed in {', '.join(fails)}")
    if off:
        told.append(f"the lot as a whole deviates in {', '.join(off)}")
    if odd:
        told.append(f"outliers: {_names(odd)}")
    if shared and shared[0].probability >= 0.5:
        told.append(f"all share: {shared[0].title}")
    elif lot.together is not None and lot.together.diagnosis.deviates:
        told.append("they share a cause")
    if told:
        return f"{text}: {'; '.join(told)}"
    judged = any(test.minimum is not None or test.maximum is not None for test in lot.tests)
    return f"{text}: {'within limits and ' if judged else ''}as designed on average"


def _names(names: list[str] | tuple[str, ...]) -> str:
    shown = ", ".join(names[:_NAMED])
    return shown if len(names) <= _NAMED else f"{shown} and {len(names) - _NAMED} more"


def _index(value: float | None) -> str:
    return "-" if value is None else "∞" if math.isinf(value) else f"{value:.2f}"


def _row(test: LotTest) -> list[str]:
    index = "" if test.cpk is None else f"{_index(test.cpk)} (≥ {_index(test.cpk_lower)})"
    off = (
        words.quantity_text(test.deviation, "phase", 3)
        if test.measure == "phase"
        else format_change(test.deviation)
    )
    return [
        test.name,
        str(test.n),
        words.quantity_text(test.mean, test.measure, _digits(test)),
        words.width(test.standard_deviation, test.measure),
        words.uncertain(
            test.predicted, test.predicted_uncertainty, test.measure, test.predicted_low, test.predicted_high
        ),
        off,
        index,
        f"{test.outside}" if words.limits(test.minimum, test.maximum, test.measure) else "-",
    ]


def _digits(test: LotTest) -> int:
    """Digits of a mean: four, and as many as its standard deviation shows."""
    if not (test.standard_deviation > 0 and abs(test.mean) > 0):
        return 4
    return max(
        4, 2 + math.floor(math.log10(abs(test.mean))) - math.floor(math.log10(test.standard_deviation))
    )


def _interval(test: LotTest) -> list[str]:
    low, high = test.tolerance_low, test.tolerance_high
    digits = 3
    if low is not None and high is not None and math.isfinite(high - low) and high > low:
        digits = max(3, 2 + math.ceil(math.log10(max(abs(low), abs(high)) / (high - low))))
    return [
        test.name,
        words.quantity_text(low, test.measure, digits),
        words.quantity_text(high, test.measure, digits),
        words.limits(test.minimum, test.maximum, test.measure),
    ]


def _remarks(lot: Lot, test: LotTest) -> Iterator[str]:
    if abs(test.score) > DEVIATES:
        spread = "and scatters little: one cause for all of them" if _tight(test) else "and scatters as well"
        yield (
            f"the mean is off by {words.score(test.score)} standard uncertainties {spread} (material lot, "
            "drawing or bench rather than workmanship)."
        )
    said = {item.sample for item in lot.left_out if item.test in ("", test.name)}
    odd = [name for name in test.outliers if name not in said]
    if odd:
        yield (f"{_names(odd)} outside what this lot scatters: workmanship of single parts, or a slip.")
    if test.cpk is not None and test.cpk_lower is not None and test.cpk_lower < CAPABLE <= test.cpk:
        yield f"Cpk of {CAPABLE} is not shown by {test.n} parts: at least {_index(test.cpk_lower)}."
    elif test.cpk is not None and test.cpk < 1:
        yield "Cpk below 1: some of such parts will fall outside the limits."
    if test.drift is not None and test.drift.p < NOT_NORMAL:
        per = words.width(test.drift.slope, test.measure)
        yield f"drifts by {per} per part along the {lot.ordered_by} (p = {test.drift.p:.1g})."
    if test.normality is not None and test.normality < NOT_NORMAL:
        yield (
            f"not normal (p = {test.normality:.1g}): index and interval, which suppose it, are rough; look "
            "for two populations or outliers."
        )
    batches = test.batches
    if batches is not None and batches.p < NOT_NORMAL:
        between = words.width(batches.between, test.measure)
        within = words.width(batches.within, test.measure)
        chance = f"(p = {batches.p:.1g})"
        yield f"batches differ: standard deviation {between} between, {within} within them {chance}."
    if test.n > 1 and test.standard_deviation == 0:
        yield (
            f"all {test.n} parts read the same: what they scatter is hidden by the display's last digit, so "
            "that neither an index nor an interval can be given. Read with more digits."
        )
    elif test.process_deviation < 0.5 * test.standard_deviation:
        yield "most of the scatter is that of reading, not of the parts."


def _tight(test: LotTest) -> bool:
    return test.standard_deviation < 0.5 * test.predicted_uncertainty
