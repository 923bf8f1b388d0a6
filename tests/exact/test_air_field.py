"""The field of coils in air at their own layers, in the limits that closed forms know."""

from __future__ import annotations

import numpy as np
import pytest

from aswound.predict import Design, parse_design, readings
from aswound.predict.copper.air_field import AirField, air_field
from aswound.predict.winding import lay_out

pytestmark = pytest.mark.exact

COILS = """
title = "Two layers in air"
[core]
[core.dimensions]
form = "air"
diameter = "4 mm"
length = "{length} mm"
[[winding]]
name = "A"
wire = {{ diameter = "0.9 mm", overall = "1.0 mm" }}
[[winding]]
name = "B"
wire = {second}
[build]
steps = [{steps}]
[[test]]
name = "Rac"
measure = "ac_resistance"
drive = "B"
frequency = "100 kHz"
[[test]]
name = "Lk"
measure = "inductance"
drive = "B"
short = ["A"]
frequency = "100 kHz"
"""
WIRE = '{ diameter = "0.9 mm", overall = "1.0 mm" }'
APART = '{{ wind = "A", turns = {turns}, layers = 1 }}, {{ wind = "B", turns = {turns}, layers = 1 }}'


def coils(turns: int, second: str = WIRE, steps: str = "") -> Design:
    steps = steps or APART.format(turns=turns)
    return parse_design(COILS.format(length=round(1.05 * turns) + 2, second=second, steps=steps))


def field_of(design: Design) -> tuple[AirField, float]:
    """The field, and the layers' breadth, m."""
    layout = lay_out(design)
    low, high = layout.along(layout.copper)[0, 0]
    radius = design.core.dimensions.leg_radius
    assert radius is not None
    return air_field(layout, radius, layout.turns[0]), float(high - low)


@pytest.mark.parametrize("turns", [40, 90])
def test_two_layers_of_a_long_coil(turns: int) -> None:
    """A sheet of K ampere-turns per metre has K inside, K/2 at itself and nothing outside; the ends take
    some of it. More turns than rings, which then stand further apart than the layers."""
    field, breadth = field_of(coils(turns))
    inner, outer = field.along[0] * breadth**2
    ends = 10.5 / turns
    np.testing.assert_allclose(inner, [[0.25, 0.5], [0.5, 1.0]], rtol=ends)
    np.testing.assert_allclose(outer, [[0.0, 0.0], [0.0, 0.25]], atol=0.25 * ends)


def test_windings_wound_together_share_their_layer() -> None:
    """Two wires side by side in one layer: each has the field of both as of itself."""
    field, breadth = field_of(coils(20, steps='{ wind = "A", turns = 10, layers = 1, with = ["B"] }'))
    assert np.all(np.isfinite(field.along))
    assert np.all(np.isfinite(field.across[0]))
    np.testing.assert_allclose(field.along[0, 0] * breadth**2, np.full((2, 2), 0.25), rtol=0.3)


def test_foil_in_air_shorts_no_more_than_its_copper_can() -> None:
    """At 100 kHz thin foil and the wires in its field add no more than twice its copper; no inductance with
    another winding shorted is below zero."""
    steps = (
        '{ wind = "A", turns = 36, layers = 1 }, { tape = "0.06 mm", wraps = 2 }, '
        '{ wind = "B", turns = 3, interlayer = "0.03 mm" }'
    )
    resistance, leakage = readings(coils(40, '{ foil = "0.05 mm", width = "38 mm" }', steps))
    direct = 3 * 1.724e-8 * np.pi * 6.6e-3 / (0.05e-3 * 38e-3)
    assert direct < resistance < 3 * direct
    assert leakage > 0
