"""Limits and identities that IEC 60205's definitions obey exactly."""

import dataclasses
import math

import numpy as np
import pytest

from aswound.predict.cores.effective_dimensions import effective_parameters
from aswound.predict.design import (
    Dimensions,
    EDimensions,
    PotDimensions,
    RoundDimensions,
    ToroidDimensions,
    UDimensions,
)
from aswound.predict.forms.round_outline import (
    notched_angle,
    outer_leg_angle,
    outer_leg_area,
    plate_cover,
    plate_reach,
)

pytestmark = pytest.mark.exact

EXAMPLES: list[Dimensions] = [
    EDimensions(
        leg_width=0.012,
        leg_depth=0.015,
        window_width=0.009,
        window_height=0.03,
        outer_leg=0.006,
        back=0.006,
        outer_depth=0.015,
    ),
    RoundDimensions(
        leg_diameter=0.012,
        window_diameter=0.0225,
        length=0.0265,
        depth=0.019,
        window_height=0.0161,
        back=0.0043,
    ),
    RoundDimensions(
        leg_diameter=0.0084,
        window_diameter=0.0173,
        length=0.02275,
        depth=0.0143,
        window_height=0.011,
        back=0.0027,
        flats=0.0193,
        waist=0.01075,
    ),
    RoundDimensions(
        leg_diameter=0.00435,
        window_diameter=0.01,
        length=0.0125,
        depth=0.0088,
        window_height=0.0092,
        back=0.0018,
        front=0.0024,
        hole_diameter=0.001,
    ),
    RoundDimensions(
        leg_diameter=0.012,
        window_diameter=0.0225,
        length=0.0265,
        depth=0.019,
        window_height=0.0161,
        back=0.0043,
        opening=0.0158,
    ),
    RoundDimensions(
        leg_diameter=0.012,
        window_diameter=0.0225,
        length=0.0265,
        depth=0.019,
        window_height=0.0161,
        back=0.0043,
        opening=0.0158,
        notch=0.006,
    ),
    EDimensions(
        leg_width=0.004,
        leg_depth=0.01,
        window_width=0.005,
        window_height=0.004,
        outer_leg=0.002,
        back=0.002,
        outer_depth=0.01,
        leg_corner=0.0008,
        outer_corner=0.0008,
    ),
    PotDimensions(
        leg_diameter=0.0074,
        window_diameter=0.0151,
        outer_diameter=0.0176,
        window_height=0.0074,
        back=0.0015,
        slots=2,
        slot_angle=0.3,
        hole_diameter=0.003,
    ),
    UDimensions(0.01, 0.012, 0.02, 0.03, 0.01),
    ToroidDimensions(0.036, 0.023, 0.015),
]


@pytest.mark.parametrize("dimensions", EXAMPLES, ids=lambda value: type(value).__name__)
def test_definitions_and_scaling(dimensions: Dimensions) -> None:
    one = effective_parameters(dimensions)
    assert one.core_constant == pytest.approx(one.effective_length / one.effective_area, rel=1e-12)
    assert one.effective_volume == pytest.approx(one.effective_length * one.effective_area, rel=1e-12)
    pure_numbers = {"slots", "slot_angle"}
    doubled = {key: value * 2 for key, value in vars(dimensions).items() if key not in pure_numbers}
    two = effective_parameters(dataclasses.replace(dimensions, **doubled))
    assert two.core_constant == pytest.approx(one.core_constant / 2, rel=1e-12)
    assert two.effective_area == pytest.approx(one.effective_area * 4, rel=1e-12)
    assert two.effective_length == pytest.approx(one.effective_length * 2, rel=1e-12)


def test_u_core_of_constant_section() -> None:
    # Legs and yokes of one section: Ae is that section and le the line of mean corners.
    width, depth, window_width, window_height = 0.01, 0.013, 0.02, 0.03
    result = effective_parameters(UDimensions(width, depth, window_width, window_height, width))
    assert result.effective_area == pytest.approx(width * depth, rel=1e-12)
    mean_line = 2 * (window_width + window_height) + math.pi * width
    assert result.effective_length == pytest.approx(mean_line, rel=1e-12)


