"""Branches → windings → joins, ties, shorts and the driven port: the circuit of a test.

A branch is what one build step winds of one winding; branches couple through one impedance matrix, and
their ends, the core and the shields through one capacitance matrix. A test wires them into a circuit:
sections in series or parallel, windings into joins, ends tied together, shorting links across what is
shorted. With capacitance all conductors are one circuit, whose reference is the return of the driven port,
as in a meter; without, one node of every floating part is its reference. ``nodal_analysis`` solves it.
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from ..design import CORE, BenchTest, Design, FloatArray, IntArray, Join, Member, Port, Winding
from ..winding import Branch

_Terminal = tuple[str, str]


@dataclass(frozen=True)
class Wiring:
    """The circuit of one test. Elements: coupled branches first, then leads of windings, then shorting links.

    branches : indices into ``Layout.branches``. lead_windings : the winding of each lead element.
    links : number of shorting links. incidence : (nodes, elements), the reference nodes left out.
    drive, sense : (nodes,) vectors that pick a port's voltage out of the node voltages (sense: zeros if
    there is none). potentials : (nodes, m) which node each potential of the capacitance matrix is (columns
    of zeros: the reference), or None where charges play no part.
    """

    branches: IntArray
    lead_windings: tuple[str, ...]
    links: int
    incidence: FloatArray
    drive: FloatArray
    sense: FloatArray
    potentials: FloatArray | None = None


class _Nodes:
    """Which terminals are one node (union–find); a scratch object of ``wire``."""

    def __init__(self) -> None:
        self.parent: dict[_Terminal, _Terminal] = {}

    def find(self, terminal: _Terminal) -> _Terminal:
        self.parent.setdefault(terminal, terminal)
        while self.parent[terminal] != terminal:
            terminal = self.parent[terminal]
        return terminal

    def merge(self, one: _Terminal, other: _Terminal) -> None:
        self.parent[self.find(other)] = self.find(one)


def members_of(design: Design, port: Port) -> list[Member]:
    """The windings of a port, joins resolved, each with its sense in the port."""
    return _resolved(design.joins, port)


def _resolved(known: tuple[Join, ...], port: Port) -> list[Member]:
    joins = {join.name: join for join in known}
    result: list[Member] = []
    for member in port:
        if member.name in joins:
            inner = _resolved(known, joins[member.name].members)
            result += [Member(part.name, part.reversed != member.reversed) for part in inner]
        else:
            result.append(member)
    return result


@dataclass(frozen=True)
class _Winding:
    """What of a winding decides how it is wired."""

    name: str
    parallel: bool
    leads: bool
    reversed_steps: tuple[int, ...]


@dataclass(frozen=True)
class _Shield:
    name: str
    tied: str
    closed: bool


@dataclass(frozen=True)
class _Structure:
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
    """The circuit of ``test``.

    potentials : labels of a capacitance matrix (``capacitance.BuildCapacitance``): then every conductor
    takes part, as charges move in open windings too. Without, only windings that carry current or are
    sensed do. Circuits are kept by their structure: the arrays are read-only.
    """
    windings = (
        _Winding(w.name, w.sections == "parallel", _has_leads(w), tuple(w.reversed_steps))
        for w in design.windings
    )
    return _wired(
        _Structure(
            tuple(windings),
            tuple(design.joins),
            tuple(_Shield(s.name, s.tied, s.closed) for s in design.shields),
            tuple(branches),
            tuple(test.drive),
            tuple(test.short),
            tuple(test.sense),
            tuple(tuple(group) for group in test.tie),
            test.measure == "capacitance" and bool(test.sense),
            None if potentials is None else tuple(potentials),
        )
    )


@functools.lru_cache(maxsize=256)
def _wired(test: _Structure) -> Wiring:
    nodes = _Nodes()
    branches, potentials = test.branches, test.potentials
    joins = {join.name: join for join in test.joins}
    shields = {shield.name: shield for shield in test.shields}

    def ends(member: Member) -> tuple[_Terminal, _Terminal]:
        if member.name in joins:
            join = joins[member.name]
            if join.kind == "series":
                plus, minus = chain(join.members)
            else:
                pairs = [ends(part) for part in join.members]
                plus, minus = pairs[0]
                for other_plus, other_minus in pairs[1:]:
                    nodes.merge(plus, other_plus)
                    nodes.merge(minus, other_minus)
        elif member.name == CORE or member.name in shields:
            plus = minus = single_terminal(member.name)
        else:
            plus, minus = (member.name, "start"), (member.name, "finish")
        return (minus, plus) if member.reversed else (plus, minus)

    def chain(port: Port) -> tuple[_Terminal, _Terminal]:
        pairs = [ends(member) for member in port]
        for (_, minus), (plus, _) in pairwise(pairs):
            nodes.merge(minus, plus)
        return pairs[0][0], pairs[-1][1]

    drive = chain(test.drive)
    shorts = [ends(member) for member in test.short]
    sense = chain(test.sense) if test.sense else None
    if test.between_nodes and sense is not None:
        drive, sense = (
            (_one_node(nodes, drive, test.drive, ends), _one_node(nodes, sense, test.sense, ends)),
            None,
        )
    for shield in shields.values():
        if shield.tied:
            nodes.merge(terminal_of(shield.tied), single_terminal(shield.name))
    for group in test.tie:
        for other in group[1:]:
            nodes.merge(terminal_of(group[0]), terminal_of(other))
    used = {
        member.name for port in (test.drive, test.short, test.sense) for member in _resolved(test.joins, port)
    }
    used |= {name.partition(".")[0] for group in test.tie for name in group}
    elements: list[tuple[_Terminal, _Terminal]] = []
    chosen: list[int] = []
    leads: list[tuple[str, _Terminal, _Terminal]] = []
    for winding in test.windings:
        own = [index for index, branch in enumerate(branches) if branch.winding == winding.name]
        parallel = winding.parallel and len(own) > 1
        if winding.name not in used and not parallel and potentials is None:
            continue
        inside: _Terminal = (winding.name, "start")
        if winding.leads:
            inside = (winding.name, "inside")
            leads.append((winding.name, (winding.name, "start"), inside))
        finish: _Terminal = (winding.name, "finish")
        here = inside
        for place, index in enumerate(own):
            begin, end = (inside, finish) if parallel else (here, (winding.name, f"after {place}"))
            if not parallel and place == len(own) - 1:
                end = finish
            here = end
            chosen.append(index)
            elements.append(
                (end, begin) if branches[index].ordinal in winding.reversed_steps else (begin, end)
            )
    for name in (name for name, shield in shields.items() if shield.closed):
        for index in (index for index, branch in enumerate(branches) if branch.winding == name):
            chosen.append(index)
            elements.append((single_terminal(name), single_terminal(name)))
    labelled = None
    if potentials is not None:
        of_branch = dict(zip(chosen, elements, strict=True))
        labelled = [_labelled(branches, of_branch, label) for label in potentials]
    elements += [(one, other) for _, one, other in leads]
    elements += shorts
    return _assemble(
        nodes, elements, chosen, tuple(name for name, _, _ in leads), len(shorts), drive, sense, labelled
    )


def _has_leads(winding: Winding) -> bool:
    """Whether something lies in series at a winding's terminals."""
    extra = np.asarray(winding.joint_resistance) + np.asarray(winding.loop_inductance)
    return winding.lead_length > 0 or bool(np.any(extra > 0))


