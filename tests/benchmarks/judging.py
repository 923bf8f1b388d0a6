"""One diagnosis against what was really done: ranks of the true cause, what was stated, and how surely.

Hypotheses are grouped before they are ranked: entries of one cause and place are one (their amounts apart);
too many or missing wraps count as found whatever the step (the readings of an interleaved build hardly know
which), a reversed winding whichever it is (with two windings that is the same part); a pair of causes is a
hypothesis of its own. Two rankings are kept: among everything (as designed, unlisted and bad readings too),
and among the causes alone, as a user reads the list of causes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass

import numpy as np
from simulator.faults import Done, family
from simulator.samples import Sample

from aswound.compare.diagnosis.conclusion import Diagnosis, RankedCause

AS_DESIGNED, UNLISTED, BAD = "as designed", "unlisted", "bad-reading"
KEPT = 6


@dataclass(frozen=True)
class Verdict:
    """What the script keeps of one sample, a line of its JSON.

    truth : the true hypothesis ("" for novel ones). rank, rank_among_causes, family_rank : from 1; 0 if it is
    nowhere. strict_rank : with the step of insulation. stated : the leading hypotheses with their
    probabilities. as_designed, unlisted, bad : probabilities. causes : the most probable single cause and its
    probability. distance : Mahalanobis distance² from the nominal readings. detectable : beyond the point.
    found : of a double fault how many of its two causes are among the three most probable by marginal;
    first : whether the most probable by marginal is one of them.
    """

    design: str
    sample: str
    kind: str
    label: str
    truth: str
    amounts: tuple[float | None, ...]
    readings: int
    distance: float
    detectable: bool
    rank: int
    rank_among_causes: int
    strict_rank: int
    family_rank: int
    family_rank_among_causes: int
    leading: str
    probability: float
    as_designed: float
    unlisted: float
    bad: float
    cause: str
    cause_probability: float
    found: int
    first: bool
    stated: tuple[tuple[str, float], ...]

    def row(self) -> dict[str, object]:
        """As a plain dictionary."""
        return asdict(self)


def merged(cause: str, where: str) -> str:
    """The name of a hypothesis: its cause and place; insulation without its step, a reversed winding without
    its name."""
    return cause if cause in ("insulation", "reversed") else f"{cause} {where}".strip()


def names_of(entry: RankedCause, *, strict: bool = False) -> str:
    """The name of a listed entry; a pair's two causes in the order of the alphabet."""
    parts = [(entry.cause, entry.where)]
    if entry.also is not None:
        parts.append((entry.also.cause, entry.also.where))
    named = [f"{cause} {where}" if strict else merged(cause, where) for cause, where in parts]
    return " + ".join(sorted(named))


def family_of(entry: RankedCause) -> str:
    """The family of an entry; of a pair both, in order."""
    parts = [family(entry.cause, entry.where)]
    if entry.also is not None:
        parts.append(family(entry.also.cause, entry.also.where))
    return " + ".join(sorted(set(parts)))


def _summed(pairs: Sequence[tuple[str, float]]) -> list[tuple[str, float]]:
    total: dict[str, float] = {}
    for name, probability in pairs:
        total[name] = total.get(name, 0.0) + probability
    return sorted(total.items(), key=lambda item: -item[1])


def _rank(ranked: Sequence[tuple[str, float]], name: str) -> int:
    return next((place for place, (other, _) in enumerate(ranked, 1) if other == name), 0)


def _true_names(done: Sequence[Done], *, strict: bool) -> str:
    named = [f"{one.cause} {one.where}" if strict else merged(one.cause, one.where) for one in done]
    return " + ".join(sorted(named))


def judge(sample: Sample, diagnosis: Diagnosis, readings: int, distance: float, detectable: bool) -> Verdict:
    """The verdict on one sample's diagnosis."""
    others = [(AS_DESIGNED, diagnosis.as_designed), (UNLISTED, diagnosis.unlisted)]
    causes = [entry for entry in diagnosis.causes if entry.cause != BAD]
    bad = [(names_of(entry), entry.probability) for entry in diagnosis.causes if entry.cause == BAD]
    among = _summed([(names_of(entry), entry.probability) for entry in causes])
    ranked = _summed([*others, *bad, *among])
    families = _summed([(family_of(entry), entry.probability) for entry in causes])
    strict = _summed([(names_of(entry, strict=True), entry.probability) for entry in causes])
    if sample.kind == "sound":
        truth, own = AS_DESIGNED, AS_DESIGNED
    elif sample.kind in ("novel", "data"):
        truth, own = "", ""
    else:
        truth = _true_names(sample.done, strict=False)
        own = " + ".join(sorted({family(one.cause, one.where) for one in sample.done}))
    marginal = _marginal(causes)
    wanted = {merged(one.cause, one.where) for one in sample.done}
    return Verdict(
        design=sample.design,
        sample=sample.name,
        kind=sample.kind,
        label=sample.label,
        truth=truth,
        amounts=tuple(one.amount for one in sample.done),
        readings=readings,
        distance=distance,
        detectable=detectable,
        rank=_rank(ranked, truth),
        rank_among_causes=_rank(among, truth),
        strict_rank=_rank(strict, _true_names(sample.done, strict=True)),
        family_rank=_rank(_summed([*others, *bad, *families]), own),
        family_rank_among_causes=_rank(families, own),
        leading=ranked[0][0],
        probability=ranked[0][1],
        as_designed=diagnosis.as_designed,
        unlisted=diagnosis.unlisted,
        bad=sum(probability for _, probability in bad),
        cause=among[0][0] if among else "",
        cause_probability=among[0][1] if among else 0.0,
        found=len(wanted & {name for name, _ in marginal[:3]}),
        first=bool(marginal) and marginal[0][0] in wanted,
        stated=tuple((name, round(probability, 5)) for name, probability in ranked[:KEPT]),
    )


def _marginal(causes: Sequence[RankedCause]) -> list[tuple[str, float]]:
    """Every cause and place with the probability that it is present at all."""
    total: dict[str, float] = {}
    for entry in causes:
        parts = {merged(entry.cause, entry.where)}
        if entry.also is not None:
            parts.add(merged(entry.also.cause, entry.also.where))
        for name in parts:
            total[name] = total.get(name, 0.0) + entry.probability
    return sorted(total.items(), key=lambda item: -item[1])


def calibration_error(probability: np.ndarray, right: np.ndarray, bins: int = 10) -> float:
    """Expected calibration error over equal bins of the stated probability."""
    if not len(probability):
        return float("nan")
    place = np.minimum((probability * bins).astype(int), bins - 1)
    total = 0.0
    for number in range(bins):
        inside = place == number
        if inside.any():
            total += inside.sum() * abs(right[inside].mean() - probability[inside].mean())
    return float(total / len(probability))


def interval(hits: int, count: int) -> tuple[float, float]:
    """95 % interval of a share (Wilson's score interval)."""
    if count == 0:
        return 0.0, 1.0
    z, p = 1.96, hits / count
    middle = (p + z * z / (2 * count)) / (1 + z * z / count)
    half = z * np.sqrt(p * (1 - p) / count + z * z / (4 * count * count)) / (1 + z * z / count)
    return float(max(middle - half, 0.0)), float(min(middle + half, 1.0))
