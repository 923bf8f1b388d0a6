"""The view of ``explain``: the verdict first, then its evidence, then what to do."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from string import ascii_lowercase

from ...compare.diagnosis import Diagnosis, Family, NextTest, RankedCause, ReadingUnderCause
from ...compare.meter import COVERAGE
from ...compare.verdict import DEVIATES
from ...predict.design import Design
from . import words
from .failed_limits import limits_sentence, missed_limits_view
from .page import Heading, Paragraph, Part

ENOUGH = 0.99
"""Causes are listed until their probabilities make this much."""
LEAST_SHOWN = 0.005
SPEAKS, LARGEST, MOST_TOLD = 0.4, math.log(1000), 4
"""A reading speaks from a likelihood ratio of 1.5 on; beyond 1000 the number says nothing; so many are
named."""
LEAST_BITS = 0.05
"""A test that tells less is not worth a line."""
LEADS, ALONE, SURELY = 0.5, 0.9, 0.9
"""A cause or a family is stated from ``LEADS`` on, with what to do about it; a cause by itself where it holds
``ALONE`` of its family. As designed is stated in per cent from ``SURELY`` on."""
LEAST_MEMBER = 0.02
"""A member of a family is named from here on."""
LEAST_PAIR = 0.05
"""A pair of causes is listed from here on; below, it is the leading cause with something that hardly
shows."""


def verdict(diagnosis: Diagnosis) -> str:
    """The verdict in one sentence: what is sure first; of a part that is not decided against also the limits
    that it fails."""
    sample = diagnosis.sample
    if not diagnosis.informed:
        return f"{sample}: no verdict, since no reading is usable"
    if not diagnosis.deviates:
        return _not_against(diagnosis) + limits_sentence(diagnosis)
    best = diagnosis.causes[0]
    family = lead_family(diagnosis)
    if diagnosis.unlisted > max(best.probability, family.probability):
        return f"{sample}: something that is not in the catalogue, {words.per_cent(diagnosis.unlisted)}"
    if best.probability >= LEADS and not _wider(diagnosis):
        return f"{sample}: {best.title} ({words.per_cent(best.probability)})"
    if family.probability >= LEADS:
        return f"{sample}: {family.title} ({words.per_cent(family.probability)})"
    wide = _wider(diagnosis)
    title, guess = (family.title, family.probability) if wide else (best.title, best.probability)
    return f"{sample}: not sure; the best guess is that {title} ({words.per_cent(guess)})"


def _not_against(diagnosis: Diagnosis) -> str:
    """The verdict on a part that nothing is decided against."""
    sample, best = diagnosis.sample, diagnosis.causes[0]
    agree = all(reading.score is None or abs(reading.score) <= DEVIATES for reading in diagnosis.readings)
    if diagnosis.as_designed >= SURELY:
        return f"{sample}: as designed, {words.per_cent(diagnosis.as_designed)}"
    if agree and best.probability < max(LEADS, diagnosis.as_designed):
        return f"{sample}: consistent with the design; {_how_many(diagnosis)}"
    if best.probability > diagnosis.as_designed:
        told = f"{best.title} ({words.per_cent(best.probability)})"
        return f"{sample}: not sure; within what sound parts read, but the best guess is that {told}"
    return f"{sample}: not sure; as designed is the most likely ({words.per_cent(diagnosis.as_designed)})"


def lead_family(diagnosis: Diagnosis) -> Family:
    """The most probable family of causes."""
    return diagnosis.families[0]


def _wider(diagnosis: Diagnosis) -> bool:
    """Whether the leading family says more surely what is wrong than the most probable cause."""
    family, best = lead_family(diagnosis), diagnosis.causes[0]
    several = sum(share >= LEAST_MEMBER for _, share in family.shares) > 1
    return several and best.probability < ALONE * family.probability


def _how_many(diagnosis: Diagnosis) -> str:
    read = len({reading.name for reading in diagnosis.readings if reading.read is not None})
    if diagnosis.tests == 0 or read >= diagnosis.tests:
        return "no reading deviates"
    return f"{read} of {diagnosis.tests} tests read"


def diagnosis_view(design: Design, diagnoses: Sequence[Diagnosis], top: int) -> Iterator[Part]:
    """One block for each sample.

    Parameters
    ----------
    design : Design
    diagnoses : Sequence[Diagnosis], diagnosis of each sample
    top : int, causes to list for each sample, count
    """
    yield design.title or "(no title)"
    for diagnosis in diagnoses:
        yield Heading(verdict(diagnosis))
        yield from sample_view(diagnosis, top)
    yield Heading("How to read this")
    yield Paragraph(
        "Each part is judged by itself (--together: what all share). Percentages are probabilities over "
        "all listed causes, normal production and unlisted causes. Causes that act on one quantity are "
        "added up as a family. Anything else that acts on the same readings in the same way looks the "
        "same. Score: distance in standard deviations of production, model and meter together."
    )
    yield from words.readings_end(design, *design.cautions)


def sample_view(diagnosis: Diagnosis, top: int) -> Iterator[Part]:
    """What is below the verdict on one sample: its evidence, causes, what to measure next and to do.

    Parameters
    ----------
    diagnosis : Diagnosis, diagnosis of the sample
    top : int, causes to list for each sample, count
    """
    for note in diagnosis.notes:
        yield words.caution(note)
    if not diagnosis.informed:
        return
    if not diagnosis.deviates:
        yield from _healthy(diagnosis, top)
    else:
        yield from _faulty(diagnosis, top)


def _healthy(diagnosis: Diagnosis, top: int) -> Iterator[Part]:
    yield _readings(diagnosis.readings, None)
    if diagnosis.as_designed < SURELY:
        leads = diagnosis.causes[0].probability <= diagnosis.as_designed
        rest = "; the rest is faults that they cannot show" if leads else ""
        share = words.per_cent(diagnosis.as_designed)
        yield Paragraph(f"As designed: {share} of what these readings leave possible{rest}.")
    hidden = [cause for cause in diagnosis.causes[:top] if cause.probability >= 0.01]
    if hidden:
        text = "; ".join(f"{cause.title} ({words.per_cent(cause.probability)})" for cause in hidden)
        shown = hidden[0].probability > diagnosis.as_designed
        yield Paragraph(f"Possible{'' if shown else ', but these readings could not reveal it'}: {text}.")
    yield from missed_limits_view(diagnosis)
    if diagnosis.as_designed < 0.5:
        yield from _next(diagnosis, {})


def _faulty(diagnosis: Diagnosis, top: int) -> Iterator[Part]:
    best, family = diagnosis.causes[0], lead_family(diagnosis)
    if diagnosis.unlisted > max(best.probability, family.probability):
        yield from _unlisted(diagnosis)
        return
    yield _readings(diagnosis.readings, best.readings)
    yield from odd_reading_view(diagnosis)
    table, letters = _ranking(diagnosis, top)
    yield from _family(diagnosis, top, letters)
    yield table
    yield from _runner_up(diagnosis, letters)
    yield from _alike(diagnosis, letters)
    yield from _next(diagnosis, letters)
    yield Paragraph(best.confirm, "         ", "Confirm: ")
    yield from what_to_do(diagnosis)
    if best.confusable:
        yield Paragraph(
            "Easily mistaken for it: "
            + ", ".join(best.confusable)
            + ", or anything else that acts on the same quantity."
        )
    cautions = dict.fromkeys(
        cause.caution for cause in diagnosis.causes if cause.caution and cause.probability >= 0.05
    )
    for caution in cautions:
        yield words.caution(caution)


def odd_reading_view(diagnosis: Diagnosis) -> Iterator[Part]:
    """The reading that the others contradict, where no score shows that anything is wrong."""
    odd = diagnosis.odd_reading
    if odd is None:
        return
    bound = COVERAGE * odd.uncertainty
    spread = f"{math.degrees(bound):.2g}°" if odd.measure == "phase" else f"{100 * bound:.2g} %"
    yield Paragraph(
        f"Each reading by itself agrees with the design, together they do not: by the others, {odd.name} "
        f"should be {words.quantity_text(odd.expected, odd.measure)} ± {spread}; it reads "
        f"{words.quantity_text(odd.read, odd.measure)} (score {words.score(odd.score)})."
    )


def _family(diagnosis: Diagnosis, top: int, letters: Mapping[str, str]) -> Iterator[Part]:
    """What is sure, and what it can be, where the readings know the family better than the cause."""
    family = lead_family(diagnosis)
    if not _wider(diagnosis):
        return
    shares = [item for item in family.shares[:top] if item[1] >= LEAST_MEMBER]
    text = "; ".join(f"{letters.get(title, title)} {words.per_cent(share)}" for title, share in shares)
    sure = f"{family.title[0].upper()}{family.title[1:]}: {words.per_cent(family.probability)}."
    yield Paragraph(f"{sure} Its causes: {text}.")


def what_to_do(diagnosis: Diagnosis) -> Iterator[Part]:
    """What to tell the shop or to do at the bench, of a cause or a family that is more likely than not."""
    best, family = diagnosis.causes[0], lead_family(diagnosis)
    if best.probability >= LEADS:
        remedy, kind = best.remedy, best.kind
    elif family.probability >= LEADS:
        remedy, kind = family.remedy, ""
    else:
        return
    at_the_bench = kind in ("bench", "reading") or remedy.startswith("No change of the")
    yield Paragraph(remedy, "         ", "Bench:   " if at_the_bench else "Shop:    ")


def _unlisted(diagnosis: Diagnosis) -> Iterator[Part]:
    """No cause of the catalogue goes well with the readings: the best of them if it comes nearer than "as
    designed" does, and what to do first."""
    best = diagnosis.causes[0]
    worth_showing = _worst(best.readings) < _worst(diagnosis.readings)
    yield _readings(diagnosis.readings, best.readings if worth_showing else None)
    yield from odd_reading_view(diagnosis)
    text = "No single cause of the catalogue, and no likely pair, explains these readings."
    if worth_showing:
        text += (
            f" The best of those listed, shown beside them: {best.title} "
            f"({words.per_cent(best.probability)})."
        )
    yield Paragraph(text)
    yield from _next(diagnosis, {})
    odd = diagnosis.odd_reading
    yield Paragraph(
        f"Read {'again what deviates most' if odd is None else f'{odd.name} again'}, check the drawing's "
        "revision, wire and core against the part; "
        "then consider two mistakes at once, and causes outside the catalogue.",
        "         ",
        "Confirm: ",
    )
    if worth_showing:
        yield Paragraph(best.confirm, "         ", "If it is: ")
    for caution in dict.fromkeys(cause.caution for cause in diagnosis.causes[:3] if cause.caution):
        yield words.caution(caution)


