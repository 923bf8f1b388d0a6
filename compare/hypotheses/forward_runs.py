"""The forward runs behind a diagnosis: the background of normal production, and what every cause would read.

Readings are compared as logarithms of magnitudes (phases as they are). The forward model runs on the
changed design of every cause at every severity, never on a sensitivity, because layers tip over and
sections exchange places.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Hashable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ...predict.batch import stack, structure
from ...predict.circuit import HIGHEST, is_leakage
from ...predict.circuit import readings as predicted_readings
from ...predict.design import BenchTest, Design, FloatArray
from ...predict.errors import BuildError
from ...predict.production import Parameter, parameters, reading_errors, replaced, steps_as_designed
from ..causes import Cause, Variant
from .changed_designs import changed_readings
from .hypothesis import Hypothesis, with_counts
from .room import room_for, with_room

LEG_SHARE = "model_leg_share"
"""The model error whose effect depends most on the build: each hypothesis has its own."""
EXACT = 0.3
"""How uncertain a cause's effect is where it moves a reading by an exact amount (``Cause.exact``), relative
to other readings (judged; its effect is in the figures of tests/benchmarks)."""
REFINEMENT = 4
"""Interpolated severities for each one computed, for continuous causes (bounds work, not results)."""


@dataclass(frozen=True, kw_only=True)
class Background:
    """Plain prediction of T tests and its scatter.

    Attributes
    ----------
    nominal : (T,) array
        Transformed prediction, dimensionless (rad for a phase).
    signs : (T,) array
        Sign of the prediction, dimensionless.
    sensitivity : (P, T) array
        Change for one standard deviation of each parameter of build, model and set-up, except the leg share,
        and of each error of single readings, as long as the layers are as designed, dimensionless (rad for a
        phase).
    anchor : (T,) array
        Change for one standard deviation of the leg share, dimensionless.
    leakage : (T,) bool array
        Which tests read a leakage inductance.
    names : tuple[str, ...]
        Names of the P rows.
    """

    nominal: FloatArray
    signs: FloatArray
    sensitivity: FloatArray
    anchor: FloatArray
    leakage: NDArray[np.bool_]
    names: tuple[str, ...]

    @property
    def covariance(self) -> FloatArray:
        """Covariance (T, T) of build, model and set-up, without the meter and without the leg share,
        dimensionless."""
        return np.asarray(self.sensitivity.T @ self.sensitivity)

    def of(self, columns: Sequence[int]) -> Background:
        """The same for selected tests, by index; they may repeat."""
        index = list(columns)
        return replace(
            self,
            nominal=self.nominal[index],
            signs=self.signs[index],
            sensitivity=self.sensitivity[:, index],
            anchor=self.anchor[index],
            leakage=self.leakage[index],
        )


def phases(tests: Sequence[BenchTest]) -> np.ndarray:
    """Which tests are phases, (T,) bool array."""
    return np.array([test.measure == "phase" for test in tests], bool)


def transform(tests: Sequence[BenchTest], values: FloatArray) -> FloatArray:
    """Logarithm of the magnitude of readings; phases unchanged.

    A resonance above the search range counts as one at its end, as a prediction of none does.

    Parameters
    ----------
    tests : Sequence[BenchTest]
        Tests of the design.
    values : (..., T) array
        Readings, SI (rad for a phase).

    Returns
    -------
    (..., T) array
        Transformed readings, dimensionless (rad for a phase).
    """
    top = np.array([HIGHEST if test.measure == "resonance" else 1e18 for test in tests])
    return np.where(phases(tests), values, np.log(np.clip(np.abs(values), 1e-18, top)))


def wrapped(tests: Sequence[BenchTest], difference: FloatArray) -> FloatArray:
    """Differences of transformed readings, with phases wrapped to ±π.

    Parameters
    ----------
    tests : Sequence[BenchTest]
        Tests of the design.
    difference : (..., T) array
        Differences, dimensionless (rad for a phase).

    Returns
    -------
    (..., T) array
        Differences, dimensionless (rad for a phase).
    """
    return np.where(phases(tests), np.angle(np.exp(1j * difference)), difference)


@functools.lru_cache(maxsize=32)
def forward(design: Design, catalogue: tuple[Cause, ...]) -> tuple[Background, tuple[Hypothesis, ...]]:
    """Every forward run that all samples of a design share.

    A pure function of frozen values, remembered for the last few designs.

    Parameters
    ----------
    design : Design
        The transformer.
    catalogue : tuple[Cause, ...]
        Causes to be weighed.

    Returns
    -------
    Background
        Prediction of all tests of the design, and its scatter.
    tuple[Hypothesis, ...]
        A hypothesis for every cause and place that the models describe.
    """
    tests = design.tests
    everything = parameters(design)
    chosen = [parameter for parameter in everything if parameter.name != LEG_SHARE]
    leaning = next(parameter for parameter in everything if parameter.name == LEG_SHARE)
    places = [(cause, location) for cause in catalogue for location in cause.places(design)]
    drawn = [tuple(cause.variants(design, location)) for cause, location in places]
    room = room_for(design, drawn)
    variants = [
        group if cause.of_sound else with_room(group, fits)
        for (cause, _), group, fits in zip(places, drawn, room, strict=True)
    ]
    steps = steps_as_designed(chosen, design)
    spread = [
        parameter.change(design, step) for parameter, ends in zip(chosen, steps, strict=True) for step in ends
    ]
    try:
        raw = _forward_runs(design, spread, variants, places, leaning)
    except BuildError:
        variants = _computable(variants, leaning)
        raw = _forward_runs(design, spread, variants, places, leaning)
    moved, plain, anchor = raw
    nominal = transform(tests, plain[0])
    pairs = wrapped(tests, transform(tests, moved) - nominal).reshape(len(chosen), 2, len(tests))
    sensitivity = (pairs[:, 0] - pairs[:, 1]) / (steps[:, 0] - steps[:, 1])[:, None]
    if design.model.own:
        sensitivity = sensitivity * (1 - np.stack([replaced(design, item.name) for item in chosen]))
    shift = wrapped(tests, transform(tests, plain) - nominal)
    signs = np.where(phases(tests), 1.0, np.sign(plain[0]))
    flips = np.where(phases(tests), 0.0, np.sign(plain) != signs).astype(float)
    errors = reading_errors(design)
    background = Background(
        nominal=nominal,
        signs=signs,
        sensitivity=np.concatenate([sensitivity, *(error.effect[None] for error in errors)]),
        anchor=anchor[0],
        leakage=np.array([is_leakage(design, test) for test in tests], bool),
        names=(*(parameter.name for parameter in chosen), *(error.name for error in errors)),
    )
    hypotheses = []
    row = 1
    for (cause, location), group, fits in zip(places, variants, room, strict=True):
        rows = slice(row, row + len(group))
        row += len(group)
        if group:
            neutral = cause.neutral if cause.drawn is None else cause.drawn(design, location)
            hypothesis = _hypothesis(cause, location, group, neutral, shift[rows], anchor[rows], flips[rows])
            if cause.counts is not None:
                hypothesis = with_counts(hypothesis, cause.counts, design)
            hypotheses.append(replace(hypothesis, unsure=_unsure(cause, design), possible=fits.possible))
    return background, tuple(hypotheses)


def _forward_runs(
    design: Design,
    spread: Sequence[Design],
    variants: Sequence[Sequence[Variant]],
    places: Sequence[tuple[Cause, str]],
    leaning: Parameter,
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Readings (D, T) of the designs of the ``spread``, of the design and every variant, and of these with
    the leg share changed by one standard deviation.

    For a continuous cause the last are run at both ends and in the middle, and interpolated linearly in
    between.
    """
    changed = [design, *(variant.design for group in variants for variant in group)]
    leant, begin = [0], 1
    for (cause, _), group in zip(places, variants, strict=True):
        count = len(group)
        some = {0, count // 2, count - 1} if cause.continuous and count > 3 else set(range(count))
        leant += [begin + number for number in sorted(some)]
        begin += count
    runs = [*spread, *changed, *(leaning.change(changed[row], 1.0) for row in leant)]
    raw = _readings_of(runs, design)
    moved, plain, few = np.split(raw, [len(spread), len(spread) + len(changed)])
    tests = design.tests
    change = wrapped(tests, transform(tests, few) - transform(tests, plain[leant]))
    rows = np.arange(len(changed))
    whole = np.stack([np.interp(rows, leant, column) for column in change.T], axis=-1)
    return moved, plain, whole


def _readings_of(designs: Sequence[Design], plain: Design) -> FloatArray:
    """Readings (D, T) of designs. Those that differ from ``plain`` only in their tests are read together, as
    one design with all their tests."""
    ground = replace(plain, tests=())
    rest_by_design: dict[Design, list[int]] = {}
    rest = []
    for design_index, design in enumerate(designs):
        if design.tests == plain.tests:
            rest.append(design_index)
        else:
            rest_by_design.setdefault(replace(design, tests=()), []).append(design_index)
    result = np.zeros((len(designs), len(plain.tests)))
    for bare, indices in rest_by_design.items():
        if bare != ground and len(indices) == 1:
            rest += indices
            continue
        asked = {test: None for design_index in indices for test in designs[design_index].tests}
        column = {test: number for number, test in enumerate(asked)}
        values = predicted_readings(replace(bare, tests=tuple(asked)))
        for design_index in indices:
            result[design_index] = values[[column[test] for test in designs[design_index].tests]]
    result[rest] = changed_readings([designs[design_index] for design_index in rest])
    return result


def _computable(variants: Sequence[tuple[Variant, ...]], leaning: Parameter) -> list[tuple[Variant, ...]]:
    """Variants that the models describe.

    Not windings that oppose each other on different legs of a U core, nor a build that does not fit its
    window. A cause without such a variant is not weighed. All variants of one structure are tried
    together; if that fails, half of them, and so on.
    """
    groups: dict[Hashable, list[Variant]] = {}
    for variant in (variant for group in variants for variant in group):
        groups.setdefault(structure(variant.design), []).append(variant)
    waiting, sound = list(groups.values()), set[int]()
    while waiting:
        group = waiting.pop()
        if _predicts([variant.design for variant in group], leaning):
            sound.update(id(variant) for variant in group)
        elif len(group) > 1:
            waiting += [group[: len(group) // 2], group[len(group) // 2 :]]
    return [tuple(variant for variant in group if id(variant) in sound) for group in variants]


def _predicts(designs: Sequence[Design], leaning: Parameter) -> bool:
    """Whether designs of one structure can be laid out and read."""
    try:
        predicted_readings(stack([*designs, *(leaning.change(design, 1.0) for design in designs)]))
    except BuildError:
        return False
    return True


def _unsure(cause: Cause, design: Design) -> FloatArray:
    exactly = (test.measure in cause.exact and not is_leakage(design, test) for test in design.tests)
    return np.array([EXACT if exact else 1.0 for exact in exactly])


def _hypothesis(
    cause: Cause,
    location: str,
    group: tuple[Variant, ...],
    neutral: float,
    shift: FloatArray,
    anchor: FloatArray,
    flips: FloatArray,
) -> Hypothesis:
    """Fill in severities between those computed for a continuous cause; none nearer to the amount of a part
    as designed (``neutral``) than the nearest computed one."""
    weights = np.array([variant.weight for variant in group])
    amounts = np.array([math.nan if variant.amount is None else variant.amount for variant in group])
    plain = Hypothesis(
        cause=cause,
        location=location,
        variants=group,
        weights=weights / weights.sum(),
        shift=shift,
        anchor=anchor,
        flips=flips,
        amounts=amounts,
        origin=tuple(range(len(group))),
        unsure=np.ones(shift.shape[1]),
    )
    if not cause.continuous or len(group) < 2:
        return plain
    nodes = np.arange(len(group))
    fine = np.linspace(0, len(group) - 1, (len(group) - 1) * REFINEMENT + 1)
    away = np.abs(np.interp(fine, nodes, amounts) - neutral)
    fine = fine[away >= np.min(np.abs(amounts - neutral)) * (1 - 1e-9)]

    def refined(values: FloatArray) -> FloatArray:
        columns = [np.interp(fine, nodes, values[:, column]) for column in range(values.shape[1])]
        return np.stack(columns, axis=-1)

    nearest = np.rint(fine).astype(int)
    return replace(
        plain,
        weights=refined(weights[:, None])[:, 0] / np.sum(refined(weights[:, None])),
        shift=refined(shift),
        anchor=refined(anchor),
        flips=flips[nearest],
        amounts=np.interp(fine, nodes, amounts),
        origin=tuple(nearest.tolist()),
    )
