"""The readings file: what is accepted, and how every fault of a file is reported."""

import math
from dataclasses import replace
from pathlib import Path

import pytest

from aswound.compare.readings import empty_template
from aswound.compare.readings.cells import displayed_of_impedance
from aswound.compare.readings.file import (
    load_readings,
    parse_readings,
    readings_from_options,
)
from aswound.predict.design import (
    Bench,
    BenchTest,
    Bobbin,
    Build,
    Core,
    Design,
    Material,
    Member,
    ToroidDimensions,
)
from aswound.predict.errors import ReadingsError

P, S = (Member("P"),), (Member("S"),)
CORE = Core(
    name="ring",
    dimensions=ToroidDimensions(36e-3, 23e-3, 15e-3),
    material=Material(name="m", initial_permeability=2000.0),
    effective_area=49e-6,
    effective_length=57e-3,
)
DESIGN = Design(
    title="readings",
    core=CORE,
    bobbin=Bobbin(),
    windings=(),
    build=Build(steps=()),
    bench=Bench(equivalent="series"),
    tests=(
        BenchTest(name="L_P", measure="inductance", drive=P, frequency=10e3, minimum=580e-6, maximum=665e-6),
        BenchTest(name="Lk_P", measure="inductance", drive=P, short=S, frequency=100e3, maximum=1.8e-6),
        BenchTest(name="Lp_P", measure="inductance", drive=P, frequency=10e3, equivalent="parallel"),
        BenchTest(name="n", measure="ratio", drive=P, sense=S, frequency=10e3),
        BenchTest(name="R_P", measure="resistance", drive=P),
        BenchTest(name="Rac_P", measure="ac_resistance", drive=P, frequency=100e3),
        BenchTest(name="Q_P", measure="quality", drive=P, frequency=10e3),
        BenchTest(name="M", measure="mutual", drive=P, sense=S, frequency=10e3),
        BenchTest(name="theta", measure="phase", drive=P, frequency=10e3),
        BenchTest(name="polarity", measure="phase", drive=P, sense=S, frequency=10e3),
    ),
)
HEADER = "sample,test,reading,uncertainty,temperature\n"


def read(text: str) -> list[float | None]:
    return [reading.value for reading in parse_readings(text, DESIGN)]


def faults_of(text: str) -> list[str]:
    with pytest.raises(ReadingsError) as caught:
        parse_readings(text, DESIGN, name="bench.csv")
    assert all(fault.file == "bench.csv" for fault in caught.value.faults)
    return [str(fault).removeprefix("bench.csv: ") for fault in caught.value.faults]


def fault_of(text: str) -> str:
    faults = faults_of(text)
    assert len(faults) == 1, faults
    return faults[0]


# --- what is accepted ------------------------------------------------------------------------------


def test_the_example_of_the_file_format() -> None:
    text = HEADER + "A1,L_P,614 uH,,\nA1,Lk_P,1.18 uH,2 %,\nA1,n,5.99,,\nA1,R_P,0.240 ohm,,24.5 degC\n"
    first, leakage, ratio, resistance = parse_readings(text, DESIGN)
    assert (first.sample, first.test, first.value, first.line) == ("A1", "L_P", 614e-6, 2)
    assert (first.uncertainty, first.temperature, first.frequency) == (None, None, None)
    assert leakage.value == pytest.approx(1.18e-6, rel=1e-15)
    assert leakage.uncertainty == pytest.approx(0.01 * 1.18e-6, rel=1e-12)  # 2 % is k = 2
    assert ratio.value == 5.99
    assert (resistance.value, resistance.temperature, resistance.line) == (0.24, 24.5, 5)


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_delimiters(delimiter: str) -> None:
    text = (HEADER + "A1,L_P,614 uH,2 %,\nA1,n,5.99,,\n").replace(",", delimiter)
    assert read(text) == [614e-6, 5.99]


@pytest.mark.parametrize("delimiter", [";", "\t"])
def test_decimal_comma(delimiter: str) -> None:
    text = "sample;test;reading;uncertainty;temperature;frequency\n" + (
        "A1;L_P;614,5 uH;1,5 %;24,5 degC;10,5 kHz\nA1;Lk_P;0,41 + 4,97j ohm;;;\nA1;n;5,99:1;;;\n"
    )
    first, second, third = parse_readings(text.replace(";", delimiter), DESIGN)
    assert first.value == pytest.approx(614.5e-6, rel=1e-14)
    assert first.uncertainty == pytest.approx(614.5e-6 * 0.0075, rel=1e-12)
    assert (first.temperature, first.frequency) == (24.5, 10.5e3)
    assert second.impedance == 0.41 + 4.97j
    assert third.value == 5.99


