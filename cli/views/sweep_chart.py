"""A quantity against frequency as characters: braille dots, or ASCII where a terminal has no more.

The curve as designed in dots, its range shaded, measured points as circles, zero as a broken line. Pure: data
and a width → lines.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from ...predict.design import FloatArray
from ...predict.quantity import format_quantity
from .page import Figure, plainly

ROWS = 11
WIDEST = 88
MARGIN = 11
"""Columns left of the chart, for the scale."""
_DOTS = ((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80))
"""Bits of the dots of a braille character, by row and column (Unicode, block Braille Patterns)."""
_OUTLIERS = 3.0
"""A linear scale reaches this many times the middle half of the values beyond it, and is cut there."""


@dataclass(frozen=True, kw_only=True)
class Curve:
    """What a chart shows.

    Attributes
    ----------
    title : str
    unit : str, SI unit of the values
    frequencies : (F,) array, frequencies, Hz, rising
    nominal : (F,) array, values as designed, SI
    low, high : (F,) array, lower and upper end of the 95 % range, SI
    points : Sequence[tuple[float, float]], measured points: frequency (Hz) and value (SI)
    logarithmic : bool, whether the upright axis is logarithmic
    """

    title: str
    unit: str
    frequencies: FloatArray
    nominal: FloatArray
    low: FloatArray
    high: FloatArray
    points: Sequence[tuple[float, float]] = ()
    logarithmic: bool = False


def chart(curve: Curve) -> Figure:
    """The curve as a part of a page."""
    return Figure(lambda width, plain: _lines(curve, width, plain))


def axis_range(curve: Curve) -> tuple[float, float, bool]:
    """Least and greatest value (SI) of the upright axis, and whether it is logarithmic: all values of a
    curve, of a linear one without what shoots far out of the others (an inductance at its resonance)."""
    values = np.concatenate(
        [curve.nominal, curve.low, curve.high, np.array([value for _, value in curve.points], float)]
    )
    values = values[np.isfinite(values)]
    if not len(values):
        return 0.0, 1.0, False
    if curve.logarithmic and np.all(values > 0):
        return float(values.min()), float(values.max()), True
    lower, upper = np.quantile(values, [0.25, 0.75])
    if curve.unit == "rad":
        lower, upper = float(values.min()), float(values.max())
    reach = _OUTLIERS * max(upper - lower, 0.1 * abs(upper + lower) / 2, 1e-300)
    inside = values[(values >= lower - reach) & (values <= upper + reach)]
    least, greatest = float(inside.min()), float(inside.max())
    room = 0.05 * max(greatest - least, 0.02 * max(abs(greatest), abs(least)), 1e-300)
    return least - room, greatest + room, False


def _lines(curve: Curve, width: int, plain: bool) -> list[str]:
    columns = max(20, min(width - MARGIN - 1, WIDEST))
    least, greatest, logarithmic = axis_range(curve)

    def height(value: float) -> float:
        """0 at the lowest edge, 1 at the upper one."""
        if logarithmic:
            if value <= 0:
                return -1.0
            return math.log(value / least) / max(math.log(greatest / least), 1e-9)
        return (value - least) / (greatest - least)

    log_frequency = np.log(curve.frequencies)
    fine = np.linspace(log_frequency[0], log_frequency[-1], 2 * columns)

    def along(values: FloatArray) -> FloatArray:
        known = np.isfinite(values)
        return (
            np.interp(fine, log_frequency[known], values[known])
            if np.any(known)
            else np.full(len(fine), np.nan)
        )

    cells = [[" "] * columns for _ in range(ROWS)]
    _shade(cells, along(curve.low), along(curve.high), height, ":" if plain else "░")
    if not logarithmic and least < 0 < greatest:
        _zero(cells, height(0.0), "-" if plain else "╌")
    _curve(cells, along(curve.nominal), height, plain)
    _points(cells, curve, log_frequency, height, "O" if plain else "●")
    labels = _labels(least, greatest, logarithmic, curve.unit)
    edge = "|" if plain else "┤"
    lines = [f"{curve.title}"]
    for row in range(ROWS):
        lines.append(
            f"{labels.get(row, ''):>{MARGIN - 1}}{edge if row in labels else '|' if plain else '│'}"
            + "".join(cells[row]).rstrip()
        )
    lines += _foot(curve, columns, plain)
    return [plainly(line) if plain else line for line in lines]


def _row(part: float) -> int:
    return ROWS - 1 - math.floor(part * ROWS)


def _shade(
    cells: list[list[str]], low: FloatArray, high: FloatArray, height: Callable[[float], float], mark: str
) -> None:
    for column in range(len(cells[0])):
        if not (np.isfinite(low[2 * column]) and np.isfinite(high[2 * column])):
            continue
        top, bottom = (_row(height(float(values[2 * column]))) for values in (high, low))
        for row in range(max(top, 0), min(bottom, ROWS - 1) + 1):
            cells[row][column] = mark


def _zero(cells: list[list[str]], part: float, mark: str) -> None:
    row = _row(part)
    if 0 <= row < ROWS:
        cells[row] = [mark if cell == " " else cell for cell in cells[row]]


def _curve(cells: list[list[str]], values: FloatArray, height: Callable[[float], float], plain: bool) -> None:
    """The curve in dots, two by four a cell; steps between neighbours are filled where both lie inside."""
    bits: dict[tuple[int, int], int] = {}
    before: int | None = None
    for index, value in enumerate(values):
        part = height(float(value)) if np.isfinite(value) else -1.0
        if not 0 <= part <= 1:
            before = None
            continue
        dot = min(math.floor((1 - part) * 4 * ROWS), 4 * ROWS - 1)
        steps = range(min(before, dot), max(before, dot) + 1) if before is not None else (dot,)
        for step in steps:
            key = step // 4, index // 2
            bits[key] = bits.get(key, 0) | _DOTS[step % 4][index % 2]
        before = dot
    for (row, column), pattern in bits.items():
        cells[row][column] = "*" if plain else chr(0x2800 + pattern)


def _points(
    cells: list[list[str]],
    curve: Curve,
    log_frequency: FloatArray,
    height: Callable[[float], float],
    mark: str,
) -> None:
    columns = len(cells[0])
    for frequency, value in curve.points:
        part = height(value)
        at = (math.log(frequency) - log_frequency[0]) / (log_frequency[-1] - log_frequency[0])
        if 0 <= part <= 1 and 0 <= at <= 1:
            cells[min(max(_row(part), 0), ROWS - 1)][min(int(at * columns), columns - 1)] = mark


def _labels(least: float, greatest: float, logarithmic: bool, unit: str) -> dict[int, str]:
    result = {}
    for row in (0, ROWS // 2, ROWS - 1):
        part = (ROWS - 0.5 - row) / ROWS
        if row in (0, ROWS - 1):
            part = 1.0 if row == 0 else 0.0
        value = least * (greatest / least) ** part if logarithmic else least + (greatest - least) * part
        result[row] = format_quantity(value, unit, 3)
    return result


def _foot(curve: Curve, columns: int, plain: bool) -> list[str]:
    """The axis with a tick at every decade (and the ends), and their frequencies where they fit."""
    log_frequency = np.log(curve.frequencies)
    low, high = float(curve.frequencies[0]), float(curve.frequencies[-1])
    first, last = math.ceil(math.log10(low) - 1e-9), math.floor(math.log10(high) + 1e-9)
    decades = [10.0**number for number in range(first, last + 1)] or [low]
    axis, names = ["-" if plain else "─"] * columns, [" "] * (columns + 8)
    taken = -2
    for frequency in decades:
        at = min(
            int((math.log(frequency) - log_frequency[0]) / (log_frequency[-1] - log_frequency[0]) * columns),
            columns - 1,
        )
        axis[at] = "+" if plain else "┴"
        text = _short(frequency)
        begin = max(0, min(at - len(text) // 2, columns - len(text)))
        if begin > taken + 1:
            names[begin : begin + len(text)] = text
            taken = begin + len(text)
    corner = "+" if plain else "└"
    return [" " * (MARGIN - 1) + corner + "".join(axis), " " * MARGIN + "".join(names).rstrip()]


def _short(frequency: float) -> str:
    text = format_quantity(frequency, "Hz", 3)
    number, _, unit = text.partition(" ")
    return f"{number.rstrip('0').rstrip('.') if '.' in number else number} {unit}"
