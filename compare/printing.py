"""What results of comparisons print of themselves: a few aligned lines with units (``predict.printing``)."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from ..predict.circuit.labelled_readings import aligned, shown
from ..predict.circuit.resonance import beyond_search
from ..predict.design import MEASURE_UNITS
from ..predict.notation import format_percent, format_uncertain
from .verdict.evaluation import DEVIATES

if TYPE_CHECKING:
    from .diagnosis.conclusion import Diagnosis
    from .lots.lot import Lot
    from .plan.bench_sheet import PlannedTest
    from .verdict.comparison import SampleComparison, TestComparison

LEAST = 0.01
"""Causes below this probability are not printed."""


def comparison_line(sample: SampleComparison) -> str:
    """How one sample stands, in one line."""
    read = [test for test in sample.tests if test.score is not None]
    off = [test for test in read if test.score is not None and abs(test.score) > DEVIATES]
    text = (
        f"{sample.sample}: {len(off)} of {len(read)} readings deviate" if off else f"{sample.sample}: agrees"
    )
    failed = [test.name for test in sample.tests if test.verdict == "fail"]
    broken = [check.check for check in sample.checks if not check.holds]
    text += f"; fails {', '.join(failed)}" if failed else ""
    return (
        text + (f"; broken: {', '.join(broken)}" if broken else "")
        if read
        else f"{sample.sample}: not judged"
    )


def comparison_text(sample: SampleComparison) -> str:
    """One line a test: predicted, read, off by, score, verdict."""
    rows = [["test", "predicted", "read", "off by", "score", "verdict"]]
    for test in sample.tests:
        rows.append(
            [
                test.label or test.name,
                _uncertain(test.predicted, test.predicted_uncertainty, test.measure),
                _uncertain(test.read, test.read_uncertainty, test.measure),
                _off(test),
                "-" if test.score is None else f"{test.score:+.1f}",
                test.verdict,
            ]
        )
    return f"{comparison_line(sample)}\n{aligned(rows, right=(1, 2, 3, 4))}"


def _off(test: TestComparison) -> str:
    if test.deviation is None or math.isnan(test.deviation):
        return "-"
    if test.measure == "phase":
        return shown(test.deviation, "phase", 3)
    return format_percent(test.deviation, 1, signed=True)


def _uncertain(value: float | None, uncertainty: float | None, measure: str) -> str:
    """A reading with its expanded uncertainty, k = 2."""
    if value is None or beyond_search(measure, value):
        return shown(value, measure)
    return format_uncertain(value, uncertainty, MEASURE_UNITS[measure])


def diagnosis_line(diagnosis: Diagnosis) -> str:
    """The most probable explanation of one sample, in one line."""
    if not diagnosis.informed:
        return f"{diagnosis.sample}: no reading is usable"
    entries = [(cause.probability, cause.title) for cause in diagnosis.causes[:1]]
    entries += [(diagnosis.as_designed, "as designed"), (diagnosis.unlisted, "something that nobody listed")]
    probability, title = max(entries)
    return f"{diagnosis.sample}: {title} ({_per_cent(probability)})"


def diagnosis_text(diagnosis: Diagnosis) -> str:
    """The causes with their probabilities, how to confirm the first, what to measure next."""
    entries = [
        (diagnosis.as_designed, "", "as designed"),
        (diagnosis.unlisted, "", "something that nobody listed"),
        *((cause.probability, f"{cause.cause} {cause.where}", cause.title) for cause in diagnosis.causes),
    ]
    rows = [
        [_per_cent(probability), name, title]
        for probability, name, title in sorted(entries, key=lambda entry: -entry[0])
        if probability >= LEAST
    ]
    lines = [diagnosis_line(diagnosis), aligned(rows, right=(0,))]
    if diagnosis.informed and diagnosis.deviates and diagnosis.causes:
        lines.append(f"confirm: {diagnosis.causes[0].confirm}")
    for test in diagnosis.next_tests[:1]:
        short = f", {test.short} shorted" if test.short else ""
        lines.append(
            f"measure next: {test.measure.replace('_', ' ')} of {test.drive}{short} ({test.bits:.1f} bit)"
        )
    return "\n".join(lines)


def _per_cent(probability: float) -> str:
    return (
        "> 99 %" if probability >= 0.995 else "< 1 %" if probability < 0.005 else f"{100 * probability:.0f} %"
    )


def lot_text(lot: Lot) -> str:
    """One line a test: parts, mean, standard deviation, prediction, capability with its bound."""
    rows = [["test", "n", "mean", "s", "predicted", "Cpk", "outliers"]]
    for test in lot.tests:
        bound = "" if test.cpk_lower is None else f" (at least {test.cpk_lower:.2f})"
        rows.append(
            [
                test.name,
                str(test.n),
                shown(test.mean, test.measure),
                shown(test.standard_deviation, test.measure, 4 if test.measure == "phase" else 2),
                _uncertain(test.predicted, test.predicted_uncertainty, test.measure),
                "-" if test.cpk is None else f"{test.cpk:.2f}{bound}",
                ", ".join(test.outliers) or "-",
            ]
        )
    return f"{lot.samples} samples\n{aligned(rows, right=(1, 2, 3, 4))}"


def planned_text(test: PlannedTest) -> str:
    """One test of the bench sheet in a line."""
    expected = _uncertain(test.expected, test.measurement_uncertainty, test.measure)
    return f"{test.name}: expect {expected} (bench, k = 2). {test.connections}"