def test_decimal_points_in_a_semicolon_file() -> None:
    assert read("sample;test;reading\nA1;L_P;614.5 uH\nA1;n;5.99\n") == [pytest.approx(614.5e-6), 5.99]


@pytest.mark.parametrize("heading", ["reading [uH]", "reading (µH)", "Reading[μH]", "READING ( uH )"])
def test_unit_in_the_header(heading: str) -> None:
    assert read(f"sample,test,{heading}\nA1,L_P,614\nA1,Lk_P,1180 nH\n") == [
        pytest.approx(614e-6, rel=1e-14),
        pytest.approx(1.18e-6, rel=1e-14),
    ]


def test_units_in_the_headers_of_the_other_columns() -> None:
    text = "sample,test,reading,uncertainty [%],temperature [°C],frequency (kHz)\nA1,L_P,600 uH,2,24.5,10\n"
    (reading,) = parse_readings(text, DESIGN)
    assert reading.uncertainty == pytest.approx(6e-6)
    assert (reading.temperature, reading.frequency) == (24.5, 10e3)


def test_unit_column() -> None:
    text = "unit,sample,test,reading\nuH,A1,L_P,614\nmohm,A1,R_P,240\n,A1,n,5.99\n-,A1,n,6.01\n1,A1,Q_P,40\n"
    assert read(text) == [pytest.approx(614e-6), pytest.approx(0.24), 5.99, 6.01, 40.0]


def test_unit_column_goes_before_the_header_and_the_cell_agrees() -> None:
    text = "sample,test,reading [uH],unit\nA1,L_P,0.614,mH\nA1,L_P,614 µH,uH\nA1,L_P,614,\n"
    assert read(text) == [pytest.approx(614e-6)] * 3


def test_a_unit_in_the_header_is_no_unit_of_ratios_and_phases() -> None:
    text = "sample,test,reading [uH]\nA1,L_P,614\nA1,n,5.99\nA1,theta,89.6\n"
    assert read(text) == [pytest.approx(614e-6), 5.99, pytest.approx(math.radians(89.6))]


@pytest.mark.parametrize(
    ("cell", "value"),
    [
        ("612.4u", 612.4e-6),
        ("0.6124m", 612.4e-6),
        ("612.4 µH", 612.4e-6),
        ("-3.1 mH", -3.1e-3),
        ("1e-4 H", 1e-4),
    ],
)
def test_engineering_notation_and_signs(cell: str, value: float) -> None:
    assert read(f"sample,test,reading\nA1,L_P,{cell}\n") == [pytest.approx(value, rel=1e-14)]


@pytest.mark.parametrize("cell", ["5.99", "5.99:1", "5.99 : 1"])
def test_ratios(cell: str) -> None:
    assert read(f"sample,test,reading\nA1,n,{cell}\n") == [5.99]


@pytest.mark.parametrize(
    ("cell", "degrees"), [("-0.4", -0.4), ("-0.4 deg", -0.4), ("-0.4°", -0.4), ("179.2", 179.2)]
)
def test_phases_are_in_degrees(cell: str, degrees: float) -> None:
    assert read(f"sample,test,reading\nA1,polarity,{cell}\n") == [pytest.approx(math.radians(degrees))]


def test_phases_in_radians_where_the_unit_says_so() -> None:
    assert read("sample,test,reading\nA1,theta,1.5 rad\n") == [1.5]
    assert read("sample,test,reading [rad]\nA1,theta,1.5\n") == [1.5]


@pytest.mark.parametrize("cell", ["OL", "O.L", "----", "", "--", "ovld"])
def test_missing_readings_are_kept(cell: str) -> None:
    (reading,) = parse_readings(f"sample,test,reading,uncertainty\nA1,L_P,{cell},2 %\n", DESIGN)
    assert (reading.sample, reading.test, reading.value, reading.uncertainty) == ("A1", "L_P", None, None)


