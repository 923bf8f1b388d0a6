"""Terms that change a prediction by a few per cent only, each by itself against its closed form."""

from __future__ import annotations

import math

import numpy as np
import pytest

from aswound.predict import lay_out, parse_design
from aswound.predict.capacitance.along import add_turn_to_turn
from aswound.predict.capacitance.electrodes import electrode_space, units_of
from aswound.predict.capacitance.energy import Energy
from aswound.predict.capacitance.facing_layers import LayerFace, alternating_capacitance
from aswound.predict.circuit import bench
from aswound.predict.copper import alternating_excess, enclosed_share, local_fields
from aswound.predict.copper.round_conductor import lone_excess
from aswound.predict.design import Design
from aswound.predict.production import parameters, random_builds

pytestmark = pytest.mark.exact

WINDOW = """
[core]
mu_i = 2300
[core.dimensions]
form = "round"
leg_diameter = "11 mm"
window_diameter = "29 mm"
length = "40 mm"
depth = "11 mm"
window_height = "20 mm"
back = "5 mm"
[bobbin]
wall = "1 mm"
flange = "0 mm"
"""


def wound(wires: dict[str, str], steps: str, core: str = WINDOW) -> Design:
    listed = "".join(f'[[winding]]\nname = "{name}"\nwire = {{ {wire} }}\n' for name, wire in wires.items())
    return parse_design(f"{core}{listed}[build]\nsteps = [{steps}]\n")


# --- capacitance of windings wound together ------------------------------------------------------------

PAIR = 'diameter = "0.4 mm", overall = "0.5 mm"'


def turn_to_turn(ends: tuple[float, float, float, float]) -> tuple[float, float]:
    """(twice the energy of neighbouring wires at the potentials of P's start and finish, S's start and
    finish; by hand the same at one volt between P and S everywhere) of 10 turns side by side."""
    made = wound({"P": PAIR, "S": PAIR}, '{ wind = "P", turns = 10, with = ["S"] }')
    layout = lay_out(made)
    space = electrode_space(made, layout)
    energy = Energy(space, units_of(space))
    add_turn_to_turn(energy)
    place = {label: number for number, label in enumerate(energy.labels)}
    v = np.zeros(len(energy.labels))
    for label, value in zip(((0, "start"), (0, "finish"), (1, "start"), (1, "finish")), ends, strict=True):
        v[place[label]] = value
    # turns share the breadth of 20 mm: 2 mm each; from the last wire of one to the first of the next 1.5 mm
    touching = alternating_capacitance(LayerFace(0.4e-3, 0.5e-3, 0.5e-3, 3.5))
    spaced = alternating_capacitance(LayerFace(0.4e-3, 0.5e-3, 1.5e-3, 3.5))
    length = float(layout.turn_length[0, 0])
    whole = (10 * float(touching) + 9 * float(spaced)) * length
    return float(v @ energy.matrix()[0] @ v), whole


@pytest.mark.parametrize(
    ("ends", "share"),
    [
        ((0.0, 0.0, 1.0, 1.0), 1.0),  # one volt everywhere
        ((0.0, 1.0, 1.0, 2.0), 1.0),  # in series aiding: one volt everywhere again
        ((0.0, 1.0, 0.0, 1.0), 0.0),  # in parallel: none anywhere
        ((0.0, 1.0, 0.0, 0.0), 1 / 3),  # rising from 0: the mean of t²
        ((0.0, 1.0, 1.0, 0.0), 1 / 3),  # from −1 to 1: the mean of (2t − 1)²
        ((0.0, 2.0, 1.0, 0.0), 1.0),  # from −1 to 2: (1 − 2 + 4)/3
    ],
)
def test_windings_wound_together_by_the_integral_of_their_difference(
    ends: tuple[float, float, float, float], share: float
) -> None:
    """∫ (d0 + (d1 − d0) t)² dt = (d0² + d0 d1 + d1²)/3 of what all gaps hold at one volt."""
    found, _ = turn_to_turn(ends)
    static, whole = turn_to_turn((0.0, 0.0, 1.0, 1.0))
    assert static == pytest.approx(whole, rel=1e-9)
    assert found == pytest.approx(share * static, rel=1e-9, abs=1e-20)


# --- litz: the field that a bundle makes within itself -------------------------------------------------

LITZ = 'litz_strands = 100, strand = "0.1 mm", overall = "1.3 mm"'


