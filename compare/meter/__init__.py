"""Uncertainty of one reading: what the meter adds, what handling adds, how both propagate into computed
values, and what no meter can tell.

The scatter of the parts themselves belongs to ``predict.production``.
"""

from .accuracy import COVERAGE, impedance_error, meter_uncertainty
from .budget import REPEATABILITY, TEMPERATURE, Budget, handled_components, reading_budgets
from .instrument import out_of_reach, wrong_signs
from .propagation import Estimate, propagate

__all__ = [
    "COVERAGE",
    "REPEATABILITY",
    "TEMPERATURE",
    "Budget",
    "Estimate",
    "handled_components",
    "impedance_error",
    "meter_uncertainty",
    "out_of_reach",
    "propagate",
    "reading_budgets",
    "wrong_signs",
]
