"""``interleave --json``: every arrangement in the order of its number, SI units."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from ...compare.plan import Comparison, against_present
from ...predict.design import SpacerStep, Step, TapeStep, WindStep
from ...predict.winding import shortfalls
from ..documents import interleave_document
from ..documents.record import ABSENT, as_object, record_of
from . import words
from .apart import apart_json
from .arrangement_cautions import interleave_cautions


def interleave_json(result: Comparison) -> dict[str, Any]:
    """The contract's object of ``interleave --json``: all arrangements, in the order of their numbers."""
    return as_object(
        interleave_document.InterleaveDocument(
            design=result.design.title,
            drive=words.port_text(result.questions.leakage[0].drive),
            working_frequency_Hz=result.questions.resistance.alternating_frequency,
            tests=[
                interleave_document.InterleaveTest(
                    name=test.name,
                    measure=test.measure,
                    drive=[member.name for member in test.drive],
                    short=[member.name for member in test.short],
                    sense=[member.name for member in test.sense],
                    frequency_Hz=test.frequency,
                )
                for test in result.questions.tests
            ],
            arrangements=[_arrangement_json(result, index) for index in range(len(result.arrangements))],
            left_out=interleave_document.InterleaveDocumentLeftOut(
                breadth=result.search.breadth,
                window=result.search.height,
                less_insulation=result.search.apart,
                search_ended_at_limit=result.search.cut_off,
                complete_up_to_sections=result.search.sections,
            ),
            cautions=list(interleave_cautions(result)),
        )
    )


def _arrangement_json(result: Comparison, index: int) -> interleave_document.InterleaveArrangement:
    arrangement, predictions, questions = result.arrangements[index], result.predictions, result.questions
    spread_of = result.spreads.get(index)
    first = len(questions.leakage)
    capacitance = [float(value) for value in predictions.capacitance[index]]
    return interleave_document.InterleaveArrangement(
        number=index + 1,
        order=list(arrangement.order),
        steps=[step_json(step) for step in arrangement.design.build.steps],
        windings=[
            interleave_document.InterleaveWinding(
                name=winding.name,
                sections=winding.sections,
                in_hand=winding.wire.in_hand,
                wire_length_m=float(length),
            )
            for winding, length in zip(
                arrangement.design.windings, predictions.wire_length[index], strict=True
            )
        ],
        leakage_H=float(predictions.leakage[index, 0]),
        leakages=[
            interleave_document.Leakage(test=test.name, leakage_H=float(value))
            for test, value in zip(questions.leakage, predictions.leakage[index], strict=True)
        ],
        capacitance_F=capacitance[0] if capacitance else None,
        capacitances=[
            interleave_document.Capacitance(test=test.name, capacitance_F=value)
            for test, value in zip(questions.capacitance, capacitance, strict=True)
        ],
        ac_resistance_ohm=float(predictions.resistance[index]),
        resonance_Hz=words.json_number(float(predictions.resonance[index]), "resonance"),
        fill=arrangement.fill,
        joints=arrangement.joints,
        insulated_faces=len(arrangement.faces),
        faces=[
            record_of(interleave_document.InterleaveFace, face, thickness_m=face.thickness)
            for face in arrangement.faces
        ],
        less_insulation=[
            interleave_document.LessInsulation(
                between=list(pair),
                thickness_m=after.apart,
                design_thickness_m=before.apart,
                less=list(shortfalls(before, after)),
            )
            for pair, (before, after) in (
                arrangement.less_apart(result.design).items() if result.rules.bare else ()
            )
        ],
        best=result.best[index],
        present=arrangement.present,
        alike=[alike_index + 1 for alike_index in result.alike.get(index, ())],
        spread=None
        if spread_of is None
        else interleave_document.InterleaveSpread(
            builds_as_designed=spread_of.share_as_designed,
            builds_apart=apart_json(spread_of.apart, 0, "inductance"),
            leakage_H=[float(spread_of.low[0]), float(spread_of.high[0])],
            ac_resistance_ohm=[float(spread_of.low[first]), float(spread_of.high[first])],
            capacitance_F=[float(spread_of.low[first + 1]), float(spread_of.high[first + 1])]
            if capacitance
            else None,
        ),
        against_present="as it is now" if arrangement.present else against_present(result, index),
    )


def step_json(step: Step) -> interleave_document.InterleaveStep:
    """A build step as data, SI."""
    chamber = ABSENT if step.chamber is None else step.chamber
    leg = ABSENT if step.leg == 1 else step.leg
    written = interleave_document.InterleaveStep(chamber=chamber, leg=leg)
    if isinstance(step, WindStep):
        together = list(step.companions) or ABSENT
        return replace(written, wind=step.winding, turns=int(np.asarray(step.turns)), with_=together)
    thickness = float(np.asarray(step.thickness))
    if isinstance(step, TapeStep):
        return replace(written, tape_m=thickness, wraps=int(np.asarray(step.wraps)))
    if isinstance(step, SpacerStep):
        return replace(written, spacer_m=thickness)
    return replace(written, shield_m=thickness, width_m=float(np.asarray(step.width)), name=step.name)
