"""What can go wrong: one block for each cause, each a change of design or bench with its prior.

How probable each is, given readings, belongs to ``diagnosis``.
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
"""Every cause that ``explain`` weighs, besides a bad reading (which the evidence treats itself)."""

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
