"""Whether the bench, not the part, keeps two causes together, and which finer instrument would separate them.

Two survivors A and B differ by δ_A − δ_B in a reading whose standard deviation is √(s² + m²), m the
meter's part. The bench is the limit if they stay together now and would separate with m a tenth:

    |δ_A − δ_B| < 2 √(s² + m²)      and      |δ_A − δ_B| ≥ 3 √(s² + (m/10)²)

s holds production, model and what is not known of the causes' own shifts (``covariances``).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ...predict.design import BenchTest
from ..hypotheses import Inquiry
from .covariances import covariance_under, frame_of
from .survivors import Survivor, weight_by_label
from .weighing import Case

TOGETHER, APART, FINER = 2.0, 3.0, 0.1
LEAST_RIVAL = 0.1
"""A second cause is worth an instrument from this probability on (judged)."""
INSTRUMENTS = {
    "resistance": "a milliohm meter on four wires",
    "ratio": "a ratio bridge good to 0.01 %",
    "capacitance": "a guarded, shielded fixture",
    "quality": "a meter good to 1 % of Q",
    "ac_resistance": "a four-terminal fixture, corrected at the pins",
}
SHORTED = "a short soldered at the pins, with open and short corrected there"
OTHERWISE = "a bridge good to 0.05 %"


def bench_limit(inquiry: Inquiry, case: Case, survivors: Sequence[Survivor]) -> str:
    """The test and instrument that would separate the two most probable causes, in one sentence.

    Parameters
    ----------
    inquiry : Inquiry, hypotheses and what each of them predicts
    case : Case, the readings of one sample in the transformed space
    survivors : Sequence[Survivor], the surviving hypotheses

    Returns
    -------
    str, the sentence; "" unless only the meter keeps them together
    """
    pair = _rivals(survivors)
    if pair is None:
        return ""
    first, second = pair
    plain = [
        column
        for column, stage in enumerate(inquiry.staged)
        if stage is None and (column in case.test_indices or column >= inquiry.read)
    ]
    meter = inquiry.meter[plain].copy()
    for index, column in enumerate(case.test_indices):
        if column in plain:
            meter[plain.index(column)] = case.meter[index]
    shifts = np.stack([first.shift[plain], second.shift[plain]])
    anchors = np.stack([first.anchor[plain], second.anchor[plain]])
    doubts = np.stack([first.doubt[plain], second.doubt[plain]])
    background = inquiry.background.of(plain)
    tests = [inquiry.tests[column] for column in plain]
    apart = np.abs(shifts[0] - shifts[1])
    spread = []
    for share in (1.0, FINER):
        frame = frame_of(tests, background, share * meter)
        variance = np.diagonal(covariance_under(frame, shifts, anchors, doubt=doubts), axis1=1, axis2=2)
        spread.append(np.sqrt(variance.mean(axis=0)))
    now, finer = apart / spread[0], apart / spread[1]
    useful = np.where((now < TOGETHER) & (finer >= APART), finer, 0.0)
    best = int(np.argmax(useful))
    if useful[best] == 0.0:
        return ""
    if np.any(now >= APART):  # a reading, made or to come, separates them on the present bench
        return ""
    test = tests[best]
    return (
        f"The bench is the limit between these two, that {first.title} and that {second.title}: "
        f"{_what(test)} read with {_instrument(test)} would tell"
    )


def _rivals(survivors: Sequence[Survivor]) -> tuple[Survivor, Survivor] | None:
    """The two most probable of single causes and "as designed", if the second is worth the effort."""
    weight = weight_by_label(survivors)
    main = sorted(
        (survivor for survivor in survivors if survivor.main and (survivor.listed or not survivor.cause)),
        key=lambda survivor: -weight[survivor.label],
    )
    if len(main) < 2 or weight[main[1].label] < LEAST_RIVAL:
        return None
    return main[0], main[1]


def _what(test: BenchTest) -> str:
    if test.name:
        return test.name
    driven = ", ".join(member.name for member in test.drive)
    return f"the {test.measure.replace('_', ' ')} of {driven}"


def _instrument(test: BenchTest) -> str:
    return INSTRUMENTS.get(test.measure, SHORTED if test.short else OTHERWISE)
