"""Text to SI numbers and back: what is accepted, what is refused and with which cure, what is shown."""

import math
import subprocess
import sys
from decimal import Decimal

import pytest

from aswound.predict.errors import QuantityError
from aswound.predict.quantity import (
    format_change,
    format_percent,
    format_quantity,
    format_range,
    format_sides,
    format_uncertain,
    parse_count,
    parse_quantity,
    parse_reading,
    parse_relative,
    split_uncertainty,
    uneven,
    units,
)

# --- one value of a design file --------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "dimension", "value"),
    [
        ("0.35 mm", "length", 0.35e-3),
        ("0.35mm", "length", 0.35e-3),
        ("  0.35  mm ", "length", 0.35e-3),
        ("0.35\u00a0mm", "length", 0.35e-3),
        ("+3e-6 m", "length", 3e-6),
        (".5 cm", "length", 0.5e-2),
        ("3 um", "length", 3e-6),
        ("3 \u00b5m", "length", 3e-6),
        ("3 \u03bcm", "length", 3e-6),
        ("250 nm", "length", 250e-9),
        ("12 mil", "length", 304.8e-6),
        ("1 in", "length", 25.4e-3),
        ("-0.5 mm", "length", -0.5e-3),
        ("160 nH", "inductance", 160e-9),
        ("2 H", "inductance", 2.0),
        ("1.5 mH", "inductance", 1.5e-3),
        ("7 pH", "inductance", 7e-12),
        ("480 nH", "inductance_factor", 480e-9),
        ("0.24 ohm", "resistance", 0.24),
        ("2 mohm", "resistance", 2e-3),
        ("2 Mohm", "resistance", 2e6),
        ("4 k\u03a9", "resistance", 4e3),
        ("4 m\u2126", "resistance", 4e-3),
        ("4 \u03bc\u03a9", "resistance", 4e-6),
        ("1 Gohm", "resistance", 1e9),
        ("47 pF", "capacitance", 47e-12),
        ("5 fF", "capacitance", 5e-15),
        ("10 uF", "capacitance", 10e-6),
        ("100 kHz", "frequency", 100e3),
        ("50 Hz", "frequency", 50.0),
        ("1.2 GHz", "frequency", 1.2e9),
        ("85 degC", "temperature", 85.0),
        ("-40 °C", "temperature", -40.0),
        ("5 K", "temperature_difference", 5.0),
        ("20 mK", "temperature_difference", 20e-3),
        ("1 V", "voltage", 1.0),
        ("250 mV", "voltage", 0.25),
        ("20 mA", "current", 20e-3),
        ("180 deg", "angle", math.pi),
        ("90°", "angle", math.pi / 2),
        ("0.5 rad", "angle", 0.5),
        ("2 mrad", "angle", 2e-3),
        ("5.99", "number", 5.99),
        (2300, "number", 2300.0),
        (3.3, "number", 3.3),
        ("0 mm", "length", 0.0),
        ("0e-999 mm", "length", 0.0),
    ],
)
def test_accepted_texts_give_the_nearest_float(text, dimension, value):
    assert parse_quantity(text, dimension) == value