def _worst(readings: Sequence[ReadingUnderCause]) -> float:
    """The largest score of all readings, regardless of its sign."""
    return max((abs(reading.score) for reading in readings if reading.score is not None), default=0.0)


def _runner_up(diagnosis: Diagnosis, letters: Mapping[str, str]) -> Iterator[Part]:
    """What speaks against the second hypothesis; whether priors decide."""
    runner_up = diagnosis.runner_up
    if runner_up is not None:
        told = sorted(
            (item for item in runner_up.readings if abs(item[1]) >= SPEAKS), key=lambda item: -item[1]
        )
        against = [f"{name} ({_factor(ratio)})" for name, ratio in told if ratio > 0][:MOST_TOLD]
        for_it = [f"{name} ({_factor(-ratio)})" for name, ratio in reversed(told) if ratio < 0][:MOST_TOLD]
        share = words.per_cent(runner_up.probability)
        rival = f"the runner-up, {letters.get(runner_up.title, f'that {runner_up.title}')} ({share})"
        if runner_up.cause == "as designed":
            rival = f"the part being as designed ({words.per_cent(runner_up.probability)})"
        text = f"Against {rival}: " + (", ".join(against) if against else "no reading by itself")
        text += f"; for it: {', '.join(for_it)}." if for_it else "."
        yield Paragraph(text)
    if not diagnosis.robust:
        yield Paragraph("Not robust: a threefold change of one prior would change the leading cause.")


