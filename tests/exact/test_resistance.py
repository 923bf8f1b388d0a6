"""Alternating-current resistance: full-height foil against the exact layer solution, round wires
against Bessel
functions of another library."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.special import jve

from aswound.predict import parse_design
from aswound.predict.copper.alternating_current import (
    alternating_excess,
    enclosed_share,
)
from aswound.predict.copper.bessel import bessel_ratios
from aswound.predict.copper.foil_conductor import excess_functions
from aswound.predict.copper.resistance import resistivity, section_resistance
from aswound.predict.copper.round_conductor import lone_excess, row_excess
from aswound.predict.design import Design, FloatArray
from aswound.predict.winding.layout import lay_out

pytestmark = pytest.mark.exact


def foil_stack(layers: int, thickness: float) -> Design:
    """``layers`` turns of foil over the whole breadth against one turn far outside."""
    return parse_design(f"""
[core]
shape = "ETD 59/31/22"
mu_i = 2000
[bobbin]
wall = "1 mm"
flange = "0 mm"
[[winding]]
name = "P"
wire = {{ foil = "{thickness * 1e3:.9f} mm", width = "44.2 mm" }}
[[winding]]
name = "S"
wire = {{ foil = "0.001 mm", width = "44.2 mm" }}
[build]
interlayer = "0.05 mm"
steps = [{{ wind = "P", turns = {layers} }}, {{ spacer = "0.5 mm" }}, {{ wind = "S", turns = 1 }}]
""")


FREQUENCY = 100e3
OMEGA = 2 * math.pi * FREQUENCY
MU_0 = 4e-7 * math.pi
SKIN = math.sqrt(2 * float(resistivity("copper", 20.0)) / (OMEGA * MU_0))


def _foil_impedance(ratio: float, layers: int) -> tuple[float, complex, FloatArray]:
    """Direct-current resistance (Ω) of ``layers`` foils of ratio × δ at one ampere each, what 100 kHz adds to
    it (Ω), and the layers' lengths (m)."""
    design = foil_stack(layers, ratio * SKIN)
    layout = lay_out(design)
    inner, outer = enclosed_share(layout, np.ones(1))
    flow = np.array([1.0] * layers + [-float(layers)])
    direct = float(np.sum(section_resistance(design, layout, 20.0)[0, :layers]))
    excess = alternating_excess(design, layout, (inner, outer), FREQUENCY, 20.0)[0]
    return direct, complex(flow @ excess @ flow), layout.turn_length[0, :layers]


def test_skin_depth() -> None:
    """66.1 mm/√f in copper at 20 °C."""
    assert pytest.approx(66.1e-3 / math.sqrt(FREQUENCY), rel=1e-3) == SKIN


FACTORS = {
    1.0: {1: 1.0856, 2: 1.4060, 3: 1.9400, 5: 3.6486, 10: 11.658},
    2.0: {1: 1.8978, 2: 5.1465, 3: 10.561, 5: 27.887, 10: 109.10},
}
"""Rac/Rdc of m foil layers at D = thickness/δ, Dowell's formula evaluated independently to five digits."""


@pytest.mark.parametrize(
    ("ratio", "layers"), [(ratio, layers) for ratio, row in FACTORS.items() for layers in row]
)
def test_dowell_foil_layers(ratio: float, layers: int) -> None:
    direct, added, lengths = _foil_impedance(ratio, layers)
    # every layer has its own length here; the formula assumes one: weigh its layers by length
    layer_factor = [_layer(ratio, place).real for place in range(layers)]
    expected = float(np.sum(np.array(layer_factor) * lengths) / np.sum(lengths))
    assert 1 + added.real / direct == pytest.approx(expected, rel=1e-3)
    assert np.mean(layer_factor) == pytest.approx(FACTORS[ratio][layers], rel=1e-4)


def _layer(ratio: float, place: int) -> complex:
    """Impedance over Rdc of layer ``place`` (from 0, the outermost of the stack's field) with the field of
    ``place`` layers on one side."""
    root = (1 + 1j) * ratio
    below, above = float(place), float(place + 1)
    return complex(root * ((below**2 + above**2) / np.tanh(root) - 2 * below * above / np.sinh(root)))


