"""Limits to propose for a test: what normal production gives, and a guard band for the bench.

    max = m + (k/1.96)(q₉₇.₅ − m) + U        min = m − (k/1.96)(m − q₂.₅) − U

m is the median of random builds with the layers as designed (the model's own error included), q the ends
of their 95 % range, so a skewed range gives asymmetric limits; k = 3 (99.7 % of a normal production); U =
2u of one reading, without the part's temperature, which the builds already vary. A good part at the edge
of production then still passes under the guard band of ``decision``. Limits are rounded outwards to a step
of at most a tenth of the half width. If the test states only one limit, only that one is proposed. A lower
limit that would not be positive, for a reading that is, is left out. The phase of a sensed winding shows
its polarity: its limits are at least ±10° about 0 or ±180°, and no contributor is named.

The contributor to be tightened is the one with the largest half width of its own, k σ √share for a
tolerance or a model, U for the bench. Its gain is that of the limits' half width when the tolerance (for
the bench: its largest component) is halved.

Source: guard band: JCGM 106:2012, clause 8 (from memory); k = 3, rounding, ±10°: common practice, no
source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ...predict.circuit import beyond_search
from ...predict.design import BenchTest
from ...predict.production import RANGE_END, ProductionSpread
from ..meter import TEMPERATURE, Budget

COVERAGE = 3.0
"""Standard deviations of production for which the limits leave room (common practice: three standard
deviations)."""
POLARITY = math.radians(10.0)
"""Least half width (rad) of the limits of a phase between two windings (judged: a reversed winding is 180°
off, a lossy one some degrees)."""
_HALVED = 0.5
_FINENESS = 0.1
"""Greatest step of the rounding, as a fraction of the half width (judged by what a reader can take in; no
verdict depends on it)."""


@dataclass(frozen=True, kw_only=True)
class ProposedLimits:
    """Proposed limits of one test.

    Attributes
    ----------
    minimum, maximum : float or None
        Lower and upper limit, SI; None if not proposed.
    driver : str
        Parameter of the spread, or component of the bench, that widens them most; "" if nothing does.
    at_bench : bool
        Whether it belongs to the bench.
    gain : float
        Reduction of the half width if it were halved, relative.
    half_width : float
        Mean half width before rounding, SI.
    guard_band : float
        Guard band U, SI.
    step : float
        Step of the rounding, in the displayed SI unit (degrees for a phase).
    """

    minimum: float | None
    maximum: float | None
    driver: str
    at_bench: bool
    gain: float
    half_width: float
    guard_band: float
    step: float


def proposed_limits(
    test: BenchTest, production: ProductionSpread, index: int, budget: Budget, *, coverage: float = COVERAGE
) -> ProposedLimits | None:
    """Limits to propose for a test. Equations in the module's docstring.

    Parameters
    ----------
    test : BenchTest
    production : ProductionSpread
    index : int, index of the test in the production spread
    budget : Budget, budget of one reading
    coverage : float, optional, k > 0, dimensionless

    Returns
    -------
    ProposedLimits or None, the limits; None if some builds have no finite reading, or no resonance
    """
    low, high = float(production.low[index]), float(production.high[index])
    middle = float(np.median(production.as_designed[:, index]))
    if not all(map(math.isfinite, (low, high, middle))) or beyond_search(test.measure, high):
        return None
    bench = budget.without(TEMPERATURE)
    up = coverage / RANGE_END * max(high - middle, 0.0) + bench.expanded
    down = coverage / RANGE_END * max(middle - low, 0.0) + bench.expanded
    polarity = test.measure == "phase" and bool(test.sense)
    if polarity:
        pole = math.pi * round(middle / math.pi)
        up, down = (max(up, pole + POLARITY - middle), max(down, middle - pole + POLARITY))
    half = (up + down) / 2
    step = _step(math.degrees(half) if test.measure == "phase" else half, abs(middle))
    both = (test.minimum is None) == (test.maximum is None)
    driver, at_bench, gain = (
        ("", False, 0.0) if polarity else _driver(production, index, bench, coverage, half)
    )
    lowest = _outwards(middle - down, step, -1, test.measure) if both or test.minimum is not None else None
    if lowest is not None and lowest <= 0 < middle and test.measure != "phase":
        lowest = None
    return ProposedLimits(
        minimum=lowest,
        maximum=_outwards(middle + up, step, 1, test.measure) if both or test.maximum is not None else None,
        driver=driver,
        at_bench=at_bench,
        gain=gain,
        half_width=half,
        guard_band=bench.expanded,
        step=step,
    )


def _step(half: float, size: float) -> float:
    """Largest of 1, 2, 5 × 10ⁿ that is at most FINENESS of the half width."""
    most = _FINENESS * half if half > 0 else 1e-4 * size or 1.0
    ten: float = 10.0 ** math.floor(math.log10(most))
    return max(factor * ten for factor in (1.0, 2.0, 5.0) if factor * ten <= most * (1 + 1e-9))


def _outwards(value: float, step: float, side: int, measure: str) -> float:
    """Next multiple of ``step`` on the outer side of ``value``: 1 above, -1 below."""
    shown = math.degrees(value) if measure == "phase" else value
    count = shown / step
    rounded = side * math.ceil(side * count - 1e-9) * step
    return math.radians(rounded) if measure == "phase" else rounded


def _driver(
    production: ProductionSpread, index: int, bench: Budget, coverage: float, half: float
) -> tuple[str, bool, float]:
    """Contributor with the largest half width of its own: name, whether it belongs to the bench, gain."""
    built = coverage * float(production.standard_uncertainty[index])
    drivers = production.drivers[index]
    share = drivers[0].share if drivers else 0.0
    if half <= 0:
        return "", False, 0.0
    if bench.components and bench.expanded > built * math.sqrt(share):
        name = bench.components[0].name
        return name, True, (bench.expanded - bench.eased(name, _HALVED).expanded) / half
    if not drivers:
        return "", False, 0.0
    left = math.sqrt(max(1 - share * (1 - _HALVED**2), 0.0))
    return drivers[0].parameter, False, built * (1 - left) / half
