"""Predicted against read: deviation, score, limits with guard bands, stages of making, measured sweeps.

This room says whether a reading deviates; the reason is the business of ``diagnosis``.
"""

from .beyond_limits import FailedLimit, failed_limits
from .comparison import SampleComparison, TestComparison, compare, predicted_scatter, score_of
from .decision import RULES, THREE_ZONE, decide
from .doubts import RESIDUAL, doubted
from .evaluation import (
    DEVIATES,
    NO_RESONANCE_DOUBT,
    Evaluation,
    ReadSample,
    difference,
    evaluate,
    handled_uncertainty,
    limits_elsewhere,
    relative_deviation,
    sweeps_apart,
)
from .measured_sweeps import MeasuredSweep, Point, compare_sweep, sweep_readings
from .normal import below_normal
from .stages import StageChange, finished_readings, judged

__all__ = [
    "DEVIATES",
    "NO_RESONANCE_DOUBT",
    "RESIDUAL",
    "RULES",
    "THREE_ZONE",
    "Evaluation",
    "FailedLimit",
    "MeasuredSweep",
    "Point",
    "ReadSample",
    "SampleComparison",
    "StageChange",
    "TestComparison",
    "below_normal",
    "compare",
    "compare_sweep",
    "decide",
    "difference",
    "doubted",
    "evaluate",
    "failed_limits",
    "finished_readings",
    "handled_uncertainty",
    "judged",
    "limits_elsewhere",
    "predicted_scatter",
    "relative_deviation",
    "score_of",
    "sweep_readings",
    "sweeps_apart",
]