def test_byte_order_mark_blank_lines_comments_and_rows_of_empty_cells() -> None:
    text = (
        "\ufeff# bench 3; 23 °C\n\n"
        + HEADER
        + '\r\n  # a, "comment\nA1,L_P,614 uH,,\n,,,,\n\t\nA1,n,5.99,,\n'
    )
    assert [(reading.value, reading.line) for reading in parse_readings(text, DESIGN)] == [
        (614e-6, 6),
        (5.99, 9),
    ]


def test_a_hash_inside_a_note_or_in_quotes_is_text() -> None:
    text = 'sample,test,reading,note\n"#1",L_P,614 uH,"# 2 tapes, ""wide"""\nA1,L_P,1 mH,reel #4\n'
    first, second = parse_readings(text, DESIGN)
    assert (first.sample, first.note, second.note) == ("#1", '# 2 tapes, "wide"', "reel #4")


def test_a_note_of_several_lines_hides_no_comment_and_moves_the_lines() -> None:
    text = 'sample,test,reading,note\nA1,L_P,614 uH,"first\n# second\n\nthird"\nA1,n,5.99,\n'
    first, second = parse_readings(text, DESIGN)
    assert first.note == "first\n# second\n\nthird"
    assert (first.line, second.line) == (2, 6)


def test_columns_in_any_order_and_all_optional_ones() -> None:
    text = 'note,batch,reading,stage,test,frequency,sample\n5" reel,B7,600 uH,varnished,L_P,1 kHz,A1\n'
    (reading,) = parse_readings(text, DESIGN)
    assert (reading.note, reading.batch, reading.stage, reading.sample) == (
        '5" reel',
        "B7",
        "varnished",
        "A1",
    )
    assert (reading.value, reading.frequency) == (600e-6, 1e3)


def test_repeats_stay_apart_and_in_order() -> None:
    assert read("sample,test,reading\nA1,n,5.99\nA1,n,6.00\nA1,n,5.99\n") == [5.99, 6.0, 5.99]


def test_trailing_delimiters_of_a_spreadsheet() -> None:
    assert read("sample,test,reading,,\nA1,n,5.99,,\nA1,n,6.01\n") == [5.99, 6.01]


@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
def test_line_endings(ending: str) -> None:
    text = (HEADER + "# c\nA1,n,5.99,,\nA1,n,6.01,,").replace("\n", ending)
    assert [(reading.value, reading.line) for reading in parse_readings(text, DESIGN)] == [
        (5.99, 3),
        (6.01, 4),
    ]


def test_absolute_uncertainty_is_expanded_in_the_file() -> None:
    text = "sample,test,reading,uncertainty\nA1,L_P,600 uH,3 uH\nA1,n,5.99,0.02\nA1,theta,89,0.5\n"
    assert [reading.uncertainty for reading in parse_readings(text, DESIGN)] == [
        pytest.approx(1.5e-6),
        pytest.approx(0.01),
        pytest.approx(math.radians(0.25)),
    ]


def test_bare_uncertainty_takes_the_unit_of_its_row_or_header() -> None:
    rows = "sample,test,reading,uncertainty,unit\nA1,L_P,600,3,uH\n"
    header = "sample,test,reading [uH],uncertainty\nA1,L_P,600,3\n"
    own = "sample,test,reading [uH],uncertainty [nH]\nA1,L_P,600,3000\n"
    for text in (rows, header, own):
        assert parse_readings(text, DESIGN)[0].uncertainty == pytest.approx(1.5e-6)


def test_relative_uncertainty_of_a_negative_reading_is_positive() -> None:
    text = "sample,test,reading,uncertainty\nA1,L_P,-600 uH,2 %\n"
    assert parse_readings(text, DESIGN)[0].uncertainty == pytest.approx(6e-6)


# --- impedances ------------------------------------------------------------------------------------


def test_impedance_is_displayed_as_the_test_says() -> None:
    text = "sample,test,reading\n" + "".join(
        f"A1,{name},0.41 + 4.97j ohm\n" for name in ("Lk_P", "Rac_P", "R_P", "Q_P", "theta", "Lp_P")
    )
    readings = parse_readings(text, DESIGN)
    assert all(reading.impedance == 0.41 + 4.97j for reading in readings)
    values = [reading.value for reading in readings]
    omega = 2 * math.pi * 10e3
    assert values == [
        pytest.approx(4.97 / (2 * math.pi * 100e3), rel=1e-14),
        0.41,
        0.41,
        pytest.approx(4.97 / 0.41, rel=1e-14),
        pytest.approx(math.atan(4.97 / 0.41), rel=1e-14),
        pytest.approx((0.41**2 + 4.97**2) / (omega * 4.97), rel=1e-14),
    ]


