"""The ampere-turn diagram as bars of characters, on the cells of a cross-section."""

from __future__ import annotations

import numpy as np

from ...predict.circuit import AmpereTurnFunction
from .drawing_legend import ampere_turns_text
from .raster import Axis

BAR_ROWS, BAR_COLUMNS = 8, 22
"""Cells of the diagram."""


def _value(function: AmpereTurnFunction, position: float) -> float:
    return float(np.interp(position, function.positions, function.values))


def _scale(function: AmpereTurnFunction) -> tuple[float, int, float]:
    """Least and greatest value, zero among them, and the column of zero."""
    low, high = min(float(function.values.min()), 0.0), max(float(function.values.max()), 0.0)
    span = high - low or 1.0
    return low, round(-low / span * BAR_COLUMNS), high


def bar_labels(function: AmpereTurnFunction) -> list[tuple[str, int]]:
    """Labels of the axis under ``bars_along`` for ampere-turns along the layers, each with its column, an
    index."""
    low, zero, high = _scale(function)
    labels = [("0", zero)]
    if low < 0 and zero > len(ampere_turns_text(low)):
        labels.append((ampere_turns_text(low), 0))
    text = ampere_turns_text(high)
    if high > 0 and BAR_COLUMNS - len(text) > zero + 1:
        labels.append((text, BAR_COLUMNS + 1 - len(text)))
    return labels


def bars_along(function: AmpereTurnFunction, rows: Axis) -> list[str]:
    """The ampere-turns beside a picture: one bar for each row, from the top downwards.

    Parameters
    ----------
    function : AmpereTurnFunction, ampere-turns along the layers, A
    rows : Axis, heights → rows of the picture
    """
    low, zero, high = _scale(function)
    span = high - low or 1.0
    result = []
    for cell in range(rows.count - 1, -1, -1):
        end = round((_value(function, rows.middle(cell)) - low) / span * BAR_COLUMNS)
        row = [" "] * (BAR_COLUMNS + 1)
        row[zero] = "│"
        for column in range(min(end, zero), max(end, zero) + 1):
            if column != zero:
                row[column] = "█"
        result.append("".join(row))
    return result


def bars_under(function: AmpereTurnFunction, columns: Axis, side: int, left: int) -> list[str]:
    """The ampere-turns under a picture, half a row fine, around a line at zero.

    Parameters
    ----------
    function : AmpereTurnFunction, ampere-turns along the layers, A
    columns : Axis, lengths → columns of the picture
    side : int, columns for the labels, count
    left : int, columns before the first one of the picture, count
    """
    low, _, high = _scale(function)
    span = high - low
    start = side + left
    if span == 0:
        return ["", " " * (side - 2) + "0 " + " " * left + "─" * columns.count]
    upper = max(round(BAR_ROWS * high / span), 1 if high > 0 else 0)
    lower = max(BAR_ROWS - upper, 1 if low < 0 else 0)
    unit = max(high / upper if upper else 0.0, -low / lower if lower else 0.0) / 2
    halves = [round(_value(function, columns.middle(cell)) / unit) for cell in range(columns.count)]
    lines = []
    for row in range(upper, 0, -1):
        cells = ["█" if half >= 2 * row else "▄" if half == 2 * row - 1 else " " for half in halves]
        lines.append(" " * start + "".join(cells))
    lines.append(f"{'0':>{side - 1}} " + " " * left + "─" * columns.count)
    for row in range(1, lower + 1):
        cells = ["█" if -half >= 2 * row else "▀" if -half == 2 * row - 1 else " " for half in halves]
        lines.append(" " * start + "".join(cells))
    if upper:
        lines[0] = f"{ampere_turns_text(high):>{side - 1}} " + lines[0][side:]
    if lower:
        lines[-1] = f"{ampere_turns_text(low):>{side - 1}} " + lines[-1][side:]
    return ["", *lines]
