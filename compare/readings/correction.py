"""Fixture corrections: raw complex readings → impedance of the part, by open, short and load standards.

The fixture between meter and part is a linear two-port. With the raw readings Z_o (nothing connected), Z_s
(terminals shorted), Z_sm (a load standard of true impedance Z_std) and Z_xm (the part):

    short                Z = Z_xm − Z_s
    open                 1/Z = 1/Z_xm − 1/Z_o
    open, short          Z = Z_o (Z_xm − Z_s)/(Z_o − Z_xm)        symmetric two-port
    open, short, load    Z = Z_std (Z_o − Z_sm)(Z_xm − Z_s)/[(Z_sm − Z_s)(Z_o − Z_xm)]      any two-port

The short standard's own inductance is not removed: every corrected reading is low by that much (0–20 nH is
common), so include it in the uncertainty of the short. The link across a shorted winding is not removed
either: it belongs to the part.

Source: impedance-measurement handbooks of meter makers (common practice); the equations are exact for
linear two-ports.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ...predict.design import ComplexArray, FloatArray
from ...predict.errors import Fault, ReadingsError
from ...predict.notation import hertz
from ..meter import Estimate, propagate

SAME_FREQUENCY = 1e-3
"""A standard's reading serves readings at frequencies within this relative difference (judged; no data behind
it)."""


@dataclass(frozen=True)
class RawReading:
    """A complex impedance as the meter showed it.

    Attributes
    ----------
    impedance : complex, impedance, ohm
    uncertainty : float, standard uncertainty of the real part and of the imaginary part, ohm
    """

    impedance: complex
    uncertainty: float = 0.0


@dataclass(frozen=True)
class FixtureStandards:
    """What the standards read at one frequency; None for a standard that was not taken.

    Attributes
    ----------
    frequency : float
        Frequency, Hz.
    open : RawReading or None
        Reading with nothing connected.
    short : RawReading or None
        Reading with the terminals shorted.
    load : RawReading or None
        Reading of the load standard.
    true_load : RawReading or None
        The load's own impedance; needed with ``load``.
    """

    frequency: float
    open: RawReading | None = None
    short: RawReading | None = None
    load: RawReading | None = None
    true_load: RawReading | None = None

    @property
    def kind(self) -> str:
        """Correction that these standards allow: "none", "short", "open", "open and short" or "open, short
        and load"."""
        taken = [name for name in ("open", "short", "load") if getattr(self, name) is not None]
        return {0: "none", 1: taken[0] if taken else "", 2: "open and short"}.get(
            len(taken), "open, short and load"
        )


def corrected(
    raw: ArrayLike,
    *,
    open: ArrayLike | None = None,
    short: ArrayLike | None = None,
    load: ArrayLike | None = None,
    true_load: ArrayLike | None = None,
) -> ComplexArray:
    """Impedance of the part from raw readings.

    Equations in the module's docstring, chosen by the standards given. All readings are complex, of any
    shapes that broadcast.

    Parameters
    ----------
    raw : (...,) array, raw reading of the part, ohm
    open : (...,) array or None, optional
        Raw reading of the open, ohm; ``inf`` for a perfect open, which corrects nothing.
    short, load : (...,) array or None, optional, raw reading of the short and of the load standard, ohm
    true_load : (...,) array or None, optional, the load's own impedance, ohm

    Returns
    -------
    (...,) complex array, impedance of the part, ohm

    Raises
    ------
    ReadingsError
        A load without open, short or ``true_load``.

    References
    ----------
    Impedance-measurement handbooks of meter makers (common practice).
    """
    Z = np.asarray(raw, complex)
    if load is not None:
        if open is None or short is None or true_load is None:
            raise ReadingsError(
                Fault(
                    "fixture",
                    "a load standard without open, short or its true value",
                    "open, short, load and the load's true impedance, at the same frequency",
                )
            )
        S, M, T = (np.asarray(item, complex) for item in (short, load, true_load))
        return np.asarray(T * (Z - S) / (M - S) * _open_ratio(open, M) / _open_ratio(open, Z))
    S = np.asarray(0.0 if short is None else short, complex)
    if open is None:
        return np.asarray(Z - S)
    return np.asarray((Z - S) / _open_ratio(open, Z))


def _open_ratio(open: ArrayLike, Z: ComplexArray) -> ComplexArray:
    """(Z_o − Z)/Z_o = 1 − Z/Z_o, which is 1 for a perfect open."""
    O = np.asarray(open, complex)  # noqa: E741
    return np.asarray(1.0 - Z / O)


def correct(raw: RawReading, standards: FixtureStandards) -> tuple[complex, Estimate]:
    """Impedance of the part with its uncertainty.

    Every raw reading has independent errors of equal size in its two parts. The standards' errors are
    propagated together with the reading's own. Valid for uncertainties small against |Z_o − Z_xm| and
    |Z_sm − Z_s|.

    Parameters
    ----------
    raw : RawReading, raw reading of the part
    standards : FixtureStandards, what the standards read at one frequency

    Returns
    -------
    complex, impedance, ohm
    Estimate, estimate of (Re Z, Im Z) with its covariance

    Raises
    ------
    ReadingsError
        As ``corrected``.

    References
    ----------
    JCGM 102.
    """
    names = [name for name in ("open", "short", "load", "true_load") if getattr(standards, name) is not None]
    inputs = [raw, *(getattr(standards, name) for name in names)]
    value = np.array([part for item in inputs for part in (item.impedance.real, item.impedance.imag)])
    spread = np.repeat([item.uncertainty for item in inputs], 2)

    def model(x: FloatArray) -> FloatArray:
        Z = x[..., 0::2] + 1j * x[..., 1::2]
        given = {name: Z[..., index] for index, name in enumerate(names, start=1)}
        part = corrected(Z[..., 0], **given)
        return np.stack([part.real, part.imag], axis=-1)

    estimate = propagate(model, value, spread)
    return complex(*estimate.value), estimate


def standards_at(standards: tuple[FixtureStandards, ...], frequency: float) -> FixtureStandards:
    """The standards taken at a frequency, within 0.1 %.

    Corrections are not interpolated, because a resonance of the fixture would be missed.

    Parameters
    ----------
    standards : tuple[FixtureStandards, ...], standards of the fixture, one entry per frequency
    frequency : float, frequency, Hz

    Raises
    ------
    ReadingsError
        No standards were taken at this frequency.
    """
    for item in standards:
        if abs(item.frequency - frequency) <= SAME_FREQUENCY * frequency:
            return item
    known = ", ".join(hertz(item.frequency) for item in standards) or "none"
    raise ReadingsError(
        Fault(
            "fixture",
            f"no standards read at {hertz(frequency)}",
            f"the frequencies of the fixture file: {known}",
            "Read open and short once more at this frequency.",
        )
    )
