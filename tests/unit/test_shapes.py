"""Readings in tables of other shapes: wide ones, titled ones, meters' logs. Labels: unit, exact, property."""

import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from aswound.cli.views.faults import said_once
from aswound.compare.consistency.undrawn import check_part
from aswound.compare.readings.file import load_readings, parse_readings
from aswound.predict import load_design
from aswound.predict.errors import Fault, ReadingsError

DESIGN = load_design("samples/flyback-24w.toml")


def values(text: str, *mapping: str) -> dict[tuple[str, str], float | None]:
    return {(item.sample, item.test): item.value for item in parse_readings(text, DESIGN, mapping=mapping)}


def faults_of(text: str, *mapping: str) -> list[Fault]:
    with pytest.raises(ReadingsError) as caught:
        parse_readings(text, DESIGN, name="bench.csv", mapping=mapping)
    return list(caught.value.faults)


# --- wide -------------------------------------------------------------------------------------------


def test_a_wide_table_reads_like_the_long_one() -> None:
    long = "sample,test,reading,batch\nA1,L_P,598 uH,B1\nA1,Lk_P,3.7 uH,B1\nA2,L_P,600 uH,B2\nA2,Lk_P,OL,B2\n"
    wide = "batch,sample,L_P [uH],Lk_P\nB1,A1,598,3.7 uH\nB2,A2,600,OL\n"
    assert values(wide) == values(long)
    assert [item.batch for item in parse_readings(wide, DESIGN)] == ["B1", "B1", "B2", "B2"]


@pytest.mark.parametrize("heading", ["L_P [uH]", "L_P (uH)", "L_P, uH", "L_P / uH", "l_p [µH]"])
def test_units_in_the_header_of_a_wide_table(heading: str) -> None:
    assert values(f"sample;{heading}\nA1;598,5\nA2;0,6 mH\nA3;601u\n") == {
        ("A1", "L_P"): pytest.approx(598.5e-6, rel=1e-12),
        ("A2", "L_P"): pytest.approx(600e-6, rel=1e-12),
        ("A3", "L_P"): pytest.approx(601e-6, rel=1e-12),
    }


@pytest.mark.parametrize("first", ["", "unit", "Units"])
def test_units_in_the_first_row_of_a_wide_table(first: str) -> None:
    text = f"sample\tL_P\tR_P\tn\n{first}\tuH\tmOhm\t\nA1\t598\t562\t7.5\n"
    assert values(text) == {
        ("A1", "L_P"): pytest.approx(598e-6, rel=1e-12),
        ("A1", "R_P"): pytest.approx(0.562, rel=1e-12),
        ("A1", "n"): 7.5,
    }


def test_a_frequency_column_of_a_wide_table_leaves_direct_current_alone() -> None:
    one, two = parse_readings("sample,frequency,L_P [uH],R_P [mohm]\nA1,20 kHz,598,562\n", DESIGN)
    assert (one.frequency, two.frequency) == (20e3, None)


def test_a_title_above_the_header_is_passed_over_and_lines_still_count() -> None:
    text = "Incoming inspection,,\nby RS,2026-11-03,\n\nsample,L_P [uH],n\nA1,598,7.5\nA2,oops,7.5\n"
    assert [fault.place for fault in faults_of(text)] == ["line 6, L_P, reading"]
    assert values(text.replace("oops", "600"))["A2", "L_P"] == pytest.approx(600e-6, rel=1e-12)


def test_faults_of_a_wide_header_name_the_column() -> None:
    (fault,) = faults_of("sample,L_P [uH],LkP [uH]\nA1,598,3\n")
    assert fault.found == "column 'LkP [uH]'"
    assert "Did you mean 'Lk_P'?" in fault.hint
    (fault,) = faults_of("sample,L_P [uH],L_P\nA1,598,3 uH\n")
    assert "again" in fault.found
    (fault,) = faults_of("sample,L_P [mohm]\nA1,598 uH\n")
    assert "'mohm'" in fault.found
    (fault,) = faults_of("sample,L_P\nA1,598\n")  # a unit is never guessed
    assert fault.place == "line 2, L_P, reading"


def test_a_workbook_may_be_wide(tmp_path: Path) -> None:
    openpyxl = pytest.importorskip("openpyxl")
    book = openpyxl.Workbook()
    for row in (["Lot 7"], ["sample", "L_P", "R_P"], [None, "uH", "mOhm"], ["A1", 598.25, 562]):
        book.active.append(row)
    book.save(tmp_path / "lot.xlsx")
    assert [item.value for item in load_readings(tmp_path / "lot.xlsx", DESIGN)] == [
        pytest.approx(598.25e-6, rel=1e-12),
        pytest.approx(0.562, rel=1e-12),
    ]


def test_check_takes_a_wide_table(tmp_path: Path) -> None:
    file = tmp_path / "part.csv"
    file.write_text("sample,L_P [uH],L_S [uH],Lk_P [uH],n_P_S\nA1,600,16.7,3.9,6\n", encoding="utf-8")
    (part,) = check_part(file)
    assert part.readings == 4
    assert part.checks
    assert part.derived


# --- meters' logs -----------------------------------------------------------------------------------

OMEGA = 2 * math.pi * 10e3
IMPEDANCE = 1.25 + 1j * OMEGA * 590e-6
QUALITY = IMPEDANCE.imag / IMPEDANCE.real
PARALLEL = 1 / (1 / IMPEDANCE).real, -1 / (OMEGA * (1 / IMPEDANCE).imag)


