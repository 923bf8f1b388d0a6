"""Capacitance between two equal rows of wires, from the thickness that the product adds for one row."""

from __future__ import annotations

import numpy as np

from aswound.predict.capacitance.wire_rows import EPSILON_0, WireRow, row_thickness


def facing_rows(row: WireRow, sheet: float, sheet_permittivity: float, offset: float) -> float:
    """C = ε₀ p/(2T + s/ε), F/m per wire: a row and an equal one behind a sheet (m), displaced by 0 or 0.5
    pitches; all wires of a row are at one potential."""
    thickness = row_thickness(row, sheet, sheet_permittivity, offset=offset)
    return float(EPSILON_0 * np.asarray(row.pitch) / (2 * thickness + sheet / sheet_permittivity))
