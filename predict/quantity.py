"""Text to SI numbers and back: the only place where units exist.

Reading is strict. A regular expression splits the text into one number and one unit; the unit must be on
the short closed list below, in its right case; the value must be finite and within the range of its
dimension. pint only converts a unit of that list into a factor and never sees what a user typed. A missing
unit is never guessed. The arithmetic is decimal to the last step: "0.35 mm" is the float nearest to
0.00035. Writing is in ``notation``, whose names are re-exported here.

Every parser raises ``QuantityError`` with one ``Fault`` whose place is "" (the reader of the file fills it
in); an unknown dimension or display unit is a programming error and raises ``ValueError``.

Source of symbols and prefixes: BIPM, The International System of Units (SI brochure), from memory.
"""

from __future__ import annotations

import difflib
import functools
import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Context, Decimal
from typing import Any, NoReturn

from .errors import Fault, QuantityError
from .notation import (
    SUFFIXES,
    format_change,
    format_percent,
    format_quantity,
    format_range,
    format_uncertain,
)
from .spelling import plainly_written, unit_of_resistance

__all__ = [
    "format_change",
    "format_percent",
    "format_quantity",
    "format_range",
    "format_uncertain",
    "parse_count",
    "parse_quantity",
    "parse_reading",
    "parse_relative",
    "split_uncertainty",
]

# --- the closed list of units ----------------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class _Dimension:
    """What a text of one dimension may be.

    units : canonical spellings; the first is the result's. largest, lowest : greatest magnitude and least
    value accepted, in that unit. suffix : whether a bare "u" or "k" may mean the prefixed base unit in a
    reading. bare : whether a number without a unit is complete.
    """

    phrase: str
    example: str
    units: tuple[str, ...]
    largest: float
    lowest: float = -math.inf
    suffix: bool = False
    bare: bool = False

    @property
    def allowed(self) -> str:
        need = "" if self.bare else " with its unit"
        return f'{self.phrase}{need}, such as "{self.example}"'


_INDUCTANCE = ("H", "mH", "uH", "nH", "pH")
_DIMENSIONS = {
    "length": _Dimension(
        phrase="a length", example="0.35 mm", units=("m", "cm", "mm", "um", "nm", "mil", "in"), largest=1e3
    ),
    "inductance": _Dimension(
        phrase="an inductance", example="160 nH", units=_INDUCTANCE, largest=1e6, suffix=True
    ),
    "inductance_factor": _Dimension(
        phrase="an inductance factor", example="480 nH", units=_INDUCTANCE, largest=1e6, suffix=True
    ),
    "resistance": _Dimension(
        phrase="a resistance",
        example="0.24 ohm",
        units=("ohm", "mohm", "uohm", "kohm", "Mohm", "Gohm"),
        largest=1e15,
        suffix=True,
    ),
    "capacitance": _Dimension(
        phrase="a capacitance",
        example="47 pF",
        units=("F", "mF", "uF", "nF", "pF", "fF"),
        largest=1e6,
        suffix=True,
    ),
    "frequency": _Dimension(
        phrase="a frequency", example="100 kHz", units=("Hz", "kHz", "MHz", "GHz"), largest=1e12, suffix=True
    ),
    "temperature": _Dimension(
        phrase="a temperature", example="85 degC", units=("degC",), largest=500.0, lowest=-100.0
    ),
    "temperature_difference": _Dimension(
        phrase="a temperature difference", example="5 K", units=("K", "mK"), largest=1e4
    ),
    "voltage": _Dimension(
        phrase="a voltage", example="1 V", units=("V", "kV", "mV", "uV"), largest=1e9, suffix=True
    ),
    "current": _Dimension(
        phrase="a current", example="20 mA", units=("A", "mA", "uA"), largest=1e9, suffix=True
    ),
    "flux_density": _Dimension(
        phrase="a flux density", example="50 mT", units=("T", "mT", "uT"), largest=1e3
    ),
    "area": _Dimension(phrase="an area", example="97.1 mm2", units=("m2", "cm2", "mm2"), largest=1e6),
    "volume": _Dimension(phrase="a volume", example="7640 mm3", units=("m3", "cm3", "mm3"), largest=1e9),
    "core_constant": _Dimension(
        phrase="a core constant", example="0.548 1/mm", units=("1/m", "1/cm", "1/mm"), largest=1e9
    ),
    "temperature_coefficient": _Dimension(
        phrase="a temperature coefficient", example="0.004 1/K", units=("1/K",), largest=1e3
    ),
    "level_coefficient": _Dimension(
        phrase="a coefficient of flux density", example="2.5 1/T", units=("1/T",), largest=1e9
    ),
    "field": _Dimension(phrase="a field", example="30 A/m", units=("A/m",), largest=1e9),
    "resistivity": _Dimension(
        phrase="a resistivity", example="0.45 uohm m", units=("ohm m", "uohm m"), largest=1e15
    ),
    "angle": _Dimension(phrase="an angle", example="30 deg", units=("rad", "deg", "mrad"), largest=1e6),
    "number": _Dimension(
        phrase="a plain number", example="5.99", units=(), largest=1e15, suffix=True, bare=True
    ),
}
_RELATIVE = _Dimension(
    phrase="a relative value (a percentage or a plain number)",
    example="5 %",
    units=("%",),
    largest=1e6,
    bare=True,
)
ABSOLUTE_ZERO = -273.15
"""°C."""
_SMALLEST = 1e-30  # a magnitude below this, other than zero, is a slip (and near the end of what floats hold)
_COUNT_WORDS = {"turn", "turns", "wrap", "wraps", "layer", "layers", "strand", "strands", "pcs"}
_FOLK_NAMES = {
    "c": "degC",
    "celsius": "degC",
    "r": "ohm",
    '"': "in",
    "inch": "in",
    "inches": "in",
    "micron": "um",
}