@pytest.mark.parametrize(
    ("heads", "cells", "column"),
    [
        ("Ls [uH]", "590", "Ls"),
        ("Lp(uH),Q", f"{PARALLEL[1] * 1e6!r},{QUALITY!r}", "Lp"),
        ("Lp [uH],D", f"{PARALLEL[1] * 1e6!r},{1 / QUALITY!r}", "Lp"),
        ("Lp [uH],Rp [kohm]", f"{PARALLEL[1] * 1e6!r},{PARALLEL[0] / 1e3!r}", "Lp"),
        ("|Z| [ohm],θ [°]", f"{abs(IMPEDANCE)!r},{math.degrees(math.atan(QUALITY))!r}", "|Z|"),
        ("Z [ohm],theta", f"{abs(IMPEDANCE)!r},{math.degrees(math.atan(QUALITY))!r}", "Z"),
        ("Rs [Ohm],X [Ohm]", f"{IMPEDANCE.real!r},{IMPEDANCE.imag!r}", "X"),
    ],
)
def test_a_logs_columns_give_the_display_of_the_test(heads: str, cells: str, column: str) -> None:
    """Exact: one impedance in all its displays reads as one series inductance."""
    text = f"No.,Freq [kHz],{heads}\n7,10,{cells}\n"
    assert values(text, f"{column}=L_P", "No.=sample") == {("7", "L_P"): pytest.approx(590e-6, rel=1e-12)}


@given(st.floats(0.01, 100), st.floats(1e-6, 1e-1))
def test_series_and_parallel_columns_agree_at_any_quality(quality: float, inductance: float) -> None:
    """Property: Ls and Lp = Ls (1 + 1/Q²) of one impedance give one reading."""
    parallel = inductance * (1 + quality**-2)
    text = f"No.,f [Hz],Lp [H],Q\n1,10000,{parallel!r},{quality!r}\n"
    assert values(text, "Lp=L_P", "No.=sample")["1", "L_P"] == pytest.approx(inductance, rel=1e-9)


def test_a_log_may_name_units_in_the_map_and_hold_columns_nobody_asked_for() -> None:
    text = "Idx,Freq,Ls,Rs,Time,Status\n1,10000,5.9e-4,1.2,10:15,OK\n2,1e4,6.0e-4,1.2,10:16,OK\n"
    found = values(text, "Ls [H]=L_P", "Idx=sample", "Freq [Hz]=frequency")
    assert found == {("1", "L_P"): 5.9e-4, ("2", "L_P"): 6.0e-4}


def test_a_log_without_samples_is_one_part_and_two_readings_alike_are_refused() -> None:
    text = "Freq [kHz],Ls [uH]\n10,590\n20,591\n"
    readings = parse_readings(text, DESIGN, name="bench/part 9.csv", mapping=["Ls=L_P"])
    assert [(item.sample, item.frequency) for item in readings] == [("part 9", 10e3), ("part 9", 20e3)]
    (fault,) = faults_of(text.replace("20,", "10,"), "Ls=L_P")
    assert fault.place == "line 3"
    assert "--map" in fault.hint


@pytest.mark.parametrize(
    ("mapping", "found"),
    [
        (["Ls=L_X"], "'L_X'"),
        (["Lz=L_P"], "'Lz'"),
        (["Ls"], "'Ls'"),
        (["Ls=L_P", "Ls=L_P"], "for two tests"),
        (["Ls=R_P"], "the column Ls [uH]"),
        (["Lp=L_P"], "which does not show the series inductance"),
    ],
)
def test_maps_that_cannot_be_used(mapping: list[str], found: str) -> None:
    text = "No.,Freq [kHz],Ls [uH],Lp [uH]\n1,10,590,591\n"
    assert any(found in fault.found for fault in faults_of(text, *mapping, "No.=sample"))


@pytest.mark.parametrize("head", ["Part", "Serial no.", "No.", "S/N"])
def test_parts_may_be_headed_as_people_do(head: str) -> None:
    readings = parse_readings(f"{head},L_P [uH],n\nS1,590,7.5\nS2,601,7.5\n", DESIGN)
    assert [(one.sample, one.test) for one in readings][::2] == [("S1", "L_P"), ("S2", "L_P")]


def test_two_columns_that_could_name_the_parts_are_asked_about() -> None:
    with pytest.raises(ReadingsError):
        parse_readings("No.,Part,L_P [uH]\n1,S1,590\n", DESIGN)


# --- faults that repeat ------------------------------------------------------------------------------


def test_a_fault_that_repeats_is_said_once_with_its_rows() -> None:
    rows = "".join(f"A{number},L_P,{600 + number}\n" for number in range(22))
    faults = faults_of("sample,test,reading\n" + rows + "A9,n,x\nA9,L_P,7\n")
    assert len(faults) == 24
    first, second = said_once(faults)
    assert first.place == "rows 2–23, 25, reading"
    assert first.found == "'600', '601', '602' and 20 more"
    assert second.place == "line 24, reading"


def test_two_rows_alike_are_said_one_by_one() -> None:
    faults = [Fault(f"line {line}, test", "'x'", "a test") for line in (4, 9)]
    assert said_once(faults) == faults
