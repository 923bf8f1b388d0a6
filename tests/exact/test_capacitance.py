"""Capacitance of builds where electrostatics gives the answer in closed form, and plates by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from aswound.predict import lay_out, parse_design, readings
from aswound.predict.capacitance.potentials import build_capacitance
from aswound.predict.capacitance.wire_rows import EPSILON_0
from aswound.predict.circuit.network import wire
from aswound.predict.circuit.nodal_analysis import solve
from aswound.predict.design import Design, FloatArray

pytestmark = pytest.mark.exact

ROUND = '{ diameter = "0.4 mm", overall = "0.46 mm" }'
FOIL = '{ foil = "0.1 mm", width = "18 mm" }'
TAPE = '{ tape = "0.1 mm", wraps = 2 }'


def design(
    steps: list[str],
    tests: str = "",
    *,
    wires: tuple[str, str] = (ROUND, ROUND),
    build: str = "",
    bobbin: str = 'wall = "1 mm"\nflange = "1 mm"',
    core: str = "",
) -> Design:
    """A round leg of 11 mm in a window 9 × 22 mm, windings P and S as far as they are wound."""
    listed = "".join(
        f'[[winding]]\nname = "{name}"\nwire = {wire}\n'
        for name, wire in zip("PS", wires, strict=True)
        if any(f'"{name}"' in step for step in steps)
    )
    core = core or (
        'form = "round"\nleg_diameter = "11 mm"\nwindow_diameter = "29 mm"\nlength = "40 mm"\n'
        'depth = "11 mm"\nwindow_height = "22 mm"\nback = "5 mm"'
    )
    return parse_design(f"""
[core]
mu_i = 2300
gap = "0.2 mm"
[core.dimensions]
{core}
[bobbin]
{bobbin}
{listed}
[build]
{build}
steps = [
{", ".join(steps)}
]
{tests}
""")


def matrix(made: Design) -> tuple[FloatArray, tuple[tuple[int, str], ...]]:
    built = build_capacitance(made, lay_out(made))
    return built.matrix[0], built.labels


def energy(made: Design, branch: int = 0) -> float:
    """Twice the energy at 1 V across one branch, everything else at its start's potential."""
    capacitance, labels = matrix(made)
    v = np.array([float(label == (branch, "finish")) for label in labels])
    return float(v @ capacitance @ v)


def between(made: Design, a: tuple[float, float], b: tuple[float, float]) -> float:
    """−aᵀ C b for the ends of branches 0 and 1: what the field between the two holds, ∫ c V_a V_b."""
    capacitance, _ = matrix(made)
    return -float(np.array(a) @ capacitance[:2, 2:4] @ np.array(b))


def capacitance(drive: str, sense: str, more: str = "") -> str:
    return (
        f'[[test]]\nname = "{drive}-{sense}{len(more)}"\nmeasure = "capacitance"\ndrive = "{drive}"\n'
        f'sense = "{sense}"\nfrequency = "100 kHz"\n{more}\n'
    )


def resonance(name: str, drive: str, more: str = "") -> str:
    return f'[[test]]\nname = "{name}"\nmeasure = "resonance"\ndrive = "{drive}"\n{more}\n'


def inductance(name: str, drive: str, more: str = "", frequency: str = "10 kHz") -> str:
    return (
        f'[[test]]\nname = "{name}"\nmeasure = "inductance"\ndrive = "{drive}"\n'
        f'frequency = "{frequency}"\n{more}\n'
    )


# --- potentials along the layers ---------------------------------------------------------------------


def test_two_layers_with_linear_ramps() -> None:
    """C_eff = C (ΔVa² + ΔVa ΔVb + ΔVb²)/3V² (elementary integral): the cross terms are C/3 for like ends and
    C/6 for unlike ones, C with every turn at one potential."""
    made = design(['{ wind = "P", turns = 40 }', TAPE, '{ wind = "S", turns = 40 }'])
    whole = between(made, (1, 1), (1, 1))
    assert whole > 20e-12
    assert between(made, (0, 1), (0, 1)) == pytest.approx(whole / 3, rel=1e-9)
    assert between(made, (0, 1), (1, 0)) == pytest.approx(whole / 6, rel=1e-9)
    assert between(made, (1, 1), (0, 1)) == pytest.approx(whole / 2, rel=1e-9)


