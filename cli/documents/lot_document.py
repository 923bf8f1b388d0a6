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
    mean: float | None = json_key("Mean of the readings, in the test's unit.")
    standard_deviation: float | None = json_key(
        "Standard deviation of the readings, in the test's unit.", minimum=0
    )
    process_standard_deviation: float | None = json_key(
        "The same without the random part of one reading, in the test's unit.", minimum=0, optional=True
    )
    predicted: float | None = json_key("Prediction for a part, in the test's unit.")
    predicted_uncertainty: float | None = json_key(
        "Standard uncertainty of the prediction for a single part, in the test's unit.",
        minimum=0,
        optional=True,
    )
    predicted_low: float | None = json_key(
        "Lower end of the range of single parts, in the test's unit.", optional=True
    )
    predicted_high: float | None = json_key("Upper end, in the test's unit.", optional=True)
    deviation: float | None = json_key("mean/predicted - 1; for phase the difference (rad).", optional=True)
    score: float | None = json_key("Difference of the mean in standard uncertainties.", optional=True)
    limits: Limits = json_key(optional=True)
    cpk: float | None = json_key("Capability index as read (dimensionless).")
    cpk_lower: float | None = json_key("Its lower 95 % confidence bound (dimensionless).")
    outside: int = json_key("Parts read outside their limits.", minimum=0)
    fails: int = json_key("Parts that fail by the decision rule.", minimum=0, optional=True)
    tolerance_low: float | None = json_key(
        "Lower end of what holds 95 % of parts with 95 % confidence, in the test's unit.", optional=True
    )
    tolerance_high: float | None = json_key("Upper end, in the test's unit.", optional=True)
    normality_p: float | None = json_key(
        "p of the hypothesis that the lot is normal.", minimum=0, maximum=1, optional=True
    )
    drift_per_part: float | None = json_key("Slope from part to part, in the test's unit.", optional=True)
    drift_p: float | None = json_key(
        "p of the hypothesis that there is none.", minimum=0, maximum=1, optional=True
    )
    outliers: Sequence[OutlierItem] = json_key(
        "Parts that lie outside the scatter of the lot.", optional=True
    )
    excluded: Sequence[Excluded] = json_key(
        "Parts left out of mean, interval and capability: slips and strangers.", optional=True
    )
    within_batches: float | None = json_key(
        "Standard deviation within batches, in the test's unit.", minimum=0, optional=True
    )
    between_batches: float | None = json_key(
        "Standard deviation between batches, in the test's unit.", minimum=0, optional=True
    )
    batches_p: float | None = json_key(
        "p of the hypothesis that batches do not differ.", minimum=0, maximum=1, optional=True
    )


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class LotRecord:
    """One lot."""

    file: str = json_key("The file.")
    samples: int = json_key("Number of samples.")
    tests: Sequence[Any] = json_key("As the field tests of one file.")


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class Difference:
    """One test."""

    name: str = json_key("Its name.")
    unit: str = json_key("SI unit.")
    difference: float = json_key("Mean of the second lot less that of the first, in its unit.")
    relative: float | None = json_key("The same relative to the first; null for a phase.", optional=True)
    uncertainty: float = json_key(
        "Standard uncertainty of the difference, from the scatter, in its unit.", optional=True
    )
    p: float | None = json_key("Chance of so large a difference between lots that are alike (dimensionless).")
    differs: bool = json_key("Whether that chance is too small to be one.")


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
        "What the samples share; null: fewer than two samples with a reading.", optional=True
    )
    decision_rule: DecisionRule = json_key(optional=True)
    left_out: LeftOut = json_key(optional=True)
    fixture: Fixture = json_key(optional=True)
    lots: Sequence[LotRecord] = json_key(
        "Where two files are compared: each by itself, as of one file, with its name.", optional=True
    )
    differences: Sequence[Difference] = json_key(
        "Where two files are compared: one row a test that both have.", optional=True
    )
    difference_cause: dict[str, Any] | None = json_key(
        "Where two files are compared: what the second has that the first has not, as the field together.",
        optional=True,
    )
