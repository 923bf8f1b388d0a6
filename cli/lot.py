"""``aswound lot``: many samples of one design."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from .options import BenchFile, DesignFile, FixtureFile, Json, Map, Rule, corrected_by, rule_named


def lot(
    design: DesignFile,
    readings: Annotated[Path, typer.Argument(metavar="READINGS", help="Readings file (CSV) of all samples.")],
    column: Map = None,
    bench: BenchFile = None,
    fixture: FixtureFile = None,
    rule: Rule = "three-zone",
    json: Json = False,
) -> int:
    """Many samples: spread, capability with its confidence bound, drift, outliers."""
    from ..compare.lots import lot as statistics
    from ..compare.readings import load_readings
    from ..compare.verdict import RULES, finished_readings, limits_elsewhere, sweeps_apart
    from ..predict.designfile import load_design
    from .output import show, show_json
    from .views.fixture import fixture_json, fixture_view, left_out_view
    from .views.lot import lot_json, lot_view

    rule = rule_named(rule)
    loaded = load_design(design, bench=bench)
    taken, correction = corrected_by(loaded, load_readings(readings, loaded, column or ()), fixture)
    taken, left_out = finished_readings(loaded, taken)
    elsewhere = limits_elsewhere(loaded, taken)
    loaded, taken = sweeps_apart(loaded, taken)
    result = statistics(loaded, taken, rule=rule)
    if json:
        decision = {"decision_rule": {"name": rule, "statement": RULES[rule]}, "left_out": list(left_out)}
        show_json({**lot_json(result), **decision, **fixture_json(correction)})
    else:
        parts = lot_view(loaded, result, f"Limits by {RULES[rule]}.", elsewhere)
        show([*parts, *fixture_view(correction), *left_out_view(left_out)])
    return 1 if result.deviates else 0
