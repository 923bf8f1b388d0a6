"""The readings of one part as the consistency laws use them: grouped, paired, and judged."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from ...predict.design import Bench, BenchTest, Port
from ...predict.quantity import format_quantity

BROKEN = 3.0
"""|score| beyond which a check is broken."""
LEVEL_ALLOWANCE = 0.03
"""Relative standard allowance where inductances were read at different volts per turn: the permeability rises
with the flux density (common practice, no source)."""
SAME_LEVEL_ALLOWANCE = 0.003
"""The same at equal volts per turn (within 10 %): what the core's loss leaves."""
LEAKAGE_ALLOWANCE = 0.03
"""Relative standard allowance between two leakages: copper carries its current differently from either side
(common practice, no source)."""
UNKNOWN_COUPLING = 0.05
"""Relative standard allowance for k² taken as 1 where no leakage tells it: covers windings in separate
chambers, not windings on separate legs (common practice, no source)."""
WARM = 0.02
"""Relative standard allowance between resistances: a room some kelvins off 20 °C."""


@dataclass(frozen=True)
class Check:
    """One law on the readings of one part.

    check : its short name. score : residual over standard uncertainty (one-sided laws: positive is the wrong
    side), None where the uncertainty is zero. detail : the formula with its numbers and, where broken, what
    that means.
    """

    check: str
    holds: bool
    score: float | None
    detail: str


@dataclass(frozen=True, kw_only=True)
class PartReading:
    """A reading with its test: value and standard uncertainty (SI).

    repeats : how often it was read; of these scatter : standard deviation of one reading, claimed : standard
    uncertainty of one reading by meter and handling; None without repeats.
    """

    test: BenchTest
    value: float
    uncertainty: float
    repeats: int = 1
    scatter: float | None = None
    claimed: float | None = None

    @property
    def relative(self) -> float:
        return self.uncertainty / abs(self.value) if self.value else math.inf

    def __str__(self) -> str:
        return self.test.name


@dataclass(frozen=True, kw_only=True)
class PartReadings:
    """All readings of one part, the bench they were taken on, and the windings' directions (±1).

    halves : names of two halves of equal turns and wire. taps : (part, whole, turns of the part over those of
    the whole). drawn : direct-current resistance (ohm) of windings by the design; empty without one.
    """

    items: tuple[PartReading, ...]
    bench: Bench
    turning: dict[str, int]
    halves: tuple[tuple[str, str], ...] = ()
    taps: tuple[tuple[str, str, float], ...] = ()
    drawn: Mapping[str, float] = field(default_factory=dict)

    def of(self, measure: str, equivalent: str = "") -> list[PartReading]:
        """Readings of a measure, if wished only those displayed in one equivalent circuit."""
        return [
            item
            for item in self.items
            if item.test.measure == measure and equivalent in ("", self.circuit(item))
        ]

    def circuit(self, item: PartReading) -> str:
        return item.test.equivalent or self.bench.equivalent

    def inductances(self) -> list[PartReading]:
        """Series inductances of one winding or join, open or with something shorted."""
        return [item for item in self.of("inductance", "series") if single_name(item.test.drive)]

    def opens(self, first: str, second: str) -> list[tuple[PartReading, PartReading]]:
        """Open inductances of two windings, each above zero, at one frequency."""
        free = [item for item in self.inductances() if not item.test.short and item.value > 0]
        return [
            (a, b)
            for a in free
            for b in free
            if (single_name(a.test.drive), single_name(b.test.drive)) == (first, second) and tuned(a, b)
        ]


# --- readings that belong together -------------------------------------------------------------------


def single_name(port: Port) -> str:
    """The name if a port is one winding or join, not reversed; else ""."""
    return port[0].name if len(port) == 1 and not port[0].reversed else ""


def shorted(test: BenchTest) -> frozenset[str]:
    return frozenset(member.name for member in test.short)


def tuned(*items: PartReading) -> bool:
    """All at one frequency, within 1 %."""
    frequencies = [item.test.alternating_frequency for item in items]
    return max(frequencies) <= 1.01 * min(frequencies)


def same_set_up(*items: PartReading) -> bool:
    """The same terminals driven and shorted, at one frequency: displays of one impedance."""
    first = items[0].test
    alike = all(
        item.test.drive == first.drive and shorted(item.test) == shorted(first) and not item.test.sense
        for item in items
    )
    return alike and tuned(*items)


def level_allowance(a: PartReading, b: PartReading) -> float:
    """Relative allowance for two open inductances: small at equal volts per turn, N ∝ √L."""
    apart = math.log(a.test.level / b.test.level) - math.log(a.value / b.value) / 2
    return SAME_LEVEL_ALLOWANCE if abs(apart) < 0.1 else LEVEL_ALLOWANCE


def at_level_of(item: PartReading, opened: PartReading) -> bool:
    """Whether a reading drives the winding of an open inductance at its level, within 10 %."""
    same = opened.test.drive == item.test.drive
    return same and abs(math.log(item.test.level / opened.test.level)) < 0.1


def henry(value: float) -> str:
    return format_quantity(value, "H", 5)


def check_of(
    name: str, residual: float, uncertainty: float, detail: str, meaning: str, *, one_sided: bool = False
) -> Check:
    """A check from a residual that should be zero (``one_sided``: not above zero) and its standard
    uncertainty."""
    excess = residual if one_sided else abs(residual)
    holds = excess <= BROKEN * uncertainty
    score = residual / uncertainty if uncertainty > 0 else None
    return Check(name, holds, score, detail if holds else f"{detail}. {meaning}")


def rounded(value: float, whole: float = 1.0) -> float:
    """``value`` for a sentence: 0 where it is what rounding leaves of numbers as large as ``whole``, a
    billionth of it."""
    return 0.0 if abs(value) < 1e-9 * abs(whole) else value
