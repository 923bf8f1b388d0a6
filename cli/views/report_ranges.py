"""The picture of predicted ranges against readings and limits: one strip for each test."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from . import words
from .report_figures import (
    FILL,
    INK,
    LIMIT,
    SHAPES,
    axis_unit,
    elided,
    figure_svg,
    limit_lines,
    listed,
    panels,
    round_ticks,
    settings,
    spanned,
)

STRIP = 0.62
"""Inches of one strip."""


@dataclass(frozen=True)
class Mark:
    """One reading: its sample, value and expanded uncertainty (k = 2), SI."""

    sample: str
    value: float
    expanded: float


@dataclass(frozen=True, kw_only=True)
class Strip:
    """One test: the nominal prediction, the ends of its 95 % range, its limits, its readings; SI."""

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
    samples = list(dict.fromkeys(mark.sample for strip in shown for mark in strip.marks))
    shown_apart = len(samples) <= len(SHAPES)
    shapes = {name: SHAPES[index if shown_apart else 0] for index, name in enumerate(samples)}
    with settings():
        figure, axes = panels(len(shown), 1, STRIP)
        for strip, panel in zip(shown, axes, strict=True):
            _draw(panel, strip, shapes)
        handles: list[Line2D | Patch] = [
            Patch(facecolor=FILL, edgecolor=INK, label="95 % of production, as predicted"),
            Line2D([], [], color=INK, linewidth=1.6, label="nominal"),
        ]
        if any(strip.minimum is not None or strip.maximum is not None for strip in shown):
            line = Line2D([], [], color=LIMIT, linestyle=(0, (4, 2)), linewidth=1.6)
            line.set_label("limit (outside hatched)")
            handles.append(line)
        if samples and shown_apart:
            handles += [_handle(shapes[name], listed(name)) for name in samples]
        elif samples:
            handles.append(_handle(SHAPES[0], f"readings of {len(samples)} samples"))
        figure.legend(handles=handles, loc="outside upper left", ncols=4, frameon=False, fontsize=8.5)
        return figure_svg(figure, "Predicted ranges, readings and limits", _description(shown))


def _handle(shape: str, label: str) -> Line2D:
    return Line2D([], [], marker=shape, linestyle="none", color=INK, markerfacecolor="#fff", label=label)


def _draw(panel: Axes, strip: Strip, shapes: dict[str, str]) -> None:
    """One strip: the range as a bar with the nominal in it, readings over it, limits."""
    values = [strip.nominal, strip.low, strip.high]
    values += [limit for limit in (strip.minimum, strip.maximum) if limit is not None]
    beyond = wild(values, [mark.value for mark in strip.marks])
    near = [mark for mark, far in zip(strip.marks, beyond, strict=True) if not far]
    values += [end for mark in near for end in (mark.value - mark.expanded, mark.value + mark.expanded)]
    factor, symbol = axis_unit(words.unit_of(strip.measure), values)
    ends = spanned([factor * value for value in values])
    panel.set_xlim(*ends)
    panel.set_ylim(-1, 1)
    limits = [None if limit is None else factor * limit for limit in (strip.minimum, strip.maximum)]
    limit_lines(panel, limits[0], limits[1], ends)
    low, high = factor * strip.low, factor * strip.high
    panel.barh(0.0, high - low, height=0.9, left=low, facecolor=FILL, edgecolor=INK, linewidth=0.8, zorder=1)
    panel.plot([factor * strip.nominal] * 2, [-0.45, 0.45], color=INK, linewidth=1.6, zorder=2)
    for index, mark in enumerate(strip.marks):
        height = 0.0 if len(strip.marks) == 1 else 0.6 - 1.2 * index / (len(strip.marks) - 1)
        if beyond[index]:
            _beyond_the_axis(panel, strip, mark, height, ends)
            continue
        panel.errorbar(
            factor * mark.value,
            height,
            xerr=factor * mark.expanded,
            marker=shapes[mark.sample],
            markersize=5,
            color=INK,
            markerfacecolor="#fff",
            linewidth=0.9,
            capsize=2,
            zorder=4,
        )
    panel.set_yticks([])
    panel.spines["left"].set_visible(False)
    panel.xaxis.set_major_locator(round_ticks(6))
    panel.ticklabel_format(axis="x", style="plain", useOffset=False)
    panel.tick_params(axis="x", labelsize=8, length=3)
    unit = f" ({symbol})" if symbol else ""
    panel.set_ylabel(f"{elided(strip.label)}{unit}", rotation=0, ha="right", va="center", fontsize=9)


WILD = 1.5
"""Widths of range and limits together beyond which a reading does not widen the axis."""


def wild(home: Sequence[float], readings: Sequence[float]) -> list[bool]:
    """Which readings lie so far from ``home`` (range and limits) that the axis would be squashed by them."""
    low, high = min(home), max(home)
    reach = WILD * (high - low)
    return [not low - reach <= value <= high + reach for value in readings]


def _beyond_the_axis(panel: Axes, strip: Strip, mark: Mark, height: float, ends: tuple[float, float]) -> None:
    """A reading beyond the axis: an arrow at its end, with sample and value beside it."""
    right = mark.value > strip.nominal
    tip, base = (
        (ends[1], ends[1] - 0.03 * (ends[1] - ends[0]))
        if right
        else (
            ends[0],
            ends[0] + 0.03 * (ends[1] - ends[0]),
        )
    )
    panel.annotate(
        "", (tip, height), (base, height), arrowprops={"arrowstyle": "-|>", "color": INK, "linewidth": 1.2}
    )
    text = f"{elided(mark.sample)} {words.quantity_text(mark.value, strip.measure, 3)}"
    side = "right" if right else "left"
    panel.text(
        base, height, f"{text} " if right else f" {text}", ha=side, va="center", fontsize=7.5, zorder=5
    )


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
        for mark in strip.marks:
            text += f", {mark.sample} read {words.quantity_text(mark.value, strip.measure)}"
        told.append(text)
    return ". ".join(told) + "." if told else "Nothing to show."
