"""Turns that spill into a layer of their own, and how many wires in hand would avoid it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ..design import Design, WindStep
from ..errors import BuildError
from .layout import lay_out

SPILLED = 0.2
"""Turns in the last layer count as spilled up to this part of a full layer (judged)."""


def spill_cautions(design: Design) -> tuple[str, ...]:
    """A sentence for each step whose last layer holds no more than a fifth of a full one.

    It says what would fit, and proposes fewer wires in hand where that saves the layer. A layer of one turn
    lies on its own and may double the leakage of a short winding. The number is found by laying out the
    design (one build) with fewer wires in hand.

    Parameters
    ----------
    design : Design
        Design of one build.

    Returns
    -------
    tuple of str
        Sentences, one for each such step.

    Raises
    ------
    BuildError
        If the design itself does not fit.
    """
    counts = _layers(design)
    cautions = []
    for number, step in enumerate(design.build.steps):
        if not isinstance(step, WindStep) or step.layers is not None or step.thickness is not None:
            continue
        turns = counts.get(number, [])
        if len(turns) < 2 or turns[-1] > SPILLED * max(turns):
            continue
        spilled = int(turns[-1])
        fits = _fewer_in_hand(design, step.winding, number, len(turns))
        count = "1 turn" if spilled == 1 else f"{spilled} turns"
        text = (
            f"Step {number + 1} ({step.winding}) spills {count} into layer {len(turns)} (a full "
            f"layer holds {int(max(turns))}): so short a layer raises leakage and its scatter. "
        )
        in_hand = design.winding(step.winding).wire.in_hand
        if fits is not None:
            text += (
                f"{fits} in hand instead of {in_hand} would need {len(turns) - 1} (R ×{in_hand / fits:.3g})."
            )
        else:
            text += "Give the layer more room, or fewer or thinner turns."
        cautions.append(text)
    return tuple(cautions)


def _layers(design: Design) -> dict[int, list[float]]:
    """Turns of every layer, by build step (from 0)."""
    layout = lay_out(design)
    found: dict[int, list[float]] = {}
    for index, section in enumerate(layout.sections):
        if not section.shield and section.companion == 0:
            found.setdefault(section.step, []).append(float(np.asarray(layout.turns)[0, index]))
    return found


def _fewer_in_hand(design: Design, name: str, number: int, layers: int) -> int | None:
    """The largest number of wires in hand with which the step needs one layer less; None if there is none."""
    wire = design.winding(name).wire
    for fewer in range(wire.in_hand - 1, 0, -1):
        windings = tuple(
            replace(winding, wire=replace(wire, in_hand=fewer, twisted=wire.twisted and fewer > 1))
            if winding.name == name
            else winding
            for winding in design.windings
        )
        try:
            if len(_layers(replace(design, windings=windings)).get(number, [])) < layers:
                return fewer
        except BuildError:
            continue
    return None
