"""What the bench sheet warns of: limits, link, frequency, circuit and level.

A limit can be tested if its tolerance T (half of the range; for a single limit, its distance from the
middle of production) is at least three times the expanded uncertainty 2u of one reading.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ...predict.circuit import is_leakage, predict_bench
from ...predict.cores import core_share, level_ratio
from ...predict.design import BenchTest, Design, FloatArray
from ...predict.production import ProductionSpread
from ...predict.quantity import format_percent, format_quantity
from ..meter import Budget, out_of_reach
from .frequency_window import WITHIN, FrequencyWindow

TESTABLE = 3.0
"""Least ratio of the tolerance to the expanded uncertainty (common practice: 3 to 4, no source)."""
BLURRED = 0.10
"""The sheet warns from this relative expanded uncertainty of a reading on, if production varies less (common
practice, no source)."""
LINK_SHARE = 0.10
"""The sheet warns from this share of the link in a reading on (judged by what a reader can take in; no
verdict depends on it)."""
BETTER = 0.9
"""The sheet recommends driving the other side below this ratio of relative uncertainties (judged by what a
reader can take in; no verdict depends on it)."""
MODE_SHARE = 0.01
"""The sheet warns from this relative difference of series and parallel inductance, 1/Q², on (judged by what a
reader can take in; no verdict depends on it)."""
METERS_REACH = 20.0
"""Greatest level (V RMS) that LCR meters set (common practice, no source: 2 V, some with amplifier 20 V)."""
NOTICEABLE_FLUX = 0.02
"""Peak flux density (T) from which the level is noticeable in the permeability (judged; no data behind
it)."""
NOTICEABLE_CORE = 0.3
"""Share of the core in the reluctance from which its permeability matters (judged by what a reader can take
in; no verdict depends on it)."""

IMPEDANCE = ("inductance", "ac_resistance", "quality")
"""Measures of the impedance at the driven terminals (the phase without a sensed winding is another)."""


@dataclass(frozen=True)
class OtherSide:
    """A leakage read with driven and shorted winding exchanged.

    Attributes
    ----------
    drive, short : str, names of the driven and of the shorted winding
    expected : float, expected reading, SI
    budget : Budget, budget of one reading
    link_share : float, share of the link in the reading, relative
    """

    drive: str
    short: str
    expected: float
    budget: Budget
    link_share: float


def limit_warnings(test: BenchTest, budget: Budget, production: ProductionSpread, index: int) -> list[str]:
    """Limits that the bench cannot test, or that lie inside the 95 % range of production.

    Parameters
    ----------
    test : BenchTest
    budget : Budget, budget of one reading
    production : ProductionSpread
    index : int, index of the test
    """
    if test.minimum is None and test.maximum is None:
        return []
    result = []
    samples = production.samples[:, index]
    middle = float(np.median(production.as_designed[:, index]))
    low = -math.inf if test.minimum is None else test.minimum
    high = math.inf if test.maximum is None else test.maximum
    tolerance = (high - low) / 2 if math.isfinite(high - low) else min(abs(high - middle), abs(middle - low))
    if tolerance < TESTABLE * budget.expanded:
        result.append(
            "The limit cannot be tested on this bench: tolerance to expanded uncertainty is "
            f"{tolerance / budget.expanded:.1f} : 1, should be {TESTABLE:.0f} : 1. Most of the uncertainty: "
            f"{budget.components[0].name}."
        )
    others = production.apart_from(index)
    beyond = any(low > second.low[index] or high < second.high[index] for second in others)
    if low > production.low[index] or high < production.high[index] or beyond:
        outside = float(np.mean((samples < low) | (samples > high)))
        result.append(
            f"The limit is tighter than production: about {outside * 100:.0f} % of sound parts fall outside."
        )
    return result


def resolution_warnings(test: BenchTest, expected: float, budget: Budget, half_range: float) -> list[str]:
    """A reading without limits whose uncertainty exceeds both a tenth of it and the variation of production.

    A phase is excepted: it shows the polarity all the same.

    Parameters
    ----------
    test : BenchTest
    expected : float, expected reading, SI
    budget : Budget, budget of one reading
    half_range : float, half of the 95 % range of production, SI
    """
    if test.measure == "phase" or test.minimum is not None or test.maximum is not None or expected == 0:
        return []
    share = budget.expanded / abs(expected)
    if share <= BLURRED or budget.expanded <= half_range:
        return []
    return [
        f"This bench reads it to ±{share * 100:.0f} %, more than good parts vary: the reading tells "
        f"little. Most of it: {budget.components[0].name}."
    ]


def link_shares(design: Design, values: Sequence[float] | FloatArray) -> FloatArray:
    """Share of the shorting link in each reading: 1 − (reading with an ideal link)/reading; 0 for a reading
    of 0.

    Parameters
    ----------
    design : Design
    values : Sequence[float] or FloatArray (T,), readings, SI

    Returns
    -------
    (T,) array, share, relative
    """
    bench = replace(design.bench, short_inductance=0.0, short_resistance=0.0)
    read = np.asarray(values, float)
    ideal = predict_bench(replace(design, bench=bench)).values
    return np.asarray(np.divide(read - ideal, read, out=np.zeros_like(read), where=read != 0), float)


def _better(expected: float, budget: Budget, side: OtherSide | None) -> tuple[float, float] | None:
    """Relative expanded uncertainty here and from the other side, if that is better."""
    if side is None or expected == 0 or side.expected == 0:
        return None
    here, there = budget.expanded / abs(expected), side.budget.expanded / abs(side.expected)
    return (here, there) if there < BETTER * here else None


def link_warnings(
    test: BenchTest, share: float, expected: float, budget: Budget, side: OtherSide | None
) -> list[str]:
    """What the link adds to a reading with something shorted, and whether the other side is better.

    Parameters
    ----------
    test : BenchTest
    share : float, share of the link in the reading, relative
    expected : float, expected reading, SI
    budget : Budget, budget of one reading
    side : OtherSide or None, the reading from the other side, if there is one
    """
    if test.measure not in ("inductance", "ac_resistance") or not test.short or abs(share) <= LINK_SHARE:
        return []
    of_link = "resistance" if test.measure == "ac_resistance" else "inductance"
    advice = f"Use a shorter link and enter its {of_link} in [bench]"
    better = _better(expected, budget, side)
    if side is not None and better:
        advice += (
            f", or drive {side.drive} and short {side.short}: there the link makes up "
            f"{side.link_share * 100:.1f} %, and one reading is good to {format_percent(better[1])} "
            f"instead of {format_percent(better[0])} (k = 2)"
        )
    return [f"The shorting link makes up {share * 100:.0f} % of this reading. {advice}."]


def side_notes(share: float, expected: float, budget: Budget, side: OtherSide | None) -> list[str]:
    """Which winding to drive, if the link alone is no reason to warn.

    Parameters
    ----------
    share : float, share of the link in the reading, relative
    expected : float, expected reading, SI
    budget : Budget, budget of one reading
    side : OtherSide or None, the reading from the other side, if there is one
    """
    better = _better(expected, budget, side)
    if side is None or better is None or abs(share) > LINK_SHARE:
        return []
    return [
        f"Better from the other side: drive {side.drive}, short {side.short}: good to "
        f"{format_percent(better[1])} instead of {format_percent(better[0])} (k = 2)."
    ]


def window_warnings(window: FrequencyWindow | None) -> list[str]:
    """A warning for a test outside the frequencies at which its reading holds."""
    if window is None:
        return []
    result = []
    if abs(window.short_error) > WITHIN:
        text = "At this frequency the short is not effective yet: that adds "
        text += f"{window.short_error * 100:.0f} % to the reading"
        if window.lowest is not None and not window.empty:
            text += f". Test above {format_quantity(window.lowest, 'Hz', 2)}"
        result.append(f"{text}.")
    if abs(window.capacitance_error) > WITHIN:
        text = f"Capacitance changes this reading by {window.capacitance_error * 100:+.0f} %"
        if window.highest is not None and not window.empty:
            text += f": test below {format_quantity(window.highest, 'Hz', 2)}"
        result.append(f"{text}.")
    return result


def mode_warnings(test: BenchTest, impedance: complex, circuit: str | None) -> list[str]:
    """A warning for an inductance that differs between the equivalents: Lp/Ls − 1 = 1/Q².

    Parameters
    ----------
    test : BenchTest
    impedance : complex, predicted impedance at the driven terminals, ohm
    circuit : str or None, equivalent circuit to which the meter is set
    """
    if test.measure != "inductance" or impedance.imag == 0:
        return []
    apart = (impedance.real / impedance.imag) ** 2
    if apart <= MODE_SHARE:
        return []
    beyond = out_of_reach((test,), [impedance])
    if beyond:
        return list(beyond)
    return [
        f"Q is {1 / math.sqrt(apart):.1f}: series and parallel inductance differ by {apart * 100:.0f} %; set "
        f"the meter to {circuit}."
    ]


def source_warnings(test: BenchTest) -> list[str]:
    """A warning for a test at a voltage that no LCR meter sets."""
    if test.measure == "resistance" or test.level <= METERS_REACH:
        return []
    return [
        f"{format_quantity(test.level, 'V', 3)} is beyond LCR meters: take an adjustable source that is "
        "isolated from the mains, with voltmeter, ammeter and wattmeter, by licensed practice only."
    ]


def level_warnings(design: Design, test: BenchTest, flux: float) -> list[str]:
    """A warning for an open test whose level raises the permeability: ΔL/L = (μa/μi − 1)(core's share of the
    reluctance).

    Parameters
    ----------
    design : Design
    test : BenchTest
    flux : float, peak flux density, T
    """
    share = float(np.max(core_share(design.core)))
    permeability_counts = test.measure in (*IMPEDANCE, "mutual") and not (
        test.short or is_leakage(design, test)
    )
    if not permeability_counts or flux <= NOTICEABLE_FLUX or share <= NOTICEABLE_CORE:
        return []
    text = f"This level makes {flux * 1e3:.0f} mT in the core"
    if test.measure in ("inductance", "mutual"):
        rise = (float(level_ratio(design.core.material, flux)) - 1) * share
        text += f" and lifts the inductance by about {rise * 100:.0f} %"
    return [f"{text}: set the level exactly, or lower it."]
