"""A design as the shop builds it: steps with heights and wire to cut, and what can be read while it is
wound.

Limits for those readings are the business of ``compare.plan``; text and pages that of ``cli``.
"""

from .sheet_steps import BuildSheet, Operation, WireNeed, build_sheet
from .while_winding import SectionReading, joined, resistance_test, section_readings, wound_apart

__all__ = [
    "BuildSheet",
    "Operation",
    "SectionReading",
    "WireNeed",
    "build_sheet",
    "joined",
    "resistance_test",
    "section_readings",
    "wound_apart",
]
