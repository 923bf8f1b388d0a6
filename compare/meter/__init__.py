"""Uncertainty of one reading: what the meter adds, what handling adds, and how both propagate into computed
values.

The scatter of the parts themselves belongs to ``predict.production``.
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