_DEFINITIONS = """
femto- = 1e-15 = f-
pico- = 1e-12 = p-
nano- = 1e-9 = n-
micro- = 1e-6 = u-
milli- = 1e-3 = m-
centi- = 1e-2 = c-
kilo- = 1e3 = k-
mega- = 1e6 = M-
giga- = 1e9 = G-
meter = [length] = m
inch = 0.0254 * meter = in
mil = 25.4e-6 * meter
second = [time] = s
ampere = [current] = A
volt = [voltage] = V
kelvin = [temperature] = K
degree_Celsius = kelvin; offset: 273.15 = degC
ohm = volt / ampere
henry = volt * second / ampere = H
farad = ampere * second / volt = F
tesla = volt * second / meter ** 2 = T
hertz = 1 / second = Hz
radian = []  = rad
degree = 0.017453292519943295769236907684886127134 * radian = deg
percent = 0.01
"""


@functools.cache
def _registry() -> Any:
    """A pint registry of our units only, made on first use: importing pint costs more than most commands."""
    import pint

    registry: Any = pint.UnitRegistry(None, non_int_type=Decimal)
    for line in _DEFINITIONS.strip().splitlines():
        registry.define(line)
    return registry


_POWERS = {
    **dict.fromkeys(("m", "H", "ohm", "F", "Hz", "degC", "K", "V", "A", "T", "rad"), 0),
    **dict.fromkeys(("mm", "mH", "mohm", "mF", "mK", "mV", "mA", "mT", "mrad"), -3),
    **dict.fromkeys(("um", "uH", "uohm", "uF", "uV", "uA", "uT"), -6),
    **dict.fromkeys(("nm", "nH", "nF"), -9),
    **dict.fromkeys(("pH", "pF"), -12),
    **dict.fromkeys(("kohm", "kHz", "kV"), 3),
    **dict.fromkeys(("Mohm", "MHz"), 6),
    **dict.fromkeys(("Gohm", "GHz"), 9),
    **dict.fromkeys(("m2", "m3", "1/m", "1/K", "1/T", "A/m", "ohm m"), 0),
    "uohm m": -6,
    "cm2": -4,
    "mm2": -6,
    "cm3": -6,
    "mm3": -9,
    "1/cm": 2,
    "1/mm": 3,
    "cm": -2,
    "%": -2,
    "fF": -15,
}
"""Units that are a power of ten of their base, so that most commands need not load the registry; a test holds
them against it."""


