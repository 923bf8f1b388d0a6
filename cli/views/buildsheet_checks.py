"""The build sheet's readings in words: limits, what a miss points to, where it is taken."""

from __future__ import annotations

import re

from ...compare.plan import SURE, ShopReading
from ...predict.design import BenchTest, Design
from ...predict.shop import resistance_test
from . import words


def limits_text(reading: ShopReading) -> str:
    """The limits of a reading; where the bench cannot tell, that."""
    if not reading.judged:
        return "not judged here"
    return words.limits(reading.minimum, reading.maximum, reading.measure) or "no limit"


def points_to(reading: ShopReading, most: int | None = None, *, single_turn: bool = True) -> str:
    """What a reading beyond its limits points to, and how often the limits stop a single wrong turn.

    Parameters
    ----------
    reading : ShopReading, one reading on the way
    most : int or None, optional, causes told on either side, count; None: all
    single_turn : bool, optional, whether to say how often one wrong turn is noticed; not of what is etched
    """
    told = [
        f"{side}: {', '.join(dict.fromkeys(brief(title) for title in titles[:most]))}."
        for side, titles in (("Above", reading.above), ("Below", reading.below))
        if titles
    ]
    turn = reading.one_turn if reading.stage == "winding" else None
    if single_turn and turn is not None and turn < SURE:
        told.append(f"One turn too many or too few is noticed in {words.per_cent(turn)} of parts.")
    return " ".join(told)


def where_of(reading: ShopReading) -> str:
    """Where a reading is taken, without what ``CONNECT`` says of all."""
    text = reading.where
    for part in (
        "; leave the rest open",
        ", with its own link, as short as possible, soldered at the pins",
        " with four wires, the sense wires inside",
        "on a closed test core, ",
        ", unloaded",
    ):
        text = text.replace(part, "")
    return text


def repeated(design: Design) -> list[BenchTest]:
    """The resistance tests of whole windings, which are read first while these are wound."""
    found = (resistance_test(design, winding.name) for winding in design.windings)
    return [test for test in found if test is not None]


def brief(title: str) -> str:
    """A mistake without what the sheet's row says already."""
    for long, short in (
        (r"^.* is wound with (\w+) wire \((.*) instead of .*\)$", r"\1 wire (\2)"),
        (r"^.* is wound with (\w+) wire instead of \w+$", r"\1"),
        (r"^(\d+) of the (\d+) wires in hand of (.*) (?:does|do) not conduct$", r"\1 of \2 wires of \3 lost"),
        (r" \((?:start and finish exchanged|fixture not corrected|stack height, size)\)", ""),
        (r" \(μi about .*\)$", ""),
        (r"^the sections were wound in the order (.*) instead of .*$", r"wound in the order \1"),
        (r"^(.*) has (\d+ turns?) too many$", r"\1 +\2"),
        (r"^(.*) has (\d+ turns?) too few$", r"\1 −\2"),
        (r"^the sections of (.*) are joined in (\w+) instead of .*$", r"sections of \1 in \2"),
        (
            r"^the (core halves|sheets of the stack) are (.*) further apart at each pair of faces$",
            r"\1 \2 apart",
        ),
        (r"^(.*) covers only (.*) of its breadth, pushed to the start flange$", r"\1 bunched to \2"),
        (r" (?:is|are) shorted$", " shorted"),
        (
            r"^(.*) has (\d+ layers?) instead of (\d+) in step (\d+), as .* of builds$",
            r"\1 in \2, not \3 (step \4)",
        ),
        (r", turns longer or shorter$", ""),
    ):
        title = re.sub(long, short, title)
    return title


def when_of(reading: ShopReading) -> str:
    """When a reading is taken: after which step, on a test core, or with the core in."""
    if reading.after is not None:
        return f"step {reading.after}"
    return "test core" if reading.stage == "before core" else "finished"
