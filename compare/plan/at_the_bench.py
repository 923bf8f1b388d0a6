"""One reading as it is typed at the bench: in, out, or not to be judged; and which slip it looks like.

    score = (read − expected)/√(u_expected² + u_read²)

with production, model and set-up in u_expected, meter and handling in u_read, as in ``compare``. In:
|score| ≤ 2 and no limit failed. Out: |score| > 3, or a limit failed. In between: at the edge. A reading
that is out is compared with what slips would display: a decade or a prefix (10^±1, 10^±2, 10^±3, 10^±6
times), the expected reading of another test of the same quantity, the same test with nothing shorted, with
another winding shorted, with a link left on, and in the other equivalent circuit. A slip is named if it
brings the reading within three standard uncertainties, at most the two nearest. Source: common practice,
no source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from ...predict.circuit import members_of, predict_bench
from ...predict.design import BenchTest, Design, Equivalent, Member
from ...predict.production import BUILDS, spread
from ..meter import wrong_signs
from ..readings import DIMENSIONS, Reading
from ..verdict import DEVIATES, THREE_ZONE, decide, difference, evaluate
from .bench_sheet import PlannedTest, plan

AGREES = 2.0
"""A reading is in up to this |score|, as in ``compare`` (common practice: two standard uncertainties)."""
DECADES = {
    1e-3: "the unit: a thousandth of it would fit",
    1e3: "the unit: a thousand times as much would fit",
    1e-6: "the unit: a millionth of it would fit",
    1e6: "the unit: a million times as much would fit",
    0.1: "a decade: a tenth of it would fit",
    10.0: "a decade: ten times as much would fit",
    0.01: "two decades: a hundredth of it would fit",
    100.0: "two decades: a hundred times as much would fit",
}
"""Factors by which people slip, each in words."""
MOST_NAMED = 2
"""Most slips named for one reading (judged by what a reader can take in; no verdict depends on it)."""


@dataclass(frozen=True)
class Slip:
    """What a reading would be after a slip.

    Attributes
    ----------
    words : str, the slip, to follow "looks like"
    expected : float, expected reading, SI
    uncertainty : float, its standard uncertainty, SI
    """

    words: str
    expected: float
    uncertainty: float


@dataclass(frozen=True)
class BenchGuide:
    """What is known about every test before anything is read.

    Attributes
    ----------
    design : Design
        The transformer.
    planned : tuple[PlannedTest, ...]
        Lines of the bench sheet, in order.
    expected : tuple[float, ...]
        Expected reading of one part for each test, SI.
    uncertainty : tuple[float, ...]
        Its standard uncertainty, SI.
    slips : tuple[tuple[Slip, ...], ...]
        Slips of each test whose display the forward model gives.
    """

    design: Design
    planned: tuple[PlannedTest, ...]
    expected: tuple[float, ...]
    uncertainty: tuple[float, ...]
    slips: tuple[tuple[Slip, ...], ...]


@dataclass(frozen=True)
class Judgement:
    """How one reading was judged.

    Attributes
    ----------
    verdict : str, "in", "at the edge", "out" or "cannot be judged"
    why : str, why it cannot be judged, or which limit it fails
    score : float or None, score, dimensionless; None if there is no reading
    looks_like : tuple[str, ...], slips, the nearest first
    """

    verdict: str
    why: str
    score: float | None
    looks_like: tuple[str, ...] = ()


def bench_guide(design: Design, *, builds: int = BUILDS, seed: int = 1) -> BenchGuide:
    """Everything that ``judged_entry`` needs, from one run of the forward model over all tests and slips.

    Parameters
    ----------
    design : Design
        The transformer.
    builds : int, optional
        Random builds, count.
    seed : int, optional
        Seed of the random builds.

    Raises
    ------
    BuildError
        The layout is outside the models.
    """
    variants = [
        (test_index, *variant)
        for test_index, test in enumerate(design.tests)
        for variant in _variants(design, test)
    ]
    tests = (*design.tests, *(test for _, _, test in variants))
    widened = replace(design, tests=tests)
    values = predict_bench(widened).values
    scatter = spread(widened, builds, seed, origins=("build", "model", "setup"), shares=False)
    count = len(design.tests)
    slips: list[list[Slip]] = [[] for _ in design.tests]
    for number, (test_index, words, _) in enumerate(variants, start=count):
        value = float(values[number])
        if math.isfinite(value):
            slips[test_index].append(Slip(words, value, float(scatter.standard_uncertainty[number])))
    for test_index, test in enumerate(design.tests):
        for row_index, row in enumerate(design.tests):
            if row_index != test_index and DIMENSIONS[row.measure] == DIMENSIONS[test.measure]:
                doubt = float(scatter.standard_uncertainty[row_index])
                slips[test_index].append(Slip(f"the reading of {row.name}", float(values[row_index]), doubt))
    return BenchGuide(
        design,
        plan(design, builds=builds, seed=seed),
        tuple(float(value) for value in values[:count]),
        tuple(float(value) for value in scatter.standard_uncertainty[:count]),
        tuple(tuple(slips_of_test) for slips_of_test in slips),
    )


def judged_entry(guide: BenchGuide, reading: Reading) -> Judgement:
    """Judge one reading of one of the design's tests at its stated frequency.

    Parameters
    ----------
    guide : BenchGuide
        What is known about every test.
    reading : Reading
        The reading, SI.
    """
    test_index = next(at for at, test in enumerate(guide.design.tests) if test.name == reading.test)
    test, expected, doubt = (
        guide.design.tests[test_index],
        guide.expected[test_index],
        guide.uncertainty[test_index],
    )
    if reading.value is None:
        return Judgement("cannot be judged", "no number was displayed; it is kept as missing", None)
    (item,) = evaluate(guide.design, [reading]).samples[0].read
    if item.value is None or item.uncertainty is None:
        return Judgement("cannot be judged", "no number was displayed; it is kept as missing", None)
    value, read_uncertainty = item.value, item.uncertainty
    combined = math.hypot(doubt, read_uncertainty)
    score = difference(test, value, expected) / combined if combined > 0 else 0.0
    zone = decide(value, read_uncertainty, test.minimum, test.maximum, rule=THREE_ZONE).verdict
    if zone == "fail" or abs(score) > DEVIATES:
        why = "it fails a limit of the specification" if zone == "fail" else ""
        negative = wrong_signs((test,), (value,), (expected,))
        if negative:
            why = f"{why}{'. ' if why else ''}{negative[0].rstrip('.')}"
        return Judgement("out", why, score, _looks_like(guide, test_index, value, read_uncertainty))
    if zone == "undecided":
        why = "it is closer to a limit than the bench's ±"
        return Judgement("cannot be judged", why, score)
    return Judgement("in" if abs(score) <= AGREES else "at the edge", "", score)


def _variants(design: Design, test: BenchTest) -> list[tuple[str, BenchTest]]:
    """Slips with shorts and the meter's circuit, as (words, the test as it would be taken)."""
    variants: list[tuple[str, BenchTest]] = []
    if test.measure not in ("inductance", "ac_resistance", "quality"):
        return variants
    busy = {member.name for member in members_of(design, (*test.drive, *test.sense))}
    others = [winding.name for winding in design.windings if winding.name not in busy]
    shorted = {member.name for member in test.short}
    if test.short:
        variants.append(("an open short: nothing shorted", replace(test, short=())))
        variants += [
            (f"a wrong short: {name} instead of {' and '.join(sorted(shorted))}", _shorting(test, name))
            for name in others
            if {name} != shorted
        ]
    else:
        variants += [(f"a link left on {name}", _shorting(test, name)) for name in others]
    if test.measure != "quality":
        shown = test.equivalent or design.bench.equivalent
        other_display: Equivalent = "parallel" if shown == "series" else "series"
        variants.append(
            (
                f"the {other_display} display instead of the {shown} one",
                replace(test, equivalent=other_display),
            )
        )
    return variants


