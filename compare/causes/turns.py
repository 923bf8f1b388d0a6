"""Wrong number of turns."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ...predict.design import Design
from ...predict.layout import lay_out
from .cause import COMMON, Cause, Variant, number_of, wind_steps, winding_names, with_step

TURN_WEIGHTS = {-2: 1.0, -1: 4.0, 1: 4.0, 2: 1.0}
PRESSED = 0.08
"""Part of the pitch that a winder can win by pressing one more turn into a full layer (common practice, no
source)."""


def _variants(design: Design, place: str) -> list[Variant]:
    """In the last section of a series winding; in every section of a parallel one."""
    steps = wind_steps(design, place)
    chosen = steps if design.winding(place).sections == "parallel" else steps[-1:]
    result = []
    for amount, weight in TURN_WEIGHTS.items():
        changed = design
        for number in chosen:
            step = changed.build.steps[number]
            changed = with_step(changed, number, turns=int(number_of(step.turns)) + amount)  # type: ignore[union-attr]
        if min(number_of(changed.build.steps[number].turns) for number in chosen) < 1:  # type: ignore[union-attr]
            continue
        plural = "turn" if abs(amount) == 1 else "turns"
        direction = "too many" if amount > 0 else "too few"
        title = f"{place} has {abs(amount)} {plural} {direction}"
        ways = _ways(changed)
        result += [Variant(float(amount), weight / len(ways), way, title) for way in ways]
    return result


def _ways(design: Design) -> tuple[Design, ...]:
    """As laid by the rules; and pressed in by ``PRESSED``, where that saves a layer (the winder decides)."""
    pressed = replace(design, build=replace(design.build, allowance=design.build.allowance - PRESSED))
    plain, tight = lay_out(design), lay_out(pressed)
    same = plain.turns.shape == tight.turns.shape and np.array_equal(plain.turns, tight.turns)
    return (design,) if same else (design, pressed)


CAUSES = (
    Cause(
        name="turns",
        kind="turns",
        weight=COMMON,
        places=winding_names,
        variants=_variants,
        confirm=(
            "Measure the voltage ratio of {where} to another winding, best to one whose turns are certain; "
            "0.1 % resolves one turn of some hundred."
        ),
        remedy=(
            "Set and check the turns counter for {where}; state on the sheet where start and "
            "finish leave the bobbin."
        ),
        confusable=("wire", "gap"),
    ),
)
