"""Parsers of the values of a design file: raw TOML value → SI, or an AswoundError whose Fault has no place
yet."""

from __future__ import annotations

import math
from typing import Any

from ...design import Member, Port
from ...errors import DesignError, Fault, nearest
from ...plain_text import LONGEST_NAME, LONGEST_TEXT, shortened, unfit
from ...quantity import parse_count, parse_quantity, parse_relative
from .keys import LONG, Parser, Tolerance, value_error


def text(value: object) -> str:
    """A text; a whole number is accepted as text (drawing = 4711, start = 1)."""
    if isinstance(value, str):
        _check_characters(value, LONGEST_TEXT, "a text", lines=True)
        return value
    if isinstance(value, int) and not isinstance(value, bool) and abs(value) <= LONG:
        return str(value)
    raise value_error(value, "a text in quotes")


def line(value: object) -> str:
    """A text on one line, such as a title."""
    written = text(value)
    _check_characters(written, LONGEST_LINE, "a text on one line")
    return written


LONGEST_LINE = 400
"""Characters of a title (judged by what fits a page)."""


def _check_characters(value: str, longest: int, what: str, *, lines: bool = False) -> None:
    """Refuse a text with characters that control a terminal or a page, or with too many characters."""
    wrong = unfit(value, longest, lines=lines)
    if wrong:
        allowed = f"{what} of at most {longest} characters, none of which steers a terminal or a page"
        raise DesignError(Fault("", f"{wrong} in {shortened(value)}", allowed))


def name(value: object) -> str:
    """Name of a winding, join or test: not empty, no comma, no leading ``-``, no space at its ends."""
    if not isinstance(value, str):
        raise value_error(value, "a name in quotes")
    if not value.strip() or value != value.strip() or value.startswith("-") or "," in value:
        raise value_error(
            value, "a name that is not empty, has no comma, no leading '-' and no spaces at its ends"
        )
    _check_characters(value, LONGEST_NAME, "a name")
    return value


def flag(value: object) -> bool:
    """true or false."""
    if not isinstance(value, bool):
        raise value_error(value, "true or false")
    return value


def one_of(*choices: str) -> Parser:
    """Parser of one of several words."""

    def parse(value: object) -> str:
        allowed = (
            f"one of {', '.join(repr(choice) for choice in choices)}" if choices[1:] else repr(choices[0])
        )
        if not isinstance(value, str) or value not in choices:
            raise value_error(value, allowed, nearest(value, choices) if isinstance(value, str) else "")
        return value

    return parse


MOST_TURNS = 50_000
"""Turns of one step: the windings of voltage transformers have some 20 000 (from
memory)."""
MOST = 1000
"""Most wraps, layers, wires in hand, chambers, pins: more is a slip (judged)."""
MOST_STRANDS = 20_000
MOST_STEPS = 80
"""Most steps of a build: time and memory rise with their square and more (bounds work)."""


def count(minimum: int = 0, maximum: int = MOST) -> Parser:
    """Parser of a whole number.

    Parameters
    ----------
    minimum, maximum : int, optional, least and greatest value, count
    """
    return lambda value: parse_count(value, minimum=minimum, maximum=maximum)


def number_parser(least: float, most: float = math.inf) -> Parser:
    """Parser of a plain finite number.

    Parameters
    ----------
    least : float, least value, dimensionless
    most : float, optional, greatest value, dimensionless
    """
    span = (
        f"a plain number from {least:g} to {most:g}"
        if math.isfinite(most)
        else f"a plain number of at least {least:g}"
    )

    def parse(value: object) -> float:
        result = parse_quantity(value, "number")
        if not least <= result <= most:
            raise value_error(value, span)
        return result

    return parse


def quantity_parser(dimension: str, *, positive: bool = False, nonnegative: bool = False) -> Parser:
    """Parser of a text with a unit, to SI.

    Parameters
    ----------
    dimension : str, name of the dimension
    positive, nonnegative : bool, optional
        Whether it must be above zero, and whether it must not be below zero.
    """
    return lambda value: parse_quantity(value, dimension, positive=positive, nonnegative=nonnegative)


def relative(least: float = 0.0, most: float = 1.0) -> Parser:
    """Parser of a relative value ("5 %" or a plain number).

    Parameters
    ----------
    least, most : float, optional, least and greatest value, relative
    """

    def parse(value: object) -> float:
        result = parse_relative(value)
        if not least <= result <= most:
            plain = isinstance(value, int | float) and most < value <= 100 * most
            hint = f'A plain number is a ratio: did you mean "{value:g} %"?' if plain else ""
            raise value_error(value, f"a relative value from {least * 100:g} % to {most * 100:g} %", hint)
        return result

    return parse


def tolerance(parse: Parser) -> Parser:
    """Parser of a ± bound (k = 2): one value, or ``{ sd = … }``, a standard deviation, which is doubled. The
    value's parser gives a float or a Tolerance; the result is of the same type."""

    def read(value: object) -> Any:
        if not isinstance(value, dict):
            return parse(value)
        if set(value) != {"sd"}:
            raise value_error(list(value), "one value (a ± bound, k = 2) or { sd = … }, a standard deviation")
        deviation = parse(value["sd"])
        if isinstance(deviation, Tolerance):
            return Tolerance(2 * deviation.bound, deviation.is_length)
        return 2 * deviation

    return read


def relative_or_length(value: object) -> Tolerance:
    """A tolerance that is relative ("5 %", 0.05) or a length ("0.02 mm")."""
    if isinstance(value, str) and "%" not in value:
        return Tolerance(parse_quantity(value, "length", nonnegative=True), is_length=True)
    if isinstance(value, str | int | float) and not isinstance(value, bool):
        return Tolerance(relative()(value))
    raise value_error(value, "a relative value such as '5 %', or a length such as '0.02 mm'")


def names(value: object) -> tuple[str, ...]:
    """A list of names without repetition."""
    if not isinstance(value, list) or not value or not all(isinstance(item, str) for item in value):
        raise value_error(value, "a list of names, such as ['B']")
    if len(set(value)) < len(value):
        raise value_error(value, "each name once")
    return tuple(value)


def parse_port(value: object) -> Port:
    """A winding or join, or a list of them in series; a leading ``-`` reverses one."""
    items = [value] if isinstance(value, str) else value
    if not isinstance(items, list) or not items or not all(isinstance(item, str) for item in items):
        raise value_error(value, "a winding or join, or a list of them, such as ['P', '-S']")
    return tuple(Member(item.removeprefix("-").strip(), item.startswith("-")) for item in items)


def port_or_none(value: object) -> Port:
    """As ``parse_port``; an empty list means none."""
    return () if value == [] else parse_port(value)
