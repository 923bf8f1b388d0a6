"""The marks of a chart in SVG: letters, lines, boxes, readings, hatches. Lengths in points.

Nothing is told by colour alone: samples have shapes of their own, limits are broken lines with a hatched
outside, shares have hatches and names. Letters stay letters in a font of the system; where their width
matters it is estimated from the widths of Helvetica.
"""

from __future__ import annotations

import math
import unicodedata

from .svg_sheet import fixed, label, stroke

INK, SOFT, FILL, LIMIT, OUTSIDE, GRID = "#1b2129", "#4b5560", "#c3d3e8", "#8c2f00", "#d7a48f", "#d8dde4"

SMALL, TYPE = 8.0, 9.0
"""Heights of the letters: of ticks and of names (pt)."""

SHAPES = ("circle", "square", "up", "diamond", "down", "plus", "cross", "star", "left", "right")
"""Shapes of samples; with more samples than shapes all get the first."""

_TURNED = {
    "square": (4, 45, 1.1),
    "up": (3, -90, 1.25),
    "diamond": (4, 0, 1.25),
    "down": (3, 90, 1.25),
    "left": (3, 180, 1.25),
    "right": (3, 0, 1.25),
}
"""Regular polygons among the shapes: corners, where the first of them lies (degrees), size against the
circle's."""

_NARROW, _WIDE = "ijlI.,:;|!'()[]/ft·", "mwMW%@—→←"

_HATCHES = {
    "none": (8.0, 0, ""),
    "lines": (4.0, -45, "M0 2H4"),
    "dots": (4.0, 0, "M1.6 2H2.4"),
    "back": (4.0, 45, "M0 2H4"),
    "crossed": (5.0, 45, "M0 2.5H5M2.5 0V5"),
    "level": (4.0, 0, "M0 2H4"),
    "upright": (4.0, 0, "M2 0V4"),
}
"""Hatches: size of the tile (pt), how it is turned (degrees), its strokes."""


def hatch(name: str, kind: str, *, ground: str = "none", ink: str = SOFT) -> str:
    """A pattern to fill with, ``url(#name)``.

    Parameters
    ----------
    name : str, its id
    kind : str, which of the hatches
    ground : str, optional, colour under it
    ink : str, optional, colour of the line
    """
    size, turned, path = _HATCHES[kind]
    return (
        f'<pattern id="{name}" width="{fixed(size)}" height="{fixed(size)}" patternUnits="userSpaceOnUse" '
        f'patternTransform="rotate({turned})"><rect width="{fixed(size)}" height="{fixed(size)}" '
        f'fill="{ground}"/><path d="{path}" stroke="{ink}" stroke-width=".8" fill="none"/></pattern>'
    )


def text_width(text: str, size: float) -> float:
    """How wide a text is, about.

    Parameters
    ----------
    text : str
    size : float, size of the type, pt

    Returns
    -------
    float, its width, pt
    """
    return size * sum(map(_letter, text))


def _letter(letter: str) -> float:
    """Width of a letter over its height."""
    if unicodedata.combining(letter):
        return 0.0
    if unicodedata.east_asian_width(letter) in "WF":
        return 1.0
    if letter in _WIDE:
        return 0.9
    return 0.31 if letter in _NARROW else 0.7 if letter.isupper() else 0.56


def text_over(x: float, y: float, text: str, *, anchor: str = "start", size: float = TYPE) -> str:
    """A text on a white edge of its own, so that it can be read over lines.

    Parameters
    ----------
    x, y : float, position across and down the page, pt
    text : str
    anchor : str, optional, "start", "middle" or "end"
    size : float, optional, size of the type, pt
    """
    halo = ' paint-order="stroke" stroke="#fff" stroke-width="2" stroke-linejoin="round"'
    return label(x, y, text, anchor=anchor, size=size, more=halo)


