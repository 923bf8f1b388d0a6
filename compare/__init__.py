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
    from .diagnosis.conclusion import Diagnosis as Diagnosis
    from .diagnosis.evidence import explain as explain
    from .lots.calibration import learn as learn
    from .lots.shared_causes import explain_together as explain_together
    from .readings.cells import Reading as Reading
    from .readings.file import load_readings as load_readings
    from .readings.file import parse_readings as parse_readings
    from .verdict.comparison import compare as compare

_HOMES = {
    "Diagnosis": "diagnosis.conclusion",
    "Reading": "readings.file",
    "compare": "verdict.comparison",
    "explain": "diagnosis.evidence",
    "explain_together": "lots.shared_causes",
    "learn": "lots.calibration",
    "load_readings": "readings.file",
    "parse_readings": "readings.file",
}

__all__ = list(_HOMES)


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(importlib.import_module(f".{_HOMES[name]}", __name__), name)
