"""``aswound compare``: predicted against read."""

from __future__ import annotations

from .options import BenchFile, DesignFile, Json, Read, ReadingsFile, readings_of


def compare(
    design: DesignFile,
    readings: ReadingsFile = None,
    read: Read = None,
    bench: BenchFile = None,
    json: Json = False,
) -> int:
    """Predicted against read, with both uncertainties, limits and the readings' consistency."""
    from ..compare.comparison import compare as compared
    from ..predict.designfile import load_design
    from .output import show, show_json
    from .views.comparison import comparison_json, comparison_view

    loaded = load_design(design, bench=bench)
    samples = compared(loaded, readings_of(loaded, readings, read))
    if json:
        show_json(comparison_json(samples))
    else:
        show(comparison_view(loaded, samples))
    return 1 if any(sample.deviates for sample in samples) else 0
