"""What a report is made of: the answers of the commands whose words it prints, and its inputs."""

from __future__ import annotations

from dataclasses import dataclass

from ...compare.diagnosis import Diagnosis
from ...compare.lots import Lot
from ...compare.plan import FaultCoverage, PlannedTest
from ...compare.readings import FixtureCorrection
from ...compare.verdict import SampleComparison
from ...predict.designfile import InputFile
from .forecast import Forecast


@dataclass(frozen=True, kw_only=True)
class ReportInput:
    """Everything that a report is made of.

    Attributes
    ----------
    forecast : Forecast, what is predicted of the design
    plan : tuple[PlannedTest, ...], every test as planned
    samples : tuple[SampleComparison, ...], every sample, compared; empty without readings
    diagnoses : tuple[Diagnosis, ...], diagnosis of each sample; empty without readings
    lot : Lot or None, statistics of the lot; None without readings
    rule : str, the decision rule
    correction : FixtureCorrection or None, what the fixture's correction did; None: no fixture file
    left_out : tuple[str, ...], readings that the diagnosis leaves out, by name
    top : int, causes listed for each sample, count
    builds : int, random builds, count
    seed : int, seed of the random builds
    command : str, the command line
    sources : tuple[InputFile, ...], the files that it read
    libraries : str, versions of the libraries in use
    coverage : FaultCoverage or None, what the tests can see; None: not asked for
    """

    forecast: Forecast
    plan: tuple[PlannedTest, ...]
    samples: tuple[SampleComparison, ...]
    diagnoses: tuple[Diagnosis, ...]
    lot: Lot | None
    rule: str
    correction: FixtureCorrection | None
    left_out: tuple[str, ...]
    top: int
    builds: int
    seed: int
    command: str
    sources: tuple[InputFile, ...]
    libraries: str
    coverage: FaultCoverage | None = None
