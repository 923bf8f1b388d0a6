"""Windings on sectors of a ring: limits and symmetries that hold exactly, and what the user is told."""

from __future__ import annotations

import math

import numpy as np
import pytest

from aswound.predict import leakage, leakage_model, parse_design, readings
from aswound.predict.circuit import inductance_matrix, own_arc_errors
from aswound.predict.design import Design, ToroidDimensions
from aswound.predict.errors import AswoundError
from aswound.predict.field.ring_leakage import sector_interaction, toroid_interaction
from aswound.predict.production.own_errors import reading_errors

RING = ToroidDimensions(36e-3, 23e-3, 15e-3)
SHELLS = 1e-3 * np.array([[[0.5, 1.2], [0.5, 1.2], [1.4, 2.0], [0.5, 1.2]]])
PERMEANCE = 3e-6


def coupling(arcs: list[tuple[float, float | None]], shells: np.ndarray = SHELLS) -> np.ndarray:
    return np.asarray(sector_interaction(RING, shells[:, : len(arcs)], arcs, PERMEANCE)[0])


def design(steps: str, extra: str = "", core: str = "mu_i = 2300") -> str:
    return f"""
[core]
{core}
[core.dimensions]
form = "toroid"
outer_diameter = "36 mm"
inner_diameter = "23 mm"
height = "15 mm"
[bobbin]
wall = "0.4 mm"
[[winding]]
name = "P"
wire = {{ diameter = "0.5 mm", grade = 2 }}
[[winding]]
name = "S"
wire = {{ diameter = "0.5 mm", grade = 2 }}
[build]
steps = [
{steps}
]
{extra}
"""


OPPOSITE = """{ wind = "P", turns = 40, sector = "150 deg" },
{ wind = "S", turns = 40, sector = "150 deg", from_angle = "180 deg" },"""


def test_windings_all_around_have_nothing_but_the_even_field() -> None:
    assert not coupling([(0.0, None), (1.0, None)]).any()
    assert np.abs(coupling([(0.0, math.tau), (1.0, math.tau)])).max() < 1e-15


def test_two_halves_in_series_are_a_full_winding() -> None:
    """Of equal density they add no harmonics, whatever opposes them."""
    arcs = [(0.3, math.pi), (0.3 + math.pi, math.pi), (2.0, 1.5)]
    halves = np.array([0.5, 0.5, 0.0])
    form = coupling(arcs)
    assert np.abs(form @ halves).max() < 1e-9 * form[0, 0]


def test_turning_or_mirroring_the_ring_changes_nothing() -> None:
    arcs = [(0.3, 2.0), (1.7, 1.2), (4.0, 1.0)]
    turned = [(start + 1.1, covered) for start, covered in arcs]
    mirrored = [(-start - covered, covered) for start, covered in arcs]
    assert coupling(turned) == pytest.approx(coupling(arcs), rel=1e-9)
    assert coupling(mirrored) == pytest.approx(coupling(arcs), rel=1e-9)


def test_the_interaction_is_symmetric_and_never_negative() -> None:
    form = coupling([(0.3, 2.0), (1.7, 1.2), (4.0, 1.0), (4.5, 1.0)])
    assert form == pytest.approx(form.T, rel=1e-12)
    assert np.linalg.eigvalsh(form).min() > -1e-12 * np.trace(form)


def test_scaling_all_lengths_scales_the_inductance() -> None:
    """At the same permeability, whose permeance scales as well."""
    arcs = [(0.0, 2.0), (3.0, 2.0)]
    wide = ToroidDimensions(72e-3, 46e-3, 30e-3)
    double = sector_interaction(wide, 2 * SHELLS[:, :2], arcs, 2 * PERMEANCE)[0]
    assert double == pytest.approx(2 * coupling(arcs), rel=1e-9)


def test_a_narrow_sector_is_a_piece_of_a_full_winding() -> None:
    """Two thin sheets on 8 degrees of arc: the even field of the enclosed ampere-turns over that arc,
    W = W_full 2π/α, to what the ends and the last harmonics leave. 20 µm apart, 1.2 mm long."""
    shells = 1e-3 * np.array([[[0.5, 0.51], [0.53, 0.54]]])
    arc = math.radians(8)
    flow = np.array([1.0, -1.0])
    even = flow @ toroid_interaction(RING, shells)[0] @ flow
    narrow = even + flow @ coupling([(1.0, arc), (1.0, arc)], shells) @ flow
    assert narrow == pytest.approx(even * math.tau / arc, rel=0.03)


def test_builds_of_a_batch_are_those_alone() -> None:
    """To what the straight line between the thinnest and the thickest build leaves of the air's part."""
    arcs = [(0.0, 2.0), (3.0, 2.0)]
    builds = np.stack([SHELLS[0, :2] * factor for factor in (0.9, 1.0, 1.1)])
    together = sector_interaction(RING, builds, arcs, np.full(3, PERMEANCE))
    for number in range(3):
        alone = sector_interaction(RING, builds[number : number + 1], arcs, PERMEANCE)[0]
        assert together[number] == pytest.approx(alone, rel=2e-4)


