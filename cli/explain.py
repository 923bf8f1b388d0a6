"""``aswound explain``: which construction choice, or bench mistake, most likely causes a deviation."""

from __future__ import annotations

from typing import Annotated

import typer

from .options import (
    BenchFile,
    DesignFile,
    FixtureFile,
    Json,
    Read,
    ReadingsFile,
    corrected_by,
    readings_of,
    share_of,
)


def explain(
    design: DesignFile,
    readings: ReadingsFile = None,
    read: Read = None,
    bench: BenchFile = None,
    top: Annotated[int, typer.Option(min=1, help="Causes to list for each sample.")] = 5,
    sound: Annotated[
        str, typer.Option(help="How many of such parts are sound, before they are read (running lot: 95%).")
    ] = "20 %",
    fixture: FixtureFile = None,
    json: Json = False,
) -> int:
    """Which construction choice most likely causes a deviation, how sure, and what to tell the shop."""
    from ..compare.evaluation import sweeps_apart
    from ..compare.evidence import explain as explained
    from ..compare.stages import finished_readings
    from ..predict.designfile import load_design
    from .output import show, show_json
    from .views.diagnosis import diagnosis_json, diagnosis_view
    from .views.fixture import fixture_json, fixture_view, left_out_view

    loaded = load_design(design, bench=bench)
    taken, correction = corrected_by(loaded, readings_of(loaded, readings, read), fixture)
    taken, left_out = finished_readings(loaded, taken)
    loaded, taken = sweeps_apart(loaded, taken)
    diagnoses = explained(loaded, taken, sound=share_of("--sound", sound))
    if json:
        show_json({**diagnosis_json(diagnoses), **fixture_json(correction), "left_out": list(left_out)})
    else:
        parts = diagnosis_view(loaded, diagnoses, top)
        show([*parts, *fixture_view(correction), *left_out_view(left_out)])
    return 1 if any(diagnosis.deviates for diagnosis in diagnoses) else 0
