"""The picture of predicted ranges against readings and limits: one strip for each test."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from . import words
from .report_figures import axis_unit, elided, short_names, spanned, wild
from .svg_chart import LIMIT_KEY, WIDTH, LegendKey, Scale, chart_legend, limits_drawn, numbered_axis, picture
from .svg_marks import FILL, OUTSIDE, SHAPES, SMALL, TYPE, box, hatch, mark, rule, text_over, text_width
from .svg_sheet import label

STRIP, TALL = 45.0, 27.0
"""From one strip to the next, and height of its picture (pt)."""
LINE, BETWEEN = 9.5, 14.0
"""Height of a line above a strip that tells readings beyond its axis, and room between two columns (pt)."""
ASIDE = 3
"""Readings beyond an end of the axis that are told there."""


@dataclass(frozen=True)
class Mark:
    """One reading.

    Attributes
    ----------
    sample : str, name of the sample
    value : float, the reading, SI
    expanded : float, its expanded uncertainty (k = 2), SI
    """

    sample: str
    value: float
    expanded: float


@dataclass(frozen=True, kw_only=True)
class Strip:
    """One test with its range, limits and readings.

    Attributes
    ----------
    label : str, name of the test
    measure : str, what it measures
    nominal : float, nominal prediction, SI
    low, high : float, lower and upper end of its 95 % range, SI
    minimum, maximum : float or None, lower and upper limit, SI; None: none
    marks : tuple[Mark, ...], its readings
    """

    label: str
    measure: str
    nominal: float
    low: float
    high: float
    minimum: float | None
    maximum: float | None
    marks: tuple[Mark, ...] = ()


def ranges_svg(strips: Sequence[Strip]) -> str:
    """All strips below each other, each with its own axis, as SVG."""
    shown = [strip for strip in strips if math.isfinite(strip.nominal) and math.isfinite(strip.high)]
    samples = list(dict.fromkeys(reading.sample for strip in shown for reading in strip.marks))
    shown_apart = len(samples) <= len(SHAPES)
    shapes = {name: SHAPES[index if shown_apart else 0] for index, name in enumerate(samples)}
    keys = [
        LegendKey("95 % of production, as predicted", FILL),
        LegendKey("nominal", drawn=rule(0, -5, 0, 5, width=1.6)),
    ]
    if any(strip.minimum is not None or strip.maximum is not None for strip in shown):
        keys.append(LIMIT_KEY)
    names = short_names(samples)
    if samples and shown_apart:
        keys += [LegendKey(names[name], drawn=mark(shapes[name], 0, 0)) for name in samples]
    elif samples:
        keys.append(LegendKey(f"readings of {len(samples)} samples", drawn=mark(SHAPES[0], 0, 0)))
    body, top = chart_legend(keys, 0.0)
    body.insert(0, f"<defs>{hatch('outside', 'lines', ink=OUTSIDE)}</defs>")
    columns = 1 if shown_apart else 2
    wide = (WIDTH + BETWEEN) / columns
    drawn = [_axis(strip) for strip in shown]
    left = max((text_width(name, TYPE) for name, *_ in drawn), default=0.0) + 10.0
    for begin in range(0, len(shown), columns):
        row = [(shown[index], *drawn[index]) for index in range(begin, min(begin + columns, len(shown)))]
        top += LINE * max(_lines(strip) for strip, *_ in row)
        for column, (strip, name, factor, ends) in enumerate(row):
            start = column * wide
            scale = Scale(low=ends[0], high=ends[1], start=start + left, end=start + wide - BETWEEN - 16.0)
            body.append(label(scale.start - 6.0, top + TALL / 2 + 3.0, name, anchor="end", size=TYPE))
            body += _strip(strip, scale, factor, shapes if shown_apart else {}, top)
            body += _aside(strip, scale, names, top)
        top += STRIP
    return picture(top, "Predicted ranges, readings and limits", _description(shown), body)


def _axis(strip: Strip) -> tuple[str, float, tuple[float, float]]:
    """Its name with the unit, the factor from SI, and the ends of the axis."""
    home = _home(strip)
    values = [*home]
    for reading, far in zip(strip.marks, _beyond(strip), strict=True):
        values += [] if far else [reading.value - reading.expanded, reading.value + reading.expanded]
    factor, symbol = axis_unit(words.unit_of(strip.measure), values)
    name = f"{elided(strip.label)}{f' ({symbol})' if symbol else ''}"
    return name, factor, spanned([factor * value for value in values])


def _home(strip: Strip) -> list[float]:
    """Range and limits."""
    limits = [limit for limit in (strip.minimum, strip.maximum) if limit is not None]
    return [strip.nominal, strip.low, strip.high, *limits]


def _beyond(strip: Strip) -> list[bool]:
    """Which of its readings lie beyond the axis."""
    return wild(_home(strip), [reading.value for reading in strip.marks])


def _strip(strip: Strip, scale: Scale, factor: float, shapes: dict[str, str], top: float) -> Iterator[str]:
    """One strip: limits, the range as a bar with the nominal in it, readings over it."""
    middle, foot = top + TALL / 2, top + TALL
    limits = [None if limit is None else factor * limit for limit in (strip.minimum, strip.maximum)]
    yield from limits_drawn(scale, (limits[0], limits[1]), (top, foot))
    yield box(scale(factor * strip.low), middle - 6, scale(factor * strip.high), middle + 6, FILL)
    nominal = scale(factor * strip.nominal)
    yield rule(nominal, middle - 6, nominal, middle + 6, width=1.6)
    yield from numbered_axis(scale, foot, 6)
    beyond = _beyond(strip)
    for index, reading in enumerate(strip.marks):
        part = 0.5 if len(strip.marks) == 1 else 0.2 + 0.6 * index / (len(strip.marks) - 1)
        if not beyond[index]:
            yield from _reading(reading, scale, factor, shapes, top + part * TALL)


def _reading(reading: Mark, scale: Scale, factor: float, shapes: dict[str, str], y: float) -> Iterator[str]:
    """A reading with the bar of its expanded uncertainty; of very many, which have no ``shapes`` of their
    own, the reading alone, as their bars would hide each other."""
    if shapes:
        ends = [scale(factor * (reading.value + side * reading.expanded)) for side in (-1, 1)]
        yield rule(ends[0], y, ends[1], y, width=0.9)
        for end in ends:
            yield rule(end, y - 2, end, y + 2, width=0.9)
    yield mark(shapes.get(reading.sample, SHAPES[0]), scale(factor * reading.value), y)


def _far(strip: Strip) -> tuple[list[Mark], list[Mark]]:
    """Readings below the axis, and those above it."""
    far = [reading for reading, out in zip(strip.marks, _beyond(strip), strict=True) if out]
    return (
        [reading for reading in far if reading.value <= strip.nominal],
        [reading for reading in far if reading.value > strip.nominal],
    )


def _lines(strip: Strip) -> int:
    """Lines above a strip that tell readings beyond its axis: those on its left, then those on its right."""
    return sum(min(len(far), ASIDE) for far in _far(strip))


def _aside(strip: Strip, scale: Scale, names: dict[str, str], top: float) -> Iterator[str]:
    """Readings beyond one end of the axis, told above it with sample and value, an arrow at that end."""
    y = top - LINE * _lines(strip)
    for right, far in enumerate(_far(strip)):
        told = [
            f"{names[each.sample]} {words.quantity_text(each.value, strip.measure, 3)}"
            for each in far[:ASIDE]
        ]
        if len(far) > ASIDE:
            told[-1] += f" and {len(far) - ASIDE} more"
        for text in told:
            y += LINE
            where = (scale.end, "end", f"{text} →") if right else (scale.start, "start", f"← {text}")
            yield text_over(where[0], y - 2.5, where[2], anchor=where[1], size=SMALL)


def _description(strips: Sequence[Strip]) -> str:
    """The picture in words."""
    told = []
    for strip in strips:
        text = (
            f"{strip.label}: predicted {words.quantity_text(strip.nominal, strip.measure)}, "
            f"95 % {words.span(strip.low, strip.high, strip.measure)}"
        )
        limits = words.limits(strip.minimum, strip.maximum, strip.measure)
        text += f", limits {limits}" if limits else ""
        for reading in strip.marks:
            text += f", {reading.sample} read {words.quantity_text(reading.value, strip.measure)}"
        told.append(text)
    return ". ".join(told) + "." if told else "Nothing to show."
