"""The closed list of units: which spellings a value of each dimension may have, and their factors to SI.

pint only converts a unit of this list into a factor and never sees what a user typed.

Source of symbols and prefixes: BIPM, The International System of Units (SI brochure), from memory.
"""

from __future__ import annotations

import functools
import math
import re
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from ..spelling import unit_of_resistance


@dataclass(frozen=True, kw_only=True)
class Dimension:
    """What a text of one dimension may be.

    Attributes
    ----------
    phrase : str, the dimension in a sentence, with its article
    example : str, a value as it may be written
    units : tuple of str, canonical spellings; the first is that of the result
    largest, lowest : float, greatest magnitude and least value accepted, in SI units
    suffix : bool, whether a bare "u" or "k" may mean the prefixed base unit in a reading
    bare : bool, whether a number without a unit is complete
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
        """What a value may be, in words for a fault."""
        need = "" if self.bare else " with its unit"
        return f'{self.phrase}{need}, such as "{self.example}"'


_INDUCTANCE = ("H", "mH", "uH", "nH", "pH")
DIMENSIONS = {
    "length": Dimension(
        phrase="a length", example="0.35 mm", units=("m", "cm", "mm", "um", "nm", "mil", "in"), largest=1e3
    ),
    "inductance": Dimension(
        phrase="an inductance", example="160 nH", units=_INDUCTANCE, largest=1e6, suffix=True
    ),
    "inductance_factor": Dimension(
        phrase="an inductance factor", example="480 nH", units=_INDUCTANCE, largest=1e6, suffix=True
    ),
    "resistance": Dimension(
        phrase="a resistance",
        example="0.24 ohm",
        units=("ohm", "mohm", "uohm", "kohm", "Mohm", "Gohm"),
        largest=1e15,
        suffix=True,
    ),
    "capacitance": Dimension(
        phrase="a capacitance",
        example="47 pF",
        units=("F", "mF", "uF", "nF", "pF", "fF"),
        largest=1e6,
        suffix=True,
    ),
    "frequency": Dimension(
        phrase="a frequency", example="100 kHz", units=("Hz", "kHz", "MHz", "GHz"), largest=1e12, suffix=True
    ),
    "temperature": Dimension(
        phrase="a temperature", example="85 degC", units=("degC",), largest=500.0, lowest=-100.0
    ),
    "temperature_difference": Dimension(
        phrase="a temperature difference", example="5 K", units=("K", "mK"), largest=1e4
    ),
    "voltage": Dimension(
        phrase="a voltage", example="1 V", units=("V", "kV", "mV", "uV"), largest=1e9, suffix=True
    ),
    "current": Dimension(
        phrase="a current", example="20 mA", units=("A", "mA", "uA"), largest=1e9, suffix=True
    ),
    "flux_density": Dimension(phrase="a flux density", example="50 mT", units=("T", "mT", "uT"), largest=1e3),
    "area": Dimension(phrase="an area", example="97.1 mm2", units=("m2", "cm2", "mm2"), largest=1e6),
    "volume": Dimension(phrase="a volume", example="7640 mm3", units=("m3", "cm3", "mm3"), largest=1e9),
    "core_constant": Dimension(
        phrase="a core constant", example="0.548 1/mm", units=("1/m", "1/cm", "1/mm"), largest=1e9
    ),
    "temperature_coefficient": Dimension(
        phrase="a temperature coefficient", example="0.004 1/K", units=("1/K",), largest=1e3
    ),
    "level_coefficient": Dimension(
        phrase="a coefficient of flux density", example="2.5 1/T", units=("1/T",), largest=1e9
    ),
    "field": Dimension(phrase="a field", example="30 A/m", units=("A/m",), largest=1e9),
    "resistivity": Dimension(
        phrase="a resistivity", example="0.45 uohm m", units=("ohm m", "uohm m"), largest=1e15
    ),
    "angle": Dimension(phrase="an angle", example="30 deg", units=("rad", "deg", "mrad"), largest=1e6),
    "number": Dimension(
        phrase="a plain number", example="5.99", units=(), largest=1e15, suffix=True, bare=True
    ),
}
"""By name; the bounds are common practice, no source: far beyond any part that can be wound."""
RELATIVE = Dimension(
    phrase="a relative value (a percentage or a plain number)",
    example="5 %",
    units=("%",),
    largest=1e6,
    bare=True,
)
"""Of a relative value (exact)."""


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


POWERS = {
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
"""Units that are a power of ten of their base, so that most commands need not load the registry; a test
holds them against it (exact)."""


_DEGREE = Decimal("0.017453292519943295769236907684886127134")
"""Radians: phases are read in degrees; held against the registry as well."""


@functools.cache
def factor_of(unit: str, base: str) -> Decimal:
    """How many ``base`` one ``unit`` is.

    Parameters
    ----------
    unit, base : str, both from the closed list (degC is its own base: no offset)
    """
    if unit == "deg" and base == "rad":
        return _DEGREE
    return Decimal(1).scaleb(POWERS[unit]) if unit in POWERS else registry_factor(unit, base)


def registry_factor(unit: str, base: str) -> Decimal:
    """``factor_of`` as the registry of units has it.

    Parameters
    ----------
    unit, base : str
    """
    if unit == "%":
        unit, base = "percent", "dimensionless"
    unit, base = (re.sub(r"m([23])$", r"m**\1", name).replace(" ", "*") for name in (unit, base))
    factor: Decimal = _registry().Quantity(Decimal(1), unit).to(base).magnitude
    return factor


def dimension_of(name: str) -> Dimension:
    """The dimension of a name such as "length"; ValueError if there is none."""
    if name not in DIMENSIONS:
        raise ValueError(f"unknown dimension {name!r}; known: {', '.join(DIMENSIONS)}")
    return DIMENSIONS[name]


SPACES = " \t\u00a0\u2009\u202f"  # between number and unit: space, tab, non-breaking and thin spaces


@functools.lru_cache(256)
def canonical(unit: str) -> str:
    """One spelling per unit: u for micro (U+00B5, U+03BC), ohm for U+03A9, U+2126 and any case of the word,
    deg for U+00B0, 2 and 3 for powers however they are written."""
    spellings = {0xB5: "u", 0x3BC: "u", 0x3A9: "ohm", 0x2126: "ohm", 0xB0: "deg", 0xB2: "2", 0xB3: "3"}
    plain = unit.strip(SPACES).translate(spellings)
    return unit_of_resistance(re.sub(r"(?<=m)\^(?=[23]$)", "", plain))