@pytest.mark.parametrize(
    ("text", "dimension", "hint"),
    [
        ("1 Mm", "length", 'Did you mean "mm"?'),
        ("1 MM", "length", 'Did you mean "mm"?'),
        ("100 khz", "frequency", 'Did you mean "kHz"?'),
        ("100 mhz", "frequency", 'Did you mean "MHz"?'),
        ("5 uh", "inductance", 'Did you mean "uH"?'),
        ("480 NH", "inductance_factor", 'Did you mean "nH"?'),
        ("1 MOHM", "resistance", 'Did you mean "mohm" or "Mohm"?'),
        ("5 ohms", "resistance", 'Did you mean "ohm"?'),
        ("85 C", "temperature", 'Did you mean "degC"?'),
        ("614 u", "inductance", 'Did you mean "uH"?'),
        ("100 k", "frequency", 'Did you mean "kHz"?'),
        ("60 furlong", "length", "Known units: m, cm, mm, um, nm, mil, in."),
        ("480 nH/N\u00b2", "inductance_factor", 'Write "480 nH"'),
        ("3 uH", "length", '"uH" is a unit of inductance'),
        ("85 K", "temperature", '"K" is a unit of temperature difference'),
        ("5 degC", "temperature_difference", '"degC" is a unit of temperature;'),
        ("12 mil", "angle", '"mil" is a unit of length'),
        ("0,35 mm", "length", "Write 0.35 with a point."),
        ("1,5 uH", "inductance", "Write 1.5 with a point."),
        ("1,000 mm", "length", "Write 1.000 with a point, or 1000 without a separator."),
        ("1,234.5 mm", "length", "without thousands separators"),
        ("1.234,5 mm", "length", "without thousands separators"),
        ("1 000 mm", "length", "without thousands separators"),
        ("1\u202f000 mm", "length", "without thousands separators"),
        ("1'000 mm", "length", "without thousands separators"),
        ("1_000 mm", "length", "without thousands separators"),
        ("1.2.3 mm", "length", "one decimal point"),
        ("24 turns", "length", "Counts are plain integers"),
        ("24 turns", "number", "Counts are plain integers"),
        ("5 %", "length", "A percentage is a relative value"),
        ("1/2 in", "length", "decimal number instead of a fraction"),
        ("0.35 mm ± 5 %", "length", "its tolerance has a key or column of its own"),
        ("nan mm", "length", "must be finite"),
        ("NaN", "number", "must be finite"),
        ("-inf mm", "length", "must be finite"),
        (math.nan, "number", "must be finite"),
        (math.inf, "number", "must be finite"),
        ("0.35", "length", "A unit is never guessed: add one of m, cm, mm"),
        ("0", "length", "A unit is never guessed"),
        (0.35, "length", 'write it with its unit: "0.35 mm"'),
        (100000, "frequency", 'write it with its unit: "100 kHz"'),
        (True, "length", "true/false"),
        (True, "number", "true/false"),
        (None, "length", "nothing"),
        ([1], "length", "a list"),
        ({"sd": 1}, "length", "a table"),
        (1j, "length", "type complex"),
        ("", "length", "The value is empty"),
        ("mm 0.35", "length", "Write the number first"),
        ("\uff13 mm", "length", "digits 0-9"),
        ("\u22125 mm", "length", 'Write the minus sign as "-"'),
        ("<5 mm", "length", "without '<'"),
        ("0.35\nmm", "length", "Known units"),
        ("5 mm", "number", '"mm" is a unit of length'),
        ("1e400 mm", "length", "too large or too small"),
        ("1e-400 mm", "length", "too large or too small"),
        ("9" * 5000 + " mm", "length", "too large or too small"),
        ("2 km", "length", "Known units"),
        ("2000 m", "length", "must lie within ±1000 m"),
        ("1e-40 m", "length", "above 1e-30"),
        ("-273.16 degC", "temperature", "absolute zero"),
    ],
)
def test_refused_texts_name_the_cure(text, dimension, hint):
    with pytest.raises(QuantityError) as caught:
        parse_quantity(text, dimension)
    (fault,) = caught.value.faults
    assert hint in fault.hint
    assert fault.place == ""


def test_a_fault_says_what_was_found_and_what_is_allowed():
    with pytest.raises(QuantityError) as caught:
        parse_quantity("0,35 mm", "length")
    (fault,) = caught.value.faults
    assert fault.found == "'0,35 mm'"
    assert fault.allowed == 'a length with its unit, such as "0.35 mm"'


def test_a_long_text_is_cut_in_the_message():
    with pytest.raises(QuantityError) as caught:
        parse_quantity("x" * 10_000, "length")
    assert len(caught.value.faults[0].found) < 90


@pytest.mark.parametrize(
    "dimension", ["length", "inductance", "resistance", "capacitance", "frequency", "temperature"]
)
def test_the_example_of_every_message_is_itself_accepted(dimension):
    with pytest.raises(QuantityError) as caught:
        parse_quantity("?", dimension)
    example = caught.value.faults[0].allowed.split('"')[1]
    assert math.isfinite(parse_quantity(example, dimension))


