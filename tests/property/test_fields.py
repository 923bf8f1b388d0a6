"""Laws of the window solutions and of the leakage model for generated sections."""

from __future__ import annotations

import numpy as np
import pytest
from how_many import examples
from hypothesis import given, settings
from hypothesis import strategies as st

from aswound.predict.design import EDimensions, FloatArray, PotDimensions, RoundDimensions
from aswound.predict.errors import BuildError
from aswound.predict.field import centroid_forms, outside, planar_window, round_window
from aswound.predict.field.leakage_field import interaction, window_fields

pytestmark = pytest.mark.property

WIDTH, HEIGHT, RADIUS = 8e-3, 20e-3, 5e-3
TO_RADII = RADIUS * np.array([1.0, 1.0, 0.0, 0.0])
CORES = (
    EDimensions(
        leg_width=10e-3,
        leg_depth=14e-3,
        window_width=WIDTH,
        window_height=HEIGHT,
        outer_leg=5e-3,
        back=5e-3,
        outer_depth=14e-3,
    ),
    RoundDimensions(
        leg_diameter=2 * RADIUS,
        window_diameter=2 * (RADIUS + WIDTH),
        length=36e-3,
        depth=12e-3,
        window_height=HEIGHT,
        back=5e-3,
    ),
    PotDimensions(
        leg_diameter=2 * RADIUS,
        window_diameter=2 * (RADIUS + WIDTH),
        outer_diameter=32e-3,
        window_height=HEIGHT,
        back=5e-3,
        slot_angle=0.6,
    ),
)


@st.composite
def interval(draw: st.DrawFn, length: float, least: float) -> tuple[float, float]:
    """A part of [0, length] at least ``least`` (relative) wide, its ends on a fine grid."""
    width = draw(st.integers(max(1, round(400 * least)), 400))
    start = draw(st.integers(0, 400 - width))
    return start / 400 * length, (start + width) / 400 * length


@st.composite
def builds(draw: st.DrawFn) -> FloatArray:
    """Sections (2, n, 4) anywhere in the window, overlapping or not, in two builds."""
    count = draw(st.integers(2, 4))
    section = st.tuples(interval(WIDTH, 0.01), interval(HEIGHT, 0.05))
    both = [[draw(section) for _ in range(count)] for _ in range(2)]
    return np.array([[[*across, *along] for across, along in build] for build in both])


def balanced(count: int) -> FloatArray:
    """A basis (n − 1, n) of the ampere-turns that sum to zero."""
    return np.eye(count - 1, count) - np.eye(count - 1, count, 1)


def assert_passive(matrix: FloatArray) -> None:
    """Symmetric, and no ampere-turns that sum to zero have negative energy; (..., n, n)."""
    size = np.abs(matrix).max()
    np.testing.assert_allclose(matrix, matrix.swapaxes(-1, -2), rtol=1e-12, atol=1e-14 * size)
    basis = balanced(matrix.shape[-1])
    assert np.linalg.eigvalsh(basis @ matrix @ basis.T).min() >= -1e-9 * size


@settings(max_examples=examples(25), deadline=None)
@given(builds())
def test_matrices_are_symmetric_and_passive(sections: FloatArray) -> None:
    free, image = outside(sections)
    energy, moment = centroid_forms(WIDTH, HEIGHT, sections)
    ring = round_window(RADIUS, RADIUS + WIDTH, HEIGHT, sections + TO_RADII)
    for matrix in (planar_window(WIDTH, HEIGHT, sections), ring, free, free + image, energy, moment):
        assert_passive(matrix)


@settings(max_examples=examples(25), deadline=None)
@given(builds())
def test_a_batch_is_a_loop(sections: FloatArray) -> None:
    width, height = WIDTH * np.array([1.0, 1.2]), HEIGHT * np.array([1.0, 1.1])
    share = np.array([1.0, 0.5])
    together = (
        planar_window(width, height, sections, leg_share=share, modes=64),
        round_window(RADIUS, RADIUS + width, height, sections + TO_RADII, leg_share=share, modes=64),
        *outside(sections),
        *centroid_forms(width, height, sections),
    )
    for place, own in enumerate(sections):
        w, h, s = width[place], height[place], share[place]
        alone = (
            planar_window(w, h, own, leg_share=s, modes=64),
            round_window(RADIUS, RADIUS + w, h, own + TO_RADII, leg_share=s, modes=64),
            *outside(own),
            *centroid_forms(w, h, own),
        )
        for batch, single in zip(together, alone, strict=True):
            np.testing.assert_allclose(batch[place], single, rtol=1e-10, atol=1e-12 * np.abs(single).max())


@settings(max_examples=examples(20), deadline=None)
@given(builds(), st.sampled_from(CORES), st.integers(0, 2))
def test_whole_turns_are_symmetric_and_passive(
    sections: FloatArray, core: EDimensions | RoundDimensions | PotDimensions, against: int
) -> None:
    """One section against the rest: the whole matrix, and the same energy whatever build is beside it."""
    count = sections.shape[1]
    flow = np.full(count, -1.0 / (count - 1))
    flow[against % count] = 1.0
    every = np.broadcast_to(flow, (2, 1, count))
    together = interaction(window_fields(core, sections), every)
    assert_passive(together)
    alone = interaction(window_fields(core, sections[:1]), every[:1])
    # Not exact: one count of terms serves a whole call.
    np.testing.assert_allclose(flow @ together[0, 0] @ flow, flow @ alone[0, 0] @ flow, rtol=2e-3)


@settings(max_examples=examples(20), deadline=None)
@given(builds(), st.integers(0, 3), st.floats(1e-6, 1e-3))
def test_a_section_beyond_a_wall_is_named(sections: FloatArray, wall: int, amount: float) -> None:
    places = sections.copy()
    edge = (-amount, WIDTH + amount, -amount, HEIGHT + amount)[wall]
    places[1, -1, wall] = edge
    with pytest.raises(BuildError, match=f"section {sections.shape[1]}"):
        planar_window(WIDTH, HEIGHT, places)
    with pytest.raises(BuildError, match=f"section {sections.shape[1]}"):
        round_window(RADIUS, RADIUS + WIDTH, HEIGHT, places + TO_RADII)
