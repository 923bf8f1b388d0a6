"""What the bench should read: a design as a value, and its readings by forward models.

    from aswound.predict import load_design, readings, spread

    design = load_design("samples/flyback-24w.toml")
    predicted = readings(design)          # one value per test, SI

Names are loaded when they are first asked for, so importing the package costs nothing.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from .catalogue.lookup import load_catalogue
    from .circuit.bench import inductance_matrix, leakage, predict_bench, readings
    from .circuit.leakage_statement import leakage_model
    from .design import Design
    from .designfile.reader import load_design, parse_design
    from .errors import AswoundError
    from .production.monte_carlo import spread
    from .winding.layout import lay_out

_HOMES = {
    "AswoundError": "errors",
    "Design": "design",
    "inductance_matrix": "circuit.bench",
    "lay_out": "winding.layout",
    "leakage": "circuit.bench",
    "leakage_model": "circuit.leakage_statement",
    "load_catalogue": "catalogue.lookup",
    "load_design": "designfile.reader",
    "parse_design": "designfile.reader",
    "predict_bench": "circuit.bench",
    "readings": "circuit.bench",
    "spread": "production.monte_carlo",
}

__all__ = [
    "AswoundError",
    "Design",
    "inductance_matrix",
    "lay_out",
    "leakage",
    "leakage_model",
    "load_catalogue",
    "load_design",
    "parse_design",
    "predict_bench",
    "readings",
    "spread",
]


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(importlib.import_module(f".{_HOMES[name]}", __name__), name)