def test_signs():
    assert parse_quantity("0 mm", "length", nonnegative=True) == 0.0
    with pytest.raises(QuantityError, match="above zero"):
        parse_quantity("0 mm", "length", positive=True)
    with pytest.raises(QuantityError, match="above zero"):
        parse_quantity(-1, "number", positive=True)
    with pytest.raises(QuantityError, match="must not be negative"):
        parse_quantity("-1 mm", "length", nonnegative=True)
    assert math.copysign(1.0, parse_quantity("-0 mm", "length")) == 1.0


def test_an_unknown_dimension_is_a_fault_of_the_program():
    with pytest.raises(ValueError, match="unknown dimension 'mass'"):
        parse_quantity("1 kg", "mass")


def test_importing_costs_no_unit_library():
    code = (
        "import sys, aswound.predict.quantity; print(sorted({'pint', 'numpy', 'scipy'} & set(sys.modules)))"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"


# --- relative values and counts --------------------------------------------------------------------


@pytest.mark.parametrize(
    ("value", "relative"),
    [("5 %", 0.05), ("5%", 0.05), ("0.05", 0.05), (0.05, 0.05), (1, 1.0), ("-2.5 %", -0.025), (0, 0.0)],
)
def test_relative_values(value, relative):
    assert parse_relative(value) == relative


@pytest.mark.parametrize(
    ("value", "hint"),
    [
        ("5 mm", '"mm" is a unit of length'),
        ("5,5 %", "Write 5.5 with a point"),
        ("5 ppm", 'The only unit here is "%"'),
        ("nan %", "finite"),
        (math.nan, "finite"),
        (True, "true/false"),
        ({"sd": "2.5 %"}, "a table"),
        (None, "nothing"),
        (10**400, "must lie within"),
        ("1e9 %", "must lie within"),
    ],
)
def test_refused_relative_values(value, hint):
    with pytest.raises(QuantityError) as caught:
        parse_relative(value)
    assert hint in caught.value.faults[0].hint


def test_signs_of_relative_values():
    assert parse_relative("0 %", nonnegative=True) == 0.0
    with pytest.raises(QuantityError, match="negative"):
        parse_relative("-1 %", nonnegative=True)
    with pytest.raises(QuantityError, match="above zero"):
        parse_relative(0, positive=True)


def test_counts():
    assert parse_count(18) == 18
    assert parse_count(0) == 0
    assert parse_count(1, minimum=1) == 1


@pytest.mark.parametrize(
    ("value", "hint"),
    [
        (18.0, "Write 18 without a point"),
        (18.5, "Turns are whole numbers"),
        (18.5, "write 18 or 19"),
        (-0.5, "write -1 or 0"),
        ("18", "write 18 without quotes"),
        ("18 turns", "write 18 without quotes"),
        ("18 mm", "Counts are plain integers."),
        (True, "true/false"),
        (None, "nothing"),
        (math.nan, "whole number"),
        (math.inf, "whole number"),
        (-1, "at least 0"),
        (10**9 + 1, "at most 1000000000"),
        (10**30, "at most 1000000000"),
        (1e300, "at most 1000000000"),
    ],
)
def test_refused_counts(value, hint):
    with pytest.raises(QuantityError) as caught:
        parse_count(value)
    assert hint in caught.value.faults[0].hint


def test_integers_too_long_to_be_printed_are_refused_like_any_other():
    huge = 10**5000
    with pytest.raises(QuantityError, match="must lie within"):
        parse_quantity(huge, "number")
    with pytest.raises(QuantityError, match="never guessed"):
        parse_quantity(huge, "length")
    with pytest.raises(QuantityError, match="must lie within"):
        parse_relative(-huge)
    with pytest.raises(QuantityError, match="at most 1000000000"):
        parse_count(huge)


def test_the_minimum_of_a_count_is_named():
    with pytest.raises(QuantityError, match="at least 1"):
        parse_count(0, minimum=1)


# --- one cell of a readings file -------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "dimension", "options", "value"),
    [
        ("614 uH", "inductance", {}, 614e-6),
        ("612.4u", "inductance", {}, 612.4e-6),
        ("612.4 \u00b5", "inductance", {}, 612.4e-6),
        ("0.612m", "inductance", {}, 0.612e-3),
        ("614", "inductance", {"unit": "uH"}, 614e-6),
        ("614", "inductance", {"unit": " \u03bcH "}, 614e-6),
        ("612.4u", "inductance", {"unit": "H"}, 612.4e-6),
        ("0.614 mH", "inductance", {"unit": "uH"}, 614e-6),
        ("-3 uH", "inductance", {}, -3e-6),
        ("612,4 uH", "inductance", {"decimal_comma": True}, 612.4e-6),
        ("612.4 uH", "inductance", {"decimal_comma": True}, 612.4e-6),
        ("240m", "resistance", {}, 0.24),
        ("100k", "frequency", {}, 100e3),
        ("47p", "capacitance", {}, 47e-12),
        ("5.99", "number", {}, 5.99),
        ("5.99", "number", {"unit": ""}, 5.99),
        ("5.99", "number", {"unit": "1"}, 5.99),
        ("179.8", "angle", {"unit": "deg"}, math.radians(179.8)),
        ("24.5", "temperature", {"unit": "degC"}, 24.5),
        ("12 in", "length", {}, 0.3048),
        ("0.35m", "length", {}, 0.35),
    ],
)
def test_real_cells(text, dimension, options, value):
    reading = parse_reading(text, dimension, **options)
    assert isinstance(reading, float)
    assert reading == pytest.approx(value, rel=1e-15)


