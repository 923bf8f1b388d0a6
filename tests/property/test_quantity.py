"""Laws of reading and writing quantities, over texts and numbers that nobody chose."""

import math
import re
from decimal import Decimal

import pytest
from how_many import examples
from hypothesis import given, settings
from hypothesis import strategies as st

from aswound.predict.errors import QuantityError
from aswound.predict.quantity import (
    format_percent,
    format_quantity,
    format_range,
    format_uncertain,
    parse_quantity,
    parse_reading,
    parse_relative,
    split_uncertainty,
)

pytestmark = pytest.mark.property

DIMENSIONS = [
    "length",
    "inductance",
    "inductance_factor",
    "resistance",
    "capacitance",
    "frequency",
    "temperature",
    "temperature_difference",
    "voltage",
    "current",
    "angle",
    "number",
]
SCALES = {  # unit: (dimension, power of ten of the SI unit): the meaning of the prefixes, independent of pint
    "cm": ("length", -2),
    "mm": ("length", -3),
    "um": ("length", -6),
    "nm": ("length", -9),
    "H": ("inductance", 0),
    "mH": ("inductance", -3),
    "uH": ("inductance", -6),
    "nH": ("inductance", -9),
    "pH": ("inductance", -12),
    "uohm": ("resistance", -6),
    "mohm": ("resistance", -3),
    "kohm": ("resistance", 3),
    "Mohm": ("resistance", 6),
    "pF": ("capacitance", -12),
    "kHz": ("frequency", 3),
    "MHz": ("frequency", 6),
    "mV": ("voltage", -3),
    "uA": ("current", -6),
}
DISPLAY = {"H": "inductance", "ohm": "resistance", "F": "capacitance", "Hz": "frequency", "m": "length"}
DISPLAY |= {"V": "voltage", "A": "current", "K": "temperature_difference", "1": "number"}

numbers = st.decimals(min_value=-999, max_value=999, places=6, allow_nan=False)
sizes = st.floats(min_value=1e-13, max_value=900.0) | st.floats(min_value=-900.0, max_value=-1e-13)
small = sizes.map(lambda size: size / 1e4)
texts = st.text() | st.from_regex(
    r"[+-]?[0-9.,eE' ]{0,8} ?[µμuUmMkKnNpPGTfF]?[HhΩmFVAzjiK%°C-]{0,3}", fullmatch=True
)


@given(numbers, st.sampled_from(sorted(SCALES)))
def test_reading_is_the_float_nearest_to_the_decimal(number, unit):
    dimension, power = SCALES[unit]
    value = number.scaleb(power)
    if 0 < abs(value) < Decimal("1e-30"):
        return
    assert parse_quantity(f"{number:f} {unit}", dimension) == float(value)


@given(numbers, st.sampled_from(["uH", "um", "uohm", "uA"]))
def test_all_spellings_of_micro_and_ohm_are_one_unit(number, unit):
    dimension = {"uH": "inductance", "um": "length", "uohm": "resistance", "uA": "current"}[unit]
    value = parse_quantity(f"{number:f} {unit}", dimension)
    for micro in "\u00b5\u03bc":
        for ohm in ("ohm", "\u03a9", "\u2126"):
            spelled = micro + unit[1:].replace("ohm", ohm)
            assert parse_quantity(f"{number:f}{spelled}", dimension) == value


@settings(max_examples=examples(100))
@given(
    texts,
    st.sampled_from(DIMENSIONS),
    st.sampled_from([None, "1", "H", "uH", "ohm", "deg", "x"]),
    st.booleans(),
)
def test_any_text_is_either_a_finite_number_or_one_fault(text, dimension, unit, comma):
    calls = (
        lambda: parse_quantity(text, dimension),
        lambda: parse_reading(text, dimension, unit=unit, decimal_comma=comma),
        lambda: split_uncertainty(text, dimension, unit=unit, decimal_comma=comma)[0],
        lambda: parse_relative(text),
    )
    for call in calls:
        try:
            value = call()
        except QuantityError as error:
            (fault,) = error.faults
            assert fault.place == ""
            assert fault.found
            assert fault.allowed
            assert fault.hint
        else:
            assert value is None or math.isfinite(abs(value))


