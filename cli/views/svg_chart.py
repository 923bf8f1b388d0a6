"""The parts of a chart in SVG: axes with round ticks, bars, marks, hatches, a legend. Lengths in points.

Nothing is told by colour alone: samples have shapes of their own, limits are broken lines with a hatched
outside, shares have hatches and names. The same values give the same text, byte for byte. Letters stay
letters in a font of the system; where one has to know how wide they are, it is estimated from the widths of
Helvetica.
"""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from xml.sax.saxutils import escape

from .drawing_legend import ticks
from .page import visible
from .svg_sheet import fixed, label, stroke

WIDTH = 525.0
"""What A4 and Letter hold between their margins (pt)."""
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
    name : str
        Its id.
    kind : str
        Which of the hatches.
    ground : str, optional
        Colour under it.
    ink : str, optional
        Colour of the line.

    Returns
    -------
    str
        The SVG element.
    """
    size, turned, path = _HATCHES[kind]
    return (
        f'<pattern id="{name}" width="{fixed(size)}" height="{fixed(size)}" patternUnits="userSpaceOnUse" '
        f'patternTransform="rotate({turned})"><rect width="{fixed(size)}" height="{fixed(size)}" '
        f'fill="{ground}"/><path d="{path}" stroke="{ink}" stroke-width=".8" fill="none"/></pattern>'
    )


@dataclass(frozen=True, kw_only=True)
class Scale:
    """An axis: values on a stretch of the page.

    Attributes
    ----------
    low : float
        Value at its start, in any unit.
    high : float
        Value at its end, in the same unit.
    start : float
        Where it begins on the page, pt.
    end : float
        Where it ends on the page, pt.
    logarithmic : bool
        Whether it is logarithmic.
    """

    low: float
    high: float
    start: float
    end: float
    logarithmic: bool = False

    def __call__(self, value: float) -> float:
        """Where ``value`` lies on the page; far beyond its ends it is cut there."""
        if self.logarithmic:
            part = math.log(max(value, 1e-300) / self.low) / math.log(self.high / self.low)
        else:
            part = (value - self.low) / (self.high - self.low)
        return self.start + min(max(part, -9.0), 10.0) * (self.end - self.start)

    def ticks(self, most: int) -> list[float]:
        """Round values on the axis, at most about so many (count), in its unit."""
        return (
            logarithmic_ticks(self.low, self.high, most)
            if self.logarithmic
            else ticks(self.low, self.high, most)
        )


def logarithmic_ticks(low: float, high: float, most: int) -> list[float]:
    """Decades; over less than two of them 1, 2, 5 of each, else evenly spaced values.

    Parameters
    ----------
    low : float
        Lower end, in any unit.
    high : float
        Upper end, in the same unit.
    most : int
        Decades at most, count.

    Returns
    -------
    list[float]
        The values, in that unit, rising.
    """
    first, last = math.floor(math.log10(low) - 1e-9), math.ceil(math.log10(high) + 1e-9)

    def inside(values: Iterable[float]) -> list[float]:
        return [value for value in values if low * (1 - 1e-9) <= value <= high * (1 + 1e-9)]

    decades = inside(10.0**power for power in range(first, last + 1))
    if len(decades) > 1:
        return decades[:: math.ceil(len(decades) / most)]
    fine = inside(step * 10.0**power for power in range(first, last + 1) for step in (1.0, 2.0, 5.0))
    return fine if len(fine) > 1 else ticks(low, high, most)


def tick_texts(values: Sequence[float]) -> list[str]:
    """Evenly spaced numbers as text, with as many decimals as their step needs."""
    if len(values) < 2:
        return [f"{value:.4g}" for value in values]
    decimals = max(0, -math.floor(math.log10(values[1] - values[0]) + 1e-9))
    return [f"{value if value else 0.0:.{decimals}f}" for value in values]


def text_width(text: str, size: float) -> float:
    """How wide a text is, about.

    Parameters
    ----------
    text : str
        The text.
    size : float
        Size of the type, pt.

    Returns
    -------
    float
        Its width, pt.
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