def test_e_core_of_constant_section() -> None:
    leg, depth, window_width, window_height = 0.012, 0.015, 0.009, 0.03
    result = effective_parameters(
        EDimensions(
            leg_width=leg,
            leg_depth=depth,
            window_width=window_width,
            window_height=window_height,
            outer_leg=leg / 2,
            back=leg / 2,
            outer_depth=depth,
        )
    )
    assert result.effective_area == pytest.approx(leg * depth, rel=1e-12)
    mean_line = 2 * (window_width + window_height) + math.pi * leg / 2
    assert result.effective_length == pytest.approx(mean_line, rel=1e-12)


def test_thin_ring_is_a_rod() -> None:
    # As the wall thins, le → π × mean diameter and Ae → wall × height, with an error of second order.
    result = effective_parameters(ToroidDimensions(0.0301, 0.0299, 0.01))
    assert result.effective_length == pytest.approx(math.pi * 0.03, rel=1e-5)
    assert result.effective_area == pytest.approx(0.0001 * 0.01, rel=1e-5)


def test_outer_leg_area_of_a_full_frame() -> None:
    # Legs as deep as the window: rectangle less circle, half of it each.
    core = RoundDimensions(
        leg_diameter=0.012, window_diameter=0.02, length=0.03, depth=0.02, window_height=0.016, back=0.004
    )
    assert outer_leg_area(core) == pytest.approx((0.03 * 0.02 - math.pi * 0.01**2) / 2, rel=1e-12)


def test_oval_leg_loses_its_corners() -> None:
    # leg_corner of half the width: the leg's section is a stadium; all other sections are made negligible.
    square = EDimensions(
        leg_width=0.01,
        leg_depth=0.02,
        window_width=0.005,
        window_height=1e3,
        outer_leg=1e3,
        back=1e3,
        outer_depth=0.02,
    )
    oval = dataclasses.replace(square, leg_corner=0.005)
    ratio = effective_parameters(oval).core_constant / effective_parameters(square).core_constant
    stadium = 0.01 * 0.01 + math.pi * 0.005**2
    assert ratio == pytest.approx(0.01 * 0.02 / stadium, rel=1e-4)


@pytest.mark.parametrize(
    "core",
    [
        RoundDimensions(
            leg_diameter=0.012,
            window_diameter=0.0225,
            length=0.0265,
            depth=0.019,
            window_height=0.0161,
            back=0.0043,
        ),
        RoundDimensions(
            leg_diameter=0.012,
            window_diameter=0.0225,
            length=0.0265,
            depth=0.019,
            window_height=0.0161,
            back=0.0043,
            opening=0.0158,
        ),
        RoundDimensions(
            leg_diameter=0.0084,
            window_diameter=0.0173,
            length=0.02275,
            depth=0.0143,
            window_height=0.011,
            back=0.0027,
            flats=0.0193,
            waist=0.01075,
        ),
        RoundDimensions(
            leg_diameter=0.00435,
            window_diameter=0.01,
            length=0.0125,
            depth=0.0088,
            window_height=0.0092,
            back=0.0018,
            front=0.0024,
        ),
    ],
    ids=["PQ", "PQ with cut tips", "RM", "EP"],
)
def test_outer_leg_area_by_counting(core: RoundDimensions) -> None:
    # The outlines of the module's docstring, counted on a grid of a thousandth of the core.
    step = 2e-5
    x, y = np.meshgrid(np.arange(-0.02, 0.02, step) + step / 2, np.arange(-0.02, 0.02, step) + step / 2)
    inside = (np.abs(x) <= core.length / 2) & (np.hypot(x, y) > core.window_diameter / 2)
    if core.front:  # open towards +y: the front lies at y = front, the back at front - depth
        inside &= (y <= core.front) & (y >= core.front - core.depth)
        inside &= ~((np.abs(x) < core.window_diameter / 2) & (y > 0))
    elif core.flats:
        inside &= np.abs(x) + np.abs(y) <= core.flats / math.sqrt(2)
        inside &= np.arctan2(np.abs(y), np.abs(x)) <= outer_leg_angle(core)
    else:
        inside &= (np.abs(y) <= core.depth / 2) & (np.abs(x) >= core.opening / 2)
        inside &= np.abs(x) >= core.window_diameter / 2 * math.cos(outer_leg_angle(core))
    assert 2 * outer_leg_area(core) == pytest.approx(np.sum(inside) * step**2, rel=0.005)