@pytest.mark.parametrize("layers", [2, 3, 5])
def test_back_and_forth_against_the_same_side(layers: int) -> None:
    """4 (p − 1) C0/3p² against (p − 1) C0/p² (C0/3 and C0/4 for two layers): one third more between layers,
    (p − 1) C0/3p² in all; all else (core, turn to turn) is the same. C0 of the pairs from windings of their
    own, which differ by a few per cent with their turns' lengths, so it is summed."""
    turns = 40 * layers
    made = [
        design(
            [f'{{ wind = "P", turns = {turns}, layers = {layers} }}'],
            build=f'style = "{style}"\ninterlayer = "0.1 mm"',
        )
        for style in ("back_and_forth", "same_side")
    ]
    apart = energy(made[0]) - energy(made[1])
    steps = []
    for layer in range(layers):
        steps += ['{ tape = "0.1 mm", wraps = 1 }'] * (layer > 0)
        steps.append(f'{{ wind = "{"PS"[layer % 2]}", turns = 40, layers = 1 }}')
    single = design(steps)
    full, labels = matrix(single)
    pairs = 0.0
    for layer in range(layers - 1):
        rows = [labels.index((layer, end)) for end in ("start", "finish")]
        columns = [labels.index((layer + 1, end)) for end in ("start", "finish")]
        pairs -= float(np.sum(full[np.ix_(rows, columns)]))
    assert apart == pytest.approx(pairs / (3 * layers**2), rel=1e-6)


def test_layers_without_order() -> None:
    """Mean potentials with the variance Δ²/12: between layers 7/6 of the same side, half of what back and
    forth adds (derived in ``capacitance``); towards core and yokes the same but for the layers' ends."""
    energies = []
    for style in ("same_side", "back_and_forth"):
        made = design(['{ wind = "P", turns = 80, layers = 2 }'], build=f'style = "{style}"')
        layout = lay_out(made)
        wild = replace(layout, sections=tuple(replace(each, scramble=True) for each in layout.sections))
        for laid in (layout, wild):
            built = build_capacitance(made, laid)
            v = np.array([float(label == (0, "finish")) for label in built.labels])
            energies.append(float(v @ built.matrix[0] @ v))
    same, wild, forth, also = energies
    assert wild == pytest.approx(also, rel=1e-12)
    assert (wild - same) / (forth - same) == pytest.approx(0.5, abs=0.03)


def ends(permittivity: float, step: str, *, scramble: bool = False) -> float:
    """Twice the energy of one layer on a bare leg at 1 V, between flanges of 1 mm of ``permittivity``: what
    depends on it is that of the layer's ends."""
    bobbin = f'wall = "0 mm"\nflange = "1 mm"\npermittivity = {permittivity}'
    made = design([step], bobbin=bobbin)
    layout = lay_out(made)
    layout = replace(layout, sections=tuple(replace(each, scramble=scramble) for each in layout.sections))
    built = build_capacitance(made, layout)
    v = np.array([float(label == (0, "finish")) for label in built.labels])
    return float(v @ built.matrix[0] @ v)


def test_ends_of_a_layer_without_order() -> None:
    """At 1 V the far end of an ordered layer has 1 V and its near end none: w. Without order both have ½ V
    and a variance of 1/12 V²: 2 w (1/4 + 1/12)."""
    step = '{ wind = "P", turns = 40 }'
    ordered, wild = (
        ends(6.0, step, scramble=scramble) - ends(2.0, step, scramble=scramble) for scramble in (False, True)
    )
    assert ordered > 1e-15
    assert wild / ordered == pytest.approx(2 / 3, rel=1e-9)