@pytest.mark.parametrize(
    ("text", "options", "value"),
    [
        ("0.41 + 4.97j ohm", {}, 0.41 + 4.97j),
        ("0.41+j4.97 ohm", {}, 0.41 + 4.97j),
        ("0.41 - 4.97j ohm", {}, 0.41 - 4.97j),
        ("-1e-3+2e+1j ohm", {}, -1e-3 + 20j),
        ("4.97j ohm", {}, 4.97j),
        ("1e+3j ohm", {}, 1e3j),
        ("0.41+4.97j", {"unit": "kohm"}, 410 + 4970j),
        ("0,41 + 4,97j m\u03a9", {"decimal_comma": True}, 0.41e-3 + 4.97e-3j),
        ("0.41 + 4.97j ohm", {"unit": "uH"}, 0.41 + 4.97j),
    ],
)
@pytest.mark.parametrize("dimension", ["inductance", "resistance", "number", "angle"])
def test_impedances(text, options, value, dimension):
    reading = parse_reading(text, dimension, **options)
    assert isinstance(reading, complex)
    assert reading == pytest.approx(value, rel=1e-15)


@pytest.mark.parametrize(
    "text", ["OL", "ol", "O.L", "+OL", "OVLD", "over", "Overload", "----", "--", "", "  "]
)
def test_missing_cells(text):
    assert parse_reading(text, "inductance") is None


@pytest.mark.parametrize(
    ("text", "dimension", "options", "hint"),
    [
        ("614", "inductance", {}, "never guessed"),
        ("179.8", "angle", {}, "never guessed"),
        ("614", "inductance", {"unit": "uh"}, 'Did you mean "uH"?'),
        ("614", "inductance", {"unit": "ohm"}, '"ohm" is a unit of resistance'),
        ("5.99", "number", {"unit": "uH"}, '"uH" is a unit of inductance'),
        ("612.4u", "inductance", {"unit": "uH"}, "both scale the number"),
        ("5k", "number", {"unit": "uH"}, '"uH" is a unit of inductance'),
        ("612.4u", "inductance", {"unit": "ohm"}, '"ohm" is a unit of resistance'),
        ("612.4U", "inductance", {}, 'Did you mean "u"?'),
        ("100K", "frequency", {}, 'Did you mean "k"?'),
        ("24.5m", "temperature", {}, '"m" is a unit of length'),
        ("2.6m", "angle", {}, 'Did you mean "mrad"?'),
        ("612,4 uH", "inductance", {}, "Write 612.4 with a point"),
        ("1,234,5 uH", "inductance", {"decimal_comma": True}, "without thousands separators"),
        ("nan", "inductance", {}, "finite"),
        ("inf", "inductance", {}, "finite"),
        ("-", "inductance", {}, "The value is empty"),
        ("0.41 + 4.97j", "inductance", {}, "write it in ohm"),
        ("0.41 + 4.97j uH", "inductance", {}, "write it in ohm"),
        ("0.41 + 4.97j", "inductance", {"unit": "uH"}, "write it in ohm"),
        ("1e400j ohm", "inductance", {}, "too large or too small"),
    ],
)
def test_refused_cells(text, dimension, options, hint):
    with pytest.raises(QuantityError) as caught:
        parse_reading(text, dimension, **options)
    (fault,) = caught.value.faults
    assert hint in fault.hint
    assert repr(text) in fault.found


