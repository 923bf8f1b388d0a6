"""The core's reluctances, permeability and shares by hand-computed numbers."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from aswound.predict.design import Core, EDimensions, Material
from aswound.predict.errors import DesignError
from aswound.predict.magnetizing import (
    MU_0,
    calibrate_to_al,
    centre_leg_share,
    core_share,
    fringing_factor,
    permeability,
    permeance,
)

pytestmark = pytest.mark.exact

DIMENSIONS = EDimensions(10e-3, 10e-3, 8e-3, 20e-3, 5e-3, 5e-3, 10e-3)
FERRITE = Material(
    "ferrite",
    2000.0,
    0.25,
    0.004,
    1.2,
    frequencies=(1e4, 1e6),
    real_ratio=(1.0, 0.6),
    loss_tangent=(0.01, 0.09),
)
CORE = Core("core", DIMENSIONS, FERRITE, 100e-6, 80e-3, face_gap=0.0)
IRON = 80e-3 / (MU_0 * 2000.0 * 100e-6)


def _reluctance(core: Core, frequency: float = 0.0) -> float:
    return float(1 / permeance(core, frequency).real)


def _stiff(**changes: object) -> Core:
    """A core whose material has no reluctance: only its gaps count."""
    return replace(CORE, material=replace(FERRITE, initial_permeability=math.inf), **changes)  # type: ignore[arg-type]


def test_a_spacer_is_two_gaps_of_half_the_length() -> None:
    """√A = 10 mm, G = 20 mm: F(2 mm) = 1 + 0.2 ln 20, F(1 mm) = 1 + 0.1 ln 40."""
    one, two = 1 + 0.2 * math.log(20), 1 + 0.1 * math.log(40)
    assert float(fringing_factor(2e-3, 100e-6, 20e-3)) == pytest.approx(one)
    plain = 2e-3 / (MU_0 * 100e-6)
    assert _reluctance(_stiff(gap=2e-3)) == pytest.approx(plain / one)
    assert _reluctance(_stiff(gap=2e-3, gap_legs="spacer")) == pytest.approx(plain / two)
    assert float(fringing_factor(0.0, 100e-6, 20e-3)) == 1.0


def test_reluctances_in_series() -> None:
    """Iron, two pairs of faces without fringing, ground gap; ``al_scale`` on the whole permeance."""
    faces = 2 * 5e-6 / (MU_0 * 100e-6)
    ground = 0.5e-3 / (MU_0 * 100e-6 * (1 + 0.05 * math.log(80)))
    core = replace(CORE, material=replace(FERRITE, loss_tangent=(0.0, 0.0)), face_gap=5e-6, gap=0.5e-3)
    assert _reluctance(core) == pytest.approx(IRON + faces + ground)
    assert _reluctance(replace(core, al_scale=1.1)) == pytest.approx((IRON + faces + ground) / 1.1)


@pytest.mark.parametrize(
    ("frequency", "temperature", "flux_density", "real", "tangent"),
    [
        (1e3, 23.0, 0.0, 2000.0, 0.01),
        (1e5, 23.0, 0.0, 2000.0 * 0.8, 0.05),
        (1e7, 23.0, 0.0, 2000.0 * 0.6, 0.09),
        (0.0, 48.0, 0.0, 2000.0 * 1.1, 0.01),
        (0.0, 23.0, 0.1, 2000.0 * 1.12, 0.01),
        (1e5, -2.0, 0.05, 2000.0 * 0.9 * 1.06 * 0.8, 0.05),
        (0.0, -300.0, 0.0, 2000.0 * 0.05, 0.01),
    ],
)
def test_permeability_with_frequency_temperature_and_level(
    frequency: float, temperature: float, flux_density: float, real: float, tangent: float
) -> None:
    """Factors multiply; halfway in log f halfway between the rows; constant outside; never below a
    twentieth."""
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
        found = complex(permeance(core))
        assert -found.imag / found.real == pytest.approx(0.01 * share, rel=2e-4)


def test_a_stated_loss_of_the_set_replaces_that_of_the_material() -> None:
    for gap in (0.0, 1e-3):
        found = complex(permeance(replace(CORE, gap=gap, loss=0.02), 1e5))
        assert found.imag / found.real == pytest.approx(-0.02)


def test_share_of_the_centre_leg() -> None:
    """All of a gap in the centre leg, half of iron, faces and spacers; more of a gap, more of the drop."""
    assert float(centre_leg_share(CORE)) == pytest.approx(0.5)
    assert float(centre_leg_share(replace(CORE, gap=1e-3, gap_legs="spacer"))) == pytest.approx(0.5)
    assert float(centre_leg_share(_stiff(gap=1e-3))) == pytest.approx(1.0)
    gapped = replace(CORE, gap=0.2e-3, face_gap=3e-6)
    rest = IRON + 6e-6 / (MU_0 * 100e-6)
    ground = 0.2e-3 / (MU_0 * 100e-6 * (1 + 0.02 * math.log(200)))
    assert float(centre_leg_share(gapped)) == pytest.approx((ground + rest / 2) / (ground + rest))


def test_builds_keep_their_places() -> None:
    gaps, areas = np.array([0.0, 0.2e-3, 1e-3]), np.array([90e-6, 100e-6, 110e-6])
    many = permeance(replace(CORE, gap=gaps, effective_area=areas), 1e5, np.array([23.0, 40.0, 10.0]))
    for place, warm in enumerate((23.0, 40.0, 10.0)):
        one = replace(CORE, gap=float(gaps[place]), effective_area=float(areas[place]))
        assert many[place] == pytest.approx(complex(permeance(one, 1e5, warm)), rel=1e-12)


@pytest.mark.parametrize(
    ("core", "words"),
    [
        (replace(CORE, gap=0.5e-3, al=4e-6), ("core.al", "4000 nH", "below 3142 nH")),
        (replace(CORE, face_gap=20e-6, al=4e-6), ("core.al", "4000 nH", "below 3142 nH", "face")),
    ],
    ids=["gapped set above the ungapped one", "ungapped set above its face gap"],
)
def test_an_al_that_nothing_gives_is_refused(core: Core, words: tuple[str, ...]) -> None:
    """μ0 · 2000 · 100 mm²/80 mm = 3142 nH without any gap; 2 × 20 µm of faces alone give 3142 nH as well."""
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
    assert other.material.initial_permeability == pytest.approx(
        2000.0 * 2.0 / (MU_0 * 2000 * 1e-4 / 0.08 * 1e6)
    )
    spaced = calibrate_to_al(replace(CORE, al=1.0e-6, gap=1e-4, gap_legs="spacer"))
    assert _reluctance(spaced) == pytest.approx(1 / 1.0e-6, rel=1e-4)
