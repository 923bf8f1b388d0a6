"""Cells of a catalogue row: text, numbers in this format's own units, lists, unknown keys."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Any

from ..errors import Fault, Faults, QuantityError, nearest
from ..plain_text import unfit

Row = Mapping[str, Any]


def cell_text(row: Row, key: str, faults: Faults, place: str) -> str:
    """A text that is not empty; else "" and a fault.

    Parameters
    ----------
    row : Row
        The row as in the file.
    key : str
        The key.
    faults : Faults
        Receives every fault that is found.
    place : str
        Where the row is, for faults.
    """
    value = row.get(key)
    if not isinstance(value, str) or not value.strip():
        faults.add(f"{place}: {key}", "nothing" if value is None else repr(value), "a text")
        return ""
    if wrong := unfit(value):
        faults.add(f"{place}: {key}", wrong, "a text of characters that can be shown")
        return ""
    return value


def number_in(value: object, unit: str, scale: float, *, signed: bool = False, zero: bool = False) -> float:
    """A number with one of the few units of this file format that a design file does not know.

    Parameters
    ----------
    value : object
        The raw value, such as ``"52.5 mm2"``.
    unit : str
        The unit.
    scale : float
        Size of the unit, SI.
    signed : bool, optional
        Whether negative numbers are allowed.
    zero : bool, optional
        Whether zero is allowed.

    Returns
    -------
    float
        The number, SI.

    Raises
    ------
    QuantityError
        The value is no number with this unit, or is out of range.
    """
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
    """Report every key that is not known, with the nearest one that is.

    Parameters
    ----------
    row : Row
        The row as in the file.
    known : Iterable[str]
        Keys that the row may have.
    faults : Faults
        Receives every fault that is found.
    place : str
        Where the row is, for faults.
    """
    names = list(known)
    for key in row:
        if key not in names:
            where = f"{place}.{key}" if ": " in place else f"{place}: {key}" if place else key
            faults.add(where, "an unknown key", ", ".join(names), nearest(key, names))