_DEGREE = Decimal("0.017453292519943295769236907684886127134")
"""Radians: phases are read in degrees; held against the registry as well."""


@functools.cache
def _factor(unit: str, base: str) -> Decimal:
    """How many ``base`` one ``unit`` is; both from the closed list (degC is its own base: no offset)."""
    if unit == "deg" and base == "rad":
        return _DEGREE
    return Decimal(1).scaleb(_POWERS[unit]) if unit in _POWERS else _registry_factor(unit, base)


def _registry_factor(unit: str, base: str) -> Decimal:
    """``_factor`` as the registry of units has it."""
    if unit == "%":
        unit, base = "percent", "dimensionless"
    unit, base = (re.sub(r"m([23])$", r"m**\1", name).replace(" ", "*") for name in (unit, base))
    factor: Decimal = _registry().Quantity(Decimal(1), unit).to(base).magnitude
    return factor


def _dimension(name: str) -> _Dimension:
    if name not in _DIMENSIONS:
        raise ValueError(f"unknown dimension {name!r}; known: {', '.join(_DIMENSIONS)}")
    return _DIMENSIONS[name]


# --- taking a text apart ---------------------------------------------------------------------------

_SPACES = " \t\u00a0\u2009\u202f"  # between number and unit: space, tab, non-breaking and thin spaces
_UNSIGNED = r"(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?"
_NUMBER = re.compile(rf"[+-]?{_UNSIGNED}")
_COMPLEX = re.compile(
    rf"(?:(?P<real>[+-]?{_UNSIGNED})\s*(?=[+-]))?(?P<sign>[+-]?)\s*"
    rf"(?:(?P<before>{_UNSIGNED})\s*j|j\s*(?P<after>{_UNSIGNED}))(?P<unit>.*)",
    re.DOTALL,
)
_MISSING = re.compile(r"|[+-]?o\.?l\.?|ovld|over|overload|over-?range|-{2,}", re.IGNORECASE)
_NOT_FINITE = re.compile(r"[+-]?(?:nan|inf|infinity|∞)(?![a-z])", re.IGNORECASE)


@functools.lru_cache(256)
def _canonical(unit: str) -> str:
    """One spelling per unit: u for micro (U+00B5, U+03BC), ohm for U+03A9, U+2126 and any case of the word,
    deg for U+00B0, 2 and 3 for powers however they are written."""
    spellings = {0xB5: "u", 0x3BC: "u", 0x3A9: "ohm", 0x2126: "ohm", 0xB0: "deg", 0xB2: "2", 0xB3: "3"}
    plain = unit.strip(_SPACES).translate(spellings)
    return unit_of_resistance(re.sub(r"(?<=m)\^(?=[23]$)", "", plain))


def _show(value: object) -> str:
    """``value`` as Python writes it, cut to what a message can hold."""
    if isinstance(value, int) and abs(value) > 10**18:  # longer ones may not even be convertible to text
        return "an integer beyond 1e18"
    text = repr(value[:57] + "..." if isinstance(value, str) and len(value) > 60 else value)
    return text if len(text) <= 80 else text[:77] + "..."


def _refuse(found: str, kind: _Dimension, hint: str, condition: str = "") -> NoReturn:
    raise QuantityError(Fault("", found, kind.allowed + condition, hint))


def _type_name(value: object) -> str:
    names = {bool: "true/false", dict: "a table", list: "a list", type(None): "nothing", str: "a text"}
    return names.get(type(value), f"of type {type(value).__name__}")


def _text(value: object, kind: _Dimension) -> str:
    """``value`` if it is a text; anything else is refused by its type."""
    if isinstance(value, str):
        return value.strip()
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        _refuse(_show(value), kind, f"This is {_type_name(value)}, not {kind.phrase}.")
    _refuse(_show(value), kind, f'A unit is never guessed: write it with its unit: "{kind.example}".')


def _quoted(units: Iterable[str]) -> str:
    return " or ".join(f'"{unit}"' for unit in units)


def _number_hint(text: str, kind: _Dimension) -> str:
    """Why ``text`` does not begin with a number."""
    if not text.strip("-"):
        return "The value is empty."
    if _NOT_FINITE.match(text):
        return "The value must be finite."
    if text[0] in "\u2212\u2013\u2014":
        return 'Write the minus sign as "-".'
    if re.match(r"[<>~=±≤≥≈]", text):
        return f"Write the bare value, without {text[0]!r}."
    return f'Write the number first (digits 0-9, a point), as in "{kind.example}".'


