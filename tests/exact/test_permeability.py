"""Materials at frequency, level, temperature and bias: closed forms, limits, conservation laws."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from aswound.predict.catalogue.lookup import load_catalogue
from aswound.predict.cores.direct_current import (
    AT_REST,
    DirectState,
    incremental_ratio,
    joint_influence,
    load_line,
    magnetization,
    reversible_ratio,
)
from aswound.predict.cores.gap import MU_0
from aswound.predict.cores.normal_curve import chord_ratio, level_ratio, saturation
from aswound.predict.cores.permeability import eddy_factor, hysteresis_tangent, permeability
from aswound.predict.design import Material

pytestmark = pytest.mark.exact

MATERIALS = list(load_catalogue().materials.values())
FERRITE = Material(name="ferrite", initial_permeability=2000.0, saturation_flux_density=0.5)
POWDER = Material(name="powder", initial_permeability=60.0, bias_field=8000.0, bias_exponent=2.0)
SHEET = Material(
    name="sheet",
    initial_permeability=1000.0,
    loss_tangent=(1e-9,),
    sheet_thickness=0.5e-3,
    resistivity=0.5e-6,
)


def test_a_thin_sheet_is_transparent_and_a_thick_one_is_skin() -> None:
    """tanh u/u → 1 − u²/3: μ'' /μ' = ω μ0 μ d²/(12 ρ), the classical loss; and → 1/u with modulus √2 δ/d at
    45°."""
    low = complex(permeability(SHEET, 1.0, 23.0))
    classical = 2 * math.pi * MU_0 * 1000 * 0.5e-3**2 / (12 * 0.5e-6)
    assert low.real == pytest.approx(1000, rel=1e-6)
    assert -low.imag / low.real == pytest.approx(classical, rel=1e-5)
    high = complex(permeability(SHEET, 1e6, 23.0))
    delta = math.sqrt(0.5e-6 / (math.pi * 1e6 * MU_0 * 1000))
    assert abs(high) == pytest.approx(1000 * math.sqrt(2) * delta / 0.5e-3, rel=1e-6)
    assert math.degrees(math.atan2(high.imag, high.real)) == pytest.approx(-45, abs=1e-4)


def test_eddy_currents_in_a_sheet_by_finite_differences() -> None:
    """H'' = jωσμ H across the sheet, H = 1 on both faces: mean of H, on 4000 cells."""
    frequency, cells = 400.0, 4000
    square = 2j * math.pi * frequency * MU_0 * 1000 / 0.5e-6
    step = 0.5e-3 / cells
    linalg = pytest.importorskip("scipy.linalg")
    bands = np.zeros((3, cells - 1), complex)
    bands[0, 1:] = bands[2, :-1] = 1.0
    bands[1] = -2 - square * step**2
    source = np.zeros(cells - 1, complex)
    source[[0, -1]] = -1.0
    inside = linalg.solve_banded((1, 1), bands, source)
    mean = (inside.sum() + 1.0) / cells
    assert complex(eddy_factor(SHEET, np.asarray(1000 + 0j), frequency)) == pytest.approx(mean, rel=1e-6)


def test_loss_of_the_rayleigh_loop() -> None:
    """B = (μi + η Hm) H ± (η/2)(Hm² − H²): the loop's area over 4/3 η Hm³ gives tan δ = area/(π Bm Hm)."""
    initial, eta, peak = 2000 * MU_0, 1.0 * MU_0, 40.0
    field = np.linspace(-peak, peak, 20_001)
    upper = (initial + eta * peak) * field + eta / 2 * (peak**2 - field**2)
    lower = (initial + eta * peak) * field - eta / 2 * (peak**2 - field**2)
    area = float(np.sum(upper - lower)) * (field[1] - field[0])
    top = (initial + eta * peak) * peak
    material = replace(FERRITE, level_coefficient=eta * peak / initial / top)
    assert float(hysteresis_tangent(material, top, level_ratio(material, top))) == pytest.approx(
        area / (math.pi * top * peak), rel=1e-6
    )


@pytest.mark.parametrize("material", [FERRITE, POWDER], ids=lambda item: item.name)
def test_reversible_permeability_is_the_slope_of_magnetization(material: Material) -> None:
    field = np.geomspace(1.0, 3e4, 60)
    up, down = (magnetization(material, field * factor)[0] for factor in (1 + 1e-5, 1 - 1e-5))
    slope = (up - down) / (2e-5 * field) / (MU_0 * material.initial_permeability)
    np.testing.assert_allclose(magnetization(material, field)[1], slope, rtol=1e-4, atol=1e-9)


