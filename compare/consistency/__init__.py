"""Laws that the readings of one part obey whatever the design, and what can be derived from them: k, M,
equivalent circuits.

No prediction is needed; readings are compared with a design in ``verdict``.
"""

from .checks import consistency_checks, part_checks, part_readings
from .derived import Derived, derived_parameters
from .part import Check
from .undrawn import RowsWanted, UndrawnPart, check_part

__all__ = [
    "Check",
    "Derived",
    "RowsWanted",
    "UndrawnPart",
    "check_part",
    "consistency_checks",
    "derived_parameters",
    "part_checks",
    "part_readings",
]
