"""Conductors: wrong wire, lost strands."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ...predict.design import Design, Winding
from .cause import COMMON, Cause, Variant, number_of, with_winding

GAUGE_STEP = 92 ** (1 / 39)
"""Ratio of the diameters of neighbouring AWG sizes (ASTM B258)."""


def _wire(design: Design, place: str) -> list[Variant]:
    nominal = number_of(design.winding(place).wire.diameter)
    result = []
    for steps in (-1.0, -0.5, 0.5, 1.0):
        ratio = GAUGE_STEP**steps

        def edit(winding: Winding, ratio: float = ratio) -> Winding:
            wire = winding.wire
            diameter = wire.diameter * ratio
            grown = (
                wire.overall * ratio
                if wire.kind == "litz"
                else np.asarray(wire.overall) + diameter - wire.diameter
            )
            return replace(winding, wire=replace(wire, diameter=float(diameter), overall=number_of(grown)))

        word = "thicker" if ratio > 1 else "thinner"
        title = (
            f"{place} is wound with {word} wire ({nominal * ratio * 1e3:.3g} mm instead of "
            f"{nominal * 1e3:.3g} mm)"
        )
        result.append(Variant(ratio, 1.0, with_winding(design, place, edit), title))
    return result


def _strand(design: Design, place: str) -> list[Variant]:
    in_hand = design.winding(place).wire.in_hand
    result = []
    for lost in (1, 2):
        if lost < in_hand:

            def edit(winding: Winding, lost: int = lost) -> Winding:
                return replace(winding, wire=replace(winding.wire, open_strands=lost))

            title = (
                f"{lost} of the {in_hand} wires in hand of {place} "
                f"{'does' if lost == 1 else 'do'} not conduct"
            )
            result.append(
                Variant(float(lost), 3.0 if lost == 1 else 1.0, with_winding(design, place, edit), title)
            )
    return result


CAUSES = (
    Cause(
        name="wire",
        kind="copper",
        weight=COMMON,
        places=lambda design: tuple(
            winding.name for winding in design.windings if winding.wire.kind not in ("foil", "track")
        ),
        variants=_wire,
        confirm=(
            "Measure the bare diameter of {where} with a micrometer; the other windings' "
            "resistances must be right, or it is temperature."
        ),
        remedy="Check the reel's label and the diameter before winding {where}.",
        confusable=("strand", "temperature"),
    ),
    Cause(
        name="strand",
        kind="copper",
        weight=COMMON,
        places=lambda design: tuple(winding.name for winding in design.windings if winding.wire.in_hand > 1),
        variants=_strand,
        confirm=(
            "Tin the ends of {where} again and re-read its resistance; test each wire of the "
            "bundle for continuity."
        ),
        remedy=("Count the wires in hand of {where} at both pins and see that every one takes the solder."),
        confusable=("wire",),
    ),
)
