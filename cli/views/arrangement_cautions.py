"""The cautions about arrangements: circuits less apart, layers on the edge, heights; for several screens."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from ...compare.plan import Comparison
from ...predict.design import Design
from ...predict.interleave import pairs_text
from ...predict.production import Tipping, height_cautions, told_once
from ...predict.winding import Pair, Separation, separation_text, separations, shortfalls
from . import words

_KEPT = (
    "Between two circuits every arrangement has at least what the design has between them (tape, spacers, "
    "partitions, shields, margins)"
)
_JUDGE = (
    "; dividing a winding adds faces, edges and lead-outs. Whether that suffices follows the "
    "applicable safety standard and the decision of a qualified person."
)
INSULATION = _KEPT + _JUDGE
INSULATION_BUT_BARE = f"{_KEPT}, but for those marked !{_JUDGE}"
EDGE = 0.05
"""Part of the builds above which another number of layers is worth a word where many builds stand side by
side."""


def less_lines(less: Mapping[Pair, tuple[Separation, Separation]]) -> list[str]:
    """One line for all pairs that fare alike: (what is in the design, what is here) of each."""
    told: dict[str, list[Pair]] = {}
    for pair, (before, after) in less.items():
        text = f"{separation_text(after)}; the design has {separation_text(before)}."
        if "creepage" in shortfalls(before, after):
            lengths = [f"{what.creepage * 1e3:.3g} mm" for what in (after, before)]
            way = "Over the partition" if after.kind == "chambers" else "Around the ends of their layers"
            text += f" {way} {lengths[0]}; the design has {lengths[1]}."
        told.setdefault(text, []).append(pair)
    return [f"{pairs_text(pairs)}: {text}" for text, pairs in told.items()]


def less_between(before: Design, after: Design) -> list[str]:
    """One line for all pairs of circuits that are less far apart in one design than in another.

    Parameters
    ----------
    before : Design, the design to go by
    after : Design, the design that is looked at
    """
    was, now = separations(before), separations(after)
    return less_lines(
        {pair: (was[pair], what) for pair, what in now.items() if pair in was and shortfalls(was[pair], what)}
    )


def less_apart_text(result: Comparison, index: int) -> list[str]:
    """Pairs of circuits that an arrangement keeps less far apart than the design does, and what lies between
    them.

    Parameters
    ----------
    result : Comparison, all arrangements
    index : int, index of the arrangement
    """
    return less_lines(result.arrangements[index].less_apart(result.design))


def numbers_text(numbers: list[int]) -> str:
    """Numbers of a table in words: "numbers 1, 3"."""
    return f"number{'s' if len(numbers) > 1 else ''} {', '.join(map(str, numbers))}"


def layer_cautions(tipped: Mapping[int, Sequence[Tipping]]) -> Iterator[str]:
    """The numbers whose builds fall into groups of unlike layers."""
    told: dict[str, list[int]] = {}
    for number, steps in tipped.items():
        shares: dict[str, float] = {}
        for step in steps:
            shares[step.winding] = max(step.share, shares.get(step.winding, 0.0))
        for name, share in shares.items():
            if share >= EDGE:
                told.setdefault(f"{name} in {words.per_cent(share)} of builds", []).append(number)
    if told:
        each = [f"{what} ({numbers_text(numbers)})" for what, numbers in told.items()]
        yield (
            f"A winding takes more or fewer layers than drawn: {'; '.join(each)}. Those parts read "
            "differently from the rest; the ranges are for builds as drawn."
        )


def interleave_cautions(result: Comparison) -> Iterator[str]:
    """What was kept, what no model gives, bare faces, and safety."""
    yield from result.search.notes
    refused = result.predictions.refused
    if refused:
        count = len(refused)
        yield (
            f"{count} of the arrangements have readings that no model here covers, such as: {refused[0][1]}"
        )
    less = [index + 1 for index in result.shown if result.arrangements[index].less_apart(result.design)]
    if less:
        yield (
            f"LESS INSULATION THAN THE DESIGN (--bare) in {numbers_text(less)}: each says above "
            "which circuits, and what lies between them."
        )
    bare = [k + 1 for k in result.shown if any(f.thickness == 0 for f in result.arrangements[k].faces)]
    if bare:
        yield f"Circuits meet with only their wires' own insulation between: {numbers_text(bare)}."
    high: dict[str, list[int]] = {}
    for index in result.shown:
        for told in height_cautions(result.arrangements[index].design):
            high.setdefault(told, []).append(index + 1)
    for told, numbers in high.items():
        yield f"{numbers_text(numbers).capitalize()}: {told[0].lower()}{told[1:]}"
    main = result.questions.leakage[0]
    for index, spread in result.spreads.items():
        for apart in told_once(spread.apart):
            if not apart.outside[0] and apart.tipping.share < EDGE:
                continue
            stays = f"{apart.tipping.words}: the leakage stays in its range."
            told = apart.sentence_of(0, main) if apart.outside[0] else stays
            yield f"Number {index + 1}: {told[0].lower()}{told[1:]} Its ranges are of builds as drawn."
    yield INSULATION_BUT_BARE if result.rules.bare else INSULATION
    yield from result.design.cautions
    yield words.SAFETY_LINE
