"""The readings after coring, with the limits to hold them to and what a miss points to.

Limits are the specification's if the test has any, else those to propose (``limits``). The causes are
those that ``explain`` weighs, each a changed design. For a part with one, the logarithm of the reading
(for a phase the reading itself) is taken as normal about the changed prediction, with the variance of
production, model, set-up and meter,

    P(above) = Φ((y + δ − y_max)/s),     P(below) = Φ((y_min − y − δ)/s).

Causes that are more likely than not to exceed a limit are named, in the order of prior weight ×
probability.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ...predict.design import Design
from ...predict.production import BUILDS
from ..causes import CATALOGUE
from ..diagnosis import shares
from ..hypotheses import Background, Hypothesis, forward, transform
from ..verdict import below_normal
from .bench_sheet import PlannedTest, plan
from .process_readings import ProcessFault

NAMED = 3
"""Most causes named on each side of the limits (judged by what a reader can take in; no verdict depends on
it)."""
_LIKELY = 0.5
BY_DESIGN = "the design itself, whose prediction lies beyond this limit"
"""What a reading beyond a limit points to if the plain build does not meet that limit (judged by what a
reader can take in; no verdict depends on it)."""


@dataclass(frozen=True, kw_only=True)
class ShopReading:
    """One reading for the shop.

    Attributes
    ----------
    after : int or None
        Build step after which it is taken, index from 1; None: once all is wound.
    stage : str
        "winding", "before core" or "assembled".
    name : str
        Name of the test, or of what is read.
    measure : str
        What it measures.
    where : str
        Between which ends, in words.
    expected : float
        Nominal reading, SI.
    minimum, maximum : float or None
        Lower and upper limit, SI; None without one.
    specified : bool
        Whether the limits are those of the design file; else they are proposed.
    uncertainty : float
        Standard uncertainty of one reading, SI (0 for a count).
    frequency : float or None
        Frequency, Hz; None with direct current.
    temperature : float or None
        Temperature to which a resistance is brought, degC; else None.
    above, below : tuple[str, ...]
        What a reading above and below the limits points to.
    faults : tuple[ProcessFault, ...]
        What it would read with single mistakes.
    judged : bool
        False if the bench's uncertainty is too large a fraction of the reading for proposed limits
        (``UNJUDGED``), which are then None.
    """

    after: int | None
    stage: str
    name: str
    measure: str
    where: str
    expected: float
    minimum: float | None
    maximum: float | None
    specified: bool
    uncertainty: float
    frequency: float | None = None
    temperature: float | None = None
    above: tuple[str, ...] = ()
    below: tuple[str, ...] = ()
    faults: tuple[ProcessFault, ...] = ()
    judged: bool = True

    @property
    def missed(self) -> bool:
        """Whether the plain build itself lies outside the limits."""
        return not (
            (self.minimum is None or self.expected >= self.minimum)
            and (self.maximum is None or self.expected <= self.maximum)
        )

    @property
    def one_turn(self) -> float | None:
        """Mean probability that the limits stop one turn too many or too few, dimensionless; None if that was
        not tried."""
        single = [fault.outside for fault in self.faults if fault.kind == "turns" and abs(fault.size) == 1]
        return sum(single) / len(single) if single else None


def finished_checks(design: Design, *, builds: int = BUILDS, seed: int = 1) -> tuple[ShopReading, ...]:
    """Every test of a design as a reading of the finished part, in order.

    Parameters
    ----------
    design : Design
    builds : int, optional, random builds behind the proposed limits, count
    seed : int, optional, seed of the random builds

    Raises
    ------
    BuildError
        The layout is outside the models.
    """
    planned = plan(design, builds=builds, seed=seed)
    if not planned:
        return ()
    background, hypotheses = forward(design, CATALOGUE)
    prior = shares(hypotheses, lambda cause: 0.0 if cause.kind == "design" else cause.weight, 1.0)
    weighed = list(zip(hypotheses, prior.tolist(), strict=True))
    result = []
    for index, (planned_test, test) in enumerate(zip(planned, design.tests, strict=True)):
        specified = test.minimum is not None or test.maximum is not None
        low, high = test.minimum, test.maximum
        if not specified and planned_test.proposed is not None:
            low, high = planned_test.proposed.minimum, planned_test.proposed.maximum
        above, below = (
            _pointed_at(design, planned_test, index, background, weighed, limit, side)
            for limit, side in ((high, 1), (low, -1))
        )
        result.append(
            ShopReading(
                after=None,
                stage="assembled",
                name=planned_test.name,
                measure=planned_test.measure,
                where=planned_test.connections,
                expected=planned_test.expected,
                minimum=low,
                maximum=high,
                specified=specified,
                uncertainty=planned_test.measurement_uncertainty,
                frequency=planned_test.frequency,
                temperature=planned_test.temperature if planned_test.measure == "resistance" else None,
                above=above,
                below=below,
            )
        )
    return tuple(result)


def _twins(design: Design, index: int) -> tuple[list[int], tuple[str, ...]]:
    """Tests that differ from a test only in which of several windings wound together they sense, and the
    names of these. A fault elsewhere that moves twins apart does so by where it lies, which nobody knows."""
    test = design.tests[index]
    if len(test.sense) != 1:
        return [], ()
    names = next(
        (
            step.windings
            for step in design.build.steps
            if len(step.windings) > 1 and test.sense[0].name in step.windings
        ),
        (),
    )
    twins = [
        place
        for place, item in enumerate(design.tests)
        if place != index
        and len(item.sense) == 1
        and item.sense[0].name in names
        and (item.measure, item.drive, item.short) == (test.measure, test.drive, test.short)
    ]
    return twins, names


def _pointed_at(
    design: Design,
    planned: PlannedTest,
    index: int,
    background: Background,
    weighed: Sequence[tuple[Hypothesis, float]],
    limit: float | None,
    side: int,
) -> tuple[str, ...]:
    """What a reading beyond ``limit`` points to, among hypotheses ``weighed`` with their priors; ``side`` 1:
    above it, -1: below it."""
    phase = planned.measure == "phase"
    if limit is None or (limit <= 0 and not phase):
        return ()
    beyond = float(transform((design.tests[index],), np.array([limit]))[0])
    nominal = float(background.nominal[index])
    size = 1.0 if phase else max(abs(planned.expected), 1e-18)
    scatter = math.sqrt(
        float(background.covariance[index, index])
        + float(background.anchor[index]) ** 2
        + (planned.measurement_uncertainty / size) ** 2
    )
    if side * (nominal - beyond) > 0:
        return (BY_DESIGN,)
    twins, alike = _twins(design, index)
    scores = []
    for hypothesis, prior in weighed:
        shift = hypothesis.shift[:, index]
        chance = below_normal(side * (nominal + shift - beyond) / max(scatter, 1e-12))
        likely = np.flatnonzero(chance > _LIKELY)
        if prior > 0 and len(likely):
            node = int(likely[np.argmin(np.abs(shift[likely]))])
            if hypothesis.location not in alike and np.any(hypothesis.shift[node, twins] * shift[node] < 0):
                continue
            score = prior * float(np.sum(hypothesis.weights * chance))
            scores.append((score, hypothesis.title(design, node)))
    scores.sort(key=lambda pair: -pair[0])
    return tuple(title for _, title in scores[:NAMED])
