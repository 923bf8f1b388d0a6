"""The JSON of ``explain``."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, ClassVar

from .record import Meaning, json_key
from .shared_records import (
    FailedLimitRecord,
    Fixture,
    LeftOut,
    Measure,
    RankedCauseRecord,
    ReadingRecord,
    TogetherRecord,
)


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class ExplainNextTest:
    """A measurement worth making next."""

    shared: ClassVar[str] = "next_test"

    measure: Measure = json_key()
    drive: str = json_key("What is driven.")
    short: str = json_key("What is shorted; empty: nothing.")
    sense: str = json_key("Where the second reading is taken; empty: nowhere.")
    frequency: float | None = json_key("Frequency (Hz); null: direct current, or none to set.")
    bits: float = json_key("Information about the cause to expect from it (bits).", minimum=0)
    why: str = json_key("In words.")
    intervention: str | None = json_key(
        "Word for the readings file's column stage; null: a plain reading.", optional=True
    )
    instruction: str | None = json_key("What to do first, in words.", optional=True)
    effort: float = json_key("Effort relative to one plain reading.", minimum=0, optional=True)


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class ExplainCause:
    """One cause."""

    cause: str = json_key("Identifier.")
    where: str = json_key("Place.")


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class ExplainAlike:
    """One group."""

    causes: Sequence[ExplainCause] = json_key("Its causes.")
    probability: float = json_key("Probability of all together.", minimum=0, maximum=1)
    separated_by: ExplainNextTest | None = json_key(
        "The measurement that separates them best; null: none at the terminals."
    )


NoteItem = Annotated[str, Meaning(text="In words.")]


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class RunnerUpReading:
    """One reading."""

    name: str = json_key("Of the test.")
    log_ratio: float = json_key(
        "Natural logarithm of the likelihood ratio (dimensionless); above 0: for the leading hypothesis."
    )


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class ExplainRunnerUp:
    """What speaks against it."""

    apart: ClassVar[bool] = True

    cause: str = json_key('Its cause (of a pair both), or "as designed".')
    where: str = json_key("Its place; empty: none.")
    title: str = json_key("In words.")
    probability: float = json_key("Its probability.", minimum=0, maximum=1)
    readings: Sequence[RunnerUpReading] = json_key("What each reading says.")


CauseItem = Annotated[Sequence[str], Meaning(text="Cause and place.", bounds={"minItems": 2, "maxItems": 2})]


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class ExplainFamily:
    """One family. A cause that acts like no other is its own; two causes at once belong to that of both."""

    name: str = json_key("Its name.")
    title: str = json_key("What is wrong if it is one of these, in words.", optional=True)
    causes: Sequence[CauseItem] = json_key(
        "Its causes, most probable first: identifier and place of each.", minItems=1
    )
    probability: float = json_key("Probability of all of them together.", minimum=0, maximum=1)


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class ExplainOddReading:
    """One reading that the others contradict."""

    name: str = json_key("Of the test.")
    expected: float = json_key("What it should be by the other readings and the design (SI).")
    uncertainty: float = json_key(
        "Standard uncertainty of that, with the meter's, relative (rad for a phase).", minimum=0
    )
    read: float = json_key("Reading (SI).")
    score: float = json_key("Difference over that uncertainty (dimensionless).")


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class ExplainSample:
    """One sample. probability of all causes, as_designed and unlisted sum to one."""

    sample: str = json_key("Its name.")
    as_designed: float = json_key(
        "Probability that nothing is wrong beyond production spread.", minimum=0, maximum=1
    )
    unlisted: float = json_key("Probability that the cause is not in the catalogue.", minimum=0, maximum=1)
    causes: Sequence[RankedCauseRecord] = json_key("Every applicable cause, most probable first.")
    next_tests: Sequence[ExplainNextTest] = json_key(
        "What to measure next: readings, best first, then readings after an intervention."
    )
    alike: Sequence[ExplainAlike] = json_key(
        "Groups of causes that the readings do not tell apart.", optional=True
    )
    notes: Sequence[NoteItem] = json_key("What limits this diagnosis.", optional=True)
    robust: bool = json_key(
        "Whether the leading hypothesis would lead with the prior of any one three times larger or smaller.",
        optional=True,
    )
    runner_up: ExplainRunnerUp | None = json_key("The second hypothesis; null: none.", optional=True)
    families: Sequence[ExplainFamily] = json_key(
        "The causes by what they act on, most probable first; their probabilities, as_designed and "
        "unlisted sum to one."
    )
    readings: Sequence[ReadingRecord] = json_key("Every reading as designed.", optional=True)
    tests: int = json_key("How many tests the design has.", minimum=0, optional=True)
    bench_limit: str | None = json_key(
        "Which finer instrument would part the two most probable causes where only the meter keeps "
        "them together; null: none.",
        optional=True,
    )
    failed_limits: Sequence[FailedLimitRecord] = json_key(
        "Limits that the part fails, by three zones; they do not count among its causes.", optional=True
    )
    odd_reading: ExplainOddReading | None = json_key(
        "The reading that the others contradict, where each by itself agrees with the design; null: none.",
        optional=True,
    )


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class ExplainDocument:
    """Which construction choice or bench mistake most likely causes a deviation. SI units; null:
    missing.
    """

    document: ClassVar[str] = "explain"
    definitions: ClassVar[tuple[str, ...]] = (
        "next_test",
        "measure",
        "unit",
        "limits",
        "left_out",
        "fixture",
        "cause",
        "together",
    )

    samples: Sequence[ExplainSample] = json_key("Every sample, judged by itself.")
    left_out: LeftOut = json_key(optional=True)
    fixture: Fixture = json_key(optional=True)
    together: TogetherRecord = json_key(optional=True)
