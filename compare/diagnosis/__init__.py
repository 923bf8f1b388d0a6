"""The probability of each cause given the readings of one part, in words and numbers, and what to measure
next.

What the causes do to a design is in ``causes``; many parts together are the business of ``lots``.
"""

from .conclusion import Diagnosis, Family, NextTest, RankedCause, ReadingUnderCause, RunnerUp
from .covariances import Frame, covariance_under, frame_of
from .entries import Scene, under
from .evidence import explain
from .families import families_of
from .probabilities import Beliefs, normalised, posterior, shares
from .weighing import (
    Case,
    case_of,
    clear_of_zero,
    log_as_designed,
    log_bad_or_exchanged,
    log_nodes,
    log_sum,
    log_unlisted,
    sign_untold,
)

__all__ = [
    "Beliefs",
    "Case",
    "Diagnosis",
    "Family",
    "Frame",
    "NextTest",
    "RankedCause",
    "ReadingUnderCause",
    "RunnerUp",
    "Scene",
    "case_of",
    "clear_of_zero",
    "covariance_under",
    "explain",
    "families_of",
    "frame_of",
    "log_as_designed",
    "log_bad_or_exchanged",
    "log_nodes",
    "log_sum",
    "log_unlisted",
    "normalised",
    "posterior",
    "shares",
    "sign_untold",
    "under",
]
