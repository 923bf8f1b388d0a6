"""Laws of whole designs, layout and field included: passivity, reciprocity, turns², names, directions."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from how_many import examples
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from aswound.predict.circuit.bench import inductance_matrix, leakage, predict_bench, readings
from aswound.predict.design import (
    BenchTest,
    Bobbin,
    Build,
    Core,
    Design,
    Dimensions,
    EDimensions,
    FloatArray,
    Material,
    Member,
    PotDimensions,
    RoundDimensions,
    Step,
    TapeStep,
    ToroidDimensions,
    UDimensions,
    Winding,
    WindStep,
    Wire,
)
from aswound.predict.winding.layout import check_fit

pytestmark = pytest.mark.property

MM = 1e-3
LEGS: tuple[Dimensions, ...] = (
    EDimensions(
        leg_width=10 * MM,
        leg_depth=12 * MM,
        window_width=8 * MM,
        window_height=22 * MM,
        outer_leg=5 * MM,
        back=5 * MM,
        outer_depth=12 * MM,
    ),
    RoundDimensions(
        leg_diameter=11 * MM,
        window_diameter=27 * MM,
        length=38 * MM,
        depth=11 * MM,
        window_height=22 * MM,
        back=5 * MM,
    ),
    PotDimensions(
        leg_diameter=11 * MM,
        window_diameter=27 * MM,
        outer_diameter=34 * MM,
        window_height=22 * MM,
        back=5 * MM,
        slot_angle=0.5,
    ),
    UDimensions(10 * MM, 12 * MM, 8 * MM, 22 * MM, 10 * MM),
)
"""Windows of 8 × 22 mm around a rectangular and a round leg, in a pot and beside one leg of a U core."""
RING = ToroidDimensions(36 * MM, 23 * MM, 15 * MM)
_BLOCK = (("thickness", 0.4, 1.0), ("breadth", 8.0, 15.0), ("from_end", 0.0, 5.0))
"""Least and greatest size (mm) of a section of uniform density: four of them with their tapes fit."""


def _bench_tests(names: tuple[str, ...]) -> tuple[BenchTest, ...]:
    """Every measure on the first two windings, and (with three) all others shorted and the third sensed."""
    p, s = (Member(names[0]),), (Member(names[1]),)
    tests = (
        BenchTest(name="L_P", measure="inductance", drive=p, frequency=1e4),
        BenchTest(name="L_S", measure="inductance", drive=s, frequency=1e4),
        BenchTest(name="Lk_P", measure="inductance", drive=p, short=s, frequency=1e5),
        BenchTest(name="Lk_S", measure="inductance", drive=s, short=p, frequency=1e5),
        BenchTest(name="Rs_P", measure="ac_resistance", drive=p, short=s, frequency=1e5),
        BenchTest(name="Q_P", measure="quality", drive=p, frequency=1e4),
        BenchTest(name="R_P", measure="resistance", drive=p),
        BenchTest(name="n", measure="ratio", drive=p, sense=s, frequency=1e4),
        BenchTest(name="M", measure="mutual", drive=p, sense=s, frequency=1e4),
        BenchTest(name="M_back", measure="mutual", drive=s, sense=p, frequency=1e4),
        BenchTest(name="dot", measure="phase", drive=p, sense=s, frequency=1e4),
        BenchTest(name="aiding", measure="inductance", drive=(*p, *s), frequency=1e4),
        BenchTest(name="opposing", measure="inductance", drive=(*p, Member(names[1], True)), frequency=1e4),
    )
    if len(names) < 3:
        return tests
    rest = tuple(Member(name) for name in names[1:])
    return (
        *tests,
        BenchTest(name="Lk_all", measure="inductance", drive=p, short=rest, frequency=1e5),
        BenchTest(name="n_A", measure="ratio", drive=p, sense=rest[-1:], frequency=1e4),
    )


@st.composite
def designs(draw: st.DrawFn, windings: int | None = None, *, blocks: bool = False) -> Design:
    """A transformer of two or three windings that fits; the first may be split around the others.

    Its permeability does not depend on the level, so that all of its readings are linear. ``blocks``: every
    step a section of uniform density, which lies the same whatever its turns.
    """
    names = ("P", "S", "A")[: windings or draw(st.integers(2, 3))]
    wires = {}
    for name in names:
        diameter = draw(st.floats(0.15, 0.4)) * MM
        wires[name] = Wire(
            kind="round", diameter=diameter, overall=1.12 * diameter, in_hand=draw(st.integers(1, 2))
        )
    order = [*names, "P"] if draw(st.booleans()) else list(draw(st.permutations(names)))
    steps: list[Step] = []
    for name in order:
        turns = draw(st.integers(4, 30))
        if blocks:
            thickness, breadth, from_end = (draw(st.floats(low, high)) * MM for _, low, high in _BLOCK)
            steps.append(
                WindStep(winding=name, turns=turns, thickness=thickness, breadth=breadth, from_end=from_end)
            )
        else:
            steps.append(WindStep(winding=name, turns=turns, close=draw(st.booleans())))
        steps.append(TapeStep(draw(st.floats(0.03, 0.2)) * MM, draw(st.integers(1, 3))))
    material = Material(
        name="ferrite", initial_permeability=draw(st.floats(500, 5000)), level_coefficient=0.0
    )
    dimensions = draw(st.sampled_from(LEGS if blocks else (*LEGS, RING)))
    ring = isinstance(dimensions, ToroidDimensions)
    gap = 0.0 if ring else draw(st.sampled_from([0.0, 0.2, 0.8])) * MM
    core = Core(
        name="core",
        dimensions=dimensions,
        material=material,
        effective_area=118e-6,
        effective_length=85 * MM,
        gap=gap,
        face_gap=0.0 if ring else 3e-6,
    )
    design = Design(
        title="generated",
        core=core,
        bobbin=Bobbin(wall=1 * MM, flange=1 * MM),
        windings=tuple(Winding(name=name, wire=wires[name]) for name in names),
        build=Build(steps=tuple(steps)),
        tests=_bench_tests(names),
    )
    check_fit(design)
    return design


def _named(design: Design, values: FloatArray) -> dict[str, float]:
    return {test.name: float(value) for test, value in zip(design.tests, values, strict=True)}


@settings(max_examples=examples(25), deadline=None)
@given(designs())
def test_every_design_is_passive_and_couples_below_one(design: Design) -> None:
    """Re Z > 0 at all driven terminals, and the matrix positive definite: every |k| below 1."""
    assert np.all(predict_bench(design).impedance.real > 0)
    matrix = inductance_matrix(design)
    np.testing.assert_array_equal(matrix, matrix.T)
    root = np.sqrt(np.diag(matrix))
    coupling = matrix / np.outer(root, root)
    assert np.all(np.linalg.eigvalsh(coupling) > 0)
    assert np.all(np.abs(coupling[~np.eye(len(root), dtype=bool)]) < 1)


@settings(max_examples=examples(25), deadline=None)
@given(designs(windings=2))
def test_two_windings_are_reciprocal_and_leak_alike_from_both_sides(design: Design) -> None:
    """M is one number, and Λ1/Λ2 = L1/L2 exactly at low frequency."""
    values = _named(design, readings(design))
    assert values["M"] == pytest.approx(values["M_back"], rel=1e-9)
    matrix = inductance_matrix(design)
    there, back = leakage(design, "P", "S"), leakage(design, "S", "P")
    assert there / back == pytest.approx(matrix[0, 0] / matrix[1, 1], rel=1e-6)


@settings(max_examples=examples(20), deadline=None)
@given(designs(blocks=True), st.tuples(*[st.integers(1, 4)] * 3))
def test_inductances_go_with_the_square_of_the_turns(design: Design, factors: tuple[int, int, int]) -> None:
    """At one and the same layout: L_ij with k_i k_j, leakage with the square of the driven winding alone."""
    by_name = dict(zip(("P", "S", "A"), factors, strict=True))
    steps = tuple(
        replace(step, turns=step.turns * by_name[step.winding]) if isinstance(step, WindStep) else step
        for step in design.build.steps
    )
    more = replace(design, build=replace(design.build, steps=steps))
    scale = np.array([by_name[winding.name] for winding in design.windings], float)
    np.testing.assert_allclose(
        inductance_matrix(more), inductance_matrix(design) * np.outer(scale, scale), rtol=1e-7
    )
    for drive, short in (("P", "S"), ("S", "P")):
        expected = by_name[drive] ** 2 * float(leakage(design, drive, short))
        assert leakage(more, drive, short) == pytest.approx(expected, rel=1e-6)


@settings(max_examples=examples(20), deadline=None)
@given(designs(), st.permutations(("x", "P", "S")), st.permutations(range(3)))
def test_names_and_their_order_mean_nothing(design: Design, names: list[str], order: list[int]) -> None:
    """Windings renamed throughout (some to each other's names) and listed in another order read the same."""
    known = [winding.name for winding in design.windings]
    renamed = dict(zip(known, names, strict=False))
    windings = tuple(
        replace(design.windings[place], name=renamed[known[place]]) for place in order if place < len(known)
    )
    steps = tuple(
        replace(step, winding=renamed[step.winding]) if isinstance(step, WindStep) else step
        for step in design.build.steps
    )
    other = replace(
        design,
        windings=windings,
        build=replace(design.build, steps=steps),
        tests=_bench_tests(tuple(renamed[name] for name in known)),
    )
    np.testing.assert_allclose(readings(other), readings(design), rtol=1e-6, atol=1e-12)


@settings(max_examples=examples(20), deadline=None)
@given(designs())
def test_a_winding_turned_the_other_way_changes_signs_only(design: Design) -> None:
    """S wound ccw: M changes its sign, the angle its half-plane, aiding and opposing change places; no
    more (charges between the windings aside, which see other voltages then)."""
    design = replace(design, model=replace(design.model, capacitance=1e-6))
    windings = tuple(
        replace(winding, turning="ccw") if winding.name == "S" else winding for winding in design.windings
    )
    before = _named(design, readings(design))
    after = _named(design, readings(replace(design, windings=windings)))
    expected = dict(before)
    expected |= {"M": -before["M"], "M_back": -before["M_back"]}
    expected |= {"aiding": before["opposing"], "opposing": before["aiding"]}
    expected["dot"] = math.remainder(before["dot"] + math.pi, 2 * math.pi)
    assert abs(before["dot"]) < 1 < abs(expected["dot"])
    for name, value in expected.items():
        assert after[name] == pytest.approx(value, rel=1e-7), name


@settings(max_examples=examples(15), deadline=None)
@given(designs(windings=2), st.floats(2.0, 7.0))
def test_leakage_lies_between_nothing_and_the_open_inductance(design: Design, decade: float) -> None:
    """0 < L(P, S shorted) = L_P (1 − k²) ≤ L_P, the losses of both positive at every frequency."""
    matrix = inductance_matrix(design)
    left = 1 - matrix[0, 1] ** 2 / (matrix[0, 0] * matrix[1, 1])
    shorted = float(leakage(design, "P", "S"))
    assert 0 < shorted < matrix[0, 0]
    assert shorted == pytest.approx(matrix[0, 0] * left, rel=1e-6)
    p, s = (Member("P"),), (Member("S"),)
    frequency = 10**decade
    tests = (
        BenchTest(name="open", measure="inductance", drive=p, frequency=frequency),
        BenchTest(name="short", measure="inductance", drive=p, short=s, frequency=frequency),
        BenchTest(name="opposing", measure="inductance", drive=(*p, Member("S", True)), frequency=frequency),
    )
    assert np.all(predict_bench(replace(design, tests=tests)).impedance.real > 0)


@settings(max_examples=examples(15), deadline=None)
@given(designs(windings=2))
def test_ratios_of_both_directions_share_one_mutual_impedance(design: Design) -> None:
    """n_PS = |Z_P/Z_m|, n_SP = |Z_S/Z_m|: one Z_m, and n_PS n_SP = |Z_P Z_S/Z_m²| > 1 (1/k² of coils without
    loss)."""
    p, s = (Member("P"),), (Member("S"),)
    tests = (
        BenchTest(name="n", measure="ratio", drive=p, sense=s, frequency=1e5),
        BenchTest(name="back", measure="ratio", drive=s, sense=p, frequency=1e5),
    )
    prediction = predict_bench(replace(design, tests=tests))
    (there, back), (z_p, z_s) = prediction.values, np.abs(prediction.impedance)
    assert z_p / there == pytest.approx(z_s / back, rel=1e-9)
    assert there * back > 1


@settings(max_examples=examples(15), deadline=None)
@given(designs(windings=2), st.floats(0.03, 0.3))
def test_more_insulation_between_two_windings_never_lowers_the_leakage(
    design: Design, thickness: float
) -> None:
    """A tape more under the outer winding of P | S, both over the whole breadth: flux has more room.

    (A partial layer may leak less as it nears the outer leg, which mirrors it.)
    """
    steps = [replace(step, close=False) for step in design.build.steps if isinstance(step, WindStep)][:2]
    assume(len({step.winding for step in steps}) == 2)
    tapes = [TapeStep(0.1 * MM, count) for count in (1, 3)]
    room = [replace(design, build=Build(steps=(steps[0], tape, steps[1]))) for tape in tapes]
    room += [replace(design, build=Build(steps=(steps[0], TapeStep(0.1 * MM + thickness * MM, 1), steps[1])))]
    thin, three, thick = (float(leakage(one, "P", "S")) for one in room)
    assert thin < three
    assert thin < thick
