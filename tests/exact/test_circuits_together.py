"""The circuits of several tests solved together, against each alone and against the plain nodal analysis
(identities)."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from aswound.predict import load_design, predict_bench
from aswound.predict.capacitance import build_capacitance
from aswound.predict.circuit import bench
from aswound.predict.circuit.bench_network import (
    LaidOut,
    as_stated,
    branches_of,
    direct_current_resistance,
    lead_outs,
    wiring_of,
)
from aswound.predict.circuit.circuits_together import alternating_circuits, groups_of
from aswound.predict.circuit.nodal_analysis import solve
from aswound.predict.circuit.section_coupling import sections_of
from aswound.predict.cores import air_reluctance, permeance
from aswound.predict.design import BenchTest, Design, Member

SAMPLES = Path(__file__).parents[2] / "samples"


def _tested(name: str) -> Design:
    """A sample in two builds with tests that differ in all that a circuit can differ in: shorts, frequency,
    temperature, level, bias, ports, what is displayed."""
    design = load_design(SAMPLES / f"{name}.toml")
    first, second = design.windings[0].name, design.windings[1].name
    driven = BenchTest(name="L", measure="inductance", drive=(Member(first),), frequency=1e4)
    more = (
        driven,
        replace(driven, name="hot", temperature=80.0, level=0.01),
        replace(driven, name="biased", bias=0.05),
        replace(driven, name="biased more", bias=0.4, frequency=1e5, temperature=60.0),
        replace(driven, name="Lk", short=(Member(second),), frequency=3e5),
        replace(driven, name="all shorted", short=tuple(Member(w.name) for w in design.windings[1:])),
        replace(driven, name="M", measure="mutual", sense=(Member(second),)),
        replace(driven, name="turned", measure="phase", sense=(Member(second, True),)),
        replace(driven, name="C", measure="capacitance", sense=(Member(second),), frequency=1e5),
        replace(driven, name="Q", measure="quality", frequency=2e5, equivalent="parallel"),
        replace(driven, name="f0", measure="resonance", frequency=None),
    )
    wall = float(np.asarray(design.bobbin.wall))
    return replace(
        design,
        tests=(*design.tests, *more),
        bobbin=replace(design.bobbin, wall=wall * np.array([1.0, 1.03])),
    )


@pytest.mark.parametrize("name", ["flyback-24w", "bridge-300w", "gate-drive"])
def test_together_as_each_alone(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """The readings, impedances and operating points of all tests do not depend on the others in the group."""
    design = _tested(name)
    together = predict_bench(design)
    groups: list[list[int]] = []

    def alone(laid: LaidOut, tests: list[BenchTest]) -> list[list[int]]:
        groups.extend(groups_of(laid, tests))
        return [[index] for index in range(len(tests))]

    monkeypatch.setattr(bench, "groups_of", alone)
    single = predict_bench(design)
    assert len(groups) == 2  # those with a bias and those without
    assert min(map(len, groups)) == 2
    for quantity in ("values", "impedance", "flux_density", "level", "bias_flux_density"):
        # 1e-8: rounding over the stray susceptance (1e-9) that holds floating windings
        np.testing.assert_allclose(
            getattr(together, quantity), getattr(single, quantity), rtol=1e-8, atol=1e-18
        )


def test_a_circuit_with_its_core_inside() -> None:
    """At a level near zero: the impedance of every circuit with the core among its branches."""
    design = replace(load_design(SAMPLES / "flyback-24w.toml"))
    tests = tuple(
        replace(test, level=1e-9) for test in design.tests if test.alternating_frequency and not test.sense
    )
    design = replace(design, tests=tests)
    sections = sections_of(design)
    laid = LaidOut(sections, build_capacitance(design, sections.layers), air_reluctance(design.core))
    rng, n = np.random.default_rng(1), sections.layout.turns.shape[1]
    root = 1e-5 * rng.standard_normal((1, len(tests), n, n))
    coupling = root @ np.swapaxes(root, 2, 3)
    frequencies = np.array([test.alternating_frequency for test in tests])
    assert groups_of(laid, tests) == [list(range(len(tests)))]
    circuits = alternating_circuits(laid, tests, coupling)
    excess = circuits.excesses([(f, design.bench.temperature) for f in frequencies.tolist()])
    found = circuits.read(frequencies, excess)[1][:, 0]
    assert laid.capacitance is not None
    for index, test in enumerate(tests):
        whole, omega = as_stated(design, test), 2 * np.pi * frequencies[index]
        wiring = wiring_of(laid, test, charged=True)
        branches = branches_of(laid, wiring)
        core = permeance(design.core, frequencies[index], whole.temperature or 0.0)
        passive = direct_current_resistance(laid, wiring, whole.temperature or 0.0) + 1j * omega * (
            branches.seen(coupling[:, index]) + core * branches.turns[:, :, None] * branches.turns[:, None, :]
        )
        resistance, inductance = lead_outs(laid, wiring, whole.temperature or 0.0)
        one = np.asarray(design.bench.short_resistance + 1j * omega * design.bench.short_inductance)
        solved = solve(
            wiring,
            passive + excess[index],
            resistance + 1j * omega * inductance,
            np.atleast_1d(test.link * one),
            omega * laid.capacitance.matrix,
        )
        leads = design.bench.lead_resistance + 1j * omega * np.asarray(design.bench.lead_inductance)
        assert found[index] == pytest.approx(complex(solved.drive[0] + test.leads * leads), rel=1e-9)
