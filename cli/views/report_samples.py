"""What a report says of each sample: its verdict, its readings and checks, its causes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ...compare.verdict import DEVIATES, SampleComparison
from . import words
from .comparison import comparison_sentence, comparison_table
from .diagnosis import sample_view, verdict
from .page import Paragraph, Part
from .report_input import ReportInput
from .report_parts import Block, blocks


@dataclass(frozen=True, kw_only=True)
class SampleRow:
    """One sample in the verdict.

    Attributes
    ----------
    sample : str, its name
    badge : str, its verdict in a word or two: "agrees", "deviates", …
    look : str, how the badge is drawn
    compared : str, its readings against the design, in a sentence
    explained : str, what it most likely is, in a sentence
    anchor : str, id of what is said of it in full; empty: nothing
    """

    sample: str
    badge: str
    look: str
    compared: str
    explained: str
    anchor: str = ""


def verdicts(given: ReportInput) -> Iterator[SampleRow]:
    """One row for each sample as compared; what causes it where the diagnosis goes by the same name."""
    causes = {diagnosis.sample: diagnosis for diagnosis in given.diagnoses}
    for sample in given.samples:
        diagnosis = causes.get(sample.sample)
        badge, look = _badge(sample)
        explained = "-" if diagnosis is None else _after(verdict(diagnosis), sample.sample)
        anchor = "" if _in_full(given, sample.sample, deviates=sample.deviates) else "ranges"
        compared = _after(comparison_sentence(sample), sample.sample)
        yield SampleRow(
            sample=sample.sample,
            badge=badge,
            look=look,
            compared=compared,
            explained=explained,
            anchor=anchor,
        )


def _after(sentence: str, sample: str) -> str:
    """A sentence without the sample's name in front."""
    return sentence.removeprefix(f"{sample}: ")


def _badge(sample: SampleComparison) -> tuple[str, str]:
    """The verdict in one or two words, and its look: filled for bad, dashed for open."""
    if any(test.verdict == "fail" for test in sample.tests):
        return "fails a limit", "bad"
    if any(not check.holds for check in sample.checks):
        return "contradicts itself", "bad"
    if sample.deviates:
        return "deviates", "bad"
    if all(test.read is None for test in sample.tests):
        return "not read", "open"
    if any(test.verdict == "undecided" and test.testable for test in sample.tests):
        return "undecided", "open"
    if any(test.agrees is False for test in sample.tests):
        return "near the edge", "open"
    return "agrees", ""


def summary(given: ReportInput) -> str:
    """The verdict on all samples in one sentence."""
    if not given.samples:
        return "No readings were given: this page is what the bench should read, not a verdict on a part."
    number = len(given.samples)
    bad = [sample.sample for sample in given.samples if sample.deviates]
    if not bad:
        return f"{number} {'sample' if number == 1 else 'samples'} read, none deviates from the design."
    whole = "1 sample deviates" if number == 1 else f"{len(bad)} of {number} samples deviate"
    return f"{whole} from the design: {', '.join(bad)}."


@dataclass(frozen=True)
class SamplePart:
    """What is said of one sample in one section.

    Attributes
    ----------
    anchor : str, its id on the page
    title : str
    blocks : tuple[Block, ...], its text and tables
    checks : tuple[Block, ...], checks of consistency that do not hold
    name : str, name of the sample
    """

    anchor: str
    title: str
    blocks: tuple[Block, ...]
    checks: tuple[Block, ...] = ()
    name: str = ""


MANY = 8
"""Samples from which the page shows in full only those that deviate: the rest stand in one table."""


def _in_full(given: ReportInput, sample: str, *, deviates: bool) -> bool:
    """Whether a sample has parts of its own on the page: all of a few, of many those that deviate."""
    apart = {item.sample for item in given.samples if item.deviates}
    apart |= {item.sample for item in given.diagnoses if item.deviates}
    return len(given.samples) <= MANY or deviates or sample in apart


def all_read(given: ReportInput) -> Iterator[Part]:
    """Every reading of many samples in one table, marked where it deviates or fails a limit; nothing for
    few."""
    if len(given.samples) <= MANY:
        return
    labels = list(dict.fromkeys(test.label for sample in given.samples for test in sample.tests))
    rows = []
    for sample in given.samples:
        cells = dict.fromkeys(labels, "")
        for test in sample.tests:
            if test.read is not None:
                off = test.score is not None and abs(test.score) > DEVIATES
                shown = words.quantity_text(test.read, test.measure)
                cells[test.label] = words.marked(shown, fails=test.verdict == "fail", deviates=off).strip()
        rows.append([sample.sample, *cells.values()])
    yield words.table(["sample", *labels], rows, right=range(1, len(labels) + 1))
    yield Paragraph(
        f"{words.MARKS} Samples that do neither, and whose readings agree, appear in this table only."
    )


def sample_parts(given: ReportInput) -> Iterator[SamplePart]:
    """Readings and checks of each sample that is shown in full."""
    for sample_number, sample in enumerate(given.samples, 1):
        if not _in_full(given, sample.sample, deviates=sample.deviates):
            continue
        anchor = f"sample-{sample_number}"
        rows = [
            ["holds" if check.holds else "BROKEN", check.check, words.score(check.score), check.detail]
            for check in sample.checks
        ]
        table = words.table(["", "check", "score", "numbers"], rows, right=(2,))
        yield SamplePart(
            anchor,
            comparison_sentence(sample),
            blocks([comparison_table(sample)], name=f"{anchor}-table"),
            blocks([table], name=f"{anchor}-checks") if rows else (),
            sample.sample,
        )


def cause_parts(given: ReportInput) -> Iterator[SamplePart]:
    """Causes of each sample that is shown in full."""
    for sample_number, diagnosis in enumerate(given.diagnoses, 1):
        if not _in_full(given, diagnosis.sample, deviates=diagnosis.deviates):
            continue
        anchor = f"causes-{sample_number}"
        yield SamplePart(
            anchor, verdict(diagnosis), blocks(sample_view(diagnosis, given.top), name=f"{anchor}-readings")
        )