def test_thick_layers_lose_as_one_to_five_to_thirteen() -> None:
    """Thick-layer limit 2m² − 2m + 1 (Erickson and Maksimović, from memory)."""
    losses = [_layer(8.0, place).real for place in range(3)]
    np.testing.assert_allclose(np.array(losses) / losses[0], [1, 5, 13], rtol=1e-3)


def test_wire_in_a_transverse_field() -> None:
    """Low frequency: π ω² μ0² σ d⁴/64 per (A/m)²; high frequency: 2π d/(σδ)."""
    sigma, omega = 5.8e7, 2 * math.pi * 1e3
    thin = float(lone_excess(0.05e-3, sigma, omega)[1].real)
    assert thin == pytest.approx(
        math.pi * omega**2 * (4e-7 * math.pi) ** 2 * sigma * 0.05e-3**4 / 64, rel=1e-3
    )
    skin = math.sqrt(2 / (omega * 4e-7 * math.pi * sigma))
    thick = float(lone_excess(2e4 * skin, sigma, omega)[1].real)
    assert thick == pytest.approx(2 * math.pi * 2e4 / sigma, rel=1e-3)


@pytest.mark.parametrize("ratio", [0.2, 1.0, 2.0, 3.0, 5.0, 9.0, 30.0])
def test_wire_in_a_transverse_field_against_bessel_functions(ratio: float) -> None:
    """Round wire of ``ratio`` × δ in a uniform field: ωμ0 2πa² |Im 2 J1(ka)/(ka J0(ka))|, k = (1 − j)/δ, the
    potentials inside and outside matched at the surface."""
    sigma = 1 / float(resistivity("copper", 20.0))
    diameter = ratio * SKIN
    argument = (1 - 1j) * ratio / 2
    moment = 2 * jve(1, argument) / (argument * jve(0, argument))
    expected = OMEGA * MU_0 * 2 * math.pi * (diameter / 2) ** 2 * abs(complex(moment).imag)
    found = float(lone_excess(diameter, sigma, OMEGA)[1].real)
    assert found == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize(
    ("ratio", "layers", "factor"),
    [
        (1.0, 1, 0.9756),
        (1.0, 3, 0.9688),
        (2.0, 1, 0.7523),
        (2.0, 3, 0.6861),
        (3.0, 1, 0.5031),
        (3.0, 3, 0.3875),
    ],
)
def test_leakage_of_the_copper_shrinks_as_dowell_says(ratio: float, layers: int, factor: float) -> None:
    """Copper's part of the leakage over its value at low frequency, μ0 l t m³/(3 b): Dowell's imaginary part,
    evaluated independently to four digits."""
    _, added, lengths = _foil_impedance(ratio, layers)
    places = np.arange(layers)
    low = 2 * ratio**2 / 3 * (places**2 + places * (places + 1) + (places + 1) ** 2)  # ωL/Rdc of each layer
    high = np.array([_layer(ratio, place).imag for place in places])
    assert np.sum(high) / np.sum(low) == pytest.approx(factor, abs=1e-4)
    # here too every layer has its own length
    before = OMEGA * MU_0 * ratio * SKIN / 44.2e-3 * float(np.sum(low * lengths)) / (2 * ratio**2)
    expected = float(np.sum(high * lengths) / np.sum(low * lengths))
    assert 1 + added.imag / before == pytest.approx(expected, abs=2e-5)