def test_the_last_wire_of_a_spaced_layer_stands_half_a_space_from_its_end() -> None:
    """10 wires of 0.46 mm on 20 mm are 1.54 mm apart: plates through 1 mm of flange and 0.77 mm of air."""
    one, two, four = (ends(e, '{ wind = "P", turns = 10 }') for e in (1.0, 2.0, 4.0))
    far = [1 / (1 / e + 0.77) for e in (1, 2, 4)]
    assert (two - one) / (four - two) == pytest.approx((far[1] - far[0]) / (far[2] - far[1]), rel=1e-9)


@pytest.mark.parametrize("turns", [2, 3, 7])
def test_windings_wound_together_meet_between_all_neighbours(turns: int) -> None:
    """n turns of each, wire on wire: 2 n − 1 places where a wire of one meets a wire of the other."""
    one, several = (
        between(
            design([f'{{ wind = "P", turns = {n}, with = ["S"], close = true }}'], build='allowance = "0 %"'),
            (1, 1),
            (1, 1),
        )
        for n in (1, turns)
    )
    assert several / one == pytest.approx(2 * turns - 1, rel=1e-9)


def test_tape_across_all_chambers_lies_in_each() -> None:
    """The same between two windings of one chamber as tape that is laid in this chamber alone."""
    bobbin = 'wall = "1 mm"\nflange = "1 mm"\nchambers = 2\npartition = "1 mm"'
    held = [
        between(
            design(
                [
                    '{ wind = "P", turns = 19, chamber = 1 }',
                    f'{{ tape = "0.2 mm", wraps = 3{where} }}',
                    '{ wind = "S", turns = 19, chamber = 1 }',
                ],
                bobbin=bobbin,
            ),
            (1, 1),
            (1, 1),
        )
        for where in ("", ", chamber = 1")
    ]
    assert held[0] > 1e-12
    assert held[0] == pytest.approx(held[1], rel=1e-12)


def test_turns_of_foil() -> None:
    """N turns of foil, each a plate that faces the next at 1/N of the voltage: C0 (N − 1)/N²."""
    made = design(
        ['{ wind = "P", turns = 4, interlayer = "0.05 mm" }', TAPE, '{ wind = "S", turns = 1 }'],
        wires=(FOIL, FOIL),
    )
    layout = lay_out(made)
    lengths = layout.turn_length[0, :4]
    plates = 3.3 * EPSILON_0 * 18e-3 / 0.05e-3 * (lengths[:-1] + lengths[1:]) / 2
    capacitance, labels = matrix(made)
    spread = np.array([{"start": 0.0, "finish": 1.0}[end] if branch == 0 else 0.0 for branch, end in labels])
    level = np.array([float(branch == 0) for branch, _ in labels])
    own = float(spread @ capacitance @ spread)
    outside = float(level @ capacitance @ level)  # to everything else: no more than that at any potential
    assert float(np.sum(plates)) / 16 == pytest.approx(own, abs=outside)
    assert own - float(np.sum(plates)) / 16 > 0


# --- plates by hand ----------------------------------------------------------------------------------


def test_foils_over_tape() -> None:
    """ε0 ε A/s, A the mean turn times the breadth: two foils are plates."""
    made = design(
        ['{ wind = "P", turns = 1 }', TAPE, '{ wind = "S", turns = 1 }'],
        capacitance("P", "S"),
        wires=(FOIL, FOIL),
    )
    length = float(np.mean(lay_out(made).turn_length))
    by_hand = 3.3 * EPSILON_0 * length * 18e-3 / 0.2e-3
    assert readings(made)[0] == pytest.approx(by_hand, rel=0.03)


def test_a_tied_shield_parts_two_foils() -> None:
    """Between two foils an open shield of their breadth leaves two gaps in series: with the same tape on both
    sides half as much. Tied to the core it takes the charge of both: what is left goes by way of the core."""
    steps = ['{ wind = "P", turns = 1 }', TAPE, '{ wind = "S", turns = 1 }']
    shield = '{ shield = "0.05 mm", width = "18 mm", name = "E" }'
    shielded = [steps[0], TAPE, shield, TAPE, steps[2]]
    tied = [step.replace('name = "E"', 'name = "E", tied = "core"') for step in shielded]
    test = capacitance("P", "S") + capacitance("P", "core")
    plain, parted, guarded = (
        readings(design(each, test, wires=(FOIL, FOIL))) for each in (steps, shielded, tied)
    )
    assert parted[0] == pytest.approx(plain[0] / 2, rel=0.05)
    assert guarded[1] > 3 * plain[1]
    held = readings(design(tied, capacitance("P", "S", 'tie = [["core", "S.start"]]'), wires=(FOIL, FOIL)))
    assert held[0] > 1.8 * guarded[0]


