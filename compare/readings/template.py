"""An empty readings file for a design: one row for each test, to be filled in at the bench."""

from __future__ import annotations

from collections.abc import Sequence

from ...predict.design import Bench, BenchTest, Design, Port
from ...predict.errors import Fault, ReadingsError
from ...predict.measures import MEASURE_UNITS
from ...predict.plain_text import FORMULA, LONGEST_NAME, shortened, unfit
from ...predict.quantity import format_quantity

_HEADER = "sample,test,reading,uncertainty,temperature"
_NOTES = (
    "# Write each reading with its unit such as 614 uH. OL or an empty cell means a missing reading.",
    "# Uncertainty: relative (2 %) or absolute (3 uH) and expanded (k = 2). Empty: the meter's own.",
    "# Temperature: of the part with its unit such as 24.5 degC. Empty: the bench's.",
)


def empty_template(design: Design, samples: Sequence[str] = ("A1",)) -> str:
    """Text of an empty readings file (CSV). It can be read as it is: every reading is then missing.

    Comment lines say how to fill it in and what each test is. They hold no delimiter, so that a
    spreadsheet leaves them whole.

    Parameters
    ----------
    design : Design
        The transformer.
    samples : Sequence[str], optional
        Names of the samples; each gets a block of rows.

    Raises
    ------
    ReadingsError
        No sample, an empty name, or a name that controls a terminal or a spreadsheet.
    """
    names = [" ".join(sample.split()) for sample in samples]
    if not names or not all(names):
        found = "no sample" if not names else "an empty name"
        raise ReadingsError(Fault("samples", found, "at least one sample, each with a name"))
    for name in names:
        check_sample_name(name, "samples")
    lines = [*_NOTES, *(_comment(test, design.bench) for test in design.tests), _HEADER]
    lines += [f"{_cell(sample)},{_cell(test.name)},,," for sample in names for test in design.tests]
    return "\n".join(lines) + "\n"


def check_sample_name(name: str, place: str) -> None:
    """Refuse a name of a sample that a file of readings should not get.

    Parameters
    ----------
    name : str
        The name.
    place : str
        Where it was given, for the message.

    Raises
    ------
    ReadingsError
        The name controls a terminal or a spreadsheet, or is too long.
    """
    if wrong := unfit(name, LONGEST_NAME):
        raise ReadingsError(Fault(place, f"{wrong} in {shortened(name)}", "a name on one line"))
    if name.startswith(FORMULA):
        hint = "A spreadsheet would take the cell for a formula."
        raise ReadingsError(Fault(place, repr(name), f"a name with no leading {name[0]!r}", hint))


def _cell(text: str) -> str:
    """Quoted if a reader would split it or take it for a comment."""
    if text.startswith("#") or any(mark in text for mark in ',;"\t\r\n'):
        return '"' + text.replace('"', '""') + '"'
    return text


def _comment(test: BenchTest, bench: Bench) -> str:
    """One test in words: ``# Lk_P: inductance at P with S shorted at 100.0 kHz and 1.000 V (series)``."""
    unit = MEASURE_UNITS[test.measure]
    words = [f"{test.measure.replace('_', ' ')} at {_port(test.drive)}"]
    if test.sense:
        words.append(f"sensed at {_port(test.sense)}")
    if test.short:
        words.append("with " + " and ".join(_port((member,)) for member in test.short) + " shorted")
    if test.measure == "resonance":
        words.append("found by a sweep of frequency")
    elif test.frequency is None:
        words.append("with direct current")
    else:
        level = format_quantity(test.level, "V", ascii=True)
        words.append(f"at {format_quantity(test.frequency, 'Hz', ascii=True)} and {level}")
    if test.measure in ("inductance", "ac_resistance"):
        words.append(f"({test.equivalent or bench.equivalent} equivalent)")
    for word, limit in (("min", test.minimum), ("max", test.maximum)):
        if limit is not None:
            words.append(f"{word} {format_quantity(limit, unit, ascii=True)}")
    text = f"# {test.name}: {' '.join(words)}"
    return " ".join(text.translate(str.maketrans(',;"', "   ")).split())


def _port(port: Port) -> str:
    """Windings in series: ``P - S``."""
    first, *others = port
    text = f"{'-' if first.reversed else ''}{first.name}"
    return text + "".join(f" {'-' if member.reversed else '+'} {member.name}" for member in others)
