"""Alternating-current resistance of full-height foil against the exact layer solution."""

from __future__ import annotations

import math

import numpy as np
import pytest

from aswound.predict import parse_design
from aswound.predict.design import Design
from aswound.predict.layout import lay_out
from aswound.predict.resistance import (
    alternating_excess,
    enclosed_share,
    resistivity,
    section_resistance,
    transverse_loss,
)

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


FACTORS = {
    1.0: {1: 1.0856, 2: 1.4060, 3: 1.9400, 5: 3.6486, 10: 11.658},
    2.0: {1: 1.8978, 2: 5.1465, 3: 10.561, 5: 27.887, 10: 109.10},
}
"""Rac/Rdc of m foil layers at D = thickness/δ, Dowell's formula evaluated independently to five digits."""


@pytest.mark.parametrize(
    ("ratio", "layers"), [(ratio, layers) for ratio, row in FACTORS.items() for layers in row]
)
def test_dowell_foil_layers(ratio: float, layers: int) -> None:
    frequency = 100e3
    skin = math.sqrt(2 * float(resistivity("copper", 20.0)) / (2 * math.pi * frequency * 4e-7 * math.pi))
    assert skin == pytest.approx(0.209e-3, rel=2e-3)  # 66.1 mm/√f
    design = foil_stack(layers, ratio * skin)
    layout = lay_out(design)
    inner, outer = enclosed_share(layout, np.ones(1))
    flow = np.array([1.0] * layers + [-float(layers)])
    lengths = layout.turn_length[0, :layers]
    direct = float(np.sum(section_resistance(design, layout, 20.0)[0, :layers]))
    excess = alternating_excess(design, layout, inner, outer, frequency, 20.0)[0]
    added = float((flow @ excess @ flow).real)
    # every layer has its own length here; the formula assumes one: weigh its layers by length
    layer_factor = [_layer(ratio, place) for place in range(layers)]
    expected = float(np.sum(np.array(layer_factor) * lengths) / np.sum(lengths))
    assert 1 + added / direct == pytest.approx(expected, rel=1e-3)
    assert np.mean(layer_factor) == pytest.approx(FACTORS[ratio][layers], rel=1e-4)


def _layer(ratio: float, place: int) -> float:
    """Rac/Rdc of layer ``place`` (from 0, the outermost of the stack's field) with the field of ``place``
    layers on one side."""
    root = (1 + 1j) * ratio
    below, above = float(place), float(place + 1)
    return float((root * ((below**2 + above**2) / np.tanh(root) - 2 * below * above / np.sinh(root))).real)


def test_thick_layers_lose_as_one_to_five_to_thirteen() -> None:
    """Thick-layer limit 2m² − 2m + 1 (Erickson and Maksimović, from memory)."""
    losses = [_layer(8.0, place) for place in range(3)]
    np.testing.assert_allclose(np.array(losses) / losses[0], [1, 5, 13], rtol=1e-3)


def test_wire_in_a_transverse_field() -> None:
    """Low frequency: π ω² μ0² σ d⁴/64 per (A/m)²; high frequency: 2π d/(σδ)."""
    sigma, omega = 5.8e7, 2 * math.pi * 1e3
    thin = float(transverse_loss(0.05e-3, sigma, omega))
    assert thin == pytest.approx(
        math.pi * omega**2 * (4e-7 * math.pi) ** 2 * sigma * 0.05e-3**4 / 64, rel=1e-3
    )
    skin = math.sqrt(2 / (omega * 4e-7 * math.pi * sigma))
    thick = float(transverse_loss(200 * skin, sigma, omega))
    assert thick == pytest.approx(2 * math.pi * 200 / sigma, rel=1e-3)
