"""The JSON of ``lot``."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, Any, ClassVar

from .record import Meaning, json_key
from .shared_records import (
    DecisionRule,
    Fixture,
    LeftOut,
    Limits,
    Measure,
    RankedCauseRecord,
    TogetherRecord,
    Unit,
)

OutlierItem = Annotated[str, Meaning(text="A sample.")]


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class Excluded:
    """One part."""

    sample: str = json_key("Its name.")
    why: str = json_key("Why it is left out.")


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class LotTestRecord:
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
    outliers: Sequence[OutlierItem] = json_key("Parts outside what the lot scatters.", optional=True)
    excluded: Sequence[Excluded] = json_key(
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


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class LotRecord:
    """One lot."""

    file: str = json_key("The file.")
    samples: int = json_key("Number of samples.")
    tests: Sequence[Any] = json_key("As above.")


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class Difference:
    """One test."""

    name: str = json_key("Its name.")
    unit: str = json_key("SI unit.")
    difference: float = json_key("Mean of the second less that of the first.")
    relative: float | None = json_key("Over the first; null for a phase.", optional=True)
    uncertainty: float = json_key("Standard, of the difference, by scatter.", optional=True)
    p: float | None = json_key("Chance of so large a difference between lots that are alike.")
    differs: bool = json_key("Whether that is too small a chance.")


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
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
    tests: Sequence[LotTestRecord] = json_key("Every test over the lot.")
    shared_cause: Sequence[RankedCauseRecord] = json_key(
        "Causes that the samples share, most probable first; empty: none."
    )
    together: TogetherRecord | None = json_key(
        "What the samples share; null: fewer than two samples with a reading.",
        optional=True,
    )
    decision_rule: DecisionRule = json_key(optional=True)
    left_out: LeftOut = json_key(optional=True)
    fixture: Fixture = json_key(optional=True)
    lots: Sequence[LotRecord] = json_key(
        "Where two files are compared: each by itself, as of one file, with its name.",
        optional=True,
    )
    differences: Sequence[Difference] = json_key(
        "Where two files are compared: one row a test that both have.",
        optional=True,
    )
    difference_cause: dict[str, Any] | None = json_key(
        "Where two files are compared: what the second has that the first has not, as the field together.",
        optional=True,
    )
