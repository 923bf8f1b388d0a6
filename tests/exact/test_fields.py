"""Window solutions against what must hold exactly: limits, symmetries, additivity, convergence."""

from __future__ import annotations

import math

import numpy as np
import pytest

from aswound.predict.design import PotDimensions, ToroidDimensions
from aswound.predict.field import centroid_forms, outside, planar_window, round_window
from aswound.predict.field.leakage_field import interaction, window_fields
from aswound.predict.field.ring_leakage import toroid_interaction

pytestmark = pytest.mark.exact

WIDTH, HEIGHT = 8e-3, 20e-3
BLOCKS = np.array([[1e-3, 2.5e-3, 2e-3, 17e-3], [3e-3, 3.4e-3, 1e-3, 9e-3], [4e-3, 6e-3, 5e-3, 19e-3]])
FLOW = np.array([1.0, 0.5, -1.5])


def energy(matrix: np.ndarray, flow: np.ndarray = FLOW) -> float:
    return float(flow @ matrix @ flow / 2)


def out(radius: float) -> np.ndarray:
    """What turns places from a leg's surface into radii."""
    return np.array([radius, radius, 0.0, 0.0])


def test_reflection_along_the_leg() -> None:
    mirrored = BLOCKS.copy()
    mirrored[:, 2:] = HEIGHT - BLOCKS[:, [3, 2]]
    np.testing.assert_allclose(
        planar_window(WIDTH, HEIGHT, mirrored), planar_window(WIDTH, HEIGHT, BLOCKS), rtol=1e-12
    )


def test_reflection_across_the_window() -> None:
    mirrored = BLOCKS.copy()
    mirrored[:, :2] = WIDTH - BLOCKS[:, [1, 0]]
    turned = planar_window(WIDTH, HEIGHT, mirrored, leg_share=0.0)
    np.testing.assert_allclose(turned, planar_window(WIDTH, HEIGHT, BLOCKS, leg_share=1.0), rtol=1e-9)


def test_order_and_scale() -> None:
    plain = planar_window(WIDTH, HEIGHT, BLOCKS)
    order = [2, 0, 1]
    np.testing.assert_allclose(
        planar_window(WIDTH, HEIGHT, BLOCKS[order]), plain[np.ix_(order, order)], rtol=1e-12
    )
    np.testing.assert_allclose(planar_window(3 * WIDTH, 3 * HEIGHT, 3 * BLOCKS), plain, rtol=1e-12)


@pytest.mark.parametrize("axis", [0, 2])
def test_a_section_is_the_sum_of_its_halves(axis: int) -> None:
    middle = BLOCKS[0, axis : axis + 2].mean()
    low, high = BLOCKS[0].copy(), BLOCKS[0].copy()
    low[axis + 1] = high[axis] = middle
    split = np.vstack([low, high, BLOCKS[1:]])
    flow = np.array([0.5, 0.5, *FLOW[1:]])
    whole = energy(planar_window(WIDTH, HEIGHT, BLOCKS, modes=512))
    assert energy(planar_window(WIDTH, HEIGHT, split, modes=512), flow) == pytest.approx(whole, rel=1e-9)
    ring = energy(round_window(5e-3, 13e-3, HEIGHT, BLOCKS + out(5e-3), strips=64))
    parts = energy(round_window(5e-3, 13e-3, HEIGHT, split + out(5e-3), strips=64), flow)
    assert parts == pytest.approx(ring, rel=2e-4)


def test_leg_share_drops_out_for_balanced_ampere_turns() -> None:
    values = [energy(planar_window(WIDTH, HEIGHT, BLOCKS, leg_share=share)) for share in (0.0, 0.5, 1.0)]
    np.testing.assert_allclose(values, values[0], rtol=1e-10)


def test_series_converges() -> None:
    """The error against many terms falls at least with the cube of the number of terms."""
    best = energy(planar_window(WIDTH, HEIGHT, BLOCKS, modes=1024))
    errors = [abs(energy(planar_window(WIDTH, HEIGHT, BLOCKS, modes=modes)) / best - 1) for modes in (16, 64)]
    assert errors[1] < errors[0] / 16
    assert errors[1] < 2e-4


def test_strips_converge() -> None:
    """Frozen weights: the error falls with the square of the number of strips."""

    def ring(strips: int) -> float:
        return energy(round_window(5e-3, 13e-3, HEIGHT, BLOCKS + out(5e-3), strips=strips, modes=96))

    best = ring(256)
    errors = [abs(ring(strips) / best - 1) for strips in (8, 32)]
    assert errors[1] < errors[0] / 8
    assert errors[1] < 5e-4


def test_full_height_rings_are_one_dimensional() -> None:
    """Two full-height rings: L = (μ0/h) ∫ F² 2πr dr, F rising and falling linearly, gap constant."""
    inner, outer = np.array([6e-3, 7.5e-3, 0.0, HEIGHT]), np.array([8.5e-3, 11e-3, 0.0, HEIGHT])
    matrix = round_window(5e-3, 13e-3, HEIGHT, np.array([inner, outer]))
    flow = np.array([1.0, -1.0])
    # F² = (x/t)² over a ring of width t: ∫ = t (r0/3 + t/4) where it rises, t (r1/3 − t/4) where it falls.
    rises, falls = 1.5e-3 * (6e-3 / 3 + 1.5e-3 / 4), 2.5e-3 * (11e-3 / 3 - 2.5e-3 / 4)
    between = (8.5e-3**2 - 7.5e-3**2) / 2
    expected = 4e-7 * math.pi / HEIGHT * 2 * math.pi * (rises + between + falls)
    assert flow @ matrix @ flow == pytest.approx(expected, rel=1e-9)