def test_impedance_uses_the_frequency_of_its_row() -> None:
    text = "sample,test,reading,frequency\nA1,Lk_P,0.41+4.97j ohm,200 kHz\n"
    assert read(text) == [pytest.approx(4.97 / (2 * math.pi * 200e3), rel=1e-14)]


def test_impedance_under_a_header_or_unit_in_ohm() -> None:
    expected = [pytest.approx(4.97 / (2 * math.pi * 100e3), rel=1e-14)]
    assert read("sample,test,reading [ohm]\nA1,Lk_P,0.41+4.97j\n") == expected
    assert read("sample,test,reading,unit\nA1,Lk_P,410+4970j,mohm\n") == expected


@pytest.mark.parametrize("name", ["n", "M", "polarity"])
def test_impedance_is_refused_where_a_second_voltage_is_needed(name: str) -> None:
    message = fault_of(f"sample,test,reading\nA1,{name},0.41 + 4.97j ohm\n")
    assert message.startswith("line 2, reading: found the impedance 0.41+4.97j ohm")
    assert "does not give the voltage at the sensed ones" in message


def test_impedance_without_a_finite_display_is_refused() -> None:
    assert "whose inductance (parallel) is finite" in fault_of("sample,test,reading\nA1,Lp_P,3 + 0j ohm\n")


def test_displayed_needs_a_frequency_except_for_direct_current() -> None:
    inductance, resistance = DESIGN.tests[0], DESIGN.tests[4]
    assert displayed_of_impedance(0.3 + 4j, resistance, None, "series") == 0.3
    with pytest.raises(ReadingsError, match="frequency"):
        displayed_of_impedance(0.3 + 4j, inductance, None, "series")


# --- faults ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("row", "place", "found", "rest"),
    [
        ("A1,LP,614 uH,,", "test", "'LP'", "Did you mean 'L_P'?"),
        ("A1,l_p,614 uH,,", "test", "'l_p'", "Did you mean 'L_P'?"),
        ("A1,,614 uH,,", "test", "''", "a test of the design (L_P, Lk_P"),
        (",L_P,614 uH,,", "sample", "an empty cell", "the sample's name"),
        ("A1,L_P,614,,", "reading", "'614'", "unit"),
        ("A1,L_P,614 ohm,,", "reading", "'614 ohm'", "inductance"),
        ("A1,L_P,614 uh,,", "reading", "'614 uh'", "uH"),
        ("A1,L_P,nan uH,,", "reading", "'nan uH'", "finite"),
        ("A1,L_P,6l4 uH,,", "reading", "'6l4 uH'", "inductance"),
        ('A1,L_P,"614,5 uH",,', "reading", "'614,5 uH'", "614.5 with a point"),
        ("A1,n,5.99 uH,,", "reading", "'5.99 uH'", "plain number"),
        ("A1,n,1:6,,", "reading", "'1:6'", "plain number"),
        ("A1,L_P,614 uH,2,", "uncertainty", "'2'", "unit"),
        ("A1,L_P,614 uH,-2 %,", "uncertainty", "'-2 %'", ""),
        ("A1,L_P,614 uH,0 %,", "uncertainty", "'0 %'", "above 0"),
        ("A1,L_P,0 uH,2 %,", "uncertainty", "'2 %'", "The reading is 0"),
        ("A1,L_P,614 uH,3 ohm,", "uncertainty", "'3 ohm'", "inductance"),
        ("A1,L_P,614 uH,,24.5 K", "temperature", "'24.5 K'", "temperature"),
        ("A1,L_P,614 uH,,-300 degC", "temperature", "'-300 degC'", ""),
        ("A1,L_P,614 uH,,1+1j ohm", "temperature", "'1+1j ohm'", "a temperature"),
    ],
)
def test_a_bad_cell_is_reported_with_line_column_and_reason(
    row: str, place: str, found: str, rest: str
) -> None:
    message = fault_of(HEADER + "A1,n,5.99,,\n" + row + "\n")
    assert message.startswith(f"line 3, {place}: found {found}")
    assert rest in message


