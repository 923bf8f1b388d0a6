"""The circuit of a test solved once for every core, against the circuit with the core in it (an identity)."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from aswound.predict import load_design
from aswound.predict.circuit.network import wire
from aswound.predict.circuit.nodal_analysis import solve, solve_around_core
from aswound.predict.winding.layout import lay_out

SAMPLES = Path(__file__).parents[2] / "samples"


@pytest.mark.parametrize("permeance", [0.0, 1e-9, 1e-3])
@pytest.mark.parametrize("place", [0, 1, 2])
def test_any_core_follows_from_the_circuit_without_it(place: int, permeance: float) -> None:
    """Random passive branches, capacitances and leads; the permeance from none to a stiff one."""
    design = load_design(SAMPLES / "flyback-24w.toml")
    branches = lay_out(design).branches
    labels = tuple((branch, end) for branch in range(len(branches)) for end in ("start", "finish"))
    wiring = wire(design, branches, design.tests[place], labels)
    rng, count, b, m = np.random.default_rng(3), 4, len(wiring.branches), len(labels)
    turns = rng.uniform(1.0, 40.0, (count, b))
    root = rng.standard_normal((count, b, b))
    coupled = 0.1 * np.eye(b) + 0.3j * root @ np.swapaxes(root, 1, 2)
    leads = np.full((count, len(wiring.lead_windings)), 0.01 + 0.02j)
    link = np.full(count, 0.001 + 0.006j)
    charges = rng.standard_normal((count, m, m))
    susceptance = 1e-6 * charges @ np.swapaxes(charges, 1, 2)
    core = np.full(count, 6.3e5j * permeance)
    whole = coupled + core[:, None, None] * turns[:, :, None] * turns[:, None, :]
    direct = solve(wiring, whole, leads, link, susceptance)
    update = solve_around_core(wiring, coupled, leads, link, susceptance, turns).with_core(core)
    np.testing.assert_allclose(update.drive, direct.drive, rtol=1e-9)
    np.testing.assert_allclose(update.sense, direct.sense, rtol=1e-9, atol=1e-12)
    np.testing.assert_allclose(update.currents, direct.currents, rtol=1e-6, atol=1e-9)


def test_one_structure_has_one_circuit() -> None:
    """Frequency and level do not decide how a test is wired; what is shorted does."""
    design = load_design(SAMPLES / "flyback-24w.toml")
    branches = lay_out(design).branches
    shorted = next(test for test in design.tests if test.short)
    opened = next(test for test in design.tests if not test.short and test.measure == "inductance")
    assert wire(design, branches, opened) is wire(design, branches, opened)
    assert wire(design, branches, opened).links == 0
    assert wire(design, branches, shorted).links == len(shorted.short)
