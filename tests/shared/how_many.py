"""What every run tries, and what --slow and .ci/run try beyond it: values of parameters, examples of laws."""

from __future__ import annotations

import os
from typing import Any

import pytest

SLOW = "TESTS_MARKED_SLOW_RUN"
"""Set in the environment where the tests marked slow run: decorators are read before options are at hand."""


def and_slow(*values: Any) -> list[Any]:
    """Further values of a parameter (tuples, where a test has several), tried with the slow tests alone."""
    return [
        pytest.param(*(value if isinstance(value, tuple) else (value,)), marks=pytest.mark.slow)
        for value in values
    ]


def examples(many: int) -> int:
    """How many generated examples a law is tried on: ``many`` with the slow tests, a third without them, but
    ten at least."""
    return many if os.environ.get(SLOW) else max(many // 3, min(many, 10))
