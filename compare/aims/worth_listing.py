"""Which builds are worth listing: none whose changes bring no more than a part of them does.

Two builds are drawn with the same random numbers wherever the same thing strays, so the part of production by
which one of them is better is counted on the builds that meet the aims in one and miss them in the other
(McNemar's comparison of paired proportions; from memory).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .joint_search import COST, NOWHERE, Candidate

NOISE = 1.96
"""Standard errors of a difference within which two yields are alike (exact: 95 % of a normal one)."""
CLOSE = 0.1
"""What a build with fewer changes may be worth less, by the spread of another one, and is still judged by its
own (bounds work, not results)."""

BoolArray = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Outcome:
    """What random builds of a candidate do.

    Attributes
    ----------
    candidate : Candidate
    produced : BoolArray, shape (B,), which random builds meet all aims, in production alone
    doubted : BoolArray, shape (B,), the same with the model's error
    """

    candidate: Candidate
    produced: BoolArray
    doubted: BoolArray

    def brings_more_than(self, fewer: Outcome) -> bool:
        """Whether it is better than a candidate with fewer changes, beyond the noise of the draws and beyond
        what a change must bring: in production, or else with the model's error and no worse in production.
        Where neither meets the aims: whether it comes nearer to them."""
        extra = COST * (len(self.candidate.made) - len(fewer.candidate.made))
        if max(float(np.mean(self.produced)), float(np.mean(fewer.produced))) < NOWHERE:
            return self.candidate.merit > fewer.candidate.merit + extra
        produced, doubted = gain(self.produced, fewer.produced), gain(self.doubted, fewer.doubted)
        if abs(produced[0]) > produced[1]:
            return produced[0] > extra
        return doubted[0] > max(doubted[1], extra)


def gain(more: BoolArray, fewer: BoolArray) -> tuple[float, float]:
    """By what part of production one build is better than another, and the noise of that.

    Parameters
    ----------
    more : BoolArray, shape (B,), which random builds of the one meet the aims
    fewer : BoolArray, shape (B,), which random builds of the other do, with the same random numbers

    Returns
    -------
    gained : float, difference of the two parts, dimensionless
    noise : float, half of the range that holds 95 % of the draws, dimensionless
    """
    won, lost = float(np.mean(more & ~fewer)), float(np.mean(~more & fewer))
    return won - lost, NOISE * math.sqrt(max(won + lost - (won - lost) ** 2, 0.0) / len(more))


def worth_listing(
    ordered: Sequence[Candidate],
    searched: Sequence[Candidate],
    outcome_of: Callable[[Candidate], Outcome],
    rows: int,
) -> list[Candidate]:
    """Of candidates those that no candidate with a part of their changes equals; where one does, that one.

    Parameters
    ----------
    ordered : sequence of Candidate, candidates, the best first
    searched : sequence of Candidate, the best candidate of every set of changes that was run
    outcome_of : callable Candidate to Outcome, judges a candidate by its own random builds
    rows : int, candidates to return, at most, count

    Returns
    -------
    list of Candidate, the candidates, in the same order
    """
    known: dict[int, Outcome] = {}

    def judged(candidate: Candidate) -> Outcome:
        if id(candidate) not in known:
            known[id(candidate)] = outcome_of(candidate)
        return known[id(candidate)]

    def simplest(candidate: Candidate) -> Candidate:
        fewer = [each for each in (*searched, *ordered) if _part_of(each, candidate)]
        fewer = [each for each in fewer if each.merit > candidate.merit - CLOSE]
        for each in sorted(fewer, key=lambda each: (len(each.made), -each.merit)):
            if each.order.fits(each.choice) and not judged(candidate).brings_more_than(judged(each)):
                return simplest(each)
        return candidate

    kept: list[Candidate] = []
    for candidate in ordered:
        simple = simplest(candidate)
        if not any(each.order is simple.order and each.made == simple.made for each in kept):
            kept.append(simple)
        if len(kept) == rows:
            break
    return kept


def _part_of(fewer: Candidate, more: Candidate) -> bool:
    return fewer.order is more.order and set(fewer.made) < set(more.made)
