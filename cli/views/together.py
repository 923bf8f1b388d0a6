"""The view of what samples share: of ``explain --together``, and a paragraph of ``lot``."""

from __future__ import annotations

from collections.abc import Iterator

from ...compare.lots import StrangeSample, Together
from ...predict.design import Design
from ..documents import shared_records
from ..documents.record import record_of
from . import words
from .diagnosis import sample_view, verdict, what_to_do
from .diagnosis_data import cause_json
from .failed_limits import limits_json
from .page import Heading, Paragraph, Part

HOW = (
    "The samples are taken as one lot: what they have in common (models, drawing, core, wire and tape "
    "lots, the bench) is weighed against what differs from part to part, and their mean against the "
    "design. A cause named here is the same in all of them; single parts that differ are taken out "
    "first. Percentages are probabilities over all listed causes, normal production and unlisted causes; "
    "anything else that acts on the same readings in the same way looks the same."
)
_NAMED = 10


def together_json(together: Together) -> shared_records.TogetherRecord:
    """The field ``together``: what the samples share, and which differ."""
    diagnosis = together.diagnosis
    return shared_records.TogetherRecord(
        samples=together.samples,
        pooled=list(together.pooled),
        as_designed=diagnosis.as_designed,
        unlisted=diagnosis.unlisted,
        causes=[cause_json(cause) for cause in diagnosis.causes],
        apart=[_apart_json(item) for item in together.apart],
        scatter=[shared_records.ScatterRecord(name=name, factor=factor) for name, factor in together.scatter],
        failed_limits=limits_json(diagnosis),
    )


def shared_json(together: Together | None) -> list[shared_records.RankedCauseRecord]:
    """``shared_cause`` of ``lot --json``: the causes that all share, most probable first; empty where the
    lot is as designed."""
    return [] if together is None else [cause_json(cause) for cause in together.shared]


def _apart_json(item: StrangeSample) -> shared_records.Apart:
    causes = [record_of(shared_records.ApartCause, cause, class_=cause.kind) for cause in item.causes]
    return record_of(shared_records.Apart, item, causes=causes)


def together_view(design: Design, together: Together, top: int) -> Iterator[Part]:
    """The page of ``explain --together``.

    Parameters
    ----------
    design : Design
    together : Together, what the samples share
    top : int, causes to list for each sample, count
    """
    yield design.title or "(no title)"
    if len(together.pooled) > 1:
        yield Heading(verdict(together.diagnosis))
        yield from sample_view(together.diagnosis, top)
    else:
        yield Heading(f"{together.samples} samples: they share nothing, each differs from the others")
    yield from _lines(together)
    yield Heading("How to read this")
    yield Paragraph(HOW)
    yield from words.readings_end(design, *design.cautions)


def shared_view(together: Together | None) -> Iterator[Part]:
    """The block of ``lot``: what the parts share, in words."""
    if together is None:
        return
    yield Heading("What the parts share")
    diagnosis = together.diagnosis
    if len(together.pooled) < 2:
        pass
    elif diagnosis.as_designed >= 0.5:
        yield Paragraph(
            f"Nothing: taken together {diagnosis.sample} are as designed "
            f"({words.per_cent(diagnosis.as_designed)})."
        )
    else:
        yield Paragraph(f"{verdict(diagnosis)}.")
        best = diagnosis.causes[0]
        if diagnosis.deviates and best.probability >= diagnosis.unlisted:
            yield Paragraph(best.confirm, "         ", "Confirm: ")
            yield from what_to_do(diagnosis)
        others = [item for item in together.shared[1:4] if item.probability >= 0.05]
        if others:
            told = "; ".join(f"{item.title} ({words.per_cent(item.probability)})" for item in others)
            yield Paragraph(f"Or: {told}.")
    yield from _lines(together)


def _lines(together: Together) -> Iterator[Part]:
    """Which samples differ, and what scatters."""
    if len(together.pooled) < 2:
        yield Paragraph(
            "They differ from each other by more than parts of one lot do, so nothing can be said about "
            "what they share. Judge each by itself (explain)."
        )
        yield Paragraph(f"{verdict(together.diagnosis)}: the nearest to the design.", "  ")
    elif 2 * len(together.apart) >= together.samples - 1 > 0:
        yield words.caution(
            "Nearly half of the samples differ from the rest: they may come from two populations. Check "
            "which lots, reels or machines they come from."
        )
    for item in together.apart[:_NAMED]:
        if item.causes:
            best = item.causes[0]
            guess = f"most likely {best.title} ({words.per_cent(best.probability)})"
        else:
            guess = "no single cause stands out"
        yield Paragraph(f"{item.sample} differs from the others: {guess}.", "  ", "! ")
    if len(together.apart) > _NAMED:
        yield Paragraph(f"{len(together.apart) - _NAMED} more differ; --json lists them all.")
    if together.scatter:
        told = ", ".join(f"{name} ×{factor:.1f}" for name, factor in together.scatter)
        yield Paragraph(
            f"The parts differ from each other more than expected, which was allowed for: {told}."
        )
