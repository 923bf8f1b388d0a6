"""Two causes at once: their shifts add.

Every pair of different causes is tried at a few severities of each; for the pairs that then go best with the
readings, both severities are refined.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..predict.design import FloatArray
from .hypotheses import Hypothesis
from .weighing import Case, log_sum, log_under


@dataclass(frozen=True)
class Pair:
    """Two causes together: ``total`` ln evidence with prior; which hypotheses, and their most probable
    severities."""

    total: float
    first: int
    second: int
    nodes: tuple[int, int]


@dataclass(frozen=True)
class _Points:
    """N severities of all hypotheses: which hypothesis each belongs to, which node it is, its prior."""

    owner: NDArray[np.int64]
    node: NDArray[np.int64]
    weight: FloatArray
    shift: FloatArray
    anchor: FloatArray
    flips: FloatArray


def pairs_of(
    case: Case, hypotheses: Sequence[Hypothesis], prior: FloatArray, prior_of_pairs: float
) -> list[Pair]:
    """Evidence of every pair of different causes; their prior probabilities, products of the single ones,
    sum to ``prior_of_pairs``."""
    points = _points(case, hypotheses, prior)
    names = np.array([item.cause.name for item in hypotheses])
    one, two = np.triu_indices(len(points.owner), 1)
    apart = names[points.owner[one]] != names[points.owner[two]]
    one, two = one[apart], two[apart]
    if not len(one):
        return []
    here, there = np.triu_indices(len(hypotheses), 1)
    whole = float(np.sum((prior[here] * prior[there])[names[here] != names[there]]))
    logs = log_under(
        case,
        points.shift[one] + points.shift[two],
        points.anchor[one] + points.anchor[two] - case.anchor,
        np.abs(points.flips[one] - points.flips[two]),
    )
    logs = logs + np.log(points.weight[one] * points.weight[two] / whole * prior_of_pairs)
    key = points.owner[one] * len(hypotheses) + points.owner[two]
    order = np.argsort(key, kind="stable")
    starts = np.flatnonzero(np.diff(key[order], prepend=-1))
    result = []
    for rows in np.split(order, starts[1:]):
        best = rows[int(np.argmax(logs[rows]))]
        total = log_sum(logs[rows], np.ones(len(rows)))
        first, second = int(points.owner[one[best]]), int(points.owner[two[best]])
        nodes = int(points.node[one[best]]), int(points.node[two[best]])
        result.append(Pair(total, first, second, nodes))
    return result


def _points(case: Case, hypotheses: Sequence[Hypothesis], prior: FloatArray) -> _Points:
    owners, nodes, weights = [], [], []
    for place, item in enumerate(hypotheses):
        for node, share in _few(item):
            owners.append(place)
            nodes.append(node)
            weights.append(prior[place] * share)
    index = list(case.places)

    def rows(name: str) -> FloatArray:
        return np.stack(
            [getattr(hypotheses[place], name)[node] for place, node in zip(owners, nodes, strict=True)]
        )[:, index]

    return _Points(
        np.array(owners, np.int64),
        np.array(nodes, np.int64),
        np.array(weights),
        rows("shift"),
        rows("anchor"),
        rows("flips"),
    )


def _few(hypothesis: Hypothesis) -> list[tuple[int, float]]:
    """At most three severities for a pair, with their parts of the prior: both ends and the middle of a range
    stand for all of it; of single ways the heaviest stand for themselves."""
    count = len(hypothesis.weights)
    if count > 3 and hypothesis.cause.continuous:
        return [(node, 1 / 3) for node in (0, count // 2, count - 1)]
    heaviest = np.argsort(-hypothesis.weights, kind="stable")[:3]
    return [(int(node), float(hypothesis.weights[node])) for node in sorted(heaviest)]
