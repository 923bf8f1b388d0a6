"""The forward runs behind a diagnosis: the background of honest production, and what every cause would read.

Readings are compared as logarithms of magnitudes (phases as they are). The forward model runs on the
changed design of every cause at every severity, never on a sensitivity: layers tip over, sections exchange
places.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Hashable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ...predict.batch import predict_many, stack, structure
from ...predict.circuit import HIGHEST
from ...predict.circuit import readings as predicted_readings
from ...predict.design import BenchTest, Design, FloatArray
from ...predict.errors import BuildError
from ...predict.production import Parameter, parameters, reading_errors, replaced, steps_as_designed
from ..causes import Cause, Variant

LEG_SHARE = "model_leg_share"
"""The model error whose effect depends most on the build: each hypothesis carries its own."""
REFINEMENT = 4
"""Interpolated severities for each one computed, for continuous causes."""


@dataclass(frozen=True)
class Background:
    """Plain prediction and its scatter, T tests.

    nominal : (T,) transformed prediction. signs : (T,) of it. sensitivity : (P, T) change for one standard
    deviation of each parameter of build, model and set-up, the leg share left out, and of each error of
    single readings, as long as the layers are as designed. anchor : (T,) change for one standard deviation of
    the leg share. names : of the P rows.
    """

    nominal: FloatArray
    signs: FloatArray
    sensitivity: FloatArray
    anchor: FloatArray
    names: tuple[str, ...] = ()

    @property
    def covariance(self) -> FloatArray:
        """(T, T) of build, model and set-up, without the meter and without the leg share."""
        return np.asarray(self.sensitivity.T @ self.sensitivity)

    def of(self, columns: Sequence[int]) -> Background:
        """The same for the tests ``columns`` (which may repeat)."""
        index = list(columns)
        return replace(
            self,
            nominal=self.nominal[index],
            signs=self.signs[index],
            sensitivity=self.sensitivity[:, index],
            anchor=self.anchor[index],
        )


@dataclass(frozen=True, kw_only=True)
class Hypothesis:
    """One cause at one place, S severities, T tests.

    weights : (S,) prior, sum 1. shift : (S, T) δ. anchor : (S, T) change for one standard deviation of the
    leg share in that build. flips : (S, T) 1 where the sign differs from the nominal one. amounts : (S,),
    NaN where none fits. origin : the computed variant nearest to each severity.
    """

    cause: Cause
    place: str
    variants: tuple[Variant, ...]
    weights: FloatArray
    shift: FloatArray
    anchor: FloatArray
    flips: FloatArray
    amounts: FloatArray
    origin: tuple[int, ...]

    def of(self, columns: Sequence[int]) -> Hypothesis:
        """The same for the tests ``columns`` (which may repeat)."""
        index = list(columns)
        return replace(
            self, shift=self.shift[:, index], anchor=self.anchor[:, index], flips=self.flips[:, index]
        )

    def amount(self, node: int) -> float | None:
        """The amount of severity ``node``, None where none fits."""
        amount = float(self.amounts[node])
        return None if math.isnan(amount) else amount

    def title(self, design: Design, node: int) -> str:
        """The cause in words, with the amount of severity ``node``."""
        if self.cause.title is not None:
            return self.cause.title(design, self.place, float(self.amounts[node]))
        return self.variants[self.origin[node]].title


def phases(tests: Sequence[BenchTest]) -> np.ndarray:
    """(T,) which tests are phases."""
    return np.array([test.measure == "phase" for test in tests], bool)


def transform(tests: Sequence[BenchTest], values: FloatArray) -> FloatArray:
    """(..., T) readings → logarithm of the magnitude, phases unchanged. A resonance above the range that is
    searched counts as one at its end, as a prediction of none does."""
    top = np.array([HIGHEST if test.measure == "resonance" else 1e18 for test in tests])
    return np.where(phases(tests), values, np.log(np.clip(np.abs(values), 1e-18, top)))


def wrapped(tests: Sequence[BenchTest], difference: FloatArray) -> FloatArray:
    """(..., T) differences with phases brought to ±π."""
    return np.where(phases(tests), np.angle(np.exp(1j * difference)), difference)


@functools.lru_cache(maxsize=8)
def forward(design: Design, catalogue: tuple[Cause, ...]) -> tuple[Background, tuple[Hypothesis, ...]]:
    """Every forward run that all samples of a design share: (background, a hypothesis for every cause and
    place that the models describe), for all tests of ``design``.

    A pure function of frozen values, remembered for the last few designs.
    """
    tests = design.tests
    everything = parameters(design)
    chosen = [parameter for parameter in everything if parameter.name != LEG_SHARE]
    leaning = next(parameter for parameter in everything if parameter.name == LEG_SHARE)
    places = [(cause, place) for cause in catalogue for place in cause.places(design)]
    variants = [tuple(cause.variants(design, place)) for cause, place in places]
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
        nominal,
        signs,
        np.concatenate([sensitivity, *(error.effect[None] for error in errors)]),
        anchor[0],
        (*(parameter.name for parameter in chosen), *(error.name for error in errors)),
    )
    hypotheses = []
    row = 1
    for (cause, place), group in zip(places, variants, strict=True):
        rows = slice(row, row + len(group))
        row += len(group)
        if group:
            neutral = cause.neutral if cause.drawn is None else cause.drawn(design, place)
            found = _hypothesis(cause, place, group, neutral, shift[rows], anchor[rows], flips[rows])
            hypotheses.append(found)
    return background, tuple(hypotheses)


def _forward_runs(
    design: Design,
    spread: Sequence[Design],
    variants: Sequence[Sequence[Variant]],
    places: Sequence[tuple[Cause, str]],
    leaning: Parameter,
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """(D, T) readings: of the designs of the ``spread``, of the design and every variant, and of these with
    the core's ampere-turn drop leaning by one standard deviation.

    Of a continuous cause the last is run at both ends and in the middle, and taken as straight between.
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
    """(D, T) readings of designs. Those that differ from ``plain`` in their tests alone are read together, as
    one design with the tests of all."""
    ground = replace(plain, tests=())
    other: dict[Design, list[int]] = {}
    rest = []
    for place, design in enumerate(designs):
        if design.tests == plain.tests:
            rest.append(place)
        else:
            other.setdefault(replace(design, tests=()), []).append(place)
    result = np.zeros((len(designs), len(plain.tests)))
    for bare, places in other.items():
        if bare != ground and len(places) == 1:
            rest += places
            continue
        asked = {test: None for place in places for test in designs[place].tests}
        column = {test: number for number, test in enumerate(asked)}
        values = predicted_readings(replace(bare, tests=tuple(asked)))
        for place in places:
            result[place] = values[[column[test] for test in designs[place].tests]]
    result[rest] = predict_many([designs[place] for place in rest], predicted_readings)
    return result


