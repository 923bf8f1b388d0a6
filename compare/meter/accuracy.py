"""Standard uncertainty of one reading due to the meter.

The accuracy of an impedance, at coverage k = 2, is built from the terms that data sheets of LCR meters
share: a basic one, and some that grow at low and at high impedance,

    accuracy |Z|     R_f     ω L_f     |Z|² ω C_f     (ohm)

with the bench's ``floor_resistance``, ``floor_inductance`` (left after the short correction) and
``floor_capacitance`` (left after the open correction). They have different origins (the meter's own
calibration, what each correction left), so they are independent components and add in quadrature (JCGM
100, 5.1.2). The plain sum of a data sheet is the bound that no meter exceeds. Each is a vector of unknown
direction in the complex plane. Every display is a function of Z, so a relative error A_e of |Z| gives, at
Q = |Im Z|/Re Z,

    u(L)/L = (A_e/2) √(1 + 1/Q²)     u(R)/R = (A_e/2) √(1 + Q²)     u(θ) = A_e/2     u(Q) = (A_e/2)(1 + Q²)

in either equivalent circuit. The part of the basic term that exceeds A_e/2 is the "phase error" component.
The step of the display (``resolution``, relative to the reading, rectangular) contributes resolution/√12.

Not included: the shorting link and the leads, which the bench describes and the prediction contains; the
scatter of re-connection, which repeats show; the operator's choice of level and frequency.

Source: the structure is common practice, no single source; u(Q) is the tangent of D-accuracy converted to
Q, Q² D_e/(1 ∓ Q D_e), and valid for Q A_e well below 1.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from ...predict.circuit import IMPEDANCE_MEASURES
from ...predict.design import Bench, ComplexArray, Equivalent, FloatArray
from ...predict.errors import DesignError, Fault

COVERAGE = 2.0
"""Coverage factor of the bench's accuracy terms (JCGM 100: makers state k = 2)."""
RESONANCE = 0.01
"""Expanded relative uncertainty (k = 2) of a frequency at which the phase crosses zero (common practice,
no source)."""

ACCURACY = "basic accuracy"
SHORT_RESISTANCE = "resistance left by the short correction"
SHORT_INDUCTANCE = "inductance left by the short correction"
OFFSET = "offset at low resistance"
OPEN_CAPACITANCE = "capacitance left by the open correction"
PHASE = "phase error at this Q"
RESOLUTION = "resolution"
CROSSING = "where the phase crosses zero"


def impedance_terms(bench: Bench, magnitude: ArrayLike, frequency: ArrayLike) -> dict[str, FloatArray]:
    """Independent errors of an impedance by component, as expanded half widths (k = 2).

    accuracy |Z|; R_f; ω L_f; |Z|² ω C_f.

    Parameters
    ----------
    bench : Bench, the meter
    magnitude : (...,) array, |Z|, ohm
    frequency : (...,) array, frequency above 0, Hz

    Returns
    -------
    dict[str, FloatArray] (...,), half width of each component in the broadcast shape, ohm

    References
    ----------
    Common form of published meter specifications.
    """
    size = np.abs(np.asarray(magnitude, dtype=np.float64))
    omega = 2.0 * np.pi * np.asarray(frequency, dtype=np.float64)
    shape = np.zeros(np.broadcast_shapes(size.shape, omega.shape))
    return {
        ACCURACY: bench.accuracy * size + shape,
        SHORT_RESISTANCE: bench.floor_resistance + shape,
        SHORT_INDUCTANCE: omega * bench.floor_inductance + shape,
        OPEN_CAPACITANCE: size**2 * omega * bench.floor_capacitance + shape,
    }


def impedance_error(bench: Bench, magnitude: ArrayLike, frequency: ArrayLike) -> FloatArray:
    """Error A_e |Z| of an impedance, as an expanded half width (k = 2).

    Root sum square of ``impedance_terms``; finite at |Z| = 0. When it approaches |Z| the meter shows only
    the order of magnitude.

    Parameters
    ----------
    bench : Bench
        The meter.
    magnitude : (...,) array
        |Z|, ohm.
    frequency : (...,) array
        Frequency above 0, Hz.

    Returns
    -------
    (...,) array
        Half width in the broadcast shape, ohm.
    """
    return _root_sum_square(impedance_terms(bench, magnitude, frequency))


