"""Axes, the numbers at the layers and the legend of a drawing in SVG."""

from __future__ import annotations

import math
from collections.abc import Sequence

from ...predict.winding import CrossSection
from .drawing_legend import Entry, along_text, marks, piece_names, ticks
from .page import visible
from .svg_pieces import FILLS
from .svg_sheet import CALLOUT, INK, LINE, PALE, Sheet, fixed, label, stroke


def axes(section: CrossSection, sheet: Sheet) -> list[str]:
    """The two axes of a drawing, with ticks in mm.

    Parameters
    ----------
    section : CrossSection, what is drawn
    sheet : Sheet, the page
    """
    rule = f' stroke="{INK}" stroke-width=".18" fill="none"'
    y = sheet.foot + 2.5
    lines = [stroke(sheet.x(0), y, sheet.x(section.width), y, rule)]
    for value in ticks(0.0, section.width, max(int((sheet.x(section.width) - sheet.x(0)) / 6), 2)):
        lines.append(stroke(sheet.x(value), y, sheet.x(value), y + 1.2, rule))
        lines.append(label(sheet.x(value), y + 4.2, f"{value * 1e3:.4g}", anchor="middle", size=2.5))
    name = "mm from the ring's surface" if section.ring else "mm from the leg's surface"
    lines.append(label((sheet.x(0) + sheet.x(section.width)) / 2, y + 7.8, name, anchor="middle", size=2.5))
    x = sheet.left - 2.5
    lines.append(stroke(x, sheet.y(0), x, sheet.y(section.height), rule))
    for value in ticks(0.0, section.height, min(max(int((sheet.y(0) - sheet.y(section.height)) / 5), 2), 14)):
        lines.append(stroke(x, sheet.y(value), x - 1.2, sheet.y(value), rule))
        lines.append(label(x - 1.8, sheet.y(value) + 0.9, f"{value * 1e3:.4g}", anchor="end", size=2.5))
    name = "mm along the inner circumference" if section.ring else "mm above the lower yoke"
    middle = (sheet.y(0) + sheet.y(section.height)) / 2
    turned = f' transform="rotate(-90 {fixed(x - 8)} {fixed(middle)})"'
    lines.append(label(x - 8, middle, name, anchor="middle", size=2.5, more=turned))
    return lines


def _apart(wanted: Sequence[float], least: float) -> list[float]:
    """Places near ``wanted`` (rising) that are at least ``least`` apart: blocks around their mean."""
    blocks: list[list[float]] = []
    for value in wanted:
        blocks.append([value])
        while len(blocks) > 1 and _start(blocks[-2], least) + len(blocks[-2]) * least > _start(
            blocks[-1], least
        ):
            last = blocks.pop()
            blocks[-1] += last
    return [_start(block, least) + index * least for block in blocks for index in range(len(block))]


def _start(block: Sequence[float], least: float) -> float:
    return sum(block) / len(block) - (len(block) - 1) * least / 2


