"""Cells of a catalogue row: text, numbers in this format's own units, lists, unknown keys."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Any

from ..errors import Fault, Faults, QuantityError, nearest
from ..plain_text import unfit

Row = Mapping[str, Any]


def cell_text(row: Row, key: str, faults: Faults, place: str) -> str:
    """A text that is not empty; else "" and a fault."""
    value = row.get(key)
    if not isinstance(value, str) or not value.strip():
        faults.add(f"{place}: {key}", "nothing" if value is None else repr(value), "a text")
        return ""
    if wrong := unfit(value):
        faults.add(f"{place}: {key}", wrong, "a text of characters that can be shown")
        return ""
    return value


def number_in(value: object, unit: str, scale: float, *, signed: bool = False, zero: bool = False) -> float:
    """``"52.5 mm2"`` → SI, for the few units of this file format that are no unit of a design file. Raises
    QuantityError; negative numbers only where ``signed``, nothing only where ``zero``."""
    spelled = {unit, unit.replace("2", "²").replace("3", "³"), unit.replace("u", "µ")}
    match = (
        re.fullmatch(r"\s*([+-]?\d+(?:\.\d+)?(?:[eE][+-]?\d+)?)\s*(\S.*?)\s*", value)
        if isinstance(value, str)
        else None
    )
    wrong = match is None or match[2] not in spelled
    if (
        match is None
        or wrong
        or (not signed and (float(match[1]) < 0 or (float(match[1]) == 0 and not zero)))
    ):
        raise QuantityError(Fault("", repr(value), f'a number with its unit, such as "97.1 {unit}"'))
    return float(match[1]) * scale


def refuse_unknown(row: Row, known: Iterable[str], faults: Faults, place: str) -> None:
    """A fault for every key that is not ``known``, with the nearest one that is."""
    names = list(known)
    for key in row:
        if key not in names:
            where = f"{place}.{key}" if ": " in place else f"{place}: {key}" if place else key
            faults.add(where, "an unknown key", ", ".join(names), nearest(key, names))
