"""The pictures of a lot: one histogram for each test with limits, the predicted range and every part."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from matplotlib.ticker import MaxNLocator

from ...compare.lots import LotTest
from . import words
from .report_figures import (
    FILL,
    INK,
    LIMIT,
    SOFT,
    axis_unit,
    elided,
    figure_svg,
    limit_lines,
    panels,
    round_ticks,
    settings,
    spanned,
)
from .report_ranges import wild

LEAST = 5
"""Parts from which a histogram is drawn."""
PANEL = 1.9
"""Inches of one row of panels."""


@dataclass(frozen=True)
class LotReadings:
    """One test of a lot with the readings (SI) of its parts."""

    test: LotTest
    values: tuple[float, ...]


def lot_svg(lots: Sequence[LotReadings]) -> str:
    """A histogram for each test that ``LEAST`` parts were read in, two in a row, as SVG. ValueError where
    there is none."""
    shown = [lot for lot in lots if len(lot.values) >= LEAST]
    if not shown:
        raise ValueError("no test has readings enough for a histogram")
    with settings():
        figure, axes = panels((len(shown) + 1) // 2, 2, PANEL)
        for lot, panel in zip(shown, axes, strict=False):
            _draw(panel, lot)
        for panel in axes[len(shown) :]:
            panel.set_axis_off()
        limit = Line2D(
            [], [], color=LIMIT, linestyle=(0, (4, 2)), linewidth=1.6, label="limit (outside hatched)"
        )
        figure.legend(
            handles=[
                Patch(facecolor=FILL, edgecolor=INK, label="parts as read"),
                Line2D([], [], color=INK, marker="|", linestyle="none", label="one part"),
                Patch(
                    facecolor="none",
                    edgecolor=SOFT,
                    hatch="....",
                    label="predicted, ± 2 standard uncertainties",
                ),
                limit,
            ],
            loc="outside upper left",
            ncols=4,
            frameon=False,
            fontsize=8.5,
        )
        return figure_svg(figure, "Histograms of the lot", _description(shown))


def _draw(panel: Axes, lot: LotReadings) -> None:
    test = lot.test
    low, high = (test.predicted + side * test.predicted_uncertainty for side in (-2, 2))
    home = [end for end in (low, high) if math.isfinite(end)]
    home += [limit for limit in (test.minimum, test.maximum) if limit is not None]
    beyond = wild([*home, *_middle(lot.values)], lot.values)
    near = [value for value, far in zip(lot.values, beyond, strict=True) if not far]
    values = [*near, *home]
    factor, symbol = axis_unit(words.unit_of(test.measure), values)
    ends = spanned([factor * value for value in values])
    panel.set_xlim(*ends)
    read = factor * np.array(near)
    counts, _, _ = panel.hist(read, bins=_bins(read), facecolor=FILL, edgecolor=INK, linewidth=0.8, zorder=2)
    top = float(np.max(counts)) * 1.25
    panel.set_ylim(0, top)
    if math.isfinite(low):
        panel.axvspan(
            factor * low,
            factor * high,
            facecolor="none",
            edgecolor=SOFT,
            hatch="....",
            linewidth=0.8,
            zorder=1,
        )
    limits = [None if limit is None else factor * limit for limit in (test.minimum, test.maximum)]
    limit_lines(panel, limits[0], limits[1], ends)
    marks = np.column_stack([read, read, np.full(len(read), np.nan)]).ravel()  # one line, broken at each part
    panel.plot(
        marks, np.tile([0.01 * top, 0.07 * top, np.nan], len(read)), color=INK, linewidth=1.0, zorder=4
    )
    _beyond_the_axis(panel, test, [value for value, far in zip(lot.values, beyond, strict=True) if far])
    panel.xaxis.set_major_locator(round_ticks(5))
    panel.yaxis.set_major_locator(MaxNLocator(4, integer=True))
    panel.ticklabel_format(axis="x", style="plain", useOffset=False)
    panel.tick_params(labelsize=8, length=3)
    panel.set_xlabel(f"{elided(test.name)}{f' ({symbol})' if symbol else ''}", fontsize=9)
    panel.set_ylabel("parts", fontsize=8.5)
    panel.set_title(_title(test), fontsize=9, loc="left")


def _middle(values: Sequence[float]) -> tuple[float, float]:
    """Where the bulk of the parts read: five times the median distance about the median."""
    middle = float(np.median(values))
    reach = 5.0 * float(np.median(np.abs(np.array(values) - middle)))
    return middle - reach, middle + reach


def _beyond_the_axis(panel: Axes, test: LotTest, values: Sequence[float]) -> None:
    """Parts so far off that they would squash the axis: an arrow on their side, with what they read."""
    for right in (False, True):
        own = [value for value in values if (value > test.mean) == right]
        if not own:
            continue
        told = ", ".join(words.quantity_text(value, test.measure, 3) for value in sorted(own)[:3])
        more = f" and {len(own) - 3} more" if len(own) > 3 else ""
        text = f"{told}{more} →" if right else f"← {told}{more}"
        panel.text(
            0.99 if right else 0.01,
            0.93,
            text,
            transform=panel.transAxes,
            ha="right" if right else "left",
            va="top",
            fontsize=8,
            zorder=5,
        )


def _bins(values: np.ndarray[tuple[int], np.dtype[np.float64]]) -> int:
    """Sturges' number of classes, at least four; one where all read the same."""
    if np.ptp(values) <= 1e-12 * float(np.max(np.abs(values))):
        return 1
    return max(4, math.ceil(math.log2(len(values))) + 1)


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
