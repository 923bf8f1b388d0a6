"""The leakage field of a part's layers by finite differences.

Finite volumes for the flux function (A in a plane, r A_φ around a round leg) in a box whose four walls
are of infinite permeability, −div(w grad ψ) = μ0 J with w = 1 or 1/r. Cells are even along the layers,
where the discrete cosine transform diagonalises the difference operator, and follow the layers' edges
across, where one tridiagonal system per mode is eliminated for all layers at once: a fast Poisson solver
(Hockney 1965, Buzbee and others 1970, from memory). The mean along the layers is the ampere-turn function
and is integrated exactly.

Under the core the box is the window; beside it, a box that goes far beyond the winding with the leg's
side as a wall (straight parts, and the corners or round legs as bodies of revolution). Every layer has
its own conductors, so the field between separate wires is in it. What the boxes leave out (the edge of
the outer leg, flux around the yokes) is the model's error; three-dimensional cases in the tests say how
much.
"""

from __future__ import annotations

import functools
import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.fft import dct

from .layers import Array, Layer, Layout
from .parts import Part
from .ring_arcs import linked, occupied

MU0 = 4e-7 * math.pi
INSIDE, OUTSIDE, AROUND = 128, 288, 900
"""Cells along the layers under and beside the core, and around a ring."""


@dataclass(frozen=True)
class Source:
    """One turn's current: from ``inner`` to ``outer`` across, ``centres`` ± ``breadth``/2 along (m)."""

    inner: float
    outer: float
    centres: Array
    breadth: float


def spread(source: Source, length: float, in_hand: int) -> Source:
    """The same conductors spread over another length: turns evenly, wires in hand side by side."""
    turns = len(source.centres) // in_hand
    first = source.centres[:in_hand]
    pitch = length / turns
    within = (first - first.mean())[None, :] if in_hand > 1 else np.zeros((1, 1))
    centres = (np.arange(turns)[:, None] + 0.5) * pitch + within
    return Source(source.inner, source.outer, centres.ravel(), min(source.breadth, pitch / in_hand))


def source_of(layer: Layer) -> Source:
    """The copper of a layer as one turn."""
    middle = (layer.inner + layer.outer) / 2
    return Source(middle - layer.copper / 2, middle + layer.copper / 2, layer.centres, layer.breadth)


def interaction(part: Part, layout: Layout, ring: Source | None = None) -> Array:
    """(n, n) H per turn² between the layers (and a closed ring behind them): energy = I K I/2 with
    I in ampere-turns."""
    sources = [source_of(layer) for layer in layout.layers] + ([ring] if ring else [])
    share = part.truth.leg_share if part.truth.leg_share is not None else leg_share(part)
    core, size = part.core, part.core.size
    if core.form == "toroid":
        hands = [layer.wire.in_hand for layer in layout.layers]
        arcs = [part.steps[layer.step].arc for layer in layout.layers]
        return _ring(part, sources, hands, arcs) * part.truth.leakage
    width, height = layout.width, layout.height
    flat = part.direction == "up"
    if core.form in ("E", "U"):
        sides = 2 if core.form == "E" else 1
        depth = min(size["leg_depth"], size.get("outer_depth", size["leg_depth"]))
        rounded = size.get("leg_corner", 0.0)
        corner = max(rounded, 0.02 * size["leg_width"])
        straight = 2 * size["leg_width"] + (2 - sides) * depth + (2 * math.pi - 8) * rounded
        straight += 2 * (size["leg_depth"] - depth) - 2 * math.pi * corner
        inside = sides * depth * box(sources, width, height, share, 0.0, INSIDE)
        if flat:
            wide = [_raised(source, width) for source in sources]
            beside = box(wide, 3 * width, 5 * height, 0.5, 0.0, OUTSIDE)
            mean = corner + float(np.mean([np.mean(source.centres) for source in sources]))
            return (inside + (straight + 2 * math.pi * mean) * beside) * part.truth.leakage
        far, outer = _outside(sources, width, height)
        beside = straight * box(outer, far, 3 * height, share, 0.0, OUTSIDE)
        around = 2 * math.pi * box(outer, far, 3 * height, share, corner, OUTSIDE)
        return (inside + beside + around) * part.truth.leakage
    radius = size["leg_diameter"] / 2
    under = 2 * math.pi * covered(part)
    inside = box(sources, width, height, share, radius, INSIDE)
    far, outer = _outside(sources, width, height)
    beside = box(outer, far, 3 * height, share, radius, OUTSIDE)
    return (under * inside + (2 * math.pi - under) * beside) * part.truth.leakage