def single_terminal(name: str) -> _Terminal:
    """The one terminal of the core or of a shield."""
    return (name, "start")


def terminal_of(text: str) -> _Terminal:
    """A terminal by its name in a file: "P.start", "S.finish", "core", or a shield's name."""
    name, dot, end = text.rpartition(".")
    return (name, end) if dot and end in ("start", "finish") else single_terminal(text)


def _one_node(
    nodes: _Nodes,
    pair: tuple[_Terminal, _Terminal],
    port: Port,
    ends: Callable[[Member], tuple[_Terminal, _Terminal]],
) -> _Terminal:
    """A port whose windings are all shorted on themselves."""
    for member in port:
        plus, minus = ends(member)
        nodes.merge(plus, minus)
        nodes.merge(pair[0], plus)
    return pair[0]


def _labelled(
    branches: Sequence[Branch], elements: dict[int, tuple[_Terminal, _Terminal]], label: tuple[int, str]
) -> _Terminal:
    """The terminal that a potential of the capacitance matrix is."""
    index, name = label
    if index < 0:
        return single_terminal(name)
    if index not in elements:  # an open shield, whose branch carries no current
        return single_terminal(branches[index].winding)
    return elements[index][0 if name == "start" else 1]


def _assemble(
    nodes: _Nodes,
    elements: list[tuple[_Terminal, _Terminal]],
    chosen: list[int],
    lead_windings: tuple[str, ...],
    links: int,
    drive: tuple[_Terminal, _Terminal],
    sense: tuple[_Terminal, _Terminal] | None,
    labelled: list[_Terminal] | None,
) -> Wiring:
    loose = labelled or []
    names = list(dict.fromkeys(nodes.find(end) for pair in (*elements, drive, loose) for end in pair))
    index = {name: place for place, name in enumerate(names)}
    incidence = np.zeros((len(names), len(elements)))
    for column, (begin, end) in enumerate(elements):
        incidence[index[nodes.find(begin)], column] += 1.0
        incidence[index[nodes.find(end)], column] -= 1.0
    references = _references(incidence) if labelled is None else [index[nodes.find(drive[1])]]
    kept = np.setdiff1d(np.arange(len(names)), references)

    def picker(port: tuple[_Terminal, _Terminal] | None) -> FloatArray:
        vector = np.zeros(len(names))
        if port is not None:
            vector[index[nodes.find(port[0])]] += 1.0
            vector[index[nodes.find(port[1])]] -= 1.0
        return vector[kept]

    potentials = None
    if labelled is not None:
        potentials = np.zeros((len(names), len(labelled)))
        for column, terminal in enumerate(labelled):
            potentials[index[nodes.find(terminal)], column] = 1.0
        potentials = potentials[kept]
    arrays = (np.array(chosen, np.int64), incidence[kept], picker(drive), picker(sense))
    for array in arrays if potentials is None else (*arrays, potentials):
        array.flags.writeable = False
    return Wiring(arrays[0], lead_windings, links, *arrays[1:], potentials)


def _references(incidence: FloatArray) -> list[int]:
    """One node of every connected part."""
    unseen = set(range(len(incidence)))
    references: list[int] = []
    while unseen:
        root = min(unseen)
        references.append(root)
        part, frontier = {root}, [root]
        while frontier:
            columns = np.flatnonzero(incidence[frontier.pop()])
            touched = set(np.flatnonzero(np.any(incidence[:, columns] != 0, axis=1)).tolist()) - part
            part |= touched
            frontier += touched
        unseen -= part
    return references