def _unit_hint(number: str, rest: str, kind: _Dimension, suffix: bool) -> str:
    """Why ``rest`` after ``number`` is no unit of this dimension."""
    unit = _canonical(rest)
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


def _not_a_unit_hint(unit: str, kind: _Dimension) -> str:
    """What was written in place of a unit: a tolerance, a fraction, a word for a count, a percentage."""
    if re.search(r"±|\+/?-", unit):
        return "Write the value alone; its tolerance has a key or column of its own."
    if unit.startswith("/"):
        return "Write a decimal number instead of a fraction."
    if unit.casefold() in _COUNT_WORDS:
        return "Counts are plain integers, without a unit and without quotes."
    return f"A percentage is a relative value; here {kind.phrase} is needed." if unit == "%" else ""


def _near_unit_hint(number: str, unit: str, kind: _Dimension, known: tuple[str, ...]) -> str:
    """The unit of this dimension that was probably meant: per something, in another case, without its base
    unit."""
    if kind.units and (per := re.match(r"(\w+)\s*/", unit)) and per[1] in kind.units:
        return f'Write "{number} {per[1]}" (an inductance factor is per turn squared by its nature).'
    if same := [name for name in known if name.casefold() == unit.casefold()]:
        return f"Did you mean {_quoted(same)}? Units are case sensitive."
    return (
        f'Did you mean "{unit}{kind.units[0]}"?' if kind.units and unit + kind.units[0] in kind.units else ""
    )


def _other_unit_hint(unit: str, kind: _Dimension) -> str:
    """The unit of another dimension, a trade name, or the units that exist."""
    for dimension in _DIMENSIONS.values():
        if unit in dimension.units:
            return f'"{unit}" is a unit of {dimension.phrase.split(" ", 1)[1]}; here {kind.phrase} is needed.'
    if not kind.units or kind is _RELATIVE:
        return "Write the number without a unit." if not kind.units else 'The only unit here is "%".'
    if (folk := _FOLK_NAMES.get(unit.casefold())) in kind.units:
        return f'Did you mean "{folk}"?'
    close = difflib.get_close_matches(unit, kind.units, n=1, cutoff=0.6)
    guess = f"Did you mean {_quoted(close)}? " if close else ""
    return f"{guess}Known units: {', '.join(kind.units)}."


def _value(
    number: str,
    factor: Decimal,
    kind: _Dimension,
    found: str,
    positive: bool = False,
    nonnegative: bool = False,
) -> float:
    """number × factor as a float, if it lies in the range of its kind."""
    magnitude = float(number)
    is_zero = not re.search(r"[1-9]", re.split(r"[eE]", number)[0])
    if not math.isfinite(magnitude) or (magnitude == 0.0 and not is_zero):
        _refuse(found, kind, "The number is too large or too small.")
    value = 0.0 if is_zero else float(Context(prec=50).multiply(Decimal(number), factor))
    if value < kind.lowest or (value > kind.largest and kind.lowest > -math.inf):
        span = f"from {kind.lowest:g} to {kind.largest:g} {kind.units[0]}"
        reason = "below absolute zero" if value < ABSOLUTE_ZERO else "beyond what the models hold for"
        _refuse(found, kind, f"It is {reason}.", f", {span}")
    if abs(value) > kind.largest or (value and abs(value) < _SMALLEST):
        unit = kind.units[0] if kind.units else ""
        _refuse(
            found,
            kind,
            f"It must lie within ±{kind.largest:g} {unit}".rstrip() + ", and be 0 or above 1e-30.",
        )
    if positive and not value > 0:
        _refuse(found, kind, "It must be above zero.", ", above zero")
    if nonnegative and value < 0:
        _refuse(found, kind, "It must not be negative.", ", zero or above")
    return value


