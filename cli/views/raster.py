"""Lengths → character cells: to scale, but so that what must show gets a cell of its own."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

Span = tuple[float, float]


@dataclass(frozen=True)
class Axis:
    """A monotonic map of lengths to character cells, linear between edges.

    Attributes
    ----------
    edges : tuple[float, ...] (n,), the edges, rising, m
    cells : tuple[int, ...] (n,), cell boundary at each of them, rising from 0, index
    faithful : bool, whether everything that had to show got a cell
    """

    edges: tuple[float, ...]
    cells: tuple[int, ...]
    faithful: bool

    @property
    def count(self) -> int:
        """Number of cells, count."""
        return self.cells[-1]

    def cell(self, value: float) -> int:
        """The cell boundary nearest to a length (m), index."""
        return round(float(np.interp(value, self.edges, self.cells)))

    def middle(self, cell: int) -> float:
        """The length at the middle of a cell (m)."""
        edge_index = next(index for index, end in enumerate(self.cells) if end > cell)
        (x0, x1), (c0, c1) = (
            self.edges[edge_index - 1 : edge_index + 1],
            self.cells[edge_index - 1 : edge_index + 1],
        )
        return x0 + (x1 - x0) * (cell + 0.5 - c0) / (c1 - c0)


def fitted_axis(low: float, high: float, tiers: Sequence[Iterable[Span]], cells: int) -> Axis:
    """The axis over a number of cells, to scale except where small parts need a cell of their own.

    Every edge goes to the cell boundary nearest to its place to scale that these demands allow: a
    longest-path bound from the end, then one pass from the start.

    Parameters
    ----------
    low, high : float, where it begins and ends, m
    tiers : Sequence[Iterable[Span]]
        Spans (m) that should take a cell at least, the most important tier first; the tiers that fit are
        kept.
    cells : int, cells, count
    """
    low, high = round(low, 9), round(high, 9)
    wanted = [_within(low, high, tier) for tier in tiers]
    edges = sorted({low, high, *(edge for tier in wanted for span in tier for edge in span)})
    index = {edge: edge_index for edge_index, edge in enumerate(edges)}
    for kept in range(len(wanted), -1, -1):
        demands = [(index[a], index[b]) for tier in wanted[:kept] for a, b in tier]
        placed = _placed(edges, demands, cells)
        if placed is not None:
            return Axis(tuple(edges), tuple(placed), kept == len(wanted))
    raise AssertionError("no demand is always met")


def needed_cells(low: float, high: float, spans: Iterable[Span]) -> int:
    """The fewest cells in which every span gets one.

    Parameters
    ----------
    low, high : float, where the axis begins and ends, m
    spans : Iterable[Span], the spans, m

    Returns
    -------
    int, cells, count
    """
    low, high = round(low, 9), round(high, 9)
    inside = _within(low, high, spans)
    edges = sorted({low, high, *(edge for span in inside for edge in span)})
    index = {edge: edge_index for edge_index, edge in enumerate(edges)}
    return _latest(len(edges), [(index[a], index[b]) for a, b in inside], 0)[0] * -1


def _within(low: float, high: float, spans: Iterable[Span]) -> list[Span]:
    """The spans cut to the axis, to the nanometre, so that neighbours share their edge."""
    cut = [(round(max(a, low), 9), round(min(b, high), 9)) for a, b in spans]
    return [(a, b) for a, b in cut if b > a]


def _latest(count: int, demands: Sequence[tuple[int, int]], end: int) -> list[int]:
    """The latest cell of every edge with which all demands still fit before ``end``."""
    latest = [end] * count
    starting: dict[int, list[int]] = {}
    for a, b in demands:
        starting.setdefault(a, []).append(b)
    for index in range(count - 2, -1, -1):
        latest[index] = min([latest[index + 1], *(latest[b] - 1 for b in starting.get(index, []))])
    return latest


def _placed(edges: Sequence[float], demands: Sequence[tuple[int, int]], cells: int) -> list[int] | None:
    latest = _latest(len(edges), demands, cells)
    if latest[0] < 0:
        return None
    ending: dict[int, list[int]] = {}
    for a, b in demands:
        ending.setdefault(b, []).append(a)
    scale = cells / (edges[-1] - edges[0])
    placed = [0]
    for index in range(1, len(edges)):
        earliest = max([placed[-1], *(placed[a] + 1 for a in ending.get(index, []))])
        ideal = round((edges[index] - edges[0]) * scale)
        placed.append(min(max(ideal, earliest), latest[index]))
    placed[-1] = cells
    return placed
