"""Laws of a test's circuit for generated coils: reciprocity, passivity, order of shorts, joins, batches."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path
from typing import Literal

import numpy as np
import pytest
from how_many import examples
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from aswound.compare.consistency.checks import consistency_checks
from aswound.compare.readings.read_test import ReadTest
from aswound.predict.circuit.network import members_of, wire
from aswound.predict.circuit.nodal_analysis import Solution, solve
from aswound.predict.design import BenchTest, ComplexArray, Design, FloatArray, Join, Member, Port
from aswound.predict.designfile.reader import load_design
from aswound.predict.winding.layout import Branch

pytestmark = pytest.mark.property

_SAMPLE = load_design(Path(__file__).parents[2] / "samples" / "flyback-24w.toml")
DESIGN = replace(_SAMPLE, bench=replace(_SAMPLE.bench, short_inductance=0.0))
BRANCHES = (Branch("P", 0, 0), Branch("S", 1, 0), Branch("AUX", 2, 0))
P, S, A = (Member(name) for name in ("P", "S", "AUX"))
OMEGA = 2 * math.pi * 1e5


@st.composite
def coils(draw: st.DrawFn) -> FloatArray:
    """(3, 3) a positive definite inductance matrix (H), couplings of either sign up to 0.999."""
    size = [10 ** draw(st.floats(-6, -2)) for _ in range(3)]
    loose = 10 ** draw(st.floats(-3, 0))
    mixed = np.array([[draw(st.floats(-1, 1)) for _ in range(3)] for _ in range(3)])
    common = np.array([draw(st.sampled_from([-1.0, 1.0])) for _ in range(3)])
    raw = np.outer(common, common) + loose * (mixed @ mixed.T + np.eye(3))
    scale = np.sqrt(np.array(size) / np.diag(raw))
    return np.asarray(raw * np.outer(scale, scale))


@st.composite
def lossy(draw: st.DrawFn) -> ComplexArray:
    """(3, 3) impedances (ohm) of coils with resistances from nothing to their reactance."""
    inductance = draw(coils())
    shares = np.array([draw(st.floats(0, 1)) for _ in range(3)])
    return np.asarray(1j * OMEGA * inductance + np.diag(shares * OMEGA * np.diag(inductance)))


def _solve(
    matrix: ComplexArray | FloatArray,
    drive: Port,
    short: Port = (),
    sense: Port = (),
    design: Design = DESIGN,
    link: complex = 0.0,
) -> Solution:
    wiring = wire(
        design,
        BRANCHES,
        BenchTest(name="t", measure="inductance", drive=drive, short=short, sense=sense, frequency=1e5),
    )
    stack = np.asarray(matrix, complex).reshape(-1, 3, 3)
    chosen = stack[:, wiring.branches[:, None], wiring.branches[None, :]]
    count = len(stack)
    return solve(wiring, chosen, np.zeros((count, 0), complex), np.full(count, link, complex))


def _inductance(inductance: FloatArray, drive: Port, short: Port = (), design: Design = DESIGN) -> float:
    return float(_solve(1j * inductance, drive, short, design=design).drive[0].imag)


@given(coils())
def test_a_shorted_inductance_is_the_schur_complement(inductance: FloatArray) -> None:
    """L(1|S) = 1/[L⁻¹]₁₁ over the driven and the shorted windings."""
    for short, kept in (((S,), [0, 1]), ((A,), [0, 2]), ((S, A), [0, 1, 2])):
        expected = 1 / np.linalg.inv(inductance[np.ix_(kept, kept)])[0, 0]
        assert _inductance(inductance, (P,), short) == pytest.approx(expected, rel=1e-7)


@given(coils())
def test_more_shorted_never_reads_more(inductance: FloatArray) -> None:
    opened, one, both = (_inductance(inductance, (P,), short) for short in ((), (S,), (S, A)))
    assert 0 < both <= one * (1 + 1e-7)
    assert one <= opened * (1 + 1e-12)


@given(lossy())
def test_what_one_winding_makes_in_another_is_the_same_both_ways(matrix: ComplexArray) -> None:
    """Also with the third shorted, and it changes sign with either winding."""
    for short in ((), (A,)):
        there = _solve(matrix, (P,), short, (S,)).sense[0]
        back = _solve(matrix, (S,), short, (P,)).sense[0]
        tolerance = 1e-9 * math.sqrt(abs(matrix[0, 0] * matrix[1, 1]))
        assert abs(there - back) < tolerance
        reversed_sense = _solve(matrix, (P,), short, (Member("S", True),)).sense[0]
        assert abs(there + reversed_sense) < tolerance


@given(lossy(), st.floats(0, 10), st.floats(0, 10))
def test_no_test_gives_power(matrix: ComplexArray, resistance: float, reactance: float) -> None:
    """Re Z ≥ 0 for open, shorted and series ports, whatever the link."""
    for drive, short in (((P,), ()), ((P,), (S,)), ((P,), (S, A)), ((P, Member("S", True)), (A,))):
        impedance = _solve(matrix, drive, short, link=complex(resistance, reactance)).drive[0]
        assert impedance.real >= -1e-9 * abs(impedance) - 1e-9 * abs(matrix[0, 0])


@given(coils())
def test_series_and_parallel_joins(inductance: FloatArray) -> None:
    """La, Lo = L1 + L2 ± 2M; parallel (L1 L2 − M²)/(L1 + L2 − 2M), opposing with + 2M."""
    (l1, m), (_, l2) = inductance[:2, 0:2]
    for sign, second in ((1, S), (-1, Member("S", True))):
        series, parallel = (Join(kind, kind, (P, second)) for kind in ("series", "parallel"))
        design = replace(DESIGN, joins=(series, parallel))
        total = l1 + l2 + 2 * sign * m
        assert _inductance(inductance, (P, second)) == pytest.approx(total, rel=1e-7, abs=1e-9 * (l1 + l2))
        joined = _inductance(inductance, (Member("series"),), design=design)
        assert joined == pytest.approx(total, rel=1e-7, abs=1e-9 * (l1 + l2))
        expected = (l1 * l2 - m**2) / (l1 + l2 - 2 * sign * m)
        found = _inductance(inductance, (Member("parallel"),), design=design)
        assert found == pytest.approx(expected, rel=1e-6)


@given(st.lists(lossy(), min_size=2, max_size=4))
def test_a_batch_is_its_builds_one_by_one(matrices: list[ComplexArray]) -> None:
    together = _solve(np.stack(matrices), (P,), (S,), (A,), link=0.01 + 0.005j)
    for place, matrix in enumerate(matrices):
        alone = _solve(matrix, (P,), (S,), (A,), link=0.01 + 0.005j)
        np.testing.assert_allclose(together.drive[place], alone.drive[0], rtol=1e-9)
        np.testing.assert_allclose(together.currents[place], alone.currents[0], rtol=1e-7, atol=1e-9)


SPLIT = (Branch("P", 0, 0), Branch("S", 1, 0), Branch("P", 2, 1))
"""P in two sections around S: rows and columns 0 and 2 of the matrix are P's."""