def leg_share(part: Part) -> float:
    """Part of the core's ampere-turn drop at the leg that carries the windings."""
    if part.core.gap > 0:
        return 0.97 if part.core.gap_legs == "centre" else 0.5
    return 0.5


def covered(part: Part) -> float:
    """Part of a turn around a round leg that lies under the outer legs."""
    core, size = part.core, part.core.size
    if core.form == "pot":
        return 1.0 - size.get("slots", 2) * size.get("slot_angle", 0.0) / (2 * math.pi)
    rim = size["window_diameter"] / 2
    if "opening" in size:
        return 2 / math.pi * math.acos(min(size["opening"] / 2 / rim, 1.0))
    return 2 / math.pi * math.asin(min(size["depth"] / 2 / rim, 1.0))


def _outside(sources: Sequence[Source], width: float, height: float) -> tuple[float, list[Source]]:
    """The box beside the core: how far it goes, and the sources raised by one window's height."""
    return width + 2.5 * max(width, height), [_lifted(source, height) for source in sources]


def _lifted(source: Source, by: float) -> Source:
    return Source(source.inner, source.outer, source.centres + by, source.breadth)


def _raised(source: Source, by: float) -> Source:
    return Source(source.inner + by, source.outer + by, source.centres, source.breadth)


def box(
    sources: Sequence[Source], width: float, height: float, share: float, radius: float, cells: int
) -> Array:
    """(n, n) interaction (H per metre and turn²; with ``radius`` > 0 H per turn² and radian) of sources
    between four walls. share : of the ampere-turn drop at the inner wall (for what does not sum to zero)."""
    edges = _edges(tuple((source.inner, source.outer) for source in sources), width, height)
    along = _along_modes(sources, height, cells)
    across = np.stack([_parts_within(edges, source.inner, source.outer) for source in sources])
    result = _mean(sources, height, share, radius)
    step = height / cells
    size = np.diff(edges)
    middle = (edges[1:] + edges[:-1]) / 2
    weight = np.ones_like(middle) if radius == 0 else 1 / (radius + middle)
    faces = np.ones(len(middle) - 1) if radius == 0 else 1 / (radius + edges[1:-1])
    link = step * faces / np.diff(middle)
    order = np.arange(1, cells)
    eigen = 4 * np.sin(np.pi * order / (2 * cells)) ** 2
    diagonal = np.zeros_like(middle)
    diagonal[:-1] += link
    diagonal[1:] += link
    whole = diagonal + eigen[:, None] * (size * weight / step)
    load = along[:, 1:].T[:, :, None] * across[None]
    potential = _eliminate(whole, link, load)
    return np.asarray(result + MU0 * np.einsum("kax,kbx->ab", load, potential))


def _eliminate(diagonal: Array, link: Array, load: Array) -> Array:
    """Solves the tridiagonal systems (modes, cells) for loads (modes, sources, cells)."""
    count = diagonal.shape[1]
    pivot, solved = np.empty_like(diagonal), np.moveaxis(load, -1, 0).copy()
    pivot[:, 0] = diagonal[:, 0]
    for cell in range(1, count):
        factor = link[cell - 1] / pivot[:, cell - 1]
        pivot[:, cell] = diagonal[:, cell] - factor * link[cell - 1]
        solved[cell] += factor[:, None] * solved[cell - 1]
    solved[-1] /= pivot[:, -1, None]
    for cell in range(count - 2, -1, -1):
        solved[cell] = (solved[cell] + link[cell] * solved[cell + 1]) / pivot[:, cell, None]
    return np.moveaxis(solved, 0, -1)


def _along_modes(sources: Sequence[Source], height: float, cells: int) -> Array:
    """(n, cells) discrete cosine coefficients of each turn's current along the layers."""
    grid = np.linspace(0, height, cells + 1)
    rows = []
    for source in sources:
        passed = (grid[:, None] - source.centres + source.breadth / 2) / source.breadth
        rows.append(np.diff(np.clip(passed, 0, 1).mean(axis=1)))
    return np.asarray(dct(np.stack(rows), type=2, norm="ortho", axis=1))


def _parts_within(edges: Array, inner: float, outer: float) -> Array:
    return np.diff(np.clip((edges - inner) / (outer - inner), 0, 1))


@functools.lru_cache(maxsize=64)
def _edges(spans: tuple[tuple[float, float], ...], width: float, height: float) -> Array:
    """Cell edges across: at the edges of all copper, at least three cells in each layer, growing beyond the
    winding."""
    marks = sorted({0.0, *(round(edge, 9) for span in spans for edge in span)})
    marks = [mark for place, mark in enumerate(marks) if place == 0 or mark - marks[place - 1] > 2e-6]
    end = marks[-1]
    coarse = max(end / 40, 1e-5)
    parts = [np.zeros(1)]
    for low, high in itertools.pairwise(marks):
        count = max(math.ceil((high - low) / coarse), 3)
        parts.append(np.linspace(low, high, count + 1)[1:])
    at, step = end, coarse
    while width - at > 1.5 * step:
        at += step
        parts.append(np.array([at]))
        step = min(1.25 * step, height / 12)
    parts.append(np.array([width]))
    return np.concatenate(parts)


