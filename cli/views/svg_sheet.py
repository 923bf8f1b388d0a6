"""The page of a drawing in SVG: its measures, inks and the smallest elements. Lengths in mm of paper."""

from __future__ import annotations

from collections.abc import Sequence
from xml.sax.saxutils import escape

from ...predict.winding import CrossSection
from .page import visible

SCALES = (50.0, 20.0, 10.0, 8.0, 5.0, 4.0, 2.5, 2.0, 1.0, 0.5, 0.2, 0.1, 0.05, 0.02)
WIDEST, WIDEST_FLAT, TALLEST, TALLEST_LANDSCAPE = 92.0, 130.0, 165.0, 100.0
"""Millimetres on paper that the drawn part may take; upwards on a page that is broader than high."""
EDGE, AXIS, GAP = 8.0, 11.0, 9.0
"""The page's border; room for the labels of an axis; between the parts of the page (mm)."""
DIAGRAM = 36.0
"""Depth of the ampere-turn diagram (mm)."""
CALLOUT = 3.6
"""Least distance of two numbers beside the layers (mm)."""
LINE = 4.3
"""From one line of the legend to the next (mm)."""

INK, PALE = "#20262e", "#5f6873"


def fixed(value: float) -> str:
    """A coordinate: four decimals, no more than needed."""
    text = f"{value:.4f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def label(x: float, y: float, text: str, *, anchor: str = "start", size: float = 2.7, more: str = "") -> str:
    """A line of text.

    Parameters
    ----------
    x : float, where it begins (or is centred, or ends) across the page, in the page's unit: mm, or pt
    y : float, where its letters stand down the page, in the page's unit: mm, or pt
    text : str
    anchor : str, optional, "start", "middle" or "end"
    size : float, optional, size of the type, in the page's unit: mm, or pt
    more : str, optional, further attributes of the element
    """
    where = "" if anchor == "start" else f' text-anchor="{anchor}"'
    attributes = f'x="{fixed(x)}" y="{fixed(y)}" font-size="{fixed(size)}"'
    return f"<text {attributes}{where}{more}>{escape(visible(text))}</text>"


def stroke(x0: float, y0: float, x1: float, y1: float, more: str = "") -> str:
    """A straight line.

    Parameters
    ----------
    x0, y0, x1, y1 : float
        Where it begins and ends across (x) and down (y) the page, in the page's unit: mm, or pt.
    more : str, optional, further attributes of the element
    """
    return f'<path d="M{fixed(x0)} {fixed(y0)}L{fixed(x1)} {fixed(y1)}"{more}/>'


def svg_document(
    size: tuple[float, float],
    title: str,
    description: str,
    body: Sequence[str],
    *,
    corner: tuple[float, float] = (0.0, 0.0),
) -> str:
    """A drawing as an SVG document, with its title and description for those who cannot see it.

    Parameters
    ----------
    size : tuple[float, float], its width and height, mm of paper
    title : str
    description : str, the drawing in words
    body : Sequence[str], the SVG elements
    corner : tuple[float, float], optional, where its upper left corner lies on the page, mm of paper
    """
    left, top, wide, deep = map(fixed, (*corner, *size))
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}mm" height="{deep}mm" '
            f'viewBox="{left} {top} {wide} {deep}" role="img" aria-labelledby="title desc" '
            f'font-family="Helvetica, Arial, sans-serif" fill="{INK}">',
            f'<title id="title">{escape(visible(title))}</title>',
            f'<desc id="desc">{escape(visible(description))}</desc>',
            *body,
            "</svg>",
            "",
        ]
    )


class Sheet:
    """Where things are on the page: the edges and the scale of the drawn part, in mm of paper.

    ``foot`` is its lower edge, or that of the numbers under it; with ``chambered`` the windings lie side
    by side along the leg.
    """

    def __init__(self, section: CrossSection, landscape: bool = False) -> None:
        self.section = section
        self.across = (section.left + section.width + section.right) * 1e3
        self.up = (section.below + section.height + section.above) * 1e3
        tallest = TALLEST_LANDSCAPE if landscape else TALLEST
        most = WIDEST_FLAT if section.flat else WIDEST
        self.scale = next(
            (scale for scale in SCALES if self.across * scale <= most and self.up * scale <= tallest),
            SCALES[-1],
        )
        self.left = EDGE + AXIS
        self.top = EDGE + 13.0 + (0.0 if section.flat else 7.0)
        self.right = self.left + self.across * self.scale
        self.bottom = self.top + self.up * self.scale
        bobbin = section.design.bobbin
        self.chambered = not section.flat and (len(bobbin.chambers) or bobbin.chamber_count) > 1
        self.foot = self.bottom + (7.0 if self.chambered else 0.0)

    def x(self, metres: float) -> float:
        """Where a length (m) from the leg's surface is on the page, mm of paper."""
        return self.left + (self.section.left + metres) * 1e3 * self.scale

    def y(self, metres: float) -> float:
        """Where a length (m) above the lower yoke is on the page, mm of paper."""
        return self.bottom - (self.section.below + metres) * 1e3 * self.scale
