"""The rows that people choose from: cores, enamelled wires and core materials, each with its source.

This room reads rows and checks them; what a core of such dimensions does is computed in ``cores``.
"""

from .lookup import Catalogue, awg_diameter, find_core, find_material, like, load_catalogue, nearest_rows
from .rows import BUILDS, GRADES, CoreRecord, WireRecord, folded
from .wire_builds import insulated_diameter

__all__ = [
    "BUILDS",
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
