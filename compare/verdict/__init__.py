"""Predicted against read: deviation, score, limits with guard bands, stages of making, measured sweeps.

It says whether a reading deviates; why it does is the business of ``diagnosis``.
"""

from .comparison import SampleComparison, TestComparison, compare
from .decision import RULES, THREE_ZONE, decide
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
from .stages import StageChange, finished_readings, judged

__all__ = [
    "DEVIATES",
    "NO_RESONANCE_DOUBT",
    "RULES",
    "THREE_ZONE",
    "Evaluation",
    "MeasuredSweep",
    "Point",
    "ReadSample",
    "SampleComparison",
    "StageChange",
    "TestComparison",
    "compare",
    "compare_sweep",
    "decide",
    "difference",
    "evaluate",
    "finished_readings",
    "handled_uncertainty",
    "judged",
    "limits_elsewhere",
    "relative_deviation",
    "sweep_readings",
    "sweeps_apart",
]
