"""The pictures of a report as SVG: readings in their ranges, lots as histograms, what drives a spread.

Nothing is told by colour alone: samples have shapes of their own, ranges are filled, limits are broken lines
with a hatched outside, drivers have hatches and names. The same values give the same text, byte for byte: a
fixed salt of ids, no date. Letters stay letters in a font of the system.
"""

from __future__ import annotations

import io
import math
import warnings
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any
from xml.sax.saxutils import escape

import matplotlib
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from ...predict.notation import format_quantity
from .page import visible

if TYPE_CHECKING:
    from matplotlib.axes import Axes

WIDTH = 7.3
"""Inches: what A4 and Letter hold between their margins."""
INK, SOFT, FILL, LIMIT = "#1b2129", "#4b5560", "#c3d3e8", "#8c2f00"
LONGEST = 22
"""Letters of a name in a picture."""
SHAPES = ("o", "s", "^", "D", "v", "P", "X", "*", "<", ">")
"""Shapes of samples; with more samples than shapes all get the first."""
SETTINGS: Any = {
    "svg.hashsalt": "aswound",
    "svg.fonttype": "none",
    "text.parse_math": False,
    "font.family": "sans-serif",
    "font.sans-serif": ["Liberation Sans", "DejaVu Sans"],
    "font.size": 9.0,
    "axes.edgecolor": INK,
    "axes.labelcolor": INK,
    "text.color": INK,
    "xtick.color": INK,
    "ytick.color": INK,
    "hatch.color": SOFT,
    "hatch.linewidth": 0.6,
    "axes.spines.top": False,
    "axes.spines.right": False,
}


def round_ticks(number: int) -> MaxNLocator:
    """At most so many intervals between ticks, at round numbers."""
    return MaxNLocator(number, steps=[1, 2, 5, 10])


def figure_svg(figure: Figure, title: str, description: str) -> str:
    """The figure as SVG text with its title and description as its alternative text."""
    FigureCanvasSVG(figure)
    buffer = io.StringIO()
    with warnings.catch_warnings():
        # A letter that the measuring font lacks is still shown by the reader's own.
        warnings.filterwarnings("ignore", message="Glyph .* missing from")
        figure.savefig(buffer, format="svg", metadata={"Date": None, "Creator": None})
    text = buffer.getvalue()
    head, mark, rest = text.partition("<svg ")
    tag, close, body = rest.partition(">")
    names = (
        f'<title id="title">{escape(visible(title))}</title>'
        f'<desc id="desc">{escape(visible(description))}</desc>'
    )
    return f'{head}{mark}role="img" aria-labelledby="title desc" {tag}{close}\n{names}{body}'


@contextmanager
def settings() -> Iterator[None]:
    """The context in which the pictures are made: ours, whatever the user has set for plots of his own."""
    with matplotlib.rc_context():
        matplotlib.rcdefaults()
        matplotlib.rcParams.update(SETTINGS)
        yield


def panels(rows: int, columns: int, height: float) -> tuple[Figure, list[Axes]]:
    """A figure of ``rows`` × ``columns`` panels, ``height`` inches a row, and its axes in reading order."""
    figure = Figure(figsize=(WIDTH, height * rows + 0.1), layout="constrained")
    grid = figure.subplots(rows, columns, squeeze=False)
    return figure, [axes for line in grid for axes in line]


def limit_lines(axes: Axes, low: float | None, high: float | None, ends: tuple[float, float]) -> None:
    """The limits as broken lines, what lies outside hatched up to ``ends`` of the axis."""
    for limit, outer in ((low, ends[0]), (high, ends[1])):
        if limit is None:
            continue
        axes.axvline(limit, color=LIMIT, linestyle=(0, (4, 2)), linewidth=1.6, zorder=3)
        if (outer < limit) == (limit is low) and outer != limit:
            axes.axvspan(
                min(limit, outer),
                max(limit, outer),
                facecolor="none",
                edgecolor="#d7a48f",
                hatch="////",
                linewidth=0,
                zorder=0,
            )


def spanned(values: Sequence[float], share: float = 0.08) -> tuple[float, float]:
    """The ends of an axis that holds ``values``, with ``share`` of its width free on both sides."""
    low, high = min(values), max(values)
    room = (high - low) * share or abs(high) * 0.05 or 1.0
    return low - room, high + room


def axis_unit(unit: str, values: Sequence[float]) -> tuple[float, str]:
    """(factor, symbol) that turn SI numbers of ``unit`` into those of an axis: 1e6 and "µH" for some
    hundred microhenries; degrees for radians; no symbol for plain numbers."""
    if unit == "rad":
        return 180 / math.pi, "°"
    largest = max(map(abs, values), default=0.0)
    if unit == "1" or not largest:
        return 1.0, ""
    number, _, symbol = format_quantity(largest, unit, 6).partition(" ")
    return 10.0 ** round(math.log10(float(number) / largest)), symbol


def elided(name: str) -> str:
    """A name for an axis: the middle of a long one left out; the picture's description has it whole."""
    text = visible(name)
    return text if len(text) <= LONGEST else f"{text[: LONGEST // 2]}…{text[-LONGEST // 2 + 1 :]}"


def listed(name: str) -> str:
    """A name for a legend, where one that begins with an underscore would be left out."""
    return f"\N{WORD JOINER}{elided(name)}" if name.startswith("_") else elided(name)
