"""Standard uncertainty of one reading by the meter.

Accuracy of an impedance, at coverage k = 2, in the form that data sheets of LCR meters share: a basic term
and terms that grow at low and at high impedance. They are bounds, so they add linearly:

    A_e = accuracy + (R_f + ω L_f)/|Z| + |Z| ω C_f

with the bench's ``floor_resistance``, ``floor_inductance`` (left after the short correction) and
``floor_capacitance`` (left after the open correction). The error is a vector of length |Z| A_e in the
complex plane, of unknown direction. Every display is a function of Z, so that a relative error A_e of |Z|
shows, at Q = |Im Z|/Re Z, as

    u(L)/L = (A_e/2) √(1 + 1/Q²)     u(R)/R = (A_e/2) √(1 + Q²)     u(θ) = A_e/2     u(Q) = (A_e/2)(1 + Q²)

in either equivalent circuit. The display's step (``resolution``, relative to the reading, rectangular) adds
in quadrature: resolution/√12.

Not in here: the shorting link and the leads, which the bench describes and the prediction contains; the
scatter of re-connection, which repeats show; the operator's choice of level and frequency.
Source: the structure is common practice, no single source; u(Q) is the tangent of D-accuracy converted to Q,
Q² D_e/(1 ∓ Q D_e), and valid for Q A_e well below 1.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from ..predict.design import Bench, ComplexArray, Equivalent, FloatArray
from ..predict.display import IMPEDANCE_MEASURES
from ..predict.errors import DesignError, Fault

COVERAGE = 2.0
"""Coverage factor of the bench's accuracy terms."""
RESONANCE = 0.01
"""Expanded relative uncertainty (k = 2) of a frequency at which the phase crosses zero (common practice, "
"no source)."""


def impedance_error(bench: Bench, magnitude: ArrayLike, frequency: ArrayLike) -> FloatArray:
    """A_e |Z|: half width of the error of an impedance, expanded (k = 2), in ohm.

    Equation: A_e |Z| = accuracy |Z| + R_f + ω L_f + |Z|² ω C_f.

    bench : the meter's terms. magnitude : |Z| (ohm). frequency : f (Hz), > 0; any shapes that broadcast.
    Returns A_e |Z| (ohm) of the broadcast shape, finite at |Z| = 0. Raises nothing. Range: where it nears |Z|
    the meter only shows an order of magnitude. Source: common form of published meter specifications.
    """
    size = np.abs(np.asarray(magnitude, dtype=np.float64))
    omega = 2.0 * np.pi * np.asarray(frequency, dtype=np.float64)
    floor = bench.floor_resistance + omega * bench.floor_inductance
    return np.asarray(
        bench.accuracy * size + floor + size**2 * omega * bench.floor_capacitance, dtype=np.float64
    )


def meter_uncertainty(
    bench: Bench,
    measure: str,
    value: ArrayLike,
    impedance: ArrayLike | None,
    frequency: ArrayLike | None,
    *,
    equivalent: Equivalent | None = None,
) -> FloatArray:
    """Standard uncertainty (k = 1) of a reading by the meter, absolute.

    Equations as in the module's docstring. The impedance is put together from the reading and, for the part
    that the reading does not show, from ``impedance``: a series L read as ``value`` lies at Re Z + jω value,
    and so on. So the floors stay absolute terms, however far the reading is from its prediction.
    ``resistance`` (direct current): (accuracy |R| + R_f)/2. ``ratio``: √2 accuracy/2 of the ratio, one term
    for each of the two voltages. ``mutual``: as an inductance at |Z| = ω|M|. ``phase`` with a sense winding
    is given the A_e of the driven impedance. ``capacitance``: accuracy |C| + C_f, and as an impedance |C|
    (R_f + ω L_f) ω|C|. ``resonance``: where the phase crosses zero is found to RESONANCE of the frequency.

    Parameters
    ----------
    bench : the meter.
    measure : a measure of the design file.
    value : the reading (H, ohm, 1 or rad), any shape.
    impedance : Z ≠ 0 (ohm) at the driven terminals, complex, as read or predicted; None: unknown, then an
        inductance is taken as lossless, a resistance as pure, and quality and phase get the basic accuracy
        without floors. Not used by resistance, ratio and mutual.
    frequency : f (Hz), > 0; not used by "resistance", "ratio" and "resonance".
    equivalent : equivalent circuit of the display; None: the bench's.

    Returns u in the unit of ``value``, of the broadcast shape. Raises DesignError for another measure or a
    missing frequency. Range of validity: A_e < about 0.1, and for quality Q A_e < about 0.3.
    Source: see the module.
    """
    reading = np.asarray(value, dtype=np.float64)
    size = np.abs(reading)
    if measure == "resistance":
        expanded = bench.accuracy * size + bench.floor_resistance
    elif measure == "ratio":
        expanded = np.sqrt(2.0) * bench.accuracy * size
    elif measure == "resonance":
        expanded = RESONANCE * size
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
    step = bench.resolution * size / np.sqrt(12.0)
    return np.asarray(np.hypot(expanded / COVERAGE, step), dtype=np.float64)


def _expanded(
    bench: Bench,
    measure: str,
    reading: FloatArray,
    Z: ComplexArray | None,
    f: FloatArray,
    equivalent: Equivalent,
) -> FloatArray:
    """Half width at k = 2 of an impedance display, in the display's unit."""
    omega = 2.0 * np.pi * f
    if measure == "capacitance":
        size = np.abs(reading)
        series = bench.floor_resistance + omega * bench.floor_inductance
        return np.asarray(bench.accuracy * size + bench.floor_capacitance + size**2 * omega * series)
    if measure in ("quality", "phase"):
        with np.errstate(divide="ignore"):
            accuracy = bench.accuracy if Z is None else impedance_error(bench, np.abs(Z), f) / np.abs(Z)
        return np.asarray(accuracy * (1.0 + reading**2 if measure == "quality" else np.ones_like(reading)))
    scale = omega if measure == "inductance" else np.ones_like(omega)
    shown = reading * scale  # L as a reactance, R as it is (ohm)
    if equivalent == "series":
        magnitude = np.hypot(shown, _hidden_part(measure, Z))
        return np.asarray(impedance_error(bench, magnitude, f) / scale)
    # parallel: Y = 1/shown and the hidden part at right angles, δ shown = shown² |δY| = (shown |Y|)² |δZ|
    swing = np.hypot(1.0, shown * _hidden_part(measure, None if Z is None else 1.0 / Z))
    return np.asarray(swing**2 * impedance_error(bench, shown / swing, f) / scale)


def _hidden_part(measure: str, Z: ComplexArray | None) -> FloatArray:
    """The part of Z (or of Y) that the measure does not display; 0 where Z is unknown."""
    if Z is None:
        return np.zeros(())
    return np.asarray(Z.real if measure == "inductance" else Z.imag, dtype=np.float64)
