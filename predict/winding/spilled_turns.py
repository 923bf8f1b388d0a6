"""Turns that spill into a layer of their own, and how many wires in hand would avoid it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ..design import Design, WindStep
from ..errors import BuildError
from .layout import lay_out

SPILLED = 0.2
"""Turns in the last layer count as spilled up to this part of a full layer (judged)."""


def spill_cautions(design: Design) -> tuple[str, ...]:
    """One caution about all steps whose last layer holds no more than a fifth of a full one.

    It says what would fit, and proposes fewer wires in hand where that saves the layer. A layer of one turn
    lies on its own and may double the leakage of a short winding. The number is found by laying out the
    design (one build) with fewer wires in hand.

    Parameters
    ----------
    design : Design of one build

    Returns
    -------
    tuple of str, one caution, which names every such step; none where no step spills

    Raises
    ------
    BuildError
        If the design itself does not fit.
    """
    spilled = _spilled(design)
    if not spilled:
        return ()
    scatter = "" if all(spill.etched for spill in spilled) else " and its scatter"
    if len(spilled) == 1:
        return (f"{spilled[0].words}: such a short layer raises leakage{scatter}. {spilled[0].remedy}.",)
    told = ". ".join(spill.words for spill in spilled)
    remedies: dict[str, list[str]] = {}
    for spill in spilled:
        remedies.setdefault(spill.remedy, []).append(f"step {spill.number + 1}")
    if len(remedies) == 1:
        helps = f"{next(iter(remedies))}."
    else:
        helps = " ".join(f"{what} ({' and '.join(where)})." for what, where in remedies.items())
    return (f"{told}: such short layers raise leakage{scatter}. {helps}",)


@dataclass(frozen=True, kw_only=True)
class _Spill:
    """A step (``number``, from 0) that spills ``turns`` into its layer number ``layers``, a full one of which
    holds ``full``; with ``fewer`` of its ``in_hand`` wires it would need a layer less, None: with none."""

    number: int
    winding: str
    turns: int
    layers: int
    full: int
    in_hand: int
    fewer: int | None
    etched: bool

    @property
    def words(self) -> str:
        count = "1 turn" if self.turns == 1 else f"{self.turns} turns"
        full = f"(a full layer holds {self.full})"
        if self.etched:
            return f"Step {self.number + 1} ({self.winding}) has layer {self.layers} for {count} {full}"
        return f"Step {self.number + 1} ({self.winding}) spills {count} into layer {self.layers} {full}"

    @property
    def remedy(self) -> str:
        """What helps, without the full stop."""
        if self.etched:
            return "Narrower tracks or less space between them would save that layer"
        if self.fewer is None:
            return "Give the layer more room, fewer turns or thinner wire"
        return (
            f"{self.fewer} in hand instead of {self.in_hand} would need {self.layers - 1} "
            f"(R ×{self.in_hand / self.fewer:.3g})"
        )


def _spilled(design: Design) -> list[_Spill]:
    """The steps whose last layer holds no more than a fifth of a full one."""
    counts = _layers(design)
    spills = []
    for number, step in enumerate(design.build.steps):
        if not isinstance(step, WindStep) or step.layers is not None or step.thickness is not None:
            continue
        turns = counts.get(number, [])
        if len(turns) < 2 or turns[-1] > SPILLED * max(turns):
            continue
        spills.append(
            _Spill(
                number=number,
                winding=step.winding,
                turns=int(turns[-1]),
                layers=len(turns),
                full=int(max(turns)),
                in_hand=design.winding(step.winding).wire.in_hand,
                etched=design.winding(step.winding).wire.track,
                fewer=_fewer_in_hand(design, step.winding, number, len(turns)),
            )
        )
    return spills


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