@given(texts, st.sampled_from(DIMENSIONS))
def test_a_design_value_reads_the_same_in_a_readings_file(text, dimension):
    try:
        value = parse_quantity(text, dimension)
    except QuantityError:
        return
    assert parse_reading(text, dimension) == value


@given(numbers, numbers)
def test_an_impedance_reads_as_its_two_parts(real, imaginary):
    text = f"{real:f} {'-' if imaginary < 0 else '+'} {abs(imaginary):f}j ohm"
    assert parse_reading(text, "inductance") == complex(float(real), float(imaginary))


@given(sizes, st.sampled_from(sorted(DISPLAY)), st.integers(2, 12), st.booleans())
def test_what_is_written_reads_back_within_half_a_digit(value, unit, digits, ascii):
    text = format_quantity(value, unit, digits, ascii=ascii)
    again = parse_quantity(text, DISPLAY[unit])
    assert again == pytest.approx(value, rel=0.5000001 * 10.0 ** (1 - digits))


@given(st.floats(1e-12, 9e8), st.sampled_from(["H", "ohm", "F", "V"]), st.integers(3, 8))
def test_the_number_shown_lies_between_1_and_1000_where_a_prefix_exists(value, unit, digits):
    shown = format_quantity(value, unit, digits).split()[0]
    highest = {"H": 0, "ohm": 9, "F": 0, "V": 3}[unit]
    lowest = {"H": -12, "ohm": -6, "F": -15, "V": -6}[unit]
    if 10.0**lowest <= value < 999 * 10.0**highest:
        assert 1 <= float(shown) < 1000
        assert len(re.sub(r"\D", "", shown)) == digits


@given(st.floats(-math.pi, math.pi), st.integers(2, 9), st.booleans())
def test_angles_are_shown_to_a_fixed_decimal_of_a_degree(value, digits, ascii):
    again = parse_quantity(format_quantity(value, "rad", digits, ascii=ascii), "angle")
    assert abs(math.degrees(again) - math.degrees(value)) <= 0.5000001 * 10.0 ** (1 - digits) + 1e-12


@given(small, st.floats(1e-6, 1e3), st.sampled_from(["H", "ohm", "m", "1", "Hz"]))
def test_value_and_uncertainty_end_at_the_same_place(value, ratio, unit):
    uncertainty = ratio * abs(value)
    text = format_uncertain(value, uncertainty, unit)
    shown, _, rest = text.partition(" ± ")
    width, _, symbol = rest.partition(" ")
    assert len(shown.partition(".")[2]) == len(width.partition(".")[2])
    expanded = parse_quantity(f"{width} {symbol}", DISPLAY[unit])
    assert expanded == pytest.approx(2 * uncertainty, rel=0.0501)
    last_place = 10.0 ** math.floor(math.log10(expanded * 1.0000001) - 1)
    assert abs(parse_quantity(f"{shown} {symbol}", DISPLAY[unit]) - value) <= 0.5000001 * last_place


@given(small, st.floats(1e-6, 10.0), st.sampled_from(["H", "ohm", "m", "1"]))
def test_the_ends_of_a_range_stay_apart_and_near(low, width, unit):
    high = low + width * abs(low)
    text = format_range(low, high, unit)
    first, _, rest = text.partition(" … ")
    last, _, symbol = rest.partition(" ")
    ends = [parse_quantity(f"{end} {symbol}", DISPLAY[unit]) for end in (first, last)]
    assert ends[0] < ends[1]
    assert len(first.partition(".")[2]) == len(last.partition(".")[2])
    assert ends == pytest.approx([low, high], abs=0.0501 * (high - low) + 1e-12 * max(abs(low), abs(high)))


@given(st.floats(-100, 100), st.integers(0, 6))
def test_percent_reads_back(relative, digits):
    text = format_percent(relative, digits, signed=True)
    assert parse_relative(text) == pytest.approx(relative, abs=0.5000001 * 10.0 ** (-digits - 2))
    assert not re.fullmatch(r"[+-]0(\.0+)? %", text)