@pytest.mark.parametrize(
    ("text", "dimension", "options", "value", "is_relative"),
    [
        ("2 %", "inductance", {}, 0.02, True),
        ("2,5 %", "inductance", {"decimal_comma": True}, 0.025, True),
        ("2 %", "inductance", {"unit": "uH"}, 0.02, True),
        ("3 uH", "inductance", {}, 3e-6, False),
        ("3", "inductance", {"unit": "uH"}, 3e-6, False),
        ("3u", "inductance", {}, 3e-6, False),
        ("0.01", "number", {}, 0.01, False),
        ("0.02 mm", "length", {}, 0.02e-3, False),
        ("0.5 K", "temperature", {}, 0.5, False),
        ("0.5", "temperature", {"unit": "degC"}, 0.5, False),
    ],
)
def test_uncertainties(text, dimension, options, value, is_relative):
    assert split_uncertainty(text, dimension, **options) == (value, is_relative)


@pytest.mark.parametrize("text", ["3", "-2 %", "-3 uH", "", "OL", "2 % 3", "%", "nan %", "2 ohm"])
def test_refused_uncertainties(text):
    with pytest.raises(QuantityError):
        split_uncertainty(text, "inductance")


# --- SI numbers to text ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("value", "unit", "digits", "text", "ascii_text"),
    [
        (6.142e-4, "H", 4, "614.2 µH", "614.2 uH"),
        (-6.142e-4, "H", 4, "-614.2 µH", "-614.2 uH"),
        (999.96e-6, "H", 4, "1.000 mH", "1.000 mH"),
        (999.94e-6, "H", 4, "999.9 µH", "999.9 uH"),
        (0.0121, "ohm", 3, "12.1 mΩ", "12.1 mohm"),
        (12100.0, "ohm", 3, "12.1 kΩ", "12.1 kohm"),
        (0.24, "ohm", 3, "240 mΩ", "240 mohm"),
        (47e-12, "F", 2, "47 pF", "47 pF"),
        (5e-15, "F", 2, "5.0 fF", "5.0 fF"),
        (99999.6, "Hz", 4, "100.0 kHz", "100.0 kHz"),
        (0.5, "Hz", 2, "0.50 Hz", "0.50 Hz"),
        (0.35e-3, "m", 2, "0.35 mm", "0.35 mm"),
        (99.96e-6, "m", 3, "0.100 mm", "0.100 mm"),
        (60e-6, "m", 2, "60 µm", "60 um"),
        (1.25, "m", 4, "1250 mm", "1250 mm"),
        (math.radians(0.045), "rad", 4, "0.045°", "0.045 deg"),
        (math.radians(-179.955), "rad", 4, "-179.955°", "-179.955 deg"),
        (-1e-9, "rad", 4, "0.000°", "0.000 deg"),
        (23.0, "degC", 3, "23.0 °C", "23.0 degC"),
        (5.0, "K", 2, "5.0 K", "5.0 K"),
        (5.987, "1", 4, "5.987", "5.987"),
        (1e-9, "1", 4, "1.000e-9", "1.000e-9"),
        (1e30, "H", 2, "1.0e30 H", "1.0e30 H"),
        (0.0, "H", 4, "0 H", "0 H"),
        (0.0, "m", 4, "0 mm", "0 mm"),
        (None, "H", 4, "-", "-"),
        (math.nan, "H", 4, "-", "-"),
        (math.inf, "H", 4, "∞", "inf"),
        (-math.inf, "1", 4, "-∞", "-inf"),
    ],
)
def test_engineering_notation(value, unit, digits, text, ascii_text):
    assert format_quantity(value, unit, digits) == text
    assert format_quantity(value, unit, digits, ascii=True) == ascii_text


