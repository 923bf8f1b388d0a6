"""``aswound lot``: many samples of one design."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from .documents import shared_records
from .options import BenchFile, DesignFile, FixtureFile, Json, Map, Rule, corrected_by, rule_named

if TYPE_CHECKING:
    from ..predict.design import Design


def lot_command(
    design: DesignFile,
    readings: Annotated[Path, typer.Argument(metavar="READINGS", help="Readings file (CSV) of all samples.")],
    second_lot: Annotated[
        Path | None,
        typer.Argument(metavar="[OTHER]", help="A second lot to compare: another supplier, another date."),
    ] = None,
    column: Map = None,
    bench: BenchFile = None,
    fixture: FixtureFile = None,
    rule: Rule = "three-zone",
    json: Json = False,
) -> int:
    """Many samples: spread, capability with its confidence bound, drift, outliers; two lots compared."""
    from ..compare.lots import lot as statistics
    from ..compare.readings import load_readings
    from ..compare.verdict import RULES, finished_readings, limits_elsewhere, sweeps_apart
    from ..predict.designfile import load_design
    from .output import print_parts, show_json
    from .views.fixture import fixture_json, fixture_view, left_out_view
    from .views.lot import lot_json, lot_view

    rule = rule_named(rule)
    loaded = load_design(design, bench=bench)
    if second_lot is not None:
        return _two(loaded, readings, second_lot, column, fixture, rule, json=json)
    taken, correction = corrected_by(loaded, load_readings(readings, loaded, column or ()), fixture)
    taken, left_out = finished_readings(loaded, taken)
    elsewhere = limits_elsewhere(loaded, taken)
    loaded, taken = sweeps_apart(loaded, taken)
    result = statistics(loaded, taken, rule=rule)
    if json:
        show_json({**lot_json(result), **_decision(rule, left_out), **fixture_json(correction)})
    else:
        parts = lot_view(loaded, result, f"Limits by {RULES[rule]}.", elsewhere)
        print_parts([*parts, *fixture_view(correction), *left_out_view(left_out)])
    return 1 if result.deviates else 0


def _decision(rule: str, left_out: Sequence[str]) -> dict[str, Any]:
    from ..compare.verdict import RULES

    decision = shared_records.DecisionRule(name=rule, statement=RULES[rule])
    return {"decision_rule": decision, "left_out": list(left_out)}


def _two(
    design: Design,
    first: Path,
    second: Path,
    column: list[str] | None,
    fixture: Path | None,
    rule: str,
    *,
    json: bool,
) -> int:
    """Two files: what differs between them, and the likely cause."""
    from ..compare.lots import lot as statistics
    from ..compare.lots import two_lots
    from ..compare.readings import load_readings
    from ..compare.verdict import finished_readings, sweeps_apart
    from .output import print_parts, show_json
    from .views.lot import lot_json, two_lots_json, two_lots_view

    both = []
    for file in (first, second):
        taken, _ = corrected_by(design, load_readings(file, design, column or ()), fixture)
        both.append(finished_readings(design, taken)[0])
    apart, joined = sweeps_apart(design, (*both[0], *both[1]))
    first_readings, second_readings = joined[: len(both[0])], joined[len(both[0]) :]
    result = two_lots(apart, first_readings, second_readings, rule=rule)
    names = (str(first), str(second))
    if json:
        prefixed = [
            replace(item, sample=f"{label}: {item.sample}")
            for label, items in (("A", first_readings), ("B", second_readings))
            for item in items
        ]
        whole = lot_json(statistics(apart, prefixed, rule=rule))
        show_json({**whole, **_decision(rule, ()), **two_lots_json(result, names)})
    else:
        print_parts(two_lots_view(apart, result, names))
    return 1 if result.deviates else 0
