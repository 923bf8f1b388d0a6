"""Readings that print the names and units of their tests, and one reading as text.

``print(readings(design))`` is for people at a prompt; programs use the values.
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

    In every other way it is an array: anything taken from it or computed with it is a plain array.

    Attributes
    ----------
    tests : tuple of BenchTest
        Tests of its last axis.
    """

    tests: tuple[BenchTest, ...] = ()

    def __array_finalize__(self, origin: object) -> None:
        """The tests are not passed on: a part of the readings no longer has one value for each test."""
        self.tests = ()

    def __array_wrap__(self, array: Any, context: Any = None, return_scalar: bool = False) -> Any:
        """Results of ufuncs are plain arrays."""
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
    """Values as an array that prints the names and units of its tests.

    Parameters
    ----------
    values : (..., T) array
        Readings, SI.
    tests : tuple of BenchTest
        The T tests.

    Returns
    -------
    (..., T) array
        The same values, SI.
    """
    result = np.asarray(values).view(Readings)
    result.tests = tests
    return result


def reading_text(value: float | None, measure: str, digits: int = 4) -> str:
    """A reading with its unit; "none found" for a resonance beyond the search, "-" for a missing reading.

    Parameters
    ----------
    value : float or None
        Reading, SI; None: no reading.
    measure : str
        Measure of the test.
    digits : int
        Significant digits, count.

    Returns
    -------
    str
        Text.
    """
    if beyond_search(measure, value):
        return "none found"
    return (
        "-" if value is None or math.isnan(value) else format_quantity(value, MEASURE_UNITS[measure], digits)
    )


def shown_with_uncertainty(value: float | None, uncertainty: float | None, measure: str) -> str:
    """A reading with its unit and expanded uncertainty (k = 2).

    Parameters
    ----------
    value : float or None
        Reading, SI; None: no reading.
    uncertainty : float or None
        Standard uncertainty, SI.
    measure : str
        Measure of the test.

    Returns
    -------
    str
        Text.
    """
    if value is None or beyond_search(measure, value):
        return reading_text(value, measure)
    return format_uncertain(value, uncertainty, MEASURE_UNITS[measure])
