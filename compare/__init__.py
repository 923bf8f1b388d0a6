"""What the bench did read, and why: readings against a design.

    from aswound.compare import load_readings, compare, explain
    readings = load_readings("samples/flyback-24w.csv", design)
    for diagnosis in explain(design, readings):
        print(diagnosis.sample, diagnosis.causes[0].title, diagnosis.causes[0].probability)

Names are handed on when first asked for, so that importing the package costs nothing.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from .calibration import learn
    from .comparison import compare
    from .diagnosis import Diagnosis
    from .evidence import explain
    from .readingsfile import Reading, load_readings, parse_readings
    from .shared_causes import explain_together

_HOMES = {
    "Diagnosis": "diagnosis",
    "Reading": "readingsfile",
    "compare": "comparison",
    "explain": "evidence",
    "explain_together": "shared_causes",
    "learn": "calibration",
    "load_readings": "readingsfile",
    "parse_readings": "readingsfile",
}

__all__ = [
    "Diagnosis",
    "Reading",
    "compare",
    "explain",
    "explain_together",
    "learn",
    "load_readings",
    "parse_readings",
]


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(importlib.import_module(f".{_HOMES[name]}", __name__), name)
