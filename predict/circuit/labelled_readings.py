"""What results print of themselves: a few aligned lines with units, never an array of thousands.

``print(readings(design))`` and its like are for people at a prompt; programs take the values.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from ..design import MEASURE_UNITS, BenchTest, Design, FloatArray, ShieldStep, WindStep
from ..notation import format_quantity, format_range
from .resonance import beyond_search

if TYPE_CHECKING:
    from ..production.monte_carlo import ProductionSpread


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
            [test.name, shown(float(value), test.measure)]
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


def aligned(rows: Sequence[Sequence[str]], right: Sequence[int] = ()) -> str:
    """Rows of text in columns two spaces apart, those in ``right`` set to the right."""
    if not rows:
        return "(nothing)"
    widths = [max(len(row[place]) for row in rows) for place in range(len(rows[0]))]
    return "\n".join(
        "  ".join(
            cell.rjust(width) if place in right else cell.ljust(width)
            for place, (cell, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in rows
    )


def shown(value: float | None, measure: str, digits: int = 4) -> str:
    """A reading with its unit; "none" where no resonance is found, "-" where there is no reading."""
    if beyond_search(measure, value):
        return "none found"
    return (
        "-" if value is None or math.isnan(value) else format_quantity(value, MEASURE_UNITS[measure], digits)
    )


def design_text(design: Design) -> str:
    """Title, core, windings with their turns, build and tests in a few lines."""
    core = design.core
    gap = np.atleast_1d(np.asarray(core.gap, float))
    air = f"gap {format_quantity(float(gap[0]), 'm', 3)}" if gap[0] > 0 else "no ground gap"
    many = f" ({len(gap)} builds, the first is shown)" if len(gap) > 1 else ""
    windings = ", ".join(
        f"{winding.name} {design.turns_of(winding.name)} turns" for winding in design.windings
    )
    order = " ".join(
        step.winding if isinstance(step, WindStep) else step.name
        for step in design.build.steps
        if isinstance(step, WindStep | ShieldStep)
    )
    return "\n".join(
        [
            f"{design.title or '(no title)'}{many}",
            f"core      {core.name}, {core.material.name}, {air}",
            f"windings  {windings}",
            f"build     {order} in {len(design.build.steps)} steps",
            f"tests     {', '.join(test.name for test in design.tests)}",
        ]
    )


def spread_text(spread: ProductionSpread) -> str:
    """Every test: nominal, 95 % of production, the largest driver."""
    rows = [["test", "nominal", "95 % of production", "driven by"]]
    for place, test in enumerate(spread.tests):
        low, high = float(spread.low[place]), float(spread.high[place])
        span = (
            "-" if beyond_search(test.measure, high) else format_range(low, high, MEASURE_UNITS[test.measure])
        )
        largest = spread.drivers[place][:1] if spread.drivers else ()
        driver = "".join(f"{one.parameter.replace('_', ' ')} {100 * one.share:.0f} %" for one in largest)
        rows.append([test.name, shown(float(spread.nominal[place]), test.measure), span, driver])
    return f"{len(spread.samples)} random builds\n{aligned(rows, right=(1, 2))}"
