"""What can go wrong: one block for each cause, each a change of design or bench with its prior.

How probable each is, given readings, is the business of ``diagnosis``.
"""

from __future__ import annotations

from . import bench, copper, core, layers, layout, process, sheet, turns, wiring
from .cause import COMMON, EVERYDAY, OCCASIONAL, RARE, Cause, Variant, number_of, with_step

CATALOGUE: tuple[Cause, ...] = (
    *turns.CAUSES,
    *core.CAUSES,
    *layout.CAUSES,
    *layers.CAUSES,
    *copper.CAUSES,
    *wiring.CAUSES,
    *process.CAUSES,
    *sheet.CAUSES,
    *bench.CAUSES,
)
"""Every cause that ``explain`` weighs, apart from a bad reading (which the evidence handles itself)."""

__all__ = [
    "CATALOGUE",
    "COMMON",
    "EVERYDAY",
    "OCCASIONAL",
    "RARE",
    "Cause",
    "Variant",
    "number_of",
    "with_step",
]
