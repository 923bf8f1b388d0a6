"""The arrangements of a design: which orders and divisions of its windings can be wound, each as a design,
and what the bench reads of each.

Which of them are worth a look is judged in ``compare.plan``.
"""

from .arrangements import Arrangement, Arrangements, find_arrangements
from .many_readings import Predictions, Questions, predict_arrangements, predict_tests, questions_of
from .notes import pairs_text
from .rules import SHARINGS, Rules, rule_error
from .shop_changes import (
    MOST_CHAMBER,
    MOST_HANDS,
    MOST_MARGIN,
    MOST_SPACER,
    MOST_WRAPS,
    Adjustment,
    adjustments,
)

__all__ = [
    "MOST_CHAMBER",
    "MOST_HANDS",
    "MOST_MARGIN",
    "MOST_SPACER",
    "MOST_WRAPS",
    "SHARINGS",
    "Adjustment",
    "Arrangement",
    "Arrangements",
    "Predictions",
    "Questions",
    "Rules",
    "adjustments",
    "find_arrangements",
    "pairs_text",
    "predict_arrangements",
    "predict_tests",
    "questions_of",
    "rule_error",
]