@pytest.mark.parametrize(
    ("cell", "name", "reason"),
    [
        ("0 Hz", "L_P", "above 0"),
        ("-1 kHz", "L_P", "above 0"),
        ("10", "L_P", "Hz"),
        ("1 kHz", "R_P", "direct current"),
    ],
)
def test_a_bad_frequency(cell: str, name: str, reason: str) -> None:
    reading = "0.2 ohm" if name == "R_P" else "614 uH"
    message = fault_of(f"sample,test,reading,frequency\nA1,{name},{reading},{cell}\n")
    assert message.startswith(f"line 2, frequency: found '{cell}'")
    assert reason in message


def test_all_bad_rows_are_reported_at_once_in_the_order_of_the_file() -> None:
    text = HEADER + (
        "A1,LP,614 uH,,\nA1,n,5.99,,\nA1,L_P,614 uH\nA1,L_P,614,2,24 K\n,n,x,,\n"
        'A1,n,"5.99,,\n'  # never closed
    )
    messages = faults_of(text)
    assert [message.split(": found")[0] for message in messages] == [
        "line 2, test",
        "line 4",
        "line 5, temperature",
        "line 5, reading",
        "line 5, uncertainty",
        "line 6, sample",
        "line 6, reading",
        "line 7",
    ]


@pytest.mark.parametrize(
    ("row", "found", "hint"),
    [
        ("A1,L_P,614 uH", "3 cells", "Keep the commas of empty cells"),
        ("A1,L_P", "2 cells", "Keep the commas of empty cells"),
        ("A1,L_P,614,5 uH,,", "6 cells", "A decimal comma needs semicolons or tabs"),
    ],
)
def test_rows_with_too_few_or_too_many_cells(row: str, found: str, hint: str) -> None:
    message = fault_of(HEADER + row + "\n")
    assert message.startswith(f"line 2: found {found}; allowed: 5 cells")
    assert hint in message


def test_a_decimal_comma_is_not_taken_for_a_delimiter_before_empty_cells() -> None:
    """614,5 µH must not become 614 µH with an uncertainty of 5 µH."""
    text = "sample,test,reading [uH],uncertainty,temperature\nA1,L_P,614,5,,\n"
    assert fault_of(text).startswith("line 2: found 6 cells")


def test_text_below_an_unnamed_last_column() -> None:
    assert fault_of("sample,test,reading,\nA1,n,5.99,x\n").startswith(
        "line 2: found 4 cells; allowed: 3 cells"
    )


def test_too_many_cells_in_a_semicolon_file() -> None:
    assert "Text with a semicolon needs quotation marks" in fault_of("sample;test;reading\nA1;n;5,99;x\n")


def test_text_after_a_closing_quotation_mark() -> None:
    assert fault_of('sample,test,reading\n"A1"x,n,5.99\nA1,n,6\n').startswith("line 2: found")


def test_units_that_contradict_each_other() -> None:
    for row in ("A1,L_P,614 uH,mH", "A1,R_P,240 mohm,uH", "A1,Lk_P,0.4+5j ohm,uH"):
        message = fault_of(f"sample,test,reading,unit\n{row}\n")
        assert "one unit for a reading" in message
    assert "inductance" in fault_of("sample,test,reading,unit\nA1,R_P,240,uH\n")
    assert "plain number" in fault_of("sample,test,reading,unit\nA1,n,5.99,uH\n")


def test_a_header_unit_of_another_quantity_leaves_the_cell_without_unit() -> None:
    assert "'0.24'" in fault_of("sample,test,reading [uH]\nA1,L_P,614\nA1,R_P,0.24\n")
    text = "sample,test,reading,uncertainty [uH],unit\nA1,R_P,0.24,3,ohm\n"
    assert fault_of(text).startswith("line 2, uncertainty: found '3'")


def test_a_suffix_on_top_of_a_prefixed_unit() -> None:
    assert "suffix" in fault_of("sample,test,reading [uH]\nA1,L_P,612.4u\n")


@pytest.mark.parametrize(
    ("cells", "line"), [("614,5 uH;1.234 mH", 3), ("1,234 mH;614.5 uH", 2), ("614.5 uH;1,234 mH", 3)]
)
def test_a_number_that_may_have_a_thousands_separator_is_not_guessed(cells: str, line: int) -> None:
    first, second = cells.split(";")
    message = fault_of(f"sample;test;reading\nA1;L_P;{first}\nA1;L_P;{second}\n")
    assert message.startswith(f"line {line}, reading")
    assert "in one way only" in message


