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

from ...compare.plan import PlannedTest
from ...predict.circuit import ampere_turn_function, beyond_search, diagram_test
from ...predict.designfile import InputFile
from ...predict.winding import cross_section
from . import words
from .comparison import RULE, SCORE
from .drawing_svg import drawing_svg
from .faults_seen import coverage_summary
from .fixture import fixture_view, left_out_view
from .forecast import Forecast
from .html_page import render_template
from .lot import lot_view
from .page import Paragraph, Part
from .prediction import assumptions, bench_view, core_line, drivers_view, tests_view, windings_view
from .report_drivers import drivers_svg
from .report_input import ReportInput
from .report_lot import LEAST, LotReadings, lot_svg
from .report_parts import blocks
from .report_ranges import Mark, Strip, ranges_svg
from .report_samples import MANY, all_read, cause_parts, sample_parts, summary, verdicts
from .sheet import window_line
from .svg_marks import SHAPES


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
        bars=0 < len({sample.sample for sample in given.samples}) <= len(SHAPES),
        samples=[*sample_parts(given)],
        all_read=blocks(all_read(given), name="all-read"),
        made=made_on(),
        many=len(given.samples) > MANY,
        faults=blocks(_faults_seen(given)),
        compared_how=blocks(_compared_how(given)),
        causes=[*cause_parts(given)],
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
            low, high = test.predicted_low or test.predicted, test.predicted_high or test.predicted
            if as_drawn and at is not None:
                low, high = float(spread.low[at]), float(spread.high[at])
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


def _compared_how(given: ReportInput) -> Iterator[Part]:
    if given.samples:
        yield Paragraph(
            "± is the expanded uncertainty, k = 2: of production, model and set-up for what is expected, of "
            "meter and handling for what was read."
        )
        yield Paragraph(f"{RULE[given.rule]} {SCORE}")
    yield from fixture_view(given.correction)


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
    anchor : str, its id on the page
    name : str, name of the file
    text : str or None, its text; None if it is not text
    href : str, the file itself, as a data address
    size : int, size in bytes, count
    file : str, name under which it is saved
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
