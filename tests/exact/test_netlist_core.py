"""What the models are off by reaches the core of a netlist: inductance and loss, each alone."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from aswound.predict import load_design
from aswound.predict.netlist.elements import _core_impedance
from aswound.predict.netlist.fit import _upper, _whole
from aswound.predict.netlist.spice_text import comments

pytestmark = pytest.mark.exact


def test_factors_of_inductance_and_loss() -> None:
    design = load_design(Path(__file__).parents[2] / "samples" / "gate-drive.toml")

    def core(**factors: float) -> complex:
        model = replace(design.model, **factors)
        return _core_impedance(replace(design, model=model), 2e6, 23.0, 0.0)

    plain, more, lossy = core(), core(inductance=1.1), core(loss=1.5)
    assert plain.real > 0
    assert more == pytest.approx(1.1 * plain)
    assert lossy.imag == pytest.approx(plain.imag)
    assert lossy.real == pytest.approx(1.5 * plain.real)


def test_upper_triangles_weigh_as_whole_matrices() -> None:
    """The rows of the fit: their squares sum to those of all elements, and nothing is lost."""
    drawn = np.random.default_rng(3).normal(size=(5, 4, 4))
    matrices = drawn + np.swapaxes(drawn, 1, 2)
    row = _upper(matrices)
    assert len(row) == 5 * 10
    assert np.sum(row**2) == pytest.approx(np.sum(matrices**2))
    assert _whole(row, 4) == pytest.approx(matrices)


def test_a_number_stays_with_its_per_cent() -> None:
    """Comment lines break between words, never before "%"."""
    text = comments(["low: against nominal " + "capacitance -23.1 %, " * 40])
    assert text.count("\n") > 5
    assert "\n* %" not in text
    assert text.count("-23.1 %") == 40
