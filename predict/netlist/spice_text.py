"""A circuit (``elements``) as text: a subcircuit in the syntax that SPICE and its descendants share.

Only R, L, C, V (of 0 V, to measure currents), E and F are used. Every coupling is a set of ideal
transformers, each a pair of E and F of one ratio, in front of an inductor, resistor or capacitor that is
not negative: no more energy can come out than went in.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

import numpy as np

from ..design import CORE, FloatArray
from .elements import Circuit
from .fit import Mode

_BLEEDER = 1e12
"""Ω from every floating conductor to the core, so that a simulator finds a direct-current path (judged:
far above every impedance of the circuit)."""
_NO_CHARGE = 1e-9
"""A capacitance is left out below this fraction of the largest (judged: rounding)."""
WIDTH = 100
"""Columns of a line of the netlist (judged by what a reader can take in)."""


def subcircuit(circuit: Circuit, name: str) -> str:
    """Text of one ``.subckt``, with comments.

    Parameters
    ----------
    circuit : Circuit
    name : str, of letters, digits and underscores
    """
    nodes, pins = _node_names(circuit)
    lines = [_folded(f".subckt {name} {' '.join(pins)}")]
    lines += _windings(circuit, nodes)
    lines += _core(circuit)
    lines += _coupling(circuit)
    lines += _charges(circuit, nodes)
    lines.append(f".ends {name}")
    return "\n".join(lines) + "\n"


def pin_names(circuit: Circuit) -> list[tuple[str, str, str]]:
    """(pin, winding or conductor, "start", "finish" or "") of every pin, in order."""
    _, pins = _node_names(circuit)
    shown = [entry for entry, _ in _shown(circuit)]
    return [(pin, name, end) for pin, (name, end, _) in zip(pins, shown, strict=True)]


def comments(paragraphs: Iterable[str]) -> str:
    """Paragraphs as comment lines."""
    import textwrap

    lines = []
    for text in paragraphs:
        held = text.replace(" %", "\xa0%")  # a number and its per cent stay in one line
        wrapped = textwrap.wrap(held, WIDTH, initial_indent="* ", subsequent_indent="* ") or ["*"]
        lines += [line.replace("\xa0", " ") for line in wrapped]
    return "\n".join(lines) + "\n"


def identifier(text: str) -> str:
    """A text reduced to letters, digits and underscores."""
    plain = re.sub(r"[^A-Za-z0-9]+", "_", text).strip("_")
    return plain or "x"


def _shown(circuit: Circuit) -> list[tuple[tuple[str, str, int], int]]:
    """The pins: terminals, with a node that already is one (core tied to a shield) only once."""
    seen: set[int] = set()
    result = []
    for entry in circuit.terminals:
        if entry[0] == CORE and entry[1] == "" and not circuit.core:
            continue  # in air: a node within, to which what floats is tied
        if entry[1] == "" and entry[2] in seen:
            continue
        seen.add(entry[2])
        result.append((entry, entry[2]))
    return result


def _node_names(circuit: Circuit) -> tuple[dict[int, str], list[str]]:
    """Name of every node, and the pins in order; names differ by more than case."""
    nodes: dict[int, str] = {}
    pins: list[str] = []
    used: set[str] = set()
    for (name, end, _), node in _shown(circuit):
        label = f"{identifier(name)}_{end}" if end else CORE if name == CORE else f"shield_{identifier(name)}"
        unique, number = label, 1
        while unique.lower() in used:
            number += 1
            unique = f"{label}_{number}"
        used.add(unique.lower())
        nodes.setdefault(node, unique)
        pins.append(nodes[node])
    for node in range(circuit.nodes):
        if node not in nodes:
            nodes[node] = f"n{node}"
    return nodes, pins


def _value(number: float) -> str:
    return f"{number:.9g}"


def _folded(text: str) -> str:
    """A long line with SPICE's continuation."""
    import textwrap

    return "\n".join(
        textwrap.wrap(text, WIDTH, subsequent_indent="+ ", break_long_words=False, break_on_hyphens=False)
    )


def _windings(circuit: Circuit, nodes: dict[int, str]) -> list[str]:
    lines = []
    for number, lead in enumerate(circuit.leads, 1):
        begin, end = nodes[lead.begin], nodes[lead.end]
        lines.append(f"* lead-outs of {identifier(lead.winding)}")
        middle = f"lead{number}" if lead.resistance > 0 and lead.inductance > 0 else end
        if lead.resistance > 0:
            lines.append(f"Rlead{number} {begin} {middle} {_value(lead.resistance)}")
            begin = middle
        if lead.inductance > 0:
            lines.append(f"Llead{number} {begin} {end} {_value(lead.inductance)}")
    for number, branch in enumerate(circuit.branches, 1):
        lines.append(
            f"* step {branch.step + 1}, {identifier(branch.winding)}: {_value(abs(branch.turns))} turns; "
            "its current is measured, then come"
        )
        around = "core and windings" if circuit.core else "the windings"
        lines.append(f"* its direct-current resistance and what {around} induce in it")
        lines.append(f"Vi{number} {nodes[branch.begin]} b{number}r 0")
        lines.append(f"R{number} b{number}r b{number}m0 {_value(branch.resistance)}")
        count = len(circuit.coupling)
        for mode, entry in enumerate(circuit.coupling, 1):
            last = mode == count and not circuit.core
            between = f"b{number}m{mode - 1} {nodes[branch.end] if last else f'b{number}m{mode}'}"
            lines.append(f"E{number}m{mode} {between} m{mode} 0 {_value(entry.ratios[number - 1])}")
        if circuit.core:
            lines.append(f"E{number}core b{number}m{count} {nodes[branch.end]} c0 0 {_value(branch.turns)}")
    return lines


