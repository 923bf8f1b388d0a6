"""One test as it was read on one sample, and the names of tests that were read at several frequencies."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from ...predict.design import BenchTest
from ...predict.notation import hertz


@dataclass(frozen=True)
class ReadTest:
    """One test as read on one sample. value, uncertainty (standard): SI, the mean of ``repeats``; None:
    missing.

    scatter : the part of the uncertainty that repeats show (standard, of the mean); None: no repeats.
    temperature_told : whether every repeat came with its own temperature.
    as_typed, typed_at : of a resistance that was brought to another temperature, the mean before that, and
    the temperature (°C) of the reading (of the repeats the mean); else None.
    """

    place: int
    value: float | None
    uncertainty: float | None
    repeats: int
    note: str = ""
    scatter: float | None = None
    temperature_told: bool = False
    as_typed: float | None = None
    typed_at: float | None = None


def told_apart(tests: Sequence[BenchTest]) -> tuple[BenchTest, ...]:
    """The tests with names that tell them apart: those of a sweep are called "Lk_P at 50 kHz"."""
    names = [test.name for test in tests]
    return tuple(
        replace(test, name=f"{test.name} at {hertz(test.frequency)}")
        if names.count(test.name) > 1 and test.frequency is not None
        else test
        for test in tests
    )
