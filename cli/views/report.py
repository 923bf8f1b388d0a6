"""The report page: what predict, plan, compare, explain and lot say of one design and its readings.

Pure: values → the text of one self-contained page. The words are those of the commands' own views; what
belongs to a page alone (pictures, verdict badges, the echo of the inputs) is here and in ``report_*``.
"""

from __future__ import annotations

import base64
import math
import os
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import PurePath
from typing import Any

from ...compare.diagnosis import Diagnosis
from ...compare.lots import Lot
from ...compare.plan import FaultCoverage, PlannedTest
from ...compare.readings import FixtureCorrection
from ...compare.verdict import DEVIATES, SampleComparison
from ...predict.circuit import ampere_turn_function, beyond_search, diagram_test
from ...predict.designfile import InputFile
from ...predict.winding import cross_section
from . import words
from .comparison import RULE, SCORE, comparison_sentence, comparison_table
from .diagnosis import sample_view, verdict
from .drawing_svg import drawing_svg
from .faults_seen import coverage_summary
from .fixture import fixture_view, left_out_view
from .forecast import Forecast
from .html_page import render_template
from .lot import lot_view
from .page import Paragraph, Part
from .prediction import assumptions, bench_view, core_line, drivers_view, tests_view, windings_view
from .report_drivers import drivers_svg
from .report_lot import LEAST, LotReadings, lot_svg
from .report_parts import Block, blocks
from .report_ranges import Mark, Strip, ranges_svg
from .sheet import window_line


@dataclass(frozen=True, kw_only=True)
class ReportInput:
    """Everything that a report is made of.

    Attributes
    ----------
    forecast : Forecast
        What is predicted of the design.
    plan : tuple[PlannedTest, ...]
        Every test as planned.
    samples : tuple[SampleComparison, ...]
        Every sample, compared; empty without readings.
    diagnoses : tuple[Diagnosis, ...]
        Diagnosis of each sample; empty without readings.
    lot : Lot or None
        Statistics of the lot; None without readings.
    rule : str
        The decision rule.
    correction : FixtureCorrection or None
        What the fixture's correction did; None: no fixture file.
    left_out : tuple[str, ...]
        Readings that the diagnosis leaves out, by name.
    top : int
        Causes listed for each sample, count.
    builds : int
        Random builds, count.
    seed : int
        Seed of the random builds.
    command : str
        The command line.
    sources : tuple[InputFile, ...]
        The files that it read.
    libraries : str
        Versions of the libraries in use.
    coverage : FaultCoverage or None
        What the tests can see; None: not asked for.
    """

    forecast: Forecast
    plan: tuple[PlannedTest, ...]
    samples: tuple[SampleComparison, ...]
    diagnoses: tuple[Diagnosis, ...]
    lot: Lot | None
    rule: str
    correction: FixtureCorrection | None
    left_out: tuple[str, ...]
    top: int
    builds: int
    seed: int
    command: str
    sources: tuple[InputFile, ...]
    libraries: str
    coverage: FaultCoverage | None = None


@dataclass(frozen=True, kw_only=True)
class SampleRow:
    """One sample in the verdict.

    Attributes
    ----------
    sample : str
        Its name.
    badge : str
        Its verdict in a word or two: "agrees", "deviates", …
    look : str
        How the badge is drawn.
    compared : str
        Its readings against the design, in a sentence.
    explained : str
        What it most likely is, in a sentence.
    anchor : str
        Id of what is said of it in full; empty: nothing.
    """

    sample: str
    badge: str
    look: str
    compared: str
    explained: str
    anchor: str = ""


def made_on() -> str:
    """The day on which the page is made (UTC), or that of SOURCE_DATE_EPOCH, by which pages can be made again
    to the byte."""
    epoch = os.environ.get("SOURCE_DATE_EPOCH", "")
    now = datetime.fromtimestamp(int(epoch), UTC) if epoch.isdigit() else datetime.now(UTC)
    return now.date().isoformat()


def _faults_seen(given: ReportInput) -> Iterator[Part]:
    """What the tests of the file can see, in short."""
    if given.coverage is not None:
        yield from coverage_summary(given.coverage)