def test_chambers_face_each_other_through_the_partition() -> None:
    """Two chambers of 9 mm with a wall of 1 mm, each filled 3 mm high: mostly plates of that height through
    the wall and what lies beside it."""
    steps = [
        '{ wind = "P", turns = 114, layers = 6, chamber = 1 }',
        '{ wind = "S", turns = 114, layers = 6, chamber = 2 }',
    ]
    bobbin = 'wall = "1 mm"\nflange = "1 mm"\nchambers = 2\npartition = "1 mm"'
    made = design(steps, bobbin=bobbin)
    layout = lay_out(made)
    high = float(layout.top[0]) - 1e-3
    apart = float(np.min(layout.extent[0, 6:, 2]) - np.max(layout.extent[0, :6, 3]))
    by_hand = EPSILON_0 * float(np.mean(layout.turn_length)) * high / (1e-3 / 4 + apart - 1e-3)
    assert -_cross(made) == pytest.approx(by_hand, rel=0.2)


def test_tracks_across_a_board() -> None:
    """Two layers of tracks 0.8 mm wide every 1 mm across 0.5 mm of board of permittivity 4.5: plates of the
    rows' breadth, a fifth of it open, which the fringes bridge by half."""
    track = '{ trace = "70 um", width = "0.8 mm", spacing = "0.2 mm" }'
    spacer = '{ spacer = "0.5 mm", permittivity = 4.5 }'
    made = design(
        ['{ wind = "P", turns = 8 }', spacer, '{ wind = "S", turns = 8 }'],
        wires=(track, track),
        build='direction = "up"',
    )
    layout = lay_out(made)
    across = float(layout.extent[0, 0, 1] - layout.extent[0, 0, 0])
    by_hand = 4.5 * EPSILON_0 * float(np.mean(layout.turn_length)) * across / 0.5e-3
    assert across == pytest.approx(8e-3, rel=1e-6)
    assert -_cross(made) == pytest.approx(0.9 * by_hand, rel=0.1)


def test_windings_on_both_legs() -> None:
    """On a U core the windings of the two legs face each other in the window only, across what is free."""
    steps = ['{ wind = "P", turns = 40, layers = 1 }', '{ wind = "S", turns = 40, layers = 1, leg = 2 }']
    core = (
        'form = "U"\nleg_width = "10 mm"\nleg_depth = "12 mm"\nwindow_width = "8 mm"\n'
        'window_height = "22 mm"\nback = "10 mm"'
    )
    value = -_cross(design(steps, core=core))
    layout = lay_out(design(steps, core=core))
    between_legs = 8e-3 - 2 * float(layout.extent[0, 0, 1])
    by_hand = EPSILON_0 * 12e-3 * 20e-3 / between_legs
    assert value == pytest.approx(by_hand, rel=0.2)


def _cross(made: Design) -> float:
    capacitance, _ = matrix(made)
    return float(np.sum(capacitance[:2, 2:4]))


def test_a_ring_over_its_coating() -> None:
    """A full layer on a coated ring against the core, as a plate with the layer's own roundness in series:
    between a half of and the whole plate."""
    core = 'form = "toroid"\nouter_diameter = "36 mm"\ninner_diameter = "23 mm"\nheight = "15 mm"'
    made = design(
        ['{ wind = "P", turns = 120, layers = 1 }'],
        capacitance("P", "core"),
        core=core,
        bobbin='wall = "0.4 mm"\npermittivity = 3.5',
    )
    layout = lay_out(made)
    mean = np.pi * 29.5e-3
    plate = 3.5 * EPSILON_0 * float(layout.turn_length[0, 0]) * mean / 0.4e-3
    assert 0.4 * plate < readings(made)[0] < plate


