"""What has no model is refused, and the refusal says so."""

from __future__ import annotations

import pytest

from aswound.predict import parse_design, readings
from aswound.predict.errors import BuildError, DesignError

E = 'shape = "E 42/21/15"\nmaterial = "MnZn 2300"'
OVER = '{ wind = "P", turns = 20 }, { tape = "0.1 mm", wraps = 2 }, { wind = "S", turns = 10 }'
LEGS = '{{ wind = "P", turns = 20, leg = 1 }}, {{ wind = "S", turns = 20, leg = {} }}'


def read(core: str, steps: str, *, flange: str = 'flange = "1.0 mm"') -> None:
    readings(
        parse_design(f"""
[core]
{core}
[bobbin]
wall = "1.1 mm"
{flange}
[[winding]]
name = "P"
wire = {{ diameter = "0.30 mm", grade = 2 }}
[[winding]]
name = "S"
wire = {{ diameter = "0.30 mm", grade = 2 }}
[build]
steps = [{steps}]
[[test]]
name = "Lk"
measure = "inductance"
drive = "P"
short = ["S"]
frequency = "10 kHz"
""")
    )


@pytest.mark.parametrize(
    ("core", "steps", "reason"),
    [
        (E, LEGS.format(2), "outer legs of a three-limb core"),
        (E, LEGS.format(3), "outer legs of a three-limb core"),
        (
            f'{E}\ngap = ["0.3 mm", "0.1 mm", "0.3 mm"]',
            OVER,
            "no model for gaps that differ from leg to leg",
        ),
        ('shape = "none"\nmu_i = 1', OVER, 'form = "air", diameter and length'),
        ('shape = "E 42/21/15"\nmu_i = 1', OVER, "legs do not lead the flux"),
    ],
)
def test_the_refusal_says_why(core: str, steps: str, reason: str) -> None:
    with pytest.raises((DesignError, BuildError)) as caught:
        read(core, steps)
    assert reason in str(caught.value)


def test_sectors_of_a_gapped_ring() -> None:
    ring = (
        'mu_i = 2000\ngap = "0.5 mm"\n[core.dimensions]\nform = "toroid"\nouter_diameter = "25 mm"\n'
        'inner_diameter = "15 mm"\nheight = "10 mm"'
    )
    steps = (
        '{ wind = "P", turns = 20, sector = "90 deg" }, '
        '{ wind = "S", turns = 20, sector = "90 deg", from_angle = "180 deg" }'
    )
    with pytest.raises((DesignError, BuildError), match="state gap_angle"):
        read(ring, steps, flange="")
    read(ring.replace('"0.5 mm"', '"0.5 mm"\ngap_angle = "90 deg"'), steps, flange="")


def test_the_angle_of_a_gap_is_for_rings() -> None:
    with pytest.raises(DesignError, match="gap_angle only on a toroid"):
        read(f'{E}\ngap = "0.3 mm"\ngap_angle = "90 deg"', OVER)


def test_a_fault_of_a_former_asks_for_no_material() -> None:
    air = '[core.dimensions]\nform = "air"\ndiameter = "20 mm"\nlength = "15 mm"\nmu_i = 3'
    with pytest.raises(DesignError) as caught:
        read(air, OVER)
    assert "mu_i" in str(caught.value)
    assert "material" not in str(caught.value)
