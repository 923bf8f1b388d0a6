"""``aswound lot``: many samples of one design."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from .options import BenchFile, DesignFile, Json


def lot(
    design: DesignFile,
    readings: Annotated[Path, typer.Argument(metavar="READINGS", help="Readings file (CSV) of all samples.")],
    bench: BenchFile = None,
    json: Json = False,
) -> int:
    """Many samples: spread, capability with its confidence bound, drift, outliers."""
    from ..compare.lot import lot as statistics
    from ..compare.readingsfile import load_readings
    from ..predict.designfile import load_design
    from .output import show, show_json
    from .views.lot import lot_json, lot_view

    loaded = load_design(design, bench=bench)
    result = statistics(loaded, load_readings(readings, loaded))
    if json:
        show_json(lot_json(result))
    else:
        show(lot_view(loaded, result))
    return 1 if result.deviates else 0
