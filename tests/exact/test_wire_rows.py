"""Rows of wires where potential theory gives the answer in closed form."""

from __future__ import annotations

import numpy as np
import pytest
from facing_rows import facing_rows

from aswound.predict.capacitance.wire_rows import (
    EPSILON_0,
    WireRow,
    row_thickness,
    strip_thickness,
    turn_to_turn,
)

PITCH = 1e-3


@pytest.mark.parametrize("height", [0.3, 1.0, 3.0])
def test_thin_bare_wires_before_a_plane(height: float) -> None:
    """C = 2πε₀/ln[sinh(2πH/p)/sinh(πa/p)]: line charges and their images (exact for a ≪ p)."""
    radius = 1e-3 * PITCH
    row = WireRow(2 * radius * (1 - 1e-9), 2 * radius, PITCH, 1.0)
    far = height * PITCH
    found = EPSILON_0 * PITCH / (row_thickness(row, far - radius) + far - radius)
    exact = 2 * np.pi * EPSILON_0 / np.log(np.sinh(2 * np.pi * height) / np.sinh(np.pi * radius / PITCH))
    assert float(found) == pytest.approx(float(exact), rel=1e-5)


def test_thin_wires_of_alternating_sign() -> None:
    """Charge 2πε₀V/ln(2p/πa) per wire, four times the capacitance to one neighbour."""
    radius = 1e-3 * PITCH
    row = WireRow(2 * radius * (1 - 1e-9), 2 * radius, PITCH, 1.0)
    exact = 2 * np.pi * EPSILON_0 / np.log(2 * PITCH / (np.pi * radius)) / 4
    assert float(turn_to_turn(row)) == pytest.approx(exact, rel=1e-5)


@pytest.mark.parametrize("permittivity", [1.0, 3.3])
def test_rows_in_register_see_a_plane_half_way(permittivity: float) -> None:
    """The plane of symmetry of two equal rows is an electrode."""
    row = WireRow(0.5e-3, 0.56e-3, 0.6e-3, 3.5)
    both = row_thickness(row, 0.2e-3, permittivity, offset=0.0)
    plane = row_thickness(row, 0.1e-3, permittivity)
    assert float(both) == pytest.approx(float(plane), rel=1e-6)


def test_displacement_does_not_matter_from_afar_and_lowers_nearby() -> None:
    """A plane electrode between the rows only ever adds; its absence fades as exp(−2πg/p)."""
    row = WireRow(0.5e-3, 0.56e-3, 0.6e-3, 3.5)
    near, far = (
        [float(facing_rows(row, gap, 1.0, offset)) for offset in (0.0, 0.5)] for gap in (0.05e-3, 3e-3)
    )
    assert near[1] < near[0]
    assert far[1] == pytest.approx(far[0], rel=1e-6)


def test_a_common_permittivity_scales_the_capacitance() -> None:
    """Enamel, sheet and filling alike ε: C is ε times that in vacuum."""
    for offset in (0.0, 0.5):
        bare = facing_rows(WireRow(0.5e-3, 0.56e-3, 0.6e-3, 1.0), 0.1e-3, 1.0, offset)
        filled = facing_rows(WireRow(0.5e-3, 0.56e-3, 0.6e-3, 3.5, 3.5), 0.1e-3, 3.5, offset)
        assert float(filled) == pytest.approx(3.5 * float(bare), rel=1e-9)
    free, full = (WireRow(0.5e-3, 0.56e-3, 0.6e-3, eps, eps) for eps in (1.0, 3.5))
    assert float(turn_to_turn(full)) == pytest.approx(3.5 * float(turn_to_turn(free)), rel=1e-9)


def test_bare_wires_in_contact_are_a_corrugated_sheet() -> None:
    """T lies between zero and that of vertical tubes, R (1 − π/4) (Dirichlet's and Thomson's principles)."""
    row = WireRow(0.5e-3 * (1 - 1e-6), 0.5e-3, 0.5e-3, 1.0)
    far = float(row_thickness(row, 5e-3))
    assert 0 < far < 0.25e-3
    assert float(row_thickness(row, 0.02e-3)) < far


def test_batches_are_their_builds() -> None:
    pitches = np.array([0.57e-3, 0.8e-3, 2e-3])
    together = row_thickness(WireRow(0.5e-3, 0.56e-3, pitches, 3.5), 0.1e-3, 3.3)
    alone = [float(row_thickness(WireRow(0.5e-3, 0.56e-3, pitch, 3.5), 0.1e-3, 3.3)) for pitch in pitches]
    np.testing.assert_allclose(together, alone, rtol=1e-12)


def test_strips_that_close_up_are_a_plane() -> None:
    assert float(strip_thickness(1e-3, 1e-3, 1e-4)) == 0.0
    assert float(strip_thickness(0.5e-3, 1e-3, 1e-6)) == pytest.approx(1e-6, rel=0.02)


def test_strips_far_apart_have_the_fringes_of_both_edges() -> None:
    """By hand: 0.5 mm every 4 mm, 0.2 mm before a plane: b = 0.5 + (4 ln 2/π) 0.2 = 0.67651 mm,
    T = 0.2 (4/b − 1) mm; 0.5 mm every 0.6 mm: the fringes fill the opening."""
    assert float(strip_thickness(0.5e-3, 4e-3, 0.2e-3)) == pytest.approx(0.98255e-3, rel=1e-4)
    assert float(strip_thickness(0.5e-3, 0.6e-3, 0.2e-3)) == 0.0


def test_other_displacements_are_refused() -> None:
    with pytest.raises(ValueError, match="offset"):
        row_thickness(WireRow(0.5e-3, 0.56e-3, 0.6e-3, 3.5), 0.1e-3, offset=0.25)
