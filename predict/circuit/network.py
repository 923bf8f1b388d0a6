"""From branches to windings, joins, ties, shorts and the driven port: the circuit of a test.

A branch is the part of one winding that one build step winds. Branches couple through one impedance matrix;
their ends, the core and the shields couple through one capacitance matrix. A test wires them into a circuit:
sections in series or parallel, windings into joins, ends tied together, shorting links across shorted
windings. With capacitance all conductors form one circuit, whose reference is the return of the driven port,
as in a meter; without it, one node of every floating part is its reference. ``nodal_analysis`` solves the
circuit.
"""

from __future__ import annotations

import functools
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import NamedTuple, TypeAlias

import numpy as np

from ..design import CORE, BenchTest, Design, FloatArray, IntArray, Join, Member, Port
from ..remembered import by_value
from ..winding import Branch

_Terminal: TypeAlias = tuple[str, str]
_Pair: TypeAlias = tuple[_Terminal, _Terminal]


@dataclass(frozen=True, kw_only=True, eq=False)
class Wiring:
    """The circuit of one test; one structure has one (``wire``), so they are compared by identity.

    Elements: coupled branches first, then leads of windings, then shorting links.

    Attributes
    ----------
    branches : (b,) array of int, branches, index into ``Layout.branches``
    lead_windings : tuple of str, winding of each lead element
    links : int, shorting links, count
    incidence : (nodes, elements) array, incidence matrix without the reference nodes, dimensionless
    drive : (nodes,) array
        Vector that takes the voltage of the driven port from the node voltages, dimensionless.
    sense : (nodes,) array, the same for the sensed port, dimensionless; zeros if there is none
    potentials : (nodes, m) array or None
        Node of each potential of the capacitance matrix, dimensionless (columns of zeros: the reference);
        None where charges play no part.
    """

    branches: IntArray
    lead_windings: tuple[str, ...]
    links: int
    incidence: FloatArray
    drive: FloatArray
    sense: FloatArray
    potentials: FloatArray | None = None

    @cached_property
    def connections(self) -> FloatArray:
        """(size, size) what joins elements and nodes in the matrix of the nodal analysis, dimensionless:
        currents of the elements first, then the nodes; read-only."""
        nodes, elements = self.incidence.shape
        matrix = np.zeros((elements + nodes, elements + nodes))
        matrix[:elements, elements:] = -self.incidence.T
        matrix[elements:, :elements] = self.incidence
        matrix.flags.writeable = False
        return matrix

    @cached_property
    def source(self) -> FloatArray:
        """(size,) one ampere into the driven port, A; read-only."""
        source = np.concatenate([np.zeros(self.incidence.shape[1]), self.drive])
        source.flags.writeable = False
        return source


def members_of(design: Design, port: Port) -> list[Member]:
    """The windings of a port, with joins resolved, each with its sense in the port.

    Parameters
    ----------
    design : Design of one or B builds
    port : Port, driven, shorted or sensed port
    """
    return _resolved(design.joins, port)


def _resolved(known: tuple[Join, ...], port: Port) -> list[Member]:
    if not known:
        return list(port)
    joins = {join.name: join for join in known}
    result: list[Member] = []
    for member in port:
        if member.name in joins:
            inner = _resolved(known, joins[member.name].members)
            result += [Member(part.name, part.reversed != member.reversed) for part in inner]
        else:
            result.append(member)
    return result


class _Winding(NamedTuple):
    """The properties of a winding that decide how it is wired."""

    name: str
    parallel: bool
    leads: bool


class _Shield(NamedTuple):
    name: str
    tied: str
    closed: bool


class _Structure(NamedTuple):
    """All that decides the circuit of a test; builds of one design share it."""

    windings: tuple[_Winding, ...]
    joins: tuple[Join, ...]
    shields: tuple[_Shield, ...]
    branches: tuple[Branch, ...]
    drive: Port
    short: Port
    sense: Port
    tie: tuple[tuple[str, ...], ...]
    between_nodes: bool
    potentials: tuple[tuple[int, str], ...] | None


def wire(
    design: Design,
    branches: Sequence[Branch],
    test: BenchTest,
    potentials: Sequence[tuple[int, str]] | None = None,
) -> Wiring:
    """The circuit of a test.

    Circuits are kept by their structure; the arrays are read-only.

    Parameters
    ----------
    design : Design of one or B builds
    branches : sequence of Branch, of the layout
    test : BenchTest, the test
    potentials : sequence of (int, str) or None
        Labels of a capacitance matrix (index of a branch and its end, ``capacitance.BuildCapacitance``):
        every conductor takes part, as charges move in open windings too. None: only windings that carry
        current or are sensed take part.
    """
    windings, shields = _conductors(design)
    return _wired(
        _Structure(
            windings=windings,
            joins=tuple(design.joins),
            shields=shields,
            branches=tuple(branches),
            drive=tuple(test.drive),
            short=tuple(test.short),
            sense=tuple(test.sense),
            tie=tuple(tuple(group) for group in test.tie),
            between_nodes=test.measure == "capacitance" and bool(test.sense),
            potentials=None if potentials is None else tuple(potentials),
        )
    )


