"""Strands that run in helices are longer than their turn."""

from __future__ import annotations

import math

import numpy as np
import pytest

from aswound.predict import parse_design, readings
from aswound.predict.copper import lay_factor
from aswound.predict.design import Design
from aswound.predict.errors import DesignError
from aswound.predict.production import spread

pytestmark = pytest.mark.exact


def coil(wire: str) -> Design:
    return parse_design(f"""
[core]
shape = "ETD 34/17/11"
material = "MnZn 2300"
gap = "0.5 mm"
[bobbin]
wall = "1.1 mm"
flange = "1 mm"
[[winding]]
name = "P"
lead_length = "100 mm"
wire = {wire}
[build]
steps = [{{ wind = "P", turns = 10 }}]
[[test]]
name = "R"
measure = "resistance"
drive = "P"
""")


def resistance(wire: str) -> float:
    return float(np.asarray(readings(coil(wire)))[0])


@pytest.mark.parametrize("lay", [0.004, 0.02, 0.2])
def test_mean_of_helices(lay: float) -> None:
    """The mean of √(1 + (2πr/p)²) over a circle, by summing rings; a long lay adds a quarter of q²."""
    radius = 0.6e-3
    edges = np.linspace(0, radius, 4001)
    middle, area = (edges[1:] + edges[:-1]) / 2, np.diff(edges**2)
    mean = float(np.sum(np.sqrt(1 + (2 * math.pi * middle / lay) ** 2) * area) / radius**2)
    assert float(lay_factor(radius, lay)) == pytest.approx(mean, rel=1e-6)
    assert float(lay_factor(radius, 10.0)) == pytest.approx(
        1 + (2 * math.pi * radius / 10) ** 2 / 4, rel=1e-9
    )


LITZ = 'litz_strands = 60, strand = "0.1 mm", overall = "1.1 mm"'


def test_resistance_goes_with_the_lay() -> None:
    """Turns and leads alike; stated as a factor or as a lay of the same helix; 5 % where nothing is said."""
    straight = resistance(f"{{ {LITZ}, lay_factor = 1.0 }}")
    assert resistance(f"{{ {LITZ}, lay_factor = 1.07 }}") == pytest.approx(1.07 * straight, rel=1e-9)
    helix = float(lay_factor(0.55e-3, 15e-3))
    assert resistance(f'{{ {LITZ}, lay = "15 mm" }}') == pytest.approx(helix * straight, rel=1e-9)
    assert resistance(f"{{ {LITZ} }}") == pytest.approx(1.05 * straight, rel=1e-9)
    bundle = 'diameter = "0.3 mm", grade = 2, in_hand = 3, twisted = true'
    loose = resistance(f"{{ {bundle}, lay_factor = 1 }}")
    assert resistance(f"{{ {bundle} }}") == pytest.approx(1.02 * loose, rel=1e-9)


def test_what_is_not_said_widens_the_range() -> None:
    """±3 % (k = 2) of the resistance beside wire and turn length, gone where the lay is stated."""
    drivers = {driver.parameter for driver in spread(coil(f"{{ {LITZ} }}"), 300).drivers[0]}
    stated = {driver.parameter for driver in spread(coil(f"{{ {LITZ}, lay_factor = 1.04 }}"), 300).drivers[0]}
    assert "lay P" in drivers
    assert "lay P" not in stated


@pytest.mark.parametrize(
    ("wire", "place", "rest"),
    [
        ('{ diameter = "0.5 mm", grade = 2, lay_factor = 1.02 }', "lay_factor", "not twisted"),
        (f'{{ {LITZ}, lay_factor = 1.02, lay = "20 mm" }}', "lay", "one of the two"),
        (f"{{ {LITZ}, lay_factor = 0.9 }}", "lay_factor", "1"),
    ],
)
def test_what_makes_no_sense_is_refused(wire: str, place: str, rest: str) -> None:
    with pytest.raises(DesignError) as caught:
        coil(wire)
    assert any(fault.place.endswith(f"wire.{place}") and rest in str(fault) for fault in caught.value.faults)
