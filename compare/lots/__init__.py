"""Many samples at once: scatter, capability, drift, outliers, shared causes, and calibration from known-good
samples.

Single parts are judged in ``diagnosis`` and ``verdict``.
"""

from .calibration import learn
from .learned import FAR, Learned, LearnedFactor, LearnedOwn, section
from .lot_pair import TwoLots, two_lots
from .shared_causes import StrangeSample, Together, explain_together
from .summary import NOT_NORMAL, Lot, LotTest, lot

__all__ = [
    "FAR",
    "NOT_NORMAL",
    "Learned",
    "LearnedFactor",
    "LearnedOwn",
    "Lot",
    "LotTest",
    "StrangeSample",
    "Together",
    "TwoLots",
    "explain_together",
    "learn",
    "lot",
    "section",
    "two_lots",
]