@by_value(64)
def _conductors(design: Design) -> tuple[tuple[_Winding, ...], tuple[_Shield, ...]]:
    """What decides how the windings and shields of a design are wired."""
    windings = (_Winding(w.name, w.sections == "parallel", w.has_lead_outs) for w in design.windings)
    return tuple(windings), tuple(_Shield(s.name, s.tied, s.closed) for s in design.shields)


class _Terminals:
    """Which terminals of a test form one node (union-find); a scratch object of ``_wired``."""

    def __init__(self, test: _Structure) -> None:
        self.joins = {join.name: join for join in test.joins}
        self.shields = {shield.name for shield in test.shields}
        self.parent: dict[_Terminal, _Terminal] = {}

    def node(self, terminal: _Terminal) -> _Terminal:
        """The terminal that represents its node."""
        self.parent.setdefault(terminal, terminal)
        while self.parent[terminal] != terminal:
            terminal = self.parent[terminal]
        return terminal

    def connect(self, first: _Terminal, second: _Terminal) -> None:
        """Make two terminals one node."""
        self.parent[self.node(second)] = self.node(first)

    def ends(self, member: Member) -> _Pair:
        """(plus, minus) of a winding, a join, the core or a shield; connections inside a join are made."""
        if member.name in self.joins:
            plus, minus = self._join(self.joins[member.name])
        elif member.name == CORE or member.name in self.shields:
            plus = minus = single_terminal(member.name)
        else:
            plus, minus = (member.name, "start"), (member.name, "finish")
        return (minus, plus) if member.reversed else (plus, minus)

    def _join(self, join: Join) -> _Pair:
        if join.in_series:
            return self.chain(join.members)
        (plus, minus), *others = [self.ends(member) for member in join.members]
        for other_plus, other_minus in others:
            self.connect(plus, other_plus)
            self.connect(minus, other_minus)
        return plus, minus

    def chain(self, port: Port) -> _Pair:
        """(plus, minus) of members in series."""
        pairs = [self.ends(member) for member in port]
        for (_, minus), (plus, _) in pairwise(pairs):
            self.connect(minus, plus)
        return pairs[0][0], pairs[-1][1]

    def shorted_on_itself(self, port: Port) -> _Terminal:
        """The one node of a port whose members are all shorted on themselves and tied together."""
        first = self.chain(port)[0]
        for member in port:
            plus, minus = self.ends(member)
            self.connect(plus, minus)
            self.connect(first, plus)
        return first


@dataclass(frozen=True)
class _Elements:
    """Elements between terminals. branches: (index of the layout's branch, its beginning and end). leads:
    (winding, beginning, end)."""

    branches: tuple[tuple[int, _Pair], ...]
    leads: tuple[tuple[str, _Pair], ...]


@functools.lru_cache(maxsize=256)
def _wired(test: _Structure) -> Wiring:
    terminals = _Terminals(test)
    drive: _Pair = terminals.chain(test.drive)
    links = [terminals.ends(member) for member in test.short]
    sense = terminals.chain(test.sense) if test.sense else None
    if test.between_nodes:
        drive, sense = (
            (terminals.shorted_on_itself(test.drive), terminals.shorted_on_itself(test.sense)),
            None,
        )
    _tie(terminals, test)
    elements = _elements(test)
    labelled = None
    if test.potentials is not None:
        of_branch = dict(elements.branches)
        labelled = [_labelled(test.branches, of_branch, label) for label in test.potentials]
    pairs = [pair for _, pair in (*elements.branches, *elements.leads)] + links
    arrays = _assemble(terminals, pairs, drive, sense, labelled)
    chosen = np.array([index for index, _ in elements.branches], np.int64)
    chosen.flags.writeable = False
    incidence, driven, sensed, potentials = arrays
    names = tuple(name for name, _ in elements.leads)
    return Wiring(
        branches=chosen,
        lead_windings=names,
        links=len(links),
        incidence=incidence,
        drive=driven,
        sense=sensed,
        potentials=potentials,
    )


def _tie(terminals: _Terminals, test: _Structure) -> None:
    """Connect tied shields, and the ends that the test wires together."""
    for shield in test.shields:
        if shield.tied:
            terminals.connect(terminal_of(shield.tied), single_terminal(shield.name))
    for group in test.tie:
        for end in group[1:]:
            terminals.connect(terminal_of(group[0]), terminal_of(end))


