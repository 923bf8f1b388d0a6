"""What the meter displays: every test of a part, without the meter's own error."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from .layers import Array
from .network import Circuit, circuit_of, solve
from .parts import Part, Test

SCALED = ("inductance", "ac_resistance", "quality")
LOWEST, HIGHEST, POINTS = 5e3, 60e6, 90
SOURCE = 100.0
"""Resistance of the meter's source (ohm): the level falls across a low impedance."""


def display(part: Part, tests: Sequence[Test] | None = None) -> Array:
    """(T,) what the meter shows for the part's tests, or for other ones (H, ohm, 1, F, Hz, rad)."""
    circuit = circuit_of(part)
    return np.array([one_display(circuit, test) for test in (part.tests if tests is None else tests)])


def one_display(circuit: Circuit, test: Test) -> float:
    """What the meter shows for one test."""
    part = circuit.part
    if test.measure == "resistance":
        return _resistance(circuit, test)
    if test.measure == "resonance":
        return _resonance(circuit, test)
    assert test.frequency is not None
    frequency = test.frequency * (part.truth.frequency if test.measure in SCALED else 1.0)
    if test.measure == "capacitance":
        return _capacitance(circuit, test, frequency)
    f = np.array([frequency])
    B = _flux_density(circuit, test, frequency, test.level)
    Z, transfer = solve(circuit, f, test.drive, test.short, test.sense, flux_density=B)
    for _ in range(4 if B > 2e-4 else 0):
        volts = test.level * abs(Z[0]) / abs(Z[0] + SOURCE)
        B = _flux_density(circuit, test, frequency, volts)
        Z, transfer = solve(circuit, f, test.drive, test.short, test.sense, flux_density=B)
    if test.measure == "ratio":
        return float(1 / abs(transfer[0]))
    omega = 2 * math.pi * frequency
    if test.measure == "mutual":
        return float((transfer[0] * Z[0]).imag / omega)
    if test.measure == "phase":
        return float(np.angle(transfer[0] if test.sense else Z[0]))
    whole = complex(Z[0]) + part.bench.lead[1] + 1j * omega * part.bench.lead[0]
    if test.measure == "quality":
        return abs(whole.imag) / whole.real
    parallel = (test.equivalent == "parallel") != (part.bench.equivalent == "parallel")
    if test.measure == "ac_resistance":
        return abs(whole) ** 2 / whole.real if parallel else whole.real
    return (abs(whole) ** 2 / whole.imag if parallel else whole.imag) / omega


def _resistance(circuit: Circuit, test: Test) -> float:
    """Direct current, four-wire (a fault: two): at the temperature that the part really has."""
    total = circuit.part.bench.two_wire
    for name in test.drive:
        winding = circuit.part.winding(name.removeprefix("-"))
        own = [
            circuit.R[k] for k, branch in enumerate(circuit.layout.branches) if branch.winding == winding.name
        ]
        plain = 1 / sum(1 / value for value in own) if winding.parallel else sum(own)
        total += plain + winding.joint
    return float(total)


def _flux_density(circuit: Circuit, test: Test, frequency: float, level: float) -> float:
    """Peak flux density (T) in the core of an open test: V √2/(ω N Ae)."""
    if test.short:
        return 0.0
    turns = 0.0
    for name in test.drive:
        sign = -1 if name.startswith("-") else 1
        winding = circuit.part.winding(name.removeprefix("-"))
        own = [
            branch.turns * branch.sense
            for branch in circuit.layout.branches
            if branch.winding == winding.name
        ]
        turns += sign * winding.sense * (own[0] if winding.parallel else sum(own))
    volts = level * circuit.part.truth.level * math.sqrt(2)
    area = circuit.part.core.area
    return min(volts / (2 * math.pi * frequency * max(abs(turns), 0.5) * area), 0.45)


def _capacitance(circuit: Circuit, test: Test, frequency: float) -> float:
    """Each of the two shorted on itself, everything else floating, as one potential each."""
    if not test.sense:
        Z, _ = solve(circuit, np.array([frequency]), test.drive, test.short)
        return float(-1 / (2 * math.pi * frequency * Z[0].imag))
    groups: list[set[int]] = []
    for winding in circuit.part.windings:
        nodes = set()
        for k, branch in enumerate(circuit.layout.branches):
            if branch.winding == winding.name:
                nodes |= {circuit.start[k], circuit.finish[k]}
        groups.append(nodes)
    groups.append({circuit.nodes - 1})
    names = [winding.name for winding in circuit.part.windings] + ["core"]
    gather = np.zeros((len(groups), circuit.nodes))
    for row, nodes in enumerate(groups):
        gather[row, sorted(nodes)] = 1.0
    C = gather @ circuit.C @ gather.T
    driven, sensed = names.index(test.drive[0]), names.index(test.sense[0])
    free = [k for k in range(len(names)) if k not in (driven, sensed)]
    kept = [driven, sensed]
    reduced = C[np.ix_(kept, kept)]
    if free:
        inner = C[np.ix_(free, free)] + 1e-18 * np.eye(len(free))
        reduced = reduced - C[np.ix_(kept, free)] @ np.linalg.solve(inner, C[np.ix_(free, kept)])
    return float(reduced[0, 0])


def _resonance(circuit: Circuit, test: Test) -> float:
    """Lowest frequency at which the reactance at the driven terminals turns capacitive (Hz)."""
    low, high = LOWEST, HIGHEST
    for points in (POINTS, 12, 12):
        frequency = np.geomspace(low, high, points)
        Z, _ = solve(circuit, frequency, test.drive, test.short)
        turned = np.nonzero((Z.imag[:-1] > 0) & (Z.imag[1:] <= 0))[0]
        if not len(turned):
            return HIGHEST
        low, high = frequency[turned[0]], frequency[turned[0] + 1]
    return float(math.sqrt(low * high))
