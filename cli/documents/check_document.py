"""The JSON of ``check``."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, ClassVar

from .record import Meaning, json_key
from .shared_records import CheckRecord, DerivedRecord, Fixture

MissingItem = Annotated[str, Meaning(text="One quantity and its reading.")]


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class CheckSample:
    """One sample."""

    sample: str = json_key("Its name.")
    readings: int = json_key("Readings that could be used.", minimum=0)
    checks: Sequence[CheckRecord] = json_key("Every check that the readings allow.")
    derived: Sequence[DerivedRecord] = json_key("What follows from the readings.")
    missing: Sequence[MissingItem] = json_key(
        "Which reading would give what does not follow yet.", optional=True
    )


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class CheckDocument:
    """Consistency of the readings of a part without a drawing. SI units."""

    document: ClassVar[str] = "check"
    definitions: ClassVar[tuple[str, ...]] = ("check", "derived", "fixture")

    samples: Sequence[CheckSample] = json_key("Every sample.")
    fixture: Fixture = json_key(optional=True)