def test_magnetization_ends() -> None:
    """Langevin's function reaches Bs; the powder's curve with n = 2 is arctan: B = μ0 μi H½ atan(H/H½)."""
    assert float(magnetization(FERRITE, np.array(1e7))[0]) == pytest.approx(0.5, rel=1e-3)
    found = float(magnetization(POWDER, np.array(16_000.0))[0])
    assert found == pytest.approx(MU_0 * 60 * 8000 * math.atan(2.0), rel=1e-9)
    assert float(magnetization(POWDER, np.array(8000.0))[1]) == pytest.approx(0.5)


@pytest.mark.parametrize("material", MATERIALS, ids=lambda item: item.name)
def test_the_load_line_closes(material: Material) -> None:
    """le H + R Ae B(H) = NI, from no bias to far beyond saturation, with and without gap; ρ falls from 1."""
    length, area = 0.08, 1e-4
    current = np.array([0.0, 0.1, 1.0, 10.0, 100.0, 3000.0])
    for reluctance in (0.0, 1e5, 5e6):
        flux, ratio = load_line(material, length, area, reluctance, current)
        assert np.all(np.diff(flux) >= 0)
        assert np.all(np.diff(ratio) <= 1e-12)
        assert float(ratio[0]) == 1.0
        field = (current - reluctance * area * flux) / length
        again, _ = magnetization(material, np.maximum(field, 0.0))
        np.testing.assert_allclose(again, flux, rtol=1e-5, atol=1e-8)


TABLED = [item for item in MATERIALS if item.level_flux_densities and item.bias_field <= 0]


@pytest.mark.parametrize("material", TABLED, ids=lambda item: item.name)
def test_one_curve_for_level_and_direct_current(material: Material) -> None:
    """At each row of the grade's own table of amplitude permeability the direct current that it asks for,
    le B/(μ0 μi λ) + R Ae B, makes that flux density."""
    length, area, mu = 0.13, 2e-4, MU_0 * material.initial_permeability
    for reluctance in (0.0, 2e5):
        for flux, ratio in zip(material.level_flux_densities, material.level_ratio, strict=True):
            current = np.array(length * flux / (mu * ratio) + reluctance * area * flux)
            found, held = load_line(material, length, area, reluctance, current)
            assert float(found) == pytest.approx(flux, rel=1e-9, abs=1e-12)
            assert 0 < float(held) <= 1.0


def test_a_choke_of_grain_oriented_steel_under_a_small_direct_current() -> None:
    """5 mA in 2400 turns on 0.13 m of the grade with joints of 6 µm: by hand along the table's rows of 1 T (λ
    20), 1.3 T (λ 18) and 1.5 T (λ 13); from the initial permeability alone it would be 0.21 T."""
    steel = next(item for item in MATERIALS if item.name == "silicon steel GO 0.30")
    area = 4e-4
    flux = float(load_line(steel, 0.13, area, 6e-6 / (MU_0 * area), 12.0)[0])
    ratio = np.interp(flux, [1.0, 1.3, 1.5], [20.0, 18.0, 13.0])
    needed = 0.13 * flux / (MU_0 * 2000 * ratio) + 6e-6 * flux / MU_0
    assert float(needed) == pytest.approx(12.0, rel=1e-6)
    assert 1.0 < flux < 1.5


def test_reversible_permeability_by_gans() -> None:
    """ρ = 3 dL/dx at the flux density's share of saturation, L the mean of cos θ over exp(x cos θ), here by
    quadrature."""
    nodes, weights = np.polynomial.legendre.leggauss(60)
    material = replace(FERRITE, level_flux_densities=(0.0, 0.4), level_ratio=(1.0, 1.0))
    for x in (0.2, 1.0, 3.0, 8.0):
        mass = weights * np.exp(x * (nodes - 1))
        mean = float(np.sum(mass * nodes) / np.sum(mass))
        square = float(np.sum(mass * nodes**2) / np.sum(mass))
        found = float(reversible_ratio(material, np.array(0.5 * mean)))
        assert found == pytest.approx(3 * (square - mean**2), rel=1e-6)


