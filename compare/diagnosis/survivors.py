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
"""Probability below which a hypothesis is left out."""
MOST_SINGLES, MOST_PAIRS = 14, 6
QUANTILES = (1 / 6, 1 / 2, 5 / 6)
"""Of an amount's posterior distribution: the severities that stand for it."""


@dataclass(frozen=True, kw_only=True)
class Survivor:
    """A hypothesis at one severity, in all columns (M) of an inquiry.

    cause, place : "" for as designed; of a pair both with " + " between. shift, anchor, flips : (M,).
    freed : index of the reading that is worthless under it, or None. listed : whether it is a single cause.
    main : the one that stands for its hypothesis in words (its most probable severity).
    """

    probability: float
    cause: str
    place: str
    title: str
    shift: FloatArray
    anchor: FloatArray
    flips: FloatArray
    freed: int | None = None
    listed: bool = False
    main: bool = True

    @property
    def label(self) -> str:
        """What it is counted as: cause and place, whatever the severity."""
        return f"{self.cause} {self.place}"


def survivors_of(
    scene: Scene,
    as_designed: float,
    singles: tuple[FloatArray, Sequence[FloatArray]],
    bad: FloatArray,
    pairs: Sequence[tuple[Pair, float]],
) -> list[Survivor]:
    """What is left of a sample.

    singles : (H,) probabilities and ln p at every severity. bad : (T,) of each reading that something is
    wrong with it. pairs : with their probabilities.
    """
    width = len(scene.background.nominal)
    plain = partial(Survivor, shift=np.zeros(width), anchor=scene.background.anchor, flips=np.zeros(width))
    result = []
    if as_designed >= LEAST:
        result.append(plain(probability=as_designed, cause="", place="", title="it is as designed"))
    probability, logs = singles
    for number in np.argsort(-probability)[:MOST_SINGLES].tolist():
        if probability[number] >= LEAST:
            result += _at_its_severities(scene, number, float(probability[number]), logs[number])
    for place in np.flatnonzero(bad >= LEAST).tolist():
        name, title = scene.case.tests[place].name, bad_title(scene.case, place)
        result.append(
            plain(
                probability=float(bad[place]),
                cause="bad-reading",
                place=name,
                title=title,
                freed=place,
            )
        )
    for pair, share in sorted(pairs, key=lambda item: -item[1])[:MOST_PAIRS]:
        if share >= LEAST:
            result.append(_together(scene, pair, share))
    return result


def _at_its_severities(scene: Scene, number: int, probability: float, logs: FloatArray) -> list[Survivor]:
    """A single cause at the quantiles of its severity, one of them the most probable."""
    item = scene.hypotheses[number]
    posterior = item.weights * np.exp(logs - logs.max())
    running = np.cumsum(posterior / posterior.sum())
    best = int(np.argmax(posterior))
    nodes = {min(int(np.searchsorted(running, part)), len(running) - 1) for part in QUANTILES}
    if best not in nodes:
        nodes.discard(min(nodes, key=lambda node: abs(node - best)))
        nodes.add(best)
    share = posterior[sorted(nodes)] / posterior[sorted(nodes)].sum()
    return [
        Survivor(
            probability=probability * float(part),
            cause=item.cause.name,
            place=item.place,
            title=item.title(scene.design, node),
            shift=item.shift[node],
            anchor=item.anchor[node],
            flips=item.flips[node],
            listed=True,
            main=node == best,
        )
        for node, part in zip(sorted(nodes), share, strict=True)
    ]


def _together(scene: Scene, pair: Pair, probability: float) -> Survivor:
    first, second = (scene.hypotheses[pair.first], scene.hypotheses[pair.second])
    one, two = pair.nodes
    return Survivor(
        probability=probability,
        cause=f"{first.cause.name} + {second.cause.name}",
        place=f"{first.place} + {second.place}",
        title=f"{first.title(scene.design, one)}, and {second.title(scene.design, two)}",
        shift=first.shift[one] + second.shift[two],
        anchor=first.anchor[one] + second.anchor[two] - scene.background.anchor,
        flips=np.abs(first.flips[one] - second.flips[two]),
    )
