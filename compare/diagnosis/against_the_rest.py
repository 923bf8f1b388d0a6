"""The reading that the others contradict, where each by itself agrees with the design.

Readings of one part vary together: all inductances follow one core. Each can lie well within production while
their differences do not. With the residuals r and their covariance S0, the residual of reading i given all
others is normal, with

    e_i = (S0⁻¹ r)_i / (S0⁻¹)_ii        and        s_i = 1/√(S0⁻¹)_ii

(conditional distribution of jointly normal variables; textbooks).
"""

from __future__ import annotations

import math

import numpy as np

from ..verdict import DEVIATES
from .conclusion import OddReading
from .entries import Scene


def odd_reading(scene: Scene) -> OddReading | None:
    """The reading that is furthest from what all others lead one to expect.

    Parameters
    ----------
    scene : Scene
        Readings of one sample and their scores as designed.

    Returns
    -------
    OddReading or None
        None where a reading deviates by itself (that says it better), has the wrong sign, or where no reading
        is further than ``DEVIATES`` standard deviations from the others.
    """
    case = scene.case
    if len(case.tests) < 2 or case.signs.any():
        return None
    if any(score is not None and abs(score) > DEVIATES for score in scene.scores.values()):
        return None
    precision = np.linalg.inv(case.base)
    sharp = np.sqrt(np.diagonal(precision))
    scores = precision @ case.residual / sharp
    index = int(np.argmax(np.abs(scores)))
    if abs(scores[index]) <= DEVIATES:
        return None
    uncertainty = float(1 / sharp[index])
    read, expected = float(case.y[index]), float(case.y[index] - scores[index] * uncertainty)
    if not case.frame.phase[index]:
        sign = float(scene.background.signs[case.test_indices[index]])
        read, expected = sign * math.exp(read), sign * math.exp(expected)
    return OddReading(
        name=case.tests[index].name,
        measure=case.tests[index].measure,
        expected=expected,
        uncertainty=uncertainty,
        read=read,
        score=float(scores[index]),
    )