def test_a_gap_keeps_the_permeability_under_bias() -> None:
    """Far below saturation the flux is NI/R; a closed core of 80 mm with 10 ampere-turns is saturated."""
    open_, closed = (load_line(FERRITE, 0.08, 1e-4, gap, 10.0) for gap in (5e6, 0.0))
    assert float(open_[0]) == pytest.approx(10 / (5e6 + 0.08 / (MU_0 * 2000 * 1e-4)) / 1e-4, rel=1e-3)
    assert float(open_[1]) > 0.98
    assert float(closed[1]) < 0.6


def test_saturation_falls_with_temperature_and_tables_rule_over_coefficients() -> None:
    hot = replace(FERRITE, saturation_coefficient=-0.003, temperatures=(0.0, 23.0, 100.0))
    hot = replace(
        hot, temperature_ratio=(0.9, 1.0, 1.5), level_flux_densities=(0.0, 0.1), level_ratio=(1.0, 1.4)
    )
    assert float(saturation(hot, 123.0)) == pytest.approx(0.35)
    found = complex(permeability(hot, 0.0, 61.5, 0.05))
    drawn = 1 + 0.4 * 0.05 / 0.1 / (1 - 0.003 * 38.5)
    assert found == pytest.approx(2000 * 1.25 * drawn)


@pytest.mark.parametrize("material", TABLED, ids=lambda item: item.name)
def test_the_normal_curve_is_drawn_together_with_saturation(material: Material) -> None:
    """λ(B, T) = λ(B Bs(23 °C)/Bs(T)), also beyond the table's end."""
    part = float(saturation(material, 100.0)) / material.saturation_flux_density
    for flux in (0.3 * material.saturation_flux_density, 1.1 * material.level_flux_densities[-1]):
        cold = float(level_ratio(material, flux / part))
        assert float(level_ratio(material, flux, 100.0)) == pytest.approx(cold, rel=1e-12)


@pytest.mark.parametrize("material", TABLED, ids=lambda item: item.name)
def test_no_minor_loop_is_steeper_than_the_curve_it_hangs_on(material: Material) -> None:
    """Around zero the chord is λ itself; on a direct current the answer is below the chord and below λ ρ, and
    is one of them."""
    top = material.saturation_flux_density
    peak = np.array([0.02, 0.1, 0.3]) * top
    np.testing.assert_allclose(chord_ratio(material, 0.0, peak), level_ratio(material, peak), rtol=1e-12)
    np.testing.assert_allclose(incremental_ratio(material, AT_REST, peak), level_ratio(material, peak))
    for part in (0.2, 0.5, 0.8):
        steady = np.array(part * top)
        held = reversible_ratio(material, steady)
        found = incremental_ratio(material, DirectState(steady, held), peak)
        chord, product = chord_ratio(material, steady, peak), held * level_ratio(material, peak)
        np.testing.assert_allclose(found, np.minimum(chord, product))
        high, low = steady + peak, steady - peak
        rise = high / level_ratio(material, high) - low / level_ratio(material, low)
        np.testing.assert_allclose(chord, 2 * peak / rise)


def test_the_doubt_is_nothing_where_one_influence_acts_alone() -> None:
    """Level, temperature or a powder's bias alone: 0; with both it grows, by hand for θ = 1.25, λ = 1.2."""
    material = replace(
        FERRITE,
        temperatures=(23.0, 61.5),
        temperature_ratio=(1.0, 1.25),
        level_flux_densities=(0.0, 0.1),
        level_ratio=(1.0, 1.4),
    )
    peak, none = np.array(0.05), np.array(0.0)
    assert float(joint_influence(material, AT_REST, peak)) == 0.0
    assert float(joint_influence(material, AT_REST, none, 61.5)) == 0.0
    assert float(joint_influence(POWDER, DirectState(0.1, 0.5), none)) == 0.0
    assert float(joint_influence(material, AT_REST, peak, 61.5)) == pytest.approx(
        (1 - 1 / 1.2) * (1 - 1 / 1.25)
    )
    both = float(joint_influence(material, DirectState(0.025, 0.7), peak))
    assert both == pytest.approx(0.3 + (1 - 1 / 1.2) * 0.5)
    moved = permeability(material, 0.0, 23.0, peak, DirectState(0.025, 0.7), (0.4, 0.0, 0.0))
    plain = permeability(material, 0.0, 23.0, peak, DirectState(0.025, 0.7))
    assert float(moved.real / plain.real) == pytest.approx(math.exp(0.4 * both))
