"""Where the smaller part of an impedance is beyond an instrument's reach, and what a negative display means.

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
_NEGATIVE = {
    "inductance": "the meter sees a capacitance. Either a contact, a lead-out or a joint is open, or the "
    "frequency is above the resonance of part and leads. Check the contacts and the direct-current "
    "resistance, then read it at a lower frequency.",
    "capacitance": "the meter sees an inductance. Check that both ends of each winding are joined, and that "
    "no turn touches the other electrode; then read it at a lower frequency.",
    "resistance": "no winding has that. Repeat the meter's short correction, and check the four wires at the "
    "pins.",
}
"""What a negative reading means, by measure; common practice."""
_OF_REACTANCE = ("inductance", "quality", "mutual")


def wrong_signs(
    tests: Sequence[BenchTest], read: Sequence[float | None], expected: ArrayLike
) -> tuple[str, ...]:
    """What it means that a meter shows a negative value where a positive one is expected.

    Parameters
    ----------
    tests : Sequence[BenchTest]
        Tests, T of them.
    read : Sequence[float or None]
        Their readings, SI; None if missing.
    expected : (T,) array
        Predicted readings, SI.
    """
    of_measure: dict[str, list[str]] = {}
    for test, value, prediction in zip(tests, read, np.asarray(expected, float), strict=True):
        kind = "resistance" if test.measure == "ac_resistance" else test.measure
        if kind in _NEGATIVE and value is not None and value < 0 < prediction:
            of_measure.setdefault(kind, []).append(test.name)
    return tuple(
        f"{', '.join(names)} read{'s' if len(names) == 1 else ''} negative: {_NEGATIVE[kind]}"
        for kind, names in of_measure.items()
    )


def out_of_reach(tests: Sequence[BenchTest], impedance: ArrayLike) -> tuple[str, ...]:
    """One caution that names all tests of a reactance with Q below ``LEAST_QUALITY``.

    Parameters
    ----------
    tests : Sequence[BenchTest]
        Tests of the design.
    impedance : (T,) array
        Predicted impedance at the driven terminals, ohm.
    """
    beyond = []
    for test, value in zip(tests, np.asarray(impedance, complex), strict=True):
        if test.measure in _OF_REACTANCE and value.real > 0 and abs(value.imag) < LEAST_QUALITY * value.real:
            beyond.append(f"{test.name} (Q {abs(value.imag) / value.real:.2g})")
    if not beyond:
        return ()
    return (
        f"Q below the instrument's limit: {', '.join(beyond)}. There the resistance exceeds the reactance: "
        "the error of an inductance grows as √(1 + 1/Q²), which is allowed for, and simple instruments show "
        "something quite different. Read it at a higher frequency, or take resistance out of the circuit.",
    )
