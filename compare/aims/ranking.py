"""The best builds towards aims: of all orders that can be wound the promising ones, each with the changes
that suit it, ranked by the part of production that meets all aims at once.

What lasts is a forward run, so they are spent where they tell most: every order is read once; what changes
do is first carried over from the present order to all of them; the changes of the most promising orders are
searched (``joint_search``) with the spread of the present build at first, then with that of the order's own
best one; only a few finalists get random builds of their own, are moved a step or two by their own spread,
and the best of them are judged by all builds.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ...predict.design import BenchTest, Design, FloatArray
from ...predict.interleave import Arrangement, Arrangements, predict_tests
from ...predict.production import Driver, ProductionSpread, Tipping, spread
from .changed_order import ChangedOrder
from .joint_search import NOWHERE, SETS, AimScatter, Candidate, JointSearch, merits
from .target import Aim, bounds, log_yield, met
from .worth_listing import Outcome, worth_listing

ORDERS = 5
"""Orders whose changes are searched, beside the present one (bounds work, not results)."""
FINALISTS = 8
"""Builds that get random builds of their own (bounds work, not results)."""
MOVED = 2
"""Finalists that are moved by their own spread (bounds work, not results)."""
STEPS = 2
"""Steps of each change by which they are moved, at most (bounds work, not results)."""
FOLLOWED = 4
"""Orders whose search goes on after its first round (bounds work, not results)."""
MOST_OF_AN_ORDER = 3
"""Builds of one order among the finalists, where there are several (judged by what a reader can take in; no
verdict depends on it)."""
_WORTH = 1e-3
"""Yield that moving must promise (bounds work, not results)."""
_PORTION = 400
"""Changes of the present order tried on all others at a time (bounds work, not results)."""

Progress = Callable[[int, int], None]


@dataclass(frozen=True, kw_only=True)
class AimedBuild:
    """One build towards the aims.

    Attributes
    ----------
    arrangement : Arrangement
        Order and division of its windings.
    design : Design
        The build as a design, with all tests.
    changes : tuple of str
        What was changed beside the order, in words.
    nominal, low, high : FloatArray, shape (T,)
        Readings of the aims' tests, SI: of the nominal build, and the ends of 95 % of production without the
        model's error.
    yielded : float
        Part of production that meets all aims, relative, 0 … 1.
    with_model : float
        The same with the model's error, relative, 0 … 1.
    alone : FloatArray, shape (T,)
        Part that meets each aim, production alone, relative, 0 … 1.
    drivers : tuple of tuple of Driver
        For each test what sets its spread in production.
    tipped : tuple of Tipping
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
    """Builds by falling yield.

    Attributes
    ----------
    aims : tuple of Aim
        T aims.
    tests : tuple of BenchTest
        Their tests, in the same order.
    ranked : tuple of AimedBuild
        The builds, the best first.
    builds : int
        Random builds behind each yield, count.
    searched : int
        Orders that can be wound, count.
    """

    aims: tuple[Aim, ...]
    tests: tuple[BenchTest, ...]
    ranked: tuple[AimedBuild, ...]
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
    """The best builds towards aims among the orders of a search.

    Parameters
    ----------
    design : Design
        Design of one build.
    search : Arrangements
        Its orders that can be wound.
    aims : sequence of Aim
        T aims; their tests are tests of the design.
    rows : int
        Builds to return, at most, count.
    builds : int
        Random builds behind each yield, at least 100, count.
    seed : int
        Seed of the random builds, any whole number.
    progress : callable (int, int) to None, optional
        Called with the orders searched and all orders to search.

    Raises
    ------
    BuildError
        If the models refuse the design's own readings.
    """
    by_name = {test.name: test for test in design.tests}
    tests = tuple(by_name[aim.test] for aim in aims)
    number = max(builds, 100)
    scatter, _ = _scatter(replace(design, tests=tests), number, seed, None)
    present = next(item for item in search.arrangements if item.present)
    searches = [JointSearch(ChangedOrder.of(present, tests), aims, scatter)]
    orders = _promising(search, tests, aims, scatter, searches[0].shifts())
    for done, arrangement in enumerate(orders):
        if progress is not None:
            progress(done, len(orders))
        searches.append(JointSearch(ChangedOrder.of(arrangement, tests), aims, scatter))
    for item in searches:  # with the spread of its best build, which may be tighter
        best = item.found[0]
        item.scatter, _ = _scatter(best.order.built(best.choice), number, seed, scatter)
    searches.sort(key=lambda item: -item.found[0].merit)
    for item in searches[:FOLLOWED]:
        for _ in SETS[1:]:
            item.advance()
    found = [each for item in searches for each in item.found]
    finalists = [_Finalist.of(item, aims, scatter, number, seed) for item in _varied(found, FINALISTS, rows)]
    candidates = worth_listing(
        _varied(_moved(finalists, aims, scatter, number, seed), FINALISTS, rows),
        found,
        lambda candidate: _outcome(candidate, aims, number, seed),
        rows,
    )
    judged = [_judged(item, design, aims, number, seed) for item in candidates]
    judged.sort(key=lambda each: _rank(each, aims))
    return AimedBuilds(tuple(aims), tests, tuple(judged), number, len(search.arrangements))


