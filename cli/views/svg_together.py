"""Several cross-sections of one core beside each other on one SVG page, each with its caption and legend.

All are drawn to the same scale and with the same hatches, so that one is compared with the next at sight.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ...predict.circuit import AmpereTurnFunction
from ...predict.winding import CrossSection
from .drawing_legend import entries
from .drawing_svg import description, pictured, subtitle
from .svg_axes import legend
from .svg_pieces import hatch_patterns
from .svg_sheet import EDGE, GAP, LINE, Sheet, fixed, label, svg_document

_ABREAST = 3
"""Pictures in a row."""
_LETTER = 0.55
"""Breadth of a letter over its size."""
_BOLD = ' font-weight="bold"'


@dataclass(frozen=True)
class Picture:
    """One of the page's cross-sections.

    Attributes
    ----------
    caption : tuple[str, ...], lines above it, the first one in bold
    section : CrossSection, what is drawn
    function : AmpereTurnFunction or None, ampere-turns along the layers, A; None: not drawn
    """

    caption: tuple[str, ...]
    section: CrossSection
    function: AmpereTurnFunction | None


def together_svg(title: str, pictures: Sequence[Picture], notes: Sequence[str]) -> str:
    """The page as an SVG document, with several pictures of one core.

    Parameters
    ----------
    title : str
    pictures : Sequence[Picture]
    notes : Sequence[str], what is printed under them
    """
    first = pictures[0].section
    sheet = Sheet(first)
    panels = [_panel(picture) for picture in pictures]
    wide = max(max(panel.width for panel in panels), 60.0)
    lines, top = [], EDGE + 14.0
    for begin in range(0, len(panels), _ABREAST):
        row = panels[begin : begin + _ABREAST]
        for panel_index, panel in enumerate(row):
            lines.append(f'<g transform="translate({fixed(panel_index * (wide + GAP))} {fixed(top)})">')
            lines += [*panel.lines, "</g>"]
        top += max(panel.depth for panel in row) + GAP
    across = min(len(panels), _ABREAST)
    breadth = EDGE + across * (wide + GAP)
    written = [(title, 4.2), (subtitle(first, sheet), 2.9), *((note, 2.6) for note in notes)]
    breadth = max(breadth, *(2 * EDGE + len(text) * size * _LETTER for text, size in written))
    lines += [label(EDGE, top + LINE * line_number, note, size=2.6) for line_number, note in enumerate(notes)]
    depth = top + LINE * len(notes) + EDGE
    text = " ".join(
        f"{'; '.join(each.caption)}. "
        f"{description(each.section, entries(each.section, most=24), each.function)}"
        for each in pictures
    )
    body = [
        f'<rect width="{fixed(breadth)}" height="{fixed(depth)}" fill="#fff"/>',
        hatch_patterns(first, sheet),
        label(EDGE, EDGE + 4, title, size=4.2, more=_BOLD),
        label(EDGE, EDGE + 9, subtitle(first, sheet), size=2.9),
        *lines,
    ]
    return svg_document((breadth, depth), f"{title}: cross-sections side by side", text, body)


@dataclass(frozen=True)
class _Panel:
    lines: list[str]
    width: float
    depth: float


def _panel(picture: Picture) -> _Panel:
    """A picture with its caption above and its diagram and legend below, from the page's left edge on."""
    section, function = picture.section, picture.function
    sheet = Sheet(section)
    listed = entries(section, most=24)
    down = LINE * len(picture.caption) - EDGE - 6.0
    lines = [
        label(EDGE, LINE * index, text, size=3.2 if index == 1 else 2.7, more=_BOLD if index == 1 else "")
        for index, text in enumerate(picture.caption, 1)
    ]
    body, right, bottom = pictured(section, sheet, listed, function)
    table, width, depth = legend(section, listed, EDGE, bottom + 2)
    body += table
    caption = max(len(text) for text in picture.caption) * 3.2 * _LETTER
    lines += [f'<g transform="translate(0 {fixed(down)})">', *body, "</g>"]
    return _Panel(lines, max(right, EDGE + width, EDGE + caption), down + bottom + 2 + depth)
