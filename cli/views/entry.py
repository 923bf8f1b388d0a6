"""The view of ``enter``: what is asked, and what is said of each reading."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ...compare.diagnosis import Diagnosis
from ...compare.plan import BenchGuide, judged_entry
from ...compare.readings import Reading
from ...predict.design import Design
from ...predict.errors import Fault
from ...predict.quantity import format_quantity
from . import words
from .diagnosis import measurement, verdict
from .page import Heading, Paragraph, Part


def opening(design: Design, file: str, samples: Sequence[str], usage: Sequence[str]) -> Iterator[Part]:
    """What is printed above the first question.

    Parameters
    ----------
    design : Design
    file : str, name of the readings file
    samples : Sequence[str], samples that it holds already
    usage : Sequence[str], how to answer, in sentences
    """
    yield design.title or "(no title)"
    told = f"Each reading is saved in {file} before the next is asked for."
    if samples:
        told += f" It holds {', '.join(samples)}."
    yield Paragraph(told)
    for text in usage:
        yield Paragraph(text)
    yield from words.cautions(*words.design_cautions(design))


def unit_of_prompt(guide: BenchGuide, index: int) -> str:
    """The unit in which a bare number is taken: that of the expected reading, in plain letters.

    Parameters
    ----------
    guide : BenchGuide, tests, expected readings and limits for the bench
    index : int, index of the test
    """
    test = guide.planned[index]
    unit = words.unit_of(test.measure)
    if unit == "1":
        return ""
    return format_quantity(test.expected, unit, 4, ascii=True).partition(" ")[2] or "deg"


def question(guide: BenchGuide, test_index: int, sample: str) -> Iterator[Part]:
    """One test: connections, set-up, expected range and limits.

    Parameters
    ----------
    guide : BenchGuide, tests, expected readings and limits for the bench
    test_index : int, index of the test
    sample : str, name of the sample
    """
    test = guide.planned[test_index]
    yield ""
    yield f"{sample}, {test_index + 1} of {len(guide.planned)}: {test.name}, {test.measure.replace('_', ' ')}"
    yield Paragraph(test.connections, "  ", "  ")
    limits = words.limits(test.minimum, test.maximum, test.measure)
    told = f"{words.set_up(test)}. Expect {words.span(test.low, test.high, test.measure)}"
    yield Paragraph(told + (f"; limits {limits}." if limits else "."), "  ", "  ")


def prompt(guide: BenchGuide, test_index: int) -> str:
    """The end of the question: "L_P in uH: ".

    Parameters
    ----------
    guide : BenchGuide, tests, expected readings and limits for the bench
    test_index : int, index of the test
    """
    unit = unit_of_prompt(guide, test_index)
    return f"{guide.planned[test_index].name} in {unit}: " if unit else f"{guide.planned[test_index].name}: "


def answer(guide: BenchGuide, index: int, reading: Reading) -> Iterator[Part]:
    """What is said of one reading: in, out, at the edge, or not to be judged; and what it looks like.

    Parameters
    ----------
    guide : BenchGuide, tests, expected readings and limits for the bench
    index : int, index of the test
    reading : Reading, the reading, SI
    """
    judgement = judged_entry(guide, reading)
    measure = guide.planned[index].measure
    told = (
        f"{words.quantity_text(reading.value, measure)}: {judgement.verdict}"
        if reading.value is not None
        else judgement.verdict
    )
    if judgement.score is not None:
        told += f" (score {words.score(judgement.score)})"
    if judgement.why:
        told += f": {judgement.why}"
    yield Paragraph(told + ".", "  ", "  " if judgement.verdict == "in" else "! ")
    if judgement.looks_like:
        yield Paragraph(
            f"It looks like {', or '.join(judgement.looks_like)}. b: back, to type it again.", "  ", "  "
        )


def refusal(faults: Sequence[Fault]) -> Iterator[Part]:
    """A line that is no reading; it is asked for again."""
    for fault in faults:
        place = fault.place.strip(" ,")
        text = f"{f'{place}: ' if place and place != 'reading' else ''}{fault.found} is not {fault.allowed}."
        yield Paragraph(f"{text} {fault.hint}".rstrip(), "  ", "! ")
    yield "  (?: what can be typed)"


def sample_verdict(diagnosis: Diagnosis) -> Iterator[Part]:
    """The verdict on a sample, and the one measurement that would tell most."""
    yield Heading(verdict(diagnosis))
    listed = diagnosis.causes[0].probability >= diagnosis.unlisted
    if diagnosis.deviates and not listed:
        scores = [(abs(item.score or 0.0), item.name) for item in diagnosis.readings]
        yield Paragraph(f"Read {max(scores)[1]} again first: it is furthest off.")
    if diagnosis.deviates and listed:
        yield Paragraph(diagnosis.causes[0].confirm, "         ", "Confirm: ")
    if diagnosis.next_tests:
        best = diagnosis.next_tests[0]
        yield Paragraph(f"{measurement(best)}: {best.why}.", "              ", "Measure next: ")


def closing(file: str, samples: Sequence[str], design: str) -> Iterator[Part]:
    """What the file holds now, and what to do with it.

    Parameters
    ----------
    file : str, name of the readings file
    samples : Sequence[str], samples that it holds
    design : str, name of the design file
    """
    yield ""
    if not samples:
        yield "Nothing was entered."
        return
    yield Paragraph(
        f"{file} holds {', '.join(samples)}. 'aswound explain {design} {file}' gives the full verdict."
    )
