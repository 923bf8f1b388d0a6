"""A design → the circuit of its netlist: branches, nodes, and elements each of which is passive.

The circuit is that of ``circuit``: one element per branch (what one step winds of one winding), coupled by
the core (rank one in the turns), by leakage and eddy currents (``fit``), with the charges of
``capacitance`` between the branches' ends, core and shields.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from ..capacitance import BuildCapacitance, build_capacitance
from ..circuit import (
    Sections,
    Wiring,
    balanced_ampere_turns,
    section_interaction,
    sections_of,
    solve_around_core,
    wire,
)
from ..copper import lead_resistance, section_resistance
from ..cores import permeance
from ..design import CORE, BenchTest, ComplexArray, Design, FloatArray, Member, first_build
from ..field import lead_inductance
from .fit import Mode, fit_core, fit_matrix, impedance_of, thinned

_POINTS_PER_DECADE = 8
_MARGIN = 2.0
"""Factor by which the fit of the windings extends beyond the requested frequencies. Measured on netlists of
the three samples: 1 and 4 move the largest deviation of a shorted resistance from 0.51 to 0.39 and 0.54 %."""
_CORE_POINTS_PER_DECADE = 40
"""Points for the fit of the core, whose tables have corners. Measured on the samples: with 20 and 80
no deviation exceeds 0.44 and 0.72 % (here 0.69)."""

_RESISTANCE_SHARE = 2.0
"""Error that an open winding's resistance may have, relative to that of its impedance. Judged;
measured on netlists of the samples: 1 and 4 halve and double the deviation of that resistance, for 10 %
more and 5 % fewer elements."""
_CORE_SHARE = 0.2
"""Error that an open winding's impedance may have, relative to that of the core's. Judged;
measured on netlists of the samples: half and twice move nothing."""

_LENT = (0.0, 0.01, 0.02, 0.05, 0.1, 0.2)
"""Fractions of the core permeance moved into the leakage matrix, tried until it is positive definite
(judged)."""


probe = partial(BenchTest, level=1e-6, link=0.0, leads=0.0)
"""A test at a level too small to have an effect, with ideal links and no leads."""


@dataclass(frozen=True)
class Range:
    """Frequencies between which a netlist should hold.

    Attributes
    ----------
    low, high : float, lowest and highest frequency, Hz
    """

    low: float = 1e3
    high: float = 1e6

    def points(self, margin: float = 1.0, per_decade: float = _POINTS_PER_DECADE) -> FloatArray:
        """Frequencies evenly spaced in the logarithm.

        Parameters
        ----------
        margin : float, optional, factor by which they extend beyond either end, dimensionless
        per_decade : int, optional, points per decade, count

        Returns
        -------
        (F,) array, frequencies, Hz
        """
        low, high = self.low / margin, self.high * margin
        return np.geomspace(low, high, max(5, round(per_decade * math.log10(high / low)) + 1))


@dataclass(frozen=True, kw_only=True)
class CircuitBranch:
    """An element between two nodes: a section group of a winding, or a closed shield.

    Attributes
    ----------
    winding : str, name of the winding
    step : int, build step that it belongs to, index
    begin, end : int, node where it begins and ends, index
    resistance : float, direct-current resistance, ohm
    turns : float, turns, signed by the winding direction, count
    """

    winding: str
    step: int
    begin: int
    end: int
    resistance: float
    turns: float


@dataclass(frozen=True)
class Lead:
    """The lead-outs of a winding, between its terminal and its inner end.

    Attributes
    ----------
    winding : str, name of the winding
    begin : int, node of the terminal, index
    end : int, inner node, index
    resistance : float, ohm
    inductance : float, H
    """

    winding: str
    begin: int
    end: int
    resistance: float
    inductance: float


@dataclass(frozen=True, kw_only=True)
class Circuit:
    """One build of a design as a circuit of passive elements; nodes are numbered from 0.

    Attributes
    ----------
    design : Design
    nodes : int, count
    terminals : tuple[tuple[str, str, int], ...]
        (conductor, end, node index) of each pin: every winding's start and finish, core, shields that are
        tied to nothing.
    branches : tuple[CircuitBranch, ...], of the windings
    leads : tuple[Lead, ...], lead-outs
    core : tuple[Mode, ...]
        Modes of the core (ratio 1, per turn²); none of coils in air, whose coupling holds everything.
    coupling : tuple[Mode, ...], Modes of the branches
    capacitance : (N, N) array, capacitance matrix, F; positive semidefinite, with rows that sum to zero
    sections : Sections of the windings
    potentials : BuildCapacitance, its capacitances, between the potentials of the layers
    temperature : float, degC
    """

    design: Design
    nodes: int
    terminals: tuple[tuple[str, str, int], ...]
    branches: tuple[CircuitBranch, ...]
    leads: tuple[Lead, ...]
    core: tuple[Mode, ...]
    coupling: tuple[Mode, ...]
    capacitance: FloatArray
    sections: Sections
    potentials: BuildCapacitance
    temperature: float

    @property
    def turns(self) -> FloatArray:
        """Turns of the branches (b,), signed by the winding direction, count."""
        return np.array([branch.turns for branch in self.branches])

    def response(self, test: BenchTest) -> tuple[complex, complex]:
        """Impedance at the driven port, ohm, and voltage at the sensed one per ampere, ohm, with ideal links
        and no leads."""
        layout = self.sections.layout
        omega = np.array([test.angular_frequency])
        capacitances = self.potentials
        wiring = wire(self.design, layout.branches, test, capacitances.labels)
        coupled = impedance_of(self.coupling, omega) + np.diag([b.resistance for b in self.branches])
        leads = np.array([[lead.resistance + 1j * omega[0] * lead.inductance for lead in self.leads]])
        around = solve_around_core(
            wiring,
            coupled,
            leads.reshape(1, -1) + 0j,
            np.zeros(1, complex),
            omega[0] * capacitances.matrix[:1],
            self.turns[None],
        )
        core = impedance_of(self.core, omega)[:, 0, 0] if self.core else np.zeros(1, complex)
        answer = around.with_core(core)
        return complex(answer.drive[0]), complex(answer.sense[0])


def fitted_circuit(
    design: Design, span: Range, flux_density: float = 0.0, temperature: float | None = None
) -> Circuit:
    """Circuit of one build of a design, fitted over a range of frequencies.

    Leakage is that of every pair of windings, each with its own field lengths, as its test reads it.

    Parameters
    ----------
    design : Design
    span : Range
    flux_density : float, optional, peak flux density in the core, T
    temperature : float or None, optional, temperature, degC; None for the bench's

    Raises
    ------
    BuildError
        The layout is outside the models.
    """
    warm = design.bench.temperature if temperature is None else temperature
    design = replace(design, tests=(_plain(design, 0, span.low),))  # local fields require a test
    sections = sections_of(design)
    capacitances = build_capacitance(design, sections.layers)
    nodes = _nodes_of(sections, capacitances)
    omega = 2 * math.pi * span.points(_MARGIN)
    windings = _windings_of(sections, nodes.wiring, omega, warm)
    dense = thinned(math.log10(span.high / span.low))
    core_omega = 2 * math.pi * span.points(1.0, _CORE_POINTS_PER_DECADE * dense)
    core = np.array([_core_impedance(design, float(w), warm, flux_density) for w in core_omega])
    around_a_core = design.core.dimensions.permeable
    if around_a_core:
        windings, core = _with_lent_permeance(windings, core_omega, core)
    leads = _leads_of(design, nodes, warm)
    coupling = fit_matrix(omega, windings.impedance, windings.resistance)
    open_circuit = _OpenCircuit(
        sections=sections,
        capacitances=capacitances,
        omega=core_omega,
        coupled=impedance_of(coupling, core_omega) + np.diag(windings.resistance),
        leads=np.array([lead.resistance + 1j * core_omega * lead.inductance for lead in leads])
        .reshape(-1, len(core_omega))
        .T,
        turns=windings.turns,
    )
    return Circuit(
        design=design,
        nodes=len(nodes.incidence),
        terminals=_terminals_of(design, sections, capacitances, nodes),
        branches=_branches_of(sections, capacitances, nodes, windings),
        leads=leads,
        core=fit_core(core_omega, core, _open_gains(open_circuit, core)) if around_a_core else (),
        coupling=coupling,
        capacitance=nodes.potentials @ capacitances.matrix[0] @ nodes.potentials.T,
        sections=sections,
        potentials=capacitances,
        temperature=warm,
    )


@dataclass(frozen=True)
class _Nodes:
    """The circuit's nodes, with the reference last.

    ``incidence``: (nodes, elements). ``potentials``: (nodes, m), the node of each potential of the
    capacitance matrix.
    """

    wiring: Wiring
    incidence: FloatArray
    potentials: FloatArray

    def at(self, column: int, sign: int) -> int | None:
        """Node at which the current of element ``column`` enters (+1) or leaves (−1); None if the element
        closes on itself."""
        hits = np.flatnonzero(np.sign(self.incidence[:, column]) == sign)
        return int(hits[0]) if len(hits) else None


def _nodes_of(sections: Sections, capacitances: BuildCapacitance) -> _Nodes:
    design = sections.design
    wiring = wire(design, sections.layout.branches, _plain(design, 0), capacitances.labels)
    assert wiring.potentials is not None
    return _Nodes(
        wiring,
        np.vstack([wiring.incidence, -np.sum(wiring.incidence, axis=0)]),
        np.vstack([wiring.potentials, 1 - np.sum(wiring.potentials, axis=0)]),
    )


def _terminals_of(
    design: Design, sections: Sections, capacitances: BuildCapacitance, nodes: _Nodes
) -> tuple[tuple[str, str, int], ...]:
    """(winding, "start" or "finish", node) of every winding, then (core or untied shield, "", node)."""
    test, reference = _plain(design, 0), len(nodes.incidence) - 1
    terminals: list[tuple[str, str, int]] = []
    for winding in design.windings:
        sensed = replace(test, sense=(Member(winding.name),))
        driven = winding.name == design.windings[0].name
        vector = (
            nodes.wiring.drive
            if driven
            else wire(design, sections.layout.branches, sensed, capacitances.labels).sense
        )
        for end, sign in (("start", 1.0), ("finish", -1.0)):
            hits = np.flatnonzero(vector == sign)
            terminals.append((winding.name, end, int(hits[0]) if len(hits) else reference))
    tied = {shield.name for shield in design.shields if shield.tied}
    for column, (label, name) in enumerate(capacitances.labels):
        if label < 0 and (name == CORE or name not in tied):
            terminals.append((name, "", int(np.argmax(nodes.potentials[:, column]))))
    return tuple(terminals)


@dataclass(frozen=True)
class _Windings:
    """The b branches without the core.

    ``impedance``: (F, b, b) Ω at ω (F,) rad/s, without the direct-current resistance. ``resistance``: (b,)
    Ω. ``turns``: (b,) signed.
    """

    omega: FloatArray
    impedance: ComplexArray
    resistance: FloatArray
    turns: FloatArray


def _windings_of(sections: Sections, wiring: Wiring, omega: FloatArray, temperature: float) -> _Windings:
    chosen = sections.to_branch[0][wiring.branches]
    excess = sections.excess(omega / (2 * math.pi), np.full((len(omega), 1), temperature))[0]
    per_turn = excess + 1j * omega[:, None, None] * _pair_interaction(sections)
    each = section_resistance(sections.design, sections.layout, temperature)[0]
    return _Windings(
        omega, chosen @ per_turn @ chosen.T, (chosen != 0).astype(float) @ each, np.sum(chosen, axis=-1)
    )


def _with_lent_permeance(
    windings: _Windings, core_omega: FloatArray, core: ComplexArray
) -> tuple[_Windings, ComplexArray]:
    """Move a small part of the core's permeance into the windings' coupling (``_lent_permeance``)."""
    least = float(np.min(core.imag / core_omega))
    lent = _lent_permeance(windings.omega, windings.impedance, windings.turns, least)
    lent_impedance = 1j * windings.omega[:, None, None] * lent * np.outer(windings.turns, windings.turns)
    return replace(windings, impedance=windings.impedance + lent_impedance), core - 1j * core_omega * lent


def _branches_of(
    sections: Sections, capacitances: BuildCapacitance, nodes: _Nodes, windings: _Windings
) -> tuple[CircuitBranch, ...]:
    closed = {
        shield.name: int(np.argmax(nodes.potentials[:, capacitances.labels.index((-1, shield.name))]))
        for shield in sections.design.shields
        if shield.closed
    }
    result = []
    for column, index in enumerate(nodes.wiring.branches.tolist()):
        branch = sections.layout.branches[index]
        begin, end = nodes.at(column, 1), nodes.at(column, -1)
        result.append(
            CircuitBranch(
                winding=branch.winding,
                step=branch.step,
                begin=closed[branch.winding] if begin is None else begin,
                end=closed[branch.winding] if end is None else end,
                resistance=float(windings.resistance[column]),
                turns=float(windings.turns[column]),
            )
        )
    return tuple(result)


def _leads_of(design: Design, nodes: _Nodes, temperature: float) -> tuple[Lead, ...]:
    result = []
    for number, name in enumerate(nodes.wiring.lead_windings):
        begin, end = (nodes.at(len(nodes.wiring.branches) + number, sign) for sign in (1, -1))
        assert begin is not None
        assert end is not None
        resistance = first_build(lead_resistance(design, name, temperature))
        result.append(Lead(name, begin, end, resistance, first_build(lead_inductance(design, name))))
    return tuple(result)


def _plain(design: Design, index: int, frequency: float = 1.0) -> BenchTest:
    """Open inductance of a winding."""
    drive = (Member(design.windings[index].name),)
    return probe(name="", measure="inductance", drive=drive, frequency=frequency)


@dataclass(frozen=True, kw_only=True)
class _OpenCircuit:
    """Everything except the core, at ω (F,) rad/s: ``coupled`` (F, b, b) and ``leads`` (F, leads) Ω,
    ``turns`` (b,)."""

    sections: Sections
    capacitances: BuildCapacitance
    omega: FloatArray
    coupled: ComplexArray
    leads: ComplexArray
    turns: FloatArray


def _open_gains(around_core: _OpenCircuit, core: ComplexArray) -> ComplexArray:
    """Gains (F, 4 + 1 for each winding) for ``fit_core``.

    They act on the magnitude and the phase of an open winding's impedance, at every frequency of the
    winding that shows most of an error; on a fraction of those of the core's own impedance, which keeps
    small what does not show, because gains hold for small changes; and on the resistance of every open
    winding.
    """
    design, capacitances = around_core.sections.design, around_core.capacitances
    omega, turns = around_core.omega, around_core.turns
    step = 1e-4
    changes, resistances = [], []
    for number in range(len(design.windings)):
        test = _plain(design, number)
        solved = solve_around_core(
            wire(design, around_core.sections.layout.branches, test, capacitances.labels),
            around_core.coupled,
            around_core.leads,
            np.zeros(len(omega), complex),
            omega[:, None, None] * capacitances.matrix[:1],
            np.broadcast_to(turns, (len(omega), len(turns))),
        )
        here, moved = (solved.with_core(core * factor).drive for factor in (1.0, 1.0 + step))
        changes.append((moved - here) / (step * here))
        resistances.append((moved - here) / (step * here.real) / _RESISTANCE_SHARE)
    largest = np.array(changes)[np.argmax(np.abs(changes), axis=0), np.arange(len(omega))]
    core_gain = np.full(len(omega), _CORE_SHARE, complex)
    return np.stack([largest, -1j * largest, core_gain, -1j * core_gain, *resistances], axis=-1)


def _lent_permeance(omega: FloatArray, impedance: ComplexArray, turns: FloatArray, least: float) -> float:
    """Permeance (H per turn²) to move from the core to the leakage, a small part of the core's ``least``
    permeance.

    Without it, ampere-turns that do not sum to zero may see a negative inductance in the leakage alone,
    because copper keeps their field out of the window; only the core makes up for that.
    """
    for part in _LENT:
        inductance = impedance.imag / omega[:, None, None] + part * least * np.outer(turns, turns)
        diagonal = np.diagonal(inductance, axis1=1, axis2=2)
        if np.all(diagonal > 0):
            scale = np.sqrt(diagonal)
            if np.min(np.linalg.eigvalsh(inductance / scale[:, :, None] / scale[:, None, :])) > 0:
                break
    return part * least


def _core_impedance(design: Design, omega: float, temperature: float, flux_density: float) -> complex:
    core = permeance(design.core, omega / (2 * math.pi), temperature, flux_density)
    core = core * np.asarray(design.model.inductance)
    lossy = core.real + 1j * core.imag * np.asarray(design.model.loss)
    return complex(1j * omega * np.asarray(lossy).reshape(-1)[0])


def _pair_interaction(sections: Sections) -> FloatArray:
    """Interaction (n, n), H per turn², of the first winding against all others, with the leakage of every
    pair of windings as that pair's own test has it.

    With D_ij (H per turn², 0 for i = j) what pair i, j lacks, −D_ij/2 between all turns of i and j adds
    D_ij (NI)² to that pair's energy and nothing to any other's.
    """
    design = sections.design
    names = [winding.name for winding in design.windings]
    flows = balanced_ampere_turns(sections, (_plain(design, 0),))
    base = section_interaction(sections, flows)[0, 0]
    pairs = list(itertools.combinations(range(len(names)), 2))
    if len(names) < 3:
        return np.asarray(base)
    tests = tuple(replace(_plain(design, i), short=(Member(names[j]),)) for i, j in pairs)
    flows = balanced_ampere_turns(sections, tests)
    coupling = section_interaction(sections, flows)[0]
    belongs = np.array([[s.winding == name for s in sections.layout.sections] for name in names], float)
    result = base.copy()
    for index, (i, j) in enumerate(pairs):
        flow = flows[0, index]
        product = (belongs[i] @ flow) * (belongs[j] @ flow)
        if product == 0:
            continue
        lacking = float(flow @ (coupling[index] - base) @ flow) / (2 * product)
        between = np.outer(belongs[i], belongs[j])
        result += lacking * (between + between.T)
    return np.asarray((result + result.T) / 2)
