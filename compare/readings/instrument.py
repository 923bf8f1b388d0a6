"""Where the smaller part of an impedance is beyond an instrument's reach.

A meter resolves an impedance into two parts, and its error is a fraction of the whole. At a low quality Q
= |X|/R the reactance is the small part: the error of an inductance grows as √(1 + 1/Q²), and instruments
that measure only the magnitude, or a phase to one degree, display a wrong value. Source: common practice,
no source (the general form of the accuracy tables of LCR meters).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from ...predict.design import BenchTest

LEAST_QUALITY = 1.0
"""Below this Q an inductance is beyond the reach of simple instruments (judged: a bridge that resolves phase
has its error in the budget)."""
_OF_REACTANCE = ("inductance", "quality", "mutual")


def out_of_reach(tests: Sequence[BenchTest], impedance: ArrayLike) -> tuple[str, ...]:
    """One caution that names all tests of a reactance with Q below ``LEAST_QUALITY``.

    Parameters
    ----------
    tests : Sequence[BenchTest]
        Tests of the design.
    impedance : (T,) array
        Predicted impedance at the driven terminals, ohm.

    Returns
    -------
    tuple[str, ...]
        The caution; empty if there is no such test.
    """
    beyond = []
    for test, value in zip(tests, np.asarray(impedance, complex), strict=True):
        if test.measure in _OF_REACTANCE and value.real > 0 and abs(value.imag) < LEAST_QUALITY * value.real:
            beyond.append(f"{test.name} (Q {abs(value.imag) / value.real:.2g})")
    if not beyond:
        return ()
    return (
        f"Q below the instrument's limit: {', '.join(beyond)}. There the resistance exceeds the "
        "reactance: the error of an inductance grows as √(1 + 1/Q²), which is allowed for, and simple "
        "instruments show something quite different. Read it at a higher frequency, or take resistance "
        "out of the circuit.",
    )
