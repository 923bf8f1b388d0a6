"""The core's reluctances, permeability and shares by hand-computed numbers."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from aswound.predict.cores.gap import fringing_permeance
from aswound.predict.cores.magnetizing import (
    MU_0,
    calibrate_to_al,
    centre_leg_share,
    core_inductance_factor,
    core_share,
    permeability,
    permeance,
    window_permeance,
)
from aswound.predict.design import Core, EDimensions, Material, PotDimensions, UDimensions
from aswound.predict.errors import DesignError
from aswound.predict.forms.core_form import SHARP_CORNER

pytestmark = pytest.mark.exact

DIMENSIONS = EDimensions(
    leg_width=10e-3,
    leg_depth=10e-3,
    window_width=8e-3,
    window_height=20e-3,
    outer_leg=5e-3,
    back=5e-3,
    outer_depth=10e-3,
)
FERRITE = Material(
    name="ferrite",
    initial_permeability=2000.0,
    tolerance=0.25,
    temperature_coefficient=0.004,
    level_coefficient=1.2,
    frequencies=(1e4, 1e6),
    real_ratio=(1.0, 0.6),
    loss_tangent=(0.01, 0.09),
)
CORE = Core(
    name="core",
    dimensions=DIMENSIONS,
    material=FERRITE,
    effective_area=100e-6,
    effective_length=80e-3,
    face_gap=0.0,
)
IRON = 80e-3 / (MU_0 * 2000.0 * 100e-6)


def _reluctance(core: Core, frequency: float = 0.0) -> float:
    return float(1 / permeance(core, frequency).real)


def _stiff(**changes: object) -> Core:
    """A core whose material has no reluctance: only its gaps count."""
    return replace(CORE, material=replace(FERRITE, initial_permeability=math.inf), **changes)  # type: ignore[arg-type]


def _wave(order: np.ndarray, height: float, gap: float, width: float) -> float:
    """Σ sinc²(m g/h)/m · coth(2πm w/h)/π summed to 200 000 terms: flat leg, uniform field over the gap."""
    terms = np.sinc(order * gap / height) ** 2 / order / np.tanh(2 * math.pi * order * width / height)
    return float(np.sum(terms)) / math.pi


@pytest.mark.parametrize("gap", [0.05e-3, 0.5e-3, 3e-3])
def test_fringing_of_a_flat_leg_is_the_series_of_the_window(gap: float) -> None:
    """Per metre of edge, with the corner's constant 1 + ln(π/2) for 3/2; twice the series of h = 2·20 mm at
    the end, where the yoke mirrors gap and window."""
    leg = replace(DIMENSIONS.wound_leg, turning=0.0, covered=1.0)
    order = np.arange(1, 200_001)
    corner = (1 + math.log(math.pi / 2) - 1.5) / math.pi
    middle = float(fringing_permeance(gap, leg)) / (MU_0 * leg.perimeter)
    assert middle == pytest.approx(_wave(order, 20e-3, gap, 8e-3) + corner, rel=2e-4)
    end = float(fringing_permeance(gap, leg, at_end=True)) / (MU_0 * leg.perimeter)
    assert end == pytest.approx(2 * (_wave(order, 40e-3, 2 * gap, 8e-3) + corner), rel=2e-4)
    shared = float(fringing_permeance(gap, leg, shared=True)) / (MU_0 * leg.perimeter)
    assert shared == pytest.approx(_wave(order, 20e-3, gap, 4e-3) + corner, rel=2e-4)


def test_fringing_around_a_round_leg() -> None:
    """The terms carry (K1 + β I1)/(K0 − β I0), with scipy's Bessel functions."""
    special = pytest.importorskip("scipy.special")
    leg = PotDimensions(
        leg_diameter=6e-3, window_diameter=14e-3, outer_diameter=17e-3, window_height=9e-3, back=2e-3
    ).wound_leg
    k = 2 * math.pi * np.arange(1, 65) / 9e-3
    beta = special.kv(0, 7e-3 * k) / special.iv(0, 7e-3 * k)
    near = 3e-3 * k
    ratio = (special.kv(1, near) + beta * special.iv(1, near)) / (
        special.kv(0, near) - beta * special.iv(0, near)
    )
    order = np.arange(1, 65)
    terms = np.sinc(order * 1e-3 / 9e-3) ** 2 / order
    flat = float(fringing_permeance(1e-3, replace(leg, turning=0.0, width=1.0))) / leg.perimeter
    found = float(fringing_permeance(1e-3, leg)) / leg.perimeter
    assert (found - flat) * math.pi / MU_0 == pytest.approx(float(np.sum(terms * (ratio - 1))), rel=1e-6)


def test_growth_around_a_sharp_edge() -> None:
    """What a wedge adds to its two faces, by quadrature of 1/(βρ sin(πθ/β)) − 1/(πρ sin θ), over a rounded
    corner's ½."""
    beta = 1.5 * math.pi
    nodes, weights = np.polynomial.legendre.leggauss(60)
    angle = math.pi / 4 * (nodes + 1)
    beside = 1 / (beta * np.sin(math.pi * angle / beta)) - 1 / (math.pi * np.sin(angle))
    before = 1 / (beta * np.sin(math.pi * (angle + math.pi / 2) / beta))
    growth = math.pi / 4 * float(np.sum(weights * (2 * beside + before)))
    assert growth / 0.5 == pytest.approx(SHARP_CORNER, rel=1e-9)


