"""The JSON of ``lot``."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any, ClassVar, Literal

from .record import Meaning, json_key
from .shared import DecisionRule, Fixture, LeftOut, Limits, Measure, RankedCause, Unit

OutlierItem = Annotated[str, Meaning(text="A sample.")]


@dataclass(frozen=True, kw_only=True)
class Excluded:
    """One part."""

    sample: str = json_key("Its name.")
    why: str = json_key("Why it is left out.")


@dataclass(frozen=True, kw_only=True)
class Test:
    """One test."""

    name: str = json_key("Its name.")
    measure: Measure = json_key(optional=True)
    unit: Unit = json_key()
    n: int = json_key("Parts read.", minimum=0)
    missing: int = json_key("Parts not read.", minimum=0, optional=True)
    mean: float | None = json_key("Mean of the readings.")
    standard_deviation: float | None = json_key("Of the readings.", minimum=0)
    process_standard_deviation: float | None = json_key(
        "With the random part of one reading taken off.",
        minimum=0,
        optional=True,
    )
    predicted: float | None = json_key("Prediction of a part.")
    predicted_uncertainty: float | None = json_key(
        "Standard uncertainty of a single part's prediction.",
        minimum=0,
        optional=True,
    )
    deviation: float | None = json_key("mean/predicted - 1; for phase the difference (rad).", optional=True)
    score: float | None = json_key("Difference of the mean over its standard uncertainty.", optional=True)
    limits: Limits = json_key(optional=True)
    cpk: float | None = json_key("Capability index as read.")
    cpk_lower: float | None = json_key("Its lower 95 % confidence bound.")
    outside: int = json_key("Parts read outside their limits.", minimum=0)
    fails: int = json_key("Parts that fail by the decision rule.", minimum=0, optional=True)
    tolerance_low: float | None = json_key(
        "Lower end of what holds 95 % of parts with 95 % confidence.",
        optional=True,
    )
    tolerance_high: float | None = json_key("Upper end.", optional=True)
    normality_p: float | None = json_key(
        "p of the hypothesis that the lot is normal.",
        minimum=0,
        maximum=1,
        optional=True,
    )
    drift_per_part: float | None = json_key("Slope from part to part.", optional=True)
    drift_p: float | None = json_key(
        "p of the hypothesis that there is none.",
        minimum=0,
        maximum=1,
        optional=True,
    )
    outliers: tuple[OutlierItem, ...] = json_key("Parts outside what the lot scatters.", optional=True)
    excluded: tuple[Excluded, ...] = json_key(
        "Parts left out of mean, interval and capability: slips and strangers.",
        optional=True,
    )
    within_batches: float | None = json_key("Standard deviation within batches.", minimum=0, optional=True)
    between_batches: float | None = json_key("Standard deviation between batches.", minimum=0, optional=True)
    batches_p: float | None = json_key(
        "p of the hypothesis that batches do not differ.",
        minimum=0,
        maximum=1,
        optional=True,
    )


PooledItem = Annotated[str, Meaning(text="Its name.")]


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
class Cause:
    """One cause."""

    cause: str = json_key("Identifier of the cause.")
    class_: ClassName = json_key("Its class.", name="class")
    where: str = json_key('A winding, "step 3", "core", "bench", or a test\'s name.')
    title: str = json_key("In words, with the amount.")
    amount: float | None = json_key(
        "As wound against as designed: difference or ratio, by the cause; null where none fits."
    )
    probability: float = json_key("Of this entry.", minimum=0, maximum=1)


@dataclass(frozen=True, kw_only=True)
class Apart:
    """One of them."""

    sample: str = json_key("Its name.")
    probability: float = json_key("That something is wrong with it alone.", minimum=0, maximum=1)
    causes: tuple[Cause, ...] = json_key("The likeliest causes, given the others; empty: none stands out.")


@dataclass(frozen=True, kw_only=True)
class Scatter:
    """One test."""

    name: str = json_key("The test.")
    factor: float = json_key("Robust standard deviation over the expected one.", minimum=1)


@dataclass(frozen=True, kw_only=True)
class TogetherFound:
    """What the samples share, and which differ from the rest. probability of all causes, as_designed and
    unlisted sum to one. null: fewer than two samples with a reading.
    """

    samples: int = json_key("Samples with a usable reading.", minimum=2)
    pooled: tuple[PooledItem, ...] = json_key("Samples that were taken together; one: they share nothing.")
    as_designed: float = json_key(
        "Probability that they share nothing beyond production spread.",
        minimum=0,
        maximum=1,
    )
    unlisted: float = json_key(
        "Probability that they share a cause that is not in the catalogue.",
        minimum=0,
        maximum=1,
    )
    causes: tuple[RankedCause, ...] = json_key(
        "Every applicable cause as one that all share, most probable first."
    )
    apart: tuple[Apart, ...] = json_key("Samples that differ from the others.")
    scatter: tuple[Scatter, ...] = json_key("Tests in which parts differ more than was expected.")


Together = Annotated[TogetherFound | None, Meaning(shared="together")]


@dataclass(frozen=True, kw_only=True)
class Lot:
    """One lot."""

    file: str = json_key("The file.")
    samples: int = json_key("Number of samples.")
    tests: tuple[Any, ...] = json_key("As above.")


@dataclass(frozen=True, kw_only=True)
class Difference:
    """One test."""

    name: str = json_key("Its name.")
    unit: str = json_key("SI unit.")
    difference: float = json_key("Mean of the second less that of the first.")
    relative: float | None = json_key("Over the first; null for a phase.", optional=True)
    uncertainty: float = json_key("Standard, of the difference, by scatter.", optional=True)
    p: float | None = json_key("Chance of so large a difference between lots that are alike.")
    differs: bool = json_key("Whether that is too small a chance.")


@dataclass(frozen=True, kw_only=True)
class LotDocument:
    """Many samples of one design. SI units (radians); null: missing or not to be told."""

    document: ClassVar[str] = "lot"
    definitions: ClassVar[tuple[str, ...]] = (
        "measure",
        "unit",
        "limits",
        "decision_rule",
        "left_out",
        "fixture",
        "cause",
        "together",
    )

    samples: int = json_key("Number of parts.", minimum=1)
    ordered_by: str = json_key("By what parts are ordered for drift.", optional=True)
    tests: tuple[Test, ...] = json_key("Every test over the lot.")
    shared_cause: tuple[RankedCause, ...] = json_key(
        "Causes that the samples share, most probable first; empty: none."
    )
    decision_rule: DecisionRule = json_key(optional=True)
    left_out: LeftOut = json_key(optional=True)
    fixture: Fixture = json_key(optional=True)
    together: Together = json_key(optional=True)
    lots: tuple[Lot, ...] = json_key(
        "Where two files are compared: each by itself, as of one file, with its name.",
        optional=True,
    )
    differences: tuple[Difference, ...] = json_key(
        "Where two files are compared: one row a test that both have.",
        optional=True,
    )
    difference_cause: dict[str, Any] | None = json_key(
        "Where two files are compared: what the second has that the first has not, as the field together.",
        optional=True,
    )
