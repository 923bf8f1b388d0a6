"""A sweep as SVG: a panel a quantity, the range filled, resonances marked, measured points by shape.

The same values give the same text: a fixed salt of ids, no date. Imported only where a file is written.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import Any
from xml.sax.saxutils import escape

import matplotlib
import numpy as np
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter

from ...predict.production import Resonance
from ...predict.quantity import format_quantity
from .page import visible
from .sweep_chart import Curve, axis_range

_INK, _FILL, _POINT, _SOFT = "#1b2129", "#c3d3e8", "#8c2f00", "#4b5560"
_SHAPES = ("o", "s", "^", "D", "v", "P", "X", "*")
_SETTINGS: Any = {
    "svg.hashsalt": "aswound",
    "svg.fonttype": "none",
    "text.parse_math": False,
    "font.family": ["DejaVu Sans", "sans-serif"],
    "font.size": 9.0,
    "axes.spines.top": False,
    "axes.spines.right": False,
}


def sweep_svg(
    title: str,
    subtitle: str,
    curves: Sequence[Curve],
    measured: Sequence[tuple[str, Sequence[Sequence[tuple[float, float]]]]],
    resonances: Sequence[Resonance],
) -> str:
    """SVG text. curves : one a panel. measured : (sample, points per panel as (frequency, value)); a
    panel may have none."""
    with matplotlib.rc_context():
        matplotlib.rcdefaults()
        matplotlib.rcParams.update(_SETTINGS)
        figure = Figure(figsize=(7.3, 2.3 * len(curves) + 0.6), layout="constrained")
        axes = figure.subplots(len(curves), 1, sharex=True, squeeze=False)[:, 0]
        for number, (panel, curve) in enumerate(zip(axes, curves, strict=True)):
            _panel(
                panel, curve, [(sample, rows[number]) for sample, rows in measured], resonances, number == 0
            )
        axes[-1].set_xlabel("frequency")
        axes[-1].xaxis.set_major_formatter(FuncFormatter(lambda value, _: _plain(value, "Hz")))
        axes[0].set_title(f"{visible(title)}\n{visible(subtitle)}", loc="left", fontsize=10)
        axes[0].legend(frameon=False, fontsize=8)
        FigureCanvasSVG(figure)
        buffer = io.StringIO()
        figure.savefig(buffer, format="svg", metadata={"Date": None, "Creator": None})
    text = buffer.getvalue()
    head, mark, rest = text.partition("<svg ")
    tag, close, body = rest.partition(">")
    name = f'<title id="title">{escape(visible(title))}: {escape(visible(subtitle))}</title>'
    return f'{head}{mark}role="img" aria-labelledby="title" {tag}{close}\n{name}{body}'


def _panel(
    panel: Any,
    curve: Curve,
    measured: Sequence[tuple[str, Sequence[tuple[float, float]]]],
    resonances: Sequence[Resonance],
    first: bool,
) -> None:
    factor = 180 / np.pi if curve.unit == "rad" else 1.0
    f = curve.frequencies
    panel.fill_between(
        f,
        curve.low * factor,
        curve.high * factor,
        color=_FILL,
        linewidth=0,
        label="95 % of production and model",
    )
    panel.plot(f, curve.nominal * factor, color=_INK, linewidth=1.3, label="as designed")
    for number, (sample, points) in enumerate(measured):
        if points:
            x, y = zip(*points, strict=True)
            panel.plot(
                x,
                np.array(y) * factor,
                linestyle="none",
                marker=_SHAPES[number % len(_SHAPES)],
                markersize=4,
                markerfacecolor="none",
                color=_POINT,
                label=visible(sample),
            )
    least, greatest, logarithmic = axis_range(curve)
    panel.set_xscale("log")
    panel.set_xlim(f[0], f[-1])
    if logarithmic:
        panel.set_yscale("log")
    else:
        panel.set_ylim(least * factor, greatest * factor)
        if least < 0 < greatest:
            panel.axhline(0.0, color=_SOFT, linewidth=0.6)
    for resonance in resonances:
        panel.axvline(resonance.frequency, color=_SOFT, linestyle=(0, (4, 3)), linewidth=0.8)
        if first:
            panel.annotate(
                f"{resonance.kind} {_plain(resonance.frequency, 'Hz')}",
                (resonance.frequency, 0.02),
                xycoords=("data", "axes fraction"),
                xytext=(3, 0),
                textcoords="offset points",
                fontsize=7.5,
                color=_SOFT,
                rotation=90,
                va="bottom",
            )
    panel.set_ylabel(visible(curve.title) + (" (°)" if curve.unit == "rad" else ""))
    if curve.unit not in ("rad", "1"):
        panel.yaxis.set_major_formatter(FuncFormatter(lambda value, _: _plain(value, curve.unit)))
    panel.grid(True, which="major", linewidth=0.4, color="#d8dde4")


def _plain(value: float, unit: str) -> str:
    number, _, unit_text = format_quantity(value, unit, 3).partition(" ")
    if "." in number:
        number = number.rstrip("0").rstrip(".")
    return f"{number} {unit_text}".strip()