def _mean(sources: Sequence[Source], height: float, share: float, radius: float) -> Array:
    """The part of the mean along the layers: μ0/h ∫ F_a F_b dx, of radius r times r (per radian); F falls
    from ``share`` to ``share`` − 1 across each turn."""
    marks = np.unique([edge for source in sources for edge in (source.inner, source.outer)])
    nodes = np.polynomial.legendre.leggauss(3)
    half = np.diff(marks)[:, None] / 2
    x = ((marks[1:] + marks[:-1]) / 2)[:, None] + half * nodes[0]
    weight = half * nodes[1] * (1.0 if radius == 0 else radius + x)
    F = np.stack(
        [share - np.clip((x - source.inner) / (source.outer - source.inner), 0, 1) for source in sources]
    )
    return np.asarray(MU0 / height * np.einsum("axg,bxg,xg->ab", F, F, weight))


def _ring(part: Part, sources: Sequence[Source], in_hand: Sequence[int], arcs: Sequence[float]) -> Array:
    """Full layers on a ring: H = F/(2πr) over its four faces, μ0 ∫ F_a F_b S(d) dd with
    S(d) = (h + 2d)(1/(ri − d) + 1/(ro + d))/2π + ln((ro + d)/(ri − d))/π. Layers on an arc: ``ring_arcs``; of
    separate wires they keep only what each layer has by itself."""
    size = part.core.size
    inner, outer, height = size["inner_diameter"] / 2, size["outer_diameter"] / 2, size["height"]
    marks = np.unique([edge for source in sources for edge in (source.inner, source.outer)])
    nodes = np.polynomial.legendre.leggauss(4)
    half = np.diff(marks)[:, None] / 2
    d = ((marks[1:] + marks[:-1]) / 2)[:, None] + half * nodes[0]
    faces = (height + 2 * d) * (1 / (inner - d) + 1 / (outer + d)) / (2 * math.pi)
    faces += np.log((outer + d) / (inner - d)) / math.pi
    F = np.stack(
        [1.0 - np.clip((d - source.inner) / (source.outer - source.inner), 0, 1) for source in sources]
    )
    even = MU0 * np.einsum("axg,bxg,xg->ab", F, F, half * nodes[1] * faces)
    apart = _between_wires(sources, in_hand, inner, outer, height, 1.0)
    if min(arcs) >= 1.0:
        return np.asarray(even + apart)
    below = MU0 * np.einsum("axg,xg->a", F, half * nodes[1] * faces)
    whole = MU0 * np.sum(half * nodes[1] * faces)
    core, truth = part.core, part.truth
    iron = MU0 * core.permeability * truth.permeability * truth.bias * core.area / core.length
    share = occupied([(0.5, arc) for arc in arcs])
    on_arcs = linked((inner, outer, height), iron, share, even, np.append(below, whole))
    for row, arc in enumerate(arcs):
        if arc < 1.0:
            own = _between_wires(sources[row : row + 1], in_hand[row : row + 1], inner, outer, height, arc)
            apart[row], apart[:, row], apart[row, row] = 0.0, 0.0, own[0, 0]
    return np.asarray(on_arcs + apart)


def _between_wires(
    sources: Sequence[Source],
    in_hand: Sequence[int],
    inner: float,
    outer: float,
    height: float,
    arc: float,
) -> Array:
    """What separate wires add on a ring: each face unrolled (inside, outside, both flat sides in two halves),
    with the core as one wall and the far one out of reach, the corners shared among them; the mean of each
    layer is counted already."""
    top = max(source.outer for source in sources)
    middle = (inner + outer) / 2
    perimeter = 2 * height + 2 * (outer - inner)
    corners = 1 + math.pi * top * 1.2 / perimeter
    faces = (
        (inner - top / 2, height * corners),
        (outer + top / 2, height * corners),
        (middle, 2 * (outer - inner) * corners),
    )
    total = np.zeros((len(sources), len(sources)))
    for radius, length in faces:
        round_it = 2 * math.pi * radius * arc
        placed = [spread(one, round_it, hand) for one, hand in zip(sources, in_hand, strict=True)]
        far = top + round_it / 4
        mean = _mean(placed, round_it, 1.0, 0.0)
        total += length * (box(placed, far, round_it, 1.0, 0.0, AROUND) - mean)
    return total
