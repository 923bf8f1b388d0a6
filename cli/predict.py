"""``aswound predict``: what the bench should read."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from .options import BenchFile, DesignFile, Json, settings_of


def predict(
    design: DesignFile,
    against: Annotated[
        Path | None, typer.Option("--against", metavar="OTHER", help="Show another design beside it.")
    ] = None,
    change: Annotated[
        list[str] | None,
        typer.Option(
            "--set",
            metavar="PATH=VALUE",
            help='Show a change beside it, e.g. "step2.wraps=4" or "core.gap=0.3 mm"; repeatable.',
        ),
    ] = None,
    bench: BenchFile = None,
    builds: Annotated[int, typer.Option(min=100, max=200_000, help="Random builds for the spread.")] = 2000,
    seed: Annotated[int, typer.Option(min=0, help="Seed of the random builds.")] = 1,
    json: Json = False,
) -> int:
    """What the bench should read, how far honest production may stray, and what drives that."""
    from ..predict.designfile import load_design
    from ..predict.errors import DesignError, Fault
    from .output import show, show_json
    from .views.prediction import forecast, prediction_json, prediction_view

    if against is not None and change:
        raise DesignError(Fault("options", "--against and --set together", "one of the two"))
    before = load_design(design, bench=bench)
    after = None
    if against is not None:
        after = load_design(against, bench=bench)
    elif change:
        after = load_design(design, settings=settings_of(change), bench=bench)
    first = forecast(before, builds, seed)
    second = forecast(after, builds, seed) if after is not None else None
    if json:
        value = prediction_json(first)
        if second is not None:
            value["changed"] = prediction_json(second)
        show_json(value)
    else:
        label = str(against) if against is not None else ", ".join(change or [])
        show(prediction_view(first, second, label))
    return 0
