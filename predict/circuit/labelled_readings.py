"""Readings that print the names and units of their tests, and one reading as text.

``print(readings(design))`` is for people at a prompt; programs take the values.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from ..design import BenchTest, FloatArray
from ..measures import MEASURE_UNITS
from ..notation import aligned, format_quantity, format_uncertain
from .resonance import beyond_search


class Readings(np.ndarray[Any, np.dtype[np.float64]]):
    """An array of readings that prints the names and units of its tests.

    It is an array in every other way: what is taken from it or computed with it is a plain one. ``tests``:
    the tests of its last axis.
    """

    tests: tuple[BenchTest, ...] = ()

    def __array_finalize__(self, origin: object) -> None:
        """Nothing is handed on: a part of readings is no longer one value for each test."""
        self.tests = ()

    def __array_wrap__(self, array: Any, context: Any = None, return_scalar: bool = False) -> Any:
        """What ufuncs make of readings is plain."""
        plain = np.asarray(array)
        return plain[()] if return_scalar or plain.ndim == 0 else plain

    def __str__(self) -> str:
        if self.ndim != 1 or len(self) != len(self.tests):
            return str(np.asarray(self))
        rows = [
            [test.name, reading_text(float(value), test.measure)]
            for test, value in zip(self.tests, self, strict=True)
        ]
        return aligned(rows, right=(1,))

    def __repr__(self) -> str:
        return str(self) if self.tests else repr(np.asarray(self))


def labelled(values: FloatArray, tests: tuple[BenchTest, ...]) -> FloatArray:
    """``values`` (…, T) as an array that prints the names and units of its T ``tests``."""
    result = np.asarray(values).view(Readings)
    result.tests = tests
    return result


def reading_text(value: float | None, measure: str, digits: int = 4) -> str:
    """A reading with its unit; "none" where no resonance is found, "-" where there is no reading."""
    if beyond_search(measure, value):
        return "none found"
    return (
        "-" if value is None or math.isnan(value) else format_quantity(value, MEASURE_UNITS[measure], digits)
    )


def shown_with_uncertainty(value: float | None, uncertainty: float | None, measure: str) -> str:
    """A reading with its unit and expanded uncertainty (k = 2); ``uncertainty`` is standard, in SI."""
    if value is None or beyond_search(measure, value):
        return reading_text(value, measure)
    return format_uncertain(value, uncertainty, MEASURE_UNITS[measure])
