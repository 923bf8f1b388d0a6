"""What known-good samples teach about a design: factors on the models, by generalised least squares.

y = f(θ) + G_θ z_θ + e in the logarithm, z_θ ~ N(0, 1) the four factors that all readings of a kind share and
the errors of pairs of windings and of single readings (``own_errors``), in units of what is not known of them
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
from dataclasses import replace

import numpy as np

from ...predict.circuit import readings as predicted_readings
from ...predict.design import Design, FloatArray, OwnFactor
from ...predict.errors import Fault, ReadingsError
from ...predict.production import (
    Factor,
    calibrated,
    reading_errors,
    shares_of,
)
from ..diagnosis import case_of
from ..hypotheses import Background, forward, transform, wrapped
from ..readings import Reading
from ..verdict import evaluate, finished_readings
from .learned import Learned, LearnedFactor
from .learned_own import LEAST_LEARNED, FactorPosterior, learned_of_own
from .pooling import everything_read, lot_of, pooled_case

PARAMETERS = {
    "leakage": "model_leakage",
    "inductance": "model_inductance",
    "capacitance": "model_capacitance",
    "mean_turn": "mean_turn",
}
"""Key of [calibration] → the parameter whose design share is learned."""
ROUNDS = 3
BEARS = 0.25
"""A test is named as one that determines a factor where, alone, it takes at least so much of what the best
one takes."""


def factor_posterior(residual: FloatArray, covariance: FloatArray, effect: FloatArray) -> FactorPosterior:
    """What the readings say of factors z ~ N(0, 1).

    residual : (T,). covariance : (T, T) of the readings, the factors' own part included. effect : (F, T)
    change of the readings for one standard deviation of each factor.
    """
    gain = np.linalg.solve(covariance, effect.T).T
    left = np.eye(len(effect)) - gain @ effect.T
    alone = effect**2 / np.diag(covariance)
    return FactorPosterior(gain @ residual, (left + left.T) / 2, alone)


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
    shared, sizes = _effects(design, chosen, keys)
    errors = reading_errors(read)
    place = list(case.places)
    own = np.array([error.effect[place] for error in errors]).reshape(len(errors), len(place))
    effect = np.concatenate([shared, own])
    base = case.base + _design_part(chosen, keys, effect)
    estimate = np.zeros(len(effect))
    residual = case.residual
    for _ in range(ROUNDS):
        now = calibrated_by(read, keys, np.exp(sizes * estimate[: len(keys)]))
        nominal = transform(read.tests, predicted_readings(now))[place]
        residual = wrapped(case.tests, case.y - nominal) + estimate[: len(keys)] @ shared
        estimate = factor_posterior(residual, base, effect).mean
    found = factor_posterior(residual, base, effect)
    factors, unlearned = _factors(design, keys, sizes, found, [test.name for test in case.tests])
    learned_own = learned_of_own(errors, own, keys, shared, found)
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
    applied = calibrated(
        design,
        [Factor(item.key, item.factor, item.deviation) for item in factors],
        [OwnFactor(item.of, item.factor, item.deviation) for item in learned_own],
    )
    return Learned(tuple(factors), learned_own, tuple(unlearned), len(rows), applied)


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


def _factors(
    design: Design, keys: Sequence[str], sizes: FloatArray, found: FactorPosterior, tests: Sequence[str]
) -> tuple[list[LearnedFactor], list[tuple[str, str]]]:
    """The factors that the readings bear on, and (key, why) of the others."""
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
                key=key,
                factor=math.exp(size * float(found.mean[row])),
                deviation=math.hypot(size * left, rest),
                prior=math.hypot(size, rest),
                surprise=float(found.mean[row]),
                tests=tuple(tests[place] for place in order),
            )
        )
    return factors, unlearned


def _no_error(design: Design, key: str) -> str:
    if key == "inductance" and design.core.al is not None:
        return (
            "the design states the core's inductance factor, whose tolerance is production's, not "
            "the model's "
            "(state spread.model_inductance to have it learned)"
        )
    return f"the design states no uncertainty of it ([spread] {PARAMETERS[key]} is 0)"
