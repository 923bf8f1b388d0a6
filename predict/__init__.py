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
    from .catalogue.lookup import load_catalogue as load_catalogue
    from .circuit.bench import inductance_matrix as inductance_matrix
    from .circuit.bench import leakage as leakage
    from .circuit.bench import predict_bench as predict_bench
    from .circuit.bench import readings as readings
    from .circuit.leakage_statement import leakage_model as leakage_model
    from .design import Design as Design
    from .designfile.reader import load_design as load_design
    from .designfile.reader import parse_design as parse_design
    from .errors import AswoundError as AswoundError
    from .production.monte_carlo import spread as spread
    from .winding.layout import lay_out as lay_out

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

__all__ = list(_HOMES)


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(importlib.import_module(f".{_HOMES[name]}", __name__), name)
