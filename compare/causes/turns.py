"""Wrong number of turns."""

from __future__ import annotations

from ...predict.design import Design
from .cause import COMMON, Cause, Variant, number_of, wind_steps, winding_names, with_step

TURN_WEIGHTS = {-2: 1.0, -1: 4.0, 1: 4.0, 2: 1.0}


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
        result.append(
            Variant(float(amount), weight, changed, f"{place} has {abs(amount)} {plural} {direction}")
        )
    return result


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
