"""What a fixture's standards did to the readings, and which readings were left out."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from ...compare.readings import FixtureCorrection
from . import words
from .page import Heading, Paragraph, Part


def fixture_json(correction: FixtureCorrection | None) -> dict[str, Any]:
    """The key "fixture" of a command's JSON; nothing without a fixture file."""
    from ..documents import shared_records

    if correction is None:
        return {}
    kinds = [
        shared_records.Correction(correction=kind, frequency=frequency)
        for kind, frequency in correction.kinds
    ]
    return {
        "fixture": shared_records.Fixture(
            corrections=kinds,
            corrected=list(correction.corrected),
            as_displayed=list(correction.as_displayed),
        )
    }


def fixture_view(correction: FixtureCorrection | None) -> Iterator[Part]:
    """What was corrected and how, and what stays as displayed; nothing without a fixture file."""
    if correction is None:
        return
    yield Heading("Fixture")
    if correction.corrected:
        how = "; ".join(f"{kind} at {at}" for kind, at in correction.kinds)
        yield Paragraph(
            f"Corrected ({how}): {', '.join(correction.corrected)}. The link across a shorted winding is not "
            "removed. Nor is the short standard's own inductance known: every corrected reading is low by it."
        )
    else:
        yield words.caution("No reading is a complex impedance: the fixture file changed nothing.")
    if correction.as_displayed:
        some = " (some rows)"
        names = [name + some * (name in correction.corrected) for name in correction.as_displayed]
        yield words.caution(
            f"As displayed, not corrected: {', '.join(names)}. Only readings of two "
            'terminals given as complex impedances ("0.41 + 4.97j ohm") can be corrected.'
        )


def left_out_view(labels: Sequence[str]) -> Iterator[Part]:
    """Readings of stages before the core is in, which are not judged against the design."""
    if labels:
        yield words.caution(f"Left out, as the core is not in at this stage: {'; '.join(labels)}.")