def text_over(
    x: float, y: float, text: str, *, anchor: str = "start", size: float = TYPE, more: str = ""
) -> str:
    """A text on a white edge of its own, so that it can be read over lines.

    Parameters
    ----------
    x : float
        Position across the page, pt.
    y : float
        Position down the page, pt.
    text : str
        The text.
    anchor : str, optional
        "start", "middle" or "end".
    size : float, optional
        Size of the type, pt.
    more : str, optional
        Further attributes of the element.

    Returns
    -------
    str
        The SVG element.
    """
    halo = ' paint-order="stroke" stroke="#fff" stroke-width="2" stroke-linejoin="round"'
    return label(x, y, text, anchor=anchor, size=size, more=halo + more)


def box(x0: float, y0: float, x1: float, y1: float, fill: str, line: str = INK) -> str:
    """A filled rectangle between two corners.

    Parameters
    ----------
    x0 : float
        Left edge, pt.
    y0 : float
        Upper edge, pt.
    x1 : float
        Right edge, pt.
    y1 : float
        Lower edge, pt.
    fill : str
        Colour or pattern of the area.
    line : str, optional
        Colour of the outline.

    Returns
    -------
    str
        The SVG element.
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
    x0 : float
        Where it begins across the page, pt.
    y0 : float
        Where it begins down the page, pt.
    x1 : float
        Where it ends across the page, pt.
    y1 : float
        Where it ends down the page, pt.
    width : float, optional
        Its thickness, pt.
    ink : str, optional
        Colour of the line.
    dash : str, optional
        Lengths of dashes and gaps; empty: solid.

    Returns
    -------
    str
        The SVG element.
    """
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    return stroke(x0, y0, x1, y1, f' stroke="{ink}" stroke-width="{fixed(width)}"{dashes}')


def limit_rule(x: float, y0: float, y1: float) -> str:
    """A limit: an upright broken line.

    Parameters
    ----------
    x : float
        Position across the page, pt.
    y0 : float
        Upper edge, pt.
    y1 : float
        Lower edge, pt.

    Returns
    -------
    str
        The SVG element.
    """
    return rule(x, y0, x, y1, width=1.6, ink=LIMIT, dash="6.4 3.2")


