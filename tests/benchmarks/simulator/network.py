"""The circuit of a part on the bench: sections coupled by core and leakage, capacitances, links and leads.

Unknown are the potentials of all nodes and the currents of all sections; one complex system for each
frequency:

    V(start) − V(finish) = Z I,     Z = jω(P n nᵀ + N K N) + R + Z_ac
    Σ currents at each node = injected,     capacitances between nodes, links as admittances

n: turns with their sense. A closed ring (shorted turns, a band) is a section whose ends are one node.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from . import capacitance, copper
from .core import permeance
from .field import Source, interaction, leg_share
from .layers import Array, Layout
from .layout import lay
from .parts import Part

Complex = NDArray[np.complexfloating[Any, Any]]
GROUND = 1e-13
"""Conductance that keeps floating windings at a potential (S)."""


@dataclass(frozen=True)
class Circuit:
    """What the tests of one part share.

    turns : (S,) of each section, with sense. K : (S, S) leakage (H). R : (S,) direct (ohm). C : over nodes.
    start, finish : (S,) node of each section's ends. nodes : how many; the core is the last.
    ends : winding → (start node, finish node).
    """

    part: Part
    layout: Layout
    turns: Array
    K: Array
    R: Array
    C: Array
    start: tuple[int, ...]
    finish: tuple[int, ...]
    nodes: int
    ends: dict[str, tuple[int, int]]
    ring: int
    share: float


def circuit_of(part: Part) -> Circuit:
    """The circuit of a part as wound."""
    layout = lay(part)
    ring = _ring(part, layout)
    per_layer = interaction(part, layout, ring[0] if ring else None)
    common = float(per_layer[: len(layout.layers), : len(layout.layers)].mean())
    per_layer = per_layer - common  # what links every turn is in the set's inductance factor
    count = len(layout.branches)
    size = count + (1 if ring else 0)
    gather = np.zeros((len(per_layer), size))
    for number, layer in enumerate(layout.layers):
        gather[number, layer.branch] = layer.turns * layout.branches[layer.branch].sense
    turns = np.array([branch.turns * branch.sense for branch in layout.branches])
    resistance = copper.direct(part, layout, part.bench.temperature + part.truth.warmer)
    if ring:
        gather[-1, -1] = 1.0
        name = part.truth.shorted_turns
        lost = float(name[1]) if name else 0.0
        turns = np.append(turns, 1.0)
        resistance = np.append(resistance, ring[1])
        if name:
            first = next(k for k, branch in enumerate(layout.branches) if branch.winding == name[0])
            resistance[first] *= 1 - lost / layout.branches[first].turns
            turns[first] -= lost * layout.branches[first].sense
            gather[:, first] *= 1 - lost / layout.branches[first].turns
    start, finish, ends, nodes = _nodes(part, layout, bool(ring))
    return Circuit(
        part,
        layout,
        turns,
        gather.T @ per_layer @ gather,
        resistance,
        _node_capacitance(part, layout, start, finish, nodes),
        tuple(start),
        tuple(finish),
        nodes,
        ends,
        1 if ring else 0,
        part.truth.leg_share if part.truth.leg_share is not None else leg_share(part),
    )


def _ring(part: Part, layout: Layout) -> tuple[Source, float] | None:
    """A closed ring: n turns shorted in the middle of a winding's first layer, as one turn of n times their
    metal; or a band of metal around everything."""
    if part.truth.band > 0:
        top = max(layer.outer for layer in layout.layers)
        middle = np.array([layout.height / 2])
        return Source(top + 0.2e-3, top + 0.5e-3, middle, 0.7 * layout.height), part.truth.band
    if part.truth.shorted_turns is None:
        return None
    name, lost = part.truth.shorted_turns
    layer = next(layer for layer in layout.layers if layer.winding == name)
    depth = (layer.inner + layer.outer) / 2
    at = float(layer.centres[len(layer.centres) // 2])
    breadth = max(layer.breadth * layer.wire.in_hand * lost, 0.15e-3)
    temperature = part.bench.temperature + part.truth.warmer
    metal = layer.metal * lost / max(layer.wire.in_hand - layer.wire.open_strands, 1)
    ohm = copper.resistivity(part, layer, temperature) * copper.turn_length(part, layer) / metal
    return Source(depth - layer.copper / 2, depth + layer.copper / 2, np.array([at]), breadth), ohm


def _nodes(
    part: Part, layout: Layout, ring: bool
) -> tuple[list[int], list[int], dict[str, tuple[int, int]], int]:
    """Nodes of all section ends, windings' ends, and how many there are; the core is the last one."""
    start, finish = [0] * len(layout.branches), [0] * len(layout.branches)
    ends: dict[str, tuple[int, int]] = {}
    node = 0
    for winding in part.windings:
        own = [k for k, branch in enumerate(layout.branches) if branch.winding == winding.name]
        first = node
        if winding.parallel:
            node += 2
            for k in own:
                start[k], finish[k] = first, first + 1
        else:
            for k in own:
                start[k], finish[k] = node, node + 1
                node += 1
            node += 1
        last = node - 1
        ends[winding.name] = (first, last) if winding.sense > 0 else (last, first)
    if ring:
        start.append(node)
        finish.append(node)
        node += 1
    return start, finish, ends, node + 1