def _core(circuit: Circuit) -> list[str]:
    if not circuit.core:
        return []
    lines = [
        "* core: the ampere-turns of all windings flow through what one turn would show; voltage per turn"
    ]
    for number, branch in enumerate(circuit.branches, 1):
        lines.append(f"F{number}core 0 c0 Vi{number} {_value(branch.turns)}")
    for number, mode in enumerate(circuit.core, 1):
        after = "0" if number == len(circuit.core) else f"c{number}"
        lines += _element(mode, f"c{number}", f"c{number - 1}", after)
    return lines


def _element(mode: Mode, name: str, begin: str, end: str) -> list[str]:
    lines = [f"L{name} {begin} {end} {_value(mode.inductance)}"]
    if np.isfinite(mode.resistance):
        lines.append(f"R{name} {begin} {end} {_value(mode.resistance)}")
    if mode.capacitance > 0:
        lines.append(f"C{name} {begin} {end} {_value(mode.capacitance)}")
    return lines


def _coupling(circuit: Circuit) -> list[str]:
    what = "leakage" if circuit.core else "inductances and their coupling"
    lines = [
        f"* {what} (L alone) and eddy currents (R in parallel with L), coupled to the windings by ratios"
    ]
    for number, mode in enumerate(circuit.coupling, 1):
        for branch, ratio in enumerate(mode.ratios, 1):
            lines.append(f"F{branch}m{number} 0 m{number} Vi{branch} {_value(ratio)}")
        lines += _element(mode, f"m{number}", f"m{number}", "0")
    return lines


def _charges(circuit: Circuit, nodes: dict[int, str]) -> list[str]:
    """Capacitors between nodes, or behind ideal transformers where some would be negative.

    A linear potential along a layer makes the matrix positive semidefinite with mutual capacitances of
    either sign; then C = Σ c uuᵀ with c > 0 is a capacitor c for each combination u of the potentials.
    """
    matrix = circuit.capacitance
    core = next(node for name, _, node in circuit.terminals if name == CORE)
    floor = _NO_CHARGE * float(np.max(np.abs(matrix), initial=0.0))
    lines = ["* charges between windings, core and shields"]
    outside = matrix - np.diag(np.diagonal(matrix))
    if np.all(outside <= floor):
        for first in range(circuit.nodes):
            for second in range(first + 1, circuit.nodes):
                if -matrix[first, second] > floor:
                    lines.append(
                        f"C{first}x{second} {nodes[first]} {nodes[second]} {_value(-matrix[first, second])}"
                    )
    else:
        for number, (ratios, capacitance) in enumerate(_charge_modes(matrix, core), 1):
            lines += _charge(number, ratios, capacitance, nodes, core)
    lines.append("* paths of direct current for what floats")
    floating = sorted({node for _, _, node in circuit.terminals} - {core})
    for node in floating:
        lines.append(f"Rf{node} {nodes[node]} {nodes[core]} {_value(_BLEEDER)}")
    return lines


def _charge(
    number: int, ratios: FloatArray, capacitance: float, nodes: dict[int, str], core: int
) -> list[str]:
    involved = [node for node, ratio in enumerate(ratios) if ratio != 0 and node != core]
    if len(involved) == 1 and abs(ratios[involved[0]]) == 1:
        return [f"Cq{number} {nodes[involved[0]]} {nodes[core]} {_value(capacitance)}"]
    lines, below = [], "0"
    for node_index, node in enumerate(involved):
        above = f"q{number}x{node_index}"
        lines.append(
            f"Eq{number}x{node_index} {above} {below} {nodes[node]} {nodes[core]} {_value(ratios[node])}"
        )
        below = above
    lines.append(f"Vq{number} {below} q{number}c 0")
    lines.append(f"Cq{number} q{number}c 0 {_value(capacitance)}")
    for node_index, node in enumerate(involved):
        lines.append(f"Fq{number}x{node_index} {nodes[node]} {nodes[core]} Vq{number} {_value(ratios[node])}")
    return lines


def _charge_modes(matrix: FloatArray, core: int) -> list[tuple[FloatArray, float]]:
    """Capacitance matrix, (N, N) in F, as C = Σ c uuᵀ with c > 0, by Cholesky factors with pivoting: of each
    term the ratios u, (N,), dimensionless, and c, F. Potentials are relative to the node with the index
    ``core``. What rounding leaves below zero is dropped."""
    rest = np.array(matrix, float)
    rest[core, :] = 0.0
    rest[:, core] = 0.0
    floor = _NO_CHARGE * float(np.max(np.abs(matrix), initial=0.0))
    modes = []
    for _ in range(len(rest)):
        pivot = int(np.argmax(np.diagonal(rest)))
        size = float(rest[pivot, pivot])
        if size <= floor:
            break
        ratios = rest[pivot] / size
        modes.append((np.where(np.abs(ratios) < 1e-12, 0.0, ratios), size))
        rest = rest - size * np.outer(ratios, ratios)
    return modes
