"""Fixture files: what is read, what is refused, and what becomes of readings."""

import math
from pathlib import Path

import pytest

from aswound.compare.readings.cells import Reading
from aswound.compare.readings.correction import corrected
from aswound.compare.readings.fixture_file import correct_readings, parse_fixture
from aswound.predict.design import Bench, BenchTest, Member
from aswound.predict.errors import ReadingsError

COIL = BenchTest(
    name="Lk_P", measure="inductance", drive=(Member("P"),), short=(Member("S"),), frequency=100e3
)
LOSS = BenchTest(
    name="Rac_P", measure="ac_resistance", drive=(Member("P"),), short=(Member("S"),), frequency=100e3
)
COPPER = BenchTest(name="R_P", measure="resistance", drive=(Member("P"),))
TESTS = {test.name: test for test in (COIL, LOSS, COPPER)}
GOOD = """standard,frequency,reading,uncertainty,true
open,100 kHz,1000 - 300000j ohm,,
short,100 kHz,0.02 + 0.11j ohm,2 mohm,
load,100 kHz,100.5 + 0.9j ohm,0.1 %,100 + 0.2j ohm
open,10 kHz,OL,,
short,10 kHz,0.02 + 0.012j ohm,,
"""


def reading(impedance: complex, **more: object) -> Reading:
    omega = 2 * math.pi * 100e3
    return Reading(sample="A", test="Lk_P", value=impedance.imag / omega, impedance=impedance, **more)  # type: ignore[arg-type]


def test_standards_by_frequency() -> None:
    low, high = parse_fixture(GOOD)
    assert (low.frequency, high.frequency) == (10e3, 100e3)
    assert (low.kind, high.kind) == ("open and short", "open, short and load")
    assert low.open is not None
    assert math.isinf(low.open.impedance.real)
    assert high.short is not None
    assert high.short.uncertainty == pytest.approx(1e-3)  # 2 mΩ at k = 2
    assert high.load is not None
    assert high.load.uncertainty == pytest.approx(0.0005 * abs(100.5 + 0.9j))
    assert high.true_load is not None
    assert high.true_load.impedance == 100 + 0.2j


def test_decimal_commas_and_units_in_the_header() -> None:
    text = "standard;frequency [kHz];reading [ohm]\nshort;100;0,02 + 0,11j\n"
    (only,) = parse_fixture(text)
    assert only.frequency == 100e3
    assert only.short is not None
    assert only.short.impedance == 0.02 + 0.11j


def test_every_fault_at_once() -> None:
    text = """standard,frequency,reading,uncertainty,true
shrt,100 kHz,0.02 + 0.11j ohm,,
short,100 mm,0.02 + 0.11j ohm,,
short,100 kHz,OL,,
open,100 kHz,OL,1 ohm,
load,20 kHz,100 ohm,,
open,50 kHz,1 - 2000j ohm,,100 ohm
open,60 kHz,OL,,
open,60 kHz,OL,,
load,70 kHz,100 ohm,,100 ohm
short,80 kHz,,,
"""
    with pytest.raises(ReadingsError) as caught:
        parse_fixture(text, name="f.csv")
    places = [fault.place for fault in caught.value.faults]
    assert places == [
        "line 2, standard",
        "line 3, frequency",
        "line 4, reading",
        "line 5, uncertainty",
        "line 6, true",
        "line 7, true",
        "line 9",
        "line 11, reading",
        "line 10",
    ]
    assert {fault.file for fault in caught.value.faults} == {"f.csv"}
    assert "Did you mean 'short'?" in caught.value.faults[0].hint


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("", "no rows"),
        ("standard,frequency,reading\n", "no rows"),
        ("standard,frequency\nopen,1 kHz\n", "no column reading"),
        ("standard,frequency,reading,color\nopen,1 kHz,OL,red\n", "'color'"),
        ("standard,frequency,reading,reading\nopen,1 kHz,OL,OL\n", "column reading again"),
    ],
)
def test_unusable_headers(text: str, found: str) -> None:
    with pytest.raises(ReadingsError, match=found):
        parse_fixture(text)


