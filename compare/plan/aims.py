"""Builds that meet stated aims: which order of the windings, adjusted how, and what fraction of production
meets them.

An aim is a test of the design with a value and a tolerance, or with a limit. Of the orders that can be
wound, those nearest to all aims are adjusted one change at a time (``shop_changes``), always the one that
brings the nominal readings nearest,

    distance = Σ ((y − target)/σ)²,  for a limit ((y − limit)/σ + 2)² if that is positive,

with σ the production spread of the present build, relative. The results are judged by random builds: the
yield is the fraction of them that meets all aims at once, once as modelled (production alone) and once
with the model's own error included.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from ...predict.batch import predict_many
from ...predict.circuit import readings
from ...predict.design import BenchTest, Design, FloatArray
from ...predict.errors import BuildError
from ...predict.interleave import Adjustment, Arrangement, Arrangements, adjustments, predict_tests
from ...predict.production import Driver, ProductionSpread, Tipping, spread

TOLERANCE = 0.05
"""Relative tolerance of an aim that states none."""
TRIED = 6
"""Orders that are adjusted."""
WAYS = 3
"""Ways in which one order is adjusted, each by other changes, if there are few orders."""
CHANGES = 3
"""Most changes made to one order."""
RIVALS = 4
"""Most ways of adjusting one order that are compared by random builds."""
FEW_BUILDS = 100
"""Random builds used for that comparison."""
COARSE = 6
"""Amounts of a change that are tried over its whole range, before those near the best of them."""
_NEAR = 0.1
"""At this distance (in squared standard deviations) the nominal build is as good as at the aim."""
_ROOM = 2.0
"""Standard deviations that a nominal reading should keep from a limit."""

Progress = Callable[[int, int], None]


@dataclass(frozen=True)
class Aim:
    """What a test should read.

    Attributes
    ----------
    test : str
        Name of the test.
    sense : {"=", "<=", ">="}
        "=" (``value`` ± ``tolerance``), "<=" or ">=" (``value``).
    value : float
        Target or limit, SI.
    tolerance : float
        Tolerance on either side, SI.
    """

    test: str
    sense: Literal["=", "<=", ">="]
    value: float
    tolerance: float = 0.0

    @property
    def low(self) -> float:
        """Lowest reading that meets the aim, SI."""
        return {"=": self.value - self.tolerance, "<=": -math.inf, ">=": self.value}[self.sense]

    @property
    def high(self) -> float:
        """Highest reading that meets the aim, SI."""
        return {"=": self.value + self.tolerance, "<=": self.value, ">=": math.inf}[self.sense]


@dataclass(frozen=True, kw_only=True)
class AimedBuild:
    """One build towards the aims; "production" is without the model's error.

    Attributes
    ----------
    arrangement : Arrangement
        Order of the windings.
    design : Design
        The build.
    changes : tuple[str, ...]
        What was adjusted besides the order, in words.
    nominal : (T,) array
        Nominal readings of the aims' tests, SI.
    low : (T,) array
        Lower end of 95 % of production, SI.
    high : (T,) array
        Upper end of it, SI.
    yielded : float
        Fraction of production that meets all aims, dimensionless.
    with_model : float
        The same with the model's error, dimensionless.
    alone : (T,) array
        Fraction of production that meets each aim, dimensionless.
    drivers : tuple[tuple[Driver, ...], ...]
        What sets the spread of each test in production.
    tipped : tuple[Tipping, ...]
        Steps that some builds wind in another number of layers.
    """

    arrangement: Arrangement
    design: Design
    changes: tuple[str, ...]
    nominal: FloatArray
    low: FloatArray
    high: FloatArray
    yielded: float
    with_model: float
    alone: FloatArray
    drivers: tuple[tuple[Driver, ...], ...]
    tipped: tuple[Tipping, ...] = ()


@dataclass(frozen=True)
class AimedBuilds:
    """Builds towards the aims, by falling yield.

    Attributes
    ----------
    aims : tuple[Aim, ...]
        The aims.
    tests : tuple[BenchTest, ...]
        Tests of the aims, in their order.
    found : tuple[AimedBuild, ...]
        The builds.
    builds : int
        Random builds behind each yield, count.
    searched : int
        Orders examined, count.
    """

    aims: tuple[Aim, ...]
    tests: tuple[BenchTest, ...]
    found: tuple[AimedBuild, ...]
    builds: int
    searched: int


def aimed_builds(
    design: Design,
    search: Arrangements,
    aims: Sequence[Aim],
    *,
    rows: int = 5,
    builds: int = 300,
    seed: int = 1,
    progress: Progress | None = None,
) -> AimedBuilds:
    """The best builds towards stated aims among the orders of a search.

    Parameters
    ----------
    design : Design
        The transformer.
    search : Arrangements
        Orders of the windings that can be wound.
    aims : Sequence[Aim]
        The aims; their tests are tests of the design.
    rows : int, optional
        Builds to return, count.
    builds : int, optional
        Random builds behind each yield (at least 100), count.
    seed : int, optional
        Seed of the random builds.
    progress : Progress or None, optional
        Is told how much is done.

    Raises
    ------
    BuildError
        The models refuse the design's own readings.
    """
    by_name = {test.name: test for test in design.tests}
    tests = tuple(by_name[aim.test] for aim in aims)
    number = max(builds, 100)
    present = spread(replace(design, tests=tests), number, seed, origins=("build",), shares=False)
    sigma = np.maximum(present.standard_uncertainty / np.maximum(np.abs(present.nominal), 1e-300), 1e-4)
    nominal, _, _ = predict_tests(search.found, tests)
    distance = np.array([_distance(row, aims, sigma) for row in nominal])
    reachable = np.where(_short_of(nominal, aims), 0.25, 1.0) * distance
    order = [int(k) for k in np.argsort(reachable, kind="stable") if math.isfinite(distance[k])][:TRIED]
    order += [k for k, one in enumerate(search.found) if one.present and k not in order]
    near = []
    for done, place in enumerate(order):
        if progress is not None:
            progress(done, len(order))
        one = search.found[place]
        used: set[tuple[str, str]] = set()
        for _ in range(WAYS if len(order) < rows else 1):
            start = replace(one.design, tests=tests)
            built, changes = _adjusted(start, aims, sigma, float(distance[place]), used, seed)
            near.append((_distance(_read([built])[0], aims, sigma), one, built, changes))
            if not changes:
                break
    near.sort(key=lambda each: each[0])
    found = [
        _judged(one, design, built, changes, aims, number, seed) for _, one, built, changes in near[:rows]
    ]
    found.sort(key=lambda each: (-round(each.yielded, 2), -round(each.with_model, 2), len(each.changes)))
    return AimedBuilds(tuple(aims), tests, tuple(found[:rows]), number, len(search.found))


def _distance(row: FloatArray, aims: Sequence[Aim], sigma: FloatArray) -> float:
    """Distance of nominal readings from the aims, in squared standard deviations; infinite if one is
    missing."""
    total = 0.0
    for value, aim, each in zip(row.tolist(), aims, sigma.tolist(), strict=True):
        if not math.isfinite(value):
            return math.inf
        size = each * max(abs(aim.value), 1e-300)
        score = (value - aim.value) / size
        if aim.sense == "<=":
            score = max(score + _ROOM, 0.0)
        elif aim.sense == ">=":
            score = max(_ROOM - score, 0.0)
        total += score**2
    return total


def _short_of(nominal: FloatArray, aims: Sequence[Aim]) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Whether the first aim's reading lies below the aim, (A,): most possible changes add to the build and
    raise leakage."""
    return np.asarray(nominal[:, 0] < aims[0].value)


