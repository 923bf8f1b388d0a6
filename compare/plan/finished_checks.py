"""The readings after coring, with the limits to hold them against and what a miss would point to.

Limits are the specification's where the test has one, else those to propose (``limits``). The causes are
those that ``explain`` weighs, each a changed design; of a part with one, the logarithm of the reading (of a
phase the reading itself) is taken as normal about the changed prediction, with the variance of production,
model, set-up and meter,

    P(above) = Φ((y + δ − y_max)/s),     P(below) = Φ((y_min − y − δ)/s).

Those that pass a limit more likely than not are named, in the order of prior weight × probability.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from ...predict.design import Design
from ...predict.production import BUILDS
from ..causes import CATALOGUE
from ..diagnosis import shares
from ..hypotheses import Background, Hypothesis, forward, transform
from .bench_sheet import PlannedTest, plan

NAMED = 3
"""Causes named on each side of the limits, at most."""
_LIKELY = 0.5
BY_DESIGN = "the design itself, which is predicted beyond this limit"
"""What a reading beyond a limit points to that the plain build does not meet."""


@dataclass(frozen=True, kw_only=True)
class FinishedCheck:
    """One test of the finished part. minimum, maximum : its limits (SI), None: none. specified : whether they
    are the design file's. above, below : what a reading beyond that limit points to, likeliest first."""

    test: PlannedTest
    minimum: float | None
    maximum: float | None
    specified: bool
    above: tuple[str, ...]
    below: tuple[str, ...]


def finished_checks(design: Design, *, builds: int = BUILDS, seed: int = 1) -> tuple[FinishedCheck, ...]:
    """Every test of ``design`` as a check of the finished part, in order.

    builds, seed : random builds behind the proposed limits. Raises BuildError where the layout is outside the
    models.
    """
    planned = plan(design, builds=builds, seed=seed)
    if not planned:
        return ()
    background, hypotheses = forward(design, CATALOGUE)
    prior = shares(hypotheses, lambda cause: 0.0 if cause.kind == "design" else cause.weight, 1.0)
    weighed = list(zip(hypotheses, prior.tolist(), strict=True))
    result = []
    for place, (own, test) in enumerate(zip(planned, design.tests, strict=True)):
        specified = test.minimum is not None or test.maximum is not None
        low, high = test.minimum, test.maximum
        if not specified and own.proposed is not None:
            low, high = own.proposed.minimum, own.proposed.maximum
        above, below = (
            _pointed_at(design, own, place, background, weighed, limit, side)
            for limit, side in ((high, 1), (low, -1))
        )
        result.append(
            FinishedCheck(test=own, minimum=low, maximum=high, specified=specified, above=above, below=below)
        )
    return tuple(result)


def _pointed_at(
    design: Design,
    planned: PlannedTest,
    place: int,
    background: Background,
    weighed: Sequence[tuple[Hypothesis, float]],
    limit: float | None,
    side: int,
) -> tuple[str, ...]:
    """What a reading beyond ``limit`` points to, of hypotheses ``weighed`` with their priors; ``side`` 1:
    above it, -1: below it."""
    phase = planned.measure == "phase"
    if limit is None or (limit <= 0 and not phase):
        return ()
    beyond = float(transform((design.tests[place],), np.array([limit]))[0])
    nominal = float(background.nominal[place])
    size = 1.0 if phase else max(abs(planned.expected), 1e-18)
    scatter = math.sqrt(
        float(background.covariance[place, place])
        + float(background.anchor[place]) ** 2
        + (planned.measurement_uncertainty / size) ** 2
    )
    if side * (nominal - beyond) > 0:
        return (BY_DESIGN,)
    found = []
    for hypothesis, prior in weighed:
        shift = hypothesis.shift[:, place]
        chance = ndtr(side * (nominal + shift - beyond) / max(scatter, 1e-12))
        likely = np.flatnonzero(chance > _LIKELY)
        if prior > 0 and len(likely):
            node = int(likely[np.argmin(np.abs(shift[likely]))])
            score = prior * float(np.sum(hypothesis.weights * chance))
            found.append((score, hypothesis.title(design, node)))
    found.sort(key=lambda pair: -pair[0])
    return tuple(title for _, title in found[:NAMED])
