"""Bare conductors that would touch: foils, tracks and shields that lie on each other without insulation."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ...design import Winding
from ..grammar import ParsedTable


def check_contacts(steps: Sequence[ParsedTable], windings: Mapping[str, Winding | None]) -> None:
    """Report every step of a bare conductor that lies on another one.

    Not reported: sections of one winding in parallel, which are joined anyway; blocks (``thickness`` and
    ``breadth``), whose insulation is not known; foils beside each other on the layer.

    Parameters
    ----------
    steps : Sequence[ParsedTable], all steps of the build in order, without faults of their own
    windings : Mapping[str, Winding or None], None for one with faults
    """
    for at, step in enumerate(steps):
        if not _bare(step, windings) or step.given.get("beside"):
            continue
        below = next((earlier for earlier in reversed(steps[:at]) if _carries(earlier, step)), None)
        if below is None or not _bare(below, windings) or _joined(step, below, windings):
            continue
        kind = "wind" if "wind" in step.given else "shield"
        step.fault(
            kind,
            f"{_name(step, windings)} on {_name(below, windings)}, both bare",
            "insulation between them: a step with tape, or a spacer",
            "They would touch.",
        )


def _bare(step: ParsedTable, windings: Mapping[str, Winding | None]) -> bool:
    if "shield" in step.given:
        return True
    if "wind" not in step.given or step["thickness"] is not None:
        return False
    named = [windings.get(name) for name in (step["wind"], *(step["with"] or ()))]
    return any(winding is not None and winding.wire.flat for winding in named)


def _carries(earlier: ParsedTable, step: ParsedTable) -> bool:
    """Whether the earlier step ``earlier`` lies under ``step``."""
    if "tape" in earlier.given and earlier["wraps"] == 0:
        return False
    if (earlier["leg"] or 1) != (step["leg"] or 1):
        return False
    chambers = (earlier["chamber"], step["chamber"])
    return None in chambers or chambers[0] == chambers[1]


def _joined(step: ParsedTable, below: ParsedTable, windings: Mapping[str, Winding | None]) -> bool:
    """Whether both are sections of one winding in parallel."""
    if "wind" not in step.given or "wind" not in below.given or step["wind"] != below["wind"]:
        return False
    winding = windings.get(step["wind"])
    return winding is not None and winding.sections == "parallel"


def _name(step: ParsedTable, windings: Mapping[str, Winding | None]) -> str:
    if "shield" in step.given:
        return f"the shield {step['name']}"
    winding = windings.get(step["wind"])
    kind = "foil" if winding is None or winding.wire.foil else "tracks"
    return f"{kind} {step['wind']}"
