"""How far a netlist's circuit deviates from the readings that it stands for."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from ..circuit import predict_bench
from ..design import BenchTest, Member
from .elements import Circuit, Range, probe

TOLERANCE = 0.01
"""A reading is named if its relative deviation exceeds this (judged: as much as a reading is
expected to err)."""
_PER_DECADE = 4


@dataclass(frozen=True)
class Deviation:
    """Worst deviation of one kind of reading.

    Attributes
    ----------
    kind : str, of reading, in words
    test : str, test, with its windings
    frequency : float, Hz
    size : float, deviation with its sign, relative
    """

    kind: str
    test: str
    frequency: float
    size: float


def _probing_tests(names: list[str], frequencies: list[float]) -> tuple[BenchTest, ...]:
    """Tests that probe a circuit at some frequencies (Hz): of every winding the impedance open, with each
    other one and with all of them shorted, and the ratios."""
    tests = []
    for frequency in frequencies:
        for name in names:
            of_one = partial(probe, drive=(Member(name),), frequency=frequency)
            others = tuple(Member(second) for second in names if second != name)
            tests.append(of_one(name=f"{name} open", measure="inductance"))
            for second in others:
                shorted = f"{name}, {second.name} shorted"
                tests.append(of_one(name=shorted, measure="inductance", short=(second,)))
                tests.append(of_one(name=f"{name} to {second.name}", measure="ratio", sense=(second,)))
            if len(others) > 1:
                shorted = f"{name}, all others shorted"
                tests.append(of_one(name=shorted, measure="inductance", short=others))
    return tuple(tests)


def deviations(circuit: Circuit, span: Range) -> tuple[Deviation, ...]:
    """Worst deviation of each kind of reading over a range of frequencies.

    Kinds: magnitude of the impedance open and shorted, its resistance, the ratio.

    Parameters
    ----------
    circuit : Circuit
    span : Range
    """
    names = [winding.name for winding in circuit.design.windings]
    frequencies = [float(f) for f in span.points(1.0, _PER_DECADE)]
    tests = _probing_tests(names, frequencies)
    bench = replace(circuit.design.bench, temperature=circuit.temperature, temperature_error=0.0)
    as_modelled = replace(
        circuit.design.model, own=()
    )  # factors learned for displays are not part of a circuit
    asked = replace(circuit.design, tests=tests, bench=bench, model=as_modelled)
    predicted = predict_bench(asked)
    worst: dict[str, Deviation] = {}
    for index, test in enumerate(tests):
        impedance, sensed = circuit.response(test)
        expected = complex(predicted.impedance[index])
        kind = "short" if test.short else "open"
        if test.measure == "ratio":
            rows = [("ratio", float(abs(impedance / sensed) / predicted.values[index] - 1))]
        else:
            rows = [
                (f"{kind} impedance", abs(impedance) / abs(expected) - 1),
                (f"{kind} resistance", impedance.real / expected.real - 1),
            ]
        for name, size in rows:
            if name not in worst or abs(size) > abs(worst[name].size):
                worst[name] = Deviation(name, test.name, test.alternating_frequency, float(np.real(size)))
    return tuple(worst.values())
