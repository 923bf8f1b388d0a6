"""Values of a design file, an option or a catalogue: text → SI.

Reading is strict: a regular expression splits the text into one number and one unit; the value must be
finite and within the range of its dimension. The arithmetic is decimal to the last step: "0.35 mm" is the
float nearest to 0.00035.
"""

from __future__ import annotations

import math
import re
from decimal import Context, Decimal
from typing import NoReturn

from ..errors import Fault, QuantityError
from ..notation import SUFFIXES
from .hints import COUNT_WORDS, number_hint, type_name, unit_hint
from .units import RELATIVE, Dimension, canonical, dimension_of, factor_of

ABSOLUTE_ZERO = -273.15
"""°C (exact: definition of the scale)."""
_SMALLEST = 1e-30  # a magnitude below this, other than zero, is a slip (and near the end of what floats hold)

UNSIGNED = r"(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?"
_NUMBER = re.compile(rf"[+-]?{UNSIGNED}")


def show(value: object) -> str:
    """A value as Python writes it, cut to what a message can hold."""
    if isinstance(value, int) and abs(value) > 10**18:  # longer ones may not even be convertible to text
        return "an integer beyond 1e18"
    text = repr(value[:57] + "..." if isinstance(value, str) and len(value) > 60 else value)
    return text if len(text) <= 80 else text[:77] + "..."


def refuse(found: str, kind: Dimension, hint: str, condition: str = "") -> NoReturn:
    """Raise the fault of one text.

    Parameters
    ----------
    found : str
    kind : Dimension
    hint : str, what to write instead
    condition : str, optional, what the value must satisfy besides

    Raises
    ------
    QuantityError
        Always.
    """
    raise QuantityError(Fault("", found, kind.allowed + condition, hint))


def text_of(value: object, kind: Dimension) -> str:
    """A value that is a text, without spaces around it; anything else is refused by its type.

    Parameters
    ----------
    value : object
    kind : Dimension

    Raises
    ------
    QuantityError
        If it is no text.
    """
    if isinstance(value, str):
        return value.strip()
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        refuse(show(value), kind, f"This is {type_name(value)}, not {kind.phrase}.")
    refuse(show(value), kind, f'A unit is never guessed: write it with its unit: "{kind.example}".')


def in_range(
    number: str,
    factor: Decimal,
    kind: Dimension,
    found: str,
    positive: bool = False,
    nonnegative: bool = False,
) -> float:
    """Number × factor, if it lies in the range of its dimension.

    Parameters
    ----------
    number : str, the number as written
    factor : Decimal, its factor to SI, dimensionless
    kind : Dimension
    found : str
    positive, nonnegative : bool, optional, whether it must be above zero, or at least zero

    Returns
    -------
    float, value, SI

    Raises
    ------
    QuantityError
        If it is out of range.
    """
    magnitude = float(number)
    is_zero = not re.search(r"[1-9]", re.split(r"[eE]", number)[0])
    if not math.isfinite(magnitude) or (magnitude == 0.0 and not is_zero):
        refuse(found, kind, "The number is too large or too small.")
    value = 0.0 if is_zero else float(Context(prec=50).multiply(Decimal(number), factor))
    if value < kind.lowest or (value > kind.largest and kind.lowest > -math.inf):
        span = f"from {kind.lowest:g} to {kind.largest:g} {kind.units[0]}"
        reason = "below absolute zero" if value < ABSOLUTE_ZERO else "beyond what the models hold for"
        refuse(found, kind, f"It is {reason}.", f", {span}")
    if abs(value) > kind.largest or (value and abs(value) < _SMALLEST):
        unit = kind.units[0] if kind.units else ""
        refuse(
            found,
            kind,
            f"It must lie within ±{kind.largest:g} {unit}".rstrip() + ", and be 0 or above 1e-30.",
        )
    if positive and not value > 0:
        refuse(found, kind, "It must be above zero.", ", above zero")
    if nonnegative and value < 0:
        refuse(found, kind, "It must not be negative.", ", zero or above")
    return value


def split(text: str, kind: Dimension, found: str, unit: str | None, suffix: bool) -> tuple[str, Decimal]:
    """One real value, taken apart.

    Parameters
    ----------
    text : str, number and unit
    kind : Dimension
    found : str
    unit : str or None, of the column, for a cell that has none
    suffix : bool, whether a bare engineering suffix may stand for the base unit

    Returns
    -------
    str, the number as written
    Decimal, its factor to SI, dimensionless

    Raises
    ------
    QuantityError
        If it is not one number with a unit of this dimension.
    """
    matched = _NUMBER.match(text)
    if not matched:
        refuse(found, kind, number_hint(text, kind))
    number, rest = matched[0], text[matched.end() :]
    stated = canonical(unit or "")
    if stated == "1" and not kind.units:
        stated = ""
    name = canonical(rest)
    if not name and not stated:
        if kind.bare:
            return number, Decimal(1)
        refuse(found, kind, f"A unit is never guessed: add one of {', '.join(kind.units)}.")
    if name in kind.units:
        return number, factor_of(name, kind.units[0])
    is_suffix = suffix and kind.suffix and name in SUFFIXES
    if (is_suffix or not name) and stated and stated not in kind.units:
        refuse(f"{found} in {show(unit)}", kind, unit_hint(number, " " + stated, kind, False))
    if not name:
        return number, factor_of(stated, kind.units[0])
    if is_suffix:
        if stated and stated != kind.units[0]:
            both = f'The suffix "{name}" and the unit "{stated}" both scale the number: write one of them.'
            refuse(f"{found} in {show(unit)}", kind, both)
        return number, Decimal(1).scaleb(SUFFIXES[name])
    refuse(found, kind, unit_hint(number, rest, kind, suffix and kind.suffix))


