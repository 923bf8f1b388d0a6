"""How the readings of one part scatter together, as designed and under a cause.

    S0 = Σ g gᵀ + meter + residual                  tolerances, model and set-up by g
    S  = S0 + A ∘ (ζ δ)(ζ δ)ᵀ + η² δ δᵀ            a cause is itself uncertain by a fraction of its shift δ

A is 1 for one reading with itself and 0 for two of different kinds. For two of one kind it is ``ALIKE``: what
is wrong with the effect of a cause on one inductance is wrong with that on the others, since all follow one
permeance; the same holds for leakages, for resistances and for capacitances. Taken as independent, the errors
of a shift of 13 % on three inductances that agree within 0.5 % made each cause of the core 30 times less
likely than it is. Where a cause moves both by the same amount a and b, they follow one quantity, and all but
a trace of what is left is common too:

    A = ALIKE + (1 − ALIKE) ONE_EFFECT min(|a|, |b|)/max(|a|, |b|)        for a and b of one sign

Without that, a cause that moves two inductances by 34 % each had 2 % to spare for their difference, and
explained two windings that disagree, which it cannot do.

Readings of one test before and after an intervention share everything except re-connection: calibration,
residual and the error ζ of the signature are common to them, so their difference is sharp.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ...predict.circuit import beyond_search
from ...predict.design import BenchTest, FloatArray
from ..hypotheses import Background, Staged, nameless, phases
from ..meter import REPEATABILITY
from ..verdict import NO_RESONANCE_DOUBT, RESIDUAL

SIGNATURE = {
    "ratio": 0.03,
    "resistance": 0.02,
    "capacitance": 0.25,
    "resonance": 0.30,
    "quality": 0.30,
    "ac_resistance": 0.50,
    "default": 0.15,
}
"""ζ: relative error of a predicted shift, by measure. Turns and copper act on ratio and resistance almost
exactly; the effect of a fault on eddy currents, loss and capacitance is known much less well (judged)."""
SHARED_SIGNATURE = 0.10
"""η: relative error of a whole signature: its severity lies between the nodes, its place is not quite the
assumed one (judged; its effect is in the figures of tests/benchmarks)."""
ALIKE = 0.9
"""Part of the variance ζ² that readings of one kind share (judged; of 0, 0.7 and 0.9 the last gives the truth
the greatest probability on the tuning set of ``tests/benchmarks``)."""
ONE_EFFECT = 0.98
"""Part of what is left that two readings share if a cause moves both by the same amount; the rest, 0.7 % of
the amount for inductances, is for different frequencies and levels of the two (judged)."""


@dataclass(frozen=True)
class Again:
    """A column of a frame that is another column read again after an intervention.

    Attributes
    ----------
    after : int, column read after the intervention, index
    before : int or None, column read before it, index; None if it is not in the frame
    intervention : str, name of the intervention
    doubt : float, standard uncertainty of the strength of its effect, relative
    set_up : float, what it changes on a part as designed, dimensionless (rad for a phase)
    """

    after: int
    before: int | None
    intervention: str
    doubt: float
    set_up: float


@dataclass(frozen=True, kw_only=True)
class Frame:
    """T readings of one part as designed.

    Attributes
    ----------
    tests : tuple[BenchTest, ...]
        The tests.
    nominal : (T,) array
        Expected transformed readings, dimensionless (rad for a phase).
    base : (T, T) array
        Covariance S0, dimensionless.
    anchor : (T,) array
        Change for one standard deviation of the leg share, included in ``base``, dimensionless.
    zeta : (T,) array
        ζ of each test, relative.
    kin : (T, T) array
        1 where two are readings of one kind (measure; leakage apart from other inductances), else 0,
        dimensionless.
    phase : (T,) bool array
        Which tests are phases.
    same : (T, T) array
        1 where two are readings of the same test, else 0, dimensionless.
    again : tuple[Again, ...]
        Readings after an intervention.
    """

    tests: tuple[BenchTest, ...]
    nominal: FloatArray
    base: FloatArray
    anchor: FloatArray
    zeta: FloatArray
    kin: FloatArray
    phase: NDArray[np.bool_]
    same: FloatArray
    again: tuple[Again, ...] = ()

    def of(self, columns: NDArray[np.int64], base: FloatArray) -> Frame:
        """The same for selected tests.

        Parameters
        ----------
        columns : (t,) array, the tests, index
        base : (t, t) array, their covariance S0, dimensionless
        """
        square = np.ix_(columns, columns)
        return Frame(
            tests=tuple(self.tests[number] for number in columns),
            nominal=self.nominal[columns],
            base=base,
            anchor=self.anchor[columns],
            zeta=self.zeta[columns],
            kin=self.kin[square],
            phase=self.phase[columns],
            same=self.same[square],
            again=self.again if len(columns) == len(self.tests) else (),
        )


def frame_of(
    tests: Sequence[BenchTest],
    background: Background,
    meter: FloatArray,
    staged: Sequence[Staged | None] = (),
    response: FloatArray | None = None,
) -> Frame:
    """The frame of tests whose columns a background holds.

    Parameters
    ----------
    tests : Sequence[BenchTest]
        The tests.
    background : Background
        Prediction, sensitivities and covariance of the design as drawn.
    meter : (T,) array
        Standard uncertainty of each reading, relative (rad for a phase).
    staged : Sequence[Staged or None], optional
        For each test None, or what it is read after.
    response : (T,) array or None, optional
        What the intervention does to any part (included in the background's nominal), as uncertain as it is
        large, dimensionless (rad for a phase).
    """
    stages = list(staged) or [None] * len(tests)
    keys = [
        nameless(test) if stage is None else stage.test for test, stage in zip(tests, stages, strict=True)
    ]
    numbers: dict[BenchTest, int] = {}
    number = np.array([numbers.setdefault(key, len(numbers)) for key in keys], int)
    same = (number[:, None] == number).astype(float)
    extra = np.array(
        [
            NO_RESONANCE_DOUBT
            if beyond_search(test.measure, math.exp(min(float(background.nominal[index]), 700.0)))
            else RESIDUAL[test.measure]
            for index, test in enumerate(tests)
        ]
    )
    random = np.array([REPEATABILITY.get(test.measure, REPEATABILITY["default"]) for test in tests])
    random = np.minimum(random, meter)
    shared = np.sqrt(meter**2 - random**2)
    base = background.covariance + np.outer(background.anchor, background.anchor)
    base = base + same * (np.outer(shared, shared) + np.outer(extra, extra)) + np.diag(random**2)
    moved = np.zeros(len(tests)) if response is None else response
    names = ["" if stage is None else stage.intervention.name for stage in stages]
    for name in dict.fromkeys(name for name in names if name):
        of_name = moved * np.array([named == name for named in names])
        base = base + np.outer(of_name, of_name)
    again = []
    for after, stage in enumerate(stages):
        if stage is None:
            continue
        plain = (index for index in range(len(tests)) if stages[index] is None and keys[index] == stage.test)
        before = next(plain, None)
        changed = 0.0 if before is None else float(background.nominal[after] - background.nominal[before])
        again.append(Again(after, before, names[after], stage.intervention.doubt, changed))
    return Frame(
        tests=tuple(tests),
        nominal=background.nominal,
        base=base,
        anchor=background.anchor,
        zeta=np.array([SIGNATURE.get(test.measure, SIGNATURE["default"]) for test in tests]),
        kin=_kin(tests, background.leakage),
        phase=phases(tests),
        same=same,
        again=tuple(again),
    )


def _kin(tests: Sequence[BenchTest], leakage: NDArray[np.bool_]) -> FloatArray:
    kinds = [(test.measure, bool(leaking)) for test, leaking in zip(tests, leakage, strict=True)]
    return np.array([[float(kind == column) for column in kinds] for kind in kinds])


def covariance_under(
    frame: Frame,
    shift: FloatArray,
    anchor: FloatArray,
    reaches: Sequence[FloatArray] = (),
    doubt: FloatArray | None = None,
) -> FloatArray:
    """Covariance S under shifts of the prediction.

    Parameters
    ----------
    frame : Frame
        How the readings of one part scatter together as designed.
    shift : (..., T) array
        Shifts, dimensionless (rad for a phase).
    anchor : (..., T) array
        Change for one standard deviation of the leg share under each shift, dimensionless.
    reaches : Sequence[FloatArray] (..., T), optional
        Further standard deviations of the shift as a whole, dimensionless.
    doubt : (..., T) array, optional
        Uncertain part of the shift, to which ζ and η apply, dimensionless (rad for a phase); None: all of it.

    Returns
    -------
    (..., T, T) array
        Covariance, dimensionless.
    """
    unsure = shift if doubt is None else doubt
    vectors = [SHARED_SIGNATURE * unsure, anchor, *reaches]
    kinds = dict.fromkeys(item.intervention for item in frame.again)
    for kind in kinds:
        effect = np.zeros_like(shift)
        for item in frame.again:
            if item.intervention == kind:
                before = 0.0 if item.before is None else shift[..., item.before]
                effect[..., item.after] = item.doubt * (shift[..., item.after] - before + item.set_up)
        vectors.append(effect)
    spread = np.broadcast_to(
        frame.base - np.outer(frame.anchor, frame.anchor), (*shift.shape, shift.shape[-1])
    ).copy()
    for vector in vectors:
        spread += vector[..., :, None] * vector[..., None, :]
    signature = frame.zeta * unsure
    spread += _common_part(frame, unsure) * (signature[..., :, None] * signature[..., None, :])
    return spread


def _common_part(frame: Frame, unsure: FloatArray) -> FloatArray:
    """A (..., T, T): correlation of the errors of the shifts ``unsure`` (..., T) of any two readings.

    exp(−|ln a − ln b|) = min(a, b)/max(a, b) is positive definite over a, b > 0, so A is.
    """
    if not frame.same.size:
        return frame.same
    first = unsure[..., np.argmax(frame.same, axis=1)]  # readings of one test share their errors
    square = first**2
    larger = np.maximum(square[..., :, None], square[..., None, :])
    nearness = first[..., :, None] * first[..., None, :]
    np.divide(nearness, larger, out=nearness, where=larger > 0)
    np.maximum(nearness, 0.0, out=nearness)
    apart = (1 - frame.same) * frame.kin
    return frame.same + ALIKE * apart + (1 - ALIKE) * ONE_EFFECT * apart * nearness
