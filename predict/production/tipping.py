"""Layers on the edge: steps that some builds wind in more, or fewer, layers than designed.

Such builds are parts of another kind. A range that included them would reach across values where no part
lies. Ranges therefore hold the builds with layers as designed, and the others have ranges of their own
(``TippedReadings``).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ..circuit import beyond_search
from ..design import BenchTest, Design, FloatArray, IntArray, WindStep
from ..measures import MEASURE_UNITS
from ..notation import format_range
from ..winding import layer_turns, steps_in_layers

BoolArray = NDArray[np.bool_]

RARE = 0.005
"""Part of the builds below which a step that tips over gives no caution (judged; a caution, no verdict)."""
NAMED = 4
"""Most readings named in one sentence (judged by what a reader can take in)."""
REMEDY = "Give the layer more room, or fewer or thinner turns, to have one kind of part."


@dataclass(frozen=True, kw_only=True)
class Tipping:
    """A step that a part of the builds winds in another number of layers than designed.

    Attributes
    ----------
    step : int, build step, index from 0
    winding : str, of the step
    designed, layers : int, layers in the nominal build and in those builds, count
    share : float, part of the builds, 0 to 1, dimensionless
    along : tuple of int, other steps, index from 0, that the same builds wind so (``told_once``)
    """

    step: int
    winding: str
    designed: int
    layers: int
    share: float
    along: tuple[int, ...] = ()

    @property
    def words(self) -> str:
        """What happens in how many builds, as the beginning of a sentence."""
        return self._words([self.step, *self.along])

    def _words(self, steps: Sequence[int]) -> str:
        """The same for several steps (index from 0) that are alike in all else."""
        several = len(steps) > 1
        change = "need" if self.layers > self.designed else "take only"
        change = change if several else change.replace("need", "needs").replace("take", "takes")
        plural = "layer" if self.layers == 1 else "layers"
        numbers = " and ".join(str(step + 1) for step in steps)
        each = " each" if several else ""
        return (
            f"In {100 * self.share:.2g} % of builds step{'s' if several else ''} {numbers} ({self.winding}) "
            f"{change} {self.layers} {plural}{each} instead of {self.designed}"
        )


def tipping_cautions(tipped: Sequence[Tipping]) -> tuple[str, ...]:
    """Sentences for the user, with what helps; steps of a winding that tip alike in one of them."""
    alike: dict[tuple[str, int, int, str], list[Tipping]] = {}
    for item in tipped:
        key = (item.winding, item.designed, item.layers, f"{item.share:.2g}")
        alike.setdefault(key, []).append(item)
    told = [same[0]._words([item.step for item in same]) for same in alike.values()]
    return tuple(
        f"{words}: these are parts of another kind, and no range here includes them. {REMEDY}"
        for words in told
    )


@dataclass(frozen=True)
class TippedReadings:
    """Readings of the builds of one ``tipping``, T tests.

    Attributes
    ----------
    tipping : Tipping, step and number of layers of these builds
    low : (T,) array, 2.5 % point, SI
    high : (T,) array, 97.5 % point, SI
    middle : (T,) array, median, SI
    outside : (T,) array, whether the median lies outside the range of the builds as designed
    """

    tipping: Tipping
    low: FloatArray
    high: FloatArray
    middle: FloatArray
    outside: BoolArray

    def sentence(self, tests: Sequence[BenchTest]) -> str:
        """In how many builds it happens, and what tests then read where that is outside their range.

        Parameters
        ----------
        tests : sequence of BenchTest, the T tests
        """
        told = [
            f"{test.name} {self.reading(index, test)}"
            for index, test in enumerate(tests)
            if self.outside[index]
        ]
        most = f" and {len(told) - NAMED} more" if len(told) > NAMED else ""
        if not told:
            return f"{self.tipping.words}: the readings stay within their ranges."
        return f"{self.tipping.words}: then {', '.join(told[:NAMED])}{most}."

    def sentence_of(self, test_index: int, test: BenchTest) -> str:
        """The same sentence for one test.

        Parameters
        ----------
        test_index : int, test, index
        test : BenchTest, the test
        """
        return f"{self.tipping.words}: then {self.reading(test_index, test)}."

    def reading(self, index: int, test: BenchTest) -> str:
        """The range of one test in these builds, as text.

        Parameters
        ----------
        index : int, test, index
        test : BenchTest, the test
        """
        low, high = float(self.low[index]), float(self.high[index])
        top = None if beyond_search(test.measure, high) else high
        return format_range(low, top, MEASURE_UNITS[test.measure])


def told_once(apart: Sequence[TippedReadings]) -> tuple[TippedReadings, ...]:
    """Steps of one winding that tip over in the same builds, as one kind of builds.

    Parameters
    ----------
    apart : sequence of TippedReadings, one for each step

    Returns
    -------
    tuple of TippedReadings
        In the same order; those whose builds read the same are in the first of them.
    """
    kinds: list[TippedReadings] = []
    for item in apart:
        for index, kind in enumerate(kinds):
            same = replace(item.tipping, step=kind.tipping.step, along=kind.tipping.along) == kind.tipping
            if same and np.array_equal(item.low, kind.low) and np.array_equal(item.high, kind.high):
                along = (*kind.tipping.along, item.tipping.step)
                kinds[index] = replace(kind, tipping=replace(kind.tipping, along=along))
                break
        else:
            kinds.append(item)
    return tuple(kinds)


def layer_counts(design: Design, number: int) -> IntArray:
    """Number of layers of every build step that is wound in layers.

    Parameters
    ----------
    design : Design of one build or ``number`` builds
    number : int, of builds, count

    Returns
    -------
    (number, S) array of int, layers, count; 0 for steps that wind nothing
    """
    counts = layer_turns(design)[..., 0]
    return np.asarray(np.broadcast_to(counts, (number, counts.shape[-1])), np.int64)


def as_designed(design: Design, counts: IntArray) -> BoolArray:
    """Builds whose layers are those of the nominal build, in the steps that wind in layers.

    Parameters
    ----------
    design : Design of one build, with S steps
    counts : (B, S) array of int, layers of the builds (``layer_counts``), count
    """
    return np.asarray(np.all((counts == layer_counts(design, 1)[0]) | ~steps_in_layers(design), axis=1))


def tippings(design: Design, counts: IntArray) -> tuple[Tipping, ...]:
    """Steps whose layers differ from the nominal build in more than ``RARE`` of the builds.

    Turns without order have no layers that could differ (``steps_in_layers``).

    Parameters
    ----------
    design : Design of one build, with S steps
    counts : (B, S) array of int, layers of the builds (``layer_counts``), count
    """
    plain, orderly = layer_counts(design, 1)[0], steps_in_layers(design)
    tippings_of_steps = []
    for number, step in enumerate(design.build.steps):
        if not isinstance(step, WindStep) or not orderly[number]:
            continue
        kinds, builds = np.unique(counts[:, number], return_counts=True)
        for layers, many in zip(kinds.tolist(), builds.tolist(), strict=True):
            share = many / len(counts)
            if layers != plain[number] and share > RARE:
                tippings_of_steps.append(
                    Tipping(
                        step=number,
                        winding=step.winding,
                        designed=int(plain[number]),
                        layers=layers,
                        share=share,
                    )
                )
    return tuple(tippings_of_steps)
