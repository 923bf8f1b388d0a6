"""``aswound compare``: predicted against read; what a known-good sample teaches."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from . import options

if TYPE_CHECKING:
    from ..compare.readings import Reading
    from ..compare.verdict import SampleComparison
    from ..predict.design import Design
    from .views.page import Part

KNOWN_GOOD = 0.95
"""What is believed of a sample that somebody calls good, before it is read (judged)."""


def compare_command(
    design: options.DesignFile,
    readings: options.ReadingsFile = None,
    read: options.Read = None,
    column: options.Map = None,
    sample: options.Sample = None,
    bench: options.BenchFile = None,
    fixture: options.FixtureFile = None,
    rule: options.Rule = "three-zone",
    learn: Annotated[
        bool,
        typer.Option(
            "--learn",
            help="The samples are known to be good: write the design with the [calibration] that "
            "they teach, to "
            "standard output or to -o FILE.",
        ),
    ] = False,
    output: Annotated[
        Path | None,
        typer.Option(
            "-o",
            "--output",
            metavar="FILE",
            help="With --learn: a new file, or DESIGN itself, of which only [calibration] is replaced.",
        ),
    ] = None,
    brief: options.Brief = False,
    json: options.Json = False,
) -> int:
    """Predicted against read, with both uncertainties, limits and the readings' consistency."""
    from ..compare.verdict import compare as compared
    from ..predict.designfile import load_design
    from ..predict.errors import DesignError, Fault
    from .output import print_parts, show_json, write, write_data
    from .views.comparison import comparison_json, comparison_sentence, comparison_view
    from .views.fixture import fixture_json, fixture_view
    from .views.page import visible
    from .written import check_free, inputs_of

    rule = options.rule_named(rule)
    if output is not None and not learn:
        raise DesignError(
            Fault("option -o", str(output), "with --learn", "Without it compare writes no file; use > FILE.")
        )
    if output is not None:
        same_file = output.exists() and output.resolve() == design.resolve()
        read_as_well = inputs_of(design, readings, bench, fixture)[1 if same_file else 0 :]
        check_free(output, same_file or None, read_as_well, option="-o")
    loaded = load_design(design, bench=bench, calibration=not learn)
    taken = options.readings_of(loaded, readings, read, column, sample)
    taken, correction = options.corrected_by(loaded, taken, fixture)
    samples = compared(loaded, taken, rule=rule)
    data = {**comparison_json(samples), **fixture_json(correction)}
    if brief and not learn and not json:
        write("".join(f"{visible(comparison_sentence(sample))}\n" for sample in samples))
        return 1 if any(sample.deviates for sample in samples) else 0
    taught: list[Part] = []
    text = None
    if learn:
        told, taught, text = _taught(loaded, taken, samples, design, output)
        data |= told
    if json:
        show_json(data)
        return 1 if any(sample.deviates for sample in samples) else 0
    parts = [*comparison_view(loaded, samples), *fixture_view(correction), *taught]
    if text is None or output is not None:
        print_parts(parts)
    else:
        import sys

        print_parts(parts, sys.stderr)
        write_data(text)
    return 1 if any(sample.deviates for sample in samples) else 0


def _taught(
    design: Design,
    readings: Sequence[Reading],
    samples: Sequence[SampleComparison],
    file: Path,
    output: Path | None,
) -> tuple[dict[str, Any], list[Part], str]:
    """(JSON, page, text of the design file) of what the samples teach; written to ``output``, if there is
    one."""
    from ..compare.diagnosis import explain
    from ..compare.lots import learn, section
    from ..compare.verdict import finished_readings, sweeps_apart
    from ..predict.designfile import design_text, with_calibration
    from .views.calibration import calibration_json, calibration_view, doubts
    from .written import write_whole

    learned = learn(design, readings)
    finished, _ = finished_readings(design, readings)
    warnings = doubts(learned, samples, explain(*sweeps_apart(design, finished), sound=KNOWN_GOOD))
    text = with_calibration(design_text(file), section(learned), name=str(file))
    if output is None:
        target = "the design with its [calibration] is on standard output"
    else:
        same_file = output.exists() and output.resolve() == file.resolve()
        write_whole(output, text, over=same_file)
        target = f"[calibration] of {file} replaced" if same_file else f"written to {output}"
    return calibration_json(learned, warnings), list(calibration_view(learned, warnings, target)), text
