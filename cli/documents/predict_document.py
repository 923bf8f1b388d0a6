"""The JSON of ``predict``."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from .record import json_key
from .shared_records import AssembledCore, Budget, BuildsApart, Cautions, DriverRecord, Measure, Unit


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class PredictWinding:
    """One winding."""

    name: str = json_key("Its name.")
    turns: int = json_key("Turns in series.", minimum=0)
    dc_resistance_ohm: float = json_key("Direct-current resistance at 20 °C (ohm).", minimum=0)
    wire_length_m: float = json_key("Length of one wire with its leads (m).", minimum=0)


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class Layer:
    """One layer."""

    winding: str = json_key("The winding or shield.")
    step: int = json_key("Build step, from 1.", minimum=1, optional=True)
    turns: int = json_key("Turns in the layer; 0 for a shield.", minimum=0)
    inner_m: float = json_key("From the leg's surface to its inner side (m).")
    outer_m: float = json_key("From the leg's surface to its outer side (m).")
    from_m: float | None = json_key("From the lower yoke to its start (m); null on a toroid.")
    to_m: float | None = json_key("From the lower yoke to its end (m); null on a toroid.")
    leg: int = json_key("1, or 2 on U cores.", minimum=1, optional=True)
    chamber: int | None = json_key("Chamber from 1; null: no chambers.", optional=True)
    shield: bool = json_key("Whether it is a shield.", optional=True)


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class PredictLeakageModel:
    """The leakage model in use and its own error."""

    name: str = json_key("Its name.")
    standard_error: float = json_key("Relative standard error.", minimum=0)


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class PredictTest:
    """One test."""

    name: str = json_key("Its name.")
    measure: Measure = json_key()
    unit: Unit = json_key()
    predicted: float | None = json_key(
        "Reading of the nominal build, in the test's unit; null: no resonance found, or not finite."
    )
    low: float | None = json_key(
        "2.5 % point of build and model error, in the test's unit, without the meter."
    )
    high: float | None = json_key("97.5 % point of the same, in the test's unit.")
    standard_uncertainty: float | None = json_key(
        "Standard uncertainty (k = 1) of build and model, in the test's unit.", minimum=0
    )
    builds_apart: Sequence[BuildsApart] = json_key(
        "Builds with other layers than designed in one step: their share of all builds, and 95 % of them.",
        optional=True,
    )
    sampling_error: float | None = json_key(
        "Standard error of the ends from the finite number of random builds, in the test's unit.",
        minimum=0,
        optional=True,
    )
    drivers: Sequence[DriverRecord] = json_key("What spreads the reading; shares sum to one.")
    level_V: float | None = json_key("RMS voltage across the driven terminals (V).", minimum=0, optional=True)
    flux_density_T: float | None = json_key("Peak flux density (T).", minimum=0, optional=True)
    bias_flux_density_T: float | None = json_key("Flux density of the direct current (T).", optional=True)
    bench_uncertainty: float | None = json_key(
        "Standard uncertainty (k = 1) that the bench adds, in the test's unit.", minimum=0, optional=True
    )
    bench_budget: Budget = json_key(optional=True)


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class Prediction:
    """One design as predicted."""

    shared: ClassVar[str] = "prediction"

    design: str = json_key("Title of the design.")
    version: str = json_key("Version of the program.")
    core: AssembledCore = json_key()
    windings: Sequence[PredictWinding] = json_key("Every winding, in the file's order.")
    layers: Sequence[Layer] = json_key("Every layer as laid, in winding order.")
    fill: float = json_key("Height of the build over the height of the window (dimensionless).", minimum=0)
    height_m: float = json_key(
        "Where the build ends above the leg (built upwards: above the lower yoke), the "
        "higher of two legs (m).",
        minimum=0,
    )
    leakage_model: PredictLeakageModel = json_key(optional=True)
    tests: Sequence[PredictTest] = json_key("Every test of the design.")
    builds_as_designed: float = json_key(
        "Part of the builds whose layers are as designed, of which the ranges are.",
        minimum=0,
        maximum=1,
        optional=True,
    )
    cautions: Cautions = json_key()


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class PredictDocument(Prediction):
    """What the bench should read. SI units (radians for angles); null: missing. Keys may be added, none
    is renamed.
    """

    document: ClassVar[str] = "predict"
    definitions: ClassVar[tuple[str, ...]] = ("prediction", "measure", "unit", "budget", "cautions")

    changed: Prediction = json_key("The changed design, with --against or --set.", optional=True)
