"""What is asked of a design: the tests that were read, and those worth reading next, all predicted at once.

The forward runs hang on design, catalogue and bench alone; they are run once for the design with all these
tests (``hypotheses.forward`` remembers them) and every sample takes its columns.
"""

from __future__ import annotations

import functools
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..predict.bench import predict_bench
from ..predict.design import BenchTest, Design, FloatArray
from ..predict.errors import BuildError
from .candidates import candidates, nameless
from .causes import Cause
from .evaluation import handled_uncertainty
from .hypotheses import Background, Hypothesis, forward, phases


@dataclass(frozen=True)
class Inquiry:
    """Forward runs of a design for R tests that were read (the first columns) and C candidates behind them.

    tests : R + C. efforts : (C,). background, hypotheses : in these columns. meter : (R + C,) standard
    uncertainty of one reading by meter and handling, relative (phase: rad).
    """

    tests: tuple[BenchTest, ...]
    read: int
    efforts: FloatArray
    background: Background
    hypotheses: tuple[Hypothesis, ...]
    meter: FloatArray


def inquire(design: Design, read: Sequence[BenchTest], catalogue: Sequence[Cause]) -> Inquiry:
    """Forward runs for ``read`` and for what may be read next.

    Causes that none of the tests ``read`` bears on are left out. Without candidates where the models cannot
    predict them; raises BuildError where they cannot predict the tests that were read.
    """
    offered = candidates(design)
    wanted = [*design.tests, *read]
    try:
        return _inquired(design, read, offered, wanted, tuple(catalogue))
    except BuildError:
        return _inquired(design, read, [], wanted, tuple(catalogue))


def _inquired(
    design: Design,
    read: Sequence[BenchTest],
    offered: Sequence[tuple[BenchTest, float]],
    wanted: Sequence[BenchTest],
    catalogue: tuple[Cause, ...],
) -> Inquiry:
    column: dict[BenchTest, int] = {}
    asked: list[BenchTest] = []
    for test in (*wanted, *(test for test, _ in offered)):
        if column.setdefault(nameless(test), len(asked)) == len(asked):
            asked.append(replace(test, name=test.name or f"candidate {len(asked)}"))
    whole = replace(design, tests=tuple(asked))
    background, hypotheses = forward(whole, catalogue)
    known = {nameless(test) for test in read}
    ahead = [(test, effort) for test, effort in offered if nameless(test) not in known]
    columns = [column[nameless(test)] for test in (*read, *(test for test, _ in ahead))]
    here = applicable(replace(design, tests=tuple(read)), catalogue)
    return Inquiry(
        tests=(*read, *(test for test, _ in ahead)),
        read=len(read),
        efforts=np.array([effort for _, effort in ahead]),
        background=background.of(columns),
        hypotheses=tuple(item.of(columns) for item in hypotheses if (item.cause.name, item.place) in here),
        meter=meter_uncertainty(whole)[columns],
    )


@functools.lru_cache(maxsize=32)
def applicable(design: Design, catalogue: tuple[Cause, ...]) -> frozenset[tuple[str, str]]:
    """(cause, place) of all that may be wrong with a design, as far as its tests bear on it."""
    return frozenset((cause.name, place) for cause in catalogue for place in cause.places(design))


@functools.lru_cache(maxsize=32)
def meter_uncertainty(design: Design) -> FloatArray:
    """(T,) standard uncertainty of one reading of every test, relative (phase: rad), at its prediction."""
    plain = predict_bench(design)
    absolute = np.array(
        [
            float(handled_uncertainty(design, test, np.asarray(value), complex(impedance)))
            for test, value, impedance in zip(design.tests, plain.values, plain.impedance, strict=True)
        ]
    )
    return np.where(phases(design.tests), absolute, absolute / np.maximum(np.abs(plain.values), 1e-18))
