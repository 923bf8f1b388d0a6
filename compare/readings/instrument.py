"""Where an instrument's reading of the smaller part of an impedance is beyond its reach.

A meter resolves an impedance into two parts; its error is a share of the whole. At a low quality Q = |X|/R
the reactance is the small part: the error of an inductance grows as √(1 + 1/Q²), and instruments that take
the magnitude, or a phase to a degree, show something else altogether. Source: common practice, no
source (the general form of the accuracy tables of LCR meters).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from ...predict.design import BenchTest

LEAST_QUALITY = 1.0
"""Q below which an inductance is beyond the reach of simple instruments (judged: a bridge that resolves
phase counts its error in the budget)."""
_OF_REACTANCE = ("inductance", "quality", "mutual")


def out_of_reach(tests: Sequence[BenchTest], impedance: ArrayLike) -> tuple[str, ...]:
    """One caution that names all tests of a reactance whose ``impedance`` (T,), as predicted at the driven
    terminals, has Q below ``LEAST_QUALITY``; empty where there are none."""
    found = []
    for test, value in zip(tests, np.asarray(impedance, complex), strict=True):
        if test.measure in _OF_REACTANCE and value.real > 0 and abs(value.imag) < LEAST_QUALITY * value.real:
            found.append(f"{test.name} (Q {abs(value.imag) / value.real:.2g})")
    if not found:
        return ()
    return (
        f"Q below the instrument's limit: {', '.join(found)}. There the resistance exceeds the reactance: "
        "the error of an inductance grows as √(1 + 1/Q²), which is counted, and simple instruments show "
        "something else altogether. Read it at a higher frequency, or take resistance out of the circuit.",
    )
