"""``aswound explain``: which construction choice, or bench mistake, most likely causes a deviation."""

from __future__ import annotations

from typing import Annotated

import typer

from .options import BenchFile, DesignFile, Json, Read, ReadingsFile, readings_of


def explain(
    design: DesignFile,
    readings: ReadingsFile = None,
    read: Read = None,
    bench: BenchFile = None,
    top: Annotated[int, typer.Option(min=1, help="Causes to list for each sample.")] = 5,
    json: Json = False,
) -> int:
    """Which construction choice most likely causes a deviation, how sure, and what to tell the shop."""
    from ..compare.evidence import explain as explained
    from ..predict.designfile import load_design
    from .output import show, show_json
    from .views.diagnosis import diagnosis_json, diagnosis_view

    loaded = load_design(design, bench=bench)
    diagnoses = explained(loaded, readings_of(loaded, readings, read))
    if json:
        show_json(diagnosis_json(diagnoses))
    else:
        show(diagnosis_view(loaded, diagnoses, top))
    return 1 if any(diagnosis.deviates for diagnosis in diagnoses) else 0
