"""What the JSON of several commands holds."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, ClassVar, Literal

from .record import Meaning, json_key


@dataclass(frozen=True, kw_only=True)
class Check:
    """One law that readings of a linear, passive part obey."""

    shared: ClassVar[str] = "check"

    check: str = json_key("Which law.")
    holds: bool = json_key("Whether the readings obey it.")
    score: float | None = json_key("Residual over its standard uncertainty; null where there is none.")
    detail: str = json_key("The numbers, in words.")


ReadingItem = Annotated[str, Meaning(text="A test's name.")]


@dataclass(frozen=True, kw_only=True)
class Derived:
    """A quantity that follows from the readings, without the design."""

    shared: ClassVar[str] = "derived"

    name: str = json_key("What it is.")
    unit: str = json_key("SI unit.")
    value: float | None = json_key("Its value.")
    uncertainty: float | None = json_key("Standard uncertainty (k = 1).")
    readings: tuple[ReadingItem, ...] = json_key("Names of the readings that it comes from.")


@dataclass(frozen=True, kw_only=True)
class Correction:
    """One correction."""

    correction: str = json_key("Open, short, load, or together.")
    frequency: float | str | None = json_key("Where.")


CorrectedItem = Annotated[str, Meaning(text="A reading.")]


@dataclass(frozen=True, kw_only=True)
class Fixture:
    """What --fixture did to the readings; absent without it."""

    shared: ClassVar[str] = "fixture"

    corrections: tuple[Correction, ...] = json_key("The corrections made.")
    corrected: tuple[CorrectedItem, ...] = json_key("Corrected readings.")
    as_displayed: tuple[CorrectedItem, ...] = json_key("Readings left as displayed.")


@dataclass(frozen=True, kw_only=True)
class DecisionRule:
    """The rule by which limits decide (JCGM 106)."""

    shared: ClassVar[str] = "decision_rule"

    name: Literal["simple", "guarded", "three-zone"] = json_key("Its name.")
    statement: str = json_key("The rule, in words.")


MeasureName = Literal[
    "inductance",
    "ac_resistance",
    "quality",
    "resistance",
    "ratio",
    "mutual",
    "phase",
    "capacitance",
    "resonance",
]


Measure = Annotated[MeasureName, Meaning(text="What the meter displays.", shared="measure")]


Unit = Annotated[
    Literal["H", "ohm", "1", "rad", "F", "Hz"],
    Meaning(text=('SI unit of the test\'s numbers; "1" for plain numbers, rad for angles.'), shared="unit"),
]


@dataclass(frozen=True, kw_only=True)
class Limits:
    """The specification's limits, in the test's unit; null: none."""

    shared: ClassVar[str] = "limits"

    min: float | None = json_key("Lower limit.")
    max: float | None = json_key("Upper limit.")


LeftOutItem = Annotated[str, Meaning(text="Sample and stage.")]


LeftOut = Annotated[
    tuple[LeftOutItem, ...],
    Meaning(text="Readings left out, as the core is not in at their stage.", shared="left_out"),
]


ClassName = Literal[
    "turns",
    "core",
    "layout",
    "copper",
    "wiring",
    "process",
    "design",
    "bench",
    "reading",
]


@dataclass(frozen=True, kw_only=True)
class Also:
    """The second cause of a double fault; null: a single one."""

    cause: str = json_key("Identifier.")
    where: str = json_key("Place.")
    amount: float | None = json_key("Amount.")


ConfusableItem = Annotated[str, Meaning(text="Identifier.")]


@dataclass(frozen=True, kw_only=True)
class Reading:
    """One reading."""

    name: str = json_key("The test.")
    expected: float | None = json_key("What this cause predicts.")
    read: float | None = json_key("What was read; null: missing.")
    score: float | None = json_key("Difference over the standard deviation under the cause.")


@dataclass(frozen=True, kw_only=True)
class RankedCause:
    """One cause."""

    shared: ClassVar[str] = "cause"

    cause: str = json_key("Identifier of the cause.")
    class_: ClassName = json_key("Its class.", name="class")
    where: str = json_key('A winding, "step 3", "core", "bench", or a test\'s name.')
    title: str = json_key("In words, with the amount.")
    amount: float | None = json_key(
        "As wound against as designed: difference or ratio, by the cause; null where none fits."
    )
    amount_low: float | None = json_key("Lower end of its 90 % interval.", optional=True)
    amount_high: float | None = json_key("Upper end.", optional=True)
    probability: float = json_key("Of this entry.", minimum=0, maximum=1)
    marginal: float = json_key("That this cause is present at all.", minimum=0, maximum=1)
    also: Also | None = json_key()
    confirm: str = json_key("How to confirm it.")
    remedy: str = json_key("What to tell the shop, or what to do at the bench.")
    confusable: tuple[ConfusableItem, ...] = json_key("Causes with a like signature.", optional=True)
    caution: str = json_key("A caution that goes with it; empty: none.", optional=True)
    readings: tuple[Reading, ...] = json_key("Every reading under this cause.")


CautionItem = Annotated[str, Meaning(text="One caution.")]


Cautions = Annotated[
    tuple[CautionItem, ...], Meaning(text="What to know before relying on the numbers.", shared="cautions")
]


@dataclass(frozen=True, kw_only=True)
class Budget2:
    """One component."""

    component: str = json_key("What it is.")
    standard_uncertainty: float | None = json_key("Its standard uncertainty (k = 1), in the test's unit.")


Budget = Annotated[
    tuple[Budget2, ...], Meaning(text="What the bench adds to a reading, by component.", shared="budget")
]
