"""Where a reading is not what turns and inductance factor would give, and why: said in words."""

from __future__ import annotations

import numpy as np

from ..design import BenchTest, Design
from .bench import BenchPrediction, inductance_matrix, predict_bench

NOTICEABLE = 0.03
"""Relative difference from which it is said."""


def turns_cautions(design: Design, prediction: BenchPrediction | None = None) -> tuple[str, ...]:
    """Sentences for a design of one build:

    - a ratio that differs from the turns by more than 3 % at the frequency of its test: flux of the driven
    winding that closes without passing through the other (k < 1; sections side by side, low permeability);
    - a winding whose low-frequency inductance differs from N² AL of a stated AL by more than 3 %: AL is
    measured on a coil that fills the window, and links flux across the window beside the core's.

    prediction : of the design, if it is at hand. Raises BuildError where the layout is outside the models.
    """
    nominal = predict_bench(design) if prediction is None else prediction
    found = [
        _ratio(design, test, float(value)) for test, value in zip(design.tests, nominal.values, strict=True)
    ]
    return tuple(text for text in (*found, *_inductance_factor(design)) if text)


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
        f"{test.name} reads {value:.4g} where the turns, {driven} : {sensed}, stand {driven / sensed:.4g} "
        f"({apart * 100:+.0f} %). "
        + (
            f"Flux of {drive} closes without passing through {sense}, as of windings side by side or on a "
            "core of low permeability: it does not count turns to better than that."
            if apart > 0
            else "A resonance, or where the core's ampere-turns drop, lifts what is sensed: it does not "
            "count turns to better than that."
        )
    )


def _inductance_factor(design: Design) -> list[str]:
    if design.core.al is None:
        return []
    own = np.atleast_3d(np.diagonal(np.asarray(inductance_matrix(design)), axis1=-2, axis2=-1)).ravel()
    shown = {test.drive[0].name for test in design.tests if _open_inductance(test)}
    found = []
    for winding, value in zip(design.windings, own, strict=True):
        expected = design.turns_of(winding.name) ** 2 * design.core.al
        apart = float(value) / expected - 1
        if winding.name in shown and abs(apart) > NOTICEABLE:
            found.append(
                f"{winding.name} alone has {apart * 100:+.0f} % against N² AL: AL is measured on a coil that "
                "fills the window; this winding links "
                f"{'more' if apart > 0 else 'less'} flux across the window, beside the core's, than that."
            )
    return found


def _open_inductance(test: BenchTest) -> bool:
    return test.measure == "inductance" and not test.short and len(test.drive) == 1