def test_a_raw_reading_becomes_the_part_again() -> None:
    """The part is put behind the two-port that open, short and load describe; the correction takes it off."""
    part, omega = 0.4 + 4.97j, 2 * math.pi * 100e3
    standards = parse_fixture(GOOD)
    high = standards[1]
    assert high.open
    assert high.short
    assert high.load
    assert high.true_load
    # invert Z = T (Zo − Zsm)(Zx − Zs)/[(Zsm − Zs)(Zo − Zx)] for Zx
    o, s, m, t = (item.impedance for item in (high.open, high.short, high.load, high.true_load))
    ratio = part * (m - s) / (t * (o - m))
    raw = (s + ratio * o) / (1 + ratio)
    done = correct_readings(TESTS, Bench(), [reading(raw)], standards)
    (item,) = done.readings
    assert item.impedance == pytest.approx(part, rel=1e-9)
    assert item.value == pytest.approx(4.97 / omega, rel=1e-9)
    assert done.kinds == (("open, short and load", "100 kHz"),)
    assert done.corrected == ("Lk_P",)


def test_the_short_alone_is_subtracted_and_its_uncertainty_added() -> None:
    """Closed form: L = (X − X_s)/ω; u² of own and short, both in ohm over ω, as stated."""
    omega = 2 * math.pi * 100e3
    standards = parse_fixture("standard,frequency,reading,uncertainty\nshort,100 kHz,0.02+0.11j ohm,6 mohm\n")
    own = 4e-3 / omega  # 4 mΩ of reactance
    done = correct_readings(TESTS, Bench(), [reading(0.42 + 5.08j, uncertainty=own)], standards)
    (item,) = done.readings
    assert item.value == pytest.approx(4.97 / omega, rel=1e-12)
    assert item.uncertainty == pytest.approx(5e-3 / omega, rel=1e-6)  # 3, 4 → 5 mΩ


def test_a_perfect_open_changes_nothing() -> None:
    both = parse_fixture("standard,frequency,reading\nopen,100 kHz,OL\nshort,100 kHz,0.02+0.11j ohm\n")
    alone = parse_fixture("standard,frequency,reading\nshort,100 kHz,0.02+0.11j ohm\n")
    raw = reading(0.42 + 5.08j)
    one, other = (correct_readings(TESTS, Bench(), [raw], item).readings[0] for item in (both, alone))
    assert one.value == other.value
    assert one.uncertainty == pytest.approx(other.uncertainty)
    assert one.impedance == corrected(0.42 + 5.08j, short=0.02 + 0.11j)


def test_without_an_uncertainty_meter_and_handling_remain() -> None:
    standards = parse_fixture("standard,frequency,reading\nshort,100 kHz,0.02+0.11j ohm\n")
    (item,) = correct_readings(TESTS, Bench(), [reading(0.42 + 5.08j)], standards).readings
    assert item.value is not None
    assert item.uncertainty is not None
    omega = 2 * math.pi * 100e3
    meter = math.hypot(0.001 * abs(0.42 + 5.08j), 2e-3, omega * 2e-9) / 2 / omega
    assert item.uncertainty == pytest.approx(math.hypot(meter, 0.002 * item.value), rel=2e-3)


def test_what_is_no_impedance_stays_and_is_named() -> None:
    standards = parse_fixture("standard,frequency,reading\nshort,100 kHz,0.02+0.11j ohm\n")
    shown = Reading(sample="A", test="Lk_P", value=8e-6)
    copper = Reading(sample="A", test="R_P", value=0.2, impedance=0.2 + 0j)
    missing = Reading(sample="A", test="Rac_P", value=None)
    done = correct_readings(TESTS, Bench(), [shown, copper, missing], standards)
    assert done.readings == (shown, copper, missing)
    assert (done.corrected, done.as_displayed, done.kinds) == ((), ("Lk_P", "R_P"), ())


def test_frequencies_without_standards_are_faults_all_at_once() -> None:
    standards = parse_fixture("standard,frequency,reading\nshort,10 kHz,0.02+0.01j ohm\n")
    rows = [reading(0.4 + 5j), reading(0.4 + 5j), reading(0.4 + 2j, frequency=50e3)]
    with pytest.raises(ReadingsError) as caught:
        correct_readings(TESTS, Bench(), rows, standards)
    assert [fault.found for fault in caught.value.faults] == [
        "no standards read at 100 kHz",
        "no standards read at 50 kHz",
    ]


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    from aswound.compare.readings.fixture_file import load_fixture

    with pytest.raises(ReadingsError, match="no such file"):
        load_fixture(tmp_path / "none.csv")