def _factor(ratio: float) -> str:
    """A likelihood ratio from its logarithm."""
    if ratio > LARGEST:
        return "beyond ×1000"
    return f"×{math.exp(ratio):.{1 if ratio < math.log(10) else 0}f}"


def _alike(diagnosis: Diagnosis, letters: Mapping[str, str]) -> Iterator[Part]:
    """One line for each group of causes that the readings do not tell apart."""
    for group in diagnosis.alike:
        names = ", ".join(f"{cause} {where}" for cause, where in group.causes)
        text = f"These readings do not tell apart: {names} (together {words.per_cent(group.probability)})."
        if group.separated_by is None:
            text += " No other reading at the terminals would either; see Confirm."
        else:
            text += f" What does: {_separating(group.separated_by, diagnosis, letters)}."
        yield Paragraph(text)


def _separating(test: NextTest, diagnosis: Diagnosis, letters: Mapping[str, str]) -> str:
    """The measurement in words, or where it stands among those that are proposed below."""
    proposed = [measurement(proposal) for proposal in _telling(diagnosis)]
    if measurement(test) in proposed[:1]:
        return "the measurement below" if len(proposed) == 1 else "the first measurement below"
    return f"{measurement(test)}; {test.told(letters)}"


def _telling(diagnosis: Diagnosis) -> list[NextTest]:
    return [test for test in diagnosis.next_tests if test.bits >= LEAST_BITS]


