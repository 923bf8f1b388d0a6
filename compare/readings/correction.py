"""Fixture corrections: raw complex readings → impedance of the part, by open, short and load standards.

The fixture between meter and part is a linear two-port. With the raw readings Z_o (nothing connected), Z_s
(terminals shorted), Z_sm (a load standard of true impedance Z_std) and Z_xm (the part):

    short                Z = Z_xm − Z_s
    open                 1/Z = 1/Z_xm − 1/Z_o
    open, short          Z = Z_o (Z_xm − Z_s)/(Z_o − Z_xm)        symmetric two-port
    open, short, load    Z = Z_std (Z_o − Z_sm)(Z_xm − Z_s)/[(Z_sm − Z_s)(Z_o − Z_xm)]      any two-port

The short standard's own inductance is not removed: every corrected reading is low by it (0–20 nH is
common); its uncertainty belongs into the short's. Nor is the link across a shorted winding: it is part of
the part.

Source: impedance-measurement handbooks of meter makers (common practice); the equations are exact for linear
two-ports.
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
"""Relative difference up to which a standard's reading serves a reading at another frequency."""


@dataclass(frozen=True)
class RawReading:
    """A complex impedance (ohm) as the meter gave it, with the standard uncertainty of each of its parts
    (ohm)."""

    impedance: complex
    uncertainty: float = 0.0


@dataclass(frozen=True)
class FixtureStandards:
    """What the standards read at one frequency (Hz); None: not taken. ``true_load`` is the load's own
    impedance, which goes with ``load``."""

    frequency: float
    open: RawReading | None = None
    short: RawReading | None = None
    load: RawReading | None = None
    true_load: RawReading | None = None

    @property
    def kind(self) -> str:
        """The correction that these standards make: "none", "short", "open", "open and short" or
        "open, short and load"."""
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
    """Impedance of the part (ohm) from raw readings (ohm), all complex, any shapes that broadcast.

    Equations as in the module's docstring, by the standards given. A load goes with ``true_load``, open and
    short: ReadingsError otherwise. A perfect open may be ``inf``: its correction then does nothing.
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
    """The part's impedance (ohm), and the Estimate of (Re Z, Im Z) with its covariance.

    Every raw reading has independent errors of equal size in its two parts; the standards' errors are
    propagated with the reading's own. Raises ReadingsError as ``corrected``. Range: uncertainties small
    against |Z_o − Z_xm| and |Z_sm − Z_s|. Source: JCGM 102.
    """
    names = [name for name in ("open", "short", "load", "true_load") if getattr(standards, name) is not None]
    inputs = [raw, *(getattr(standards, name) for name in names)]
    value = np.array([part for item in inputs for part in (item.impedance.real, item.impedance.imag)])
    spread = np.repeat([item.uncertainty for item in inputs], 2)

    def model(x: FloatArray) -> FloatArray:
        Z = x[..., 0::2] + 1j * x[..., 1::2]
        given = {name: Z[..., place] for place, name in enumerate(names, start=1)}
        part = corrected(Z[..., 0], **given)
        return np.stack([part.real, part.imag], axis=-1)

    estimate = propagate(model, value, spread)
    return complex(*estimate.value), estimate


def standards_at(standards: tuple[FixtureStandards, ...], frequency: float) -> FixtureStandards:
    """The standards taken at ``frequency`` (Hz, within 0.1 %). Raises ReadingsError if there are none:
    corrections are not interpolated, as fixture resonances would be missed."""
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
