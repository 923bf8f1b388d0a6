"""The readings of one part as the consistency laws use them: grouped, paired and judged."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from ...predict.design import Bench, BenchTest, Port
from ...predict.quantity import format_quantity

BROKEN = 3.0
"""A check is broken if |score| exceeds this (common practice: three standard uncertainties, 0.3 % by
chance)."""
LEVEL_ALLOWANCE = 0.03
"""Relative standard allowance between inductances read at different volts per turn: the permeability rises
with the flux density (common practice, no source)."""
SAME_LEVEL_ALLOWANCE = 0.003
"""The same at equal volts per turn (within 10 %): the effect of the core's loss (judged; no data behind
it)."""
LEAKAGE_ALLOWANCE = 0.03
"""Relative standard allowance between two leakages: the current distributes differently in the copper when
driven from the other side (common practice, no source)."""
UNKNOWN_COUPLING = 0.05
"""Relative standard allowance for k² taken as 1 if no leakage gives it: covers windings in separate chambers,
not windings on separate legs (common practice, no source)."""
WARM = 0.02
"""Relative standard allowance between resistances: a room a few kelvin off 20 °C (follows from 5 K of
copper's 0.39 % per kelvin)."""


@dataclass(frozen=True)
class Check:
    """One law applied to the readings of one part.

    Attributes
    ----------
    check : str
        Short name of the law.
    holds : bool
        Whether it holds.
    score : float or None
        Residual over standard uncertainty, dimensionless (one-sided laws: positive is the wrong side); None
        if the uncertainty is zero.
    detail : str
        The formula with its numbers and, if broken, what that means.
    """

    check: str
    holds: bool
    score: float | None
    detail: str


@dataclass(frozen=True, kw_only=True)
class PartReading:
    """A reading with its test.

    Attributes
    ----------
    test : BenchTest
    value : float, value, SI
    uncertainty : float, standard uncertainty, SI
    repeats : int, readings taken, count
    scatter : float or None, standard deviation of one reading, SI; None without repeats
    claimed : float or None
        Standard uncertainty of one reading by meter and handling, SI; None without repeats.
    """

    test: BenchTest
    value: float
    uncertainty: float
    repeats: int = 1
    scatter: float | None = None
    claimed: float | None = None

    @property
    def relative(self) -> float:
        """Relative standard uncertainty, dimensionless; inf for a value of zero."""
        return self.uncertainty / abs(self.value) if self.value else math.inf

    def __str__(self) -> str:
        return self.test.name


@dataclass(frozen=True, kw_only=True)
class PartReadings:
    """All readings of one part.

    Attributes
    ----------
    items : tuple[PartReading, ...]
    bench : Bench, the bench they were taken on
    turning : dict[str, int], direction of each winding, ±1, dimensionless
    halves : tuple[tuple[str, str], ...], names of two halves of equal turns and wire
    taps : tuple[tuple[str, str, float], ...]
        (part, whole, turns of the part over those of the whole), dimensionless.
    drawn : Mapping[str, float], direct-current resistance of windings by the design, ohm; empty without one
    predicted : Mapping[str, float], what tests should read by the design, SI; empty without one
    one_sided : Mapping[str, float]
        Relative standard deviation of what one side has by itself of a leakage, dimensionless; empty without
        a design.
    """

    items: tuple[PartReading, ...]
    bench: Bench
    turning: dict[str, int]
    halves: tuple[tuple[str, str], ...] = ()
    taps: tuple[tuple[str, str, float], ...] = ()
    drawn: Mapping[str, float] = field(default_factory=dict)
    predicted: Mapping[str, float] = field(default_factory=dict)
    one_sided: Mapping[str, float] = field(default_factory=dict)

    def of(self, measure: str, equivalent: str = "") -> list[PartReading]:
        """Readings of a measure.

        Parameters
        ----------
        measure : str, name of the measure
        equivalent : str, optional, only those displayed in this equivalent circuit; "" for all
        """
        read = self._by_measure.get(measure, [])
        return [item for item in read if equivalent in ("", self.circuit(item))]

    @cached_property
    def _by_measure(self) -> dict[str, list[PartReading]]:
        read: dict[str, list[PartReading]] = {}
        for item in self.items:
            read.setdefault(item.test.measure, []).append(item)
        return read

    def circuit(self, item: PartReading) -> str:
        """Equivalent circuit of a reading: its own, else the bench's."""
        return item.test.equivalent or self.bench.equivalent

    def inductances(self) -> list[PartReading]:
        """Series inductances of one winding or join, open or with something shorted."""
        return list(self._inductances)

    @cached_property
    def _inductances(self) -> tuple[PartReading, ...]:
        return tuple(item for item in self.of("inductance", "series") if single_name(item.test.drive))

    def opens(self, first: str, second: str) -> list[tuple[PartReading, PartReading]]:
        """Pairs of open inductances of two windings, each above zero, at one frequency.

        Parameters
        ----------
        first, second : str, names of the first and of the second winding
        """
        of_second = self._opens.get(second, [])
        return [(a, b) for a in self._opens.get(first, []) for b in of_second if tuned(a, b)]

    @cached_property
    def _opens(self) -> dict[str, list[PartReading]]:
        """Open inductances above zero by the name of what is driven."""
        free: dict[str, list[PartReading]] = {}
        for item in self._inductances:
            if not item.test.short and item.value > 0:
                free.setdefault(single_name(item.test.drive), []).append(item)
        return free

    def ratios(self, first: str, second: str) -> list[tuple[PartReading, int]]:
        """Voltage ratios of a pair, above zero.

        Parameters
        ----------
        first, second : str, names of the first and of the second winding

        Returns
        -------
        list[tuple[PartReading, int]], each with +1 driven at ``first``, −1 at ``second``; dimensionless
        """
        ways = {(first, second): 1, (second, first): -1}
        read = [
            (item, ways.get((single_name(item.test.drive), single_name(item.test.sense)), 0))
            for item in self.of("ratio")
        ]
        return [(item, way) for item, way in read if way and item.value > 0]

    def in_series(self, first: str, second: str, sign: int) -> list[PartReading]:
        """Open inductances of two windings in series.

        Parameters
        ----------
        first, second : str, names of the first and of the second winding
        sign : int, +1 start to finish throughout, −1 with one reversed; dimensionless
        """
        return [
            item
            for item in self.of("inductance", "series")
            if not item.test.short
            and sorted(member.name for member in item.test.drive) == sorted((first, second))
            and (item.test.drive[0].reversed == item.test.drive[1].reversed) == (sign > 0)
        ]


# --- readings that belong together -------------------------------------------------------------------


def single_name(port: Port) -> str:
    """Name of a port that is one winding or join and not reversed; else ""."""
    return port[0].name if len(port) == 1 and not port[0].reversed else ""


def shorted(test: BenchTest) -> frozenset[str]:
    """Names of the windings that a test shorts."""
    return frozenset(member.name for member in test.short)


def tuned(*items: PartReading) -> bool:
    """Whether all readings are at one frequency, within 1 %."""
    frequencies = [item.test.alternating_frequency for item in items]
    return max(frequencies) <= 1.01 * min(frequencies)


def same_set_up(*items: PartReading) -> bool:
    """Whether the same terminals are driven and shorted at one frequency: displays of one impedance."""
    first = items[0].test
    alike = all(
        item.test.drive == first.drive and shorted(item.test) == shorted(first) and not item.test.sense
        for item in items
    )
    return alike and tuned(*items)


def level_allowance(a: PartReading, b: PartReading) -> float:
    """Relative standard allowance between two open inductances: small at equal volts per turn, N ∝ √L.

    Parameters
    ----------
    a, b : PartReading, the two readings

    Returns
    -------
    float, allowance, dimensionless
    """
    apart = math.log(a.test.level / b.test.level) - math.log(a.value / b.value) / 2
    return SAME_LEVEL_ALLOWANCE if abs(apart) < 0.1 else LEVEL_ALLOWANCE


def at_level_of(item: PartReading, opened: PartReading) -> bool:
    """Whether a reading drives the winding of an open inductance at its level, within 10 %.

    Parameters
    ----------
    item : PartReading
    opened : PartReading, the open inductance
    """
    same = opened.test.drive == item.test.drive
    return same and abs(math.log(item.test.level / opened.test.level)) < 0.1


def henry(value: float) -> str:
    """An inductance (H) in words, to five figures."""
    return format_quantity(value, "H", 5)


def check_of(
    name: str, residual: float, uncertainty: float, detail: str, meaning: str, *, one_sided: bool = False
) -> Check:
    """A check from a residual that should be zero.

    Parameters
    ----------
    name : str, short name of the law
    residual : float, residual, in the unit of ``uncertainty`` (SI or relative)
    uncertainty : float, standard uncertainty of the residual, SI or relative
    detail : str, the formula with its numbers
    meaning : str, what a broken check means
    one_sided : bool, optional, whether only a residual above zero counts
    """
    excess = residual if one_sided else abs(residual)
    holds = excess <= BROKEN * uncertainty
    score = residual / uncertainty if uncertainty > 0 else None
    return Check(name, holds, score, detail if holds else f"{detail}. {meaning}")


def rounded(value: float, whole: float = 1.0) -> float:
    """A value for a sentence: 0 if it is only the rounding error (a billionth) of numbers as large as
    ``whole``.

    Parameters
    ----------
    value : float, the value, in any unit (SI or relative)
    whole : float, optional, size of the numbers that it comes from, same unit (SI or relative)

    Returns
    -------
    float, the value or 0, same unit (SI or relative)
    """
    return 0.0 if abs(value) < 1e-9 * abs(whole) else value
