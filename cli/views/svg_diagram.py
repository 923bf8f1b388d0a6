"""The ampere-turn diagram of a drawing in SVG, on the axis of the drawn part."""

from __future__ import annotations

from collections.abc import Sequence

from ...predict.circuit import AmpereTurnFunction
from ...predict.winding import CrossSection
from .drawing_legend import ampere_turns_text, ticks
from .svg_pieces import TONES
from .svg_sheet import DIAGRAM, INK, PALE, Sheet, fixed, label, stroke

SHORTEST, STRETCHED = 24.0, 60.0
"""An axis shorter than this (mm of paper) is stretched to that."""


def _range(function: AmpereTurnFunction) -> tuple[float, float]:
    low, high = min(float(function.values.min()), 0.0), max(float(function.values.max()), 0.0)
    return (low, high) if high > low else (-1.0, 1.0)


def _path(points: Sequence[tuple[float, float]], zero: Sequence[tuple[float, float]]) -> str:
    """The function as a line over a pale area down to zero."""
    line = "L".join(f"{fixed(x)} {fixed(y)}" for x, y in points)
    (x0, y0), (x1, y1) = zero
    outline = f"M{fixed(x0)} {fixed(y0)}L{line}L{fixed(x1)} {fixed(y1)}Z"
    return (
        f'<path d="{outline}" fill="{TONES[1][0]}" fill-opacity=".7"/>'
        f'<path d="M{line}" fill="none" stroke="{TONES[1][1]}" stroke-width=".4"/>'
    )


def _spans(section: CrossSection, *, along_leg: bool) -> list[tuple[float, float]]:
    """Where layers lie along the diagram's axis (m), each once."""
    return sorted(
        {
            (piece.y0, piece.y1) if along_leg else (piece.x0, piece.x1)
            for piece in section.pieces
            if piece.kind in ("winding", "shield")
        }
    )


def _bands(boxes: Sequence[tuple[float, float, float, float]]) -> str:
    """Where layers lie, as bands (x0, x1, y0, y1) behind the diagram."""
    path = "".join(
        f"M{fixed(x0)} {fixed(y0)}H{fixed(x1)}V{fixed(y1)}H{fixed(x0)}Z" for x0, x1, y0, y1 in boxes
    )
    return f'<path d="{path}" fill="{PALE}" fill-opacity=".22"/>'


def diagram_under(
    sheet: Sheet, function: AmpereTurnFunction, top: float, apart: float | None = None
) -> list[str]:
    """The ampere-turns under the drawing, on its x axis; beside it on a longer axis where that one is too
    short to read.

    Parameters
    ----------
    sheet : Sheet, the page
    function : AmpereTurnFunction, ampere-turns along the layers, A
    top : float, upper edge, mm of paper
    apart : float or None, optional
        Left edge if it is drawn beside, mm of paper; None: always under the drawing.
    """
    low, high = _range(function)
    width = sheet.section.width
    left, right = sheet.x(0.0), sheet.x(width)
    stretched = right - left < SHORTEST or apart is not None
    if apart is not None:
        left = apart
    if stretched:
        right = left + STRETCHED

    def x(metres: float) -> float:
        return left + metres / width * (right - left)

    def y(value: float) -> float:
        return top + (high - value) / (high - low) * DIAGRAM

    points = [
        (x(float(position)), y(float(value)))
        for position, value in zip(function.positions, function.values, strict=True)
    ]
    rule = f' stroke="{INK}" stroke-width=".18"'
    spans = _spans(sheet.section, along_leg=False)
    lines = [_bands([(x(start), x(end), top, top + DIAGRAM) for start, end in spans])]
    lines.append(_path(points, [(left, y(0.0)), (right, y(0.0))]))
    lines.append(stroke(left, y(0.0), right, y(0.0), rule))
    lines.append(stroke(left - 2.5, top, left - 2.5, top + DIAGRAM, rule))
    for value in _values(low, high):
        lines.append(stroke(left - 2.5, y(value), left - 3.7, y(value), rule))
        lines.append(label(left - 4.3, y(value) + 0.9, ampere_turns_text(value), anchor="end", size=2.5))
    name = "Ampere-turns per ampere driven"
    if stretched:
        under = top + DIAGRAM + 1.5
        lines.append(stroke(left, under, right, under, rule))
        for position in ticks(0.0, width, 6):
            lines.append(stroke(x(position), under, x(position), under + 1.2, rule))
            lines.append(label(x(position), under + 4.2, f"{position * 1e3:.4g}", anchor="middle", size=2.5))
        name += ", x in mm" if apart is not None else "; its own axis in mm, stretched"
    lines.append(label(left, top - 2.5, name, size=2.7))
    return lines


def diagram_beside(sheet: Sheet, function: AmpereTurnFunction, left: float) -> list[str]:
    """The ampere-turns beside the drawing, on its y axis.

    Parameters
    ----------
    sheet : Sheet, the page
    function : AmpereTurnFunction, ampere-turns along the layers, A
    left : float, left edge, mm of paper
    """
    low, high = _range(function)
    bottom, top = sheet.y(0.0), sheet.y(sheet.section.height)

    def x(value: float) -> float:
        return left + (value - low) / (high - low) * DIAGRAM

    points = [
        (x(float(value)), sheet.y(float(position)))
        for position, value in zip(function.positions, function.values, strict=True)
    ]
    rule = f' stroke="{INK}" stroke-width=".18"'
    spans = _spans(sheet.section, along_leg=True)
    lines = [_bands([(left, left + DIAGRAM, sheet.y(end), sheet.y(start)) for start, end in spans])]
    lines.append(_path(points, [(x(0.0), bottom), (x(0.0), top)]))
    lines.append(stroke(x(0.0), bottom, x(0.0), top, rule))
    under = sheet.foot + 2.5
    lines.append(stroke(left, under, left + DIAGRAM, under, rule))
    for value in _values(low, high):
        lines.append(stroke(x(value), under, x(value), under + 1.2, rule))
        lines.append(label(x(value), under + 4.2, ampere_turns_text(value), anchor="middle", size=2.5))
    lines.append(label(left + DIAGRAM / 2, under + 7.8, "ampere-turns per ampere", anchor="middle", size=2.5))
    return lines


def _values(low: float, high: float) -> list[float]:
    """Labels: both extremes and zero."""
    return sorted({low, 0.0, high})