@pytest.mark.parametrize("layers", [1, 2, 5])
def test_thin_foil_loses_with_the_fourth_power(layers: int) -> None:
    """D → 0: Rac/Rdc − 1 = (5 m² − 1) D⁴/45 for layers of one length. (The thin sheet outside loses 1e-3 of
    it.)"""
    ratio = 0.05
    direct, added, lengths = _foil_impedance(ratio, layers)
    places = np.arange(layers)
    # layer by layer (F0² + F1²)·4/45 + F0 F1·7·4/180 in units of D⁴: sums to (5 m² − 1)/45 for equal lengths
    each = (places**2 + (places + 1) ** 2) * 4 / 45 + places * (places + 1) * 7 / 45
    assert float(np.mean(each)) == pytest.approx((5 * layers**2 - 1) / 45, rel=1e-12)
    expected = float(np.sum(each * lengths) / np.sum(lengths)) * ratio**4
    assert added.real / direct == pytest.approx(expected, rel=2e-3)


def _by_partial_fractions(root: complex) -> tuple[complex, complex]:
    """D coth D − 1 − D²/3 and D csch D − 1 + D²/6 by their poles: Σ 2 D²/(D² + k²π²), signs alternating for
    csch, less Σ 2 D²/(k²π²) of the same signs."""
    k2 = (np.arange(1, 200_001) * math.pi) ** 2
    terms = -2 * root**4 / (k2 * (root**2 + k2))
    return complex(np.sum(terms)), complex(np.sum(terms * np.where(np.arange(len(k2)) % 2 == 0, -1, 1)))


@pytest.mark.parametrize("size", [1e-4, 1e-2, 0.0499, 0.0501, 0.3, 1.0, 4.0, 12.0])
def test_excess_functions_against_their_partial_fractions(size: float) -> None:
    """On both sides of the change from series to closed form, for the angle of a conductor."""
    root = size * (1 + 1j) / math.sqrt(2)
    found = excess_functions(np.array([root]))
    for value, expected in zip(found, _by_partial_fractions(root), strict=True):
        assert abs(complex(value[0]) - expected) <= 2e-7 * abs(expected)


def test_excess_functions_of_thick_copper() -> None:
    """D → ∞: D − 1 − D²/3 and D²/6 − 1, without overflow."""
    root = np.array([400 * (1 + 1j)])
    sums, cross = excess_functions(root)
    np.testing.assert_allclose(sums, root - 1 - root**2 / 3, rtol=1e-12)
    np.testing.assert_allclose(cross, root**2 / 6 - 1, rtol=1e-12)


@pytest.mark.parametrize("order", range(7))
def test_ratios_of_bessel_functions(order: int) -> None:
    """Against scipy (scaled, so that nothing overflows), from a thousandth of δ to 500 δ."""
    z = (1 - 1j) * np.array([1e-3, 0.05, 0.3, 1.0, 2.0, 4.0, 10.0, 15.0, 20.0, 30.0, 100.0, 500.0])
    np.testing.assert_allclose(bessel_ratios(z, 6)[order], jve(order + 1, z) / jve(order, z), rtol=6e-5)


def test_wide_row_is_a_row_of_lone_wires() -> None:
    """Pitch → ∞: neighbours do nothing, to (d/p)²."""
    row = row_excess(0.5e-3, 0.5, 5.8e7, OMEGA)
    own, driven = lone_excess(0.5e-3, 5.8e7, OMEGA)
    for found, expected in zip(row, (own, driven, driven), strict=True):
        assert complex(found) == pytest.approx(complex(expected), rel=1e-5)


@pytest.mark.parametrize("ratio", [0.1, 0.5, 1.0, 2.0, 5.0, 20.0])
@pytest.mark.parametrize("fill", [0.3, 0.6, 0.9, 0.97])
def test_row_loses_and_screens(ratio: float, fill: float) -> None:
    """Losses are positive; an applied field's energy falls (ΔL < 0): neighbours weaken a field along
    the row and
    strengthen one across it (where currents are inductive)."""
    d = ratio * SKIN
    own, along, across = (complex(value) for value in row_excess(d, d / fill, 5.8e7, OMEGA))
    lone = complex(lone_excess(d, 5.8e7, OMEGA)[1])
    assert own.real > 0
    assert along.real > 0
    assert across.real > 0
    assert along.imag < 0
    assert across.imag < 0
    if ratio >= 5:
        assert across.imag < lone.imag < along.imag
