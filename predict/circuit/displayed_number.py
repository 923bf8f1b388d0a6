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

``print(readings(design))`` shows the names and units of the tests: it is for people at a prompt; programs use
the values.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import ArrayLike

from ..design import Bench, BenchTest, ComplexArray, Equivalent, FloatArray, Real
from ..errors import DesignError, Fault
from ..measures import MEASURE_UNITS, MEASURES
from ..notation import aligned, format_quantity, format_sides, format_uncertain, uneven
from .resonance import beyond_search

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
    measure : str, "inductance", "ac_resistance", "quality", "phase" or "capacitance"
    impedance : (...,) array of complex, impedance Z, ohm
    angular_frequency : (...,) array, angular frequency ω, above 0, rad/s; broadcast against ``impedance``
    equivalent : Equivalent, "series" or "parallel"

    Returns
    -------
    (...,) array, the display in H, ohm, dimensionless, in rad (−π … π) or F

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


def at_terminals(bench: Bench, test: BenchTest, drive: ComplexArray) -> ComplexArray:
    """Impedance at the driven terminals, with the leads where the meter sees them.

    Parameters
    ----------
    bench : Bench
    test : BenchTest
    drive : (B,) array of complex, impedance of the circuit without leads, ohm

    Returns
    -------
    (B,) array of complex, ohm
    """
    return np.asarray(drive + leads_seen(bench, (test,), np.array([[test.angular_frequency]]))[0])


def leads_seen(bench: Bench, tests: Sequence[BenchTest], angular_frequency: FloatArray) -> ComplexArray:
    """Impedance of the leads as far as the meter sees them.

    Parameters
    ----------
    bench : Bench
    tests : sequence of T BenchTest
    angular_frequency : (T, 1) or (T, B) array, of each test, rad/s

    Returns
    -------
    (T, 1) or (T, B) array of complex, ohm
    """
    direct = np.array([[test.leads if test.measure == "resistance" else 0.0] for test in tests])
    seen = [[test.leads if test.measure != "resistance" and two_terminal(test) else 0.0] for test in tests]
    leads = bench.lead_resistance + 1j * angular_frequency * np.asarray(bench.lead_inductance)
    return np.asarray(direct * np.asarray(bench.direct_lead_resistance) + np.array(seen) * leads)


def displayed(
    test: BenchTest, drive: ComplexArray, sense: ComplexArray, angular_frequency: Real
) -> FloatArray:
    """The number that the meter displays.

    Parameters
    ----------
    test : BenchTest
    drive : (B,) array of complex, volts per ampere at the terminals of the meter, ohm
    sense : (B,) array of complex, volts per ampere at the sensed port, ohm
    angular_frequency : float or (B,) array, rad/s

    Returns
    -------
    (B,) array, SI
    """
    if two_terminal(test):
        assert test.equivalent is not None
        return display(test.measure, drive, angular_frequency, test.equivalent)
    if test.measure == "resistance":
        return np.asarray(drive.real, float)
    if test.measure == "ratio":
        with np.errstate(divide="ignore"):  # sections that cancel sense nothing: the ratio is infinite
            return np.abs(drive / sense)
    if test.measure == "mutual":
        return np.asarray(sense.imag / angular_frequency, float)
    return np.angle(sense / drive)


# --- as text ---------------------------------------------------------------------------------------


class Readings(np.ndarray[Any, np.dtype[np.float64]]):
    """An array of readings that prints the names and units of its tests.

    In every other way it is an array: anything taken from it or computed with it is a plain array.

    Attributes
    ----------
    tests : tuple of BenchTest, of its last axis
    """

    tests: tuple[BenchTest, ...] = ()

    def __array_finalize__(self, origin: object) -> None:
        """The tests are not passed on: a part of the readings no longer has one value for each test."""
        self.tests = ()

    def __array_wrap__(self, array: Any, context: Any = None, return_scalar: bool = False) -> Any:
        """Results of ufuncs are plain arrays."""
        plain = np.asarray(array)
        return plain[()] if return_scalar or plain.ndim == 0 else plain

    def __str__(self) -> str:
        if self.ndim != 1 or len(self) != len(self.tests):
            return str(np.asarray(self))
        rows = [
            [test.name, reading_text(float(value), test.measure)]
            for test, value in zip(self.tests, self, strict=True)
        ]
        return aligned(rows, right=(1,))

    def __repr__(self) -> str:
        return str(self) if self.tests else repr(np.asarray(self))


def labelled(values: FloatArray, tests: tuple[BenchTest, ...]) -> FloatArray:
    """Values as an array that prints the names and units of its tests.

    Parameters
    ----------
    values : (..., T) array, readings, SI
    tests : tuple of T BenchTest

    Returns
    -------
    (..., T) array, the same values, SI
    """
    result = np.asarray(values).view(Readings)
    result.tests = tests
    return result


def reading_text(value: float | None, measure: str, digits: int = 4) -> str:
    """A reading with its unit; "none found" for a resonance beyond the search, "-" for a missing reading.

    Parameters
    ----------
    value : float or None, reading, SI; None: no reading
    measure : str, of the test
    digits : int, significant digits, count
    """
    if beyond_search(measure, value):
        return "none found"
    return (
        "-" if value is None or math.isnan(value) else format_quantity(value, MEASURE_UNITS[measure], digits)
    )


def shown_with_uncertainty(
    value: float | None,
    uncertainty: float | None,
    measure: str,
    low: float | None = None,
    high: float | None = None,
) -> str:
    """A reading with its unit and expanded uncertainty (k = 2), or with both sides where these are uneven.

    Parameters
    ----------
    value : float or None, reading, SI; None: no reading
    uncertainty : float or None, standard uncertainty, SI
    measure : str, of the test
    low : float or None, lower end of the range, SI; None: not known apart
    high : float or None, upper end, SI
    """
    if value is None or beyond_search(measure, value):
        return reading_text(value, measure)
    if low is not None and high is not None and uneven(value, low, high):
        return format_sides(value, low, high, MEASURE_UNITS[measure])
    return format_uncertain(value, uncertainty, MEASURE_UNITS[measure])
