"""``aswound explain``: which construction choice, or bench mistake, most likely causes a deviation."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated

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

if TYPE_CHECKING:
    from ..compare.readings import FixtureCorrection, Reading
    from ..predict.design import Design


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
    from .views.fixture import fixture_json, fixture_view, left_out_view
    from .views.page import visible

    loaded = load_design(design, bench=bench)
    taken, correction = corrected_by(loaded, readings_of(loaded, readings, read, column, sample), fixture)
    taken, left_out = finished_readings(loaded, taken)
    loaded, taken = sweeps_apart(loaded, taken)
    share = share_of("--sound", sound)
    if together:
        return _together(loaded, taken, left_out, correction, top, share, json=json)
    diagnoses = explained(loaded, taken, sound=share)
    if json:
        from .views.diagnosis_data import diagnosis_json

        show_json({**diagnosis_json(diagnoses), **fixture_json(correction), "left_out": list(left_out)})
    elif brief:
        write("".join(f"{visible(verdict(diagnosis))}\n" for diagnosis in diagnoses))
    else:
        parts = diagnosis_view(loaded, diagnoses, top)
        print_parts([*parts, *fixture_view(correction), *left_out_view(left_out)])
    return 1 if any(diagnosis.deviates for diagnosis in diagnoses) else 0


def _together(
    design: Design,
    readings: Sequence[Reading],
    left_out: tuple[str, ...],
    correction: FixtureCorrection | None,
    top: int,
    sound: float,
    *,
    json: bool,
) -> int:
    from ..compare.diagnosis import explain as explained
    from ..compare.lots import explain_together
    from .output import print_parts, show_json
    from .views.diagnosis_data import diagnosis_json
    from .views.fixture import fixture_json, fixture_view, left_out_view
    from .views.together import together_json, together_view

    diagnosis = explain_together(design, readings, ahead=json)
    if json:
        each = diagnosis_json(explained(design, readings, sound=sound))
        rest = {**fixture_json(correction), "left_out": list(left_out)}
        show_json({**each, "together": together_json(diagnosis), **rest})
    else:
        parts = together_view(design, diagnosis, top)
        print_parts([*parts, *fixture_view(correction), *left_out_view(left_out)])
    return 1 if diagnosis.deviates else 0