def _split(
    inductance: FloatArray,
    drive: Port,
    short: Port = (),
    *,
    sections: Literal["series", "parallel"] = "series",
    opposed: tuple[int, ...] = (),
) -> float:
    """Inductance (H) at ``drive`` with P's sections joined as said, the sections ``opposed`` turned round."""
    windings = tuple(
        replace(winding, sections=sections) if winding.name == "P" else winding for winding in DESIGN.windings
    )
    test = BenchTest(name="t", measure="inductance", drive=drive, short=short, sense=(), frequency=1e5)
    wiring = wire(replace(DESIGN, windings=windings), SPLIT, test)
    signs = np.ones(len(SPLIT))  # turns of a section connected the wrong way round count negative
    signs[[(0, 2)[ordinal] for ordinal in opposed]] = -1.0
    chosen = 1j * (inductance * np.outer(signs, signs))[np.ix_(wiring.branches, wiring.branches)]
    answer = solve(wiring, chosen[None], np.zeros((1, 0), complex), np.zeros(1, complex))
    return float(answer.drive[0].imag)


@given(coils())
def test_sections_of_one_winding_in_series_and_in_parallel(inductance: FloatArray) -> None:
    """La + Lb ± 2M in series, (La Lb − M²)/(La + Lb ∓ 2M) in parallel, minus where one is turned round.

    Sections in parallel make a loop that carries current although nothing is connected to P; sections in
    series do not.
    """
    (la, lb), m = np.diag(inductance)[[0, 2]], inductance[0, 2]
    size = la + lb
    assert _split(inductance, (P,)) == pytest.approx(size + 2 * m, rel=1e-7, abs=1e-9 * size)
    turned = _split(inductance, (P,), opposed=(1,))
    assert turned == pytest.approx(size - 2 * m, rel=1e-7, abs=1e-9 * size)
    for opposed, sign in (((), 1), ((1,), -1)):
        parallel = _split(inductance, (P,), sections="parallel", opposed=opposed)
        assert parallel == pytest.approx((la * lb - m**2) / (size - 2 * sign * m), rel=1e-6)
    assert _split(inductance, (S,)) == pytest.approx(inductance[1, 1], rel=1e-9)
    loop = inductance[0, 1] - inductance[2, 1]
    left = inductance[1, 1] - loop**2 / (size - 2 * m)
    assert _split(inductance, (S,), sections="parallel") == pytest.approx(left, rel=1e-6)
    shorted = 1 / np.linalg.inv(inductance)[1, 1]
    assert _split(inductance, (S,), (P,), sections="parallel") == pytest.approx(shorted, rel=1e-6)