def parse_quantity(
    text: object, dimension: str, *, positive: bool = False, nonnegative: bool = False
) -> float:
    """One value of a design file, an option or a catalogue: "0.35 mm" → 0.00035.

    Valid for 0 and magnitudes from 1e-30 to the dimension's largest (1 km, 1 MH, 1e15 ohm, 1 MF, 1 THz,
    1e4 K, 1e9 V or A, 1e6 rad, 1e6 m², 1e9 m³, 1e15), temperatures from -100 to 500 °C.

    Parameters
    ----------
    text : object
        Number, optional space, unit. Only "number" also takes an int or float.
    dimension : str
        "length" (→ m), "inductance", "inductance_factor" (→ H), "resistance" (→ ohm), "capacitance" (→ F),
        "frequency" (→ Hz), "temperature" (degC → °C), "temperature_difference" (→ K), "voltage" (→ V),
        "current" (→ A), "flux_density" (→ T), "angle" (deg, rad → rad), "area" (→ m²), "volume" (→ m³),
        "core_constant" (→ 1/m), "temperature_coefficient" (→ 1/K), "level_coefficient" (→ 1/T), "field"
        (→ A/m), "resistivity" (→ ohm m), "number" (no unit → 1).
    positive, nonnegative : bool, optional
        Whether it must be above zero, and whether it must not be below zero.

    Returns
    -------
    float, value, SI

    Raises
    ------
    QuantityError
        Anything else.
    """
    kind = dimension_of(dimension)
    found = show(text)
    if dimension == "number" and isinstance(text, (int, float)) and not isinstance(text, bool):
        return _plain(text, kind, positive, nonnegative)
    number, factor = split(text_of(text, kind), kind, found, None, False)
    return in_range(number, factor, kind, found, positive, nonnegative)


def _plain(value: int | float, kind: Dimension, positive: bool, nonnegative: bool) -> float:
    if isinstance(value, float) and not math.isfinite(value):
        refuse(show(value), kind, "The value must be finite.")
    if abs(value) > kind.largest:  # before float(): an int may be too long for one, and for repr()
        refuse(f"a number beyond {kind.largest:g}", kind, f"It must lie within ±{kind.largest:g}.")
    return in_range(repr(float(value)), Decimal(1), kind, show(value), positive, nonnegative)


def parse_relative(value: object, *, positive: bool = False, nonnegative: bool = False) -> float:
    """A relative value: "5 %" → 0.05, 0.05 → 0.05, "0.05" → 0.05.

    Valid for 0 and magnitudes from 1e-30 to 1e6.

    Parameters
    ----------
    value : object, the raw value
    positive, nonnegative : bool, optional
        Whether it must be above zero, and whether it must not be below zero.

    Returns
    -------
    float, value, relative

    Raises
    ------
    QuantityError
        Any other unit or type.
    """
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return _plain(value, RELATIVE, positive, nonnegative)
    found = show(value)
    number, factor = split(text_of(value, RELATIVE), RELATIVE, found, None, False)
    return in_range(number, factor, RELATIVE, found, positive, nonnegative)


def parse_count(value: object, *, minimum: int = 0, maximum: int = 10**9) -> int:
    """A count (turns, wraps, wires in hand): an int in a range, nothing else.

    Parameters
    ----------
    value : object, the raw value
    minimum, maximum : int, optional, least and greatest value, count

    Returns
    -------
    int, the count

    Raises
    ------
    QuantityError
        Anything else: 18.0 and "18" are refused with the right spelling, 18.5 with its neighbours.
    """
    hint = f"This is {type_name(value)}: write a whole number such as 18."
    if isinstance(value, int) and not isinstance(value, bool):
        if minimum <= value <= maximum:
            return value
        hint = f"It must be at least {minimum}." if value < minimum else f"It must be at most {maximum}."
    elif isinstance(value, float) and math.isfinite(value):
        whole = math.floor(value)
        if abs(value) > maximum:
            hint = f"It must be at most {maximum}, written as an integer."
        elif value == whole:
            hint = f"Write {whole} without a point."
        else:
            hint = f"Turns are whole numbers, and so are all counts: write {whole} or {whole + 1}."
    elif isinstance(value, str):
        digits = re.fullmatch(r"\s*([+-]?[0-9]{1,9})\s*([a-z]*)\s*", value)
        plain = digits if digits and digits[2] in COUNT_WORDS | {""} else None
        hint = "Counts are plain integers" + (f": write {int(plain[1])} without quotes." if plain else ".")
    allowed = f"a whole number, {minimum} or more, such as 18"
    if maximum < 10**9:
        allowed = f"a whole number from {minimum} to {maximum}"
    raise QuantityError(Fault("", show(value), allowed, hint))