def _computable(variants: Sequence[tuple[Variant, ...]], leaning: Parameter) -> list[tuple[Variant, ...]]:
    """The variants that the models describe: not windings that oppose each other on different legs of a U
    core, nor a build that leaves its window. A cause without such a variant is not weighed.

    All of one structure are tried together; where that fails, half of them, and so on.
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
        predicted_readings(stack([*designs, *(leaning.change(one, 1.0) for one in designs)]))
    except BuildError:
        return False
    return True


def _hypothesis(
    cause: Cause,
    place: str,
    group: tuple[Variant, ...],
    neutral: float,
    shift: FloatArray,
    anchor: FloatArray,
    flips: FloatArray,
) -> Hypothesis:
    """Fill in severities between those computed where the cause is continuous; none nearer to the amount of a
    part as designed (``neutral``) than any of them."""
    weights = np.array([variant.weight for variant in group])
    amounts = np.array([math.nan if variant.amount is None else variant.amount for variant in group])
    if not cause.continuous or len(group) < 2:
        origin = tuple(range(len(group)))
        weights = weights / weights.sum()
        return Hypothesis(
            cause=cause,
            place=place,
            variants=group,
            weights=weights,
            shift=shift,
            anchor=anchor,
            flips=flips,
            amounts=amounts,
            origin=origin,
        )
    nodes = np.arange(len(group))
    fine = np.linspace(0, len(group) - 1, (len(group) - 1) * REFINEMENT + 1)
    away = np.abs(np.interp(fine, nodes, amounts) - neutral)
    fine = fine[away >= np.min(np.abs(amounts - neutral)) * (1 - 1e-9)]

    def refined(values: FloatArray) -> FloatArray:
        columns = [np.interp(fine, nodes, values[:, column]) for column in range(values.shape[1])]
        return np.stack(columns, axis=-1)

    nearest = np.rint(fine).astype(int)
    return Hypothesis(
        cause=cause,
        place=place,
        variants=group,
        weights=np.full(len(fine), 1 / len(fine)),
        shift=refined(shift),
        anchor=refined(anchor),
        flips=flips[nearest],
        amounts=np.interp(fine, nodes, amounts),
        origin=tuple(nearest.tolist()),
    )
