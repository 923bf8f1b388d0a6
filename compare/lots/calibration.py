"""What known-good samples teach about a design: factors on the models, by generalised least squares.

y = f(θ) + G_θ z_θ + e in the logarithm, z_θ ~ N(0, 1) the four factors in units of what is not known of them
(the prior: the model's own errors), e all else: tolerances, link and leads, meter (``pooling``). With S the
covariance of the mean of the samples,

    z_θ = G_θᵀ S⁻¹ (ȳ − f),    cov = 1 − G_θᵀ S⁻¹ G_θ

(normal distributions, Bayes; textbooks), repeated around the last estimate, as the readings are not quite
straight in the factors. Tolerances are nuisances: what one sample's production may have done stays inside the
uncertainty that is learned; several samples average the part of it that differs among them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ...predict.circuit import readings as predicted_readings
from ...predict.design import Design, FloatArray
from ...predict.errors import Fault, ReadingsError
from ...predict.production import Factor, calibrated, shares_of
from ..diagnosis import case_of
from ..hypotheses import Background, forward, transform, wrapped
from ..readings import Reading
from ..verdict import evaluate, finished_readings
from .pooling import everything_read, lot_of, pooled_case

PARAMETERS = {
    "leakage": "model_leakage",
    "inductance": "model_inductance",
    "capacitance": "model_capacitance",
    "mean_turn": "mean_turn",
}
"""Key of [calibration] → the parameter whose design share is learned."""
ROUNDS = 3
LEAST_LEARNED = 0.05
"""A factor is learned where the readings take at least so much of its standard uncertainty away."""
BEARS = 0.25
"""A test is named as one that determines a factor where, alone, it takes at least so much of what the best
one takes."""
FAR = 3.0
"""Standard deviations of what was believed before, beyond which a factor is suspicious."""


@dataclass(frozen=True)
class LearnedFactor:
    """key : of [calibration]. factor : truth ÷ model. deviation : standard uncertainty for the next part,
    relative. prior : that of the model before. surprise : ln(factor) in standard deviations of what was
    believed before. tests : those that determine it, the most telling first."""

    key: str
    factor: float
    deviation: float
    prior: float
    surprise: float
    tests: tuple[str, ...]


@dataclass(frozen=True)
class Learned:
    """factors : those that the readings bear on. unlearned : (key, why) of the others. samples : how many.
    design : the design with the factors applied."""

    factors: tuple[LearnedFactor, ...]
    unlearned: tuple[tuple[str, str], ...]
    samples: int
    design: Design

    @property
    def suspicious(self) -> tuple[LearnedFactor, ...]:
        """The factors that lie further off than the model can honestly be."""
        return tuple(item for item in self.factors if abs(item.surprise) > FAR)


@dataclass(frozen=True)
class Posterior:
    """(F,) mean and (F, F) covariance of factors in units of their prior; alone : (F, T) part of the variance
    that each reading takes away by itself."""

    mean: FloatArray
    covariance: FloatArray
    alone: FloatArray


def posterior(residual: FloatArray, covariance: FloatArray, effect: FloatArray) -> Posterior:
    """What the readings say of factors z ~ N(0, 1).

    residual : (T,). covariance : (T, T) of the readings, the factors' own part included. effect : (F, T)
    change of the readings for one standard deviation of each factor.
    """
    gain = np.linalg.solve(covariance, effect.T).T
    left = np.eye(len(effect)) - gain @ effect.T
    alone = effect**2 / np.diag(covariance)
    return Posterior(gain @ residual, (left + left.T) / 2, alone)


def learn(design: Design, readings: Sequence[Reading]) -> Learned:
    """The factors of ``design`` as all samples of ``readings``, known to be good, show them.

    design : as the models give it, without a calibration. Readings before the core is in count where they are
    resistances. Raises ReadingsError where no reading bears on any factor, BuildError where the layout is
    outside the models.
    """
    taken, _ = finished_readings(design, readings)
    evaluation = evaluate(design, taken)
    read = evaluation.design
    last = {sample.sample: sample.read for sample in evaluation.samples}
    rows = tuple(last.values())
    whole = everything_read(read.tests, rows)
    if not whole:
        raise ReadingsError(
            Fault("the readings", "no usable reading", "readings of a known-good sample", "See compare.")
        )
    background, _ = forward(read, ())
    case, _ = pooled_case(
        lot_of(background, case_of(read, background, whole), rows), np.ones(len(rows), bool)
    )
    chosen = background.of(case.places)
    keys = [key for key, name in PARAMETERS.items() if name in chosen.names]
    effect, sizes = _effects(design, chosen, keys)
    base = case.base + _design_part(chosen, keys, effect)
    place = list(case.places)
    estimate = np.zeros(len(keys))
    residual = case.residual
    for _ in range(ROUNDS):
        now = calibrated_by(read, keys, np.exp(sizes * estimate))
        nominal = transform(read.tests, predicted_readings(now))[place]
        residual = wrapped(case.tests, case.y - nominal) + estimate @ effect
        estimate = posterior(residual, base, effect).mean
    found = posterior(residual, base, effect)
    return _learned(design, keys, sizes, found, [test.name for test in case.tests], len(rows))


def calibrated_by(design: Design, keys: Sequence[str], factors: FloatArray) -> Design:
    """The design with factors on its models; its tolerances stay."""
    plain = calibrated(
        design, [Factor(key, float(factor), 0.0) for key, factor in zip(keys, factors, strict=True)]
    )
    return replace(plain, tolerances=design.tolerances, cautions=design.cautions)


def _effects(design: Design, background: Background, keys: Sequence[str]) -> tuple[FloatArray, FloatArray]:
    """((F, T) change of the readings for one prior standard deviation of each factor, (F,) that deviation in
    the logarithm).

    The prior of a factor is the design share of its parameter; capacitance has that of the permittivity too,
    which no reading tells from the model's error.
    """
    rows, sizes = [], []
    for key in keys:
        name = PARAMETERS[key]
        whole = _deviation(design, name)
        own = whole * math.sqrt(shares_of(name).design)
        if key == "capacitance":
            own = math.hypot(own, _permittivity(design))
        rows.append(background.sensitivity[background.names.index(name)] * own / whole)
        sizes.append(own)
    size = len(background.nominal)
    return np.array(rows).reshape(len(keys), size), np.array(sizes)


def _design_part(background: Background, keys: Sequence[str], effect: FloatArray) -> FloatArray:
    """(T, T) what the covariance must change by so that the factors' part in it is ``effect``: of capacitance
    alone, where the permittivity's design share has become part of the factor."""
    change = np.zeros((effect.shape[1], effect.shape[1]))
    if "capacitance" in keys:
        mine = effect[keys.index("capacitance")]
        plain = background.sensitivity[background.names.index("model_capacitance")]
        change += np.outer(mine, mine) - np.outer(plain, plain)
        if "permittivity" in background.names:
            row = background.sensitivity[background.names.index("permittivity")]
            change -= shares_of("permittivity").design * np.outer(row, row)
    return change


