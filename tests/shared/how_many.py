"""How many generated examples a law is tried on: all of them with --slow and in .ci/run, else a third.

Hypothesis draws the same examples in the same order there, so the first third is tried twice and nothing is
lost; in a run without --slow each run draws its own.
"""

from __future__ import annotations

import os

SLOW = "TESTS_MARKED_SLOW_RUN"
"""Set in the environment where the tests marked slow run: decorators are read before options are at hand."""


def examples(many: int) -> int:
    """``many`` with the slow tests, a third without them, but ten at least.

    Parameters
    ----------
    many : int
        Examples of the whole run, count.
    """
    return many if os.environ.get(SLOW) else max(many // 3, min(many, 10))