def _split(text: str, kind: _Dimension, found: str, unit: str | None, suffix: bool) -> tuple[str, Decimal]:
    """One real cell → its number as written and the factor to SI. ``unit`` serves a cell that has none."""
    matched = _NUMBER.match(text)
    if not matched:
        _refuse(found, kind, _number_hint(text, kind))
    number, rest = matched[0], text[matched.end() :]
    stated = _canonical(unit or "")
    if stated == "1" and not kind.units:
        stated = ""
    name = _canonical(rest)
    if not name and not stated:
        if kind.bare:
            return number, Decimal(1)
        _refuse(found, kind, f"A unit is never guessed: add one of {', '.join(kind.units)}.")
    if name in kind.units:
        return number, _factor(name, kind.units[0])
    is_suffix = suffix and kind.suffix and name in SUFFIXES
    if (is_suffix or not name) and stated and stated not in kind.units:
        _refuse(f"{found} in {_show(unit)}", kind, _unit_hint(number, " " + stated, kind, False))
    if not name:
        return number, _factor(stated, kind.units[0])
    if is_suffix:
        if stated and stated != kind.units[0]:
            both = f'The suffix "{name}" and the unit "{stated}" both scale the number: write one of them.'
            _refuse(f"{found} in {_show(unit)}", kind, both)
        return number, Decimal(1).scaleb(SUFFIXES[name])
    _refuse(found, kind, _unit_hint(number, rest, kind, suffix and kind.suffix))