def test_three_decimals_are_fine_where_all_numbers_agree_or_none_can_be_a_thousand() -> None:
    assert read("sample;test;reading\nA1;L_P;1,234 mH\nA1;n;5,99\n") == [pytest.approx(1.234e-3), 5.99]
    assert read("sample;test;reading\nA1;R_P;0,240 ohm\nA1;n;5.99\n") == [0.24, 5.99]


@pytest.mark.parametrize(
    ("header", "parts"),
    [
        ("sample,test,value", ["no column reading", "column 'value'"]),
        ("sample,test,reading,uncertanty", ["column 'uncertanty'", "Did you mean 'uncertainty'?"]),
        ("sample,test,reading,operator", ["column 'operator'", "note"]),
        ("sample,test,reading,test", ["column test again (column 4)"]),
        ("sample,test,reading,", []),
        ("sample,,test,reading", ["no name for column 2"]),
        ("sample [uH],test,reading", ["unit 'uH' of column sample"]),
        ("sample,test,reading [uh]", ["unit 'uh' of column reading", 'Did you mean "uH"']),
        ("sample,test,reading,temperature [kHz]", ["unit 'kHz' of column temperature"]),
        ("sample test reading", ["no column sample", "separated by commas"]),
        ("A1,L_P,614 uH", ["no column sample", "no column test", "no column reading"]),
    ],
)
def test_faults_of_the_header(header: str, parts: list[str]) -> None:
    row = ",".join(["A1", "L_P", "614 uH", ""][: header.count(",") + 1])
    if not parts:
        assert read(f"{header}\n{row}\n") == [614e-6]
        return
    with pytest.raises(ReadingsError) as caught:
        parse_readings(f"# c\n{header}\n{row}\n", DESIGN)
    message = str(caught.value)
    assert message.startswith("line 2, header: found")
    for part in parts:
        assert part in message


def test_faults_of_header_and_rows_come_together() -> None:
    messages = faults_of("sample,test,reading,colour\nA1,LP,614 uH,red\n")
    assert [message.split(":")[0] for message in messages] == ["line 1, header", "line 2, test"]


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("", "no header"),
        ("\ufeff\n \n# only\n", "no header"),
        (HEADER, "no readings"),
        (HEADER + ",,,,\n# x\n", "no rea"),
    ],
)
def test_files_without_a_reading(text: str, found: str) -> None:
    assert fault_of(text).startswith(f"the file: found {found}")


def test_samples_that_look_like_comments_are_explained() -> None:
    assert "quotation marks" in fault_of(HEADER + "#1,L_P,614 uH,,\n")


# --- files -----------------------------------------------------------------------------------------


def test_load_readings(tmp_path: Path) -> None:
    path = tmp_path / "bench.csv"
    for encoding in ("utf-8", "utf-8-sig", "utf-16"):
        path.write_bytes((HEADER + "A1,L_P,614 µH,,\r\n").encode(encoding))
        assert [reading.value for reading in load_readings(path, DESIGN)] == [614e-6]
        assert load_readings(str(path), DESIGN) == load_readings(path, DESIGN)


def test_faults_name_the_file(tmp_path: Path) -> None:
    path = tmp_path / "bench.csv"
    path.write_text(HEADER + "A1,LP,614 uH,,\n", encoding="utf-8")
    with pytest.raises(ReadingsError, match=r"bench\.csv: line 2, test"):
        load_readings(path, DESIGN)


@pytest.mark.parametrize(
    ("data", "parts"),
    [
        ((HEADER + "A1,L_P,614 uH,,\nA1,L_P,614 µH,,\n").encode("cp1252"), ["line 3", "byte B5", "UTF-8"]),
        (b"PK\x03\x04rest", ["an archive that is no workbook", "Save the sheet as CSV"]),
        (b"", ["no header"]),
    ],
)
def test_files_that_are_no_text(tmp_path: Path, data: bytes, parts: list[str]) -> None:
    path = tmp_path / "bench.csv"
    path.write_bytes(data)
    with pytest.raises(ReadingsError) as caught:
        load_readings(path, DESIGN)
    for part in [str(path), *parts]:
        assert part in str(caught.value)


def test_missing_file_and_directory(tmp_path: Path) -> None:
    for path in (tmp_path / "none.csv", tmp_path):
        with pytest.raises(ReadingsError, match="the file: found"):
            load_readings(path, DESIGN)


