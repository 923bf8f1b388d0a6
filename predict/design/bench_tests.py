"""What is read: ports, joins and the tests as specified; and the bench that reads them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, TypeAlias

from .hashed_once import HashedOnce
from .numbers_of_builds import Real

Equivalent: TypeAlias = Literal["series", "parallel"]


@dataclass(frozen=True)
class Member:
    """A winding or join as it appears in a list.

    Attributes
    ----------
    name : str, its name
    reversed : bool, whether a ``-`` reverses it
    """

    name: str
    reversed: bool = False


Port: TypeAlias = tuple[Member, ...]
"""Windings or joins in series aiding (reversed members opposing)."""


@dataclass(frozen=True)
class Join:
    """Windings or earlier joins, joined in series or in parallel.

    Attributes
    ----------
    name : str, of the join
    kind : {"series", "parallel"}, "series" or "parallel"
    members : Port, what it joins
    """

    name: str
    kind: Literal["series", "parallel"]
    members: Port

    @property
    def in_series(self) -> bool:
        """Whether the members carry one current; else they share it."""
        return self.kind == "series"


@dataclass(frozen=True, kw_only=True)
class BenchTest(HashedOnce):
    """One test as specified.

    Attributes
    ----------
    name : str, of the test
    measure : str, what the test measures
    drive : Port, driven port
    short : Port, windings or joins, each shorted on itself through its own link; everything else is open
    sense : Port, port at which the second reading is taken
    frequency : float or None, frequency, Hz; None for ``resistance``
    level : float, RMS voltage across the driven terminals, V
    equivalent : Equivalent or None, equivalent circuit of the display; None: the bench's
    temperature : float or None, of the part, degC; None: the bench's (``resistance``: 20 °C)
    minimum, maximum : float or None
        Lower and upper limit of the specification, SI (rad for a phase), or None.
    bias : float, direct current through the driven terminals, A
    tie : tuple[tuple[str, ...], ...]
        Ends wired together for the test, as groups of terminals: ("P.start", "S.start"), ("core", "P.start").
    link : float
        Length of the shorting links relative to the bench's, dimensionless (a set-up changed on purpose: 2 is
        a link twice as long).
    leads : float
        Length of the leads in the reading relative to the bench's, dimensionless (0: four wires at the pins).
    """

    name: str
    measure: str
    drive: Port
    short: Port = ()
    sense: Port = ()
    frequency: float | None = None
    level: float = 1.0
    equivalent: Equivalent | None = None
    temperature: float | None = None
    minimum: float | None = None
    maximum: float | None = None
    bias: float = 0.0
    tie: tuple[tuple[str, ...], ...] = ()
    link: float = 1.0
    leads: float = 1.0

    __hash__ = HashedOnce.__hash__

    @property
    def alternating_frequency(self) -> float:
        """Frequency of the alternating current, Hz; 0 for ``resistance``, read with direct current, and if
        none is stated."""
        return 0.0 if self.measure == "resistance" else float(self.frequency or 0.0)

    @property
    def angular_frequency(self) -> float:
        """Angular frequency ω = 2πf, rad/s; 0 for direct current."""
        return 2 * math.pi * self.alternating_frequency


@dataclass(frozen=True, kw_only=True)
class Bench:
    """The meter and the set-up.

    Accuracy terms of the meter are expanded (k = 2); tolerances are ± bounds (k = 2).

    Attributes
    ----------
    equivalent : Equivalent, equivalent circuit of the display
    temperature : float, of the room and the parts, degC
    accuracy : float, basic accuracy of the meter, relative
    floor_resistance : float, resistance left after the short correction, ohm
    floor_inductance : float, inductance left after the short correction, H
    floor_capacitance : float, capacitance left after the open correction, F
    resolution : float, last digit of the display, relative to the reading, dimensionless
    source_resistance : float, of the meter, ohm
    short_inductance : float or (B,) array, inductance of the shorting link, H
    short_inductance_tolerance : float, its tolerance, relative
    short_resistance : float or (B,) array, resistance of the shorting link, ohm
    short_resistance_tolerance : float, its tolerance, relative
    lead_inductance : float or (B,) array, inductance of the leads after corrections, H
    lead_inductance_tolerance : float, its tolerance, relative
    lead_resistance : float or (B,) array, resistance of the leads after corrections, ohm
    lead_resistance_tolerance : float, its tolerance, relative
    temperature_error : float or (B,) array, how much warmer the part really is than stated (a fault), K
    level_scale : float or (B,) array, true over stated level (a fault), dimensionless
    direct_lead_resistance : float or (B,) array
        Resistance of leads and contacts in every direct-current reading (a fault: two wires instead of four),
        ohm.
    """

    equivalent: Equivalent = "series"
    temperature: float = 23.0
    accuracy: float = 0.001
    floor_resistance: float = 2e-3
    floor_inductance: float = 2e-9
    floor_capacitance: float = 0.05e-12
    resolution: float = 0.0
    source_resistance: float = 100.0
    short_inductance: Real = 10e-9
    short_inductance_tolerance: float = 0.5
    short_resistance: Real = 1e-3
    short_resistance_tolerance: float = 0.5
    lead_inductance: Real = 0.0
    lead_inductance_tolerance: float = 0.5
    lead_resistance: Real = 0.0
    lead_resistance_tolerance: float = 0.5
    temperature_error: Real = 0.0
    level_scale: Real = 1.0
    direct_lead_resistance: Real = 0.0
