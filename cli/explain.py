"""``aswound explain``: which construction choice, or bench mistake, most likely causes a deviation."""

from __future__ import annotations

from typing import Annotated

import typer

from . import options


def explain_command(
    design: options.DesignFile,
    readings: options.ReadingsFile = None,
    read: options.Read = None,
    column: options.Map = None,
    sample: options.Sample = None,
    bench: options.BenchFile = None,
    top: Annotated[int, typer.Option(min=1, help="Causes to list for each sample.")] = 5,
    sound: Annotated[
        str,
        typer.Option(
            metavar="SHARE", help="Share of parts assumed sound before any reading (for a running lot: 95%)."
        ),
    ] = "15 %",
    fixture: options.FixtureFile = None,
    together: Annotated[
        bool,
        typer.Option(
            "--together", help="Take all samples as one lot: a cause that they share, and which ones differ."
        ),
    ] = False,
    brief: options.Brief = False,
    json: options.Json = False,
) -> int:
    """Which construction choice most likely causes a deviation, how sure, and what to tell the shop."""
    from ..compare.diagnosis import explain as explained
    from ..compare.verdict import finished_readings, sweeps_apart
    from ..predict.designfile import load_design
    from .output import print_parts, show_json, write
    from .views.diagnosis import diagnosis_view, verdict
    from .views.fixture import fixture_json, fixture_view, left_out_view
    from .views.page import visible

    loaded = load_design(design, bench=bench)
    taken = options.readings_of(loaded, readings, read, column, sample)
    taken, correction = options.corrected_by(loaded, taken, fixture)
    taken, left_out = finished_readings(loaded, taken)
    loaded, taken = sweeps_apart(loaded, taken)
    share = options.share_of("--sound", sound)
    diagnoses = explained(loaded, taken, sound=share) if json or not together else ()
    data: dict[str, object] = {}
    if json:
        from .views.diagnosis_data import diagnosis_json

        data = diagnosis_json(diagnoses)
    parts, deviate = (
        diagnosis_view(loaded, diagnoses, top),
        any(diagnosis.deviates for diagnosis in diagnoses),
    )
    if together:
        from ..compare.lots import explain_together
        from .views.together import together_json, together_view

        lot = explain_together(loaded, taken, ahead=json)
        data |= {"together": together_json(lot)} if json else {}
        parts, deviate = together_view(loaded, lot, top), lot.deviates
    if json:
        show_json({**data, **fixture_json(correction), "left_out": list(left_out)})
    elif brief and not together:
        write("".join(f"{visible(verdict(diagnosis))}\n" for diagnosis in diagnoses))
    else:
        print_parts([*parts, *fixture_view(correction), *left_out_view(left_out)])
    return 1 if deviate else 0
