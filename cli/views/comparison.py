"""The view of ``compare``: predicted against read, limits, consistency."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

from ...compare.verdict import DEVIATES, RULES, SampleComparison, StageChange, TestComparison
from ...predict.design import Design
from ...predict.quantity import format_change, format_percent, format_quantity
from ..documents import compare_document, shared_records
from ..documents.record import as_object, record_of
from . import words
from .page import Heading, Paragraph, Part
from .undrawn import check_json, derived_json, derived_view

RULE = {
    "three-zone": (
        "Limits by three zones (JCGM 106): pass and fail only where the reading clears the limit by its "
        "expanded uncertainty (k = 2), undecided between."
    ),
    "guarded": (
        "Limits by guarded acceptance (JCGM 106): pass only where the reading lies inside the limit by its "
        "expanded uncertainty (k = 2), else fail. A part that fails this way is not necessarily outside."
    ),
    "simple": (
        "Limits by simple acceptance (JCGM 106): pass up to the limit itself, no guard band. Of parts "
        "that pass right at the limit, one in two does not conform."
    ),
}
SCORE = (
    "Score: difference over both uncertainties together; beyond 2 it does not agree, beyond 3 it deviates."
)


def comparison_json(samples: Sequence[SampleComparison]) -> dict[str, Any]:
    """The contract's object of ``compare --json``."""
    rule = samples[0].rule if samples else "three-zone"
    return as_object(
        compare_document.CompareDocument(
            decision_rule=shared_records.DecisionRule(name=rule, statement=RULES[rule]),
            samples=[
                compare_document.CompareSample(
                    sample=sample.sample,
                    tests=[_test_json(test) for test in sample.tests],
                    checks=[check_json(check) for check in sample.checks],
                    derived=[derived_json(item) for item in sample.derived],
                )
                for sample in samples
            ],
            stages=[
                record_of(compare_document.Stage, change, from_=change.start, to=change.end)
                for sample in samples
                for change in sample.changes
            ],
        )
    )


def _test_json(test: TestComparison) -> compare_document.CompareTest:
    predicted = dict.fromkeys(("predicted", "predicted_uncertainty", "predicted_low", "predicted_high"))
    if test.verdict != "not judged":
        predicted = {key: words.json_number(getattr(test, key), test.measure) for key in predicted}
        predicted["predicted_uncertainty"] = test.predicted_uncertainty
    return record_of(
        compare_document.CompareTest,
        test,
        **predicted,
        read_as_typed=test.as_typed,
        read_at_degC=test.typed_at,
        deviation=words.json_number(test.deviation, ""),
        limits=shared_records.Limits(min=test.minimum, max=test.maximum),
        verdict=None if test.verdict in ("missing", "not judged") else test.verdict,
    )


def _as_typed(sample: SampleComparison) -> Iterator[Part]:
    """Resistances as typed, where they stand brought to another temperature in the table."""
    typed = [
        f"{test.label or test.name} {format_quantity(test.as_typed, 'ohm', 4)} at {test.typed_at:.4g} °C"
        for test in sample.tests
        if test.as_typed is not None and test.typed_at is not None
    ]
    if typed:
        yield Paragraph(f"As typed, before it was brought to the test's temperature: {', '.join(typed)}.")


def comparison_view(design: Design, samples: Sequence[SampleComparison]) -> Iterator[Part]:
    """One block for each sample: the verdict in one sentence, the table, what does not hold.

    Parameters
    ----------
    design : Design
    samples : Sequence[SampleComparison], every sample, compared
    """
    yield design.title or "(no title)"
    for sample in samples:
        yield Heading(comparison_sentence(sample))
        yield comparison_table(sample, marks=True)
        yield from _as_typed(sample)
        broken = [check for check in sample.checks if not check.holds]
        for check in broken:
            score = f" (score {words.score(check.score)})" if check.score is not None else ""
            yield Paragraph(f"{check.check}{score}: {check.detail}.", "  ", "! ")
        held = len(sample.checks) - len(broken)
        if sample.checks:
            yield f"Consistency of the readings with each other: {held} of {len(sample.checks)} checks hold."
        if sample.derived:
            yield "What follows from the readings, without the design:"
            yield from derived_view(sample.derived)
    yield from _stages(samples)
    yield Heading("How to read this")
    yield Paragraph(
        f"{words.MARKS} {SCORE} ± at k = 2, + and − apart where they differ; more: 'aswound guide readings'."
    )
    yield Paragraph(RULE[samples[0].rule if samples else "three-zone"])
    if any(test.verdict == "not judged" for sample in samples for test in sample.tests):
        yield Paragraph(
            "Readings taken before the core is in are listed, not judged: the design describes the "
            "assembled part. Direct-current resistances are judged at every stage."
        )
    expected = [(test.name, test.measure, test.predicted) for test in samples[0].tests] if samples else []
    of_samples = dict.fromkeys(caution for sample in samples for caution in sample.cautions)
    yield from words.readings_end(
        design, *words.design_cautions(design), *of_samples, *words.resonance_cautions(expected)
    )


