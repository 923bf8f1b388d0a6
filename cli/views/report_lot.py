"""The pictures of a lot: one histogram for each test with limits, the predicted range and every part."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from ...compare.lots import LotTest
from ...predict.design import FloatArray
from . import words
from .drawing_legend import ticks
from .report_figures import axis_unit, elided, spanned, wild
from .svg_chart import (
    LIMIT_KEY,
    WIDTH,
    LegendKey,
    Scale,
    chart_legend,
    limits_drawn,
    numbered_axis,
    picture,
    y_axis,
)
from .svg_marks import FILL, INK, OUTSIDE, SMALL, SOFT, TYPE, box, hatch, rule, text_over, upright
from .svg_sheet import label

LEAST = 5
"""Parts from which a histogram is drawn."""
LEFT, FEW = 36.0, 4
"""Room left of a panel (pt), and panels up to which two stand in a row, else three."""
ASIDE = 3
"""Parts beyond an end of the axis that are told there."""


@dataclass(frozen=True)
class LotReadings:
    """One test of a lot with the readings of its parts.

    Attributes
    ----------
    test : LotTest, statistics of the test
    values : tuple[float, ...], the readings, SI
    """

    test: LotTest
    values: tuple[float, ...]


def lot_svg(lots: Sequence[LotReadings]) -> str:
    """A histogram for each test that ``LEAST`` parts were read in, two or three in a row, as SVG. ValueError
    where there is none."""
    shown = [lot for lot in lots if len(lot.values) >= LEAST]
    if not shown:
        raise ValueError("no test has readings enough for a histogram")
    keys = [
        LegendKey("parts as read", FILL),
        LegendKey("one part", drawn=rule(0, -3, 0, 3)),
        LegendKey("predicted, 95 %", "url(#predicted)"),
        LIMIT_KEY,
    ]
    body, top = chart_legend(keys, 0.0)
    body.insert(0, f"<defs>{hatch('outside', 'lines', ink=OUTSIDE)}{hatch('predicted', 'dots')}</defs>")
    columns, tall = (2, 88.0) if len(shown) <= FEW else (3, 58.0)
    row = tall + 50.0
    for index, lot in enumerate(shown):
        left = (index % columns) * WIDTH / columns + LEFT
        upper = top + row * (index // columns) + 16.0
        body += _panel(lot, (left, left + WIDTH / columns - LEFT - 14.0), (upper, upper + tall), columns)
    height = top + row * -(-len(shown) // columns)
    return picture(height, "Histograms of the lot", _description(shown), body)


@dataclass(frozen=True)
class LotAxis:
    """The axis of one histogram.

    Attributes
    ----------
    factor : float, factor from SI to its unit, dimensionless
    symbol : str, symbol of its unit
    ends : tuple[float, float] (2,), its ends, SI
    near : tuple[float, ...], readings between them, SI
    far : tuple[float, ...], readings so far off that they would squash it, SI
    """

    factor: float
    symbol: str
    ends: tuple[float, float]
    near: tuple[float, ...]
    far: tuple[float, ...]


def axis_of(lot: LotReadings) -> LotAxis:
    """The axis that holds prediction, limits and the bulk of the parts."""
    home = [end for end in _predicted(lot.test) if math.isfinite(end)]
    home += [limit for limit in (lot.test.minimum, lot.test.maximum) if limit is not None]
    beyond = wild([*home, *_middle(lot.values)], lot.values)
    near = tuple(value for value, far in zip(lot.values, beyond, strict=True) if not far)
    far = tuple(value for value, far in zip(lot.values, beyond, strict=True) if far)
    factor, symbol = axis_unit(words.unit_of(lot.test.measure), [*near, *home])
    return LotAxis(factor, symbol, spanned([factor * value for value in (*near, *home)]), near, far)


def _predicted(test: LotTest) -> tuple[float, float]:
    """Ends of the predicted range (SI)."""
    return test.predicted_low, test.predicted_high


def _panel(
    lot: LotReadings, across: tuple[float, float], down: tuple[float, float], columns: int
) -> Iterator[str]:
    """One histogram of several in a row with its axes and names, between ``across`` and ``down`` (pt)."""
    (left, right), (top, foot) = across, down
    test, axis = lot.test, axis_of(lot)
    along = Scale(low=axis.ends[0], high=axis.ends[1], start=left, end=right)
    read = axis.factor * np.array(axis.near)
    counts, edges = _binned(read, axis.ends)
    up = Scale(low=0.0, high=1.25 * float(np.max(counts)), start=foot, end=top)
    low, high = (axis.factor * end for end in _predicted(test))
    if math.isfinite(low):
        yield box(along(low), top, along(high), foot, "url(#predicted)", SOFT)
    for count, start, end in zip(counts, edges, edges[1:], strict=False):
        if count:
            yield box(along(float(start)), up(float(count)), along(float(end)), foot, FILL)
    limits = [None if limit is None else axis.factor * limit for limit in (test.minimum, test.maximum)]
    yield from limits_drawn(along, (limits[0], limits[1]), (top, foot))
    for value in read:  # one line a part
        yield rule(
            along(float(value)),
            foot - 0.07 * (foot - top),
            along(float(value)),
            foot - 0.01 * (foot - top),
            width=1.0,
            ink=INK,
        )
    yield from _aside(axis, test, left, right, top)
    yield from numbered_axis(along, foot, 5 if columns == 2 else 3)
    yield from y_axis(up, left, [(each, f"{each:.0f}") for each in _whole(up.high)])
    name = f"{elided(test.name)}{f' ({axis.symbol})' if axis.symbol else ''}"
    yield label((left + right) / 2, foot + 22.0, name, anchor="middle", size=TYPE)
    yield upright(left - 22.0, (top + foot) / 2, "parts", size=SMALL)
    yield label(left, top - 5.0, _title(test), size=TYPE if columns == 2 else SMALL)


def _whole(most: float) -> list[float]:
    """Round whole numbers of parts up to ``most``."""
    return ticks(0.0, most, 4) if most >= 4 else [float(number) for number in range(math.floor(most) + 1)]


def _middle(values: Sequence[float]) -> tuple[float, float]:
    """Where the bulk of the parts read: five times the median distance about the median."""
    middle = float(np.median(values))
    reach = 5.0 * float(np.median(np.abs(np.array(values) - middle)))
    return middle - reach, middle + reach


def _aside(axis: LotAxis, test: LotTest, left: float, right: float, top: float) -> Iterator[str]:
    """Parts beyond the axis: an arrow on their side, with what they read."""
    middle = sum(axis.ends) / 2
    for above in (False, True):
        beyond = sorted(value for value in axis.far if (axis.factor * value > middle) == above)
        if not beyond:
            continue
        told = ", ".join(words.quantity_text(value, test.measure, 3) for value in beyond[:ASIDE])
        more = f" and {len(beyond) - ASIDE} more" if len(beyond) > ASIDE else ""
        text = f"{told}{more} →" if above else f"← {told}{more}"
        position, anchor = (right - 2.0, "end") if above else (left + 2.0, "start")
        yield text_over(position, top + 9.0, text, anchor=anchor, size=SMALL)


def _binned(values: FloatArray, ends: tuple[float, float]) -> tuple[FloatArray, FloatArray]:
    """(parts in each class, its edges): Sturges' number of classes, at least four; one narrow class where all
    read the same."""
    if np.ptp(values) <= 1e-12 * float(np.max(np.abs(values))):
        half = 0.015 * (ends[1] - ends[0])
        return np.array([float(len(values))]), np.array([values[0] - half, values[0] + half])
    counts, edges = np.histogram(values, bins=max(4, math.ceil(math.log2(len(values))) + 1))
    return counts.astype(float), edges


def _title(test: LotTest) -> str:
    name = elided(test.name)
    if test.cpk is None or test.cpk_lower is None:
        return f"{name}, {test.n} parts"
    index, bound = (f"{value:.2f}" if math.isfinite(value) else "∞" for value in (test.cpk, test.cpk_lower))
    return f"{name}, {test.n} parts: Cpk {index} (≥ {bound})"


def _description(lots: Sequence[LotReadings]) -> str:
    """The picture in words."""
    return " ".join(
        f"{_title(lot.test)}: from {words.quantity_text(min(lot.values), lot.test.measure)} "
        f"to {words.quantity_text(max(lot.values), lot.test.measure)}, {lot.test.outside} outside the limits."
        for lot in lots
    )
