"""The hypotheses that the readings leave, as components of what a further reading may show."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np

from ...predict.design import FloatArray
from .entries import Scene, bad_title
from .pairs import Pair

LEAST = 0.01
"""A hypothesis below this probability is left out (bounds work, not results)."""
MOST_SINGLES, MOST_PAIRS = 14, 6
QUANTILES = (1 / 6, 1 / 2, 5 / 6)
"""Quantiles of an amount's posterior distribution: the severities that represent it (exact: middles of three
equal parts)."""


@dataclass(frozen=True, kw_only=True)
class Survivor:
    """A hypothesis at one severity, in all M columns of an inquiry.

    Attributes
    ----------
    probability : float, its probability, dimensionless
    cause : str, key of the cause; "" for as designed; for a pair both with " + " in between
    location : str, where it is, in the same way
    title : str, the hypothesis in words
    shift : (M,) array, shift of the transformed readings, dimensionless (rad for a phase)
    anchor : (M,) array, change for one standard deviation of the leg share, dimensionless
    flips : (M,) array, 1 where the sign differs from the nominal one, else 0, dimensionless
    doubt : (M,) array, uncertain part of the shift, dimensionless (rad for a phase)
    freed : int or None, reading that is worthless under it, index, or None
    listed : bool, whether it is a single cause
    main : bool, whether it represents its hypothesis in words (its most probable severity)
    """

    probability: float
    cause: str
    location: str
    title: str
    shift: FloatArray
    anchor: FloatArray
    flips: FloatArray
    doubt: FloatArray
    freed: int | None = None
    listed: bool = False
    main: bool = True

    @property
    def label(self) -> str:
        """Cause and place, under which it is counted whatever the severity."""
        return f"{self.cause} {self.location}"


def weight_by_label(survivors: Sequence[Survivor]) -> dict[str, float]:
    """Probability (dimensionless) of every cause at its place, whatever the severity, by its label."""
    weight: dict[str, float] = {}
    for survivor in survivors:
        weight[survivor.label] = weight.get(survivor.label, 0.0) + survivor.probability
    return weight


def survivors_of(
    scene: Scene,
    as_designed: float,
    singles: tuple[FloatArray, Sequence[FloatArray]],
    bad: FloatArray,
    pairs: Sequence[tuple[Pair, float]],
) -> list[Survivor]:
    """The hypotheses that the readings of a sample leave.

    Parameters
    ----------
    scene : Scene, design, hypotheses and readings of one sample
    as_designed : float, probability of as designed, dimensionless
    singles : tuple[FloatArray, Sequence[FloatArray]] (H,)
        Probability of each hypothesis, and ln p of the readings at each of its severities (S,),
        dimensionless.
    bad : (T,) array, probability for each reading that something is wrong with it, dimensionless
    pairs : Sequence[tuple[Pair, float]], pairs with their probabilities, dimensionless
    """
    width = len(scene.background.nominal)
    none = np.zeros(width)
    plain = partial(Survivor, shift=none, anchor=scene.background.anchor, flips=none, doubt=none)
    result = []
    if as_designed >= LEAST:
        result.append(plain(probability=as_designed, cause="", location="", title="it is as designed"))
    probability, logs = singles
    for number in np.argsort(-probability)[:MOST_SINGLES].tolist():
        if probability[number] >= LEAST:
            result += _at_its_severities(scene, number, float(probability[number]), logs[number])
    for index in np.flatnonzero(bad >= LEAST).tolist():
        name, title = scene.case.tests[index].name, bad_title(scene.case, index)
        result.append(
            plain(probability=float(bad[index]), cause="bad-reading", location=name, title=title, freed=index)
        )
    for pair, share in sorted(pairs, key=lambda item: -item[1])[:MOST_PAIRS]:
        if share >= LEAST:
            result.append(_together(scene, pair, share))
    return result


def _at_its_severities(scene: Scene, number: int, probability: float, logs: FloatArray) -> list[Survivor]:
    """A single cause at the quantiles of its severity, one of them the one that is told."""
    item = scene.hypotheses[number]
    posterior = item.weights * np.exp(logs - logs.max())
    running = np.cumsum(posterior / posterior.sum())
    best = item.told(posterior)
    nodes = {min(int(np.searchsorted(running, part)), len(running) - 1) for part in QUANTILES}
    if best not in nodes:
        nodes.discard(min(nodes, key=lambda node: abs(node - best)))
        nodes.add(best)
    share = posterior[sorted(nodes)] / posterior[sorted(nodes)].sum()
    return [
        Survivor(
            probability=probability * float(part),
            cause=item.cause.name,
            location=item.location,
            title=item.title(scene.design, node),
            shift=item.shift[node],
            anchor=item.anchor[node],
            flips=item.flips[node],
            doubt=item.doubt[node],
            listed=True,
            main=node == best,
        )
        for node, part in zip(sorted(nodes), share, strict=True)
    ]


def _together(scene: Scene, pair: Pair, probability: float) -> Survivor:
    first, second = (scene.hypotheses[pair.first], scene.hypotheses[pair.second])
    first_node, second_node = pair.nodes
    return Survivor(
        probability=probability,
        cause=f"{first.cause.name} + {second.cause.name}",
        location=f"{first.location} + {second.location}",
        title=f"{first.title(scene.design, first_node)}, and {second.title(scene.design, second_node)}",
        shift=first.shift[first_node] + second.shift[second_node],
        anchor=first.anchor[first_node] + second.anchor[second_node] - scene.background.anchor,
        flips=np.abs(first.flips[first_node] - second.flips[second_node]),
        doubt=first.doubt[first_node] + second.doubt[second_node],
    )