_Way = tuple[float, Design, tuple[str, ...], frozenset[tuple[str, str]]]
"""Distance of a design from the aims, the design, its changes in words, and as (kind, where)."""


def _adjusted(
    design: Design,
    aims: Sequence[Aim],
    sigma: FloatArray,
    distance: float,
    used: set[tuple[str, str]],
    seed: int,
) -> tuple[Design, tuple[str, ...]]:
    """The design with the changes that bring its readings nearest to the aims, and these in words.

    No change of ``used`` is repeated; new ones are added to it. Of the nearest ways, the one with the best
    yield in a few random builds is taken, because a build on the edge of another layer is near only in its
    nominal readings.
    """
    way: _Way = distance, design, (), frozenset()
    ways = [way]
    for _ in range(CHANGES):
        if way[0] < _NEAR:
            break
        further: list[_Way] = []
        for one in adjustments(way[1]):
            key = one.kind, one.where
            nearest = None if key in used | way[3] else _nearest(way[1], one, aims, sigma)
            if nearest is not None:
                score, built, amount = nearest
                further.append((score, built, (*way[2], one.words(amount)), way[3] | {key}))
        further.sort(key=lambda each: each[0])
        ways += [each for each in further if each[0] < 0.8 * way[0]]
        if not further or further[0][0] > 0.8 * way[0]:
            break
        way = further[0]
    ways.sort(key=lambda each: each[0])
    best = ways[0]
    rivals = [each for each in ways if each[0] < best[0] + 1.0][:RIVALS]
    if len(rivals) > 1:
        yields = []
        for each in rivals:
            made = spread(each[1], FEW_BUILDS, seed, origins=("build",), shares=False)
            yields.append(float(np.mean(np.all(_met(made, aims), axis=1))))
        best = rivals[max(range(len(rivals)), key=lambda k: (round(yields[k], 2), -len(rivals[k][2])))]
    used |= best[3]
    return best[1], best[2]