def test_large_radius_is_planar() -> None:
    radius = 10.0
    ring = energy(round_window(radius, radius + WIDTH, HEIGHT, BLOCKS + out(radius)))
    plain = energy(planar_window(WIDTH, HEIGHT, BLOCKS))
    assert ring == pytest.approx(2 * math.pi * (radius + 3e-3) * plain, rel=1e-3)


def test_matrices_are_symmetric_and_positive_on_balanced_flow() -> None:
    basis = np.array([[1.0, -1.0, 0.0], [0.0, 1.0, -1.0]])
    free, image = outside(BLOCKS)
    energies, moments = centroid_forms(WIDTH, HEIGHT, BLOCKS)
    for matrix in (planar_window(WIDTH, HEIGHT, BLOCKS), free, free + image, energies, moments):
        np.testing.assert_allclose(matrix, matrix.T, rtol=1e-12, atol=1e-18)
        assert np.linalg.eigvalsh(basis @ matrix @ basis.T).min() > 0


def test_centroid_of_a_full_height_gap() -> None:
    """Two thin full-height sheets: the field fills the space between them evenly."""
    sheets = np.array([[2e-3, 2.01e-3, 0, HEIGHT], [6e-3, 6.01e-3, 0, HEIGHT]])
    flow = np.array([1.0, -1.0])
    form, moment = centroid_forms(WIDTH, HEIGHT, sheets)
    assert energy(moment, flow) / energy(form, flow) == pytest.approx(4.005e-3, rel=0.02)


def test_centroid_forms_hold_the_energy_of_the_window() -> None:
    """The double series' energy is the window's, but for its truncation, and reflection turns x_E round."""
    form, moment = centroid_forms(WIDTH, HEIGHT, BLOCKS)
    assert energy(form) == pytest.approx(energy(planar_window(WIDTH, HEIGHT, BLOCKS)), rel=0.01)
    mirrored = BLOCKS.copy()
    mirrored[:, :2] = WIDTH - BLOCKS[:, [1, 0]]
    turned_form, turned_moment = centroid_forms(WIDTH, HEIGHT, mirrored)
    turned = energy(turned_moment) / energy(turned_form)
    assert turned == pytest.approx(WIDTH - energy(moment) / energy(form), rel=1e-9)


def test_a_slot_more_is_two_edges_more() -> None:
    """Pots whose slots cover the same angle differ by the edges only: more inside, more energy, per edge."""

    def leak(slots: int) -> float:
        pot = PotDimensions(
            leg_diameter=10e-3,
            window_diameter=26e-3,
            outer_diameter=32e-3,
            window_height=HEIGHT,
            back=4e-3,
            slots=slots,
            slot_angle=2.4 / slots,
        )
        fields = window_fields(pot, BLOCKS[None])
        return energy(interaction(fields, FLOW[None, None])[0, 0])

    one, two, three = (leak(slots) for slots in (1, 2, 3))
    assert two - one > 0.01 * two
    assert three - two == pytest.approx(two - one, rel=1e-9)


def test_thin_shells_on_a_ring() -> None:
    """Field NI/(2πr) between two thin shells: inner and outer face plus top and bottom, in closed form."""
    ring = ToroidDimensions(30e-3, 20e-3, 10e-3)
    start, stop, thin = 0.5e-3, 1.5e-3, 1e-9
    offsets = np.array([[[start - thin, start], [stop, stop + thin]]])
    matrix = toroid_interaction(ring, offsets)[0]
    flow = np.array([1.0, -1.0])

    def weight(t: float) -> float:
        along = (10e-3 + 2 * t) * (1 / (10e-3 - t) + 1 / (15e-3 + t)) / (2 * math.pi)
        return along + math.log((15e-3 + t) / (10e-3 - t)) / math.pi

    points, weights = np.polynomial.legendre.leggauss(40)
    places = start + (stop - start) * (points + 1) / 2
    integral = sum(w * weight(float(t)) for w, t in zip(weights, places, strict=True)) * (stop - start) / 2
    assert flow @ matrix @ flow == pytest.approx(4e-7 * math.pi * integral, rel=1e-5)


@pytest.mark.parametrize("share", [1.0, 0.5, 0.0])
def test_both_directions_of_the_series(share: float) -> None:
    """The series along the leg and the one across the window are one field, unbalanced ampere-turns
    included."""
    along = planar_window(WIDTH, HEIGHT, BLOCKS, leg_share=share, modes=1024, series="along")
    across = planar_window(WIDTH, HEIGHT, BLOCKS, leg_share=share, modes=1024, series="across")
    np.testing.assert_allclose(across, along, rtol=1e-7, atol=1e-12 * np.abs(along).max())


def test_fine_structure_around_a_round_leg() -> None:
    """Flat rings: what the window's plane solution adds beyond the strips' terms is what many more terms
    give."""
    flat = np.array([[1e-3, 7e-3, y, y + 35e-6] for y in (2e-3, 2.3e-3, 12e-3)]) + out(5e-3)
    fine = round_window(5e-3, 13e-3, HEIGHT, flat, modes=4096)
    plain = round_window(5e-3, 13e-3, HEIGHT, flat, modes=128)
    for flow in (np.array([1.0, -1.0, 0.0]), np.array([1.0, 1.0, -2.0])):
        best = energy(fine, flow)
        assert energy(round_window(5e-3, 13e-3, HEIGHT, flat), flow) == pytest.approx(best, rel=1e-3)
        assert energy(plain, flow) < best * (1 - 1e-3)