def callouts(
    section: CrossSection,
    sheet: Sheet,
    listed: Sequence[Entry],
    numbers: Sequence[int] | None = None,
    *,
    size: float = 2.7,
) -> list[str]:
    """The legend's numbers at their layers: above the core, those of lower chambers below it, those of flat
    builds to the right of it.

    Parameters
    ----------
    section : CrossSection, what is drawn
    sheet : Sheet, the page
    listed : Sequence[Entry], the legend
    numbers : Sequence[int] or None, optional, what is written instead of 1, 2, …, count
    size : float, optional, size of the figures, mm of paper
    """
    apart = CALLOUT * size / 2.7
    width = section.width
    middles, below = [], []
    for number, entry in zip(numbers or range(1, len(listed) + 1), listed, strict=True):
        middle = (entry.stack[0] + entry.stack[1]) / 2
        if entry.leg == 2 and not section.flat:
            middle = width - middle
        end = entry.along[1]
        if section.flat and entry.leg == 2:
            end = width - entry.along[0]
        if section.ring:
            end = section.height
            if entry.angles is not None:
                end = min(entry.angles[1] / math.tau * section.height, section.height)
        if sheet.chambered and sum(entry.along) < section.height:
            below.append((middle, entry.along[0], number))
        else:
            middles.append((middle, end, number))
    lines = []
    rule = f' stroke="{INK}" stroke-width=".12" fill="none"'
    if section.flat:
        middles.sort(key=lambda item: -item[0])
        label_positions = _apart([sheet.y(item[0]) for item in middles], apart)
        for (middle, end, number), label_position in zip(middles, label_positions, strict=True):
            y = sheet.y(middle)
            lines.append(
                f'<path d="M{fixed(sheet.x(end))} {fixed(y)}H{fixed(sheet.right + 2)}'
                f'L{fixed(sheet.right + 7)} {fixed(label_position)}"{rule}/>'
            )
            lines.append(label(sheet.right + 8, label_position + size / 3, str(number), size=size))
        return lines
    for found, edge, way, shown in (
        (middles, sheet.top, -1, sheet.top - 4.8),
        (below, sheet.bottom, 1, sheet.bottom + 3.9 + size),
    ):
        found.sort()
        label_positions = _apart([sheet.x(item[0]) for item in found], apart)
        for (middle, end, number), label_position in zip(found, label_positions, strict=True):
            lines.append(
                f'<path d="M{fixed(sheet.x(middle))} {fixed(sheet.y(end))}V{fixed(edge + way)}'
                f'L{fixed(label_position)} {fixed(edge + 4 * way)}"{rule}/>'
            )
            lines.append(label(label_position, shown, str(number), anchor="middle", size=size))
    return lines


def legend(
    section: CrossSection, listed: Sequence[Entry], left: float, top: float
) -> tuple[list[str], float, float]:
    """The table of layers and of the other fills.

    Parameters
    ----------
    section : CrossSection, what is drawn
    listed : Sequence[Entry], the legend
    left, top : float, its left and upper edge, mm of paper

    Returns
    -------
    list[str], the SVG elements
    float, its width, mm of paper
    float, its depth, mm of paper
    """
    first, second = ("y (mm)", "x (mm)") if section.flat else ("x (mm)", "y (mm)")
    head = ["", "", "winding", "step", "layer", "turns", first, "angle" if section.ring else second]
    mark = marks(section)
    rows = []
    for number, entry in enumerate(listed, 1):
        name = visible(entry.name) + (", leg 2" if entry.leg == 2 else "")
        turns = str(entry.turns) if entry.name in mark else "shield"
        span = f"{entry.stack[0] * 1e3:.2f}-{entry.stack[1] * 1e3:.2f}"
        rows.append(
            [str(number), "", name, str(entry.step), entry.layers, turns, span, along_text(section, entry)]
        )
    glyph = 1.5
    widths = [
        max(len(row[index]) for row in [head, *rows]) * glyph + 3.0 if index != 1 else 7.0
        for index in range(len(head))
    ]
    ends = [left + sum(widths[: index + 1]) for index in range(len(head))]
    lines = []
    order = {winding.name: index for index, winding in enumerate(section.design.windings)}

    def cells(row: Sequence[str], y: float, more: str = "") -> None:
        for index, cell in enumerate(row):
            if not cell:
                continue
            if index in (0, 2):
                lines.append(label(ends[index] - widths[index], y, cell, more=more))
            else:
                lines.append(label(ends[index] - 3, y, cell, anchor="end", more=more))

    y = top + 2.5
    cells(head, y, f' fill="{PALE}"')
    lines.append(stroke(left, y + 1.3, ends[-1] - 3, y + 1.3, f' stroke="{PALE}" stroke-width=".18"'))
    for row, entry in zip(rows, listed, strict=True):
        y += LINE
        fill = f"url(#v{order[entry.name]})" if entry.name in order else FILLS["shield"]
        lines.append(_swatch(ends[0], y, fill))
        cells(row, y)
    y += LINE * 0.6
    for kind, name in piece_names(section).items():
        if kind != "shield":
            y += LINE
            lines.append(_swatch(ends[0], y, FILLS[kind]))
            lines.append(label(ends[1], y, name))
    return lines, ends[-1] - left, y - top + LINE


def _swatch(x: float, y: float, fill: str) -> str:
    return (
        f'<rect x="{fixed(x)}" y="{fixed(y - 2.5)}" width="5" height="3" fill="{fill}" stroke="{INK}" '
        'stroke-width=".12"/>'
    )
