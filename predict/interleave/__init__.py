"""The arrangements of a design: which orders and divisions of its windings can be wound, each as a design,
and what the bench reads of each.

Which of them are worth a look is judged in ``compare.plan``.
"""

from .arrangements import Arrangement, Arrangements, find_arrangements
from .many_readings import Predictions, Questions, predict_arrangements, questions_of
from .rules import SHARINGS, Rules, refuse

__all__ = [
    "SHARINGS",
    "Arrangement",
    "Arrangements",
    "Predictions",
    "Questions",
    "Rules",
    "find_arrangements",
    "predict_arrangements",
    "questions_of",
    "refuse",
]
