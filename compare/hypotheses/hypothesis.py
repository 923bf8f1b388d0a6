"""One cause at one place, with what each of its severities would read."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from ...predict.design import Design, FloatArray
from ..causes import Cause, Counts, Variant

NEXT_COUNT = 1.04
"""Ratio of neighbouring counts that are filled in, where they are not whole turns apart: what lies between is
within the error of a whole signature (``covariances.SHARED_SIGNATURE``; bounds work)."""


@dataclass(frozen=True, kw_only=True)
class Hypothesis:
    """One cause at one place, with S severities, for T tests.

    Attributes
    ----------
    cause : Cause
        The cause.
    location : str
        Where it is.
    variants : tuple[Variant, ...]
        Computed variants, and whole counts between them.
    weights : (S,) array
        Prior of each severity, sum 1, dimensionless.
    shift : (S, T) array
        Shift δ of the transformed readings, dimensionless (rad for a phase).
    anchor : (S, T) array
        Change for one standard deviation of the leg share in that build, dimensionless.
    flips : (S, T) array
        1 if the sign differs from the nominal one, else 0, dimensionless.
    amounts : (S,) array
        Amounts in the cause's own unit (SI, count or dimensionless); NaN if none fits.
    origin : tuple[int, ...] (S,)
        Computed variant nearest to each severity, index.
    unsure : (T,) array
        ``EXACT`` where it moves the reading by an exact amount, else 1, dimensionless.
    possible : float
        Part of its severities that the window has room for, by their weight, dimensionless.
    """

    cause: Cause
    location: str
    variants: tuple[Variant, ...]
    weights: FloatArray
    shift: FloatArray
    anchor: FloatArray
    flips: FloatArray
    amounts: FloatArray
    origin: tuple[int, ...]
    unsure: FloatArray
    possible: float = 1.0

    def of(self, columns: Sequence[int]) -> Hypothesis:
        """The same for selected tests, by index; they may repeat."""
        index = list(columns)
        return replace(
            self,
            shift=self.shift[:, index],
            anchor=self.anchor[:, index],
            flips=self.flips[:, index],
            unsure=self.unsure[index],
        )

    @property
    def doubt(self) -> FloatArray:
        """Uncertain part (S, T) of the shift, to which ζ and η of ``covariances`` apply, dimensionless (rad
        for a phase)."""
        return np.asarray(self.shift * self.unsure)

    def amount(self, node: int) -> float | None:
        """Amount of a severity.

        Parameters
        ----------
        node : int
            Severity, index.

        Returns
        -------
        float or None
            Amount in the cause's own unit (SI, count or dimensionless); None if none fits.
        """
        amount = float(self.amounts[node])
        return None if math.isnan(amount) else amount

    def told(self, posterior: FloatArray) -> int:
        """The severity that stands for all: of a continuous cause the median, else the most probable.

        Where readings say nothing about a size, the most probable node would be the least or the greatest.

        Parameters
        ----------
        posterior : (S,) array
            Probability of each severity, relative, dimensionless.

        Returns
        -------
        int
            Severity, index.
        """
        if not self.cause.continuous:
            return int(np.argmax(posterior))
        running = np.cumsum(posterior)
        return int(np.searchsorted(running, running[-1] / 2))

    def title(self, design: Design, node: int) -> str:
        """The cause in words, with the amount of a severity.

        Parameters
        ----------
        design : Design
            The transformer.
        node : int
            Severity, index.
        """
        if self.cause.title is not None:
            return self.cause.title(design, self.location, float(self.amounts[node]))
        return self.variants[self.origin[node]].title


def with_counts(hypothesis: Hypothesis, counts: Counts, design: Design) -> Hypothesis:
    """A hypothesis with whole counts a filled in between the computed ones, none across the drawn number N.

    What is computed is taken as linear in ln(1 + a/N) between two counts: exactly so for ratios, and for
    inductances and resistances but for the layers. The prior of the outer one of two computed counts is
    shared with those filled in, in proportion to 1/|a|.

    Parameters
    ----------
    hypothesis : Hypothesis, the computed counts
    counts : Counts, what is counted
    design : Design, the transformer as drawn
    """
    drawn = counts.drawn(design, hypothesis.location)
    amounts = hypothesis.amounts
    weights, added = hypothesis.weights.copy(), []
    for low, high in pairwise(sorted(set(amounts.tolist()))):
        inner, outer = sorted((low, high), key=abs)
        if low <= 0 <= high or high - low < 2:
            continue
        sizes = _between(abs(inner), abs(outer))
        row = [int(np.flatnonzero(amounts == end)[0]) for end in (inner, outer)]
        share = 1.0 / np.append(sizes, abs(outer))
        share = weights[row[1]] * share / share.sum()
        weights[row[1]] = share[-1]
        away = np.log1p(math.copysign(1.0, outer) * np.append(sizes, (abs(inner), abs(outer))) / drawn)
        part = (away[:-2] - away[-2]) / (away[-1] - away[-2])
        added += [
            (math.copysign(size, outer), weight, row, at)
            for size, weight, at in zip(sizes.tolist(), share[:-1].tolist(), part.tolist(), strict=True)
        ]
    if not added:
        return hypothesis
    ends = np.array([row for _, _, row, _ in added])
    part = np.array([at for *_, at in added])[:, None]

    def filled(values: FloatArray) -> FloatArray:
        between = (1 - part) * values[ends[:, 0]] + part * values[ends[:, 1]]
        return np.concatenate([values, between])

    title = counts.title
    variants = [
        replace(
            hypothesis.variants[hypothesis.origin[row[1]]],
            amount=amount,
            weight=weight,
            title=title(design, hypothesis.location, amount),
        )
        for amount, weight, row, _ in added
    ]
    every = np.concatenate([amounts, [amount for amount, *_ in added]])
    order = np.argsort(every, kind="stable")
    origin = (*hypothesis.origin, *range(len(hypothesis.variants), len(hypothesis.variants) + len(added)))
    return replace(
        hypothesis,
        variants=(*hypothesis.variants, *variants),
        weights=np.concatenate([weights, [weight for _, weight, *_ in added]])[order],
        shift=filled(hypothesis.shift)[order],
        anchor=filled(hypothesis.anchor)[order],
        flips=np.concatenate([hypothesis.flips, hypothesis.flips[ends[:, 0]]])[order],
        amounts=every[order],
        origin=tuple(origin[node] for node in order.tolist()),
    )


def _between(low: float, high: float) -> FloatArray:
    """Whole numbers between two, next to each other or ``NEXT_COUNT`` apart."""
    steps = math.ceil(math.log(high / low) / math.log(NEXT_COUNT))
    found = np.array(sorted(set(np.rint(np.geomspace(low, high, steps + 1)).tolist())))
    return np.asarray(found[(found > low) & (found < high)], float)