def test_sectors_across_the_zero_of_the_angle() -> None:
    """Turning all of a ring changes nothing, also where a sector then lies across zero."""
    core = 'form = "toroid"\nouter_diameter = "36 mm"\ninner_diameter = "23 mm"\nheight = "15 mm"'

    def at(angle: int) -> FloatArray:
        steps = [
            f'{{ wind = "P", turns = 20, sector = "120 deg", from_angle = "{angle} deg" }}',
            '{ tape = "0.1 mm", wraps = 2 }',
            f'{{ wind = "S", turns = 20, sector = "100 deg", from_angle = "{angle + 30} deg" }}',
        ]
        return matrix(design(steps, core=core, bobbin='wall = "0.4 mm"'))[0]

    np.testing.assert_allclose(at(300), at(20), rtol=1e-9, atol=1e-20)


# --- circuits ----------------------------------------------------------------------------------------


def test_a_closed_shield_is_a_shorted_turn() -> None:
    """Open inductance and quality collapse to what a shorted winding of one turn in that place leaves."""
    steps = ['{ wind = "P", turns = 40, layers = 1 }', TAPE]
    shield = '{ shield = "0.05 mm", width = "20 mm", name = "E", closed = true }'
    foil = '{ foil = "0.05 mm", width = "20 mm" }'
    tests = inductance("L", "P", frequency="100 kHz")
    made = design([*steps, shield], tests)
    bench = '[bench]\nshort_inductance = "0 nH"\nshort_resistance = "0 ohm"\n'
    test = inductance("L", "P", 'short = ["S"]', "100 kHz")
    turn = design([*steps, '{ wind = "S", turns = 1 }'], test + bench, wires=(ROUND, foil))
    opened = design([*steps, shield.replace(", closed = true", "")], tests)
    assert readings(made)[0] == pytest.approx(readings(turn)[0], rel=0.02)
    assert readings(made)[0] < 0.02 * readings(opened)[0]


def test_resonance_of_a_known_capacitance() -> None:
    """f = 1/2π√(L C), C from the matrix with the ends at 0 and 1 V and the core at rest with the start."""
    tests = resonance("f", "P", 'tie = [["core", "P.start"]]') + inductance("L", "P")
    made = design(['{ wind = "P", turns = 80 }'], tests)
    capacitance, labels = matrix(made)
    v = np.array([float(label == (0, "finish")) for label in labels])
    f, inductive = readings(made)
    expected = 1 / (2 * np.pi * np.sqrt(inductive * float(v @ capacitance @ v)))
    assert f == pytest.approx(expected, rel=0.01)


def test_a_resonance_does_not_hang_on_the_other_tests_of_its_file() -> None:
    layers = ['{ wind = "P", turns = 20 }', TAPE, '{ wind = "S", turns = 20 }']
    alone = readings(design(layers, resonance("f", "P")))
    beside = readings(design(layers, inductance("L", "P") + resonance("f", "P")))
    assert alone[0] == pytest.approx(beside[1], rel=1e-9)


def test_resonances_open_and_shorted() -> None:
    """(f_sc/f_oc)² = L/L_sc where the same C acts: the second winding, tied to the core, is but one turn."""
    foil = '{ foil = "0.1 mm", width = "18 mm" }'
    tie = 'tie = [["core", "P.start", "S.start"]]'
    tests = (
        resonance("open", "P", tie)
        + resonance("shorted", "P", f'short = ["S"]\n{tie}')
        + inductance("L", "P", tie, "100 kHz")
        + inductance("Lsc", "P", f'short = ["S"]\n{tie}', "1 MHz")
    )
    steps = ['{ wind = "P", turns = 80 }', TAPE, '{ wind = "S", turns = 1 }']
    opened, shorted, inductive, leakage = readings(design(steps, tests, wires=(ROUND, foil)))
    inductive *= 1 - (1e5 / opened) ** 2  # without the capacitance, near the resonance
    leakage *= 1 - (1e6 / shorted) ** 2
    assert (shorted / opened) ** 2 == pytest.approx(inductive / leakage, rel=0.05)


