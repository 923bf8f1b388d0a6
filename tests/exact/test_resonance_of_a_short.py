"""The resonance of a shorted winding, far above that of the circuit without what alternating current adds."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import pytest

from aswound.predict import parse_design, readings
from aswound.predict.circuit import impedance_sweep
from aswound.predict.design import BenchTest, Member

sys.path.insert(0, str(Path(__file__).parents[1] / "benchmarks"))
from ladder import layered

pytestmark = pytest.mark.exact


@pytest.mark.parametrize("layers", [3, 14])
def test_it_is_where_the_impedance_turns(layers: int) -> None:
    """Just below it the impedance is inductive, just above capacitive: what alternating current adds is
    interpolated between frequencies an octave apart, around the resonance and not around the rough one."""
    design = parse_design(layered(layers))
    test = BenchTest(name="f", measure="resonance", drive=(Member("P"),), short=(Member("S"),))
    resonance = float(readings(replace(design, tests=(test,)))[0])
    swept = replace(test, measure="inductance")
    below, above = impedance_sweep(design, swept, [resonance * (1 - 2e-3), resonance * (1 + 2e-3)])
    assert below.imag > 0 > above.imag
    plain = BenchTest(name="f", measure="resonance", drive=(Member("P"),))
    assert resonance > 5 * float(readings(replace(design, tests=(plain,)))[0])
