"""Limits that a part fails although its readings are consistent with the design, in words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from ...compare.diagnosis import Diagnosis
from ...compare.verdict import FailedLimit
from . import words
from .page import Paragraph, Part

if TYPE_CHECKING:
    from ..documents import shared_records


def limits_sentence(diagnosis: Diagnosis) -> str:
    """What a verdict adds, such as "; L_P fails its limit (≤ 560 µH): the limit is tighter than production";
    empty: no limit failed."""
    failed = diagnosis.failed_limits
    tight, others = [item for item in failed if item.tighter], [item for item in failed if not item.tighter]
    text = "".join(f"; {_fails(group)}" for group in (others, tight) if group)
    if tight:
        text += f": the limit{' is' if len(tight) == 1 else 's are'} tighter than production"
    return text


def _fails(group: Sequence[FailedLimit]) -> str:
    named = [
        f"{item.name} ({words.limits(item.minimum, item.maximum, item.measure)}"
        f"{f', {item.parts} of {item.looked_at} parts' if item.looked_at > 1 else ''})"
        for item in group
    ]
    if len(named) > 1:
        return f"{', '.join(named[:-1])} and {named[-1]} fail their limits"
    return f"{named[0]} fails its limit"


def missed_limits_view(diagnosis: Diagnosis) -> Iterator[Part]:
    """Parts of the page on what follows from limits that sound parts fail (of one part, or several)."""
    tight = [item.name for item in diagnosis.failed_limits if item.tighter]
    if tight:
        yield Paragraph(
            f"Sound parts fail the limit{'' if len(tight) == 1 else 's'} of {', '.join(tight)} too. Widen "
            "it, or narrow what makes parts differ: 'aswound plan DESIGN --limits' says what production "
            "can hold, 'aswound predict DESIGN' what drives it."
        )


def limits_json(diagnosis: Diagnosis) -> list[shared_records.FailedLimitRecord]:
    """The JSON of the limits that a part fails, or parts together."""
    from ..documents import shared_records
    from ..documents.record import record_of

    return [
        record_of(
            shared_records.FailedLimitRecord,
            item,
            limits=shared_records.Limits(min=item.minimum, max=item.maximum),
            tighter_than_production=item.tighter,
        )
        for item in diagnosis.failed_limits
    ]
