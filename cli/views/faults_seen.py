"""The view of ``plan --faults``: what the tests of a design can see, and what no test shows."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ...compare.plan import FaultCoverage, FurtherTest, SeenFault
from ...predict.design import Design
from ..documents import plan_document
from ..documents.record import record_of
from . import words
from .page import Heading, Paragraph, Part

_NAMED = 4
LEAST_GAIN = 0.005
"""Gain in the mean share noticed below which no further test is proposed."""


def coverage_json(coverage: FaultCoverage) -> plan_document.PlanFault:
    """The field ``faults`` of ``plan --faults --json``."""
    return plan_document.PlanFault(
        mean_noticed=coverage.mean,
        causes=[
            record_of(
                plan_document.PlanCause,
                fault,
                class_=fault.kind,
                severities=[
                    plan_document.Severity(amount=amount, title=title, noticed=share)
                    for amount, title, share in fault.severities
                ],
            )
            for fault in coverage.faults
        ],
        further_tests=[
            plan_document.PlanFurtherTest(
                measure=item.test.measure,
                drive=words.port_text(item.test.drive),
                short=[words.port_text((member,)) for member in item.test.short],
                sense=words.port_text(item.test.sense),
                frequency=item.test.frequency,
                gain=item.gain,
                sees=item.sees,
            )
            for item in coverage.further
        ],
    )


def coverage_view(design: Design, coverage: FaultCoverage) -> Iterator[Part]:
    """The page of ``plan --faults``.

    Parameters
    ----------
    design : Design
    coverage : FaultCoverage, what the tests can see
    """
    yield design.title or "(no title)"
    yield from _coverage_parts(design, coverage)
    yield Heading("How to read this")
    yield Paragraph(
        "Noticed: share of parts with this fault, at the severities that show least and most, whose "
        "readings, together or one alone, stray further than those of 99 good parts in a hundred. Not told "
        "from: faults that at some severity read within three standard deviations of it. Production, models, "
        "set-up and meter count as in explain. Needs: tests without which it would be noticed in far fewer "
        "parts."
    )
    yield from words.cautions()


def _sentence(coverage: FaultCoverage) -> str:
    hidden = sum(fault.invisible for fault in coverage.faults)
    count = len(coverage.faults)
    return f"These tests see {count - hidden} of {count} causes; {hidden} stay invisible"


SHORT = {
    "turns": "{} with turns too many or too few",
    "shorted-turn": "a shorted turn of {}",
    "order": "sections in another order",
    "insulation": "insulation missing or too thick in {}",
    "bunched": "{} bunched to one side",
    "crowded": "{} on another part of the ring",
    "offset": "{} shifted along the leg",
    "margin": "wider or narrower margins",
    "scramble": "{} wound without order",
    "chamber": "{} in another chamber",
    "style": "layers of {} brought back otherwise",
    "layer": "{} in a layer more or less than drawn",
    "wire": "another wire size of {}",
    "reel": "another wire size of all of {}",
    "strand": "lost wires of {}",
    "joint": "a bad joint of {}",
    "conductor": "another metal of {}",
    "reversed": "{} reversed",
    "misjoined": "sections of {} joined wrongly",
    "lead-out": "loops in the lead-outs of {}",
    "dielectric": "wet or other insulation",
    "shield": "shield {} missing or closed",
    "stress": "a core under stress",
    "metal-near": "metal near the part",
    "gap": "another gap",
    "unseated": "core halves apart",
    "material": "another core material",
    "mixed-set": "a mixed core set",
    "wrong-al": "a core set of another AL",
    "ungapped": "a core set without a gap",
    "cracked": "a cracked core",
    "bias": "bias or remanence in the core",
    "wrong-core": "another core",
    "mean-turn": "turns longer than drawn",
    "effective-breadth": "a breadth other than drawn",
    "al-basis": "an AL on another basis",
    "short-link": "a shorting link of more inductance",
    "leads": "leads that are not corrected",
    "two-wire": "resistances read with two wires",
    "display": "the other equivalent circuit",
    "temperature": "a part of another temperature",
    "frequency": "another test frequency",
    "level": "another level",
    "wrong-short": "another winding shorted, or none",
}
"""Causes in short words; {} stands for the places."""


def _in_short(hidden: Sequence[SeenFault]) -> list[str]:
    """Causes that no test shows, one item a cause with all its places; one without short words by its
    title."""
    of_cause: dict[str, list[SeenFault]] = {}
    for fault in hidden:
        of_cause.setdefault(fault.cause, []).append(fault)
    told = []
    for cause, faults in of_cause.items():
        if cause not in SHORT:
            told += [fault.severities[-1][1] for fault in faults]
            continue
        names = [fault.where for fault in faults]
        steps = [name.removeprefix("step ") for name in names]
        if all(name.startswith("step ") for name in names):
            names = [f"step{'s' if len(steps) > 1 else ''} {', '.join(steps)}"]
        told.append(SHORT[cause].format(", ".join(names)))
    return told


def coverage_summary(coverage: FaultCoverage) -> Iterator[Part]:
    """What no test of the file shows, and the tests that would add most."""
    hidden = [fault for fault in coverage.faults if fault.invisible]
    if hidden:
        yield words.caution(f"No test of this file shows it: {'; '.join(_in_short(hidden))}.")
    for number, further in enumerate(item for item in coverage.further if item.gain >= LEAST_GAIN):
        head = "Adds most: " if number == 0 else "Then:      "
        yield Paragraph(_further(further), "           ", head)


def _coverage_parts(design: Design, coverage: FaultCoverage) -> Iterator[Part]:
    """Sentence, what no test shows, the table, what each test is for, and the test that would add most."""
    yield Heading(_sentence(coverage))
    yield from coverage_summary(coverage)
    rows = [
        [
            f"{fault.cause} {fault.where}",
            _share(fault.severities[0][2]),
            _share(fault.severities[-1][2]),
            "-" if fault.best < 0.5 else _alike(fault),
            ", ".join(fault.needs),
        ]
        for fault in coverage.faults
    ]
    yield words.table(["cause", "least", "most", "not told from", "needs"], rows, right=(1, 2))
    yield Heading("For the test house")
    for test in design.tests:
        caught = [f"{fault.cause} {fault.where}" for fault in coverage.faults if test.name in fault.needs]
        text = ", ".join(caught) if caught else "nothing that the others together do not show"
        yield Paragraph(f"{test.name}: {text}.", "  ", "")


def _share(share: float) -> str:
    return words.per_cent(share)


def _alike(fault: SeenFault) -> str:
    names = [f"{cause} {where}" for cause, where in fault.alike]
    shown = ", ".join(names[:_NAMED])
    return "" if not names else shown if len(names) <= _NAMED else f"{shown} and {len(names) - _NAMED} more"


def _further(item: FurtherTest) -> str:
    text = f"{words.how(item.test)}: {item.gain * 100:.1f} % more of all faults noticed"
    if item.sees:
        text += f"; it shows {', '.join(' '.join(name) for name in item.sees)}"
    return text + "."
