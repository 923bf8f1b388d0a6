"""Coils in air against published formulas, tables and examples.

E. B. Rosa and F. W. Grover, "Formulas and tables for the calculation of mutual and self-induction", Bulletin
of the Bureau of Standards 8, 1911 (Scientific Paper 169); F. W. Grover, Inductance Calculations, 1946; R.
Lundin, Proc. IEEE 73, 1985: formulas and figures from memory, each of them confirmed here by another one.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.special import ellipe, ellipk

from aswound.predict import Design, leakage, parse_design, readings
from aswound.predict.circuit import inductance_matrix
from aswound.predict.errors import DesignError
from aswound.predict.field.air_coils import coaxial_interaction, loop_mutual
from aswound.predict.winding import lay_out

pytestmark = pytest.mark.published

MU_0 = 4e-7 * math.pi


def sheet(radius: float, length: float) -> float:
    """L/N² (H) of a thin solenoid as the model has it."""
    return float(coaxial_interaction(np.array([[[0.0, 1e-9, 0.0, length]]]), radius)[0, 0, 0])


@pytest.mark.parametrize(
    ("slenderness", "nagaoka"), [(0.2, 0.9201), (0.5, 0.8181), (1.0, 0.6884), (2.0, 0.5255), (5.0, 0.3198)]
)
def test_nagaoka(slenderness: float, nagaoka: float) -> None:
    """Nagaoka's table, four digits, by diameter over length."""
    radius, length = 0.02, 0.04 / slenderness
    assert sheet(radius, length) * length / (MU_0 * math.pi * radius**2) == pytest.approx(nagaoka, abs=6e-5)


@pytest.mark.parametrize("length", [1e-3, 5e-3, 20e-3, 60e-3])
def test_lorenz_current_sheet(length: float) -> None:
    """Lorenz's formula of 1879, exact for a current sheet: 1e-4."""
    radius = 12e-3
    square = 4 * radius**2 / (4 * radius**2 + length**2)
    k = math.sqrt(square)
    bracket = (2 * square - 1) / k**3 * ellipe(square) + (1 - square) / k**3 * ellipk(square) - 1
    assert sheet(radius, length) == pytest.approx(8 * MU_0 * radius**3 / (3 * length**2) * bracket, rel=1e-4)


@pytest.mark.parametrize("slenderness", [0.3, 0.9])
def test_lundin(slenderness: float) -> None:
    """Lundin's handbook formula for 2a < l, stated to 3e-6; the model within 1e-5."""
    radius, length = 0.01, 0.02 / slenderness
    x = slenderness**2
    f1 = (1 + 0.383901 * x + 0.017108 * x**2) / (1 + 0.258952 * x)
    nagaoka = f1 - 4 * slenderness / (3 * math.pi)
    expected = MU_0 * math.pi * radius**2 / length * nagaoka
    assert sheet(radius, length) == pytest.approx(expected, rel=1e-5)


def test_maxwell_two_circles() -> None:
    """Rosa and Grover, example 1: A = 25, a = 20, d = 10 cm; M = 248.79 cm (nH)."""
    found = float(loop_mutual(np.array(0.25), np.array(0.20), np.array(0.10)))
    assert found * 1e9 == pytest.approx(248.79, abs=0.01)


@pytest.mark.parametrize("layers", [1, 4, 12])
def test_brooks_coil(layers: int) -> None:
    """Square section c, inner radius c: L = 1.6994e-6 a N² (H, a = 1.5 c in m; Grover), as one thick body and
    as layers."""
    side = 12e-3
    edges = np.linspace(0.0, side, layers + 1)
    bodies = np.array([[[edges[i], edges[i + 1], 0.0, side] for i in range(layers)]])
    found = float(coaxial_interaction(bodies, side).mean())
    assert found == pytest.approx(1.6994e-6 * 1.5 * side, rel=3e-3)


