"""Two causes at once: their shifts add.

Every pair of different causes is tried at a few severities of each; for the pairs that then fit the
readings best, both severities are refined.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ...predict.design import FloatArray
from ..hypotheses import Hypothesis
from .weighing import Case, log_under

_AT_A_TIME = 30_000
"""Numbers of the pairs' covariances at a time: they stay in a core's cache (bounds work, not results)."""


@dataclass(frozen=True)
class Pair:
    """Two causes together.

    Attributes
    ----------
    total : float, ln (prior × evidence), dimensionless
    first : int, first hypothesis, index
    second : int, second hypothesis, index
    nodes : tuple[int, int], their most probable severities, index
    """

    total: float
    first: int
    second: int
    nodes: tuple[int, int]


REFINED = 40
"""Pairs that are tried with all their severities (bounds work, not results)."""
COARSE, FINE = 3, 9
"""Severities of each cause in the first pass and in the second (bounds work, not results)."""
TWICE = 10.0
"""How much more likely the same mistake in two places is than two mistakes of different kinds (judged)."""


@dataclass(frozen=True, kw_only=True)
class _Points:
    """N severities of all hypotheses: the hypothesis that each belongs to, its node, its prior.

    ``reach``: (N, T) standard deviation of the shift over the severities that a point represents.
    """

    owner: NDArray[np.int64]
    node: NDArray[np.int64]
    weight: FloatArray
    shift: FloatArray
    reach: FloatArray
    anchor: FloatArray
    flips: FloatArray
    doubt: FloatArray


def weighed_pairs(
    case: Case,
    hypotheses: Sequence[Hypothesis],
    prior: FloatArray,
    prior_of_pairs: float,
    logs: Sequence[FloatArray],
) -> list[Pair]:
    """Evidence of every pair of hypotheses.

    The priors of the pairs are products of the single ones and sum to ``prior_of_pairs``; the same mistake
    in two places is more likely than that (``TWICE``). A point of a continuous severity represents those
    around it: its shift is uncertain along the curve of severities by ``reach``, so that few points cover
    the integral over all.

    Parameters
    ----------
    case : Case, the readings of one sample in the transformed space
    hypotheses : Sequence[Hypothesis]
    prior : (H,) array, prior of each hypothesis, dimensionless
    prior_of_pairs : float, prior of all pairs together, dimensionless
    logs : Sequence[FloatArray] (S,)
        For each hypothesis ln p of the readings at its severities, dimensionless.
    """
    if len(hypotheses) < 2:
        return []
    here, there = np.triu_indices(len(hypotheses), 1)
    names = np.array([item.cause.name for item in hypotheses])
    alike = np.where(names[:, None] == names, TWICE, 1.0)
    whole = np.sum(prior[here] * prior[there] * alike[here, there])
    scale = np.log(prior_of_pairs / whole) + np.log(alike)
    points = _points(case, hypotheses, prior, logs, COARSE)
    first_points, second_points = np.triu_indices(len(points.owner), 1)
    apart = points.owner[first_points] != points.owner[second_points]
    result = _weighed(case, points, first_points[apart], second_points[apart], scale)
    result.sort(key=lambda pair: -pair.total)
    best, rest = result[:REFINED], result[REFINED:]
    fine = _points(case, hypotheses, prior, logs, FINE)
    rows = [np.flatnonzero(fine.owner == index) for index in range(len(hypotheses))]
    grids = [np.meshgrid(rows[pair.first], rows[pair.second]) for pair in best]
    first_points = np.concatenate([first.ravel() for first, _ in grids])
    second_points = np.concatenate([second.ravel() for _, second in grids])
    return [*_weighed(case, fine, first_points, second_points, scale), *rest]


def _weighed(
    case: Case,
    points: _Points,
    first_points: NDArray[np.int64],
    second_points: NDArray[np.int64],
    scale: FloatArray,
) -> list[Pair]:
    """Evidence of ``first_points`` together with ``second_points``, summed by pair of hypotheses;
    ``scale`` (H, H): ln of the factor on their priors."""
    portion = max(1, _AT_A_TIME // max(len(case.tests), 1) ** 2)
    parts = [slice(begin, begin + portion) for begin in range(0, len(first_points), portion)]
    logs = np.concatenate(
        [_logs_of_both(case, points, first_points[part], second_points[part]) for part in parts]
    )
    logs = logs + np.log(points.weight[first_points] * points.weight[second_points])
    logs = logs + scale[points.owner[first_points], points.owner[second_points]]
    key = points.owner[first_points] * (int(points.owner[-1]) + 1) + points.owner[second_points]
    order = np.argsort(key, kind="stable")
    starts = np.flatnonzero(np.diff(key[order], prepend=-1))
    number = np.diff(starts, append=len(order))
    top = np.maximum.reduceat(logs[order], starts)
    above = np.repeat(top, number)
    totals = top + np.log(np.add.reduceat(np.exp(logs[order] - above), starts))
    rank = np.where(logs[order] == above, np.arange(len(order)), len(order))
    best = order[np.minimum.reduceat(rank, starts)]  # the first of the likeliest points of each pair
    first, second = first_points[best], second_points[best]
    nodes = zip(points.node[first].tolist(), points.node[second].tolist(), strict=True)
    owners = points.owner[first].tolist(), points.owner[second].tolist()
    return [Pair(*pair) for pair in zip(totals.tolist(), *owners, nodes, strict=True)]


def _logs_of_both(
    case: Case, points: _Points, first: NDArray[np.int64], second: NDArray[np.int64]
) -> FloatArray:
    """ln p of the readings under both points of each pair."""
    return log_under(
        case,
        points.shift[first] + points.shift[second],
        points.anchor[first] + points.anchor[second] - case.anchor,
        np.abs(points.flips[first] - points.flips[second]),
        (points.reach[first], points.reach[second]),
        points.doubt[first] + points.doubt[second],
    )


def _points(
    case: Case, hypotheses: Sequence[Hypothesis], prior: FloatArray, logs: Sequence[FloatArray], most: int
) -> _Points:
    index = list(case.test_indices)
    owners, nodes, weights, reaches = [], [], [], []
    for hypothesis_index, item in enumerate(hypotheses):
        for node, share, reach in _few(item, most, logs[hypothesis_index]):
            owners.append(hypothesis_index)
            nodes.append(node)
            weights.append(prior[hypothesis_index] * share)
            reaches.append(reach)

    def rows(name: str) -> FloatArray:
        return np.stack(
            [
                getattr(hypotheses[hypothesis_index], name)[node]
                for hypothesis_index, node in zip(owners, nodes, strict=True)
            ]
        )[:, index]

    return _Points(
        owner=np.array(owners, np.int64),
        node=np.array(nodes, np.int64),
        weight=np.array(weights),
        shift=rows("shift"),
        reach=np.stack(reaches)[:, index],
        anchor=rows("anchor"),
        flips=rows("flips"),
        doubt=rows("doubt"),
    )


def _few(hypothesis: Hypothesis, most: int, logs: FloatArray) -> list[tuple[int, float, FloatArray]]:
    """At most that many severities, with their fractions of the prior and their reach: the middles of equally
    likely parts of a range (uniform within each); for discrete ways those that fit best alone, up to half,
    and the heaviest represent themselves."""
    count = len(hypothesis.weights)
    if count > most and hypothesis.cause.continuous:
        below = np.cumsum(hypothesis.weights) - hypothesis.weights / 2
        edges, nodes = np.linspace(below[0], below[-1], most + 1), np.arange(count)
        middles = np.rint(np.interp((edges[:-1] + edges[1:]) / 2, below, nodes)).astype(int)
        ends = np.rint(np.interp(edges, below, nodes)).astype(int)
        across = hypothesis.shift[ends[1:]] - hypothesis.shift[ends[:-1]]
        return [
            (int(node), 1 / most, width / math.sqrt(12)) for node, width in zip(middles, across, strict=True)
        ]
    heaviest = np.argsort(-hypothesis.weights, kind="stable").tolist()
    fitting = np.argsort(-logs - np.log(hypothesis.weights), kind="stable")[: most // 2].tolist()
    chosen = list(dict.fromkeys([*fitting, *heaviest]))[:most]
    none = np.zeros(hypothesis.shift.shape[1])
    return [(node, float(hypothesis.weights[node]), none) for node in sorted(chosen)]
