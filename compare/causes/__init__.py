"""What can go wrong: one block for each cause, each a change of design or bench with its prior.

How probable each is, given readings, is the business of ``diagnosis``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from ...predict.design import Design
from . import bench, copper, core, layers, layout, process, sheet, turns, wiring
from .cause import Cause, Counts, Variant, with_step


def _of_a_core(cause: Cause) -> Cause:
    """The cause, which sits in no core where there is none (coils in air)."""

    def places(design: Design) -> Sequence[str]:
        return cause.places(design) if design.core.dimensions.permeable else ()

    return replace(cause, places=places)


_OF_MATERIAL = frozenset({"stress", "al-basis"})
"""Causes of other kinds that only a core has."""
_ALL: tuple[Cause, ...] = (
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
CATALOGUE = tuple(
    _of_a_core(cause) if cause.kind == "core" or cause.name in _OF_MATERIAL else cause for cause in _ALL
)
"""Every cause that ``explain`` weighs, apart from a bad reading (which the evidence handles itself)."""

__all__ = [
    "CATALOGUE",
    "Cause",
    "Counts",
    "Variant",
    "with_step",
]
