"""What known-good samples teach about a design: factors on the models, by generalised least squares.

    y = f(θ) + G_θ z_θ + e

in the logarithm. z_θ ~ N(0, 1) holds the four factors that all readings of a kind share, and the errors of
single pairs of windings and single readings (``own_errors``), each in units of its prior uncertainty (the
model's own error). e is everything else: tolerances, link and leads, meter (``pooling``). With S the
covariance of the mean of the samples,

    z_θ = G_θᵀ S⁻¹ (ȳ − f),    cov = 1 − G_θᵀ S⁻¹ G_θ

(normal distributions, Bayes; textbooks). This is repeated around the latest estimate, because the readings
are not quite linear in the factors. Tolerances are nuisance parameters: what production may have done to
one sample stays in the learned uncertainty; with several samples, the part of it that differs between them
averages out.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from ...predict.circuit import readings as predicted_readings
from ...predict.design import Design, FloatArray, OwnFactor
from ...predict.errors import Fault, ReadingsError
from ...predict.production import Factor, calibrated, reading_errors, shares_of
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
"""A test is named as determining a factor if, on its own, it removes at least this fraction of the variance
that the best test removes (judged by what a reader can take in; no verdict depends on it)."""


def factor_posterior(residual: FloatArray, covariance: FloatArray, effect: FloatArray) -> FactorPosterior:
    """Posterior of factors z ~ N(0, 1) given the readings.

    Parameters
    ----------
    residual : (T,) array, reading less prediction in the logarithm, dimensionless (rad for a phase)
    covariance : (T, T) array, covariance of the readings including the factors' own part, dimensionless
    effect : (F, T) array, change of the readings for one standard deviation of each factor, dimensionless

    Returns
    -------
    FactorPosterior
        Mean (F,), covariance (F, F) and the variance each reading removes on its own (F, T), dimensionless.
    """
    gain = np.linalg.solve(covariance, effect.T).T
    left = np.eye(len(effect)) - gain @ effect.T
    alone = effect**2 / np.diag(covariance)
    return FactorPosterior(gain @ residual, (left + left.T) / 2, alone)


def learn(design: Design, readings: Sequence[Reading]) -> Learned:
    """The factors of a design as known-good samples show them.

    All samples are taken to be good. Readings taken before the core was fitted count only if they are
    resistances.

    Parameters
    ----------
    design : Design
        The transformer as the models give it, without a calibration.
    readings : Sequence[Reading]
        Readings of all samples, SI.

    Returns
    -------
    Learned
        Learned factors, and the design with all of them applied.

    Raises
    ------
    ReadingsError
        No reading bears on any factor.
    BuildError
        The layout is outside the models.

    Examples
    --------
    >>> from aswound.compare import learn, parse_readings
    >>> from aswound.predict import load_design
    >>> design = load_design("samples/flyback-24w.toml")
    >>> rows = "".join(f"{part},R_P,570 mohm\\n{part},R_S,12.4 mohm\\n" for part in "ABC")
    >>> learned = learn(design, parse_readings(f"sample,test,reading\\n{rows}", design))
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
    chosen = background.of(case.test_indices)
    keys = [key for key, name in PARAMETERS.items() if name in chosen.names]
    shared, sizes = _effects(design, chosen, keys)
    errors = reading_errors(read)
    test_indices = list(case.test_indices)
    own_effects = np.array([error.effect[test_indices] for error in errors]).reshape(
        len(errors), len(test_indices)
    )
    effect = np.concatenate([shared, own_effects])
    base = case.base + _design_part(chosen, keys, effect)
    estimate = np.zeros(len(effect))
    residual = case.residual
    for _ in range(ROUNDS):
        now = calibrated_by(read, keys, np.exp(sizes * estimate[: len(keys)]))
        nominal = transform(read.tests, predicted_readings(now))[test_indices]
        residual = wrapped(case.tests, case.y - nominal) + estimate[: len(keys)] @ shared
        estimate = factor_posterior(residual, base, effect).mean
    posterior = factor_posterior(residual, base, effect)
    factors, unlearned = _factors(design, keys, sizes, posterior, [test.name for test in case.tests])
    learned_own = learned_of_own(errors, own_effects, keys, shared, posterior)
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
    """The design with factors on its models; its tolerances stay.

    Parameters
    ----------
    design : Design
    keys : Sequence[str], keys of [calibration]
    factors : (F,) array, truth ÷ model of each key, dimensionless
    """
    plain = calibrated(
        design, [Factor(key, float(factor), 0.0) for key, factor in zip(keys, factors, strict=True)]
    )
    return replace(plain, tolerances=design.tolerances, cautions=design.cautions)


def _effects(design: Design, background: Background, keys: Sequence[str]) -> tuple[FloatArray, FloatArray]:
    """Effect of each factor on the readings, (F, T) for one prior standard deviation, and that deviation (F,)
    in the logarithm.

    The prior of a factor is the design share of its parameter. Capacitance also takes the permittivity's,
    because no reading can separate that from the model's error.
    """
    rows, sizes = [], []
    for key in keys:
        name = PARAMETERS[key]
        whole = _deviation(design, name)
        deviation = whole * math.sqrt(shares_of(name).design)
        if key == "capacitance":
            deviation = math.hypot(deviation, _permittivity(design))
        rows.append(background.sensitivity[background.names.index(name)] * deviation / whole)
        sizes.append(deviation)
    size = len(background.nominal)
    return np.array(rows).reshape(len(keys), size), np.array(sizes)


def _design_part(background: Background, keys: Sequence[str], effect: FloatArray) -> FloatArray:
    """Change of the covariance (T, T) that makes the factors' part in it equal to ``effect``.

    Only capacitance needs one, because the permittivity's design share has become part of its factor.
    """
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
    design: Design, keys: Sequence[str], sizes: FloatArray, posterior: FactorPosterior, tests: Sequence[str]
) -> tuple[list[LearnedFactor], list[tuple[str, str]]]:
    """Factors that the readings bear on, and (key, reason) for the others."""
    factors, unlearned = [], []
    for key in PARAMETERS:
        if key not in keys:
            unlearned.append((key, _no_error(design, key)))
            continue
        row = keys.index(key)
        left = math.sqrt(max(float(posterior.covariance[row, row]), 0.0))
        if left > 1 - LEAST_LEARNED:
            unlearned.append((key, "no reading bears on it enough"))
            continue
        size = float(sizes[row])
        alone = posterior.alone[row]
        order = [
            int(test_index)
            for test_index in np.argsort(-alone)
            if alone[test_index] >= BEARS * float(np.max(alone))
        ]
        # The next part adds the rest of the parameter's variance to the factor's own uncertainty.
        rest = 0.0
        if key == "mean_turn":
            whole = _deviation(design, PARAMETERS[key])
            rest = whole * math.sqrt(1 - shares_of(PARAMETERS[key]).design)
        factors.append(
            LearnedFactor(
                key=key,
                factor=math.exp(size * float(posterior.mean[row])),
                deviation=math.hypot(size * left, rest),
                prior=math.hypot(size, rest),
                surprise=float(posterior.mean[row]),
                tests=tuple(tests[test_index] for test_index in order),
            )
        )
    return factors, unlearned


def _no_error(design: Design, key: str) -> str:
    if key == "inductance" and design.core.al is not None:
        return (
            "the design states the core's inductance factor, whose tolerance is production's, not the "
            "model's (state spread.model_inductance to have it learned)"
        )
    return f"the design states no uncertainty of it ([spread] {PARAMETERS[key]} is 0)"