def test_the_field_within_a_layer_of_litz() -> None:
    """Two equal windings in a window filled from yoke to yoke, currents against each other: across either
    layer the field rises evenly from 0 to N I/b, whose mean square is a third of the end's. Every strand
    then dissipates as alone in that field (exact for a wire in a uniform field), and as alone by itself."""
    made = wound({"P": LITZ, "S": LITZ}, '{ wind = "P", turns = 12 }, { wind = "S", turns = 12 }')
    layout = lay_out(made)
    share = np.full(1, 1.0)
    f = 200e3
    added = alternating_excess(
        made, layout, enclosed_share(layout, share), f, 20.0, local_fields(made, layout, share)
    )[0]
    currents = np.array([12.0, -12.0])  # ampere-turns of either layer at 1 A
    sigma, omega = 58e6, 2 * math.pi * f
    own, driven = (float(part.real) for part in lone_excess(0.1e-3, sigma, omega))
    expected = 0.0
    for place in range(2):
        breadth = float(layout.copper[0, place, 3] - layout.copper[0, place, 2])
        metres = 12 * float(layout.turn_length[0, place])
        expected += metres * (own / 100 + 100 * driven * (12 / breadth) ** 2 / 3)
    assert float((currents @ added @ currents).real) == pytest.approx(expected, rel=0.02)


def test_the_field_within_litz_on_a_ring() -> None:
    """Ampere-turns that are balanced at the layer's middle leave only the field within it: N I/b times a
    height that runs from −1/2 to 1/2, mean square 1/12."""
    ring = """
[core]
mu_i = 2300
[core.dimensions]
form = "toroid"
outer_diameter = "36 mm"
inner_diameter = "23 mm"
height = "15 mm"
"""
    made = wound({"P": LITZ}, '{ wind = "P", turns = 20 }', ring)
    layout = lay_out(made)
    n, f = len(layout.sections), 200e3
    inner = np.full((1, n, n), 0.5)
    added = alternating_excess(made, layout, (inner, -inner), f, 20.0)[0]
    own, driven = (float(part.real) for part in lone_excess(0.1e-3, 58e6, 2 * math.pi * f))
    breadth = math.pi * (36e-3 + 23e-3) / 2
    # the first layer alone: 1 ampere-turn in each of its turns' wires
    turns, length = float(layout.turns[0, 0]), float(layout.turn_length[0, 0])
    expected = length * (own / (turns * 100) + turns * 100 * driven / (12 * breadth**2))
    assert float(added[0, 0].real) == pytest.approx(expected, rel=1e-6)


# --- sectors of a ring ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("first", "second", "expected"),
    [
        ((90.0, 0.0), (180.0, 0.0), (2.0, 2.0)),
        ((90.0, 0.0), (90.0, 45.0), (2.0, 2.0)),
        ((120.0, 0.0), (180.0, 270.0), (1.5, 1.5)),
        ((120.0, 0.0), (120.0, 240.0), (0.0, 0.0)),
    ],
)
def test_the_density_of_a_sector_where_another_lies(
    first: tuple[float, float], second: tuple[float, float], expected: tuple[float, float]
) -> None:
    """Turns on an angle θ are 2π/θ times as dense there as all round, nothing elsewhere: the mean over
    another sector is 2π × (what they share) / (θ θ'). By hand for a few."""
    from aswound.predict.copper.alternating_current import _densities

    class Section:
        def __init__(self, arc: float, begin: float) -> None:
            self.sector, self.from_angle = math.radians(arc), math.radians(begin)

    class Layout:
        sections = (Section(*first), Section(*second))

    found = _densities(Layout())  # type: ignore[arg-type]
    assert (found[0, 1], found[1, 0]) == pytest.approx(expected, abs=1e-12)
    assert found[0, 0] == pytest.approx(360 / first[0])


# --- between two frequencies ---------------------------------------------------------------------------


@pytest.mark.parametrize("frequency", [130e3, 180e3, 205e3])
def test_between_frequencies_resistance_goes_with_their_root(frequency: float) -> None:
    """Skin effect: R ∝ √f, and an inductance that stays: X ∝ f. What follows these laws exactly is found
    exactly between the frequencies at which it is computed."""

    class LaidOut:
        def excesses(self, points: list[tuple[float, float]]) -> np.ndarray:
            return np.array([[[[2.0 * math.sqrt(at) + 3e-6j * at]]] for at, _ in points])

    for around in (np.array([math.nan]), np.array([1.2 * frequency])):
        between = bench._ExcessBetween(LaidOut(), 25.0, around)  # type: ignore[arg-type]
        found = between.at(np.array([[frequency]]))
        assert found.item() == pytest.approx(2.0 * math.sqrt(frequency) + 3e-6j * frequency, rel=1e-12)


# --- tolerances of litz --------------------------------------------------------------------------------


def test_the_covering_of_litz_varies_by_a_quarter_of_an_enamel() -> None:
    """Stated in percent of the insulation; a bundle's diameter takes a quarter of it (judged, module
    ``winding_tolerances``): one standard deviation is ln-normal."""
    made = wound({"P": LITZ}, '{ wind = "P", turns = 12 }')
    chosen = [one for one in parameters(made) if one.name == "enamel P"]
    assert len(chosen) == 1
    from aswound.predict.production.defaults import deviation

    varied = random_builds(made, tuple(chosen), np.array([[1.0]]))
    sd = deviation("enamel") / 4
    assert float(np.ravel(varied.winding("P").wire.overall)[0]) == pytest.approx(
        1.3e-3 * math.exp(math.sqrt(math.log1p(sd**2))), rel=1e-9
    )