@pytest.mark.parametrize(
    ("value", "uncertainty", "unit", "text"),
    [
        (614.2e-6, 0.65e-6, "H", "614.2 ± 1.3 µH"),
        (614.2e-6, 65e-6, "H", "610 ± 130 µH"),
        (614.2e-6, 4.98e-6, "H", "614 ± 10 µH"),
        (999.996e-6, 0.065e-6, "H", "1.00000 ± 0.00013 mH"),
        (0.0, 1e-6, "H", "0.0 ± 2.0 µH"),
        (1e-6, 500e-6, "H", "0.0 ± 1.0 mH"),
        (5.9871, 0.0061, "1", "5.987 ± 0.012"),
        (math.radians(179.9), math.radians(0.05), "rad", "179.90 ± 0.10°"),
        (23.0, 0.5, "degC", "23.0 ± 1.0 °C"),
        (614.2e-6, 0.0, "H", "614.2 ± 0 µH"),
        (614.2e-6, None, "H", "614.2 ± - µH"),
        (614.2e-6, math.nan, "H", "614.2 ± - µH"),
        (614.2e-6, math.inf, "H", "614.2 ± ∞ µH"),
        (None, 1e-6, "H", "-"),
        (math.nan, 1e-6, "H", "-"),
    ],
)
def test_value_and_expanded_uncertainty_are_rounded_together(value, uncertainty, unit, text):
    assert format_uncertain(value, uncertainty, unit) == text


@pytest.mark.parametrize(
    ("low", "high", "unit", "text"),
    [
        (598.1e-6, 631e-6, "H", "598.1 … 631.0 µH"),
        (950e-6, 1050e-6, "H", "0.950 … 1.050 mH"),
        (599.98e-6, 600.02e-6, "H", "599.980 … 600.020 µH"),
        (-0.001, 0.002, "rad", "-0.057 … 0.115°"),
        (5.94, 6.06, "1", "5.940 … 6.060"),
        (None, 1.8e-6, "H", "≤ 1.800 µH"),
        (580e-6, None, "H", "≥ 580.0 µH"),
        (580e-6, math.inf, "H", "≥ 580.0 µH"),
        (None, None, "H", "-"),
        (math.nan, math.nan, "H", "-"),
    ],
)
def test_ranges_have_one_prefix(low, high, unit, text):
    assert format_range(low, high, unit) == text


@pytest.mark.parametrize(
    ("relative", "digits", "signed", "text"),
    [
        (0.0512, 1, False, "5.1 %"),
        (0.0512, 1, True, "+5.1 %"),
        (-0.0512, 1, True, "-5.1 %"),
        (-1e-9, 1, True, "0.0 %"),
        (0.05, 0, False, "5 %"),
        (math.inf, 1, True, "+∞ %"),
        (None, 1, True, "-"),
        (math.nan, 1, False, "-"),
    ],
)
def test_percentages(relative, digits, signed, text):
    assert format_percent(relative, digits, signed) == text


@pytest.mark.parametrize(
    ("relative", "text"),
    [
        (0.0512, "+5.1 %"),
        (8.9, "+890.0 %"),
        (9.0, "× 10.0"),
        (986.31, "× 987"),
        (98731.0, "× 98700"),
        (-0.89, "-89.0 %"),
        (-0.9, "÷ 10.0"),
        (-0.999, "÷ 1000"),
        (-1.0, "-100.0 %"),
        (-988.0, "× -987"),
        (math.inf, "+∞ %"),
        (None, "-"),
    ],
)
def test_beyond_a_factor_of_ten_a_change_is_a_factor(relative, text):
    assert format_change(relative) == text


