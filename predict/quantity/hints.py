"""Why a text is no value: what the reader probably meant, in one sentence."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable

from ..notation import SUFFIXES
from .units import DIMENSIONS, RELATIVE, Dimension, canonical

COUNT_WORDS = {"turn", "turns", "wrap", "wraps", "layer", "layers", "strand", "strands", "pcs"}
_FOLK_NAMES = {
    "c": "degC",
    "celsius": "degC",
    "r": "ohm",
    '"': "in",
    "inch": "in",
    "inches": "in",
    "micron": "um",
}

_NOT_FINITE = re.compile(r"[+-]?(?:nan|inf|infinity|∞)(?![a-z])", re.IGNORECASE)


def type_name(value: object) -> str:
    """What a value of a TOML file is, in words."""
    names = {bool: "true/false", dict: "a table", list: "a list", type(None): "nothing", str: "a text"}
    return names.get(type(value), f"of type {type(value).__name__}")


def _quoted(units: Iterable[str]) -> str:
    return " or ".join(f'"{unit}"' for unit in units)


def number_hint(text: str, kind: Dimension) -> str:
    """Why a text does not begin with a number.

    Parameters
    ----------
    text : str
    kind : Dimension
    """
    if not text.strip("-"):
        return "The value is empty."
    if _NOT_FINITE.match(text):
        return "The value must be finite."
    if text[0] in "\u2212\u2013\u2014":
        return 'Write the minus sign as "-".'
    if re.match(r"[<>~=±≤≥≈]", text):
        return f"Write the bare value, without {text[0]!r}."
    return f'Write the number first (digits 0-9, a point), as in "{kind.example}".'


def unit_hint(number: str, rest: str, kind: Dimension, suffix: bool) -> str:
    """Why the rest of a text is no unit of this dimension.

    Parameters
    ----------
    number, rest : str, the number as written, and what follows it
    kind : Dimension
    suffix : bool, whether a bare engineering suffix would do
    """
    unit = canonical(rest)
    return (
        _separator_hint(number, rest)
        or _not_a_unit_hint(unit, kind)
        or _near_unit_hint(number, unit, kind, kind.units + (tuple(SUFFIXES) if suffix else ()))
        or _other_unit_hint(unit, kind)
    )


def _separator_hint(number: str, rest: str) -> str:
    """What is wrong with commas, points and spaces in a number; "" if nothing is."""
    if comma := re.match(r",([0-9]*)", rest):
        if "." in number or re.match(r"[.,]", rest[comma.end() :]):
            return "Write the number with one decimal point and without thousands separators."
        if len(comma[1]) == 3 and not re.fullmatch(r"[+-]?0", number):
            return f"Write {number}.{comma[1]} with a point, or {number}{comma[1]} without a separator."
        return f"Write {number}.{comma[1]} with a point." if comma[1] else "Write the number without a comma."
    if re.match(r"[\s'_’]\s*[0-9]{3}(?![0-9])", rest):
        return "Write the number without thousands separators."
    if re.match(r"\.|\s*[0-9]", rest):
        return "Write one number with one decimal point and without thousands separators."
    return ""


def _not_a_unit_hint(unit: str, kind: Dimension) -> str:
    """What was written in place of a unit: a tolerance, a fraction, a word for a count, a percentage."""
    if re.search(r"±|\+/?-", unit):
        return "Write the value alone; its tolerance has a key or column of its own."
    if unit.startswith("/"):
        return "Write a decimal number instead of a fraction."
    if unit.casefold() in COUNT_WORDS:
        return "Counts are plain integers, without a unit and without quotes."
    return f"A percentage is a relative value; here {kind.phrase} is needed." if unit == "%" else ""


def _near_unit_hint(number: str, unit: str, kind: Dimension, known: tuple[str, ...]) -> str:
    """The unit of this dimension that was probably meant: per something, in another case, without its base
    unit."""
    if kind.units and (per := re.match(r"(\w+)\s*/", unit)) and per[1] in kind.units:
        return f'Write "{number} {per[1]}" (an inductance factor is per turn squared by its nature).'
    if same := [name for name in known if name.casefold() == unit.casefold()]:
        return f"Did you mean {_quoted(same)}? Units are case sensitive."
    return (
        f'Did you mean "{unit}{kind.units[0]}"?' if kind.units and unit + kind.units[0] in kind.units else ""
    )


def _other_unit_hint(unit: str, kind: Dimension) -> str:
    """The unit of another dimension, a trade name, or the units that exist."""
    for dimension in DIMENSIONS.values():
        if unit in dimension.units:
            return f'"{unit}" is a unit of {dimension.phrase.split(" ", 1)[1]}; here {kind.phrase} is needed.'
    if not kind.units or kind is RELATIVE:
        return "Write the number without a unit." if not kind.units else 'The only unit here is "%".'
    if (folk := _FOLK_NAMES.get(unit.casefold())) in kind.units:
        return f'Did you mean "{folk}"?'
    close = difflib.get_close_matches(unit, kind.units, n=1, cutoff=0.6)
    guess = f"Did you mean {_quoted(close)}? " if close else ""
    return f"{guess}Known units: {', '.join(kind.units)}."
