"""``interleave --json``: every arrangement in the order of its number, SI units."""

from __future__ import annotations

from typing import Any

import numpy as np

from ...compare.plan import Comparison, against_present
from ...predict.design import SpacerStep, Step, TapeStep, WindStep
from ...predict.winding import shortfalls
from . import words
from .apart import apart_json
from .arrangement_cautions import interleave_cautions


def interleave_json(result: Comparison) -> dict[str, Any]:
    """The contract's object of ``interleave --json``: all arrangements, in the order of their numbers."""
    return {
        "design": result.design.title,
        "drive": words.port_text(result.questions.leakage[0].drive),
        "working_frequency_Hz": result.questions.resistance.frequency,
        "tests": [
            {
                "name": test.name,
                "measure": test.measure,
                "drive": [member.name for member in test.drive],
                "short": [member.name for member in test.short],
                "sense": [member.name for member in test.sense],
                "frequency_Hz": test.frequency,
            }
            for test in result.questions.tests
        ],
        "arrangements": [_arrangement_json(result, place) for place in range(len(result.arrangements))],
        "left_out": {
            "breadth": result.search.breadth,
            "window": result.search.height,
            "less_insulation": result.search.apart,
            "search_ended_at_limit": result.search.cut_off,
            "complete_up_to_sections": result.search.sections,
        },
        "cautions": list(interleave_cautions(result)),
    }


def _arrangement_json(result: Comparison, place: int) -> dict[str, Any]:
    one, predictions, questions = result.arrangements[place], result.predictions, result.questions
    spread_of = result.spreads.get(place)
    first = len(questions.leakage)
    capacitance = [float(value) for value in predictions.capacitance[place]]
    return {
        "number": place + 1,
        "order": list(one.order),
        "steps": [step_json(step) for step in one.design.build.steps],
        "windings": [
            {
                "name": winding.name,
                "sections": winding.sections,
                "in_hand": winding.wire.in_hand,
                "wire_length_m": float(length),
            }
            for winding, length in zip(one.design.windings, predictions.wire_length[place], strict=True)
        ],
        "leakage_H": float(predictions.leakage[place, 0]),
        "leakages": [
            {"test": test.name, "leakage_H": float(value)}
            for test, value in zip(questions.leakage, predictions.leakage[place], strict=True)
        ],
        "capacitance_F": capacitance[0] if capacitance else None,
        "capacitances": [
            {"test": test.name, "capacitance_F": value}
            for test, value in zip(questions.capacitance, capacitance, strict=True)
        ],
        "ac_resistance_ohm": float(predictions.resistance[place]),
        "resonance_Hz": words.json_number(float(predictions.resonance[place]), "resonance"),
        "fill": one.fill,
        "joints": one.joints,
        "insulated_faces": len(one.faces),
        "faces": [
            {"inner": f.inner, "outer": f.outer, "thickness_m": f.thickness, "wraps": f.wraps}
            for f in one.faces
        ],
        "less_insulation": [
            {
                "between": list(pair),
                "thickness_m": after.apart,
                "design_thickness_m": before.apart,
                "less": list(shortfalls(before, after)),
            }
            for pair, (before, after) in (one.less_apart(result.design).items() if result.rules.bare else ())
        ],
        "best": result.best[place],
        "present": one.present,
        "alike": [other + 1 for other in result.alike.get(place, ())],
        "spread": None
        if spread_of is None
        else {
            "builds_as_designed": spread_of.share_as_designed,
            "builds_apart": apart_json(spread_of.apart, 0, "inductance"),
            "leakage_H": [float(spread_of.low[0]), float(spread_of.high[0])],
            "ac_resistance_ohm": [float(spread_of.low[first]), float(spread_of.high[first])],
            "capacitance_F": [float(spread_of.low[first + 1]), float(spread_of.high[first + 1])]
            if capacitance
            else None,
        },
        "against_present": "as it is now" if one.present else against_present(result, place),
    }


def step_json(step: Step) -> dict[str, Any]:
    """A build step as data, SI."""
    place: dict[str, Any] = {}
    if step.chamber is not None:
        place["chamber"] = step.chamber
    if step.leg != 1:
        place["leg"] = step.leg
    if isinstance(step, WindStep):
        together = {"with": list(step.companions)} if step.companions else {}
        return {"wind": step.winding, "turns": int(np.asarray(step.turns)), **together, **place}
    thickness = float(np.asarray(step.thickness))
    if isinstance(step, TapeStep):
        return {"tape_m": thickness, "wraps": int(np.asarray(step.wraps)), **place}
    if isinstance(step, SpacerStep):
        return {"spacer_m": thickness, **place}
    return {"shield_m": thickness, "width_m": float(np.asarray(step.width)), "name": step.name, **place}