def _root_sum_square(components: dict[str, FloatArray]) -> FloatArray:
    return np.asarray(np.sqrt(sum(np.square(part) for part in components.values())), dtype=np.float64)


def meter_uncertainty(
    bench: Bench,
    measure: str,
    value: ArrayLike,
    impedance: ArrayLike | None,
    frequency: ArrayLike | None,
    *,
    equivalent: Equivalent | None = None,
) -> FloatArray:
    """Standard uncertainty (k = 1) of a reading due to the meter.

    Root sum square of ``meter_components``, with the same errors and range of validity.

    Parameters
    ----------
    bench : Bench
        The meter.
    measure : str
        A measure of the design file.
    value : (...,) array
        The reading, SI (H, ohm, F, Hz, dimensionless or rad).
    impedance : (...,) array or None
        Impedance Z ≠ 0 at the driven terminals as read or predicted, ohm; None if unknown.
    frequency : (...,) array or None
        Frequency above 0, Hz; not used by "resistance", "ratio" and "resonance".
    equivalent : Equivalent or None, optional
        Equivalent circuit of the display; None for the bench's.

    Returns
    -------
    (...,) array
        Standard uncertainty in the unit of ``value``, SI.

    Raises
    ------
    DesignError
        An unknown measure or a missing frequency.
    """
    return _root_sum_square(
        meter_components(bench, measure, value, impedance, frequency, equivalent=equivalent)
    )


def meter_components(
    bench: Bench,
    measure: str,
    value: ArrayLike,
    impedance: ArrayLike | None,
    frequency: ArrayLike | None,
    *,
    equivalent: Equivalent | None = None,
) -> dict[str, FloatArray]:
    """Standard uncertainties (k = 1) of a reading due to the meter, by independent component.

    Equations in the module's docstring. The impedance is put together from the reading and, for the part
    that the reading does not show, from ``impedance``: a series L read as ``value`` lies at Re Z + jω
    value, and so on. So the floors stay absolute terms, however far the reading is from its prediction.

    ``resistance`` (direct current): accuracy |R|/2, R_f/2. ``ratio``: √2 accuracy/2 of the ratio, one term
    for each of the two voltages. ``mutual``: as an inductance at |Z| = ω|M|. ``phase`` with a sense
    winding gets the A_e of the driven impedance. ``capacitance``: accuracy |C|, C_f, and as an impedance
    |C| ω|C| times R_f and ω L_f. ``resonance``: the zero crossing of the phase is found to RESONANCE of
    the frequency.

    Valid for A_e below about 0.1, and for quality Q A_e below about 0.3.

    Parameters
    ----------
    bench : Bench, the meter
    measure : str, a measure of the design file
    value : (...,) array, the reading, SI (H, ohm, F, Hz, dimensionless or rad)
    impedance : (...,) array or None
        Impedance Z ≠ 0 at the driven terminals as read or predicted, ohm. If None, an inductance counts as
        lossless, a resistance as pure, and quality and phase get the basic accuracy without floors. Not used
        by resistance, ratio and mutual.
    frequency : (...,) array or None, frequency above 0, Hz; not used by "resistance", "ratio" and "resonance"
    equivalent : Equivalent or None, optional, equivalent circuit of the display; None for the bench's

    Returns
    -------
    dict[str, FloatArray] (...,)
        Components in the unit of ``value``, SI; their shapes broadcast with each other.

    Raises
    ------
    DesignError
        An unknown measure or a missing frequency.

    References
    ----------
    See the module's docstring.
    """
    reading = np.asarray(value, dtype=np.float64)
    size = np.abs(reading)
    if measure == "resistance":
        expanded = {ACCURACY: bench.accuracy * size, OFFSET: bench.floor_resistance + np.zeros_like(size)}
    elif measure == "ratio":
        expanded = {ACCURACY: np.sqrt(2.0) * bench.accuracy * size}
    elif measure == "resonance":
        expanded = {CROSSING: RESONANCE * size}
    elif measure == "mutual" or measure in IMPEDANCE_MEASURES:
        if frequency is None:
            raise DesignError(
                Fault("frequency", "none", f"a frequency: {measure} is read with alternating current")
            )
        f = np.asarray(frequency, dtype=np.float64)
        Z = None if impedance is None else np.asarray(impedance, dtype=np.complex128)
        if measure == "mutual":
            Z, measure, equivalent = None, "inductance", "series"
        expanded = _expanded(bench, measure, reading, Z, f, equivalent or bench.equivalent)
    else:
        raise DesignError(
            Fault(
                "measure",
                repr(measure),
                "resistance, ratio, mutual, resonance, " + ", ".join(IMPEDANCE_MEASURES),
            )
        )
    components = {name: np.asarray(width / COVERAGE, dtype=np.float64) for name, width in expanded.items()}
    return components | {RESOLUTION: np.asarray(bench.resolution * size / np.sqrt(12.0), dtype=np.float64)}


