"""A design as the shop builds it: steps with heights and wire to cut, and what can be read while it is wound.

Limits for those readings are set in ``compare.plan``; text and pages are made in ``cli``.
"""

from .materials import BillLine, Cut, bill_of_material, reserve_of, tail_of, wire_cuts
from .sheet_steps import BuildSheet, Operation, build_sheet
from .while_winding import SectionReading, joined, resistance_test, section_readings, wound_apart

__all__ = [
    "BillLine",
    "BuildSheet",
    "Cut",
    "Operation",
    "SectionReading",
    "bill_of_material",
    "build_sheet",
    "joined",
    "reserve_of",
    "resistance_test",
    "section_readings",
    "tail_of",
    "wire_cuts",
    "wound_apart",
]
