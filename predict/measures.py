"""What a measure of the bench is: one entry for each number that a test may ask of the meter.

Its unit, how a limit or a reading of it is written, and which keys of a test do not apply to it. The
displayed number is computed in ``circuit/displayed_number.py`` (from an impedance) or
``circuit/bench.py``, the meter's uncertainty in ``compare/meter/accuracy.py``, other scatter in
``compare/diagnosis/covariances.py``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

_IMPEDANCE = "an impedance at drive"
_EITHER = "the same in both equivalent circuits"


@dataclass(frozen=True, kw_only=True)
class Measure:
    """One measure of the file format.

    Attributes
    ----------
    unit : str, SI unit of its readings, as in JSON
    dimension : str, how a reading or a limit is written (``quantity``)
    signed : bool, whether its limits may be negative
    alternating : bool, whether it is read at a frequency that the test states
    two_terminal : bool or None
        Whether it reads the impedance at the driven terminals, leads included; None: only if the test senses
        nothing.
    needs_sense : bool, whether it takes a second reading
    symbol : str, what a meter calls it, if that is shorter than its name
    unused : Mapping[str, str], keys of a test that do not apply, with the reason
    """

    unit: str
    dimension: str
    signed: bool = False
    alternating: bool = True
    two_terminal: bool | None = False
    needs_sense: bool = False
    symbol: str = ""
    unused: Mapping[str, str] = field(default_factory=dict)


MEASURES: dict[str, Measure] = {
    "inductance": Measure(
        unit="H",
        dimension="inductance",
        signed=True,
        two_terminal=True,
        symbol="L",
        unused={"sense": _IMPEDANCE},
    ),
    "ac_resistance": Measure(
        unit="ohm", dimension="resistance", two_terminal=True, symbol="R (AC)", unused={"sense": _IMPEDANCE}
    ),
    "quality": Measure(
        unit="1",
        dimension="number",
        two_terminal=True,
        symbol="Q",
        unused={"sense": _IMPEDANCE, "equivalent": _EITHER},
    ),
    "resistance": Measure(
        unit="ohm",
        dimension="resistance",
        alternating=False,
        symbol="R",
        unused=dict.fromkeys(
            ("short", "sense", "frequency", "level", "equivalent", "bias"), "a direct-current test"
        ),
    ),
    "ratio": Measure(
        unit="1", dimension="number", needs_sense=True, unused={"equivalent": "a ratio of voltages"}
    ),
    "mutual": Measure(
        unit="H",
        dimension="inductance",
        signed=True,
        needs_sense=True,
        symbol="M",
        unused={"equivalent": "a voltage over a current"},
    ),
    "phase": Measure(
        unit="rad", dimension="angle", signed=True, two_terminal=None, unused={"equivalent": _EITHER}
    ),
    "capacitance": Measure(unit="F", dimension="capacitance", two_terminal=True, symbol="C"),
    "resonance": Measure(
        unit="Hz",
        dimension="frequency",
        alternating=False,
        two_terminal=True,
        unused={"sense": _IMPEDANCE, "frequency": "a frequency that is sought", "equivalent": _EITHER},
    ),
}
"""All measures of the file format, by name."""

MEASURE_UNITS = {name: measure.unit for name, measure in MEASURES.items()}
"""SI unit of each measure's readings."""
