"""``aswound explain``: which construction choice, or bench mistake, most likely causes a deviation."""

from __future__ import annotations

from typing import Annotated

import typer

from .options import (
    BenchFile,
    Brief,
    DesignFile,
    FixtureFile,
    Json,
    Map,
    Read,
    ReadingsFile,
    Sample,
    corrected_by,
    readings_of,
    share_of,
)


def explain_command(
    design: DesignFile,
    readings: ReadingsFile = None,
    read: Read = None,
    column: Map = None,
    sample: Sample = None,
    bench: BenchFile = None,
    top: Annotated[int, typer.Option(min=1, help="Causes to list for each sample.")] = 5,
    sound: Annotated[
        str,
        typer.Option(
            metavar="SHARE", help="Share of parts assumed sound before any reading (for a running lot: 95%)."
        ),
    ] = "15 %",
    fixture: FixtureFile = None,
    together: Annotated[
        bool,
        typer.Option(
            "--together", help="Take all samples as one lot: a cause that they share, and which ones differ."
        ),
    ] = False,
    brief: Brief = False,
    json: Json = False,
) -> int:
    """Which construction choice most likely causes a deviation, how sure, and what to tell the shop."""
    from ..compare.diagnosis import explain as explained
    from ..compare.verdict import finished_readings, sweeps_apart
    from ..predict.designfile import load_design
    from .output import print_parts, show_json, write
    from .views.diagnosis import diagnosis_view, verdict
    from .views.diagnosis_data import diagnosis_json
    from .views.fixture import fixture_json, fixture_view, left_out_view
    from .views.page import visible

    loaded = load_design(design, bench=bench)
    taken, correction = corrected_by(loaded, readings_of(loaded, readings, read, column, sample), fixture)
    taken, left_out = finished_readings(loaded, taken)
    loaded, taken = sweeps_apart(loaded, taken)
    share = share_of("--sound", sound)
    diagnoses = explained(loaded, taken, sound=share) if json or not together else ()
    data, parts = diagnosis_json(diagnoses) if json else {}, diagnosis_view(loaded, diagnoses, top)
    deviate = any(diagnosis.deviates for diagnosis in diagnoses)
    if together:
        from ..compare.lots import explain_together
        from .views.together import together_json, together_view

        lot = explain_together(loaded, taken, ahead=json)
        data |= {"together": together_json(lot)}
        parts, deviate = together_view(loaded, lot, top), lot.deviates
    if json:
        show_json({**data, **fixture_json(correction), "left_out": list(left_out)})
    elif brief and not together:
        write("".join(f"{visible(verdict(diagnosis))}\n" for diagnosis in diagnoses))
    else:
        print_parts([*parts, *fixture_view(correction), *left_out_view(left_out)])
    return 1 if deviate else 0
