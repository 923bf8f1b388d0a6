"""Causes in families: what the readings say about the part before they identify the cause.

Gap, seat, grade, crack, stress and bias act on one quantity, the core's permeance; no terminal reading of
one sample separates them. The same holds for wire, strands and joints of one winding, for the ways in
which wire and tape may lie otherwise than drawn, and for inductance that does not belong to the part.
Every other cause is a family of its own. Two causes at once are in the family of both, or make a family
together. The probabilities of all families, ``as_designed`` and ``unlisted`` sum to one.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from .conclusion import Family, RankedCause, ReadingUnderCause

PERMEANCE = frozenset(
    (
        *("gap", "ungapped", "unseated", "material", "mixed-set", "wrong-al", "cracked", "bias", "stress"),
        *("metal-near", "al-basis"),
    )
)
COPPER = frozenset(("wire", "reel", "strand", "joint", "conductor"))
SPACING = frozenset(("insulation", "margin", "scramble", "bunched", "crowded", "offset", "effective-breadth"))
LINK = frozenset(("short-link", "leads", "lead-out"))
CORE, PLACE, OUTSIDE = "core permeance", "place of wire and tape", "link and leads"
POLARITY = "polarity"
"""Readings compare windings with each other: of two, none says which of them is reversed."""
LEAST_SHIFT = 0.003
"""The direction of a reading is named from this relative change on (judged by what a reader can take in; no
verdict depends on it)."""


def family_name(cause: str, where: str) -> str:
    """Family of a cause at a place.

    Parameters
    ----------
    cause : str, key of the cause
    where : str
    """
    if cause in PERMEANCE:
        return CORE
    if cause in COPPER:
        return f"copper of {where}"
    if cause in SPACING:
        return PLACE
    if cause in LINK:
        return OUTSIDE
    if cause == "reversed":
        return POLARITY
    return f"{cause} {where}"


def families_of(causes: Sequence[RankedCause], readings: Sequence[ReadingUnderCause]) -> tuple[Family, ...]:
    """Families of all listed causes, most probable first.

    Parameters
    ----------
    causes : Sequence[RankedCause]
        The causes.
    readings : Sequence[ReadingUnderCause]
        Readings beside the plain prediction.
    """
    groups: dict[str, list[RankedCause]] = {}
    for cause in causes:
        parts = [family_name(cause.cause, cause.where)]
        if cause.also is not None:
            parts.append(family_name(cause.also.cause, cause.also.where))
        groups.setdefault(" and ".join(sorted(set(parts))), []).append(cause)
    families = [_family(name, group, readings) for name, group in groups.items()]
    return tuple(sorted(families, key=lambda family: -family.probability))


def _family(name: str, group: Sequence[RankedCause], readings: Sequence[ReadingUnderCause]) -> Family:
    members: dict[tuple[str, str], None] = {}
    for cause in sorted(group, key=lambda cause: -cause.probability):
        members[cause.cause, cause.where] = None
        if cause.also is not None:
            members[cause.also.cause, cause.also.where] = None
    title, remedy = _words(name, group, readings)
    return Family(
        name=name,
        title=title,
        causes=tuple(members),
        probability=sum(cause.probability for cause in group),
        shares=_shares(group),
        remedy=remedy,
    )


def _shares(group: Sequence[RankedCause]) -> tuple[tuple[str, float], ...]:
    """What the family can be, in words, with the probability of each; pairs of causes are left out."""
    single = [cause for cause in group if cause.also is None]
    return tuple(
        (cause.title, cause.probability) for cause in sorted(single, key=lambda cause: -cause.probability)
    )


def _words(name: str, group: Sequence[RankedCause], readings: Sequence[ReadingUnderCause]) -> tuple[str, str]:
    """Title and remedy of a family; for a single cause its own."""
    best = max(group, key=lambda cause: cause.probability)
    if name == CORE:
        way = _direction(group, readings, "inductance")
        title = f"the core's permeance is {way or 'not as designed'}"
        return title, (
            "Check the core before the winding: grade and AL against the sheet; where it has joints, clean "
            "faces, closed and fixed as drawn."
        )
    if name.startswith("copper of ") and " and " not in name:
        winding = best.where
        way = _direction(group, readings, "resistance")
        title = f"the copper of {winding} has a {way + 'er' if way else 'different'} resistance than drawn"
        return title, f"Check gauge, wires in hand and the soldered ends of {winding} against the sheet."
    if name == PLACE:
        way = _direction(group, readings, "inductance")
        title = "wire or tape does not lie as drawn" + (
            f": leakage {way}" if way and best.cause != "crowded" else ""
        )
        return title, "Check breadth, margins, wraps and evenness of the layers on the next part wound."
    if name == POLARITY and len({cause.where for cause in group}) > 1:
        return (
            "one winding is reversed against the others (start and finish exchanged)",
            "Mark the start of every winding on the drawing; check the polarity before soldering the ends.",
        )
    if name == OUTSIDE:
        return (
            "inductance that is not the winding's is in the readings (link, leads, lead-outs)",
            "No change of the winding. Short and connect at the pins; correct the fixture there.",
        )
    return best.title, best.remedy


def _direction(group: Sequence[RankedCause], readings: Sequence[ReadingUnderCause], measure: str) -> str:
    """Direction "high" or "low" in which the family moves the readings of a measure, weighted by probability;
    "" if they do not say."""
    total, weight = 0.0, 0.0
    for cause in group:
        pairs = zip(cause.readings, readings, strict=True)
        moves = [
            math.log(under.expected / plain.expected)
            for under, plain in pairs
            if plain.measure == measure and under.expected > 0 and plain.expected > 0
        ]
        if moves:
            total += cause.probability * max(moves, key=abs)
            weight += cause.probability
    if weight <= 0 or abs(total / weight) < LEAST_SHIFT:
        return ""
    return "high" if total > 0 else "low"
