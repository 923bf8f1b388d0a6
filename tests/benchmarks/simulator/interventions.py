"""What is done to a part between two readings of the same test, and what the meter then shows.

A clamp closes most of what stands open between badly seated halves, a little of ordinary residual gaps,
nothing of a ground gap or a crack; demagnetising ends a bias; a second link like the first doubles what
it adds; warming moves permeability and copper. Strengths are drawn (judged). The meter's calibration is
in both readings alike: the second one has its own scatter of re-connection only.
"""

from __future__ import annotations

import numpy as np

from .bench import display
from .parts import Part, Test

Random = np.random.Generator
WARMED = 25.0
SCATTER = 0.0008
"""Half width of the uniform scatter of re-connection, relative."""


def treated(part: Part, word: str, rng: Random) -> Part:
    """A copy of the part after what the word says was done. KeyError for a word that is not known."""
    after = part.copy()
    if word == "clamped":
        after.truth.unseated *= float(rng.uniform(0.05, 0.3))
        after.core.face_gap *= float(rng.uniform(0.7, 0.9))
        after.truth.crack *= float(rng.uniform(0.9, 1.0))
    elif word == "demagnetised":
        after.truth.bias = 1.0 + (after.truth.bias - 1.0) * float(rng.uniform(0.0, 0.08))
    elif word == "link doubled":
        henry, ohm = after.bench.short
        after.bench.short = (2 * henry, 2 * ohm)
    elif word == "warmed":
        after.truth.warmer += WARMED + float(rng.uniform(-2.0, 2.0))
    elif word == "four-wire":
        after.bench.lead = (0.0, 0.0)
    elif word not in ("read again", "moved clear"):
        raise KeyError(word)
    return after


def read_again(part: Part, word: str, test: Test, before: float, rng: Random) -> float:
    """What the meter shows for the test after the treatment; ``before``: what it showed."""
    plain = display(part, [test])[0]
    shown = display(treated(part, word, rng), [test])[0]
    return float(shown * (before / plain) * (1 + rng.uniform(-SCATTER, SCATTER)))