def _nearest(
    design: Design, one: Adjustment, aims: Sequence[Aim], sigma: FloatArray
) -> tuple[float, Design, float] | None:
    """Amount of one change that brings the readings nearest, as (distance, design, amount).

    A few amounts over the whole range, then all those between the neighbours of the best.
    """
    amounts = one.fitting(design)
    if not amounts:
        return None
    chosen = sorted({round(k) for k in np.linspace(0, len(amounts) - 1, COARSE)})
    scores: dict[int, tuple[float, Design]] = {}
    for _ in range(2):
        some = [one.change(design, amounts[k]) for k in chosen]
        for k, built, row in zip(chosen, some, _read(some), strict=True):
            scores[k] = _distance(row, aims, sigma), built
        best = min(scores, key=lambda k: scores[k][0])
        below = max((k for k in scores if k < best), default=best)
        above = min((k for k in scores if k > best), default=best)
        between = [k for k in range(below + 1, above) if k not in scores]
        chosen = between[:: max(len(between) // COARSE, 1)]
        if not chosen:
            break
    best = min(scores, key=lambda k: scores[k][0])
    return *scores[best], amounts[best]


def _read(designs: Sequence[Design]) -> FloatArray:
    """Readings (D, T) of designs; NaN where the models refuse one."""
    if not designs:
        return np.zeros((0, 0))
    try:
        return predict_many(designs, readings)
    except BuildError:
        rows = []
        for one in designs:
            try:
                rows.append(np.atleast_1d(readings(one)))
            except BuildError:
                rows.append(np.full(len(one.tests), np.nan))
        return np.stack(rows)


def _judged(
    one: Arrangement,
    before: Design,
    built: Design,
    changes: tuple[str, ...],
    aims: Sequence[Aim],
    builds: int,
    seed: int,
) -> AimedBuild:
    made = spread(built, builds, seed, origins=("build",))
    doubted = spread(built, builds, seed, shares=False)
    met = _met(made, aims)
    return AimedBuild(
        arrangement=one,
        design=replace(built, tests=before.tests),
        changes=changes,
        nominal=made.nominal,
        low=made.low,
        high=made.high,
        yielded=float(np.mean(np.all(met, axis=1))),
        with_model=float(np.mean(np.all(_met(doubted, aims), axis=1))),
        alone=np.mean(met, axis=0),
        drivers=made.drivers,
        tipped=made.tipped,
    )


def _met(
    production: ProductionSpread, aims: Sequence[Aim]
) -> np.ndarray[tuple[int, int], np.dtype[np.bool_]]:
    low, high = np.array([aim.low for aim in aims]), np.array([aim.high for aim in aims])
    return np.asarray((production.samples >= low) & (production.samples <= high))
