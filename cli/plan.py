"""``aswound plan``: the bench sheet."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from .options import BenchFile, DesignFile, Json

if TYPE_CHECKING:
    from ..predict.design import Design


def plan_command(
    design: DesignFile,
    csv: Annotated[bool, typer.Option("--csv", help="Print an empty readings file instead.")] = False,
    samples: Annotated[
        str | None, typer.Option(metavar="NAMES", help="With --csv: names of the samples, with commas.")
    ] = None,
    limits: Annotated[
        bool, typer.Option("--limits", help="Propose limits for every test, and say what widens them.")
    ] = False,
    budget: Annotated[
        bool, typer.Option("--budget", help="Show every component of the bench's uncertainty in a table.")
    ] = False,
    faults: Annotated[
        bool, typer.Option("--faults", help="What these tests can see, and the one test that would add most.")
    ] = False,
    bench: BenchFile = None,
    json: Json = False,
) -> int:
    """The bench sheet: connections, corrections, expected reading and uncertainty, limits."""
    from ..predict.designfile import load_design
    from ..predict.errors import DesignError, Fault
    from .output import print_parts, show_json, write_data

    if csv and json:
        raise DesignError(Fault("options", "--csv and --json together", "one of the two"))
    if samples is not None and (limits or not csv):
        found = "--samples with --limits" if limits else "--samples without --csv"
        raise DesignError(Fault("options", found, "--csv --samples A1,A2"))
    if budget and (csv or limits or json):
        option = "--csv" if csv else "--limits" if limits else "--json"
        hint = "With --json the budget of every test is there anyway." if json else ""
        raise DesignError(Fault("options", f"--budget with {option}", "--budget alone", hint))
    if faults and (csv or limits or budget):
        raise DesignError(Fault("options", "--faults with another view of the plan", "--faults alone"))
    loaded = load_design(design, bench=bench)
    if faults:
        return _faults(loaded, json=json)
    if csv and not limits:
        from ..compare.readings import empty_template

        write_data(empty_template(loaded, (samples or "A1").split(",")))
        return 0
    from ..compare.plan import plan as bench_sheet
    from .views.proposed_limits import limits_csv, limits_view
    from .views.sheet import plan_json, plan_view

    tests = bench_sheet(loaded)
    if json:
        show_json(plan_json(loaded, tests, proposed=limits))
    elif csv:
        write_data(limits_csv(tests))
    elif limits:
        print_parts(limits_view(loaded, tests))
    else:
        print_parts(plan_view(loaded, tests, budgets=budget))
    return 0


def _faults(design: Design, *, json: bool) -> int:
    """What the tests of a design can see."""
    from ..compare.plan import fault_coverage
    from ..compare.plan import plan as bench_sheet
    from .output import print_parts, show_json
    from .views.faults_seen import coverage_json, coverage_view
    from .views.sheet import plan_json

    coverage = fault_coverage(design)
    if json:
        show_json({**plan_json(design, bench_sheet(design)), "faults": coverage_json(coverage)})
    else:
        print_parts(coverage_view(design, coverage))
    return 0