def test_a_spacer_is_two_gaps_of_half_the_length() -> None:
    """One under the centre leg, one under the outer legs, each with its own fringing."""
    inner, outer = DIMENSIONS.wound_leg, DIMENSIONS.return_legs
    assert (inner.area, outer.area) == pytest.approx((100e-6, 100e-6))
    one = MU_0 * 100e-6 / 1e-3 + float(fringing_permeance(1e-3, inner, shared=True))
    other = MU_0 * 100e-6 / 1e-3 + float(fringing_permeance(1e-3, outer, shared=True))
    assert _reluctance(_stiff(gap=2e-3, gap_legs="spacer")) == pytest.approx(1 / one + 1 / other)
    single = MU_0 * 100e-6 / 2e-3 + float(fringing_permeance(2e-3, inner))
    assert _reluctance(_stiff(gap=2e-3)) == pytest.approx(1 / single)
    assert float(fringing_permeance(0.0, inner)) == 0.0


def test_reluctances_in_series() -> None:
    """Iron, two pairs of faces without fringing, ground gap; ``al_scale`` on the whole permeance."""
    faces = 2 * 5e-6 / (MU_0 * 100e-6)
    ground = _reluctance(_stiff(gap=0.5e-3))
    core = replace(CORE, face_gap=5e-6, gap=0.5e-3)
    assert _reluctance(core) == pytest.approx(IRON + faces + ground)
    assert _reluctance(replace(core, al_scale=1.1)) == pytest.approx((IRON + faces + ground) / 1.1)


def test_flux_across_the_window() -> None:
    """∫F² l dx by fine sums: a coil from 0.8 to 7.2 mm of 8 mm, all of the drop in the centre leg."""
    x = (np.arange(200_000) + 0.5) * 8e-3 / 200_000
    within = np.clip((x - 0.8e-3) / 6.4e-3, 0, 1)
    length = 40e-3 + 2 * math.pi * SHARP_CORNER * x
    expected = MU_0 / 20e-3 * float(np.sum((1 - within) ** 2 * length)) * 8e-3 / 200_000
    assert float(window_permeance(_stiff(gap=1e-3))) == pytest.approx(expected, rel=1e-6)
    core = _stiff(gap=1e-3)
    assert float(core_inductance_factor(core)) == pytest.approx(float(permeance(core).real) + expected)


@pytest.mark.parametrize(
    ("frequency", "temperature", "flux_density", "real", "tangent"),
    [
        (1e3, 23.0, 0.0, 2000.0, 0.01),
        (1e5, 23.0, 0.0, 2000.0 * 0.8, 0.05),
        (1e7, 23.0, 0.0, 2000.0 * 0.6, 0.09),
        (0.0, 48.0, 0.0, 2000.0 * 1.1, 0.0),
        (1e3, 23.0, 0.1, 2000.0 * 1.12, 0.01 + 4 / (3 * math.pi) * 0.12 / 1.12),
        (1e5, -2.0, 0.05, 2000.0 * 0.9 * 1.06 * 0.8, 0.05 + 4 / (3 * math.pi) * 0.06 / 1.06),
        (1e3, -300.0, 0.0, 2000.0 * 0.05, 0.01),
    ],
)
def test_permeability_with_frequency_temperature_and_level(
    frequency: float, temperature: float, flux_density: float, real: float, tangent: float
) -> None:
    """Factors multiply; halfway in log f halfway between the rows; constant outside; never below a
    twentieth; the Rayleigh loop's loss is added; nothing is lost at 0 Hz."""
    found = complex(permeability(FERRITE, frequency, temperature, flux_density))
    assert found.real == pytest.approx(real)
    assert -found.imag / found.real == pytest.approx(tangent)


def test_a_gap_dilutes_loss_and_changes_of_the_material() -> None:
    """φ = R_iron/R: d ln AL/d ln μ = φ and tan δ of the set = φ tan δ of the material, to first order."""
    for gap in (0.0, 0.1e-3, 1e-3):
        core = replace(CORE, gap=gap, face_gap=3e-6)
        loss_free = replace(core, material=replace(FERRITE, loss_tangent=(0.0, 0.0)))
        share = float(core_share(core))
        assert share == pytest.approx(IRON / _reluctance(loss_free))
        more = replace(loss_free.material, initial_permeability=2000.0 * 1.0001)
        slope = math.log(_reluctance(loss_free) / _reluctance(replace(loss_free, material=more))) / 1e-4
        assert slope == pytest.approx(share, rel=1e-3)
        found = complex(permeance(core, 1e3))
        assert -found.imag / found.real == pytest.approx(0.01 * share, rel=2e-4)