def test_plate_reaches_its_outline() -> None:
    # At the leg's edge as far as the tip, in the middle of the opening as far as half the waist or the front.
    rm = RoundDimensions(
        leg_diameter=0.0084,
        window_diameter=0.0173,
        length=0.02275,
        depth=0.0143,
        window_height=0.011,
        back=0.0027,
        flats=0.0193,
        waist=0.01075,
    )
    ep = RoundDimensions(
        leg_diameter=0.00435,
        window_diameter=0.01,
        length=0.0125,
        depth=0.0088,
        window_height=0.0092,
        back=0.0018,
        front=0.0024,
    )
    ends = np.array([0.0, 1.0])
    assert plate_reach(rm, ends) == pytest.approx([0.0173 / 2, 0.01075 / 2], rel=1e-12)
    assert plate_reach(ep, ends) == pytest.approx([0.005, 0.0024], rel=1e-12)
    assert outer_leg_angle(ep) == pytest.approx((math.pi / 2 + math.asin(0.48)) / 2, rel=1e-12)


def test_notched_plate_has_the_area_of_its_outline() -> None:
    # Between post and window's rim, one quadrant: sector to the leg's tip, triangle under the notch's edge,
    # less the post's sector: (β E² + J L' … )/8 by the shoelace rule. All directions: 4 ∫ r φ(r) dr.
    core = RoundDimensions(
        leg_diameter=0.012,
        window_diameter=0.0225,
        length=0.0265,
        depth=0.019,
        window_height=0.0161,
        back=0.0043,
        opening=0.0158,
        notch=0.006,
    )
    post, rim = 0.006, 0.01125
    inner, outer = math.acos(0.003 / post), math.acos(0.0079 / rim)
    start, end = (0.003, post * math.sin(inner)), (0.0079, rim * math.sin(outer))
    triangle = (end[0] * start[1] - start[0] * end[1]) / 2
    quadrant = rim**2 * outer / 2 + triangle - post**2 * inner / 2
    radii = np.linspace(post, rim, 4001)
    arcs = np.array([radius * notched_angle(core, radius) for radius in radii])
    assert np.sum((arcs[1:] + arcs[:-1]) / 2 * np.diff(radii)) == pytest.approx(quadrant, rel=1e-6)
    assert plate_reach(core, np.array([0.0, 1.0])) == pytest.approx([rim, post], rel=1e-12)
    assert plate_cover(core, 0.009) == pytest.approx(notched_angle(core, 0.009) / (math.pi / 2), rel=0.003)


@pytest.mark.parametrize(
    ("core", "radius", "covered"),
    [
        (
            RoundDimensions(
                leg_diameter=0.012,
                window_diameter=0.0225,
                length=0.0265,
                depth=0.019,
                window_height=0.0161,
                back=0.0043,
            ),
            0.0095 / math.sin(1.0),
            1.0,
        ),
        (
            RoundDimensions(
                leg_diameter=0.00435,
                window_diameter=0.01,
                length=0.0125,
                depth=0.0088,
                window_height=0.0092,
                back=0.0018,
                front=0.0024,
            ),
            0.002,
            math.pi / 2,
        ),
        (
            RoundDimensions(
                leg_diameter=0.00435,
                window_diameter=0.01,
                length=0.0125,
                depth=0.0088,
                window_height=0.0092,
                back=0.0018,
                front=0.0024,
            ),
            0.004,
            (math.pi + 2 * math.asin(0.6)) / 4,
        ),
    ],
    ids=["plain", "EP within the front", "EP"],
)
def test_plate_covers_the_arc_of_its_outline(core: RoundDimensions, radius: float, covered: float) -> None:
    assert plate_cover(core, radius) * math.pi / 2 == pytest.approx(covered, rel=0.003)


def test_rounded_outer_legs_lose_their_corners() -> None:
    # All sections but the outer legs are made negligible.
    square = EDimensions(
        leg_width=1e3,
        leg_depth=0.02,
        window_width=1e-6,
        window_height=10.0,
        outer_leg=0.01,
        back=1e3,
        outer_depth=0.02,
    )
    rounded = dataclasses.replace(square, outer_corner=0.005)
    ratio = effective_parameters(rounded).core_constant / effective_parameters(square).core_constant
    assert ratio == pytest.approx(0.01 * 0.02 / (0.01 * 0.01 + math.pi * 0.005**2), rel=1e-3)