# --- options ---------------------------------------------------------------------------------------


def test_readings_from_options() -> None:
    readings = readings_from_options(["L_P=612uH", " n = 5.99 ", "R_P=OL", "Lk_P=0.41+4.97j ohm"], DESIGN)
    assert [(item.sample, item.test, item.line) for item in readings] == [
        ("bench", "L_P", 1),
        ("bench", "n", 2),
        ("bench", "R_P", 3),
        ("bench", "Lk_P", 4),
    ]
    assert [item.value for item in readings[:3]] == [612e-6, 5.99, None]
    assert readings[3].impedance == 0.41 + 4.97j
    assert readings_from_options(["n=6"], DESIGN, sample="B2")[0].sample == "B2"


def test_faulty_options_are_named_all_at_once() -> None:
    items = ["L_P=612", "LP=612uH", "n", "n=", "=5", "n=6"]
    with pytest.raises(ReadingsError) as caught:
        readings_from_options(items, DESIGN)
    places = [fault.place for fault in caught.value.faults]
    assert places == [
        "option --read L_P=612, reading",
        "option --read LP=612uH, test",
        "option --read n",
        "option --read n=",
        "option --read =5",
    ]
    assert "Did you mean 'L_P'?" in str(caught.value)


# --- the empty file --------------------------------------------------------------------------------


def test_the_empty_file_is_readable_and_all_missing() -> None:
    samples = ("A1", "#2", "B, 3")
    readings = parse_readings(empty_template(DESIGN, samples), DESIGN)
    assert [(item.sample, item.test) for item in readings] == [
        (sample, test.name) for sample in samples for test in DESIGN.tests
    ]
    assert {item.value for item in readings} == {None}


def test_the_empty_file_says_what_each_test_is() -> None:
    text = empty_template(DESIGN)
    assert (
        "# L_P: inductance at P at 10.00 kHz and 1.000 V (series equivalent) min 580.0 uH max 665.0 uH"
        in text
    )
    assert "# Lk_P: inductance at P with S shorted at 100.0 kHz" in text
    assert "# n: ratio at P sensed at S at 10.00 kHz" in text
    assert "# R_P: resistance at P with direct current\n" in text
    assert "(parallel equivalent)" in text
    resonance = replace(DESIGN.tests[0], name="f_0", measure="resonance", frequency=None)
    swept = empty_template(replace(DESIGN, tests=(resonance,)))
    assert "# f_0: resonance at P found by a sweep of frequency" in swept
    assert "\nsample,test,reading,uncertainty,temperature\nA1,L_P,,,\n" in text
    comments = [line for line in text.splitlines() if line.startswith("#")]
    assert not any(mark in line for line in comments for mark in ',;"\t')


def test_the_filled_in_empty_file_reads_back() -> None:
    filled = empty_template(DESIGN).replace("A1,L_P,,,", "A1,L_P,614 uH,2 %,24.5 degC")
    first = parse_readings(filled, DESIGN)[0]
    assert (first.value, first.temperature) == (614e-6, 24.5)


@pytest.mark.parametrize("samples", [(), ("A1", " ")])
def test_an_empty_file_needs_samples(samples: tuple[str, ...]) -> None:
    with pytest.raises(ReadingsError, match="at least one sample"):
        empty_template(DESIGN, samples)


def test_a_sample_of_two_batches_is_two_parts_under_one_name() -> None:
    text = "sample,test,reading,batch\nA1,L_P,600 uH,a\nA1,n,6,a\nA1,L_P,601 uH,b\nA1,n,6,b\nA2,L_P,1 uH,b\n"
    with pytest.raises(ReadingsError) as caught:
        parse_readings(text, DESIGN)
    (fault,) = caught.value.faults
    assert fault.place == "line 4, batch"
    assert "'b' for A1, of batch 'a' in line 2" in fault.found


def test_a_name_that_begins_with_a_hash_is_not_dropped() -> None:
    text = "sample,test,reading\n#1,L_P,600 uH\nA2,L_P,601 uH\n"
    with pytest.raises(ReadingsError, match="line 2: found '#1,L_P,600 uH', a row or a comment"):
        parse_readings(text, DESIGN)
    assert len(parse_readings(text.replace("#1", '"#1"'), DESIGN)) == 2
    assert len(parse_readings(text.replace("#1", "# 1"), DESIGN)) == 1
