"""Cells of a catalogue row: text, lists, unknown keys."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from ..errors import Faults, nearest
from ..plain_text import unfit

Row = Mapping[str, Any]


def cell_text(row: Row, key: str, faults: Faults, place: str) -> str:
    """A text that is not empty; else "" and a fault.

    Parameters
    ----------
    row : Row
    key : str
    faults : Faults
    place : str
    """
    value = row.get(key)
    if not isinstance(value, str) or not value.strip():
        faults.add(f"{place}: {key}", "nothing" if value is None else repr(value), "a text")
        return ""
    if wrong := unfit(value):
        faults.add(f"{place}: {key}", wrong, "a text of characters that can be shown")
        return ""
    return value


def refuse_unknown(row: Row, known: Iterable[str], faults: Faults, place: str) -> None:
    """Report every key that is not known, with the nearest one that is.

    Parameters
    ----------
    row : Row
    known : Iterable[str], keys that the row may have
    faults : Faults
    place : str
    """
    names = list(known)
    for key in row:
        if key not in names:
            where = f"{place}.{key}" if ": " in place else f"{place}: {key}" if place else key
            faults.add(where, "an unknown key", ", ".join(names), nearest(key, names))
