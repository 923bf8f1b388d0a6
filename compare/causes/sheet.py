"""The design itself: the sheet is wrong, not the part. Several parts then deviate alike."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ...predict.design import Design, first_build
from .cause import RARE, Cause, Variant, has_window, the_core

TURN_RATIOS = (0.90, 0.93, 0.96, 1.04, 1.07, 1.10)
BREADTH_RATIOS = (0.85, 0.90, 0.95, 1.05)
AL_RATIOS = (0.70, 0.80, 0.90, 1.11, 1.25, 1.43)
"""Ratios of the part to what the sheet says: length of a turn, breadth between the flanges, AL (judged)."""
ALIKE = "If all samples deviate alike the sheet is wrong, not the part. "


def _mean_turn(design: Design, location: str) -> list[Variant]:
    result = []
    for ratio in TURN_RATIOS:
        build = replace(design.build, mean_turn_scale=first_build(design.build.mean_turn_scale) * ratio)
        title = f"the mean length of a turn is ×{ratio:.2f} of what the sheet gives"
        result.append(Variant(ratio, 1.0, replace(design, build=build), title))
    return result


def _layers_between_flanges(design: Design) -> tuple[str, ...]:
    bobbin = design.bobbin
    plain = bobbin.chamber_count == 1 and not bobbin.chambers
    return ("core",) if has_window(design) and design.build.direction == "out" and plain else ()


def _effective_breadth(design: Design, location: str) -> list[Variant]:
    """Through the flanges: breadth that a flange takes is lost to the layers. A larger breadth needs flanges
    that can give it."""
    flange = first_build(design.bobbin.flange)
    room = first_build(design.core.dimensions.window[1]) - 2 * flange
    result = []
    for ratio in BREADTH_RATIOS:
        changed = flange + (1.0 - ratio) * room / 2
        if changed >= 0:
            bobbin = replace(design.bobbin, flange=changed)
            title = f"the breadth to be wound is ×{ratio:.2f} of what the sheet says"
            result.append(Variant(ratio, 1.0, replace(design, bobbin=bobbin), title))
    return result


def _al_basis(design: Design, location: str) -> list[Variant]:
    result = []
    for ratio in AL_RATIOS:
        core = replace(design.core, al_scale=np.multiply(design.core.al_scale, ratio).item())
        title = (
            f"the core's permeance is ×{ratio:.2f} of what the sheet's figures give"
            if design.core.al is None
            else f"the sheet's inductance factor is of another set: the core has ×{ratio:.2f} of it"
        )
        result.append(Variant(ratio, 1.0, replace(design, core=core), title))
    return result


CAUSES = (
    Cause(
        name="mean-turn",
        kind="design",
        weight=RARE,
        places=the_core,
        variants=_mean_turn,
        confirm=(ALIKE + "Unwind ten turns of one and measure their length."),
        remedy="Correct wall, bulge and turn length on the sheet; the part need not change.",
        confusable=("temperature", "conductor"),
    ),
    Cause(
        name="effective-breadth",
        kind="design",
        weight=RARE,
        places=_layers_between_flanges,
        variants=_effective_breadth,
        confirm=(ALIKE + "Measure the bobbin between its flanges and the layers of a part cut open."),
        remedy="Correct flanges and margins on the sheet; the part need not change.",
        confusable=("margin", "insulation", "bunched"),
    ),
    Cause(
        name="al-basis",
        kind="design",
        weight=RARE,
        places=the_core,
        variants=_al_basis,
        confirm=(ALIKE + "Read a core set by itself with a coil of 100 turns."),
        remedy="Correct inductance factor, gap or grade on the sheet; order the set by that factor.",
        confusable=("gap", "material", "unseated"),
    ),
)