def _stages(samples: Sequence[SampleComparison]) -> Iterator[Part]:
    """Which step moved which reading; nothing where no sample was read at two stages."""
    changes = [change for sample in samples for change in sample.changes]
    if not changes:
        return
    moved = [change for change in changes if change.moved]
    steps = dict.fromkeys(f"{change.start or 'before'} to {change.end or 'after'}" for change in moved)
    yield Heading(
        f"Which step moved a reading: {', '.join(steps)}"
        if moved
        else "No step between stages moved a reading"
    )
    rows = [
        (
            change.sample,
            change.name,
            f"{change.start or '-'} to {change.end or '-'}",
            _change(change),
            words.score(change.score),
            "moved" if change.moved else "",
        )
        for change in changes
    ]
    yield words.table(["sample", "test", "step", "change", "score", ""], rows, right=(3, 4))
    yield Paragraph(
        "The change from stage to stage, with its expanded uncertainty. Only reconnection and handling "
        "count: errors of meter, leads and link are the same in both readings and cancel (for "
        "resistances without a temperature of their own, the room may differ by 2 K). Beyond a score of "
        "3 the step moved the reading."
    )


def _change(change: StageChange) -> str:
    doubt = 2 * change.change_uncertainty
    if change.measure == "phase":
        return f"{format_quantity(change.change, 'rad', 3)} ± {format_quantity(doubt, 'rad', 2)}"
    return f"{format_percent(change.change, 2, signed=True)} ± {format_percent(doubt, 2)}"


def comparison_sentence(sample: SampleComparison) -> str:
    """The verdict on one sample: readings first, then limits, then consistency."""
    known = [test for test in sample.tests if test.read is not None]
    read = [test for test in known if test.verdict != "not judged"]
    if known and not read:
        return f"{sample.sample}: read, not judged: the core is not in yet"
    if not read:
        return f"{sample.sample}: no verdict, since no reading is usable"
    text = f"{sample.sample}: {_agreement(read)}"
    for verdict, words_for_it in (("fail", "limit failed"), ("undecided", "undecided")):
        names = [
            test.label for test in read if test.verdict == verdict and (verdict == "fail" or test.testable)
        ]
        if names:
            text += f"; {words_for_it}: {', '.join(names)}"
    beyond = [test.label for test in read if test.verdict == "undecided" and not test.testable]
    if beyond:
        text += f"; limits that this bench cannot test: {', '.join(beyond)}"
    missing = [test.label for test in sample.tests if test.read is None]
    if missing:
        text += f"; not read: {', '.join(missing)}"
    if any(not check.holds for check in sample.checks):
        text += "; the readings contradict each other"
    return text


def _agreement(read: Sequence[TestComparison]) -> str:
    off = [test for test in read if test.score is not None and abs(test.score) > DEVIATES]
    if off:
        worst = max(off, key=lambda test: abs(test.score or 0.0))
        verb = "deviates:" if len(off) == 1 else "deviate, most of all"
        return f"{len(off)} of {len(read)} readings {verb} {worst.label}" + (
            f" ({_off(worst)})" if _off(worst) != "-" else ""
        )
    loose = [test.label for test in read if test.agrees is False]
    return f"near the edge of the design in {', '.join(loose)}" if loose else "agrees with the design"


def _off(test: TestComparison) -> str:
    if test.deviation is None or math.isnan(test.deviation):
        return "-"
    if test.measure == "phase":
        return format_quantity(test.deviation, "rad", 3)
    return format_change(test.deviation, 1 if abs(test.deviation) < 1 else 0)


def comparison_table(sample: SampleComparison, *, marks: bool = False) -> Part:
    """Every test of one sample: expected, read, difference, score, limits with their verdict.

    Parameters
    ----------
    sample : SampleComparison, the sample, compared
    marks : bool, optional, whether tests that fail a limit or deviate are marked
    """
    rows = [_row(test) for test in sample.tests]
    if marks:
        for row, test in zip(rows, sample.tests, strict=True):
            off = test.score is not None and abs(test.score) > DEVIATES
            row[0] = words.marked(row[0], fails=test.verdict == "fail", deviates=off)
    columns = ["test", "expected", "read", "off by", "score", "limits"]
    return words.table(columns, rows, right=(1, 2, 3, 4))


def _row(test: TestComparison) -> list[str]:
    shown = (
        words.uncertain(test.read, test.read_uncertainty, test.measure)
        if test.read is not None
        else "missing"
    )
    if test.repeats > 1:
        shown += f" (n={test.repeats})"
    limit = words.limits(test.minimum, test.maximum, test.measure)
    verdict = f"{test.verdict}: {limit}" if limit and test.read is not None else limit
    unjudged = test.verdict == "not judged"
    if unjudged:
        verdict = "not judged"
    return [
        test.label,
        "-"
        if unjudged
        else words.uncertain(
            test.predicted, test.predicted_uncertainty, test.measure, test.predicted_low, test.predicted_high
        ),
        shown,
        _off(test),
        words.score(test.score),
        verdict,
    ]