def _rank(build: AimedBuild, aims: Sequence[Aim]) -> tuple[float, ...]:
    """What comes first, lowest: the better yield to the per cent, then that with the model's error; where
    next to no part meets the aims, the build whose readings are nearest to them; then fewer changes."""
    low, high = bounds(aims)
    logs = np.log(np.maximum(build.nominal, 1e-300))
    away = float(np.sum(np.maximum(low - logs, 0.0) + np.maximum(logs - high, 0.0)))
    away = away if build.yielded < NOWHERE else 0.0
    return (-round(build.yielded, 2), -round(build.with_model, 2), away, len(build.changes))


def _scatter(design: Design, builds: int, seed: int, like: AimScatter | None) -> tuple[AimScatter, float]:
    """How the readings of a build stray, and the part of the builds with layers as drawn; the model's error
    as of another one, and where all layers are as drawn how others stray as well. The spread is the one by
    which a build is judged in the end, and remembered until then."""
    made = spread(design, builds, seed, origins=("build",))
    sigma = _relative(made)
    if like is None:
        wide = _relative(spread(design, builds, seed, shares=False))
    else:
        wide = np.hypot(sigma, np.sqrt(np.maximum(like.wide**2 - like.sigma**2, 0.0)))
    with np.errstate(invalid="ignore", divide="ignore"):
        deviations = np.log(made.samples / made.nominal)
    drawn = np.ones(len(deviations), bool) if made.designed is None else made.designed
    others = deviations[~drawn]
    if not len(others):
        others = deviations if like is None else like.others
    return AimScatter(sigma, wide, deviations[drawn], others), float(np.mean(drawn))


def _relative(made: ProductionSpread) -> FloatArray:
    found = made.standard_uncertainty / np.maximum(np.abs(made.nominal), 1e-300)
    return np.maximum(np.where(np.isfinite(found), found, 1.0), 1e-4)


def _promising(
    search: Arrangements,
    tests: tuple[BenchTest, ...],
    aims: Sequence[Aim],
    scatter: AimScatter,
    shifts: FloatArray,
) -> list[Arrangement]:
    """Orders worth searching: those that come nearest to the aims with what the changes do to the present
    one, (D, T) of the logarithms, and those that are nearest as they are."""
    values, _, _ = predict_tests(search.arrangements, tests)
    with np.errstate(invalid="ignore", divide="ignore"):
        logs = np.where(values > 0, np.log(values), np.nan)
    plain = log_yield(logs, aims, scatter.sigma)
    reached = plain.copy()
    for begin in range(0, len(shifts), _PORTION):
        some = logs[:, None, :] + shifts[None, begin : begin + _PORTION]
        value = log_yield(some.reshape(-1, len(aims)), aims, scatter.sigma).reshape(len(logs), -1)
        reached = np.maximum(reached, value.max(axis=1))
    by_reach = [int(k) for k in np.lexsort((-plain, -np.round(reached, 2)))]
    as_they_are = [int(k) for k in np.argsort(-plain, kind="stable")]
    order = list(dict.fromkeys([*as_they_are[:2], *by_reach]))
    order = [k for k in order if np.isfinite(reached[k]) and not search.arrangements[k].present]
    return [search.arrangements[k] for k in order[:ORDERS]]


