"""The view of ``check``: which laws the readings of a part obey, and what follows from them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from ...compare.consistency import Check, Derived, UndrawnPart
from ...predict.quantity import format_uncertain
from ..documents import check_document, shared_records
from ..documents.record import record_of
from . import words
from .page import Heading, Paragraph, Part


def undrawn_json(parts: Sequence[UndrawnPart]) -> dict[str, Any]:
    """``check --json``: samples with their checks and derived quantities, SI."""
    return {
        "samples": [
            record_of(
                check_document.CheckSample,
                part,
                checks=[check_json(check) for check in part.checks],
                derived=[derived_json(item) for item in part.derived],
            )
            for part in parts
        ]
    }


def check_json(check: Check) -> shared_records.CheckRecord:
    """One check, as in ``compare --json``."""
    return record_of(shared_records.CheckRecord, check)


def derived_json(item: Derived) -> shared_records.DerivedRecord:
    """One derived quantity with its standard uncertainty."""
    return record_of(shared_records.DerivedRecord, item, readings=item.from_readings)


def undrawn_view(parts: Sequence[UndrawnPart]) -> Iterator[Part]:
    """One block a sample: the verdict, every check with its numbers, what follows."""
    for part in parts:
        yield Heading(_sentence(part))
        rows = [
            ("holds" if check.holds else "BROKEN", check.check, words.score(check.score))
            for check in part.checks
        ]
        if rows:
            yield words.table(["", "check", "score"], rows, right=(2,))
        for check in part.checks:
            yield Paragraph(f"{check.check}: {check.detail}.", "  ", "  " if check.holds else "! ")
        yield from derived_view(part.derived)
        for item in part.missing:
            yield Paragraph(f"{item}.", "         ", "Missing: ")
    yield Heading("How to read this")
    yield Paragraph(
        "Each check is a law that every linear, passive transformer obeys. The score is the residual "
        "over its standard uncertainty; beyond 3 the check is broken: the bench, the pins or the file is "
        "wrong, or the part is no longer linear."
    )
    yield from words.cautions()


def derived_view(items: Sequence[Derived]) -> Iterator[Part]:
    """A table of derived quantities; nothing if there are none.

    The parts of a circuit ("star at P: branch of S") are listed below its name. If neighbours come from
    the same readings, these are named once.

    Parameters
    ----------
    items : Sequence[Derived], the quantities
    """
    if not items:
        return
    rows: list[tuple[str, str, str]] = []
    circuit, source = "", ""
    for item in items:
        of_circuit, _, part = item.name.rpartition(": ")
        told = ", ".join(item.from_readings)
        if of_circuit and of_circuit != circuit:
            rows.append((f"{of_circuit}:", "", told if told != source else ""))
        shown = "" if told == source or (of_circuit and of_circuit != circuit) else told
        circuit, source = of_circuit, told
        value = format_uncertain(item.value, item.uncertainty, item.unit)
        rows.append((f"  {part}" if of_circuit else item.name, value, shown))
    yield words.table(["what follows (± at k = 2)", "value", "from"], rows, right=(1,))


def _sentence(part: UndrawnPart) -> str:
    broken = [check.check for check in part.checks if not check.holds]
    if broken:
        return f"{part.sample}: the readings contradict each other: {', '.join(dict.fromkeys(broken))}"
    if part.checks:
        number = len(part.checks)
        return f"{part.sample}: {number} {'check holds' if number == 1 else 'checks hold'}; no contradiction"
    if part.readings == 1:
        return f"{part.sample}: nothing to check: a single reading cannot contradict itself"
    return f"{part.sample}: nothing to check: {part.readings} readings that no law links"