FORMER = """
[core.dimensions]
form = "air"
diameter = "{diameter} mm"
length = "{length} mm"
{core}
[[winding]]
name = "P"
wire = {{ diameter = "0.50 mm", grade = 2 }}
[[winding]]
name = "S"
wire = {{ diameter = "0.50 mm", grade = 2 }}
[build]
steps = [
  {{ wind = "P", turns = {turns} }},
  {{ tape = "0.1 mm", wraps = 2 }},
  {{ wind = "S", turns = {other} }},
]
[[test]]
name = "L"
measure = "inductance"
drive = "P"
frequency = "1 kHz"
[[test]]
name = "Lk"
measure = "inductance"
drive = "P"
short = "S"
frequency = "1 kHz"
"""


def coil(turns: int, other: int = 10, diameter: float = 30.0, length: float = 40.0, core: str = "") -> Design:
    return parse_design(FORMER.format(diameter=diameter, length=length, turns=turns, other=other, core=core))


@pytest.mark.parametrize(("turns", "length"), [(60, 40.0), (25, 40.0), (10, 12.0)])
def test_rosa_for_round_wire(turns: int, length: float) -> None:
    """L = L_sheet − μ0 a N (A + B), A = 5/4 − ln(2p/d), B = 0.336 (1 − 2.5/N + 3.8/N²), as Grover gives it (B
    from memory, within 0.005): a single layer, 0.4 %."""
    design = coil(turns, length=length)
    radius = (30.0e-3 + float(design.winding("P").wire.overall)) / 2
    pitch = length * 1e-3 / turns
    a = 1.25 - math.log(2 * pitch / 0.5e-3)
    b = 0.336 * (1 - 2.5 / turns + 3.8 / turns**2)
    expected = turns**2 * sheet(radius, length * 1e-3) - MU_0 * radius * turns * (a + b)
    assert float(inductance_matrix(design)[0, 0]) == pytest.approx(expected, rel=4e-3)


def turn_by_turn(design: Design) -> np.ndarray:
    """(2, 2) inductances as sums over single round turns: loops at their places, and of each turn its own, μ0
    a (ln(8a/r) − 7/4)."""
    layout = lay_out(design)
    rows = []
    for index, section in enumerate(layout.sections):
        x0, x1, y0, y1 = layout.extent[0, index]
        count = round(float(layout.turns[0, index]))
        radius = 15e-3 + (x0 + x1) / 2
        for turn in range(count):
            rows.append((section.winding, radius, y0 + (turn + 0.5) * (y1 - y0) / count))
    names = np.array([row[0] for row in rows])
    radii, places = (np.array([row[k] for row in rows]) for k in (1, 2))
    apart = places[:, None] - places[None, :]
    np.fill_diagonal(apart, 1.0)
    mutual = loop_mutual(radii[:, None], radii[None, :], apart)
    np.fill_diagonal(mutual, MU_0 * radii * (np.log(8 * radii / 0.25e-3) - 1.75))
    return np.array([[mutual[np.ix_(names == a, names == b)].sum() for b in "PS"] for a in "PS"])


@pytest.mark.exact
@pytest.mark.parametrize(("turns", "other"), [(60, 60), (60, 20), (140, 30), (600, 30)])
def test_turn_by_turn(turns: int, other: int) -> None:
    """Inductances of both coils within 0.3 % of the sum over their turns, leakage L (1 − k²) within 2 %."""
    design = coil(turns, other)
    exact, found = turn_by_turn(design), inductance_matrix(design)
    np.testing.assert_allclose(found, exact, rtol=3e-3)
    expected = exact[0, 0] - exact[0, 1] ** 2 / exact[1, 1]
    assert leakage(design, "P", ["S"]) == pytest.approx(expected, rel=0.02)
    assert float(readings(design)[0]) == pytest.approx(exact[0, 0], rel=4e-3)


@pytest.mark.parametrize("key", ['gap = "1 mm"', "mu_i = 2000", 'al = "100 nH"', 'material = "MnZn 2300"'])
def test_what_only_a_core_has_is_refused(key: str) -> None:
    text = FORMER.format(diameter=30, length=40, turns=10, other=10, core="")
    with pytest.raises(DesignError, match="has no core"):
        parse_design(text.replace("[core.dimensions]", f"[core]\n{key}\n[core.dimensions]"))
