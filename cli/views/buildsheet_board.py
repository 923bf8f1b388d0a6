"""The build sheet of a board: tracks are stacked, not wound, so its rows are short, and what all layers have
in common is said once."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...compare.plan import ShopReading
from ...predict.design import Design, WindStep
from ...predict.notation import format_quantity
from ...predict.shop import Operation
from .buildsheet_steps import ShopSheet, StepRow, step_rows


@dataclass(frozen=True, kw_only=True)
class BoardRow:
    """One step of a board in words.

    Attributes
    ----------
    step : StepRow, the step as on any sheet
    work : str, what is laid, without the track's size
    turns : str, turns, layers, and what lies between these
    ends : str, direction, and from where to where
    """

    step: StepRow
    work: str
    turns: str
    ends: str


def on_board(design: Design) -> bool:
    """Whether everything that conducts is etched on boards laid flat."""
    return design.etched and design.build.direction == "up" and not design.shields


def board_rows(whole: ShopSheet) -> list[BoardRow]:
    """Every step of a board as a row."""
    design = whole.build.design
    return [
        BoardRow(
            step=row,
            work=_work(operation) or row.work,
            turns=_turns(design, operation, row),
            ends=_ends(design, operation),
        )
        for operation, row in zip(whole.build.operations, step_rows(whole), strict=True)
    ]


def tracks_of(design: Design) -> list[str]:
    """The track of every winding, and how far it keeps from the edges of the board."""
    told = []
    for winding in design.windings:
        margins = {
            float(np.asarray(design.build.margin if step.margin is None else step.margin))
            for step in design.build.steps
            if isinstance(step, WindStep) and winding.name in step.windings
        }
        size = winding.wire.label or winding.wire.kind
        each = " and ".join(f"{margin * 1e3:.2f} mm" for margin in sorted(margins))
        told.append(f"{winding.name}: {size}; {each} from each edge of the board")
    return told


def read_on_board(whole: ShopSheet) -> tuple[list[ShopReading], list[str]]:
    """The readings that have a box on the sheet of a board, and the names of those that the bench cannot
    judge. Every board is read by itself, and all in series at the end; not the first ones in series."""
    stacked = [
        item for item in whole.readings if item.stage == "winding" and "sections 1 to" not in item.name
    ]
    kept = [item for item in whole.readings if item.stage != "winding" or (item in stacked and item.judged)]
    return kept, [item.name for item in stacked if not item.judged]


def _work(operation: Operation) -> str:
    told = []
    for section in operation.sections:
        part = f", section {section.ordinal} of {section.count}" if section.count > 1 else ""
        told.append(f"{section.winding}{part}")
    return f"Lay {' with '.join(told)}" if told else ""


def _turns(design: Design, operation: Operation, row: StepRow) -> str:
    step = operation.step
    if not isinstance(step, WindStep):
        return row.turns
    between = design.build.interlayer if step.interlayer is None else step.interlayer
    thickness = float(np.asarray(between))
    if len(operation.sections[0].layers) < 2 or thickness == 0:
        return row.turns
    return f"{row.turns}, {format_quantity(thickness, 'm', 3)} between"


def _ends(design: Design, operation: Operation) -> str:
    told = []
    for section in operation.sections:
        winding = design.winding(section.winding)
        way = "clockwise" if winding.turning == "cw" else "counter-clockwise"
        start, finish = (f"pin {pin}" if pin else "(no pin)" for pin in (winding.start, winding.finish))
        if winding.sections == "series":
            start = start if section.ordinal == 1 else f"section {section.ordinal - 1}"
            finish = finish if section.ordinal == section.count else f"section {section.ordinal + 1}"
        name = f"{section.winding}: " if len(operation.sections) > 1 else ""
        told.append(f"{name}{way}, {start} → {finish}")
    return "; ".join(told)
