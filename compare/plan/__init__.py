"""Before the bench: how to take each reading, which limits to hold it to, at which frequencies; readings
while a part is wound; trade-offs of arrangements.

Readings that have been taken are judged in ``verdict`` and ``diagnosis``.
"""

from .at_the_bench import BenchGuide, bench_guide, judged_entry
from .bench_sheet import PlannedTest, plan
from .faults_seen import FaultCoverage, FurtherTest, SeenFault, fault_coverage
from .finished_checks import ShopReading
from .in_process import shop_readings
from .interleaving import Comparison, Detail, against_present, comparison, figures_of
from .limits import COVERAGE, ProposedLimits
from .process_readings import SURE

__all__ = [
    "COVERAGE",
    "SURE",
    "BenchGuide",
    "Comparison",
    "Detail",
    "FaultCoverage",
    "FurtherTest",
    "PlannedTest",
    "ProposedLimits",
    "SeenFault",
    "ShopReading",
    "against_present",
    "bench_guide",
    "comparison",
    "fault_coverage",
    "figures_of",
    "judged_entry",
    "plan",
    "shop_readings",
]