def _elements(test: _Structure) -> _Elements:
    """The branches that take part, and the leads of their windings."""
    ports = (test.drive, test.short, test.sense)
    used = {member.name for port in ports for member in _resolved(test.joins, port)}
    used |= {name.partition(".")[0] for group in test.tie for name in group}
    branches: list[tuple[int, _Pair]] = []
    leads: list[tuple[str, _Pair]] = []
    for winding in test.windings:
        branch_indices = [
            index for index, branch in enumerate(test.branches) if branch.winding == winding.name
        ]
        parallel = winding.parallel and len(branch_indices) > 1
        if winding.name not in used and not parallel and test.potentials is None:
            continue
        start: _Terminal = (winding.name, "start")
        inside: _Terminal = (winding.name, "inside") if winding.leads else start
        if winding.leads:
            leads.append((winding.name, (start, inside)))
        for index, (begin, end) in zip(
            branch_indices, _section_ends(winding.name, inside, len(branch_indices), parallel), strict=True
        ):
            branches.append((index, (begin, end)))
    for shield in test.shields:
        if shield.closed:
            alone = single_terminal(shield.name)
            branches += [
                (index, (alone, alone))
                for index, branch in enumerate(test.branches)
                if branch.winding == shield.name
            ]
    return _Elements(tuple(branches), tuple(leads))


def _section_ends(winding: str, inside: _Terminal, sections: int, parallel: bool) -> list[_Pair]:
    """Where each section of a winding begins and ends, from ``inside`` to the finish of the winding."""
    finish: _Terminal = (winding, "finish")
    if parallel:
        return [(inside, finish)] * sections
    between = [(winding, f"after {number}") for number in range(sections - 1)]
    return list(pairwise([inside, *between, finish])) if sections else []


def single_terminal(name: str) -> _Terminal:
    """The only terminal of the core or of a shield."""
    return (name, "start")


def terminal_of(text: str) -> _Terminal:
    """A terminal by its name in a file: "P.start", "S.finish", "core", or the name of a shield."""
    name, dot, end = text.rpartition(".")
    return (name, end) if dot and end in ("start", "finish") else single_terminal(text)


def _labelled(branches: Sequence[Branch], elements: dict[int, _Pair], label: tuple[int, str]) -> _Terminal:
    """The terminal of a potential of the capacitance matrix."""
    index, name = label
    if index < 0:
        return single_terminal(name)
    if index not in elements:  # an open shield, whose branch carries no current
        return single_terminal(branches[index].winding)
    return elements[index][0 if name == "start" else 1]


def _assemble(
    terminals: _Terminals,
    elements: Sequence[_Pair],
    drive: _Pair,
    sense: _Pair | None,
    labelled: Sequence[_Terminal] | None,
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray | None]:
    """``incidence``, ``drive``, ``sense`` and ``potentials`` of a ``Wiring``, read-only."""
    ends = [end for pair in (*elements, drive, labelled or ()) for end in pair]
    names = list(dict.fromkeys(terminals.node(end) for end in ends))
    index = {name: row for row, name in enumerate(names)}

    def picked(plus: Sequence[_Terminal], minus: Sequence[_Terminal]) -> FloatArray:
        """(nodes, columns): +1 at the plus terminal of a column, −1 at its minus terminal."""
        columns = np.zeros((len(names), len(plus)))
        for sign, side in ((1.0, plus), (-1.0, minus)):
            for column, terminal in enumerate(side):
                columns[index[terminals.node(terminal)], column] += sign
        return columns

    incidence = picked([begin for begin, _ in elements], [end for _, end in elements])
    joined = [(index[terminals.node(begin)], index[terminals.node(end)]) for begin, end in elements]
    references = _references(len(names), joined) if labelled is None else {index[terminals.node(drive[1])]}
    kept = [row for row in range(len(names)) if row not in references]
    driven = picked(drive[:1], drive[1:])[:, 0]
    sensed = np.zeros(len(names)) if sense is None else picked(sense[:1], sense[1:])[:, 0]
    potentials = None if labelled is None else picked(labelled, ())[kept]
    arrays = (incidence[kept], driven[kept], sensed[kept])
    for array in arrays if potentials is None else (*arrays, potentials):
        array.flags.writeable = False
    return *arrays, potentials


def _references(count: int, joined: Sequence[tuple[int, int]]) -> set[int]:
    """The first node of every connected part of ``count`` nodes, of which elements join pairs."""
    first = list(range(count))
    for begin, end in joined:
        low, high = sorted((first[begin], first[end]))
        first = [low if node == high else node for node in first]
    return set(first)
