"""The JSON of ``sweep``."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from .record import json_key


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class Connection:
    """How the sweep is made."""

    drive: Sequence[str] = json_key("Windings or joins driven, in series; a leading - reverses one.")
    short: Sequence[str] = json_key("Windings or joins shorted on themselves.")
    sense: Sequence[str] = json_key("Where a second voltage is taken.")
    level_V: float = json_key("RMS voltage set (V).")
    equivalent: str = json_key("Equivalent circuit of inductance and resistance: series or parallel.")


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class Quantity:
    """One quantity, SI (rad for phase), one value a frequency."""

    unit: str = json_key("Its unit.")
    predicted: Sequence[float | None] = json_key("As designed, in its unit.")
    low: Sequence[float | None] = json_key("The 2.5 % point of production and model error, in its unit.")
    high: Sequence[float | None] = json_key("The 97.5 % point of the same, in its unit.")


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class SweepResonance:
    """One resonance."""

    frequency_Hz: float = json_key("Its frequency (Hz).")
    kind: str = json_key("parallel (inductive below) or series (capacitive below).")


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class SweepPoint:
    """One value."""

    frequency_Hz: float = json_key("Frequency (Hz).")
    quantity: str = json_key("impedance, phase, inductance, resistance or ratio.")
    read: float = json_key("As read (SI, rad).")
    read_uncertainty: float = json_key("Standard uncertainty of the reading (k = 1), in the same unit.")
    predicted: float | None = json_key("As designed, in the same unit.")
    predicted_uncertainty: float | None = json_key(
        "Standard uncertainty of the prediction (k = 1), the set-up's included, in the same unit."
    )
    score: float | None = json_key("Difference in standard uncertainties of both together.")


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class SweepSample:
    """One sample."""

    sample: str = json_key("Its name.")
    deviates: bool = json_key("Whether a score lies beyond 3.")
    findings: Sequence[str] = json_key("What deviates, in sentences.")
    points: Sequence[SweepPoint] = json_key("Every value read.")


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class SweepDocument:
    """One connection against frequency, predicted and measured."""

    document: ClassVar[str] = "sweep"

    design: str = json_key("Title of the design.")
    connection: Connection = json_key()
    frequencies_Hz: Sequence[float] = json_key("Frequencies (Hz), rising.")
    quantities: dict[str, Quantity] = json_key(
        "By name: impedance, phase, inductance, resistance; of a ratio ratio, phase."
    )
    resonances: Sequence[SweepResonance] = json_key("Where the reactance passes zero.")
    samples: Sequence[SweepSample] = json_key("Measured sweeps; empty without.")
