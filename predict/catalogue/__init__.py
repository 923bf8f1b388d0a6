"""The rows that people choose from: cores, enamelled wires and core materials, each with its source.

This room reads rows and checks them; what a core of such dimensions does is computed in ``cores``.
"""

from .lookup import (
    Catalogue,
    awg_diameter,
    find_core,
    find_material,
    insulated_diameter,
    like,
    load_catalogue,
    nearest_rows,
)
from .rows import GRADES, CoreRecord, WireRecord, folded

__all__ = [
    "GRADES",
    "Catalogue",
    "CoreRecord",
    "WireRecord",
    "awg_diameter",
    "find_core",
    "find_material",
    "folded",
    "insulated_diameter",
    "like",
    "load_catalogue",
    "nearest_rows",
]
