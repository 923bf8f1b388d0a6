"""The parts of a chart in SVG: axes with round ticks, a legend, limits, the picture around them. In points.

The same values give the same text, byte for byte.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from xml.sax.saxutils import escape

from .drawing_legend import ticks
from .page import visible
from .svg_marks import INK, SMALL, box, limit_rule, rule, text_width
from .svg_sheet import fixed, label

WIDTH = 525.0
"""What A4 and Letter hold between their margins (pt)."""


@dataclass(frozen=True, kw_only=True)
class Scale:
    """An axis: values on a stretch of the page.

    Attributes
    ----------
    low : float, value at its start, in any unit
    high : float, value at its end, in the same unit
    start, end : float, where it begins and ends on the page, pt
    logarithmic : bool, whether it is logarithmic
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
    low : float, lower end, in any unit
    high : float, upper end, in the same unit
    most : int, decades at most, count

    Returns
    -------
    list[float], the values, in that unit, rising
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


def x_axis(scale: Scale, y: float, texts: Sequence[tuple[float, str]]) -> list[str]:
    """The axis along x with its ticks and their numbers.

    Parameters
    ----------
    scale : Scale, the axis
    y : float, position down the page, pt
    texts : Sequence[tuple[float, str]], value (in the axis's unit) and text of each tick
    """
    lines = [rule(scale.start, y, scale.end, y)]
    for value, text in texts:
        lines.append(rule(scale(value), y, scale(value), y + 3))
        lines.append(label(scale(value), y + 11, text, anchor="middle", size=SMALL))
    return lines


def numbered_axis(scale: Scale, y: float, most: int) -> list[str]:
    """The axis along x with round numbers.

    Parameters
    ----------
    scale : Scale, the axis
    y : float, where it lies down the page, pt
    most : int, about so many numbers at most, count
    """
    values = scale.ticks(most)
    return x_axis(scale, y, list(zip(values, tick_texts(values), strict=True)))


def y_axis(scale: Scale, x: float, texts: Sequence[tuple[float, str]]) -> list[str]:
    """The upright axis with its ticks and their numbers.

    Parameters
    ----------
    scale : Scale, the axis
    x : float, position across the page, pt
    texts : Sequence[tuple[float, str]], value (in the axis's unit) and text of each tick
    """
    lines = [rule(x, scale.start, x, scale.end)]
    for value, text in texts:
        lines.append(rule(x - 3, scale(value), x, scale(value)))
        lines.append(label(x - 5, scale(value) + 2.8, text, anchor="end", size=SMALL))
    return lines


@dataclass(frozen=True)
class LegendKey:
    """An entry of a legend.

    Attributes
    ----------
    name : str
    fill : str, colour or pattern of its box; empty: none
    drawn : str, SVG elements around (0, 0), instead of a box
    """

    name: str
    fill: str = ""
    drawn: str = ""


def chart_legend(keys: Sequence[LegendKey], top: float) -> tuple[list[str], float]:
    """The entries one after the other, in as many lines as they need.

    Parameters
    ----------
    keys : Sequence[LegendKey], the entries
    top : float, upper edge, pt

    Returns
    -------
    list[str], the SVG elements
    float, where they end, pt
    """
    left = 8.0
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
    scale : Scale, the axis
    limits : tuple[float or None, float or None], lower and upper limit, in the axis's unit; None: none
    y : tuple[float, float], upper and lower end of the lines, pt
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


def picture(height: float, title: str, description: str, body: Sequence[str]) -> str:
    """A picture, with its title and description for those who cannot see it.

    Parameters
    ----------
    height : float, height, pt
    title : str
    description : str, description; empty: none
    body : Sequence[str], the SVG elements
    """
    size = f'width="{fixed(WIDTH)}pt" height="{fixed(height)}pt" viewBox="0 0 {fixed(WIDTH)} {fixed(height)}"'
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