def test_far_apart_windings_leak_more_than_those_on_one_sector() -> None:
    near = coupling([(0.0, 1.5), (0.0, 1.5), (0.0, 1.5)])
    flow = np.array([1.0, 0.0, -1.0])
    far = coupling([(0.0, 1.5), (0.0, 1.5), (math.pi, 1.5)])
    even = toroid_interaction(RING, SHELLS[:, :3])[0]
    assert flow @ (far + even) @ flow > 5 * (flow @ (near + even) @ flow)


def test_opposite_sectors_are_predicted_from_either_side_alike_and_with_a_caution() -> None:
    parsed = parse_design(design(OPPOSITE))
    first, second = (
        float(np.squeeze(leakage(parsed, drive, [short]))) for drive, short in (("P", "S"), ("S", "P"))
    )
    assert first == pytest.approx(second, rel=1e-9)
    stated = leakage_model(parsed)
    assert stated.expected_error == pytest.approx(
        math.hypot(0.05, *_arcs_known_to_twelve_degrees()), abs=0.002
    )
    assert "harmonics" in stated.name
    assert any("part of the ring" in caution for caution in stated.cautions)
    assert np.all(np.isfinite(readings(parsed)))


def _arcs_known_to_twelve_degrees() -> list[float]:
    """By how much the leakage moves with each winding on an arc that is 12° shorter, its middle kept."""
    p, s = OPPOSITE.splitlines()
    shorter = (
        p.replace('sector = "150 deg"', 'sector = "138 deg", from_angle = "6 deg"') + s,
        p + s.replace('"150 deg"', '"138 deg"').replace('"180 deg"', '"186 deg"'),
    )
    plain, *others = (
        float(leakage(parse_design(design(steps)), "P", ["S"])) for steps in (OPPOSITE, *shorter)
    )
    return [other / plain - 1 for other in others]


def test_the_core_rules_the_open_inductance_of_a_sector() -> None:
    """The air beside a core of permeability 2300 adds less than 3 %."""
    test = (
        '[[test]]\nname = "L"\nmeasure = "inductance"\ndrive = "P"\nfrequency = "10 kHz"\nlevel = "10 mV"\n'
    )
    around = '{ wind = "P", turns = 40 },\n{ wind = "S", turns = 40 },'
    sector, full = (float(readings(parse_design(design(steps, test)))[0]) for steps in (OPPOSITE, around))
    assert 1.0 < sector / full < 1.03


def test_a_gap_that_lies_nowhere_is_refused() -> None:
    """Where the gap lies along the ring is not known."""
    with pytest.raises(AswoundError, match="sectors of a ring that has a gap") as refused:
        readings(parse_design(design(OPPOSITE, core='mu_i = 2300\ngap = "0.5 mm"')))
    assert "where along the ring the gap lies" in str(refused.value)


@pytest.mark.parametrize("mu", [75, 2300])
def test_what_an_arc_leaves_open_in_each_open_inductance(mu: int) -> None:
    """As much as the inductance moves in a design whose arc is narrower by the 12° that an arc is known to,
    with the layers as drawn: one or two per cent on powder, next to nothing on a closed ring of ferrite."""
    tests = """[[test]]
name = "L_P"
measure = "inductance"
drive = "P"
frequency = "10 kHz"
"""
    drawn = parse_design(design(OPPOSITE, tests, f"mu_i = {mu}"))
    narrower = OPPOSITE.replace(
        'turns = 40, sector = "150 deg" }', 'turns = 40, sector = "138 deg", from_angle = "6 deg" }'
    )
    assert narrower != OPPOSITE
    alone = np.diag(inductance_matrix(drawn))
    moved = np.diag(inductance_matrix(parse_design(design(narrower, tests, f"mu_i = {mu}"))))
    errors = own_arc_errors(drawn, alone)
    assert errors["P"] == pytest.approx(moved[0] / alone[0] - 1, rel=0.06)
    assert errors["S"] == pytest.approx(errors["P"], rel=1e-9)
    assert (0.008 < errors["P"] < 0.02) if mu == 75 else (errors["P"] < 1e-3)
    (split,) = (item for item in reading_errors(drawn) if item.name == "model_split P")
    assert split.effect[0] == pytest.approx(math.hypot(min(0.003, split_of(drawn)), errors["P"]), rel=1e-6)


def split_of(drawn: Design) -> float:
    """A fifth of the leakage between the two windings, relative."""
    matrix = inductance_matrix(drawn)
    return 0.2 * (1 - float(matrix[0, 1] ** 2 / (matrix[0, 0] * matrix[1, 1])))


def test_all_the_way_round_there_is_no_arc_to_err() -> None:
    whole = parse_design(design('{ wind = "P", turns = 40 },\n{ wind = "S", turns = 40 },'))
    assert own_arc_errors(whole, np.diag(inductance_matrix(whole))) == {}
