"""The circuit of a test, solved by modified nodal analysis for all builds at once.

    [ Z  −Aᵀ ] [I]   [0]
    [ A  jωC ] [V] = [J]

with A the incidence matrix of ``network.Wiring``. The core couples every branch by its turns, Z = Z' + jωP n
nᵀ: one more solution of the circuit without it gives the answer for any permeance P.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..design import ComplexArray, FloatArray
from .network import Wiring

STRAY = 1e-9
"""Part of the largest susceptance that every node has to its surroundings, so that none floats freely."""


@dataclass(frozen=True)
class Solution:
    """Per ampere into the driven port, for (B,) builds: ``drive``, ``sense`` voltages (V) and the
    ``currents`` (B, branches) in the coupled branches (A)."""

    drive: ComplexArray
    sense: ComplexArray
    currents: ComplexArray


def solve(
    wiring: Wiring,
    coupled: ComplexArray,
    leads: ComplexArray,
    link: ComplexArray,
    susceptance: FloatArray | None = None,
) -> Solution:
    """Solve the circuit for one ampere into the driven port.

    coupled : (B, b, b) impedances (Ω) of ``wiring.branches``. leads : (B, l) impedance (Ω) of each lead
    element.
    link : (B,) impedance (Ω) of a shorting link. An ideal short is a link of zero. susceptance : (B, m, m)
    ωC (S) of the potentials of ``wiring.potentials``, which goes with them.
    """
    matrix = _nodal(wiring, coupled, leads, link, susceptance)
    source = _source(wiring)
    answer = np.linalg.solve(matrix, np.broadcast_to(source[:, None], (len(matrix), len(source), 1)))
    return _solution(wiring, answer[..., 0], coupled.shape[1])


@dataclass(frozen=True, kw_only=True)
class AroundCore:
    """A circuit without its core, solved for the driven port (``port``) and for a voltage of one volt per
    turn in every branch (``turn``), (B, size) each, from which any core's answer follows: ``with_core``.

    enclosed : (B,) ampere-turns of ``port``, linked : (B,) those of ``turn``.
    """

    wiring: Wiring
    branches: int
    port: ComplexArray
    turn: ComplexArray
    enclosed: ComplexArray
    linked: ComplexArray

    def with_core(self, core: ComplexArray) -> Solution:
        """The solution with a core of ``core`` (B,) Ω per turn², jωP: the rank-one update

        x = x_port − z (nᵀ x_port)/(1 + z nᵀ x_turn) x_turn      (Sherman, Morrison 1950; from memory).
        """
        share = core * self.enclosed / (1 + core * self.linked)
        return _solution(self.wiring, self.port - share[:, None] * self.turn, self.branches)


def solve_around_core(
    wiring: Wiring,
    coupled: ComplexArray,
    leads: ComplexArray,
    link: ComplexArray,
    susceptance: FloatArray | None,
    turns: FloatArray,
) -> AroundCore:
    """``solve`` for every permeance of the core at once: ``coupled`` leaves it out, ``turns`` (B, b) link
    it."""
    b = coupled.shape[1]
    matrix = _nodal(wiring, coupled, leads, link, susceptance)
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
    link: ComplexArray,
    susceptance: FloatArray | None,
) -> ComplexArray:
    """(B, size, size) matrix of the modified nodal analysis: the elements' currents, then the nodes."""
    count, b, _ = coupled.shape
    nodes, elements = wiring.incidence.shape
    size = elements + nodes
    matrix = np.zeros((count, size, size), complex)
    matrix[:, :b, :b] = coupled
    place = np.arange(b, b + leads.shape[-1])
    matrix[:, place, place] = leads
    place = np.arange(b + leads.shape[-1], elements)
    matrix[:, place, place] = np.reshape(link, (-1, 1))
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
