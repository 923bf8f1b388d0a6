"""The JSON of ``plan``."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, ClassVar

from .record import Meaning, json_key
from .shared_records import Budget, BuildsApart, Cautions, Limits, Measure, Unit

CorrectionItem = Annotated[str, Meaning(text="In words.")]


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class Window:
    """Frequencies between which an inductance reading holds within 1 %; null: not applicable."""

    lowest: float | None = json_key("Lowest frequency (Hz); null: no lower end.", minimum=0)
    highest: float | None = json_key("Highest frequency (Hz); null: no upper end.", minimum=0)


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class Proposed:
    """Limits proposed, with --limits; null: none can be."""

    min: float | None = json_key("Lower limit, in the test's unit.")
    max: float | None = json_key("Upper limit, in the test's unit.")
    driver: str | None = json_key("What widens them most.")
    at_bench: bool = json_key("Whether that is of the bench.", optional=True)
    gain: float | None = json_key("Relative narrowing if that were halved.", optional=True)
    guard_band: float | None = json_key(
        "Guard band inside the limits (k = 2), in the test's unit.", optional=True
    )


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class PlanTest:
    """One test."""

    name: str = json_key("Its name.")
    measure: Measure = json_key()
    unit: Unit = json_key()
    connections: str = json_key("How to connect it, in words.")
    frequency: float | None = json_key("Frequency (Hz); null: direct current, or a sweep.")
    level: float | None = json_key("RMS voltage (V) as set on the meter, behind its source resistance.")
    terminal_level: float | None = json_key("RMS voltage that is left across the part (V).", optional=True)
    equivalent: str | None = json_key("Equivalent circuit to set: series or parallel.")
    corrections: Sequence[CorrectionItem] = json_key("What to correct first.")
    expected: float | None = json_key("Reading to expect, in the test's unit.")
    low: float | None = json_key("2.5 % point of production, in the test's unit.")
    high: float | None = json_key("97.5 % point of production, in the test's unit.")
    builds_apart: Sequence[BuildsApart] = json_key(
        "Builds with other layers than designed in one step: their share of all builds, and 95 % of them.",
        optional=True,
    )
    measurement_uncertainty: float | None = json_key(
        "Standard uncertainty (k = 1) of the bench, in the test's unit.", minimum=0
    )
    budget: Budget = json_key()
    window: Window | None = json_key()
    limits: Limits = json_key()
    notes: Sequence[CorrectionItem] = json_key("What helps.")
    warnings: Sequence[CorrectionItem] = json_key("What is wrong with the test as specified.")
    proposed: Proposed | None = json_key(optional=True)


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class Severity:
    """One severity."""

    amount: float | None = json_key(
        "As wound against as designed (SI, a count or a ratio); null where none fits."
    )
    title: str = json_key("In words.")
    noticed: float = json_key("Share of parts in which it would be noticed.", minimum=0, maximum=1)


AlikeItem = Annotated[str, Meaning(text="A name.")]


CauseAlikeItem = Annotated[Sequence[AlikeItem], Meaning(text="Cause and place.")]


NeedItem = Annotated[str, Meaning(text="A test.")]


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class PlanCause:
    """One cause."""

    cause: str = json_key("Its identifier.")
    class_: str = json_key("Its class.", name="class")
    where: str = json_key("Its place.")
    severities: Sequence[Severity] = json_key(
        "The one that is noticed least, the middle one, the one that is noticed most."
    )
    invisible: bool = json_key("Noticed in fewer than one part of five at any severity.")
    alike: Sequence[CauseAlikeItem] = json_key(
        "What the most visible severity cannot be told from: cause and place."
    )
    needs: Sequence[NeedItem] = json_key("Tests without which it would be noticed in far fewer parts.")


ShortItem = Annotated[str, Meaning(text="A winding.")]


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class PlanFurtherTest:
    """One test."""

    measure: str = json_key("What is measured.")
    drive: str = json_key("What is driven.")
    short: Sequence[ShortItem] = json_key("What is shorted.", optional=True)
    sense: str = json_key("Where the second reading is taken, or empty.", optional=True)
    frequency: float | None = json_key("Frequency (Hz); null: direct current.", optional=True)
    gain: float = json_key("Gain in the mean share noticed (dimensionless).")
    sees: Sequence[CauseAlikeItem] = json_key("What only it would show: cause and place.", optional=True)


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class PlanFault:
    """With --faults: what the tests can see."""

    mean_noticed: float = json_key(
        "Mean share noticed, over all causes by how common they are.", minimum=0, maximum=1
    )
    causes: Sequence[PlanCause] = json_key("One row a cause and place.")
    further_tests: Sequence[PlanFurtherTest] = json_key("Tests that would add most, best first.")


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class PlanDocument:
    """The bench sheet as data. SI units; null: missing."""

    document: ClassVar[str] = "plan"
    definitions: ClassVar[tuple[str, ...]] = ("measure", "unit", "budget", "limits", "cautions")

    design: str = json_key("Title of the design.")
    tests: Sequence[PlanTest] = json_key("Every test of the design, in its order.")
    cautions: Cautions = json_key()
    faults: PlanFault = json_key(optional=True)