@pytest.mark.parametrize(
    ("first", "second", "own", "inductive"),
    [
        ((420e-12, 2e6), (90e-12, 4e6), 20.000e-12, None),
        ((500e-12, 1e6), (110e-12, 2e6), 20.000e-12, 48.7121e-6),
        ((600e-12, 2e6), (100e-12, 4e6), 66.667e-12, 9.49886e-6),
        ((100e-12, 0.6e6), (0.0, 2e6), 9.8901e-12, None),
    ],
)
def test_two_tuning_capacitors(
    first: tuple[float, float], second: tuple[float, float], own: float, inductive: float | None
) -> None:
    """C = (C1 − n² C2)/(n² − 1), n = f2/f1: a coil with this C resonates with either tuning capacitor, here
    in the circuit that the readings are solved in.

    Rajput, "Electronic Measurements and Instrumentation", ch. 2, and Kalsi, "Electronic Instrumentation", ch.
    10 (worked examples, as transcribed in the FOSSEE companions): 20 pF, 20 pF and 48.712 µH, 66.67 pF and
    9.499 µH, 9.89 pF; more digits by the formula.
    """
    (c1, f1), (c2, f2) = first, second
    ratio = (f2 / f1) ** 2
    assert (c1 - ratio * c2) / (ratio - 1) == pytest.approx(own, rel=1e-4)
    coil = 1 / ((2 * np.pi * f1) ** 2 * (c1 + own))
    if inductive is not None:
        assert coil == pytest.approx(inductive, rel=1e-4)
    made = design(['{ wind = "P", turns = 10 }'], inductance("L", "P"))
    labels = ((0, "start"), (0, "finish"), (-1, "core"))
    circuit = wire(made, lay_out(made).branches, made.tests[0], labels)
    for tuning, f in (first, second):
        total = np.zeros((1, 3, 3))
        total[0, :2, :2] = (own + tuning) * np.array([[1, -1], [-1, 1]])
        omega = 2 * np.pi * f
        answer = solve(
            circuit,
            np.array([[[1j * omega * coil]]]),
            np.zeros((1, 0), complex),
            np.zeros(1, complex),
            omega * total,
        )
        assert abs(answer.drive[0]) > 1e3 * omega * coil


def test_both_legs_of_a_u_core_are_insulated_alike() -> None:
    """What lies on leg 2 mirrors what lies on leg 1: equal charges to the core, and between the layers of one
    step; tape on either winding takes the place of as much air between the legs."""

    def matrix(tape: tuple[int, int]) -> FloatArray:
        text = """
title = "legs"
[core]
shape = "U 25/20/13"
material = "MnZn 2300"
[bobbin]
wall = "1.1 mm"
flange = "1.2 mm"
[[winding]]
name = "P"
wire = { diameter = "0.5 mm", grade = 2 }
[[winding]]
name = "S"
wire = { diameter = "0.5 mm", grade = 2 }
[build]
interlayer = "0.1 mm"
steps = [
  { wind = "P", turns = 60, leg = 1 },
  { tape = "0.2 mm", wraps = ONE, leg = 1 },
  { wind = "S", turns = 60, leg = 2 },
  { tape = "0.2 mm", wraps = TWO, leg = 2 },
]
"""
        made = parse_design(text.replace("ONE", str(tape[0])).replace("TWO", str(tape[1])))
        return build_capacitance(made, lay_out(made)).matrix[0]

    # Potentials: P start, P finish, S start, S finish, core.
    even = matrix((2, 2))
    np.testing.assert_allclose(even[:2, :2], even[2:4, 2:4], rtol=1e-9)
    np.testing.assert_allclose(matrix((3, 1))[:2, 2:4], even[:2, 2:4], rtol=1e-9)
    assert np.sum(matrix((3, 3))[:2, 2:4]) < np.sum(even[:2, 2:4]) < 0  # tape in place of air
