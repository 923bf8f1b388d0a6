"""Chosen arrangements side by side, each drawn as ``predict --draw`` draws it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ...compare.interleaving import Comparison
from ...predict.ampere_turns import ampere_turn_function
from ...predict.cross_section import cross_section
from .drawing_text import drawing_parts
from .page import Figure, Heading, Paragraph, Part

_NARROWEST = 60
"""Columns that one picture takes at least; two stand side by side where there is room for both."""
_BETWEEN = 3


def drawings(result: Comparison, numbers: Sequence[int]) -> Iterator[Part]:
    """The cross-sections of arrangements ``numbers`` (from 1), as many side by side as the page holds."""
    figures: list[tuple[str, Figure]] = []
    for number in numbers:
        one = result.arrangements[number - 1]
        section = cross_section(one.design, one.layout)
        function = ampere_turn_function(one.design, result.questions.leakage[0])
        parts = list(drawing_parts(section, function))
        if not figures:
            yield Heading("Cross-sections")
            yield from (part for part in parts[:2] if isinstance(part, str | Paragraph))
        figure = next(part for part in parts if isinstance(part, Figure))
        figures.append((f"{number}: {' '.join(one.order)}", figure))
    yield Figure(lambda width, plain: _beside(figures, width, plain=plain))


def _beside(figures: Sequence[tuple[str, Figure]], width: int, *, plain: bool) -> list[str]:
    across = max(1, min(len(figures), (width + _BETWEEN) // (_NARROWEST + _BETWEEN)))
    each = (width - _BETWEEN * (across - 1)) // across
    lines: list[str] = []
    for begin in range(0, len(figures), across):
        columns = [
            ["", title, *figure.lines(each, plain)] for title, figure in figures[begin : begin + across]
        ]
        for row in range(max(map(len, columns))):
            cells = [column[row] if row < len(column) else "" for column in columns]
            text = "".join(cell.ljust(each + _BETWEEN) for cell in cells[:-1]) + cells[-1]
            lines.append(text.rstrip())
    return lines
