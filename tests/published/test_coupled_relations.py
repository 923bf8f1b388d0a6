"""Coupled coils in printed examples: circuit solver and consistency checks give the printed numbers."""

from __future__ import annotations

import cmath
import math
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from aswound.compare.consistency.checks import consistency_checks
from aswound.compare.readings.read_test import ReadTest
from aswound.predict.circuit.network import wire
from aswound.predict.circuit.nodal_analysis import Solution, solve
from aswound.predict.design import BenchTest, Design, Join, Member, Port
from aswound.predict.designfile.reader import load_design
from aswound.predict.winding.layout import Branch

pytestmark = pytest.mark.published

DESIGN = load_design(Path(__file__).parents[2] / "samples" / "flyback-24w.toml")
BRANCHES = (Branch("P", 0, 0), Branch("S", 1, 0))
P, S, REVERSED = Member("P"), Member("S"), Member("S", True)


def _solved(
    matrix: list[list[complex]],
    drive: Port,
    *,
    short: Port = (),
    sense: Port = (),
    design: Design = DESIGN,
) -> Solution:
    """Windings P and S with a given impedance matrix (ohm), the link ideal."""
    wiring = wire(
        design,
        BRANCHES,
        BenchTest(name="t", measure="inductance", drive=drive, short=short, sense=sense, frequency=1.0),
    )
    chosen = np.asarray(matrix, complex)[np.ix_(wiring.branches, wiring.branches)]
    return solve(wiring, chosen[None], np.zeros((1, 0), complex), np.zeros(1, complex))


def _reactance(
    inductance: list[list[float]], drive: Port, *, short: Port = (), design: Design = DESIGN
) -> float:
    """Driving-point inductance (H): the imaginary part at ω = 1."""
    matrix = [[1j * value for value in row] for row in inductance]
    return float(_solved(matrix, drive, short=short, design=design).drive[0].imag)


def _parallel(opposing: bool) -> Design:
    join = Join("both", "parallel", (P, REVERSED if opposing else S))
    return replace(DESIGN, joins=(join,))


BOTH = (Member("both"),)


def test_guru_hiziroglu_series_and_parallel() -> None:
    """B. S. Guru, H. R. Hiziroglu, Electric Machinery and Transformers, Ex. 2.11 and 2.12 (pp. 106-108).

    Printed: series aiding 2.38 H, opposing 1.02 H and L_b = 16 L_a give M 0.34 H, L 0.1 and 1.6 H, k 0.85;
    parallel aiding 43.5 mH, opposing 18.7 mH.
    """
    coils = [[0.1, 0.34], [0.34, 1.6]]
    assert _reactance(coils, (P, S)) == pytest.approx(2.38, rel=1e-9)
    assert _reactance(coils, (P, REVERSED)) == pytest.approx(1.02, rel=1e-9)
    assert _reactance(coils, BOTH, design=_parallel(False)) == pytest.approx(43.5e-3, abs=0.05e-3)
    assert _reactance(coils, BOTH, design=_parallel(True)) == pytest.approx(18.7e-3, abs=0.05e-3)
    # the printed k, by the shorted coil: 1.6 (1 − 0.85²)
    assert _reactance(coils, (S,), short=(P,)) == pytest.approx(1.6 * (1 - 0.85**2), rel=1e-9)


def test_kulshreshtha_series_and_parallel() -> None:
    """D. C. Kulshreshtha, Basic Electrical Engineering, ch. 7: L1 200 mH, L2 800 mH, k 0.5.

    Printed: 1400, 600, 200, 85.714 mH (series aiding, opposing, parallel aiding, opposing).
    """
    coils = [[0.2, 0.2], [0.2, 0.8]]
    assert _reactance(coils, (P, S)) == pytest.approx(1.4, rel=1e-9)
    assert _reactance(coils, (P, REVERSED)) == pytest.approx(0.6, rel=1e-9)
    assert _reactance(coils, BOTH, design=_parallel(False)) == pytest.approx(0.2, rel=1e-9)
    assert _reactance(coils, BOTH, design=_parallel(True)) == pytest.approx(85.714e-3, abs=0.5e-6)


def _check_details(tests: list[tuple[BenchTest, float]]) -> dict[str, str]:
    design = replace(DESIGN, tests=tuple(test for test, _ in tests))
    read = [
        ReadTest(test_index=place, value=value, uncertainty=1e-4 * value, repeats=1)
        for place, (_, value) in enumerate(tests)
    ]
    found = consistency_checks(design, read)
    assert all(check.holds for check in found)
    return {check.check: check.detail for check in found}


def test_the_checks_find_the_printed_coupling_of_guru_hiziroglu() -> None:
    """The same example as bench readings: k = 0.85 from M = (2.38 − 1.02)/4, and both sums agree."""
    details = _check_details(
        [
            (BenchTest(name="a", measure="inductance", drive=(P, S), frequency=50.0), 2.38),
            (BenchTest(name="o", measure="inductance", drive=(P, REVERSED), frequency=50.0), 1.02),
            (BenchTest(name="L_a", measure="inductance", drive=(P,), frequency=50.0), 0.1),
            (BenchTest(name="L_b", measure="inductance", drive=(S,), frequency=50.0), 1.6),
        ]
    )
    assert {"aiding and opposing", "aiding above opposing", "coupling below one"} <= details.keys()
    found = re.search(r"k\(P, S\) = (\d\.\d+)", details["coupling below one"])
    assert found is not None
    assert float(found[1]) == pytest.approx(0.85, abs=1e-5)


