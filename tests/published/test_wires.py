"""Bare and overall diameters of round wires against published tables."""

import pytest

from aswound.predict.catalogue.lookup import awg_diameter, insulated_range, load_catalogue
from aswound.predict.catalogue.wire_builds import insulated_diameter

pytestmark = pytest.mark.published

CATALOGUE = load_catalogue()
INCH = 0.0254
MM = 1e-3


@pytest.mark.parametrize(
    ("gauge", "inches", "circular_mils"),
    [
        # Conductor table, http://electronikmade.blogspot.com/2008/08/conductor-and-insulator-tables.html
        (10, 0.1019, 10380),
        (12, 0.08081, 6530),
        (14, 0.06408, 4107),
        (16, 0.05082, 2583),
        (18, 0.04030, 1624),
        (20, 0.03196, 1022),
        (22, 0.02535, 642.5),
    ],
)
def test_awg_diameter(gauge: int, inches: float, circular_mils: float) -> None:
    diameter = awg_diameter(gauge)
    assert diameter == pytest.approx(inches * INCH, rel=1e-3)
    assert (diameter / INCH * 1000) ** 2 == pytest.approx(circular_mils, rel=1e-3)


@pytest.mark.parametrize(
    ("gauge", "ohm_per_1000_feet"),
    # National Bureau of Standards, Handbook 100, Copper Wire Tables, at 20 °C: from memory.
    [(10, 0.9989), (18, 6.385), (20, 10.15), (24, 25.67), (28, 64.90), (30, 103.2), (36, 414.8), (40, 1049)],
)
def test_awg_resistance(gauge: int, ohm_per_1000_feet: float) -> None:
    # 100 % IACS: 1/58 ohm mm2/m.
    area = 3.141592653589793 / 4 * awg_diameter(gauge) ** 2
    assert 1e-6 / 58 * 304.8 / area == pytest.approx(ohm_per_1000_feet, rel=1e-3)


def test_overall_diameter_0_100() -> None:
    # "a 0.100 G1 wire ... has an effective outer diameter of 0.108 mm to 0.117 mm",
    # https://enameled-wires.com/Technical-Documentation/341.html
    minimum, maximum = insulated_range(CATALOGUE, 0.1 * MM, 1)
    assert minimum == pytest.approx(0.108 * MM, abs=1e-9)
    assert maximum == pytest.approx(0.117 * MM, abs=1e-9)
    assert insulated_diameter(CATALOGUE, 0.1 * MM, 1) == pytest.approx(0.1125 * MM, abs=1e-9)


# Least increase and greatest overall diameter (mm) for grades 1, 2, 3.
IS_13730 = [
    # "Quality Chart", https://www.scribd.com/document/694885707/Quality-Chart-1, on the basis of IS 13730-0-1
    # (identical with IEC 60317-0-1): rows of the standard's table.
    (0.071, (0.007, 0.084), (0.012, 0.091), (0.018, 0.097)),
    (0.090, (0.008, 0.105), (0.015, 0.113), (0.022, 0.120)),
    (0.100, (0.008, 0.117), (0.016, 0.125), (0.023, 0.132)),
    (0.112, (0.009, 0.130), (0.017, 0.139), (0.026, 0.147)),
    (0.125, (0.010, 0.144), (0.019, 0.154), (0.028, 0.163)),
    (0.140, (0.011, 0.160), (0.021, 0.171), (0.030, 0.181)),
    (0.160, (0.012, 0.182), (0.023, 0.194), (0.033, 0.205)),
    # "Diameters and increase ... (SWG sizes)", http://www.avanticables.com/avanti-conductor/diameter-swg.html,
    # same basis: a row of the table, and diameters in between with the increases of the next larger size.
    (0.315, (0.019, 0.349), (0.035, 0.367), (0.053, 0.384)),
    (0.173, (0.013, 0.197), (0.025, 0.210), (0.036, 0.222)),
    (0.193, (0.014, 0.219), (0.027, 0.232), (0.039, 0.245)),
    (0.213, (0.015, 0.241), (0.029, 0.255), (0.043, 0.269)),
    (0.234, (0.017, 0.265), (0.032, 0.281), (0.048, 0.296)),
    (0.254, (0.018, 0.286), (0.033, 0.303), (0.050, 0.319)),
    (0.274, (0.018, 0.306), (0.033, 0.323), (0.050, 0.339)),  # printed 0.232 for 0.323: a slip of digits
    (0.345, (0.020, 0.382), (0.038, 0.401), (0.057, 0.418)),
    (0.417, (0.022, 0.458), (0.042, 0.480), (0.064, 0.500)),
    (0.457, (0.024, 0.501), (0.045, 0.523), (0.067, 0.544)),
    (0.508, (0.025, 0.554), (0.047, 0.578), (0.071, 0.601)),
    (0.559, (0.025, 0.605), (0.047, 0.629), (0.071, 0.652)),
    (0.610, (0.027, 0.659), (0.050, 0.684), (0.075, 0.708)),
    (0.711, (0.030, 0.766), (0.056, 0.795), (0.085, 0.822)),
    (0.813, (0.032, 0.872), (0.060, 0.902), (0.090, 0.931)),
    (0.914, (0.034, 0.976), (0.063, 1.008), (0.095, 1.038)),
    (1.016, (0.034, 1.080), (0.065, 1.113), (0.098, 1.144)),
    (1.219, (0.035, 1.285), (0.067, 1.318), (0.100, 1.350)),
    (1.422, (0.038, 1.492), (0.071, 1.528), (0.107, 1.562)),
    (1.626, (0.039, 1.698), (0.073, 1.735), (0.110, 1.770)),
    (1.829, (0.040, 1.903), (0.075, 1.941), (0.113, 1.977)),
    (2.337, (0.042, 2.415), (0.079, 2.455), (0.119, 2.493)),
    (2.946, (0.045, 3.029), (0.084, 3.072), (0.127, 3.112)),
]


@pytest.mark.parametrize("row", IS_13730, ids=lambda row: f"{row[0]:.3f} mm")
def test_overall_diameters(
    row: tuple[float, tuple[float, float], tuple[float, float], tuple[float, float]],
) -> None:
    diameter, *grades = row
    for grade, (increase, printed_maximum) in enumerate(grades, start=1):
        minimum, maximum = insulated_range(CATALOGUE, diameter * MM, grade)
        assert minimum == pytest.approx((diameter + increase) * MM, abs=1e-9)
        # Printed to 1 µm, from unrounded conductor diameters.
        assert maximum == pytest.approx(printed_maximum * MM, abs=1.01e-6)


@pytest.mark.parametrize(
    ("diameter", "grade_1", "grade_2"),
    # IEC 60317-0-1, Table 1, greatest overall diameters: from memory.
    [
        (0.2, 0.226, 0.239),
        (0.25, 0.281, 0.297),
        (0.4, 0.439, 0.459),
        (0.5, 0.544, 0.566),
        (1.0, 1.062, 1.094),
    ],
)
def test_greatest_overall_diameters(diameter: float, grade_1: float, grade_2: float) -> None:
    assert insulated_range(CATALOGUE, diameter * MM, 1)[1] == pytest.approx(grade_1 * MM, abs=1e-9)
    assert insulated_range(CATALOGUE, diameter * MM, 2)[1] == pytest.approx(grade_2 * MM, abs=1e-9)
