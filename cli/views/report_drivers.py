"""The picture of what drives each predicted range: a bar of shares for each test."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ...predict.production import Driver
from .prediction import driver_in_words
from .report_figures import elided
from .svg_chart import WIDTH, LegendKey, Scale, chart_legend, picture, x_axis
from .svg_marks import TYPE, box, hatch, rule, text_width
from .svg_sheet import label

LOOKS = (
    ("#d6e2f0", "none"),
    ("#f2e3c4", "lines"),
    ("#d9ead9", "dots"),
    ("#eadcf0", "back"),
    ("#f5d9d0", "crossed"),
    ("#e4e4e4", "level"),
    ("#d0ebea", "upright"),
)
"""Ground and hatch of the parameters with the largest shares over all tests; the others share one."""
REST = "#ffffff"
BAR, TALL = 24.5, 17.0
"""From one bar to the next, and its height (pt)."""
WRITTEN = 0.09
"""The share from which a bar's part carries its number."""
SHARES = "share of the variance of single parts"


def drivers_svg(names: Sequence[str], drivers: Sequence[Sequence[Driver]]) -> str:
    """One bar for each test, divided by the shares of the variance.

    Parameters
    ----------
    names : Sequence[str], names of the tests
    drivers : Sequence[Sequence[Driver]], drivers of each test
    """
    totals: dict[str, float] = {}
    for row in drivers:
        for driver in row:
            totals[driver.parameter] = totals.get(driver.parameter, 0.0) + driver.share
    named = sorted(totals, key=lambda parameter: -totals[parameter])[: len(LOOKS)]
    fills = {name: f"url(#driver{index})" for index, name in enumerate(named)}
    keys = [LegendKey(driver_in_words(name), fills[name]) for name in named] + [LegendKey("all others", REST)]
    body, top = chart_legend(keys, 0.0)
    patterns = [
        hatch(f"driver{index}", kind, ground=ground)
        for index, (ground, kind) in enumerate(LOOKS[: len(named)])
    ]
    body.insert(0, f"<defs>{''.join(patterns)}</defs>")
    left = max((text_width(elided(name), TYPE) for name in names), default=0.0) + 10.0
    scale = Scale(low=0.0, high=1.0, start=left, end=WIDTH - 16.0)
    foot = top + BAR * len(names) + 2.0
    for index, (name, row) in enumerate(zip(names, drivers, strict=True)):
        middle = top + BAR * (index + 0.5)
        body.append(label(left - 6.0, middle + 3.0, elided(name), anchor="end", size=TYPE))
        body += _bar(row, fills, scale, middle)
    body += x_axis(scale, foot, [(share / 100, f"{share} %") for share in range(0, 101, 20)])
    body += [
        rule(left, top, left, foot),
        label((left + scale.end) / 2, foot + 22.0, SHARES, anchor="middle", size=TYPE),
    ]
    return picture(foot + 26.0, "What drives each range", _description(names, drivers), body)


def _bar(row: Sequence[Driver], fills: dict[str, str], scale: Scale, middle: float) -> Iterator[str]:
    """The shares of one test, one after the other, those without a fill of their own together."""
    shares = {driver.parameter: driver.share for driver in row}
    parts = [(fill, shares[name]) for name, fill in fills.items() if shares.get(name, 0.0) > 0]
    parts.append((REST, max(0.0, sum(shares.values()) - sum(share for _, share in parts))))
    start = 0.0
    for fill, share in parts:
        if share > 0:
            yield box(scale(start), middle - TALL / 2, scale(start + share), middle + TALL / 2, fill)
        if share >= WRITTEN:
            text, at = f"{100 * share:.0f} %", scale(start + share / 2)
            wide = text_width(text, 8.0) + 4.0
            yield box(at - wide / 2, middle - 5.0, at + wide / 2, middle + 5.0, "#fff", "none")
            yield label(at, middle + 2.9, text, anchor="middle", size=8.0)
        start += share


def _description(names: Sequence[str], drivers: Sequence[Sequence[Driver]]) -> str:
    """The picture in words."""
    told = []
    for name, row in zip(names, drivers, strict=True):
        parts = [
            f"{driver_in_words(driver.parameter)} {100 * driver.share:.0f} %"
            for driver in row
            if driver.share >= 0.01
        ]
        told.append(f"{name}: {', '.join(parts) or 'nothing'}.")
    return " ".join(told)
