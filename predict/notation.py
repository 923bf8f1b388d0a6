"""SI numbers to text in engineering notation, rounded before the prefix is chosen (999.96 µH is 1.000 mH).

The counterpart of ``quantity``, which re-exports these names. An unknown display unit raises
``ValueError``. Source of symbols and prefixes: BIPM, The International System of Units (SI brochure), from
memory.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from decimal import Context, Decimal

SUFFIXES = {"p": -12, "n": -9, "u": -6, "m": -3, "k": 3, "M": 6, "G": 9}
"""Exponent of each prefix, in the ASCII spelling of engineering suffixes (exact)."""

_SYMBOLS = {  # unit: (symbol, the same in ASCII, least and greatest prefix exponent)
    "H": ("H", "H", -12, 0),
    "ohm": ("Ω", "ohm", -6, 9),
    "F": ("F", "F", -15, 0),
    "Hz": ("Hz", "Hz", 0, 9),
    "m": ("m", "m", -6, -3),
    "V": ("V", "V", -6, 3),
    "A": ("A", "A", -6, 0),
    "T": ("T", "T", -6, 0),
    "rad": ("°", "deg", 0, 0),
    "degC": ("°C", "degC", 0, 0),
    "K": ("K", "K", 0, 0),
    "1": ("", "", 0, 0),
}
_PREFIX_SYMBOLS = {exponent: symbol for symbol, exponent in SUFFIXES.items()} | {0: "", -15: "f"}


def _displayed(value: float, unit: str, digits: int = 4) -> float:
    """The number in the displayed unit (degrees for rad), after a check of the arguments."""
    if unit not in _SYMBOLS:
        raise ValueError(f"unknown display unit {unit!r}; known: {', '.join(_SYMBOLS)}")
    if digits < 1:
        raise ValueError(f"digits must be at least 1, not {digits}")
    return math.degrees(value) if unit == "rad" else value


def _place(size: float, unit: str, digits: int) -> int:
    """Power of ten of the last digit shown.

    ``digits`` significant digits of ``size``; on scales without a natural zero a fixed number of decimals
    (angles digits - 1, temperatures digits - 2).
    """
    if unit in ("rad", "degC"):
        return -max(digits - (1 if unit == "rad" else 2), 0)
    return int(f"{size:.{digits - 1}e}".split("e")[1]) - digits + 1


def _rounded(value: float, index: int) -> Decimal:
    number = Decimal(value).quantize(Decimal(1).scaleb(index), context=Context(prec=800))
    return abs(number) if number == 0 else number  # no "-0.0"


def _prefix(size: Decimal, unit: str) -> int:
    """Exponent of the prefix for a rounded size; lengths are in mm from 0.1 mm upwards, else in µm."""
    if unit == "m":
        return -6 if 0 < size < Decimal("1e-4") else -3
    least, greatest = _SYMBOLS[unit][2:]
    return min(max(3 * (size.adjusted() // 3), least), greatest) if size else 0


def _with_unit(text: str, unit: str, exponent: int, ascii: bool = False) -> str:
    prefix = _PREFIX_SYMBOLS[exponent]
    symbol = prefix + _SYMBOLS[unit][1] if ascii else prefix.replace("u", "µ") + _SYMBOLS[unit][0]
    return text + symbol if symbol == "°" else f"{text} {symbol}".rstrip()


def _fixed(number: Decimal, exponent: int) -> str:
    return f"{number.scaleb(-exponent):f}"


def format_quantity(value: float | None, unit: str, digits: int = 4, *, ascii: bool = False) -> str:
    """A quantity in engineering notation: (6.142e-4, "H") → "614.2 µH".

    Outside the prefixes (from 1e6 up or below 1e-3 of the last one) the number has an exponent. A finite
    result can be read back by ``parse_quantity``, as far as it is in range.

    Parameters
    ----------
    value : float or None
        Value, SI; None and NaN give "-", infinities "∞" ("inf" in ASCII), zero "0" with the plain unit.
    unit : str
        "H", "ohm", "F", "Hz", "V", "A", "T" (prefixes of the closed list); "m" (mm, below 0.1 mm µm); "rad"
        (shown in degrees with digits - 1 decimals); "degC" (digits - 2 decimals); "K"; "1" (a plain number).
    digits : int, optional, significant digits, count
    ascii : bool, optional, whether only ASCII is written: "614.2 uH", "12.1 mohm", "0.045 deg"

    Raises
    ------
    ValueError
        An unknown unit, or digits < 1.
    """
    if value is None or math.isnan(value):
        return "-"
    shown = _displayed(value, unit, digits)
    if math.isinf(shown):
        return ("-" if shown < 0 else "") + ("inf" if ascii else "∞")
    number = _rounded(shown, _place(shown, unit, digits)) if shown else Decimal(0)
    exponent = _prefix(abs(number), unit)
    scaled = number.scaleb(-exponent)
    text = f"{scaled:f}"
    if scaled and not Decimal("1e-3") <= abs(scaled) < 10**6:
        text = f"{scaled:.{digits - 1}e}".replace("e+", "e")
    return _with_unit(text, unit, exponent, ascii)


def format_uncertain(value: float | None, standard_uncertainty: float | None, unit: str) -> str:
    """Value and *expanded* half width U = 2 u (k = 2), rounded together: "614.2 ± 1.3 µH".

    U is rounded to two significant digits and the value to the same place. A missing value gives "-", a
    missing u "± -"; U = 0, or below 1e-9 of the value, shows four digits and "± 0".

    Parameters
    ----------
    value : float or None, value, SI
    standard_uncertainty : float or None, standard uncertainty u (k = 1), SI; twice that is printed
    unit : str, as for ``format_quantity``

    Raises
    ------
    ValueError
        A negative u, or an unknown unit.

    References
    ----------
    JCGM 100:2008, 7.2.6 (from memory).
    """
    if value is None or math.isnan(value):
        return "-"
    shown = _displayed(value, unit)
    if standard_uncertainty is not None and standard_uncertainty < 0:
        raise ValueError(f"a standard uncertainty cannot be negative: {standard_uncertainty}")
    half_width = math.nan if standard_uncertainty is None else abs(_displayed(2 * standard_uncertainty, unit))
    if math.isinf(shown):
        return format_quantity(value, unit)
    if not math.isfinite(half_width) or half_width <= 1e-9 * abs(shown):
        number = _rounded(shown, _place(shown, unit, 4)) if shown else Decimal(0)
        exponent = _prefix(abs(number), unit)
        width = "-" if math.isnan(half_width) else "∞" if math.isinf(half_width) else "0"
        return _with_unit(f"{_fixed(number, exponent)} ± {width}", unit, exponent)
    expanded = Decimal(f"{half_width:.1e}")
    number = _rounded(shown, expanded.adjusted() - 1)
    exponent = _prefix(max(abs(number), expanded), unit)
    text = f"{_fixed(number, exponent)} ± {_fixed(expanded, exponent)}"
    return _with_unit(text, unit, exponent)


UNEVEN = 1.25
"""From this ratio on the two sides of a range are shown apart (judged by what a reader can take in; no
verdict depends on it)."""


def uneven(value: float | None, low: float | None, high: float | None) -> bool:
    """Whether the sides of a range around a value differ noticeably (``UNEVEN``); not where one is infinite.

    Parameters
    ----------
    value : float or None, value, SI
    low, high : float or None, lower and upper end, SI
    """
    if value is None or low is None or high is None or not math.isfinite(high - low) or high <= low:
        return False
    below, above = max(value - low, 0.0), max(high - value, 0.0)
    return max(below, above) > UNEVEN * min(below, above)


def format_sides(value: float, low: float, high: float, unit: str) -> str:
    """A value with both sides of its range: "78.1 +3.5 −2.1 µH".

    The larger side has two significant digits, more if the smaller one would have none.

    Parameters
    ----------
    value : float, value, SI
    low, high : float, lower and upper end, SI
    unit : str, as for ``format_quantity``

    Raises
    ------
    ValueError
        An unknown unit.
    """
    shown, below, above = (
        _displayed(number, unit) for number in (value, max(value - low, 0.0), max(high - value, 0.0))
    )
    place = _place(max(below, above), "1", 2)
    least = min(side for side in (below, above) if side > 0)
    place = max(min(place, _place(least, "1", 1)), place - 2)
    numbers = [_rounded(number, place) for number in (shown, above, below)]
    exponent = _prefix(max(map(abs, numbers)), unit)
    number, up, down = (_fixed(number, exponent) for number in numbers)
    return _with_unit(f"{number} +{up} −{down}", unit, exponent)


def format_range(low: float | None, high: float | None, unit: str) -> str:
    """Two ends with one prefix and the same decimals: "598.1 … 631.0 µH".

    More digits (up to twelve) are shown if the width would have fewer than two. One end missing (None,
    NaN) or infinite: "≤ 1.800 µH", "≥ 580.0 µH"; both: "-".

    Parameters
    ----------
    low, high : float or None, lower and upper end, SI
    unit : str, as for ``format_quantity``

    Raises
    ------
    ValueError
        As ``format_quantity``.
    """
    ends = [None if end is None or not math.isfinite(end) else _displayed(end, unit) for end in (low, high)]
    _displayed(0.0, unit)
    finite = [end for end in ends if end is not None]
    if not finite:
        return "-"
    if len(finite) == 1:
        only, sign = (high, "≤") if ends[0] is None else (low, "≥")
        return f"{sign} {format_quantity(only, unit)}"
    largest, width = max(map(abs, finite)), abs(finite[1] - finite[0])
    decimal_place = _place(largest, unit, 4) if largest else 0
    if width:
        decimal_place = min(decimal_place, max(_place(width, "1", 2), _place(largest, "1", 12)))
    numbers = [_rounded(end, decimal_place) for end in finite]
    exponent = _prefix(max(map(abs, numbers)), unit)
    return _with_unit(" … ".join(_fixed(number, exponent) for number in numbers), unit, exponent)


def format_percent(relative: float | None, digits: int = 1, signed: bool = False) -> str:
    """A relative value in percent: 0.0512 → "5.1 %", signed "+5.1 %".

    None and NaN give "-", infinities "∞ %"; a value that rounds to zero has no sign.

    Parameters
    ----------
    relative : float or None, the value, dimensionless
    digits : int, optional, decimals, count
    signed : bool, optional, whether a positive value gets a "+"

    Raises
    ------
    ValueError
        digits < 0.
    """
    if relative is None or math.isnan(relative):
        return "-"
    if digits < 0:
        raise ValueError(f"digits must not be negative: {digits}")
    if math.isinf(relative):
        text = "∞" if relative > 0 else "-∞"
    else:
        text = f"{_rounded(100 * relative, -digits):f}"
    positive = signed and re.search(r"[1-9∞]", text) and not text.startswith("-")
    return f"{'+' if positive else ''}{text} %"


BY_FACTOR = 10.0
"""From this factor on, what a reading is off by is a factor and no longer a percentage (judged by what a
reader can take in; no verdict depends on it)."""


def format_change(relative: float | None, digits: int = 1) -> str:
    """What a reading is off by: 0.0512 → "+5.1 %"; beyond a factor of ten × or ÷: 987.3 → "× 988".

    Per cent beyond that hide the decade or the unit prefix that was slipped: +98731 % is ×988, −99.9 % is
    ÷987.

    Parameters
    ----------
    relative : float or None, reading over expectation, less 1, dimensionless
    digits : int, optional, decimals of the percentage, count

    Raises
    ------
    ValueError
        digits < 0.

    Examples
    --------
    >>> format_change(0.0512), format_change(987.3), format_change(-0.99899)
    ('+5.1 %', '× 988', '÷ 990')
    """
    if relative is None or not math.isfinite(relative) or digits < 0:
        return format_percent(relative, digits, signed=True)
    factor = 1.0 + relative
    size = abs(factor)
    if factor == 0 or 1 / BY_FACTOR < size < BY_FACTOR:
        return format_percent(relative, digits, signed=True)
    mark, shown = ("×", size) if size >= 1 else ("÷", 1 / size)
    place = 2 - math.floor(math.log10(shown))
    return f"{mark} {'-' if factor < 0 else ''}{_rounded(shown, -place):f}"


def aligned(rows: Sequence[Sequence[str]], right: Sequence[int] = ()) -> str:
    """Rows of text in columns two spaces apart.

    Parameters
    ----------
    rows : Sequence[Sequence[str]], cells of each row
    right : Sequence[int], optional, index
    """
    if not rows:
        return "(nothing)"
    widths = [max(len(row[index]) for row in rows) for index in range(len(rows[0]))]
    return "\n".join(
        "  ".join(
            cell.rjust(width) if index in right else cell.ljust(width)
            for index, (cell, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in rows
    )


def millimetres(metres: float) -> str:
    """A length (m) in words: in mm, to four digits."""
    return f"{metres * 1e3:.4g} mm"


def hertz(frequency: float) -> str:
    """A frequency (Hz) as "50 kHz", "62.5 kHz", without trailing zeros."""
    number, _, unit = format_quantity(frequency, "Hz", 6).partition(" ")
    return f"{number.rstrip('0').rstrip('.') if '.' in number else number} {unit}"