def box(x0: float, y0: float, x1: float, y1: float, fill: str, line: str = INK) -> str:
    """A filled rectangle between two corners.

    Parameters
    ----------
    x0, y0, x1, y1 : float, left, upper, right and lower edge, pt
    fill : str, colour or pattern of the area
    line : str, optional, colour of the outline
    """
    x, y, wide, high = min(x0, x1), min(y0, y1), abs(x1 - x0), abs(y1 - y0)
    return (
        f'<rect x="{fixed(x)}" y="{fixed(y)}" width="{fixed(wide)}" height="{fixed(high)}" fill="{fill}" '
        f'stroke="{line}" stroke-width=".8"/>'
    )


def rule(
    x0: float, y0: float, x1: float, y1: float, *, width: float = 0.8, ink: str = INK, dash: str = ""
) -> str:
    """A straight line.

    Parameters
    ----------
    x0, y0, x1, y1 : float, where it begins and ends across (x) and down (y) the page, pt
    width : float, optional, its thickness, pt
    ink : str, optional, colour of the line
    dash : str, optional, lengths of dashes and gaps; empty: solid
    """
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    return stroke(x0, y0, x1, y1, f' stroke="{ink}" stroke-width="{fixed(width)}"{dashes}')


def limit_rule(x: float, y0: float, y1: float) -> str:
    """A limit: an upright broken line.

    Parameters
    ----------
    x : float, position across the page, pt
    y0, y1 : float, upper and lower edge, pt
    """
    return rule(x, y0, x, y1, width=1.6, ink=LIMIT, dash="6.4 3.2")


def mark(shape: str, x: float, y: float, *, size: float = 2.6, fill: str = "#fff", ink: str = INK) -> str:
    """The mark of a reading.

    Parameters
    ----------
    shape : str, one of ``SHAPES``
    x, y : float, position across and down the page, pt
    size : float, optional, its radius, pt
    fill : str, optional, colour or pattern of the area
    ink : str, optional, colour of the line
    """
    points = _corners(shape)
    path = "L".join(f"{fixed(x + size * across)} {fixed(y + size * up)}" for across, up in points)
    if shape == "circle":
        radius = fixed(size)
        turn = f"a{radius} {radius} 0 1 1"
        path = f"{fixed(x - size)} {fixed(y)}{turn} {fixed(2 * size)} 0{turn} {fixed(-2 * size)} 0"
    return f'<path d="M{path}Z" fill="{fill}" stroke="{ink}" stroke-width=".9"/>'


def _corners(shape: str) -> list[tuple[float, float]]:
    """Corners of a shape around a circle of radius 1."""
    if shape in _TURNED:
        number, first, size = _TURNED[shape]
        angles = [math.radians(first + 360 * corner / number) for corner in range(number)]
        return [(size * math.cos(angle), size * math.sin(angle)) for angle in angles]
    if shape == "star":
        angles = [math.radians(36 * corner - 90) for corner in range(10)]
        radii = [1.4 if corner % 2 == 0 else 0.55 for corner in range(10)]
        return [(r * math.cos(angle), r * math.sin(angle)) for r, angle in zip(radii, angles, strict=True)]
    if shape == "circle":
        return []
    arm = [(1.2, -0.45), (1.2, 0.45), (0.45, 0.45), (0.45, 1.2), (-0.45, 1.2), (-0.45, 0.45)]
    plus = [*arm, *((-across, -up) for across, up in arm)]
    if shape == "plus":
        return plus
    half = math.sqrt(0.5)
    return [(half * (across - up), half * (across + up)) for across, up in plus]


def upright(
    x: float, y: float, text: str, *, anchor: str = "middle", size: float = TYPE, more: str = ""
) -> str:
    """A text that reads upwards.

    Parameters
    ----------
    x, y : float, position across and down the page, pt
    text : str
    anchor : str, optional, "start", "middle" or "end"
    size : float, optional, size of the type, pt
    more : str, optional, further attributes of the element
    """
    return label(
        x, y, text, anchor=anchor, size=size, more=f' transform="rotate(-90 {fixed(x)} {fixed(y)})"{more}'
    )
