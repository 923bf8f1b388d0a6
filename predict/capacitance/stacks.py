"""Stacks with open layers: every pair of layers that sees each other past the layers between them.

Where a spaced layer has neighbours on both sides, the stack along that stretch is solved as a whole
(``openings``), and each pair of its layers becomes a face of its own. Outside the window nothing stands
beyond the outermost layer; that part of the turn is a stack without the gaps to the core.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ..design import FloatArray
from .electrodes import ElectrodeSpace, Units
from .facing_layers import LayerFace
from .insulation_between import Pairs
from .openings import Port, row_between, stack_capacitance, strips_between
from .wire_rows import EPSILON_0

LEAST_PITCH = 1.5
"""Pitch over overall diameter below which a row counts as closed: less than 0.3 % of the flux of a face
passes (``openings.row_between``). Measured on 26 designs: from 1.05 on no capacitance moves by more than
2.1 % (chambers), from 3 on by 5 % (eight spaced turns between two layers)."""
LEAST_OPENING = 1.02
"""Pitch over width above which tracks count as a row with openings (judged as rounding of the tracks' pitch;
measured: 1.33 moves a capacitance of the planar sample by 8.5 %)."""
Index = NDArray[np.int_]
Moments = tuple[FloatArray, FloatArray, FloatArray]


@dataclass(frozen=True, kw_only=True)
class Gaps:
    """Gaps between layers: R rows, one for each build and stretch, from the outermost gap inwards.

    Attributes
    ----------
    build : (R,) array of int, build, index
    stretch : (R,) array of int, stretch along the window, index
    inner, outer : (R,) array of int, inner and outer layer, index; −1: the core
    low, high : (R,) array, where the stretch begins and ends, m
    size : int, number of layers, count
    """

    build: Index
    stretch: Index
    inner: Index
    outer: Index
    low: FloatArray
    high: FloatArray
    size: int

    def of(self, rows: NDArray[np.bool_] | Index) -> Gaps:
        """The gaps of some rows: a mask (R,) array of bool, or indices."""
        return Gaps(
            build=self.build[rows],
            stretch=self.stretch[rows],
            inner=self.inner[rows],
            outer=self.outer[rows],
            low=self.low[rows],
            high=self.high[rows],
            size=self.size,
        )

    def together(self, *weights: FloatArray) -> tuple[Pairs, Index, tuple[Moments, ...]]:
        """One row for each pair of layers of a build, with its stretches summed.

        Parameters
        ----------
        *weights : (R,) arrays, weight w of each gap, dimensionless or in any unit

        Returns
        -------
        pairs : Pairs, the P pairs, builds rising
        row : (R,) array of int, pair that each gap belongs to, index
        moments : tuple of tuple of three (P,) arrays
            For each weight Σ w∫dy, Σ w∫y dy and Σ w∫y² dy over the stretches, m, m² and m³ times the unit of
            w.
        """
        key = (self.build * (self.size + 1) + self.inner + 1) * (self.size + 1) + self.outer + 1
        pair, row = np.unique(key, return_inverse=True)
        runs = [(self.high**power - self.low**power) / power for power in (1, 2, 3)]
        moments = tuple(
            tuple(np.bincount(row, weight * run, len(pair)) for run in runs) for weight in weights
        )
        rest, outer = np.divmod(pair, self.size + 1)
        build, inner = np.divmod(rest, self.size + 1)
        return Pairs(build, inner - 1, outer - 1), row, moments  # type: ignore[return-value]


@dataclass(frozen=True)
class Series:
    """What is in series between each of P pairs of neighbours.

    Attributes
    ----------
    gap : (P,) array, distance between the layers, m
    reduced : (P,) array, what lies between them, m of vacuum
    below, above : (P,) array, what the shape of the inner and outer layer adds, m of vacuum
    closed : (P,) array of bool, whether the gap is there all round a turn
    """

    gap: FloatArray
    reduced: FloatArray
    below: FloatArray
    above: FloatArray
    closed: NDArray[np.bool_]


def unclosed(units: Units) -> NDArray[np.bool_]:
    """The layers through which fields pass, (B, N + 1): True for an open layer; the last column is the core,
    which is closed."""
    overall, pitch, width = (units.table.columns[name] for name in ("overall", "pitch", "width"))
    tracks = (width > 0) & (pitch > LEAST_OPENING * width)
    spaced = np.where(overall > 0, pitch > LEAST_PITCH * overall, tracks)
    core = np.zeros((len(spaced), 1), bool)
    return np.concatenate([spaced[:, units.electrodes].any(axis=-1), core], axis=1)


def in_open_stacks(gaps: Gaps, layers: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """The gaps of stacks in which an open layer has one gap above it and one below.

    Parameters
    ----------
    gaps : Gaps of R rows
    layers : (B, N + 1) array of bool, open layers (``unclosed``)
    """
    stack = gaps.build * (1 + np.max(gaps.stretch, initial=0)) + gaps.stretch
    return np.asarray(np.bincount(stack, layers[gaps.build, gaps.inner])[stack] > 0)


def stack_faces(
    space: ElectrodeSpace,
    units: Units,
    gaps: Gaps,
    layers: NDArray[np.bool_],
    pairs: Pairs,
    row: Index,
    series: Series,
) -> tuple[Gaps, FloatArray, FloatArray]:
    """All faces of the stacks of some gaps: one row for each pair of layers in a stretch.

    Parameters
    ----------
    space : ElectrodeSpace
    units : Units
    gaps : Gaps of R rows
    layers : (B, N + 1) array of bool, open layers (``unclosed``)
    pairs : Pairs, the P pairs of neighbours among the gaps
    row : (R,) array of int, pair that each gap belongs to, index
    series : Series, what lies in the pairs

    Returns
    -------
    faces : Gaps, the F faces
    full : (F,) array, capacitance with all gaps in place, F/m²
    part : (F,) array, capacitance with only those gaps that go all round a turn, F/m²
    """
    stack = gaps.build * (1 + np.max(gaps.stretch)) + gaps.stretch
    # turned round to run outwards: gaps come from the outermost inwards
    place = np.arange(len(stack))
    order = np.lexsort((-place, stack))
    begins = np.ones(len(stack), bool)
    begins[1:] = stack[order][1:] != stack[order][:-1]
    first, which = np.flatnonzero(begins), begins.cumsum() - 1
    rank = place - first[which]
    most = int(rank.max()) + 1
    pair = np.full((len(first), most), -1)
    pair[which, rank] = row[order]
    nodes = np.full((len(first), most + 1), -2)
    nodes[which, rank] = gaps.inner[order]
    nodes[which, rank + 1] = gaps.outer[order]
    there = pair >= 0
    below, above = series.below[pair], series.above[pair]
    transfer = np.zeros((len(first), max(most - 1, 0)))
    build = gaps.build[order][first]
    inside = (
        there[:, 1:] & layers[build[:, None], nodes[:, 1:-1]] if most > 1 else np.zeros((len(first), 0), bool)
    )
    at = np.nonzero(inside)
    if len(at[0]):
        ports = _ports(space, units, pairs, series, pair[at], pair[at[0], at[1] + 1], nodes[at[0], at[1] + 1])
        above[at], below[at[0], at[1] + 1], transfer[at] = ports
    thickness = np.where(there, series.reduced[pair] + below + above, np.inf)
    all_round = np.where(series.closed[pair], thickness, np.inf)
    both = np.concatenate([thickness, all_round]), np.concatenate([transfer, transfer])
    whole, around = np.split(EPSILON_0 * stack_capacitance(*both), 2)
    first_node, second_node = np.triu_indices(most + 1, 1)
    full, part = -whole[:, first_node, second_node].ravel(), -around[:, first_node, second_node].ravel()
    chain = np.repeat(np.arange(len(first)), len(first_node))
    inner, outer = nodes[:, first_node].ravel(), nodes[:, second_node].ravel()
    top = np.repeat(np.abs(whole).max(axis=(1, 2)), len(first_node))
    keep = (inner > -2) & (outer > -2) & ~((inner == -1) & (outer == -1)) & (np.abs(full) > 1e-9 * top)
    chain = order[first][chain[keep]]
    faces = replace(gaps.of(chain), inner=inner[keep], outer=outer[keep])
    return faces, full[keep], part[keep]


def _ports(
    space: ElectrodeSpace,
    units: Units,
    pairs: Pairs,
    series: Series,
    lower: Index,
    upper: Index,
    layer: Index,
) -> Port:
    """(T₁, T₂, m) of ``layer`` between the pairs ``lower`` and ``upper``; each combination is solved once."""
    combination, back = np.unique(lower * (len(series.gap) + 1) + upper, return_inverse=True)
    low, high = np.divmod(combination, len(series.gap) + 1)
    unit = np.zeros(len(combination), int)
    unit[back] = layer
    row, place = np.nonzero(units.electrodes[unit] >= 0)
    electrode = units.electrodes[unit[row], place]
    low, high = low[row], high[row]
    faces = units.table.of(pairs.build[low], electrode)
    result = np.zeros((len(combination), 3))
    np.add.at(result, row, (units.share[electrode] * _port(space, faces, series, low, high)).T)
    lower_side, upper_side, through = result[back].T
    return lower_side, upper_side, through


def _port(space: ElectrodeSpace, face: LayerFace, series: Series, low: Index, high: Index) -> FloatArray:
    """(T₁, T₂, m) of R faces of any kind, (3, R)."""
    result = np.stack([series.above[low], series.below[high], np.zeros(len(low))])  # a closed sheet
    reduced = series.reduced[low], series.reduced[high]
    beyond = series.below[low], series.above[high]
    pitch, width = np.asarray(face.pitch), np.asarray(face.width)
    wires, tracks = np.flatnonzero(np.asarray(face.overall) > 0), np.flatnonzero(width > 0)
    if wires.size:
        row = face.wires(wires, space.filling)
        sheets = np.maximum(series.gap[low[wires]], 1e-9), np.maximum(series.gap[high[wires]], 1e-9)
        permittivity = sheets[0] / reduced[0][wires], sheets[1] / reduced[1][wires]
        depth = beyond[0][wires] * space.filling, beyond[1][wires] * space.filling
        result[:, wires] = row_between(row, sheets, permittivity, depth)
    if tracks.size:
        below, above = reduced[0] + beyond[0], reduced[1] + beyond[1]
        result[:, tracks] = strips_between(width[tracks], pitch[tracks], below[tracks], above[tracks])
    return result
