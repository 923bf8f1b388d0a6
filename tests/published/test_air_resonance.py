"""The self-capacitance of coils in air, and where they resonate."""

from __future__ import annotations

import math

import numpy as np
import pytest

from aswound.predict import parse_design, readings
from aswound.predict.capacitance.electrodes import electrode_space, units_of
from aswound.predict.capacitance.energy import Energy
from aswound.predict.capacitance.through_air import add_field_through_air, medhurst_capacitance
from aswound.predict.circuit import turns_cautions
from aswound.predict.design import Design
from aswound.predict.winding import lay_out

MEDHURST = {0.1: 0.96, 0.2: 0.70, 0.3: 0.60, 0.5: 0.50, 1.0: 0.46, 2.0: 0.50, 5.0: 0.81, 10.0: 1.32}
"""Self-capacitance over diameter, pF/cm, against length over diameter: R. G. Medhurst, Wireless Engineer,
March 1947 (from memory)."""


@pytest.mark.parametrize("slenderness", MEDHURST)
def test_medhurst(slenderness: float) -> None:
    found = float(medhurst_capacitance(np.array(0.05), np.array(0.05 * slenderness)))
    assert found == pytest.approx(5e-12 * MEDHURST[slenderness], rel=0.07)


def coil(steps: str) -> Design:
    """A and B of 0.25 mm wire on a former of 60 mm, 20 mm long, and the resonance of A."""
    winding = '[[winding]]\nname = "{}"\nwire = {{ diameter = "0.25 mm", overall = "0.30 mm" }}\n'
    return parse_design(
        '[core.dimensions]\nform = "air"\ndiameter = "60 mm"\nlength = "20 mm"\nroom = "10 mm"\n'
        '[bobbin]\nwall = "0 mm"\nflange = "0 mm"\n'
        + winding.format("A")
        + winding.format("B")
        + f"[build]\nsteps = [{steps}]\n"
        + '[[test]]\nname = "L"\nmeasure = "inductance"\ndrive = "A"\nfrequency = "10 kHz"\n'
        '[[test]]\nname = "f"\nmeasure = "resonance"\ndrive = "A"\n'
    )


ALONE = '{ wind = "A", turns = 50 }, { spacer = "8 mm" }, { wind = "B", turns = 1 }'


def test_a_single_layer_resonates_where_medhurst_and_wheeler_say() -> None:
    """L = 39.4 uH/m r^2 N^2 / (9 r + 10 l) (H. A. Wheeler, Proc. IRE 16, 1928; 1 %), and 3.5 pF."""
    inductance, frequency = (float(value) for value in readings(coil(ALONE)))
    radius = 30.15e-3
    assert inductance == pytest.approx(39.4e-6 * (radius * 50) ** 2 / (9 * radius + 0.2), rel=0.02)
    expected = 1 / (2 * math.pi * math.sqrt(inductance * 3.5e-12))
    assert frequency == pytest.approx(expected, rel=0.04)


@pytest.mark.parametrize(
    ("turns", "breadth", "halves"), [(1, 20.0, (2, 1)), (20, 6.6, (2, 1)), (50, 16.5, (1, 1))]
)
def test_a_layer_that_another_covers_has_half_of_it(
    turns: int, breadth: float, halves: tuple[int, int]
) -> None:
    """B always has its outside, and A's wires inside it; A's outside is bare under one turn of B, or where B
    lies over a third of it, and not under four fifths."""
    design = coil(ALONE.replace("turns = 1", f'turns = {turns}, breadth = "{breadth} mm"'))
    layout = lay_out(design)
    space = electrode_space(design, layout, None)
    energy = Energy(space, units_of(space))
    add_field_through_air(energy)
    along, across = layout.along(layout.extent)[0], layout.turn_length[0] / math.pi
    whole = medhurst_capacitance(across, along[:, 1] - along[:, 0])
    assert energy.own[0] == pytest.approx(np.array(halves) / 2 * whole)


def test_a_wire_longer_than_a_tenth_of_a_wave_gets_a_word() -> None:
    """9.5 m at 6 MHz, where a wave is 50 m."""
    (text,) = (caution for caution in turns_cautions(coil(ALONE)) if caution.startswith("f:"))
    assert "9.47 m, is longer than a tenth of a wave, 4.9" in text
    assert not [caution for caution in turns_cautions(coil(ALONE)) if caution.startswith("L:")]