def test_the_checks_find_the_printed_coupling_of_mcpherson() -> None:
    """G. McPherson, An Introduction to Electrical Machines and Transformers, ch. 3, E01 (p. 38).

    X11 20, X22 2000, leakage 0.05 and 5 ohm. Printed: X12 199.5 ohm, k 0.9975.
    """
    omega = 2 * math.pi * 60
    details = _check_details(
        [
            (BenchTest(name="L_1", measure="inductance", drive=(P,), frequency=60.0), 20 / omega),
            (BenchTest(name="L_2", measure="inductance", drive=(S,), frequency=60.0), 2000 / omega),
            (BenchTest(name="M", measure="mutual", drive=(P,), sense=(S,), frequency=60.0), 199.5 / omega),
        ]
    )
    found = re.search(r"k\(P, S\) = (\d\.\d+)", details["coupling below one"])
    assert found is not None
    assert float(found[1]) == pytest.approx(0.9975, abs=1e-5)
    # with X12 from the printed leakages: 1 − (20 − 0.05)/20 of each side is left when the other is shorted
    ohms = [[20.0, 199.5], [199.5, 2000.0]]
    assert _reactance(ohms, (P,), short=(S,)) == pytest.approx(20 * (1 - 0.9975**2), rel=1e-9)


def test_fitzgerald_potential_transformer() -> None:
    """A. E. Fitzgerald, C. Kingsley, S. D. Umans, Electric Machinery, potential transformer 2400:120 V.

    R1 128, X1 143, Xm 163 000 ohm on the high-voltage side, secondary open, 2400 V. Printed: 119.89 V at
    0.045°. The ratio on the bench is therefore not 20.
    """
    matrix = [[128 + 1j * (143 + 163e3), 1j * 163e3 / 20], [1j * 163e3 / 20, 1j * 163e3 / 400]]
    answer = _solved(matrix, (P,), sense=(S,))
    second = 2400 * complex(answer.sense[0] / answer.drive[0])
    assert abs(second) == pytest.approx(119.89, abs=0.005)
    assert math.degrees(cmath.phase(second)) == pytest.approx(0.045, abs=5e-4)
    # 20 (1 + X1/Xm), from the printed values: 877 ppm above the ratio of turns
    assert abs(answer.drive[0] / answer.sense[0]) == pytest.approx(20.0175, abs=1e-4)


def _three_limbs(first: float, second: float, shared: float) -> list[list[float]]:
    """Inductances (H) of 150 and 200 turns on the outer limbs, from the limbs' reluctances (A/Wb)."""
    total = first * second + first * shared + second * shared
    mutual = 150 * 200 * shared / total
    return [[150**2 * (second + shared) / total, mutual], [mutual, 200**2 * (first + shared) / total]]


def test_nagsarkar_sukhija_three_limbs() -> None:
    """Nagsarkar and Sukhija, Basic Electrical Engineering, ch. 3 (FOSSEE companion chapter3_2).

    Limbs of 3.98e6, 3.98e6 and (shared) 5.97e6 A/Wb with a gap each, 150 and 200 turns on the outer ones.

    Printed L1 3.5, M 2.8, L2 6.3 mH; M = 0 with the shared limb's gap closed. k = 0.6 and 2.2613 mH with the
    second winding shorted are computed from the printed reluctances.
    """
    coils = _three_limbs(3.98e6, 3.98e6, 5.97e6)
    assert _reactance(coils, (P,)) == pytest.approx(3.5e-3, abs=0.05e-3)
    assert _reactance(coils, (S,)) == pytest.approx(6.3e-3, abs=0.05e-3)
    aiding, opposing = _reactance(coils, (P, S)), _reactance(coils, (P, REVERSED))
    assert (aiding - opposing) / 4 == pytest.approx(2.8e-3, abs=0.05e-3)
    for one, other in ((P, S), (S, P)):
        answer = _solved([[1j * value for value in row] for row in coils], (one,), sense=(other,))
        assert float(answer.sense[0].imag) == pytest.approx(2.82663e-3, rel=1e-5)
    assert _reactance(coils, (P,), short=(S,)) == pytest.approx(2.2613e-3, rel=1e-4)
    assert _reactance(coils, (P,), short=(S,)) / coils[0][0] == pytest.approx(1 - 0.6**2, rel=1e-9)
    closed = _three_limbs(3.98e6, 3.98e6, 0.0)
    answer = _solved([[1j * value for value in row] for row in closed], (P,), sense=(S,))
    assert abs(answer.sense[0]) < 1e-12 * abs(answer.drive[0])
    assert _reactance(closed, (P,), short=(S,)) == pytest.approx(_reactance(closed, (P,)), rel=1e-12)