# --- parsers ---------------------------------------------------------------------------------------


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
    positive : bool, optional
        Whether it must be above zero.
    nonnegative : bool, optional
        Whether it must not be below zero.

    Returns
    -------
    float
        Value, SI.

    Raises
    ------
    QuantityError
        Anything else.
    """
    kind = _dimension(dimension)
    found = _show(text)
    if dimension == "number" and isinstance(text, (int, float)) and not isinstance(text, bool):
        return _plain(text, kind, positive, nonnegative)
    number, factor = _split(_text(text, kind), kind, found, None, False)
    return _value(number, factor, kind, found, positive, nonnegative)


def _plain(value: int | float, kind: _Dimension, positive: bool, nonnegative: bool) -> float:
    if isinstance(value, float) and not math.isfinite(value):
        _refuse(_show(value), kind, "The value must be finite.")
    if abs(value) > kind.largest:  # before float(): an int may be too long for one, and for repr()
        _refuse(f"a number beyond {kind.largest:g}", kind, f"It must lie within ±{kind.largest:g}.")
    return _value(repr(float(value)), Decimal(1), kind, _show(value), positive, nonnegative)


def parse_relative(value: object, *, positive: bool = False, nonnegative: bool = False) -> float:
    """A relative value: "5 %" → 0.05, 0.05 → 0.05, "0.05" → 0.05.

    Valid for 0 and magnitudes from 1e-30 to 1e6.

    Parameters
    ----------
    value : object
        The raw value.
    positive : bool, optional
        Whether it must be above zero.
    nonnegative : bool, optional
        Whether it must not be below zero.

    Returns
    -------
    float
        Value, relative.

    Raises
    ------
    QuantityError
        Any other unit or type.
    """
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return _plain(value, _RELATIVE, positive, nonnegative)
    found = _show(value)
    number, factor = _split(_text(value, _RELATIVE), _RELATIVE, found, None, False)
    return _value(number, factor, _RELATIVE, found, positive, nonnegative)


def parse_count(value: object, *, minimum: int = 0, maximum: int = 10**9) -> int:
    """A count (turns, wraps, wires in hand): an int in a range, nothing else.

    Parameters
    ----------
    value : object
        The raw value.
    minimum : int, optional
        Least value, count.
    maximum : int, optional
        Greatest value, count.

    Returns
    -------
    int
        The count.

    Raises
    ------
    QuantityError
        Anything else: 18.0 and "18" are refused with the right spelling, 18.5 with its neighbours.
    """
    hint = f"This is {_type_name(value)}: write a whole number such as 18."
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
        plain = digits if digits and digits[2] in _COUNT_WORDS | {""} else None
        hint = "Counts are plain integers" + (f": write {int(plain[1])} without quotes." if plain else ".")
    allowed = f"a whole number, {minimum} or more, such as 18"
    if maximum < 10**9:
        allowed = f"a whole number from {minimum} to {maximum}"
    raise QuantityError(Fault("", _show(value), allowed, hint))


def _point(text: str, decimal_comma: bool) -> str:
    """A comma between digits becomes a point if the file may hold decimal commas."""
    return re.sub(r"(?<=[0-9]),(?=[0-9])", ".", text) if decimal_comma else text


def parse_reading(
    text: str, dimension: str, *, unit: str | None = None, decimal_comma: bool = False
) -> complex | float | None:
    """One cell of a readings file: "614 uH" → 0.000614, and so is "614u".

    An impedance "0.41 + 4.97j ohm" (or "0.41+j4.97 ohm") gives a complex number (ohm) for any dimension.
    "OL", "O.L", "OVLD", "over", "overrange", "overload", two or more hyphens, and the empty cell give
    None. Negative values are accepted. Thousands separators, "4k7", "R47" and the like are read as in
    ``spelling``. Range of validity as for ``parse_quantity``.

    Parameters
    ----------
    text : str
        The cell.
    dimension : str
        As for ``parse_quantity``.
    unit : str or None, optional
        Unit of the column, for a cell without one (None or "": there is none). A unit in the cell overrides
        it. An engineering suffix (p n u m k M G) stands for the base unit (H, ohm, F, Hz, V, A, 1), never for
        angles, temperatures and lengths.
    decimal_comma : bool, optional
        Whether "612,4 uH" is accepted as well as "612.4 uH".

    Returns
    -------
    complex or float or None
        Value, SI; complex for an impedance, in ohm; None if there is no reading.

    Raises
    ------
    QuantityError
        Anything else: also a bare number without ``unit`` unless the dimension is "number", "nan", "inf", and
        a suffix on top of a prefixed ``unit``.
    """
    kind = _dimension(dimension)
    cell, found = _point(plainly_written(_text(text, kind), dimension), decimal_comma), _show(text)
    if _MISSING.fullmatch(cell):
        return None
    if matched := _COMPLEX.fullmatch(cell):
        ohms = _DIMENSIONS["resistance"]
        name = _canonical(matched["unit"]) or _canonical(unit or "")
        if name not in ohms.units:
            impedance = _Dimension(
                phrase="an impedance", example="0.41 + 4.97j ohm", units=ohms.units, largest=ohms.largest
            )
            _refuse(found, impedance, "A complex reading is an impedance: write it in ohm.")
        factor = _factor(name, "ohm")
        imaginary = matched["sign"] + (matched["before"] or matched["after"])
        return complex(
            _value(matched["real"] or "0", factor, ohms, found), _value(imaginary, factor, ohms, found)
        )
    number, factor = _split(cell, kind, found, unit, True)
    return _value(number, factor, kind, found)


def split_uncertainty(
    text: str, dimension: str, *, unit: str | None = None, decimal_comma: bool = False
) -> tuple[float, bool]:
    """A tolerance or uncertainty, relative or absolute: "2 %" → (0.02, True); "3 uH" → (3e-6, False).

    Nothing is scaled by k: the caller halves an expanded value. For "temperature" the absolute value is a
    difference (K). A bare number without ``unit`` is absolute for "number" and refused otherwise. Range of
    validity as for ``parse_quantity``; relative values up to 1e6.

    Parameters
    ----------
    text : str
        The cell.
    dimension : str
        As for ``parse_quantity``.
    unit : str or None, optional
        As for ``parse_reading``.
    decimal_comma : bool, optional
        Whether a decimal comma is accepted.

    Returns
    -------
    float
        Value, SI or relative.
    bool
        Whether it is relative.

    Raises
    ------
    QuantityError
        Anything else, also a negative value.
    """
    kind = _dimension("temperature_difference" if dimension == "temperature" else dimension)
    if dimension == "temperature" and _canonical(unit or "") == "degC":
        unit = "K"
    cell, found = _point(plainly_written(_text(text, kind), dimension), decimal_comma), _show(text)
    if cell.endswith("%"):
        number, factor = _split(cell, _RELATIVE, found, None, False)
        return _value(number, factor, _RELATIVE, found, nonnegative=True), True
    number, factor = _split(cell, kind, found, unit, True)
    return _value(number, factor, kind, found, nonnegative=True), False
