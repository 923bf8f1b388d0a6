"""The circuit of a test, solved by modified nodal analysis for all builds at once.

    [ Z  −Aᵀ ] [I]   [0]
    [ A  jωC ] [V] = [J]

with A the incidence matrix of ``network.Wiring``. The core couples every branch by its turns, Z = Z' + jωP n
nᵀ, so one more solution of the circuit without the core gives the answer for any permeance P.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

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
    drive : (B,) array of complex
        Voltage of the driven port, V.
    sense : (B,) array of complex
        Voltage of the sensed port, V.
    currents : (B, b) array of complex
        Currents in the coupled branches, A.
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
        Connections of the circuit.
    coupled : (B, b, b) array of complex
        Impedances of ``wiring.branches``, ohm.
    leads : (B, l) array of complex
        Impedance of each lead element, ohm.
    short_impedance : (B,) array of complex
        Impedance of a shorting link, ohm; 0 is an ideal short.
    susceptance : (B, m, m) array or None
        ωC of the potentials of ``wiring.potentials``, S; None without capacitance.

    Returns
    -------
    Solution
        Voltages and currents per ampere.
    """
    matrix = _nodal(wiring, coupled, leads, short_impedance, susceptance)
    source = _source(wiring)
    answer = np.linalg.solve(matrix, np.broadcast_to(source[:, None], (len(matrix), len(source), 1)))
    return _solution(wiring, answer[..., 0], coupled.shape[1])


@dataclass(frozen=True, kw_only=True)
class AroundCore:
    """A circuit without its core, from which the solution for any core follows (``with_core``).

    It is solved for the driven port and for one volt per turn in every branch.

    Attributes
    ----------
    wiring : Wiring
        Connections of the circuit.
    branches : int
        Coupled branches, count.
    port : (B, size) array of complex
        Solution for the driven port: currents in A, voltages in V.
    turn : (B, size) array of complex
        Solution for one volt per turn: currents in A, voltages in V.
    enclosed : (B,) array of complex
        Ampere-turns of ``port``, A.
    linked : (B,) array of complex
        Ampere-turns of ``turn``, A.
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
        core : (B,) array of complex
            Impedance z = jωP of the core, ohm per turn².

        Returns
        -------
        Solution
            Voltages and currents per ampere.

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
    wiring : Wiring
        Connections of the circuit.
    coupled : (B, b, b) array of complex
        Impedances of the branches without the core, ohm.
    leads : (B, l) array of complex
        Impedance of each lead element, ohm.
    short_impedance : (B,) array of complex
        Impedance of a shorting link, ohm.
    susceptance : (B, m, m) array or None
        ωC of the potentials, S; None without capacitance.
    turns : (B, b) array
        Turns of the branches around the core, count.

    Returns
    -------
    AroundCore
        Solution to which any core can be added.
    """
    b = coupled.shape[1]
    matrix = _nodal(wiring, coupled, leads, short_impedance, susceptance)
    sources = np.zeros((*matrix.shape[:2], 2), complex)
    sources[..., 0] = _source(wiring)
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
    size = elements + nodes
    matrix = np.zeros((count, size, size), complex)
    matrix[:, :b, :b] = coupled
    diagonal = np.arange(b, b + leads.shape[-1])
    matrix[:, diagonal, diagonal] = leads
    diagonal = np.arange(b + leads.shape[-1], elements)
    matrix[:, diagonal, diagonal] = np.reshape(short_impedance, (-1, 1))
    matrix[:, :elements, elements:] = -wiring.incidence.T
    matrix[:, elements:, :elements] = wiring.incidence
    if susceptance is not None and wiring.potentials is not None:
        between = wiring.potentials @ susceptance @ wiring.potentials.T
        stray = STRAY * np.max(np.abs(susceptance), axis=(1, 2))[:, None, None] * np.eye(nodes)
        matrix[:, elements:, elements:] = 1j * (between + stray)
    return matrix


def _source(wiring: Wiring) -> FloatArray:
    """(size,) one ampere into the driven port."""
    return np.concatenate([np.zeros(wiring.incidence.shape[1]), wiring.drive])


def _solution(wiring: Wiring, answer: ComplexArray, branches: int) -> Solution:
    voltages = answer[:, wiring.incidence.shape[1] :]
    return Solution(
        np.asarray(voltages @ wiring.drive), np.asarray(voltages @ wiring.sense), answer[:, :branches]
    )
