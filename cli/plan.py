"""``aswound plan``: the bench sheet."""

from __future__ import annotations

from typing import Annotated

import typer

from .options import BenchFile, DesignFile, Json


def plan(
    design: DesignFile,
    csv: Annotated[bool, typer.Option("--csv", help="Print an empty readings file instead.")] = False,
    samples: Annotated[str, typer.Option(metavar="NAMES", help="Samples of that file, with commas.")] = "A1",
    bench: BenchFile = None,
    json: Json = False,
) -> int:
    """The bench sheet: connections, corrections, expected reading and uncertainty, limits."""
    from ..predict.designfile import load_design
    from .output import show, show_json, write

    loaded = load_design(design, bench=bench)
    if csv:
        from ..compare.readingsfile import empty_template

        write(empty_template(loaded, [name.strip() for name in samples.split(",") if name.strip()] or ["A1"]))
        return 0
    from ..compare.plan import plan as bench_sheet
    from .views.sheet import plan_json, plan_view

    tests = bench_sheet(loaded)
    if json:
        show_json(plan_json(loaded, tests))
    else:
        show(plan_view(loaded, tests))
    return 0
