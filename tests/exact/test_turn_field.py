"""The near field of separate round wires: against a direct sum, and against the window solution turn by
turn."""

from __future__ import annotations

import math

import numpy as np
import pytest

from aswound.predict.field import planar_window
from aswound.predict.turn_field import row_linkage

pytestmark = pytest.mark.exact

MU_0 = 4e-7 * math.pi
NO_IMAGE = (np.array([[1.0]]), np.array([[0.0]]))


def test_row_against_direct_sum() -> None:
    """Two wires of a row at half a pitch: −ln of the distances of many filaments, less those of the sheet.

    Over M pitches each way the sheet's linkage is the mean of ln|y| over the same span, so the sum
    converges with 1/M.
    """
    pitch, offset, most = 1.0, 0.37, 100_000
    places = offset + pitch * np.arange(-most, most + 1)
    low, high = offset - (most + 0.5) * pitch, offset + (most + 0.5) * pitch

    def integral(y: float) -> float:
        return y * math.log(abs(y)) - y

    direct = -np.sum(np.log(np.abs(places))) + (integral(high) - integral(low)) / pitch
    row = row_linkage(np.array([[0.0]]), np.array([[offset]]), np.array([0.1]), np.array([pitch]), *NO_IMAGE)
    assert float(row[0]) == pytest.approx(float(direct), abs=1e-6)


def test_wire_with_itself_is_the_limit_of_a_pair() -> None:
    """ln(p/2πr) + 1/4: the filament pair at the wire's geometric mean distance r e^(−1/4)."""
    pitch, radius = 2.0, 1e-4
    own = row_linkage(np.array([[0.0]]), None, np.array([radius]), np.array([pitch]), *NO_IMAGE)
    near = row_linkage(
        np.array([[0.0]]),
        np.array([[radius * math.exp(-0.25)]]),
        np.array([radius]),
        np.array([pitch]),
        *NO_IMAGE,
    )
    assert float(own[0]) == pytest.approx(float(near[0]), rel=1e-6)


@pytest.mark.parametrize(("turns", "diameter"), [(4, 0.8e-3), (6, 0.5e-3), (10, 0.9e-3), (14, 1.2e-3)])
def test_spaced_row_against_its_turns_in_the_window(turns: int, diameter: float) -> None:
    """A spaced row under a full-height sheet: block plus near field against every turn as its own square of
    the wire's area."""
    width, height = 8e-3, 20e-3
    side = diameter * math.sqrt(math.pi) / 2
    middle, pitch = 2.0e-3, height / turns
    sheet = [5e-3, 5.4e-3, 0.0, height]
    centres = (np.arange(turns) + 0.5) * pitch
    squares = [[middle - side / 2, middle + side / 2, y - side / 2, y + side / 2] for y in centres]
    flow = np.array([1.0] * turns + [-float(turns)])
    whole = planar_window(width, height, np.array([*squares, sheet]), modes=1024)
    truth = float(flow @ whole @ flow)
    block = np.array([[middle - side / 2, middle + side / 2, 0.0, height], sheet])
    coarse = np.array([turns, -float(turns)])
    plain = float(coarse @ planar_window(width, height, block) @ coarse)
    image = np.array([[2 * middle, 2 * (width - middle)]])
    linkage = row_linkage(
        np.array([[0.0]]), None, np.array([diameter / 2]), np.array([pitch]), image, np.array([[1.0, 1.0]])
    )
    near = (MU_0 / (2 * math.pi) * float(linkage[0]) + MU_0 * side / (6 * pitch)) / turns
    assert plain + near * turns**2 == pytest.approx(truth, rel=0.01)
    assert abs(plain / truth - 1) > abs((plain + near * turns**2) / truth - 1)
