"""Chosen arrangements side by side, each drawn as ``predict --draw`` draws it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from ...compare.plan import Comparison
from ...predict.circuit import AmpereTurnFunction, ampere_turn_function
from ...predict.interleave import Arrangement
from ...predict.winding import CrossSection, cross_section
from . import words
from .drawing_text import drawing_parts
from .interleave import division_text, order_text
from .page import Figure, Heading, Paragraph, Part
from .svg_together import Picture, together_svg

_NARROWEST = 58
"""Columns that one picture takes at least; two stand side by side where there is room for both."""
_BETWEEN = 3


def drawings(result: Comparison, numbers: Sequence[int]) -> Iterator[Part]:
    """Cross-sections of arrangements, as many side by side as the page has room for.

    Parameters
    ----------
    result : Comparison, all arrangements
    numbers : Sequence[int], numbers of the arrangements, index from 1
    """
    figures: list[tuple[str, Figure]] = []
    for number in numbers:
        arrangement = result.arrangements[number - 1]
        parts = list(drawing_parts(*_drawn(result, arrangement)))
        if not figures:
            yield Heading("Cross-sections")
            yield from (part for part in parts[:2] if isinstance(part, str | Paragraph))
        figure = next(part for part in parts if isinstance(part, Figure))
        figures.append((_title(arrangement, number), figure))
    yield Figure(lambda width, plain: _beside(figures, width, plain=plain))


def drawings_svg(result: Comparison, numbers: Sequence[int]) -> str:
    """The same to scale, as one SVG page with a caption for each.

    Parameters
    ----------
    result : Comparison, all arrangements
    numbers : Sequence[int], numbers of the arrangements, index from 1
    """
    pictures = []
    for number in numbers:
        arrangement = result.arrangements[number - 1]
        pictures.append(Picture(_caption(result, number), *_drawn(result, arrangement)))
    test = result.questions.leakage[0]
    notes = (
        f"Leakage: {words.how(test)}. Diagrams: ampere-turns per ampere driven in that test.",
        "Nominal dimensions. Insulation repeats the design's; it follows the safety standard and a qualified "
        "person's decision.",
    )
    return together_svg(result.design.title or "(no title)", pictures, notes)


def _drawn(result: Comparison, arrangement: Arrangement) -> tuple[CrossSection, AmpereTurnFunction]:
    function = ampere_turn_function(arrangement.design, result.questions.leakage[0])
    return cross_section(arrangement.design, arrangement.layout), function


def _caption(result: Comparison, number: int) -> tuple[str, ...]:
    """Number and order, then what it reads."""
    arrangement, predictions = result.arrangements[number - 1], result.predictions
    told = [
        f"leakage {_figure_of(predictions.leakage[number - 1, 0], 'inductance')}",
        f"R (AC) {_figure_of(predictions.resistance[number - 1], 'ac_resistance')}",
    ]
    if predictions.capacitance.shape[1]:
        told.insert(1, f"C {_figure_of(predictions.capacitance[number - 1, 0], 'capacitance')}")
    joints = f"{arrangement.joints} joint{'' if arrangement.joints == 1 else 's'}"
    faces = f"{len(arrangement.faces)} face{'' if len(arrangement.faces) == 1 else 's'}"
    filled = f"{joints}, {faces} between circuits, {100 * arrangement.fill:.0f} % of the window"
    return _title(arrangement, number), division_text(arrangement.design), ", ".join(told), filled


def _title(arrangement: Arrangement, number: int) -> str:
    return f"{number}: {order_text(arrangement)}{' (now)' if arrangement.present else ''}"


def _figure_of(value: float, measure: str) -> str:
    return words.quantity_text(float(value), measure, 3) if np.isfinite(value) else "not modelled"


def _beside(figures: Sequence[tuple[str, Figure]], width: int, *, plain: bool) -> list[str]:
    across = max(1, min(len(figures), (width + _BETWEEN) // (_NARROWEST + _BETWEEN)))
    each = (width - _BETWEEN * (across - 1)) // across
    drawn = [["", title, *figure.lines(each, plain)] for title, figure in figures]
    if across > 1 and max(len(line) for lines in drawn for line in lines) > each:  # legends that do not fit
        across, each = 1, width
        drawn = [["", title, *figure.lines(each, plain)] for title, figure in figures]
    lines: list[str] = []
    for begin in range(0, len(figures), across):
        columns = drawn[begin : begin + across]
        for row in range(max(map(len, columns))):
            cells = [column[row] if row < len(column) else "" for column in columns]
            text = "".join(cell.ljust(each + _BETWEEN) for cell in cells[:-1]) + cells[-1]
            lines.append(text.rstrip())
    return lines