def mark(shape: str, x: float, y: float, *, size: float = 2.6, fill: str = "#fff", ink: str = INK) -> str:
    """The mark of a reading.

    Parameters
    ----------
    shape : str
        One of ``SHAPES``.
    x : float
        Position across the page, pt.
    y : float
        Position down the page, pt.
    size : float, optional
        Its radius, pt.
    fill : str, optional
        Colour or pattern of the area.
    ink : str, optional
        Colour of the line.

    Returns
    -------
    str
        The SVG element.
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


def x_axis(scale: Scale, y: float, texts: Sequence[tuple[float, str]]) -> list[str]:
    """The axis along x with its ticks and their numbers.

    Parameters
    ----------
    scale : Scale
        The axis.
    y : float
        Position down the page, pt.
    texts : Sequence[tuple[float, str]]
        Value (in the axis's unit) and text of each tick.

    Returns
    -------
    list[str]
        The SVG elements.
    """
    lines = [rule(scale.start, y, scale.end, y)]
    for value, text in texts:
        lines.append(rule(scale(value), y, scale(value), y + 3))
        lines.append(label(scale(value), y + 11, text, anchor="middle", size=SMALL))
    return lines


def y_axis(scale: Scale, x: float, texts: Sequence[tuple[float, str]]) -> list[str]:
    """The upright axis with its ticks and their numbers.

    Parameters
    ----------
    scale : Scale
        The axis.
    x : float
        Position across the page, pt.
    texts : Sequence[tuple[float, str]]
        Value (in the axis's unit) and text of each tick.

    Returns
    -------
    list[str]
        The SVG elements.
    """
    lines = [rule(x, scale.start, x, scale.end)]
    for value, text in texts:
        lines.append(rule(x - 3, scale(value), x, scale(value)))
        lines.append(label(x - 5, scale(value) + 2.8, text, anchor="end", size=SMALL))
    return lines


def upright(
    x: float, y: float, text: str, *, anchor: str = "middle", size: float = TYPE, more: str = ""
) -> str:
    """A text that reads upwards.

    Parameters
    ----------
    x : float
        Position across the page, pt.
    y : float
        Position down the page, pt.
    text : str
        The text.
    anchor : str, optional
        "start", "middle" or "end".
    size : float, optional
        Size of the type, pt.
    more : str, optional
        Further attributes of the element.

    Returns
    -------
    str
        The SVG element.
    """
    return label(
        x, y, text, anchor=anchor, size=size, more=f' transform="rotate(-90 {fixed(x)} {fixed(y)})"{more}'
    )


@dataclass(frozen=True)
class LegendKey:
    """An entry of a legend.

    Attributes
    ----------
    name : str
        Its name.
    fill : str
        Colour or pattern of its box; empty: none.
    drawn : str
        SVG elements around (0, 0), instead of a box.
    """

    name: str
    fill: str = ""
    drawn: str = ""


def chart_legend(keys: Sequence[LegendKey], top: float, left: float = 8.0) -> tuple[list[str], float]:
    """The entries one after the other, in as many lines as they need.

    Parameters
    ----------
    keys : Sequence[LegendKey]
        The entries.
    top : float
        Upper edge, pt.
    left : float, optional
        Left edge, pt.

    Returns
    -------
    list[str]
        The SVG elements.
    float
        Where they end, pt.
    """
    lines, x, y = [], left, top + 8.0
    for key in keys:
        wide = 26.0 + text_width(visible(key.name), SMALL + 0.5) + 16.0
        if x > left and x + wide > WIDTH:
            x, y = left, y + 12.0
        if key.fill:
            lines.append(box(x, y - 6.5, x + 20, y + 0.5, key.fill))
        else:
            lines.append(f'<g transform="translate({fixed(x + 10)} {fixed(y - 3)})">{key.drawn}</g>')
        lines.append(label(x + 26, y, key.name, size=SMALL + 0.5))
        x += wide
    return lines, y + 6.0


LIMIT_KEY = LegendKey("limit (outside hatched)", drawn=limit_rule(0, -5, 5))
"""The limits' entry in a legend."""


def limits_drawn(
    scale: Scale, limits: tuple[float | None, float | None], y: tuple[float, float]
) -> list[str]:
    """The limits as broken lines, with what lies outside hatched (``hatch("outside")``).

    Parameters
    ----------
    scale : Scale
        The axis.
    limits : tuple[float or None, float or None]
        Lower and upper limit, in the axis's unit; None: none.
    y : tuple[float, float]
        Upper and lower end of the lines, pt.

    Returns
    -------
    list[str]
        The SVG elements.
    """
    lines = []
    for limit, outer in zip(limits, (scale.low, scale.high), strict=True):
        if limit is None:
            continue
        if (outer < limit) == (outer == scale.low) and outer != limit:
            lines.append(box(scale(limit), y[0], scale(outer), y[1], "url(#outside)", "none"))
        if scale.low <= limit <= scale.high:
            lines.append(limit_rule(scale(limit), *y))
    return lines


def picture(height: float, title: str, description: str, body: Sequence[str], *, width: float = WIDTH) -> str:
    """A picture, with its title and description for those who cannot see it.

    Parameters
    ----------
    height : float
        Height, pt.
    title : str
        Title.
    description : str
        Description; empty: none.
    body : Sequence[str]
        The SVG elements.
    width : float, optional
        Width, pt.

    Returns
    -------
    str
        The SVG text.
    """
    size = f'width="{fixed(width)}pt" height="{fixed(height)}pt" viewBox="0 0 {fixed(width)} {fixed(height)}"'
    names = "title desc" if description else "title"
    told = f'<desc id="desc">{escape(visible(description))}</desc>' if description else ""
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" {size} role="img" aria-labelledby="{names}" '
            f'font-family="Helvetica, Arial, sans-serif" fill="{INK}">',
            f'<title id="title">{escape(visible(title))}</title>{told}',
            *body,
            "</svg>",
            "",
        ]
    )