def _expanded(
    bench: Bench,
    measure: str,
    reading: FloatArray,
    Z: ComplexArray | None,
    f: FloatArray,
    equivalent: Equivalent,
) -> dict[str, FloatArray]:
    """Half widths at k = 2 of an impedance display, in the display's unit, by component."""
    omega = 2.0 * np.pi * f
    size = np.abs(reading)
    if measure == "capacitance":
        series = size**2 * omega
        return {
            ACCURACY: bench.accuracy * size,
            OPEN_CAPACITANCE: bench.floor_capacitance + np.zeros_like(size),
            SHORT_RESISTANCE: series * bench.floor_resistance,
            SHORT_INDUCTANCE: series * omega * bench.floor_inductance,
        }
    if measure in ("quality", "phase"):
        gain = 1.0 + reading**2 if measure == "quality" else np.ones_like(reading)
        if Z is None:
            terms = {ACCURACY: bench.accuracy * gain}
        else:
            magnitude = np.abs(Z)
            with np.errstate(divide="ignore"):
                terms = {
                    name: part / magnitude * gain
                    for name, part in impedance_terms(bench, magnitude, f).items()
                }
        return terms if measure == "phase" else _phase_apart(terms, bench.accuracy * size)
    scale = omega if measure == "inductance" else np.ones_like(omega)
    shown = reading * scale  # L as a reactance, R as it is (ohm)
    if equivalent == "series":
        magnitude = np.hypot(shown, _hidden_part(measure, Z))
        swing = np.ones_like(magnitude)
    else:  # Y = 1/shown and the hidden part at right angles, δ shown = shown² |δY| = (shown |Y|)² |δZ|
        swing = np.hypot(1.0, shown * _hidden_part(measure, None if Z is None else 1.0 / Z))
        magnitude = np.abs(shown / swing)
    terms = {name: swing**2 * part / scale for name, part in impedance_terms(bench, magnitude, f).items()}
    return _phase_apart(terms, bench.accuracy * size)


def _phase_apart(terms: dict[str, FloatArray], basic: FloatArray) -> dict[str, FloatArray]:
    """The basic accuracy of the magnitude and, as a separate component, what the phase adds at this Q."""
    excess = np.sqrt(np.maximum(terms[ACCURACY] ** 2 - basic**2, 0.0))
    return terms | {ACCURACY: basic + np.zeros_like(excess), PHASE: excess}


def _hidden_part(measure: str, Z: ComplexArray | None) -> FloatArray:
    """The part of Z (or of Y) that the measure does not display; 0 if Z is unknown."""
    if Z is None:
        return np.zeros(())
    return np.asarray(Z.real if measure == "inductance" else Z.imag, dtype=np.float64)
