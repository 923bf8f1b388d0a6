"""``aswound compare``: predicted against read."""

from __future__ import annotations

from .options import (
    BenchFile,
    DesignFile,
    FixtureFile,
    Json,
    Read,
    ReadingsFile,
    Rule,
    corrected_by,
    readings_of,
    rule_named,
)


def compare(
    design: DesignFile,
    readings: ReadingsFile = None,
    read: Read = None,
    bench: BenchFile = None,
    fixture: FixtureFile = None,
    rule: Rule = "three-zone",
    json: Json = False,
) -> int:
    """Predicted against read, with both uncertainties, limits and the readings' consistency."""
    from ..compare.comparison import compare as compared
    from ..predict.designfile import load_design
    from .output import show, show_json
    from .views.comparison import comparison_json, comparison_view
    from .views.fixture import fixture_json, fixture_view

    rule = rule_named(rule)
    loaded = load_design(design, bench=bench)
    taken, correction = corrected_by(loaded, readings_of(loaded, readings, read), fixture)
    samples = compared(loaded, taken, rule=rule)
    if json:
        show_json({**comparison_json(samples), **fixture_json(correction)})
    else:
        show([*comparison_view(loaded, samples), *fixture_view(correction)])
    return 1 if any(sample.deviates for sample in samples) else 0