def _node_capacitance(
    part: Part, layout: Layout, start: Sequence[int], finish: Sequence[int], nodes: int
) -> Array:
    small = capacitance.matrix(part, layout)
    count = len(layout.branches)
    place = np.zeros((2 * count + 1, nodes))
    for k, branch in enumerate(layout.branches):
        begin, end = (start[k], finish[k]) if branch.sense > 0 else (finish[k], start[k])
        place[k, begin] = 1.0
        place[count + k, end] = 1.0
    place[-1, nodes - 1] = 1.0
    return np.asarray(place.T @ small @ place)


def impedance_matrix(circuit: Circuit, frequency: Array, flux_density: float) -> Array:
    """(F, S, S) of all sections (ohm)."""
    omega = 2 * math.pi * frequency
    P = permeance(circuit.part, frequency, flux_density)
    both = P[:, None, None] * np.outer(circuit.turns, circuit.turns) + circuit.K
    Z = 1j * omega[:, None, None] * both
    sense = np.array([branch.sense for branch in circuit.layout.branches])
    count = len(sense)
    added = copper.alternating(circuit.part, circuit.layout, omega, circuit.share)
    Z[:, :count, :count] += added * np.outer(sense, sense)
    index = np.arange(len(circuit.R))
    Z[:, index, index] += circuit.R
    for winding in circuit.part.windings:
        own = [k for k, branch in enumerate(circuit.layout.branches) if branch.winding == winding.name]
        more = winding.joint + 1j * omega * winding.loop
        if winding.parallel:
            Z[:, np.array(own)[:, None], np.array(own)[None, :]] += more[:, None, None]
        else:
            Z[:, own[0], own[0]] += more
    return np.asarray(Z)


def solve(
    circuit: Circuit,
    frequency: Array,
    drive: Sequence[str],
    short: Sequence[str],
    sense: Sequence[str] = (),
    *,
    flux_density: float = 0.0,
    capacitive: bool = True,
) -> tuple[Array, Array]:
    """(F,) impedance at the driven terminals without the leads, and V(sense)/V(drive), complex."""
    part = circuit.part
    omega = 2 * math.pi * frequency
    joined = _joined(circuit, drive)
    plus, minus = joined[0], joined[1]
    merged = joined[2]
    N, S = circuit.nodes, len(circuit.turns)
    Z = impedance_matrix(circuit, frequency, flux_density)
    A = np.zeros((len(frequency), N + S, N + S), complex)
    A[:, :N, :N] = np.eye(N) * GROUND
    if capacitive:
        A[:, :N, :N] += 1j * omega[:, None, None] * circuit.C
    for k in range(S):
        A[:, circuit.start[k], N + k] += 1
        A[:, circuit.finish[k], N + k] -= 1
        A[:, N + k, circuit.start[k]] += 1
        A[:, N + k, circuit.finish[k]] -= 1
    A[:, N:, N:] -= Z
    link = part.bench.short[1] + 1j * omega * part.bench.short[0]
    for name in short:
        one, two = circuit.ends[name]
        _conduct(A, one, two, 1 / link)
    for one, two in merged:
        _conduct(A, one, two, np.full(len(omega), 1e7 + 0j))
    load = np.zeros((len(omega), N + S, 1), complex)
    load[:, plus, 0] = 1.0
    load[:, minus, 0] -= 1.0
    found = np.linalg.solve(A, load)[:, :, 0]
    impedance = found[:, plus] - found[:, minus]
    if not sense:
        return impedance, np.zeros_like(impedance)
    one, two, _ = _joined(circuit, sense)
    return impedance, (found[:, one] - found[:, two]) / impedance


def _conduct(A: Complex, one: int, two: int, admittance: Complex) -> None:
    A[:, one, one] += admittance
    A[:, two, two] += admittance
    A[:, one, two] -= admittance
    A[:, two, one] -= admittance


def _joined(circuit: Circuit, names: Sequence[str]) -> tuple[int, int, list[tuple[int, int]]]:
    """Terminals of windings in series, and the pairs of nodes that are joined for it."""
    ends = []
    for name in names:
        one, two = circuit.ends[name.removeprefix("-")]
        ends.append((two, one) if name.startswith("-") else (one, two))
    joins = [(before[1], after[0]) for before, after in itertools.pairwise(ends)]
    return ends[0][0], ends[-1][1], joins
