"""Text to SI numbers and back: the only place where units exist.

Reading is strict: one number and one unit of a short closed list, in its right case; a missing unit is never
guessed. Writing is in ``notation``, whose names are handed on here.

Every parser raises ``QuantityError`` with one ``Fault`` whose place is "" (the reader of the file fills it
in); an unknown dimension or display unit is a programming error and raises ``ValueError``.
"""

from ..notation import (
    format_change,
    format_percent,
    format_quantity,
    format_range,
    format_sides,
    format_uncertain,
    uneven,
)
from .cells import parse_reading, split_uncertainty
from .values import parse_count, parse_quantity, parse_relative

__all__ = [
    "format_change",
    "format_percent",
    "format_quantity",
    "format_range",
    "format_sides",
    "format_uncertain",
    "parse_count",
    "parse_quantity",
    "parse_reading",
    "parse_relative",
    "split_uncertainty",
    "uneven",
]