def report_page(given: ReportInput) -> str:
    """The report as the text of one HTML page."""
    design = given.forecast.design
    return render_template(
        "report.html",
        design=design,
        core=core_line(design),
        rows=[*verdicts(given)],
        summary=summary(given),
        windings=blocks(windings_view(given.forecast), name="windings")[1:],
        drawing=_drawing(given.forecast),
        predicted=blocks(tests_view(given.forecast), name="predicted")[1:],
        plan=blocks([_plan_table(given.plan), *_plan_notes(given.plan)], name="plan-table"),
        ranges=ranges_svg(_strips(given)),
        samples=[*_samples(given)],
        all_read=blocks(_all_read(given), name="all-read"),
        made=made_on(),
        many=len(given.samples) > MANY,
        faults=blocks(_faults_seen(given)),
        compared_how=blocks(_compared_how(given)),
        causes=[*_causes(given)],
        lot=blocks(_lot(given), name="lot-table"),
        histograms=_histograms(given),
        drivers=blocks([*drivers_view(given.forecast)][1:], name="drivers-table"),
        drivers_picture=drivers_svg([test.name for test in design.tests], given.forecast.spread.drivers),
        bench=blocks([*bench_view(given.forecast)][1:], name="bench-table"),
        assumptions=blocks([assumptions(design)]),
        cautions=[*_all_cautions(given)],
        given=given,
        inputs=[_echo(source, index) for index, source in enumerate(given.sources, 1)],
    )


def _drawing(forecast: Forecast) -> str:
    """The cross-section with the ampere-turns of the test that ``predict --draw`` takes."""
    test = diagram_test(forecast.design)
    function = None if test is None else ampere_turn_function(forecast.design, test)
    return drawing_svg(cross_section(forecast.design, forecast.layout), function, landscape=True)


# --- verdict ---------------------------------------------------------------------------------------


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


# --- tests and readings ----------------------------------------------------------------------------


def _plan_table(tests: Sequence[PlannedTest]) -> Part:
    rows = []
    for test in tests:
        set_up = [test.sweep or words.frequency(test.frequency)]
        if test.level is not None:
            set_up.append(words.level(test.level, test.terminal_level))
        if test.equivalent:
            set_up.append(test.equivalent)
        rows.append(
            [
                test.name,
                f"{test.measure.replace('ac_', 'AC ')}. {test.connections}",
                ", ".join(set_up),
                words.uncertain(test.expected, test.measurement_uncertainty, test.measure),
                words.limits(test.minimum, test.maximum, test.measure) or "-",
            ]
        )
    return words.table(["test", "connections", "set", "expected", "limits"], rows, right=(3,))


def _plan_notes(tests: Sequence[PlannedTest]) -> Iterator[Part]:
    """Corrections, frequencies at which readings hold, notes, warnings; what several tests share once."""
    yield Paragraph("± in this table is the bench alone (k = 2).")
    shared: dict[str, list[str]] = {}
    for test in tests:
        for text in (" ".join(test.corrections), window_line(test), *test.notes):
            if text:
                shared.setdefault(text, []).append(test.name)
    for text, names in shared.items():
        yield Paragraph(text, "", f"{', '.join(names)}: ")
    for test in tests:
        for warning in test.warnings:
            yield words.caution(f"{test.name}: {warning}")


def _strips(given: ReportInput) -> list[Strip]:
    """The strips of the picture: of the tests as compared where there are readings, which may be more than
    the design's (sweeps)."""
    spread, design = given.forecast.spread, given.forecast.design
    ranges = {test.name: index for index, test in enumerate(design.tests)}
    if not given.samples:
        return [
            _strip(
                test.name, test.measure, spread.nominal[index], spread.low[index], spread.high[index], test
            )
            for index, test in enumerate(design.tests)
        ]
    strips: dict[str, Strip] = {}
    for sample in given.samples:
        for test in sample.tests:
            at = ranges.get(test.name)
            as_drawn = at is not None and spread.nominal[at] == test.predicted
            half = 2 * test.predicted_uncertainty
            low = float(spread.low[at]) if as_drawn and at is not None else test.predicted - half
            high = float(spread.high[at]) if as_drawn and at is not None else test.predicted + half
            strip = strips.setdefault(
                test.label, _strip(test.label, test.measure, test.predicted, low, high, test)
            )
            if test.read is not None and math.isfinite(test.read) and test.verdict != "not judged":
                mark = Mark(sample.sample, test.read, 2 * (test.read_uncertainty or 0.0))
                strips[test.label] = replace(strip, marks=(*strip.marks, mark))
    return list(strips.values())


