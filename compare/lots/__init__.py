"""Many samples at once: scatter, capability, drift, outliers, causes that they share, and what known-good
ones teach.

Single parts are judged in ``diagnosis`` and ``verdict``.
"""

from .calibration import FAR, Learned, learn, section
from .shared_causes import Apart, Together, explain_together
from .summary import NOT_NORMAL, Lot, LotTest, lot

__all__ = [
    "FAR",
    "NOT_NORMAL",
    "Apart",
    "Learned",
    "Lot",
    "LotTest",
    "Together",
    "explain_together",
    "learn",
    "lot",
    "section",
]
