"""Cells of a readings file: text → SI, with suffixes, complex impedances and displays without a number."""

from __future__ import annotations

import re

from ..spelling import plainly_written
from .units import DIMENSIONS, RELATIVE, Dimension, canonical, dimension_of, factor_of
from .values import UNSIGNED, in_range, refuse, show, split, text_of

_COMPLEX = re.compile(
    rf"(?:(?P<real>[+-]?{UNSIGNED})\s*(?=[+-]))?(?P<sign>[+-]?)\s*"
    rf"(?:(?P<before>{UNSIGNED})\s*j|j\s*(?P<after>{UNSIGNED}))(?P<unit>.*)",
    re.DOTALL,
)
_MISSING = re.compile(r"|[+-]?o\.?l\.?|ovld|over|overload|over-?range|-{2,}", re.IGNORECASE)


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
    text : str, the cell
    dimension : str, as for ``parse_quantity``
    unit : str or None, optional
        Unit of the column, for a cell without one (None or "": there is none). A unit in the cell overrides
        it. An engineering suffix (p n u m k M G) stands for the base unit (H, ohm, F, Hz, V, A, 1), never for
        angles, temperatures and lengths.
    decimal_comma : bool, optional, whether "612,4 uH" is accepted as well as "612.4 uH"

    Returns
    -------
    complex or float or None, value, SI; complex for an impedance, in ohm; None if there is no reading

    Raises
    ------
    QuantityError
        Anything else: also a bare number without ``unit`` unless the dimension is "number", "nan", "inf", and
        a suffix on top of a prefixed ``unit``.
    """
    kind = dimension_of(dimension)
    cell, found = _point(plainly_written(text_of(text, kind), dimension), decimal_comma), show(text)
    if _MISSING.fullmatch(cell):
        return None
    if matched := _COMPLEX.fullmatch(cell):
        ohms = DIMENSIONS["resistance"]
        name = canonical(matched["unit"]) or canonical(unit or "")
        if name not in ohms.units:
            impedance = Dimension(
                phrase="an impedance", example="0.41 + 4.97j ohm", units=ohms.units, largest=ohms.largest
            )
            refuse(found, impedance, "A complex reading is an impedance: write it in ohm.")
        factor = factor_of(name, "ohm")
        imaginary = matched["sign"] + (matched["before"] or matched["after"])
        return complex(
            in_range(matched["real"] or "0", factor, ohms, found), in_range(imaginary, factor, ohms, found)
        )
    number, factor = split(cell, kind, found, unit, True)
    return in_range(number, factor, kind, found)


def split_uncertainty(
    text: str, dimension: str, *, unit: str | None = None, decimal_comma: bool = False
) -> tuple[float, bool]:
    """A tolerance or uncertainty, relative or absolute: "2 %" → (0.02, True); "3 uH" → (3e-6, False).

    Nothing is scaled by k: the caller halves an expanded value. For "temperature" the absolute value is a
    difference (K). A bare number without ``unit`` is absolute for "number" and refused otherwise. Range of
    validity as for ``parse_quantity``; relative values up to 1e6.

    Parameters
    ----------
    text : str, the cell
    dimension : str, as for ``parse_quantity``
    unit : str or None, optional, as for ``parse_reading``
    decimal_comma : bool, optional, whether a decimal comma is accepted

    Returns
    -------
    float, value, SI or relative
    bool, whether it is relative

    Raises
    ------
    QuantityError
        Anything else, also a negative value.
    """
    kind = dimension_of("temperature_difference" if dimension == "temperature" else dimension)
    if dimension == "temperature" and canonical(unit or "") == "degC":
        unit = "K"
    cell, found = _point(plainly_written(text_of(text, kind), dimension), decimal_comma), show(text)
    if cell.endswith("%"):
        number, factor = split(cell, RELATIVE, found, None, False)
        return in_range(number, factor, RELATIVE, found, nonnegative=True), True
    number, factor = split(cell, kind, found, unit, True)
    return in_range(number, factor, kind, found, nonnegative=True), False