def _shorting(test: BenchTest, name: str) -> BenchTest:
    return replace(test, short=(Member(name),))


def _away(gap: float, combined: float) -> float:
    """How many standard uncertainties a gap is, whatever its sign."""
    return abs(gap) / combined if combined > 0 else math.inf


def _looks_like(guide: BenchGuide, index: int, value: float, own_uncertainty: float) -> tuple[str, ...]:
    test = guide.design.tests[index]
    near_misses: list[tuple[float, str]] = []
    if test.measure != "phase":
        # as sure as a reading of the right size is: a milliohm's own doubt, a million times, would fit all
        combined = math.hypot(guide.uncertainty[index], guide.planned[index].measurement_uncertainty)
        for factor, words in DECADES.items():
            near_misses.append((_away(value * factor - guide.expected[index], combined), words))
    if test.measure in ("phase", "mutual"):
        turned = value - math.copysign(math.pi, value) if test.measure == "phase" else -value
        combined = math.hypot(guide.uncertainty[index], own_uncertainty)
        gap = difference(test, turned, guide.expected[index])
        near_misses.append((_away(gap, combined), "exchanged ends of one winding"))
    if test.measure == "ratio" and value:
        combined = math.hypot(guide.uncertainty[index], own_uncertainty / value**2)
        words = "the ratio upside down (driven over sensed voltage is asked for)"
        near_misses.append((_away(1 / value - guide.expected[index], combined), words))
    for slip in guide.slips[index]:
        combined = math.hypot(slip.uncertainty, own_uncertainty)
        near_misses.append((_away(value - slip.expected, combined), slip.words))
    near = sorted(item for item in near_misses if item[0] <= DEVIATES)
    return tuple(words for _, words in near[:MOST_NAMED])
