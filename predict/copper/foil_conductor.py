"""What eddy currents do in a sheet of conductor, by the field along its two faces (Dowell 1966, from memory).

With D = (1 + j) t/δ: ``excess_functions`` are what is left of D coth D and D csch D after resistance and
inductance at low frequency.
"""

from __future__ import annotations

import numpy as np

from ..design import ComplexArray


def excess_functions(root: ComplexArray) -> tuple[ComplexArray, ComplexArray]:
    """D coth D − 1 − D²/3 and D csch D − 1 + D²/6 of D = (1 + j) t/δ, (...,) arrays of complex,
    dimensionless; by series where abs(D) is below 0.05."""
    small = np.abs(root) < 0.05
    safe = np.where(small, 1.0, root)
    decay = np.exp(-2 * safe)
    coth = (1 + decay) / (1 - decay)
    csch = 2 * np.exp(-safe) / (1 - decay)
    square = root**2
    sum_function = np.where(small, -(square**2) / 45 + 2 * square**3 / 945, safe * coth - 1 - square / 3)
    cross_function = np.where(
        small, 7 * square**2 / 360 - 31 * square**3 / 15120, safe * csch - 1 + square / 6
    )
    return sum_function, cross_function
