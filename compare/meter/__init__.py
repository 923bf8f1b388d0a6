"""The uncertainty of one reading: what the meter adds, what handling adds, how both propagate into computed
values.

How far parts themselves scatter belongs to ``predict.production``.
"""

from .accuracy import impedance_error, meter_uncertainty
from .budget import REPEATABILITY, TEMPERATURE, Budget, handled_components, reading_budgets
from .propagation import Estimate, propagate

__all__ = [
    "REPEATABILITY",
    "TEMPERATURE",
    "Budget",
    "Estimate",
    "handled_components",
    "impedance_error",
    "meter_uncertainty",
    "propagate",
    "reading_budgets",
]
