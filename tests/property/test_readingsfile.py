"""Readings survive every way of writing them down, and broken text never escapes as another exception."""

import csv
import io
import math

import pytest
from how_many import examples
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from aswound.compare.readings import Reading, empty_template, parse_readings
from aswound.predict.design import (
    BenchTest,
    Bobbin,
    Build,
    Core,
    Design,
    Material,
    Member,
    ToroidDimensions,
)
from aswound.predict.errors import Fault, ReadingsError

pytestmark = pytest.mark.property

P, S = (Member("P"),), (Member("S"),)
DESIGN = Design(
    title="readings",
    core=Core(
        name="ring",
        dimensions=ToroidDimensions(36e-3, 23e-3, 15e-3),
        material=Material(name="m", initial_permeability=2000.0),
        effective_area=95.9e-6,
        effective_length=89.7e-3,
    ),
    bobbin=Bobbin(),
    windings=(),
    build=Build(steps=()),
    tests=(
        BenchTest(name="L_P", measure="inductance", drive=P, frequency=10e3),
        BenchTest(name="n", measure="ratio", drive=P, sense=S, frequency=10e3),
        BenchTest(name="R_P", measure="resistance", drive=P),
        BenchTest(name="theta", measure="phase", drive=P, frequency=10e3),
    ),
)
UNITS = {"L_P": ("uH", 1e-6), "n": ("", 1.0), "R_P": ("mohm", 1e-3), "theta": ("deg", math.pi / 180)}

numbers = st.decimals(min_value=-9999, max_value=9999, places=2, allow_nan=False)
names = st.text(st.characters(codec="utf-8", exclude_categories=["C", "Z"]), min_size=1, max_size=8)
notes = st.text(st.sampled_from('abc ,;"\t#\n.µ'), max_size=12).map(str.strip)
rows = st.lists(st.tuples(names, st.sampled_from(sorted(UNITS)), numbers, notes), min_size=1, max_size=8)


def quoted(text: str) -> str:
    return '"' + text.replace('"', '""') + '"'


@settings(max_examples=examples(150), deadline=None)
@example(
    rows=[("one", "n", 1, ";\n#a;b;c;d;e")],
    delimiter=";",
    comma=False,
    placed="cell",
    ending="\n",
    order=["sample", "test", "reading", "unit", "note"],
    mark=False,
    comments=True,
)
@given(
    rows=rows,
    delimiter=st.sampled_from([",", ";", "\t"]),
    comma=st.booleans(),
    placed=st.sampled_from(["cell", "column"]),
    ending=st.sampled_from(["\n", "\r\n"]),
    order=st.permutations(["sample", "test", "reading", "unit", "note"]),
    mark=st.booleans(),
    comments=st.booleans(),
)
def test_readings_survive_every_way_of_writing_them(
    rows: list[tuple[str, str, object, str]],
    delimiter: str,
    comma: bool,
    placed: str,
    ending: str,
    order: list[str],
    mark: bool,
    comments: bool,
) -> None:
    lines = [delimiter.join(order)]
    for sample, test, number, note in rows:
        unit = UNITS[test][0]
        text = str(number).replace(".", ",") if comma and delimiter != "," else str(number)
        cells = {
            "sample": quoted(sample),
            "test": test,
            "reading": f"{text} {unit}".strip() if placed == "cell" else text,
            "unit": unit if placed == "column" else "",
            "note": quoted(note),
        }
        lines += ["# a remark", ""] * comments + [delimiter.join(cells[column] for column in order)]
    text = "\ufeff" * mark + ending.join(lines)
    readings = parse_readings(text, DESIGN)
    assert [(item.sample, item.test, item.note) for item in readings] == [
        (sample, test, note) for sample, test, _, note in rows
    ]
    for item, (_, test, number, _) in zip(readings, rows, strict=True):
        assert item.value == pytest.approx(float(str(number)) * UNITS[test][1], rel=1e-12, abs=0.0)


@settings(max_examples=examples(100), deadline=None)
@given(samples=st.lists(names | st.just("#1") | st.just('a, "b"'), min_size=1, max_size=4))
def test_the_empty_file_is_readable_whatever_the_samples_are_called(samples: list[str]) -> None:
    assume(not any(" ".join(name.split()).startswith(("=", "+", "-", "@")) for name in samples))
    readings = parse_readings(empty_template(DESIGN, samples), DESIGN)
    assert [item.sample for item in readings] == [sample for sample in samples for _ in DESIGN.tests]
    assert all(item.value is None for item in readings)


@settings(max_examples=examples(300), deadline=None)
@given(text=st.text(max_size=80) | st.text(st.sampled_from('A1,L_Pn;\t"#\n\r 0.5uH%[]()j+-'), max_size=120))
def test_any_text_below_a_header_gives_readings_or_their_faults(text: str) -> None:
    for header in ("", "sample,test,reading\n", "sample;test;reading [uH];uncertainty\n"):
        faults: tuple[Fault, ...] = ()
        readings: tuple[Reading, ...] = ()
        try:
            readings = parse_readings(header + text, DESIGN)
        except ReadingsError as error:
            faults = error.faults
        assert bool(readings) != bool(faults)
        assert all(fault.place and fault.found and fault.allowed for fault in faults)
        assert all(item.value is None or math.isfinite(item.value) for item in readings)


@settings(max_examples=examples(100), deadline=None)
@given(
    good=st.lists(st.sampled_from(["A1,n,5.99", "A1,L_P,614 uH"]), max_size=6),
    bad=st.sampled_from(["A1,n", "A1,x,1", "A1,L_P,614", ",n,5.99", "A1,n,5.99,,7", "A1,R_P,x"]),
    position=st.integers(0, 6),
)
def test_one_bad_row_anywhere_stops_the_file_and_is_named_by_its_line(
    good: list[str], bad: str, position: int
) -> None:
    position = min(position, len(good))
    lines = [*good[:position], bad, *good[position:]]
    with pytest.raises(ReadingsError) as caught:
        parse_readings("sample,test,reading\n" + "\n".join(lines), DESIGN)
    assert {fault.place.split(",")[0] for fault in caught.value.faults} == {f"line {position + 2}"}


@settings(max_examples=examples(100), deadline=None)
@given(rows=rows, delimiter=st.sampled_from([",", ";", "\t"]))
def test_files_of_the_standard_csv_writer_are_read(
    rows: list[tuple[str, str, object, str]], delimiter: str
) -> None:
    """Whatever the writer quotes, except a first cell that begins with #, which it leaves bare."""
    kept = [row for row in rows if not row[0].startswith("#")]
    stream = io.StringIO()
    writer = csv.writer(stream, delimiter=delimiter)
    writer.writerow(["sample", "test", "reading", "note"])
    for sample, test, number, note in kept:
        writer.writerow([sample, test, f"{number} {UNITS[test][0]}".strip(), note])
    if not kept:
        return
    readings = parse_readings(stream.getvalue(), DESIGN)
    assert [(item.sample, item.test, item.note) for item in readings] == [
        (sample, test, note) for sample, test, _, note in kept
    ]
