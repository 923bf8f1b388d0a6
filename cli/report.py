"""``aswound report``: one self-contained page of everything that is said of a design and its readings."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from . import options

if TYPE_CHECKING:
    from ..compare.readings import FixtureCorrection, Reading
    from ..predict.design import Design
    from .views.report_input import ReportInput

LOT = 5
"""Samples of one test from which the page has a part on the lot."""


def report(
    design: options.DesignFile,
    output: Annotated[
        Path, typer.Option("-o", "--output", metavar="FILE.html", help="Page to write; must not exist yet.")
    ],
    readings: options.ReadingsFile = None,
    read: options.Read = None,
    column: options.Map = None,
    sample: options.Sample = None,
    bench: options.BenchFile = None,
    fixture: options.FixtureFile = None,
    rule: options.Rule = "three-zone",
    top: Annotated[int, typer.Option(min=1, help="Causes to list for each sample.")] = 5,
    builds: Annotated[int, typer.Option(min=100, max=200_000, help="Random builds for the spread.")] = 2000,
    seed: Annotated[int, typer.Option(min=0, help="Seed of the random builds.")] = 1,
    force: Annotated[bool, typer.Option("--force", help="Replace the page if it exists.")] = False,
    json: options.Json = False,
) -> int:
    """One page with verdict, drawing, test plan, ranges, causes, lot, drivers, cautions and all inputs."""
    import sys

    from ..predict.designfile import load_design
    from .output import show_json, write
    from .views.page import visible
    from .views.report import report_page
    from .views.report_json import report_json
    from .written import check_free, inputs_of, write_whole

    rule = options.rule_named(rule)
    check_free(output, force, inputs_of(design, readings, bench, fixture))
    loaded = load_design(design, bench=bench)
    taken: tuple[Reading, ...] = ()
    correction = None
    if readings is not None or read or sample or fixture is not None:
        taken = options.readings_of(loaded, readings, read, column, sample)
        taken, correction = options.corrected_by(loaded, taken, fixture)
    words = ["aswound", "report", str(design)]
    words += [] if readings is None else [str(readings)]
    words += ["-o", str(output)]
    for item in read or ():
        words += ["--read", item]
    for item in column or ():
        words += ["--map", item]
    for item in sample or ():
        words += ["--sample", item]
    for option, file in (("--bench", bench), ("--fixture", fixture)):
        words += [] if file is None else [option, str(file)]
    for option, value, default in (
        ("--rule", rule, "three-zone"),
        ("--top", top, 5),
        ("--builds", builds, 2000),
        ("--seed", seed, 1),
    ):
        words += [] if value == default else [option, str(value)]
    files = [file for file in (readings, bench, fixture) if file is not None]
    given = _judged(loaded, taken, correction, rule, top, builds, seed, words, design, files)
    write_whole(output, report_page(given), over=force and output.exists())
    deviates = _deviates(given)
    if json:
        show_json(report_json(given, str(output), deviates=deviates))
    else:
        write(f"Wrote {visible(str(output))}.\n", sys.stderr)
    return 1 if deviates else 0


def _judged(
    design: Design,
    taken: tuple[Reading, ...],
    correction: FixtureCorrection | None,
    rule: str,
    top: int,
    builds: int,
    seed: int,
    words: list[str],
    file: Path,
    others: list[Path],
) -> ReportInput:
    """Everything that the page says, from the library."""
    import shlex

    from ..compare.diagnosis import explain
    from ..compare.lots import lot
    from ..compare.plan import fault_coverage, plan
    from ..compare.verdict import compare, finished_readings, judged, sweeps_apart
    from ..predict.designfile import design_sources, input_file
    from .views.forecast import forecast
    from .views.report_input import ReportInput

    samples = compare(design, taken, rule=rule) if taken else ()
    tests = {test.name: test for test in design.tests}
    finished: tuple[Reading, ...] = ()
    left_out: tuple[str, ...] = ()
    # Else nothing is read, or only at stages that compare lists without judging.
    if any(judged(tests[reading.test], reading.stage) for reading in taken):
        finished, left_out = finished_readings(design, taken)
    apart, finished = sweeps_apart(design, finished)
    counts: dict[str, set[str]] = {}
    for reading in finished:
        if reading.value is not None:
            counts.setdefault(reading.test, set()).add(reading.sample)
    enough = any(len(names) >= LOT for names in counts.values())
    return ReportInput(
        forecast=forecast(design, builds, seed),
        plan=tuple(plan(design)),
        coverage=fault_coverage(design),
        samples=tuple(samples),
        diagnoses=tuple(explain(apart, finished)) if finished else (),
        lot=lot(apart, finished, rule=rule, ahead=True) if enough else None,
        rule=rule,
        correction=correction,
        left_out=tuple(left_out),
        top=top,
        builds=builds,
        seed=seed,
        command=shlex.join(words),
        sources=(*design_sources(file), *(input_file(second) for second in others)),
        libraries=_libraries(),
    )


def _libraries() -> str:
    """What computed the numbers beside this program."""
    import platform
    from importlib.metadata import version

    names = ", ".join(f"{name} {version(name)}" for name in ("numpy", "scipy"))
    return f"Python {platform.python_version()}, {names}"


def _deviates(given: ReportInput) -> bool:
    """As compare, explain and lot say it."""
    return (
        any(sample.deviates for sample in given.samples)
        or any(diagnosis.deviates for diagnosis in given.diagnoses)
        or (given.lot is not None and given.lot.deviates)
    )