def _next(diagnosis: Diagnosis, letters: Mapping[str, str]) -> Iterator[Part]:
    for test in _telling(diagnosis):
        yield Paragraph(
            f"{measurement(test)} ({test.tells}): {test.told(letters)}.", "              ", "Measure next: "
        )
    if diagnosis.bench_limit:
        yield Paragraph(f"{diagnosis.bench_limit}.")


def measurement(test: NextTest) -> str:
    """The test in words; after an intervention with what to do."""
    driven = test.drive.replace(", -", " - ").replace(", ", " + ")
    parts = [f"{test.measure.replace('_', ' ')} of {driven}"]
    if test.sense:
        parts.append(f"to {test.sense}" if test.measure in ("ratio", "capacitance") else f"at {test.sense}")
    if test.short:
        parts.append(f"with {test.short} shorted")
    if test.frequency is not None:
        parts.append(f"at {words.frequency(test.frequency)}")
    text = " ".join(parts)
    if test.instruction:
        return f"{text}, {test.intervention}: {test.instruction}"
    return text


def _readings(plain: Sequence[ReadingUnderCause], under: Sequence[ReadingUnderCause] | None) -> Part:
    rows = []
    for index, reading in enumerate(plain):
        row = [
            reading.name,
            "missing" if reading.read is None else words.quantity_text(reading.read, reading.measure),
            words.quantity_text(reading.expected, reading.measure),
            words.score(reading.score),
        ]
        if under is not None:
            row += [
                words.quantity_text(under[index].expected, reading.measure),
                words.score(under[index].score),
            ]
        rows.append(row)
    columns = ["test", "read", "as designed", "score"]
    if under is not None:
        columns += ["under this cause", "score"]
    return words.table(columns, rows, right=(1, 2, 3, 4, 5))


def _ranking(diagnosis: Diagnosis, top: int) -> tuple[Part, dict[str, str]]:
    """The table of causes, and the letter of each cause in it by its title."""
    entries = [
        (cause.probability, _identifier(cause), cause.title)
        for cause in diagnosis.causes
        if cause.also is None or cause.probability >= LEAST_PAIR
    ]
    entries.append((diagnosis.unlisted, "", "a cause not in the catalogue"))
    entries.sort(key=lambda entry: -entry[0])
    rows: list[tuple[float, str, str]] = []
    total = diagnosis.as_designed
    for probability, name, title in entries[:top]:
        if rows and (total >= ENOUGH or probability < LEAST_SHOWN):
            break
        total += probability
        rows.append((probability, name, title))
    named = [(name, title) for _, name, title in rows if name]
    letters = (
        {title: f"({letter})" for letter, (_, title) in zip(ascii_lowercase, named, strict=False)}
        if named[1:]
        else {}
    )
    if diagnosis.as_designed >= LEAST_SHOWN:
        rows.append((diagnosis.as_designed, "", "as designed"))
        rows.sort(key=lambda row: -row[0])
    if 1.0 - total >= LEAST_SHOWN:
        rows.append((1.0 - total, "", "all others together"))
    cells = [
        [words.per_cent(share), f"{letters.get(title, '')} {name}".strip(), title]
        for share, name, title in rows
    ]
    return words.table(["probability", "cause", "in words"], cells, right=(0,)), letters


def _identifier(cause: RankedCause) -> str:
    text = f"{cause.cause} {cause.where}"
    return f"{text} + {cause.also.cause} {cause.also.where}" if cause.also else text
