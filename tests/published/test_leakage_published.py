"""Leakage of published windings, through the window solutions."""

from __future__ import annotations

import math

import numpy as np
import pytest

from aswound.predict.field import planar_window, round_window

pytestmark = pytest.mark.published

MU_0 = 4e-7 * math.pi


def test_core_type_300_kva() -> None:
    """Textbook worked example 5.13 (a), p. 5.89 (electrical machine design), in the FOSSEE textbook
    companion 3681, CH5/EX5.13.

    6600/400 V, 50 Hz, 830 turns, mean turn 0.9 m, coil height 0.5 m, duct 15 mm, radial widths 25 and 16
    mm. Published: 14 ohm (two digits; no Rogowski factor). The formula gives 14.033 ohm; the window
    solution with coils of the full height must too.
    """
    height, turns, length = 0.5, 830, 0.9
    blocks = np.array([[0.01, 0.026, 0.0, height], [0.041, 0.066, 0.0, height]])
    matrix = planar_window(0.08, height, blocks)
    flow = np.array([-1.0, 1.0])
    reactance = 2 * math.pi * 50 * turns**2 * length * float(flow @ matrix @ flow)
    assert reactance == pytest.approx(14.033, rel=3e-3)
    assert round(reactance) == 14


def test_132_kv_winding_pair() -> None:
    """Geometry: S. V. Kulkarni, lecture notes on finite elements for transformers, p. 8 (IIT Bombay).

    The result was not readable there; 49.01 ohm is an independent axisymmetric finite-difference solution,
    mesh error 0.03 %.
    """
    post, outer = 0.270, 0.557
    low, high = 0.620 - 0.540, 2.140 - 0.540
    rings = np.array([[0.293, 0.345, low, high], [0.394, 0.459, low, high]])
    matrix = round_window(post, outer, 2.340 - 0.540, rings)
    flow = np.array([-1.0, 1.0])
    reactance = 2 * math.pi * 50 * 980**2 * float(flow @ matrix @ flow)
    assert reactance == pytest.approx(49.01, rel=0.01)


WINDOWS = {
    "F1": (10, [(1, 4, 1, 29, 1), (4.5, 7.5, 1, 29, -1)], 42.684),
    "F3": (10, [(1, 2.5, 1, 29, 0.5), (3, 6, 1, 29, -1), (6.5, 8, 1, 29, 0.5)], 12.985),
    "F4": (10, [(1, 4, 1, 29, 1), (4.5, 7.5, 8, 22, -1)], 79.567),
    "F5": (10, [(1, 9, 1, 14, 1), (1, 9, 16, 29, -1)], 538.47),
    "F7": (12, [(1, 4, 1, 29, 1), (6, 9, 1, 29, -1)], 68.046),
}
"""Window width (mm), blocks (x0, x1, y0, y1 in mm, share of the ampere-turns), µH per metre for 20 turns;
height 30 mm. Independent finite-difference solutions, mesh error below 0.04 %."""


@pytest.mark.parametrize("name", WINDOWS)
def test_windows_that_the_one_dimensional_formula_misjudges(name: str) -> None:
    width, blocks, expected = WINDOWS[name]
    places = np.array([block[:4] for block in blocks]) * 1e-3
    flow = 20.0 * np.array([block[4] for block in blocks])
    energy = float(flow @ planar_window(width * 1e-3, 30e-3, places) @ flow)
    assert energy * 1e6 == pytest.approx(expected, rel=2e-3)


@pytest.mark.parametrize("duct", [1e-9, 1e-3, 4e-3])
def test_interleaving_limit(duct: float) -> None:
    """P|S → ½P|S|½P with full-height blocks: ratio (2c + Σb/3) / (4 (c + Σb/3)), a quarter where the
    insulation vanishes.

    Any textbook; e.g. Lee, Electronic Transformers and Circuits, section 4.08.
    """
    primary, secondary, height = 3e-3, 2e-3, 30e-3

    def energy(widths: list[float], flow: list[float]) -> float:
        places, x = [], 0.5e-3
        for width in widths:
            places.append([x, x + width, 0.0, height])
            x += width + duct
        current = np.array(flow)
        return float(current @ planar_window(20e-3, height, np.array(places)) @ current)

    plain = energy([primary, secondary], [1, -1])
    interleaved = energy([primary / 2, secondary, primary / 2], [0.5, -1, 0.5])
    total = (primary + secondary) / 3
    assert plain == pytest.approx(MU_0 / height * (duct + total), rel=1e-6)
    assert interleaved / plain == pytest.approx((2 * duct + total) / (4 * (duct + total)), rel=1e-6)
