"""What the JSON of several commands holds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, ClassVar

from .record import Meaning, json_key


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class CheckRecord:
    """One law that readings of a linear, passive part obey."""

    shared: ClassVar[str] = "check"

    check: str = json_key("Which law.")
    holds: bool = json_key("Whether the readings obey it.")
    score: float | None = json_key("Residual in standard uncertainties; null where there is none.")
    detail: str = json_key("The numbers, in words.")


ReadingItem = Annotated[str, Meaning(text="A test's name.")]


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class DerivedRecord:
    """A quantity that follows from the readings, without the design."""

    shared: ClassVar[str] = "derived"

    name: str = json_key("What it is.")
    unit: str = json_key("SI unit.")
    value: float | None = json_key("Its value, in its unit.")
    uncertainty: float | None = json_key("Standard uncertainty (k = 1), in its unit.")
    readings: Sequence[ReadingItem] = json_key("Names of the readings that it comes from.")


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class Correction:
    """One correction."""

    correction: str = json_key("Open, short, load, or together.")
    frequency: float | str | None = json_key("Frequency (Hz), or what it holds for in words.")


CorrectedItem = Annotated[str, Meaning(text="A reading.")]


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class Fixture:
    """What --fixture did to the readings; absent without it."""

    shared: ClassVar[str] = "fixture"

    corrections: Sequence[Correction] = json_key("The corrections made.")
    corrected: Sequence[CorrectedItem] = json_key("Corrected readings.")
    as_displayed: Sequence[CorrectedItem] = json_key("Readings left as displayed.")


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class DecisionRule:
    """The rule by which limits decide (JCGM 106)."""

    shared: ClassVar[str] = "decision_rule"

    name: str = json_key("Its name.", values=("simple", "guarded", "three-zone"))
    statement: str = json_key("The rule, in words.")


Measure = Annotated[
    str,
    Meaning(
        text="What the meter displays.",
        bounds={
            "values": (
                "inductance",
                "ac_resistance",
                "quality",
                "resistance",
                "ratio",
                "mutual",
                "phase",
                "capacitance",
                "resonance",
            )
        },
        shared="measure",
    ),
]


Unit = Annotated[
    str,
    Meaning(
        text=('SI unit of the test\'s numbers; "1" for plain numbers, rad for angles.'),
        bounds={"values": ("H", "ohm", "1", "rad", "F", "Hz")},
        shared="unit",
    ),
]


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class Limits:
    """The specification's limits, in the test's unit; null: none."""

    shared: ClassVar[str] = "limits"

    min: float | None = json_key("Lower limit, in the test's unit.")
    max: float | None = json_key("Upper limit, in the test's unit.")


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class FailedLimitRecord:
    """One limit that fails."""

    name: str = json_key("Of the test.")
    unit: Unit = json_key()
    read: float = json_key("The reading, in the test's unit; of several parts the one furthest beyond.")
    limits: Limits = json_key()
    tighter_than_production: bool = json_key(
        "Whether the limit lies within the 95 % range of the prediction, so that sound parts fail it too."
    )
    parts: int = json_key("Parts that fail it.", minimum=1)


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class Also:
    """The second cause of a double fault; null: a single one."""

    cause: str = json_key("Identifier.")
    where: str = json_key("Place.")
    amount: float | None = json_key("Amount (SI, a count or a ratio).")


ConfusableItem = Annotated[str, Meaning(text="Identifier.")]


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class ReadingRecord:
    """One reading."""

    name: str = json_key("The test.")
    expected: float | None = json_key("What is predicted, by the design or under a cause (SI).")
    read: float | None = json_key("What was read (SI); null: missing.")
    score: float | None = json_key("Difference in standard deviations under the cause.")


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class RankedCauseRecord:
    """One cause."""

    shared: ClassVar[str] = "cause"

    cause: str = json_key("Identifier of the cause.")
    class_: str = json_key(
        "Its class.",
        name="class",
        values=("turns", "core", "layout", "copper", "wiring", "process", "design", "bench", "reading"),
    )
    where: str = json_key('A winding, "step 3", "core", "bench", or a test\'s name.')
    title: str = json_key("In words, with the amount.")
    amount: float | None = json_key(
        "As wound against as designed: difference or ratio, by the cause (SI, a count or "
        "a ratio); null where none fits."
    )
    amount_low: float | None = json_key("Lower end of its 90 % interval, in the same unit.", optional=True)
    amount_high: float | None = json_key("Upper end of its 90 % interval, in the same unit.", optional=True)
    probability: float = json_key("Probability of this entry.", minimum=0, maximum=1)
    marginal: float = json_key("Probability that this cause is present at all.", minimum=0, maximum=1)
    also: Also | None = json_key()
    confirm: str = json_key("How to confirm it.")
    remedy: str = json_key("What to tell the shop, or what to do at the bench.")
    confusable: Sequence[ConfusableItem] = json_key("Causes with a like signature.", optional=True)
    caution: str = json_key("A caution that goes with it; empty: none.", optional=True)
    readings: Sequence[ReadingRecord] = json_key("Every reading under this cause.")


LeftOutItem = Annotated[str, Meaning(text="Sample and stage.")]


LeftOut = Annotated[
    Sequence[LeftOutItem],
    Meaning(text="Readings left out, as the core is not in at their stage.", shared="left_out"),
]


PooledItem = Annotated[str, Meaning(text="Its name.")]


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class ApartCause:
    """One cause."""

    cause: str = json_key("Identifier of the cause.")
    class_: str = json_key(
        "Its class.",
        name="class",
        values=("turns", "core", "layout", "copper", "wiring", "process", "design", "bench", "reading"),
    )
    where: str = json_key('A winding, "step 3", "core", "bench", or a test\'s name.')
    title: str = json_key("In words, with the amount.")
    amount: float | None = json_key(
        "As wound against as designed: difference or ratio, by the cause (SI, a count or "
        "a ratio); null where none fits."
    )
    probability: float = json_key("Probability of this entry.", minimum=0, maximum=1)


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class Apart:
    """One of them."""

    sample: str = json_key("Its name.")
    probability: float = json_key("Probability that something is wrong with it alone.", minimum=0, maximum=1)
    causes: Sequence[ApartCause] = json_key("The likeliest causes, given the others; empty: none stands out.")


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class ScatterRecord:
    """One test."""

    name: str = json_key("The test.")
    factor: float = json_key("Robust standard deviation over the expected one (dimensionless).", minimum=1)


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class TogetherRecord:
    """What the samples share, and which differ from the rest. probability of all causes, as_designed and
    unlisted sum to one.
    """

    shared: ClassVar[str] = "together"

    samples: int = json_key("Samples with a usable reading.", minimum=2)
    pooled: Sequence[PooledItem] = json_key("Samples that were taken together; one: they share nothing.")
    as_designed: float = json_key(
        "Probability that they share nothing beyond production spread.", minimum=0, maximum=1
    )
    unlisted: float = json_key(
        "Probability that they share a cause that is not in the catalogue.", minimum=0, maximum=1
    )
    causes: Sequence[RankedCauseRecord] = json_key(
        "Every applicable cause as one that all share, most probable first."
    )
    apart: Sequence[Apart] = json_key("Samples that differ from the others.")
    scatter: Sequence[ScatterRecord] = json_key("Tests in which parts differ more than was expected.")
    failed_limits: Sequence[FailedLimitRecord] = json_key(
        "Limits that the samples taken together fail.", optional=True
    )


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class BuildsApart:
    """An object that its key describes."""

    undescribed: ClassVar[bool] = True

    step: int = json_key("The build step, from 1.", minimum=1)
    winding: str = json_key("The winding.")
    designed_layers: int = json_key("Its layers as designed.", minimum=1)
    layers: int = json_key("Its layers in these builds.", minimum=1)
    share: float = json_key("Part of all builds.", minimum=0, maximum=1)
    low: float | None = json_key("2.5 % point of these builds, in the test's unit.")
    high: float | None = json_key("97.5 % point of these builds, in the test's unit.")
    outside: bool = json_key("Whether their median is outside the range of builds as designed.")


CautionItem = Annotated[str, Meaning(text="One caution.")]


Cautions = Annotated[
    Sequence[CautionItem], Meaning(text="What to know before relying on the numbers.", shared="cautions")
]


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class DriverRecord:
    """One driver."""

    parameter: str = json_key("Parameter of [spread], with its place.")
    share: float = json_key("Share of the variance.", minimum=0, maximum=1)


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class BudgetPart:
    """One component."""

    component: str = json_key("What it is.")
    standard_uncertainty: float | None = json_key("Its standard uncertainty (k = 1), in the test's unit.")


Budget = Annotated[
    Sequence[BudgetPart], Meaning(text="What the bench adds to a reading, by component.", shared="budget")
]


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class AssembledCore:
    """The core as assembled."""

    name: str = json_key("Name of the core.", optional=True)
    effective_area_m2: float = json_key("Effective area Ae (m²).", minimum=0)
    effective_length_m: float = json_key("Effective length le (m).", minimum=0)
    inductance_factor_H: float = json_key("Inductance factor AL at low level (H).", minimum=0)
    gap_m: float = json_key("Ground gap in the flux path, in total (m).", minimum=0, optional=True)
    material_share: float = json_key(
        "Part of the reluctance that the material makes; the rest is gaps.",
        minimum=0,
        maximum=1,
        optional=True,
    )
