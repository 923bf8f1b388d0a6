"""The JSON of ``compare``."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, ClassVar

from .record import Meaning, json_key
from .shared_records import CheckRecord, DecisionRule, DerivedRecord, Fixture, Limits, Measure, Unit


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class CompareTest:
    """One test."""

    name: str = json_key("Its name.")
    measure: Measure = json_key(optional=True)
    unit: Unit = json_key()
    frequency: float | None = json_key("Frequency (Hz); null: direct current, or none set.", optional=True)
    predicted: float | None = json_key("Prediction, in the test's unit; null before the core is in.")
    predicted_uncertainty: float | None = json_key(
        "Standard uncertainty of production, model and set-up, in the test's unit.", minimum=0
    )
    predicted_low: float | None = json_key(
        "2.5 % point of the prediction, in the test's unit; the range need not be symmetric.", optional=True
    )
    predicted_high: float | None = json_key(
        "97.5 % point of the prediction, in the test's unit; the range need not be symmetric.", optional=True
    )
    read: float | None = json_key("The reading, in the test's unit; null: missing.")
    read_uncertainty: float | None = json_key(
        "Standard uncertainty of meter and handling, in the test's unit.", minimum=0
    )
    read_as_typed: float | None = json_key(
        "A direct-current resistance before it was brought to the test's temperature (ohm); else null.",
        optional=True,
    )
    read_at_degC: float | None = json_key("The temperature of that reading (°C); else null.", optional=True)
    deviation: float | None = json_key("read/predicted - 1; for phase the difference (rad).")
    score: float | None = json_key("Difference in standard uncertainties of both together.")
    agrees: bool | None = json_key("Whether |score| <= 2.")
    limits: Limits = json_key()
    verdict: str | None = json_key(
        "By the decision rule; null: missing or not judged.",
        values=("pass", "fail", "undecided", "no limit", None),
    )
    conformity: float | None = json_key(
        "Probability of meeting the limits; null without limits.", minimum=0, maximum=1
    )


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class CompareSample:
    """One sample."""

    sample: str = json_key("Its name, with the stage where it was read at several.")
    tests: Sequence[CompareTest] = json_key("Every test that was read or should have been.")
    checks: Sequence[CheckRecord] = json_key("Consistency of the readings with each other.")
    derived: Sequence[DerivedRecord] = json_key(
        "What follows from the readings, without the design.", optional=True
    )


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class Stage:
    """One reading of one sample between two stages."""

    sample: str = json_key("The sample.")
    name: str = json_key("The test.")
    unit: Unit = json_key()
    frequency: float | None = json_key("Frequency (Hz).")
    from_: str = json_key("Stage before.", name="from")
    to: str = json_key("Stage after.")
    before: float | None = json_key("Reading before, in the test's unit.")
    after: float | None = json_key("Reading after, in the test's unit.")
    change: float | None = json_key("after/before - 1; for phase the difference (rad).")
    change_uncertainty: float | None = json_key("Its standard uncertainty, in the same unit.", minimum=0)
    score: float | None = json_key("Change in standard uncertainties.")
    moved: bool = json_key("Whether |score| > 3.")


TestItem = Annotated[str, Meaning(text="Its name.")]


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class CompareFactor:
    """One factor."""

    key: str = json_key(
        "Its key in [calibration].", values=("leakage", "inductance", "capacitance", "mean_turn")
    )
    factor: float = json_key("Truth over model (dimensionless).", exclusiveMinimum=0)
    uncertainty: float = json_key("Uncertainty for the next part (relative).", minimum=0)
    uncertainty_before: float = json_key("What the model states of itself (relative).", minimum=0)
    surprise: float = json_key("How far it lies from 1, in standard deviations of what was believed before.")
    tests: Sequence[TestItem] = json_key("Tests that determine it, most telling first.")


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class Own:
    """One pair of windings, or one reading."""

    of: str = json_key("Which: the kind of reading, then the windings.")
    factor: float = json_key("Truth over model (dimensionless).", exclusiveMinimum=0)
    uncertainty: float = json_key("Uncertainty for the next part (relative).", minimum=0)
    uncertainty_before: float = json_key("What the model states of itself (relative).", minimum=0)
    surprise: float = json_key("How far it lies from 1, in standard deviations of what was believed before.")


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class NotLearned:
    """One factor."""

    key: str = json_key("Its key.")
    why: str = json_key("Why not.")


DoubtItem = Annotated[str, Meaning(text="A sentence.")]


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class Calibration:
    """With --learn: what the samples teach about the models. Uncertainties relative, k = 2."""

    samples: int = json_key("Samples taken as good.", minimum=1)
    factors: Sequence[CompareFactor] = json_key("Every factor that was learned.")
    own: Sequence[Own] = json_key(
        "What was learned of single pairs of windings and single readings, beside the factors."
    )
    not_learned: Sequence[NotLearned] = json_key("The other factors.")
    doubts: Sequence[DoubtItem] = json_key("What speaks against taking the samples as good.")


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class CompareDocument:
    """Predicted against read. SI units (radians); null: missing; uncertainties are standard (k = 1)."""

    document: ClassVar[str] = "compare"
    definitions: ClassVar[tuple[str, ...]] = (
        "decision_rule",
        "measure",
        "unit",
        "limits",
        "check",
        "derived",
        "fixture",
    )

    decision_rule: DecisionRule = json_key(optional=True)
    samples: Sequence[CompareSample] = json_key("Every sample (at every stage), in the file's order.")
    stages: Sequence[Stage] = json_key("How readings moved from stage to stage.", optional=True)
    fixture: Fixture = json_key(optional=True)
    calibration: Calibration = json_key(optional=True)
