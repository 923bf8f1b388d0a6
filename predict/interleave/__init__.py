"""The arrangements of a design: which orders and divisions of its windings can be wound, each as a design,
and what the bench reads of each.

Which of them are worth a look is judged in ``compare.plan``.
"""

from .adjustment import Adjustment, change_fits
from .arrangements import Arrangement, Arrangements, find_arrangements
from .many_readings import Predictions, Questions, predict_arrangements, predict_tests, questions_of
from .notes import pairs_text
from .rules import SHARINGS, Rules, rule_error
from .shop_changes import (
    BOBBIN_STEP,
    MARGIN_STEP,
    MOST_CHAMBER,
    MOST_HANDS,
    MOST_MARGIN,
    MOST_SPACER,
    MOST_WRAPS,
    SPACER_STEP,
    adjustments,
)

__all__ = [
    "BOBBIN_STEP",
    "MARGIN_STEP",
    "MOST_CHAMBER",
    "MOST_HANDS",
    "MOST_MARGIN",
    "MOST_SPACER",
    "MOST_WRAPS",
    "SHARINGS",
    "SPACER_STEP",
    "Adjustment",
    "Arrangement",
    "Arrangements",
    "Predictions",
    "Questions",
    "Rules",
    "adjustments",
    "change_fits",
    "find_arrangements",
    "pairs_text",
    "predict_arrangements",
    "predict_tests",
    "questions_of",
    "rule_error",
]
