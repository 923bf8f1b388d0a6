"""Where a reading is not what turns and inductance factor would give, and why, in words."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from ..design import BenchTest, Design, FloatArray, WindStep
from ..errors import BuildError
from ..winding import lay_out
from .bench import BenchPrediction, inductance_matrix, predict_bench
from .network import members_of
from .resonance import beyond_search

NOTICEABLE = 0.03
"""Relative difference above which a sentence is given (judged by what a reader would ask about; no verdict
depends on it)."""
SPEED_OF_LIGHT = 299_792_458.0
"""Of light in air, m/s (exact in vacuum: definition of the metre)."""
FEW = 1 / 3
"""Part of the circumference of the hole that turns side by side may cover and still count as few (judged)."""
MOST = 10
"""Number of turns above which they count as many (judged)."""
MOVES = 0.1
"""Change of a shorted reading above which a sentence is given (judged; no verdict depends on it)."""
_LOOSE = 1.2
"""Breadth of turns laid side by side by hand, over that of tight turns (judged)."""
_NARROWEST = math.radians(15)


def turns_cautions(design: Design, prediction: BenchPrediction | None = None) -> tuple[str, ...]:
    """Sentences about readings that differ from what the turns would give, for a design of one build.

    They are given for a ratio that differs from the turns by more than 3 % at the frequency of its test: flux
    of the driven winding closes without passing through the other (k < 1; sections side by side, low
    permeability). They are also given for a winding whose low-frequency inductance differs from N² AL of a
    stated AL by more than 3 %: AL is measured on a coil that fills the window, and includes flux across the
    window beside that of the core. And for a resonance at which the wire driven is longer than a tenth of a
    wave.

    Parameters
    ----------
    design : Design of one build
    prediction : BenchPrediction or None, its prediction, if at hand

    Raises
    ------
    BuildError
        Where the layout is outside the models.
    """
    nominal = predict_bench(design) if prediction is None else prediction
    cautions = [
        words(design, test, float(value))
        for words in (_ratio, _wave)
        for test, value in zip(design.tests, nominal.values, strict=True)
    ]
    return tuple(text for text in (*cautions, *_inductance_factor(design)) if text)


def _wave(design: Design, test: BenchTest, value: float) -> str:
    """A resonance at which the wire is no longer short against a wave in air."""
    if test.measure != "resonance" or beyond_search(test.measure, value):
        return ""
    layout, driven = lay_out(design), {member.name for member in members_of(design, test.drive)}
    lengths = layout.turns[0] * layout.turn_length[0]
    wire = sum(
        float(length)
        for length, section in zip(lengths, layout.sections, strict=True)
        if section.winding in driven
    )
    tenth = SPEED_OF_LIGHT / value / 10
    if wire <= tenth:
        return ""
    return (
        f"{test.name}: at {value / 1e6:.3g} MHz the wire that is driven, {wire:.3g} m, is longer than a "
        f"tenth of a wave, {tenth:.3g} m. Its turns then no longer act as one coil, and leads, meter and "
        "bench belong to it: take the resonance as rough."
    )


def _ratio(design: Design, test: BenchTest, value: float) -> str:
    windings = {winding.name for winding in design.windings}
    if test.measure != "ratio" or len(test.drive) != 1 or len(test.sense) != 1:
        return ""
    drive, sense = test.drive[0].name, test.sense[0].name
    if not {drive, sense} <= windings or not np.isfinite(value):
        return ""
    driven, sensed = design.turns_of(drive), design.turns_of(sense)
    apart = value / (driven / sensed) - 1
    if abs(apart) <= NOTICEABLE:
        return ""
    return (
        f"{test.name} reads {value:.4g}, but the turns, {driven} : {sensed}, give {driven / sensed:.4g} "
        f"({apart * 100:+.0f} %). "
        + (
            f"Some flux of {drive} closes without passing through {sense}, as with windings side by side or "
            "on a core of low permeability: this ratio cannot count turns more closely than that."
            if apart > 0
            else "A resonance, or the place where the core's ampere-turns drop, raises the sensed voltage: "
            "this ratio cannot count turns more closely than that."
        )
    )


def _inductance_factor(design: Design) -> list[str]:
    if design.core.al is None:
        return []
    inductances = np.atleast_3d(
        np.diagonal(np.asarray(inductance_matrix(design)), axis1=-2, axis2=-1)
    ).ravel()
    shown = {test.drive[0].name for test in design.tests if _open_inductance(test)}
    cautions = []
    for winding, value in zip(design.windings, inductances, strict=True):
        expected = design.turns_of(winding.name) ** 2 * design.core.al
        apart = float(value) / expected - 1
        if winding.name in shown and abs(apart) > NOTICEABLE:
            cautions.append(
                f"{winding.name} alone has {apart * 100:+.0f} % against N² AL: AL is measured on a coil that "
                "fills the window, and this winding links "
                f"{'more' if apart > 0 else 'less'} flux across the window than such a coil."
            )
    return cautions


def _open_inductance(test: BenchTest) -> bool:
    return test.measure == "inductance" and not test.short and len(test.drive) == 1


def ring_turn_cautions(design: Design, prediction: BenchPrediction | None = None) -> tuple[str, ...]:
    """A sentence for each winding with few turns on a ring, which are taken as spread evenly all round.

    It says what the shorted tests read if the turns lie side by side instead, found by predicting both: turns
    side by side form a sector of their own (``field.ring_leakage``). A single turn lies at one place either
    way, and the two models then differ by some 10 %; for two to eight turns evenly all round by 5 to 20 %
    (``tests/exact/test_few_turns.py``), which the sentence says.

    Parameters
    ----------
    design : Design of one build
    prediction : BenchPrediction or None, its prediction, if at hand
    """
    dimensions = design.core.dimensions
    shorted = [
        index for index, test in enumerate(design.tests) if test.short and test.measure == "inductance"
    ]
    if not dimensions.ring or not shorted:
        return ()
    nominal = predict_bench(design) if prediction is None else prediction
    hole, tops = dimensions.window[0], lay_out(design).step_tops[0]
    cautions = []
    for number, step in enumerate(design.build.steps):
        if not isinstance(step, WindStep) or step.sector is not None or step.companions:
            continue
        wire = design.winding(step.winding).wire
        turns = int(np.max(np.asarray(step.turns)))
        breadth = float(np.max(np.asarray(wire.overall))) * wire.in_hand * turns
        if turns > MOST or breadth > FEW * math.tau * hole:
            continue
        top = max(2 * breadth / max(turns, 1), float(tops[number]))
        arc = max(_LOOSE * breadth / max(hole - top, 1e-6), _NARROWEST)
        beside = _side_by_side(design, number, min(arc, math.tau))
        if beside is None:
            continue
        moved = _moved(design, shorted, nominal.values, beside)
        count = "1 turn" if turns == 1 else f"{turns} turns"
        text = (
            f"{step.winding} has {count} on a ring, taken as "
            f"{'lying free' if turns == 1 else 'spread evenly all round'}: leakage to about ±20 %."
        )
        if moved and turns > 1 and arc < math.tau:
            text += (
                f" Side by side on {math.degrees(arc):.0f}° they read {', '.join(moved)}. Spread and fix "
                "them as drawn, or state their sector."
            )
        cautions.append(text)
    return tuple(dict.fromkeys(cautions))


def _side_by_side(design: Design, number: int, arc: float) -> FloatArray | None:
    """The readings with the turns of one step on an arc (rad); None where they do not fit there."""
    steps = list(design.build.steps)
    step = steps[number]
    assert isinstance(step, WindStep)
    steps[number] = replace(step, sector=arc)
    try:
        return np.asarray(
            predict_bench(replace(design, build=replace(design.build, steps=tuple(steps)))).values
        )
    except BuildError:
        return None


def _moved(design: Design, test_indices: Sequence[int], before: FloatArray, after: FloatArray) -> list[str]:
    """Tests whose reading changes, and by how much."""
    return [
        f"{design.tests[test_index].name} ×{after[test_index] / before[test_index]:.2g}"
        for test_index in test_indices
        if before[test_index] != 0 and abs(after[test_index] / before[test_index] - 1) > MOVES
    ]
