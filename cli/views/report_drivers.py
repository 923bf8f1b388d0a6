"""The picture of what drives each predicted range: a bar of shares for each test."""

from __future__ import annotations

from collections.abc import Sequence

from matplotlib.patches import Patch
from matplotlib.ticker import PercentFormatter

from ...predict.production import Driver
from .prediction import driver_in_words
from .report_figures import INK, WIDTH, elided, figure_svg, panels, settings

NAMED = 7
"""Parameters with a colour and hatch of their own: those with the largest shares over all tests."""
LOOKS = (
    ("#d6e2f0", ""),
    ("#f2e3c4", "///"),
    ("#d9ead9", "..."),
    ("#eadcf0", "\\\\\\"),
    ("#f5d9d0", "xxx"),
    ("#e4e4e4", "---"),
    ("#d0ebea", "|||"),
)
REST = ("#ffffff", "")
BAR = 0.34
"""Inches of one bar."""
WRITTEN = 0.09
"""The share from which a bar's part carries its number."""


def drivers_svg(names: Sequence[str], drivers: Sequence[Sequence[Driver]]) -> str:
    """One bar for each test, its parts the shares of the variance, as SVG."""
    totals: dict[str, float] = {}
    for row in drivers:
        for driver in row:
            totals[driver.parameter] = totals.get(driver.parameter, 0.0) + driver.share
    named = sorted(totals, key=lambda parameter: -totals[parameter])[:NAMED]
    looks = dict(zip(named, LOOKS, strict=False))
    with settings():
        figure, (panel,) = panels(1, 1, BAR * len(names) + 0.9)
        for index, row in enumerate(drivers):
            start = 0.0
            shares = {driver.parameter: driver.share for driver in row}
            parts = [(name, shares[name]) for name in named if shares.get(name, 0.0) > 0]
            parts.append(("", max(0.0, sum(shares.values()) - sum(share for _, share in parts))))
            for name, share in parts:
                colour, hatch = looks.get(name, REST)
                panel.barh(
                    index,
                    share,
                    left=start,
                    height=0.7,
                    facecolor=colour,
                    edgecolor=INK,
                    hatch=hatch,
                    linewidth=0.7,
                )
                if share >= WRITTEN:
                    panel.text(
                        start + share / 2,
                        index,
                        f"{100 * share:.0f} %",
                        ha="center",
                        va="center",
                        fontsize=8,
                        bbox={"facecolor": "#fff", "edgecolor": "none", "pad": 1.0},
                    )
                start += share
        panel.set_xlim(0, 1)
        panel.set_yticks(range(len(names)), [elided(name) for name in names])
        panel.invert_yaxis()
        panel.xaxis.set_major_formatter(PercentFormatter(1.0, symbol=" %"))
        panel.set_xlabel("share of the variance of single parts")
        handles = [
            Patch(facecolor=looks[name][0], hatch=looks[name][1], edgecolor=INK, label=driver_in_words(name))
            for name in named
        ]
        handles.append(Patch(facecolor=REST[0], edgecolor=INK, label="all others"))
        figure.legend(
            handles=handles,
            loc="outside upper left",
            ncols=3 if WIDTH < 9 else 4,
            frameon=False,
            fontsize=8.5,
        )
        return figure_svg(figure, "What drives each range", _description(names, drivers))


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