def _deviation(design: Design, name: str) -> float:
    """Standard deviation of a parameter in the logarithm, from what one unit of it does."""
    from ...predict.production import parameters

    change = next(item.change for item in parameters(design) if item.name == name)
    moved = change(design, 1.0)
    if name == "mean_turn":
        ratio = np.asarray(moved.build.mean_turn_scale) / np.asarray(design.build.mean_turn_scale)
    else:
        field = name.removeprefix("model_")
        ratio = np.asarray(getattr(moved.model, field)) / np.asarray(getattr(design.model, field))
    return float(np.log(ratio).flat[0])


def _permittivity(design: Design) -> float:
    from ...predict.production import deviation, stated_or

    whole = stated_or(design.tolerances.permittivity, deviation("permittivity"))
    return whole * math.sqrt(shares_of("permittivity").design)


def _learned(
    design: Design,
    keys: Sequence[str],
    sizes: FloatArray,
    found: Posterior,
    tests: Sequence[str],
    samples: int,
) -> Learned:
    factors, unlearned = [], []
    for key in PARAMETERS:
        if key not in keys:
            unlearned.append((key, _no_error(design, key)))
            continue
        row = keys.index(key)
        left = math.sqrt(max(float(found.covariance[row, row]), 0.0))
        if left > 1 - LEAST_LEARNED:
            unlearned.append((key, "no reading bears on it enough"))
            continue
        size = float(sizes[row])
        alone = found.alone[row]
        order = [int(place) for place in np.argsort(-alone) if alone[place] >= BEARS * float(np.max(alone))]
        # What the next part adds to the factor's own uncertainty: the rest of the parameter's variance.
        rest = 0.0
        if key == "mean_turn":
            whole = _deviation(design, PARAMETERS[key])
            rest = whole * math.sqrt(1 - shares_of(PARAMETERS[key]).design)
        factors.append(
            LearnedFactor(
                key,
                math.exp(size * float(found.mean[row])),
                math.hypot(size * left, rest),
                math.hypot(size, rest),
                float(found.mean[row]),
                tuple(tests[place] for place in order),
            )
        )
    if not factors:
        raise ReadingsError(
            Fault(
                "the readings",
                "nothing that bears on leakage, inductance, capacitance or turn length",
                "readings of a known-good sample that the models' errors show in",
                "A shorted inductance shows the leakage model's error, a capacitance that of the "
                "capacitances.",
            )
        )
    applied = calibrated(design, [Factor(item.key, item.factor, item.deviation) for item in factors])
    return Learned(tuple(factors), tuple(unlearned), samples, applied)


def _no_error(design: Design, key: str) -> str:
    if key == "inductance" and design.core.al is not None:
        return (
            "the design states the core's inductance factor, whose tolerance is production's, not "
            "the model's "
            "(state spread.model_inductance to have it learned)"
        )
    return f"the design states no uncertainty of it ([spread] {PARAMETERS[key]} is 0)"


def section(learned: Learned) -> str:
    """The text of [calibration]: factors to five figures, uncertainties expanded (k = 2), with a comment."""
    samples = "one known-good sample" if learned.samples == 1 else f"{learned.samples} known-good samples"
    lines = [f"[calibration]  # learned from {samples}; uncertainties k = 2"]
    lines += [
        f'{item.key} = {{ factor = {item.factor:.5g}, uncertainty = "{200 * item.deviation:.3g} %" }}'
        for item in learned.factors
    ]
    return "\n".join(lines) + "\n"
