"""What the pictures of a report share: the numbers of their axes, and names that fit."""

from __future__ import annotations

import math
from collections.abc import Sequence

from ...predict.notation import format_quantity
from .page import visible

LONGEST = 22
"""Letters of a name in a picture."""


def spanned(values: Sequence[float]) -> tuple[float, float]:
    """Lower and upper end, SI, of an axis that holds some values."""
    low, high = min(values), max(values)
    room = (high - low) * 0.08 or abs(high) * 0.05 or 1.0
    return low - room, high + room


def axis_unit(unit: str, values: Sequence[float]) -> tuple[float, str]:
    """What turns SI numbers into those of an axis: 1e6 and "µH" for some hundred microhenries; degrees for
    radians.

    Parameters
    ----------
    unit : str, the SI unit
    values : Sequence[float], numbers on the axis, SI

    Returns
    -------
    float, factor from SI, dimensionless
    str, symbol of the unit; empty for plain numbers
    """
    if unit == "rad":
        return 180 / math.pi, "°"
    largest = max(map(abs, values), default=0.0)
    if unit == "1" or not largest:
        return 1.0, ""
    number, _, symbol = format_quantity(largest, unit, 6).partition(" ")
    return 10.0 ** round(math.log10(float(number) / largest)), symbol


def elided(name: str) -> str:
    """A name for an axis: the middle of a long one left out; the picture's description has it whole."""
    text = visible(name)
    return text if len(text) <= LONGEST else f"{text[: LONGEST // 2]}…{text[-LONGEST // 2 + 1 :]}"


def short_names(names: Sequence[str]) -> dict[str, str]:
    """What stands in a picture for each of some names: where one is too long, without the words with which
    all begin, and elided."""
    shared = 0
    if len(names) > 1 and max(map(len, names)) > LONGEST:
        first, last = min(names), max(names)
        alike = next((at for at, (a, b) in enumerate(zip(first, last, strict=False)) if a != b), len(first))
        shared = max((first.rfind(mark, 0, alike) + 1 for mark in " _-/,.:"), default=0)
    return {name: elided(f"…{name[shared:]}" if shared > 1 else name) for name in names}


WILD = 1.5
"""Widths of range and limits together beyond which a reading does not widen the axis."""


def wild(home: Sequence[float], readings: Sequence[float]) -> list[bool]:
    """Which readings lie so far off that they would squash the axis.

    Parameters
    ----------
    home : Sequence[float], range and limits of the test, SI
    readings : Sequence[float], the readings, SI
    """
    low, high = min(home), max(home)
    reach = WILD * (high - low)
    return [not low - reach <= value <= high + reach for value in readings]