def _varied(candidates: list[Candidate], count: int, rows: int) -> list[Candidate]:
    """The best candidates, not too many of one order, the best of each set of changes only."""
    orders = len({id(candidate.order) for candidate in candidates})
    most = max(-(-rows // max(orders, 1)), MOST_OF_AN_ORDER)
    taken: dict[int, int] = {}
    sets: set[tuple[int, tuple[int, ...]]] = set()
    varied = []
    for candidate in sorted(candidates, key=lambda each: -each.merit):
        key = (id(candidate.order), candidate.made)
        if key in sets or taken.get(key[0], 0) >= most or not candidate.order.fits(candidate.choice):
            continue
        sets.add(key)
        taken[key[0]] = taken.get(key[0], 0) + 1
        varied.append(candidate)
        if len(varied) == count:
            break
    return varied


@dataclass(frozen=True, eq=False)
class _Finalist:
    """A candidate with its merit by random builds of its own, and how these stray."""

    candidate: Candidate
    scatter: AimScatter

    @staticmethod
    def of(candidate: Candidate, aims: Sequence[Aim], like: AimScatter, builds: int, seed: int) -> _Finalist:
        """The candidate, judged so."""
        scatter, drawn = _scatter(candidate.order.built(candidate.choice), builds, seed, like)
        counts = np.array([float(len(candidate.made))])
        value = merits(candidate.logs[None], counts, np.array([drawn]), aims, scatter)
        return _Finalist(replace(candidate, merit=float(value[0])), scatter)


def _moved(
    finalists: Sequence[_Finalist], aims: Sequence[Aim], like: AimScatter, builds: int, seed: int
) -> list[Candidate]:
    """The candidates, the best of them moved by a step or two of each of their changes as their own spread
    asks for."""
    ranked = sorted(finalists, key=lambda finalist: -finalist.candidate.merit)
    moved = [finalist.candidate for finalist in ranked]
    for index, (candidate, scatter) in enumerate((each.candidate, each.scatter) for each in ranked[:MOVED]):
        choices = candidate.order.stepped(candidate.choice, STEPS)
        logs = candidate.order.read(choices)
        counts = np.full(len(choices), float(len(candidate.made)))
        value = merits(logs, counts, np.ones(len(choices)), aims, scatter)
        for k in np.argsort(-value, kind="stable"):
            if value[k] <= candidate.merit + _WORTH:
                break
            if candidate.order.fits(choices[k]):
                better = Candidate(candidate.order, choices[k], logs[k], float(value[k]))
                better = _Finalist.of(better, aims, like, builds, seed).candidate
                moved[index] = max(candidate, better, key=lambda each: each.merit)
                break
    return moved


def _outcome(candidate: Candidate, aims: Sequence[Aim], builds: int, seed: int) -> Outcome:
    """Which random builds meet all aims: as production alone makes them, and with the model's error on each
    of them, a factor."""
    built = candidate.order.built(candidate.choice)
    made = spread(built, builds, seed, origins=("build",))
    doubt = spread(built, builds, seed, origins=("model",), shares=False)
    doubted = made.samples * (doubt.samples / doubt.nominal)
    produced, doubtful = (np.all(met(samples, aims), axis=1) for samples in (made.samples, doubted))
    return Outcome(candidate, produced, doubtful)


def _judged(candidate: Candidate, before: Design, aims: Sequence[Aim], builds: int, seed: int) -> AimedBuild:
    """The candidate with what its random builds read, and what part of them meets the aims."""
    built = candidate.order.built(candidate.choice)
    made = spread(built, builds, seed, origins=("build",))
    each = met(made.samples, aims)
    outcome = _outcome(candidate, aims, builds, seed)
    return AimedBuild(
        arrangement=candidate.order.arrangement,
        design=replace(built, tests=before.tests),
        changes=candidate.order.words(candidate.choice),
        nominal=made.nominal,
        low=made.low,
        high=made.high,
        yielded=float(np.mean(outcome.produced)),
        with_model=float(np.mean(outcome.doubted)),
        alone=np.mean(each, axis=0),
        drivers=made.drivers,
        tipped=made.tipped,
    )
