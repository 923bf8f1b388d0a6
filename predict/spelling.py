"""Numbers as people and instruments write them at a bench → the strict notation of ``quantity``.

Only what can be read in one way is rewritten; everything else is left for the strict parser to refuse.

    ohm in any case           mOhm, kOhm, kOHM            mohm, kohm (MOHM may be either: it stays)
    the prefix as the point   R47, 4R7, 4k7, 2u2          0.47 ohm, 4.7 ohm, 4.7k, 2.2u
    thousands separators      1 234.5  1'234.5  1,234.5  1.234,5  1,234,567     1234.5, 1234567
    degrees                   24.5 C                      24.5 degC

A single group after one comma or point ("1,234") may be a decimal or a thousand: it stays as it is.
Source: IEC 60062 (the prefix in place of the decimal sign), from memory; the rest is common practice.
"""

from __future__ import annotations

import re

_OHM = re.compile(r"(?!MOHM)(?P<prefix>[umkMG]?)(?:[oO][hH][mM])")
_CODE = re.compile(
    r"(?P<sign>[+-]?)(?P<whole>\d*)(?P<letter>[RpnuµμmkKMG])(?P<part>\d+)(?P<unit>\s*[A-Za-zΩΩ]*)"
)
_BLANKS = r"[ '’_\u00a0\u2009\u202f]"
_BLANK_GROUPS = re.compile(rf"[+-]?\d{{1,3}}(?P<sign>{_BLANKS})\d{{3}}(?:(?P=sign)\d{{3}})*(?!\d)")
_POINT_BEHIND_COMMAS = re.compile(r"[+-]?[1-9]\d{0,2}(?:,\d{3})+\.\d+(?![\d.,])")
_COMMA_BEHIND_POINTS = re.compile(r"[+-]?[1-9]\d{0,2}(?:\.\d{3})+,\d+(?![\d.,])")
_SEVERAL_GROUPS = re.compile(r"[+-]?[1-9]\d{0,2}(?P<sign>[.,])\d{3}(?:(?P=sign)\d{3})+(?![\d.,])")


def unit_of_resistance(unit: str) -> str:
    """A unit with its ohm in small letters ("kOhm" → "kohm"); any other unit as it is. The prefix keeps its
    case: mOhm and MOhm are a milliohm and a megohm."""
    matched = _OHM.fullmatch(unit)
    return unit if matched is None else f"{matched['prefix']}ohm"


def plainly_written(text: str, dimension: str) -> str:
    """One cell in the strict notation, by the rules of the module's docstring.

    Parameters
    ----------
    text : str, the cell, without blanks at its ends
    dimension : str
        As for ``quantity.parse_reading``; codes with a prefix as the point are read for resistances ("R", and
        the prefixes), inductances, capacitances and frequencies.
    """
    text = _without_thousands(text)
    if dimension == "temperature":
        return re.sub(r"(?<=\d)\s*C$", " degC", text)
    if dimension in ("resistance", "inductance", "capacitance", "frequency"):
        return _code_written_out(text, dimension)
    return text


def _without_thousands(text: str) -> str:
    for pattern in (_POINT_BEHIND_COMMAS, _COMMA_BEHIND_POINTS, _SEVERAL_GROUPS, _BLANK_GROUPS):
        match = pattern.match(text)
        if match is None:
            continue
        number, rest = match[0], text[match.end() :]
        if pattern is _COMMA_BEHIND_POINTS:
            number = number.replace(".", "").replace(",", ".")
        elif pattern is _POINT_BEHIND_COMMAS:
            number = number.replace(",", "")
        else:
            number = number.replace(match["sign"], "")
        return number + rest
    return text


def _code_written_out(text: str, dimension: str) -> str:
    match = _CODE.fullmatch(text)
    if match is None or (match["letter"] == "R" and dimension != "resistance"):
        return text
    number = f"{match['sign']}{match['whole'] or '0'}.{match['part']}"
    unit = match["unit"].strip()
    if match["letter"] == "R":
        return f"{number} ohm" if not unit else text
    letter = {"K": "k", "µ": "u", "μ": "u"}.get(match["letter"], match["letter"])
    return f"{number}{letter}" if not unit else f"{number} {letter}{unit}"
