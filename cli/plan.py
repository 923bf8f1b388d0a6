"""``aswound plan``: the bench sheet."""

from __future__ import annotations

from typing import Annotated

import typer

from .options import BenchFile, DesignFile, Json


def plan(
    design: DesignFile,
    csv: Annotated[bool, typer.Option("--csv", help="Print an empty readings file instead.")] = False,
    samples: Annotated[
        str | None, typer.Option(metavar="NAMES", help="With --csv: names of the samples, with commas.")
    ] = None,
    bench: BenchFile = None,
    json: Json = False,
) -> int:
    """The bench sheet: connections, corrections, expected reading and uncertainty, limits."""
    from ..predict.designfile import load_design
    from ..predict.errors import DesignError, Fault
    from .output import show, show_json, write_data

    if csv and json:
        raise DesignError(Fault("options", "--csv and --json together", "one of the two"))
    if samples is not None and not csv:
        raise DesignError(Fault("options", "--samples without --csv", "--csv --samples A1,A2"))
    loaded = load_design(design, bench=bench)
    if csv:
        from ..compare.readingsfile import empty_template

        write_data(empty_template(loaded, (samples or "A1").split(",")))
        return 0
    from ..compare.plan import plan as bench_sheet
    from .views.sheet import plan_json, plan_view

    tests = bench_sheet(loaded)
    if json:
        show_json(plan_json(loaded, tests))
    else:
        show(plan_view(loaded, tests))
    return 0
