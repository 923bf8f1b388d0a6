"""Layers on the edge: steps that some builds wind in more, or fewer, layers than designed.

Such builds are parts of another kind. A range that held them too would end where nothing lies, so the ranges
are those of the builds whose layers are as designed, and the others have their own (``TippedReadings``).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..circuit import beyond_search
from ..design import BenchTest, Design, FloatArray, IntArray, WindStep
from ..measures import MEASURE_UNITS
from ..notation import format_range
from ..winding import layer_turns

BoolArray = NDArray[np.bool_]

RARE = 0.005
"""Part of the builds below which a step that tips is not worth a caution."""
NAMED = 4
"""Most readings that one sentence names."""
REMEDY = "Give the layer more room, or fewer or thinner turns, to have one kind of part."


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
    def words(self) -> str:
        """What happens in how many builds, the beginning of a sentence."""
        change = "needs" if self.layers > self.designed else "takes only"
        plural = "layer" if self.layers == 1 else "layers"
        return (
            f"In {100 * self.share:.2g} % of builds step {self.step + 1} ({self.winding}) {change} "
            f"{self.layers} {plural} instead of {self.designed}"
        )

    @property
    def caution(self) -> str:
        """One sentence for the user, with what helps."""
        return f"{self.words}: parts of another kind, which no range here holds. {REMEDY}"


@dataclass(frozen=True)
class TippedReadings:
    """What the builds of one ``tipping`` read, (T,) each, SI.

    low, high : their 2.5 % and 97.5 % points. middle : their median. outside : whether that lies outside the
    range of the builds as designed.
    """

    tipping: Tipping
    low: FloatArray
    high: FloatArray
    middle: FloatArray
    outside: BoolArray

    def sentence(self, tests: Sequence[BenchTest]) -> str:
        """In how many builds, and what ``tests`` then read as far as it is outside their range."""
        told = [self.reading(place, test) for place, test in enumerate(tests) if self.outside[place]]
        told = [f"{test.name} {text}" for test, text in zip(_of(tests, self.outside), told, strict=True)]
        most = f" and {len(told) - NAMED} more" if len(told) > NAMED else ""
        if not told:
            return f"{self.tipping.words}: the readings stay within their ranges."
        return f"{self.tipping.words}: then {', '.join(told[:NAMED])}{most}."

    def sentence_of(self, place: int, test: BenchTest) -> str:
        """The same of one test."""
        return f"{self.tipping.words}: then {self.reading(place, test)}."

    def reading(self, place: int, test: BenchTest) -> str:
        """The range of one test in these builds, as text."""
        low, high = float(self.low[place]), float(self.high[place])
        top = None if beyond_search(test.measure, high) else high
        return format_range(low, top, MEASURE_UNITS[test.measure])


def _of(tests: Sequence[BenchTest], chosen: BoolArray) -> list[BenchTest]:
    return [test for test, here in zip(tests, chosen, strict=True) if here]


def layer_counts(design: Design, number: int) -> IntArray:
    """(number, steps) layers of every build step of ``number`` builds; 0 for steps that wind nothing."""
    counts = layer_turns(design)[..., 0]
    return np.asarray(np.broadcast_to(counts, (number, counts.shape[-1])), np.int64)


def as_designed(design: Design, counts: IntArray) -> BoolArray:
    """(B,) builds whose layers are those of the plain build. counts : (B, steps) of ``layer_counts``."""
    return np.asarray(np.all(counts == layer_counts(design, 1)[0], axis=1))


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
