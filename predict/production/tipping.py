"""Layers on the edge: steps that some builds wind in more, or fewer, layers than designed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..design import Design, IntArray, WindStep
from ..winding import layer_turns

RARE = 0.005
"""Part of the builds below which a step that tips is not worth a caution."""


@dataclass(frozen=True)
class Tipping:
    """step : from 0. designed : its layers in the plain build. layers : what ``share`` of the builds have
    instead."""

    step: int
    winding: str
    designed: int
    layers: int
    share: float

    @property
    def caution(self) -> str:
        """One sentence for the user, with what helps."""
        change = "needs" if self.layers > self.designed else "takes only"
        plural = "layer" if self.layers == 1 else "layers"
        return (
            f"In {100 * self.share:.2g} % of builds step {self.step + 1} ({self.winding}) {change} "
            f"{self.layers} {plural} instead of {self.designed}: the parts fall into two groups, and the "
            "ranges cover both where 2.5 % or more differ. Give the layer more room, or fewer or thinner "
            "turns, to have one."
        )


def layer_counts(design: Design, number: int) -> IntArray:
    """(number, steps) layers of every build step of ``number`` builds; 0 for steps that wind nothing."""
    counts = layer_turns(design)[..., 0]
    return np.asarray(np.broadcast_to(counts, (number, counts.shape[-1])), np.int64)


def tippings(design: Design, counts: IntArray) -> tuple[Tipping, ...]:
    """Steps of ``design`` whose layers differ from the plain build in more than ``RARE`` of the builds.

    counts : (B, steps) of ``layer_counts``. In the order of the steps, then of the layers.
    """
    plain = layer_counts(design, 1)[0]
    found = []
    for number, step in enumerate(design.build.steps):
        if not isinstance(step, WindStep):
            continue
        kinds, builds = np.unique(counts[:, number], return_counts=True)
        for layers, many in zip(kinds.tolist(), builds.tolist(), strict=True):
            share = many / len(counts)
            if layers != plain[number] and share > RARE:
                found.append(Tipping(number, step.winding, int(plain[number]), layers, share))
    return tuple(found)
