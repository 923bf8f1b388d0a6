"""IEC 60205 from dimensions against published effective parameters of single sheets."""

import pytest

from aswound.predict.cores.effective_dimensions import effective_parameters
from aswound.predict.design import (
    EDimensions,
    PotDimensions,
    RoundDimensions,
    ToroidDimensions,
)

pytestmark = pytest.mark.published

MM = 1e-3


def test_e42_21_15() -> None:
    # Ferroxcube, data sheet E42/21/15, 1 September 2008: C1 = 0.548 1/mm, le = 97.0 mm, Ae = 178 mm2,
    # Ve = 17300 mm3; mid-tolerance of 43.0 -1.7, 29.5 +1.4, 12.2 -0.5, 15.2 -0.6, 21 ±0.2, 14.8 +0.6.
    length, window, leg, depth, half_height, window_depth = 42.15, 30.2, 11.95, 14.9, 21.0, 15.1
    result = effective_parameters(
        EDimensions(
            leg_width=leg * MM,
            leg_depth=depth * MM,
            window_width=(window - leg) / 2 * MM,
            window_height=2 * window_depth * MM,
            outer_leg=(length - window) / 2 * MM,
            back=(half_height - window_depth) * MM,
            outer_depth=depth * MM,
        )
    )
    assert result.core_constant == pytest.approx(0.548e3, rel=0.005)
    assert result.effective_length == pytest.approx(97.0e-3, rel=0.005)
    assert result.effective_area == pytest.approx(178e-6, rel=0.005)
    assert result.effective_volume == pytest.approx(17300e-9, rel=0.005)


def test_e13_7_4() -> None:
    # Ferroxcube, data sheet E13/7/4 (EF12.6), 1 September 2008: C1 = 2.39 1/mm, le = 29.7 mm, Ae = 12.4 mm2,
    # Ve = 369 mm3; mid-tolerance of 12.6 +0.5/-0.4, 8.9 +0.6, 3.7 -0.3, 6.5 -0.2, 4.5 +0.3, depth 3.7 -0.3.
    result = effective_parameters(
        EDimensions(
            leg_width=3.55 * MM,
            leg_depth=3.55 * MM,
            window_width=2.825 * MM,
            window_height=9.3 * MM,
            outer_leg=1.725 * MM,
            back=1.75 * MM,
            outer_depth=3.55 * MM,
        )
    )
    assert result.core_constant == pytest.approx(2.39e3, rel=0.005)
    assert result.effective_length == pytest.approx(29.7e-3, rel=0.005)
    assert result.effective_area == pytest.approx(12.4e-6, rel=0.005)
    assert result.effective_volume == pytest.approx(369e-9, rel=0.005)


def test_etd29_16_10() -> None:
    # Ferroxcube, data sheet ETD29/16/10, 1 September 2008: C1 = 0.947 1/mm, le = 72.0 mm, Ae = 76.0 mm2;
    # mid-tolerance of 30.6 -1.6, 22 +1.4, post and depth 9.8 -0.6, 15.8 ±0.2, 11 ±0.3.
    result = effective_parameters(
        RoundDimensions(
            leg_diameter=9.5 * MM,
            window_diameter=22.7 * MM,
            length=29.8 * MM,
            depth=9.5 * MM,
            window_height=22.0 * MM,
            back=(15.8 - 11.0) * MM,
        )
    )
    assert result.core_constant == pytest.approx(0.947e3, rel=0.045)
    assert result.effective_length == pytest.approx(72.0e-3, rel=0.04)
    assert result.effective_area == pytest.approx(76.0e-6, rel=0.04)


@pytest.mark.parametrize(
    ("dimensions", "constant", "length", "area", "volume"),
    [
        # Catalogue figures of rings 36/23/15 and FT240 (61/35.55/12.7), from memory.
        ((36, 23, 15), 0.935, 89.7, 95.9, 8600),
        ((61, 35.55, 12.7), 0.92, 145, 158, 22800),
    ],
)
def test_toroids(
    dimensions: tuple[float, float, float], constant: float, length: float, area: float, volume: float
) -> None:
    outer, inner, height = (size * MM for size in dimensions)
    result = effective_parameters(ToroidDimensions(outer, inner, height))
    assert result.core_constant == pytest.approx(constant * 1e3, rel=0.005)
    assert result.effective_length == pytest.approx(length * 1e-3, rel=0.0035)
    assert result.effective_area == pytest.approx(area * 1e-6, rel=0.003)
    assert result.effective_volume == pytest.approx(volume * 1e-9, rel=0.003)


def test_pot_core_p18_11() -> None:
    # P18/11 of IEC 60133, le = 25.8 mm, Ae = 43.3 mm2, and its dimensions, all from memory.
    result = effective_parameters(
        PotDimensions(
            leg_diameter=7.45 * MM,
            window_diameter=15.15 * MM,
            outer_diameter=17.6 * MM,
            window_height=7.4 * MM,
            back=1.525 * MM,
            slots=2,
            slot_angle=0.3,
            hole_diameter=3.1 * MM,
        )
    )
    assert result.effective_length == pytest.approx(25.8e-3, rel=0.02)
    assert result.effective_area == pytest.approx(43.3e-6, rel=0.04)