def _strip(label: str, measure: str, nominal: float, low: float, high: float, test: Any) -> Strip:
    if beyond_search(measure, float(nominal)):
        nominal = math.inf  # nothing to draw
    return Strip(
        label=label,
        measure=measure,
        nominal=float(nominal),
        low=float(low),
        high=float(high),
        minimum=test.minimum,
        maximum=test.maximum,
    )


@dataclass(frozen=True)
class SamplePart:
    """What is said of one sample in one section.

    Attributes
    ----------
    anchor : str
        Its id on the page.
    title : str
        Its title.
    blocks : tuple[Block, ...]
        Its text and tables.
    checks : tuple[Block, ...]
        Checks of consistency that do not hold.
    name : str
        Name of the sample.
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


def _all_read(given: ReportInput) -> Iterator[Part]:
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


def _samples(given: ReportInput) -> Iterator[SamplePart]:
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


def _compared_how(given: ReportInput) -> Iterator[Part]:
    if given.samples:
        yield Paragraph(
            "± is the expanded uncertainty, k = 2: of production, model and set-up for what is expected, of "
            "meter and handling for what was read."
        )
        yield Paragraph(f"{RULE[given.rule]} {SCORE}")
    yield from fixture_view(given.correction)


def _causes(given: ReportInput) -> Iterator[SamplePart]:
    for sample_number, diagnosis in enumerate(given.diagnoses, 1):
        if not _in_full(given, diagnosis.sample, deviates=diagnosis.deviates):
            continue
        anchor = f"causes-{sample_number}"
        yield SamplePart(
            anchor, verdict(diagnosis), blocks(sample_view(diagnosis, given.top), name=f"{anchor}-readings")
        )


def _lot(given: ReportInput) -> Iterator[Part]:
    """What ``lot`` says, without the title and the cautions, which stand elsewhere on the page; nothing
    without a lot."""
    if given.lot is None:
        return
    design = given.forecast.design
    elsewhere = {design.title or "(no title)", *design.cautions, words.SAFETY_LINE}
    for part in lot_view(design, given.lot, marks=False):
        if (part.text if isinstance(part, Paragraph) else part) not in elsewhere:
            yield part


def _histograms(given: ReportInput) -> str:
    """The picture of the lot, or "" where no test was read in parts enough."""
    if given.lot is None:
        return ""
    values: dict[str, list[float]] = {}
    for sample in given.samples:
        for test in sample.tests:
            if test.read is not None and math.isfinite(test.read) and test.verdict != "not judged":
                values.setdefault(test.label, []).append(test.read)
    lots = [LotReadings(test, tuple(values.get(test.name, ()))) for test in given.lot.tests]
    return lot_svg(lots) if any(len(lot.values) >= LEAST for lot in lots) else ""


# --- what it rests on ------------------------------------------------------------------------------


def _all_cautions(given: ReportInput) -> Iterator[str]:
    found = [*given.forecast.cautions[:-1], *(text for sample in given.samples for text in sample.cautions)]
    found += [part.text for part in left_out_view(given.left_out) if isinstance(part, Paragraph)]
    yield from dict.fromkeys([words.SAFETY, *found])


@dataclass(frozen=True, kw_only=True)
class Echo:
    """One input, printed on the page.

    Attributes
    ----------
    anchor : str
        Its id on the page.
    name : str
        Name of the file.
    text : str or None
        Its text; None if it is not text.
    href : str
        The file itself, as a data address.
    size : int
        Size in bytes, count.
    file : str
        Name under which it is saved.
    """

    anchor: str
    name: str
    text: str | None
    href: str
    size: int
    file: str


def _echo(source: InputFile, input_number: int) -> Echo:
    data = base64.b64encode(source.data).decode()
    return Echo(
        anchor=f"input-{input_number}",
        name=source.name,
        text=source.text,
        href=f"data:application/octet-stream;base64,{data}",
        size=len(source.data),
        file=PurePath(source.name).name,
    )
