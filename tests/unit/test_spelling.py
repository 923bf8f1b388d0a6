"""Numbers as people and instruments write them: what is read in one way only, and what stays refused.

Labels: unit (our own format); codes with the prefix as the point are IEC 60062's, from memory.
"""

import pytest

from aswound.compare.readings.file import parse_readings
from aswound.predict import load_design
from aswound.predict.errors import QuantityError
from aswound.predict.quantity import parse_quantity, parse_reading


@pytest.mark.parametrize(
    ("text", "dimension", "value"),
    [
        ("240 mOhm", "resistance", 0.24),
        ("240mΩ", "resistance", 0.24),
        ("800 uOhm", "resistance", 800e-6),
        ("800 µΩ", "resistance", 800e-6),
        ("1.2 kOhm", "resistance", 1200.0),
        ("1.2 kOHM", "resistance", 1200.0),
        ("1.2 MOhm", "resistance", 1.2e6),
        ("5 Ohm", "resistance", 5.0),
        ("R47", "resistance", 0.47),
        ("4R7", "resistance", 4.7),
        ("-4R7", "resistance", -4.7),
        ("4k7", "resistance", 4700.0),
        ("4K7", "resistance", 4700.0),
        ("1M5 ohm", "resistance", 1.5e6),
        ("2u2", "inductance", 2.2e-6),
        ("2u2H", "inductance", 2.2e-6),
        ("2µ2", "inductance", 2.2e-6),
        ("4n7 F", "capacitance", 4.7e-9),
        ("1 234.5 uH", "inductance", 1234.5e-6),
        ("1\u202f234,5 uH", "inductance", 1234.5e-6),
        ("1'234.5 uH", "inductance", 1234.5e-6),
        ("1,234.5 uH", "inductance", 1234.5e-6),
        ("1.234,5 uH", "inductance", 1234.5e-6),
        ("1,234,567 Hz", "frequency", 1234567.0),
        ("1.234.567 Hz", "frequency", 1234567.0),
        ("24.5 C", "temperature", 24.5),
        ("24,5 °C", "temperature", 24.5),
    ],
)
def test_readings_as_they_are_written(text: str, dimension: str, value: float) -> None:
    assert parse_reading(text, dimension, decimal_comma=True) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "dimension"),
    [
        ("1,234 uH", "inductance"),  # 1.234 or 1234?
        ("1 23.4 uH", "inductance"),
        ("1,23,456 uH", "inductance"),
        ("1,2345.6 uH", "inductance"),
        ("0,123.4 uH", "inductance"),
        ("5 MOHM", "resistance"),  # capitals throughout: milli or mega?
        ("R47", "inductance"),
        ("4R7 kohm", "resistance"),
        ("4k7", "length"),
        ("R", "resistance"),
        ("24.5 K", "temperature"),
    ],
)
def test_what_can_be_read_in_two_ways_or_none_is_refused(text: str, dimension: str) -> None:
    with pytest.raises(QuantityError):
        parse_reading(text, dimension)


def test_design_files_stay_strict_but_for_the_case_of_ohm() -> None:
    assert parse_quantity("3 kOhm", "resistance") == 3000.0
    for text in ("4k7", "R47", "1 234 ohm"):
        with pytest.raises(QuantityError):
            parse_quantity(text, "resistance")


def test_a_bare_temperature_is_in_degrees_celsius() -> None:
    design = load_design("samples/flyback-24w.toml")
    text = "sample,test,reading,temperature\nA1,R_P,562 mOhm,24.5\nA1,R_S,R012,\n"
    first, second = parse_readings(text, design)
    assert (first.temperature, first.value, second.value) == (24.5, 0.562, 0.012)