def test_a_stated_loss_of_the_set_replaces_that_of_the_material() -> None:
    for gap in (0.0, 1e-3):
        found = complex(permeance(replace(CORE, gap=gap, loss=0.02), 1e5))
        assert found.imag / found.real == pytest.approx(-0.02)


def test_share_of_the_centre_leg() -> None:
    """All of a gap in the centre leg, half of iron, faces and spacers; more of a gap, more of the drop."""
    assert float(centre_leg_share(CORE)) == pytest.approx(0.5)
    spaced = float(centre_leg_share(replace(CORE, gap=1e-3, gap_legs="spacer")))
    assert spaced == pytest.approx(0.5, abs=0.05)
    assert float(centre_leg_share(_stiff(gap=1e-3))) == pytest.approx(1.0)
    gapped = replace(CORE, gap=0.2e-3, face_gap=3e-6)
    rest = IRON + 6e-6 / (MU_0 * 100e-6)
    ground = _reluctance(_stiff(gap=0.2e-3))
    assert float(centre_leg_share(gapped)) == pytest.approx((ground + rest / 2) / (ground + rest))


def test_thin_outer_legs_take_more_of_the_drop() -> None:
    """Outer legs of half the area: h/A = 0.2 and 0.4 per mm of 0.8 per mm; the rest 0.2 counts half."""
    core = replace(CORE, dimensions=replace(DIMENSIONS, outer_leg=2.5e-3))
    assert float(centre_leg_share(core)) == pytest.approx((0.2 + 0.1) / 0.8)


def test_builds_keep_their_places() -> None:
    gaps, areas = np.array([0.0, 0.2e-3, 1e-3]), np.array([90e-6, 100e-6, 110e-6])
    many = permeance(replace(CORE, gap=gaps, effective_area=areas), 1e5, np.array([23.0, 40.0, 10.0]))
    for place, warm in enumerate((23.0, 40.0, 10.0)):
        one = replace(CORE, gap=float(gaps[place]), effective_area=float(areas[place]))
        assert many[place] == pytest.approx(complex(permeance(one, 1e5, warm)), rel=1e-12)


@pytest.mark.parametrize(
    ("core", "words"),
    [
        (replace(CORE, gap=0.5e-3, al=4e-6), ("core.al", "4000 nH", "below 3145 nH")),
        (replace(CORE, face_gap=20e-6, al=4e-6), ("core.al", "4000 nH", "below 3142 nH", "face")),
    ],
    ids=["gapped set above the ungapped one", "ungapped set above its face gap"],
)
def test_an_al_that_nothing_gives_is_refused(core: Core, words: tuple[str, ...]) -> None:
    """μ0 · 2000 · 100 mm²/80 mm = 3142 nH without any gap and 3 nH across the window; 2 × 20 µm of faces
    alone give 3142 nH as well."""
    with pytest.raises(DesignError) as caught:
        calibrate_to_al(core)
    for word in words:
        assert word in str(caught.value)


def test_an_al_far_below_the_ungapped_one_betrays_a_gap() -> None:
    """Below 0.6 of 3142 nH the gap is solved although none is given; above it the permeability is."""
    gapped = calibrate_to_al(replace(CORE, al=1.8e-6))
    assert gapped.gap > 0
    assert gapped.material == CORE.material
    other = calibrate_to_al(replace(CORE, al=2.0e-6))
    assert other.gap == 0.0
    window = float(window_permeance(other))
    assert other.material.initial_permeability == pytest.approx(
        2000.0 * (2.0 - window * 1e6) / (MU_0 * 2000 * 1e-4 / 0.08 * 1e6)
    )


@pytest.mark.parametrize("legs", ["centre", "spacer"])
@pytest.mark.parametrize("place", ["middle", "end"])
@pytest.mark.parametrize("al", [100e-9, 300e-9, 1e-6, 2.5e-6])
def test_gap_from_al_and_al_from_gap(legs: Any, place: Any, al: float) -> None:
    """Exactly there and back, for every kind of gap."""
    core = replace(CORE, al=al, gap=1e-4, gap_legs=legs, gap_at=place, face_gap=2e-6)
    solved = calibrate_to_al(core)
    assert float(core_inductance_factor(solved)) == pytest.approx(al, rel=1e-10)
    there = calibrate_to_al(replace(solved, gap=1e-4))
    assert there.gap == pytest.approx(float(solved.gap), rel=1e-9)


def test_edges_towards_open_space_by_hand() -> None:
    """Both outer legs of an E core: two outer sides 10 mm deep and four flanks of 5 mm. The other leg of a U
    core: one side of 7 mm and two flanks of 10 mm."""
    assert DIMENSIONS.return_legs.open_edge == pytest.approx(40e-3)
    assert DIMENSIONS.return_legs.area == pytest.approx(100e-6)
    u_core = UDimensions(leg_width=10e-3, leg_depth=7e-3, window_width=12e-3, window_height=20e-3, back=10e-3)
    assert u_core.return_legs.open_edge == pytest.approx(27e-3)
    assert u_core.return_legs.area == pytest.approx(70e-6)
