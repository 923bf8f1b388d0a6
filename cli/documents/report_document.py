"""The JSON of ``report``."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

from .compare_document import CompareDocument
from .explain_document import ExplainDocument
from .lot_document import LotDocument
from .plan_document import PlanDocument
from .predict_document import PredictDocument
from .record import json_key


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class ReportVerdict:
    """One sample."""

    sample: str = json_key("Its name, with the stage where it was read at several.")
    verdict: str = json_key(
        "The worst that is said of it.",
        values=(
            "fails a limit",
            "contradicts itself",
            "deviates",
            "not read",
            "undecided",
            "near the edge",
            "agrees",
        ),
    )
    compared: str = json_key("Its readings against the design, in a sentence.")
    explained: str = json_key("What it most likely is, in a sentence; a dash where nothing explains it.")


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class Input:
    """One file."""

    name: str = json_key("Its path as given.")
    bytes: int = json_key("Its size.", minimum=0)


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class ReportDocument:
    """Where the page was written, and what it shows: each part as its own command prints it of the same
    inputs. SI units (radians); null: missing.
    """

    document: ClassVar[str] = "report"

    design: str = json_key("Title of the design.")
    version: str = json_key("Version of aswound.")
    file: str = json_key("The page that was written.")
    deviates: bool = json_key("Whether the exit status is 1: something deviates, by compare, explain or lot.")
    summary: str = json_key("The verdict on all samples in one sentence.")
    verdicts: Sequence[ReportVerdict] = json_key(
        "The page's first table: every sample as compared, in the file's order."
    )
    command: str = json_key("The command line that makes the page again.")
    builds: int = json_key("Random builds of the spread.", minimum=100)
    seed: int = json_key("Seed of the random builds.", minimum=0)
    inputs: Sequence[Input] = json_key("The files that the page echoes, in its order.")
    predict: PredictDocument = json_key("As predict --json.")
    plan: PlanDocument = json_key("As plan --json.")
    faults: dict[str, Any] | None = json_key(
        "What the tests can see: as the field faults of plan --faults; null: without tests.", optional=True
    )
    compare: CompareDocument | None = json_key("As compare --json; null without readings.")
    explain: ExplainDocument | None = json_key("As explain --json; null without readings of finished parts.")
    lot: LotDocument | None = json_key("As lot --json; null where no test was read in five parts.")