def test_wrong_arguments_of_the_formatters_are_faults_of_the_program():
    with pytest.raises(ValueError, match="unknown display unit 'uH'"):
        format_quantity(1.0, "uH")
    with pytest.raises(ValueError, match="digits"):
        format_quantity(1.0, "H", 0)
    with pytest.raises(ValueError, match="digits"):
        format_percent(1.0, -1)
    with pytest.raises(ValueError, match="digits"):
        format_change(1.0, -1)
    with pytest.raises(ValueError, match="unknown display unit"):
        format_range(None, None, "uH")
    with pytest.raises(ValueError, match="negative"):
        format_uncertain(1.0, -1.0, "H")


def test_powers_of_ten_are_those_of_the_registry() -> None:
    """Every unit of the closed list: the shortcut and pint's registry agree to 25 digits (older releases
    round a degree to 28); units that are no power of ten, nor the degree, are left to the registry."""
    pairs = {(unit, kind.units[0]) for kind in units.DIMENSIONS.values() for unit in kind.units}
    pairs.add(("%", "%"))
    assert len(pairs) > 40
    for unit, base in pairs:
        ratio = units.factor_of(unit, base) / units.registry_factor(unit, base)
        assert abs(ratio - 1) < Decimal("1e-25"), unit
    assert {unit for unit, _ in pairs} - set(units.POWERS) == {"mil", "in", "deg"}


@pytest.mark.parametrize(
    ("dimension", "text", "value"),
    [
        ("area", "97.1 mm2", 97.1e-6),
        ("area", "97.1mm²", 97.1e-6),
        ("area", "1.5 cm^2", 1.5e-4),
        ("area", "2 m2", 2.0),
        ("volume", "7640 mm³", 7640e-9),
        ("volume", "7.64 cm3", 7.64e-6),
        ("core_constant", "0.548 1/mm", 548.0),
        ("temperature_coefficient", "-0.004 1/K", -0.004),
        ("level_coefficient", "2.5 1/T", 2.5),
        ("field", "30 A/m", 30.0),
        ("resistivity", "0.45 µΩ m", 0.45e-6),
        ("resistivity", "0.45 uohm m", 0.45e-6),
        ("flux_density", "490 mT", 0.49),
    ],
)
def test_units_of_cores_and_materials(dimension: str, text: str, value: float) -> None:
    assert parse_quantity(text, dimension) == value


@pytest.mark.parametrize(
    ("dimension", "text", "told"),
    [
        ("length", "3 mm2", "a unit of area; here a length is needed"),
        ("length", "3 mm^", "Known units"),
        ("area", "97.1 mm", "a unit of length; here an area is needed"),
        ("area", "97.1", "A unit is never guessed"),
        ("volume", "3 mm2", "a unit of area"),
        ("area", "3 MM2", "Did you mean"),
    ],
)
def test_an_area_is_no_length(dimension: str, text: str, told: str) -> None:
    with pytest.raises(QuantityError) as raised:
        parse_quantity(text, dimension)
    (fault,) = raised.value.faults
    assert told in fault.hint


@pytest.mark.parametrize(
    ("value", "low", "high", "text"),
    [
        (78.12e-6, 76.0e-6, 81.6e-6, "78.1 +3.5 −2.1 µH"),
        (1.5e-6, 1.47e-6, 2.37e-6, "1.50 +0.87 −0.03 µH"),
        (1.5e-6, 1.499e-6, 2.37e-6, "1.500 +0.870 −0.001 µH"),
        (1.5e-6, 1.5e-6, 2.37e-6, "1.50 +0.87 −0.00 µH"),
        (1.5e-6, 1.55e-6, 2.37e-6, "1.50 +0.87 −0.00 µH"),
        (998e-9, 990e-9, 1.02e-6, "998 +22 −8 nH"),
    ],
)
def test_both_sides_of_a_range(value: float, low: float, high: float, text: str) -> None:
    assert format_sides(value, low, high, "H") == text


def test_when_the_sides_are_shown_apart() -> None:
    assert not uneven(10.0, 9.0, 11.2)
    assert uneven(10.0, 9.0, 11.3)
    assert uneven(10.0, 8.7, 11.0)
    assert uneven(10.0, 10.0, 11.0)
    for low, high in ((None, 11.0), (9.0, None), (9.0, math.inf), (math.nan, 20.0), (10.0, 10.0)):
        assert not uneven(10.0, low, high)
    assert not uneven(None, 9.0, 20.0)
