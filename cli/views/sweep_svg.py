"""A sweep as SVG: a panel a quantity, the range filled, resonances marked, measured points by shape."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence

import numpy as np

from ...predict.design import FloatArray
from ...predict.production import Resonance
from ...predict.quantity import format_quantity
from .page import visible
from .svg_chart import WIDTH, LegendKey, Scale, chart_legend, picture, tick_texts, x_axis, y_axis
from .svg_marks import FILL, GRID, INK, LIMIT, SHAPES, SMALL, SOFT, TYPE, box, mark, rule, text_width, upright
from .svg_sheet import label
from .sweep_chart import Curve, axis_range

TALL, STEP = 138.0, 160.0
"""Height of a panel, and from one to the next (pt)."""


def sweep_svg(
    title: str,
    subtitle: str,
    curves: Sequence[Curve],
    measured: Sequence[tuple[str, Sequence[Sequence[tuple[float, float]]]]],
    resonances: Sequence[Resonance],
) -> str:
    """The sweep as an SVG document.

    Parameters
    ----------
    title : str
    subtitle : str, the connection
    curves : Sequence[Curve], one for each panel
    measured : Sequence[tuple[str, Sequence[Sequence[tuple[float, float]]]]]
        Samples by name, with their points (frequency in Hz, value in SI) in each panel.
    resonances : Sequence[Resonance], resonances as designed
    """
    body = [label(8.0, 12.0, title, size=TYPE + 1.5), label(8.0, 25.0, subtitle, size=TYPE + 0.5)]
    keys = [
        LegendKey("95 % of production and model", FILL),
        LegendKey("as designed", drawn=rule(-10, 0, 10, 0, width=1.3)),
    ]
    shapes = [SHAPES[index % len(SHAPES)] for index in range(len(measured))]
    keys += [
        LegendKey(visible(sample), drawn=_point(shape, 0, 0))
        for (sample, _), shape in zip(measured, shapes, strict=True)
    ]
    entries, top = chart_legend(keys, 31.0)
    body += entries
    scales = [_upright_scale(curve) for curve in curves]
    texts = [_numbers(curve, scale) for curve, scale in zip(curves, scales, strict=True)]
    left = 22.0 + max((text_width(text, SMALL) for row in texts for _, text in row), default=0.0) + 6.0
    low, high = float(curves[0].frequencies[0]), float(curves[0].frequencies[-1])
    along = Scale(low=low, high=high, start=left, end=WIDTH - 20.0, logarithmic=True)
    for number, (curve, scale) in enumerate(zip(curves, scales, strict=True)):
        foot = top + 6.0 + TALL
        up = Scale(low=scale.low, high=scale.high, start=foot, end=foot - TALL, logarithmic=scale.logarithmic)
        body.append(f'<clipPath id="panel{number}">{box(left, foot, along.end, up.end, INK)}</clipPath>')
        body += _grid(along, up, texts[number])
        body.append(f'<g clip-path="url(#panel{number})">')
        body += _curve(curve, along, up)
        for (_, rows), shape in zip(measured, shapes, strict=True):
            body += [_point(shape, along(x), up(y * _factor(curve))) for x, y in rows[number]]
        body.append("</g>")
        body += _resonances(resonances, along, up, told=number == 0)
        last = number == len(curves) - 1
        body += x_axis(
            along, foot, [(value, _plain(value, "Hz") if last else "") for value in along.ticks(10)]
        )
        body += y_axis(up, left, texts[number])
        body.append(upright(14.0, (up.start + up.end) / 2, _name(curve)))
        top += STEP
    body.append(label((left + along.end) / 2, top + 10.0, "frequency", anchor="middle", size=TYPE))
    return picture(top + 16.0, f"{title}: {subtitle}", "", body)


def _factor(curve: Curve) -> float:
    """From SI to the numbers of the axis: angles in degrees."""
    return 180 / math.pi if curve.unit == "rad" else 1.0


def _name(curve: Curve) -> str:
    return visible(curve.title) + (" (°)" if curve.unit == "rad" else "")


def _upright_scale(curve: Curve) -> Scale:
    """The upright axis, not yet on the page."""
    least, greatest, logarithmic = axis_range(curve)
    if logarithmic:
        room = (greatest / least) ** 0.05 * 1.001
        return Scale(low=least / room, high=greatest * room, start=0.0, end=1.0, logarithmic=True)
    return Scale(low=least * _factor(curve), high=greatest * _factor(curve), start=0.0, end=1.0)


def _numbers(curve: Curve, scale: Scale) -> list[tuple[float, str]]:
    """Round values of the upright axis as text."""
    values = scale.ticks(6)
    if curve.unit in ("rad", "1"):
        return list(zip(values, tick_texts(values), strict=True))
    return [(value, _plain(value, curve.unit)) for value in values]


def _point(shape: str, x: float, y: float) -> str:
    return mark(shape, x, y, size=2.3, fill="none", ink=LIMIT)


def _grid(along: Scale, up: Scale, texts: Sequence[tuple[float, str]]) -> Iterator[str]:
    """Pale lines at the ticks, and zero where the axis crosses it."""
    for value in along.ticks(10):
        yield rule(along(value), up.start, along(value), up.end, width=0.4, ink=GRID)
    for value, _ in texts:
        yield rule(along.start, up(value), along.end, up(value), width=0.4, ink=GRID)
    if not up.logarithmic and up.low < 0 < up.high:
        yield rule(along.start, up(0.0), along.end, up(0.0), width=0.6, ink=SOFT)


def _curve(curve: Curve, along: Scale, up: Scale) -> Iterator[str]:
    """The range as an area, the design as a line; broken where a value is missing."""
    factor = _factor(curve)
    for run in _runs(curve.low + curve.high):
        upper, lower = (_places(curve, values * factor, run, along, up) for values in (curve.high, curve.low))
        yield f'<path d="M{"L".join([*upper, *lower[::-1]])}Z" fill="{FILL}"/>'
    for run in _runs(curve.nominal):
        line = "L".join(_places(curve, curve.nominal * factor, run, along, up))
        yield f'<path d="M{line}" fill="none" stroke="{INK}" stroke-width="1.3" stroke-linejoin="round"/>'


def _runs(values: FloatArray) -> list[list[int]]:
    """Indices of neighbouring finite values."""
    groups = itertools.groupby(range(len(values)), key=lambda index: bool(np.isfinite(values[index])))
    return [list(run) for finite, run in groups if finite]


def _places(curve: Curve, values: FloatArray, run: Sequence[int], along: Scale, up: Scale) -> list[str]:
    """Points of a path."""
    x = [along(float(curve.frequencies[index])) for index in run]
    return [f"{at:.2f} {up(float(values[index])):.2f}" for at, index in zip(x, run, strict=True)]


def _resonances(resonances: Sequence[Resonance], along: Scale, up: Scale, *, told: bool) -> Iterator[str]:
    """Resonances as broken lines, named in the first panel."""
    for resonance in resonances:
        x = along(resonance.frequency)
        yield rule(x, up.start, x, up.end, ink=SOFT, dash="3.2 2.4")
        if told:
            text = f"{resonance.kind} {_plain(resonance.frequency, 'Hz')}"
            yield upright(x + 9.0, up.start - 4.0, text, anchor="start", size=7.5, more=f' fill="{SOFT}"')


def _plain(value: float, unit: str) -> str:
    number, _, unit_text = format_quantity(value, unit, 3).partition(" ")
    if "." in number:
        number = number.rstrip("0").rstrip(".")
    return f"{number} {unit_text}".strip()
