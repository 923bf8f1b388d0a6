"""The turns that the steps of a design file give to its windings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ...design import Step, Winding, WindStep
from ...errors import Faults
from ..grammar import ParsedTable


def check_turns(steps: Sequence[ParsedTable], windings: Mapping[str, Winding | None], faults: Faults) -> None:
    """Check that every winding is wound, and that ``total_turns`` adds up.

    Parameters
    ----------
    steps : Sequence[ParsedTable]
    windings : Mapping[str, Winding or None], None for one with faults
    faults : Faults
    """
    for winding_name, winding in windings.items():
        place = f"winding {winding_name}"
        own_steps = [
            step
            for step in steps
            if "wind" in step.given and winding_name in (step["wind"], *(step["with"] or ()))
        ]
        if not own_steps:
            faults.add(
                place,
                "no step that winds it",
                f"a step {{ wind = '{winding_name}', turns = … }}, or 'with' in another's",
            )
        elif (
            winding is not None
            and winding.total_turns is not None
            and all(step["turns"] for step in own_steps)
        ):
            total = sum(step["turns"] for step in own_steps)
            if total != winding.total_turns:
                parts = " + ".join(str(step["turns"]) for step in own_steps)
                faults.add(
                    f"{place}: total_turns",
                    str(winding.total_turns),
                    f"{total}, the sum of its steps ({parts})",
                )


def unequal_sections(steps: Sequence[Step], windings: Mapping[str, Winding | None]) -> tuple[str, ...]:
    """A caution for every winding whose parallel sections have different turns.

    Parameters
    ----------
    steps : Sequence[Step]
    windings : Mapping[str, Winding or None], None for one with faults
    """
    cautions = []
    for winding_name, winding in windings.items():
        turns = [
            int(step.turns) for step in steps if isinstance(step, WindStep) and winding_name in step.windings
        ]
        if winding is not None and winding.sections == "parallel" and len(set(turns)) > 1:
            cautions.append(
                f"winding {winding_name}: its parallel sections have {', '.join(map(str, turns))} turns; "
                "a circulating current flows between them."
            )
    return tuple(cautions)
