"""What the meter displays: the number for each measure, from the solved circuit of its test.

Equations (checks of the identities: L_p = L_s (1 + 1/Q²), R_p = R_s (1 + Q²)):

    series equivalent    L = Im Z / ω               R = Re Z
    parallel equivalent  L = |Z|² / (ω Im Z)        R = |Z|² / Re Z
    quality              Q = |Im Z| / Re Z
    phase                θ = atan2(Im Z, Re Z)
    capacitance          C = −1/(ω Im Z) in series, Im(1/Z)/ω in parallel
    turns ratio          n = |V(drive)/V(sense)|
    mutual inductance    M = Im(V(sense)/I(drive)) / ω
    phase between two    θ = arg(V(sense)/V(drive))
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import ArrayLike

from ..design import Bench, BenchTest, ComplexArray, Equivalent, FloatArray
from ..errors import DesignError, Fault
from ..measures import MEASURES
from .nodal_analysis import Solution

_Formula: TypeAlias = Callable[[ComplexArray, FloatArray], Any]

_BOTH: tuple[Equivalent, ...] = ("series", "parallel")

_DISPLAYED: dict[tuple[str, Equivalent], _Formula] = {
    ("inductance", "series"): lambda Z, omega: Z.imag / omega,
    ("inductance", "parallel"): lambda Z, omega: np.abs(Z) ** 2 / (omega * Z.imag),
    ("ac_resistance", "series"): lambda Z, omega: Z.real + 0.0 * omega,
    ("ac_resistance", "parallel"): lambda Z, omega: np.abs(Z) ** 2 / Z.real + 0.0 * omega,
    **{("quality", each): lambda Z, omega: np.abs(Z.imag) / Z.real + 0.0 * omega for each in _BOTH},
    ("capacitance", "series"): lambda Z, omega: -1.0 / (omega * Z.imag),
    ("capacitance", "parallel"): lambda Z, omega: -Z.imag / (omega * np.abs(Z) ** 2),
    **{("phase", each): lambda Z, omega: np.angle(Z) + 0.0 * omega for each in _BOTH},
}
"""Formula by measure and equivalent circuit; ``0 ω`` only broadcasts against the frequencies."""

IMPEDANCE_MEASURES = tuple(dict.fromkeys(measure for measure, _ in _DISPLAYED))
"""The measures that follow from the impedance at the driven terminals alone."""


def display(
    measure: str, impedance: ArrayLike, angular_frequency: ArrayLike, equivalent: Equivalent
) -> FloatArray:
    """The number that the meter displays for an impedance at its terminals.

    Equations: see the module. Quality and phase do not depend on the equivalent circuit. Signs are kept:
    above resonance an inductance is negative. Limits are exact: a lossless impedance has infinite quality and
    infinite parallel resistance, a pure resistance infinite parallel inductance; 0/0 is NaN. Valid for any
    linear two-terminal impedance. Source: definitions.

    Parameters
    ----------
    measure : str
        "inductance", "ac_resistance", "quality", "phase" or "capacitance".
    impedance : (...,) array of complex
        Impedance Z, ohm.
    angular_frequency : (...,) array
        Angular frequency ω, above 0, rad/s; broadcast against ``impedance``.
    equivalent : Equivalent
        "series" or "parallel".

    Returns
    -------
    (...,) array
        The display in H, ohm, dimensionless, in rad (−π … π) or F.

    Raises
    ------
    DesignError
        For another measure or equivalent circuit.
    """
    formula = _DISPLAYED.get((measure, equivalent))
    if formula is None:
        raise DesignError(
            Fault(
                "display",
                f"measure {measure!r}, equivalent {equivalent!r}",
                f"one of {', '.join(IMPEDANCE_MEASURES)}, series or parallel",
                "Only these follow from the impedance at the driven terminals.",
            )
        )
    Z = np.asarray(impedance, dtype=np.complex128)
    omega = np.asarray(angular_frequency, dtype=np.float64)
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(formula(Z, omega), dtype=np.float64)


def two_terminal(test: BenchTest) -> bool:
    """Whether a test reads the alternating-current impedance at its driven terminals, leads included."""
    stated = MEASURES[test.measure].two_terminal
    return not test.sense if stated is None else stated


def at_terminals(bench: Bench, test: BenchTest, answer: Solution) -> ComplexArray:
    """Impedance at the driven terminals, with the leads where the meter sees them.

    Parameters
    ----------
    bench : Bench
        Bench of the design.
    test : BenchTest
        The test.
    answer : Solution
        Solved circuit.

    Returns
    -------
    (B,) array of complex
        Impedance, ohm.
    """
    if test.measure == "resistance":
        return answer.drive + test.leads * np.asarray(bench.direct_lead_resistance)
    if not two_terminal(test):
        return answer.drive
    leads = bench.lead_resistance + 1j * test.angular_frequency * np.asarray(bench.lead_inductance)
    return answer.drive + test.leads * leads


def displayed(test: BenchTest, answer: Solution) -> FloatArray:
    """The number that the meter displays.

    Parameters
    ----------
    test : BenchTest
        The test, with its equivalent circuit.
    answer : Solution
        Volts per ampere; ``drive`` at the terminals of the meter.

    Returns
    -------
    (B,) array
        Displayed number, SI.
    """
    if two_terminal(test):
        assert test.equivalent is not None
        return display(test.measure, answer.drive, test.angular_frequency, test.equivalent)
    if test.measure == "resistance":
        return np.asarray(answer.drive.real, float)
    if test.measure == "ratio":
        with np.errstate(divide="ignore"):  # sections that cancel sense nothing: the ratio is infinite
            return np.abs(answer.drive / answer.sense)
    if test.measure == "mutual":
        return np.asarray(answer.sense.imag / test.angular_frequency, float)
    return np.angle(answer.sense / answer.drive)