@given(lossy(), *[st.floats(1e-3, 1.0)] * 3)
def test_leads_lie_in_series_with_their_winding(
    matrix: ComplexArray, first: float, second: float, link: float
) -> None:
    """Z = Z1 + r1 − Z12²/(Z2 + r2 + link); an open winding's leads do not count."""
    windings = tuple(replace(winding, lead_length=0.1) for winding in DESIGN.windings)
    design = replace(DESIGN, windings=windings)
    resistance = {"P": first, "S": second, "AUX": 1e3}
    for short in ((), (S,)):
        wiring = wire(
            design,
            BRANCHES,
            BenchTest(name="t", measure="inductance", drive=(P,), short=short, sense=(), frequency=1e5),
        )
        leads = np.array([[resistance[name] for name in wiring.lead_windings]], complex)
        chosen = matrix[np.ix_(wiring.branches, wiring.branches)][None]
        found = complex(solve(wiring, chosen, leads, np.array([link], complex)).drive[0])
        expected = matrix[0, 0] + first
        if short:
            expected -= matrix[0, 1] ** 2 / (matrix[1, 1] + second + link)
        assert abs(found - expected) < 1e-9 * abs(matrix[0, 0] + first)


@given(coils(), *[st.booleans()] * 3)
def test_joins_of_joins(inductance: FloatArray, inner: bool, outer: bool, port: bool) -> None:
    """±(±(P − S) + A) in series: the signs multiply, by the circuit and by the list of members."""
    pair = Join("pair", "series", (P, Member("S", not inner)))
    both = Join("both", "series", (Member("pair", outer), A))
    design = replace(DESIGN, joins=(pair, both))
    drive = (Member("both", port),)
    signs = np.array([-1.0 if outer else 1.0, (1.0 if inner else -1.0) * (-1.0 if outer else 1.0), 1.0])
    listed = members_of(design, drive)
    assert [member.name for member in listed] == ["P", "S", "AUX"]
    assert [-1.0 if member.reversed else 1.0 for member in listed] == list(-signs if port else signs)
    found = _inductance(inductance, drive, design=design)
    size = float(np.trace(inductance))
    assert found == pytest.approx(float(signs @ inductance @ signs), rel=1e-7, abs=1e-8 * size)


_PORTS: dict[str, tuple[str, Port, Port, Port]] = {
    "L1": ("inductance", (P,), (), ()),
    "L2": ("inductance", (S,), (), ()),
    "L3": ("inductance", (A,), (), ()),
    "Lk1": ("inductance", (P,), (S,), ()),
    "Lk2": ("inductance", (S,), (P,), ()),
    "Lk1_23": ("inductance", (P,), (S, A), ()),
    "aiding": ("inductance", (P, S), (), ()),
    "opposing": ("inductance", (P, Member("S", True)), (), ()),
    "n1": ("ratio", (P,), (), (S,)),
    "n2": ("ratio", (S,), (), (P,)),
    "M12": ("mutual", (P,), (), (S,)),
    "M21": ("mutual", (S,), (), (P,)),
    "M13": ("mutual", (P,), (), (A,)),
    "M23": ("mutual", (S,), (), (A,)),
    "dot": ("phase", (P,), (), (S,)),
}


@settings(max_examples=examples(60), deadline=None)
@given(coils(), st.lists(st.sampled_from(sorted(_PORTS)), unique=True, min_size=2))
def test_readings_of_one_lossless_part_never_contradict_each_other(
    inductance: FloatArray, names: list[str]
) -> None:
    """Whatever subset is read, down to the k² that the checks state, and any k where a leakage tells it.

    Only the marked directions may be at odds, where a coil is wound backwards.
    """
    k2 = inductance[0, 1] ** 2 / (inductance[0, 0] * inductance[1, 1])
    assume(k2 > 0.9 or (k2 > 0.01 and {"L1", "L2", "Lk1"} <= set(names)))
    tests, read = [], []
    for place, name in enumerate(names):
        measure, drive, short, sense = _PORTS[name]
        answer = _solve(1j * OMEGA * inductance, drive, short, sense)
        value = {
            "inductance": answer.drive[0].imag / OMEGA,
            "ratio": abs(answer.drive[0] / answer.sense[0]) if sense else 0.0,
            "mutual": answer.sense[0].imag / OMEGA,
            "phase": float(np.angle(answer.sense[0] / answer.drive[0])) if sense else 0.0,
        }[measure]
        tests.append(
            BenchTest(name=name, measure=measure, drive=drive, short=short, sense=sense, frequency=1e5)
        )
        read.append(
            ReadTest(
                test_index=place,
                value=float(value),
                uncertainty=max(1e-3 * abs(value), 1e-3 * (measure == "phase")),
                repeats=1,
            )
        )
    design = replace(DESIGN, tests=tuple(tests))
    backwards = inductance[0, 1] < 0
    for check in consistency_checks(design, read):
        if check.check == "aiding above opposing" and backwards:
            continue
        assert check.holds, (check, inductance)
