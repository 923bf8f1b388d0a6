"""The circuit of a test, solved by modified nodal analysis for all builds at once.

    [ Z  −Aᵀ ] [I]   [0]
    [ A  jωC ] [V] = [J]

with A the incidence matrix of ``network.Wiring``. The core couples every branch by its turns, Z = Z' + jωP n
nᵀ, so one more solution of the circuit without the core gives the answer for any permeance P.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..design import ComplexArray, FloatArray
from .network import Wiring

STRAY = 1e-9
"""Susceptance of every node to its surroundings, as part of the largest one, so that no node floats
(measured on 26 designs: ten times more moves no reading by more than 1.4e-7, a tenth 1.4e-8)."""


@dataclass(frozen=True)
class Solution:
    """Voltages and currents per ampere into the driven port, B builds.

    Attributes
    ----------
    drive : (B,) array of complex, V
    sense : (B,) array of complex, V
    currents : (B, b) array of complex, in the coupled branches, A
    """

    drive: ComplexArray
    sense: ComplexArray
    currents: ComplexArray


def solve(
    wiring: Wiring,
    coupled: ComplexArray,
    leads: ComplexArray,
    short_impedance: ComplexArray,
    susceptance: FloatArray | None = None,
) -> Solution:
    """Solve the circuit for one ampere into the driven port.

    Parameters
    ----------
    wiring : Wiring
    coupled : (B, b, b) array of complex, impedances of ``wiring.branches``, ohm
    leads : (B, l) array of complex, impedance of each lead element, ohm
    short_impedance : (B,) array of complex, impedance of a shorting link, ohm; 0 is an ideal short
    susceptance : (B, m, m) array or None
        ωC of the potentials of ``wiring.potentials``, S; None without capacitance.
    """
    matrix = _nodal(wiring, coupled, leads, short_impedance, susceptance)
    answer = np.linalg.solve(matrix, wiring.source[None, :, None])
    return _solution(wiring, answer[..., 0], coupled.shape[1])


@dataclass(frozen=True, kw_only=True)
class AroundCore:
    """A circuit without its core, from which the solution for any core follows (``with_core``).

    It is solved for the driven port and for one volt per turn in every branch.

    Attributes
    ----------
    wiring : Wiring
    branches : int, coupled branches, count
    port : (B, size) array of complex, solution for the driven port: currents in A, voltages in V
    turn : (B, size) array of complex, solution for one volt per turn: currents in A, voltages in V
    enclosed : (B,) array of complex, ampere-turns of ``port``, A
    linked : (B,) array of complex, ampere-turns of ``turn``, A
    """

    wiring: Wiring
    branches: int
    port: ComplexArray
    turn: ComplexArray
    enclosed: ComplexArray
    linked: ComplexArray

    def with_core(self, core: ComplexArray) -> Solution:
        """The solution with a core, by a rank-one update.

            x = x_port − z (nᵀ x_port)/(1 + z nᵀ x_turn) x_turn

        Parameters
        ----------
        core : (B,) array of complex, impedance z = jωP of the core, ohm per turn²

        References
        ----------
        Sherman, Morrison 1950 (from memory).
        """
        share = core * self.enclosed / (1 + core * self.linked)
        return _solution(self.wiring, self.port - share[:, None] * self.turn, self.branches)


def solve_around_core(
    wiring: Wiring,
    coupled: ComplexArray,
    leads: ComplexArray,
    short_impedance: ComplexArray,
    susceptance: FloatArray | None,
    turns: FloatArray,
) -> AroundCore:
    """``solve`` for every permeance of the core at once.

    Parameters
    ----------
    wiring : Wiring, connections of the circuit
    coupled : (B, b, b) array of complex, impedances of the branches without the core, ohm
    leads : (B, l) array of complex, impedance of each lead element, ohm
    short_impedance : (B,) array of complex, impedance of a shorting link, ohm
    susceptance : (B, m, m) array or None, ωC of the potentials, S; None without capacitance
    turns : (B, b) array, of the branches around the core, count
    """
    b = coupled.shape[1]
    matrix = _nodal(wiring, coupled, leads, short_impedance, susceptance)
    sources = np.zeros((*matrix.shape[:2], 2), complex)
    sources[..., 0] = wiring.source
    sources[:, :b, 1] = turns
    answer = np.linalg.solve(matrix, sources)
    flux = np.sum(turns[..., None] * answer[:, :b], axis=1)
    return AroundCore(
        wiring=wiring,
        branches=b,
        port=answer[..., 0],
        turn=answer[..., 1],
        enclosed=flux[:, 0],
        linked=flux[:, 1],
    )


def _nodal(
    wiring: Wiring,
    coupled: ComplexArray,
    leads: ComplexArray,
    short_impedance: ComplexArray,
    susceptance: FloatArray | None,
) -> ComplexArray:
    """(B, size, size) matrix of the modified nodal analysis: currents of the elements, then the nodes."""
    count, b, _ = coupled.shape
    nodes, elements = wiring.incidence.shape
    matrix = np.empty((count, *wiring.connections.shape), complex)
    matrix[:] = wiring.connections
    matrix[:, :b, :b] = coupled
    diagonal = np.arange(b, elements)
    links = b + leads.shape[-1]
    matrix[:, diagonal[: links - b], diagonal[: links - b]] = leads
    matrix[:, diagonal[links - b :], diagonal[links - b :]] = short_impedance[:, None]
    if susceptance is not None and wiring.potentials is not None:
        between = wiring.potentials @ susceptance @ wiring.potentials.T
        stray = STRAY * np.max(np.abs(susceptance), axis=(1, 2))[:, None, None] * np.eye(nodes)
        matrix[:, elements:, elements:] = 1j * (between + stray)
    return matrix


def _solution(wiring: Wiring, answer: ComplexArray, branches: int) -> Solution:
    voltages = answer[:, wiring.incidence.shape[1] :]
    return Solution(
        np.asarray(voltages @ wiring.drive), np.asarray(voltages @ wiring.sense), answer[:, :branches]
    )


@dataclass(frozen=True, kw_only=True, eq=False)
class CircuitFrame:
    """The connections of T circuits of one size: ``elements`` currents, then N nodes.

    Attributes
    ----------
    elements : int, branches, lead-outs and links, count
    matrix : (T, size, size) array of complex
        Incidence of every circuit, with one on the diagonal of nodes that it does not have.
    shorted : (T, K) array of bool, links that the circuit has
    drive : (T, N) array, driven port, dimensionless
    sense : (T, N) array, sensed port, dimensionless
    potentials : (T, N, m) array, node of each potential of the capacitance matrix, dimensionless
    present : (T, N) array of bool, nodes that the circuit has
    """

    elements: int
    matrix: ComplexArray
    shorted: NDArray[np.bool_]
    drive: FloatArray
    sense: FloatArray
    potentials: FloatArray
    present: NDArray[np.bool_]


@functools.lru_cache(maxsize=64)
def connections_of(wirings: tuple[Wiring, ...]) -> CircuitFrame:
    """The frame of T circuits with the same branches, lead-outs and potentials, with read-only arrays."""
    first, many = wirings[0], len(wirings)
    before = len(first.branches) + len(first.lead_windings)
    elements = before + max(wiring.links for wiring in wirings)
    nodes = max(len(wiring.drive) for wiring in wirings)
    assert first.potentials is not None
    matrix = np.zeros((many, elements + nodes, elements + nodes), complex)
    shorted = np.arange(before, elements) < before + np.array([[wiring.links] for wiring in wirings])
    present = np.arange(nodes) < np.array([[len(wiring.drive)] for wiring in wirings])
    drive, sense = np.zeros((many, nodes)), np.zeros((many, nodes))
    potentials = np.zeros((many, nodes, first.potentials.shape[1]))
    for index, wiring in enumerate(wirings):
        rows, columns = wiring.incidence.shape
        matrix[index, :columns, elements : elements + rows] = -wiring.incidence.T
        matrix[index, elements : elements + rows, :columns] = wiring.incidence
        drive[index, :rows], sense[index, :rows] = wiring.drive, wiring.sense
        potentials[index, :rows] = wiring.potentials
    place = np.arange(elements, elements + nodes)
    matrix[:, place, place] = ~present
    for array in (matrix, shorted, drive, sense, potentials, present):
        array.flags.writeable = False
    return CircuitFrame(
        elements=elements,
        matrix=matrix,
        shorted=shorted,
        drive=drive,
        sense=sense,
        potentials=potentials,
        present=present,
    )
