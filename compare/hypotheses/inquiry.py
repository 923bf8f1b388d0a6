"""What is asked of a design: the tests that were read, and those worth reading next, all predicted at once.

The forward runs hang on design, catalogue and bench alone; they are run once for the design with all these
tests (``hypotheses.forward`` remembers them) and every sample takes its columns.
"""

from __future__ import annotations

import functools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ...predict.batch import predict_many
from ...predict.circuit import predict_bench, readings
from ...predict.design import BenchTest, Design, FloatArray
from ...predict.errors import BuildError
from ..causes import Cause
from ..verdict import doubted, handled_uncertainty
from .candidates import candidates, nameless
from .forward_runs import Background, Hypothesis, forward, phases, transform, wrapped
from .interventions import INTERVENTIONS, Intervention, Staged, relieved


@dataclass(frozen=True, kw_only=True)
class Inquiry:
    """Forward runs of a design for R tests that were read (the first columns) and C candidates behind them.

    tests : R + C. efforts : (R + C,) of reading each. staged : for each what it is read after, or None.
    background, hypotheses : in these columns. response : (R + C,) what the intervention does to any part
    (inside the background's nominal). meter : (R + C,) standard uncertainty of one reading by meter and
    handling, relative (phase: rad).
    """

    tests: tuple[BenchTest, ...]
    read: int
    efforts: FloatArray
    staged: tuple[Staged | None, ...]
    background: Background
    hypotheses: tuple[Hypothesis, ...]
    response: FloatArray
    meter: FloatArray


@dataclass(frozen=True)
class _Asked:
    """A test to be read, its effort, and what it is read after."""

    test: BenchTest
    effort: float
    stage: Staged | None = None

    @property
    def key(self) -> tuple[BenchTest, str]:
        """What tells it from others."""
        return nameless(self.test), self.stage.intervention.name if self.stage else ""


def inquire(
    design: Design,
    read: Sequence[BenchTest],
    catalogue: Sequence[Cause],
    staged: Mapping[str, Staged] | None = None,
    *,
    ahead: bool = True,
) -> Inquiry:
    """Forward runs for ``read`` and (``ahead``) for what may be read next; ``staged``: those of the tests, by
    name, that were read after an intervention.

    Causes that none of the tests ``read`` bears on are left out. Without candidates where the models cannot
    predict them; raises BuildError where they cannot predict the tests that were read.
    """
    known = staged or {}
    design = doubted(design)
    plain = replace(design, tests=tuple(test for test in design.tests if test.name not in known))
    done = [_Asked(test, 1.0, known.get(test.name)) for test in read]
    if not ahead:
        return _inquired(plain, done, [], tuple(catalogue))
    offered = [_Asked(test, effort) for test, effort in candidates(plain)]
    for item in INTERVENTIONS:
        offered += [
            _Asked(item.set_up(plain, test), item.effort, Staged(nameless(test), item))
            for test in item.rereads(plain)
        ]
    try:
        return _inquired(plain, done, offered, tuple(catalogue))
    except BuildError:
        return _inquired(plain, done, [], tuple(catalogue))


def _inquired(
    design: Design, done: Sequence[_Asked], offered: Sequence[_Asked], catalogue: tuple[Cause, ...]
) -> Inquiry:
    column: dict[BenchTest, int] = {}
    for test in (*design.tests, *(item.test for item in offered), *(item.test for item in done)):
        column.setdefault(nameless(test), len(column))
    whole = replace(
        design, tests=tuple(replace(test, name=f"test {number}") for test, number in column.items())
    )
    background, hypotheses = forward(whole, catalogue)
    taken = {item.key for item in done}
    asked = [*done, *(item for item in offered if item.key not in taken)]
    columns = [column[nameless(item.test)] for item in asked]
    stages = tuple(item.stage for item in asked)
    here = applicable(replace(design, tests=tuple(item.test for item in done)), catalogue)
    response = np.zeros(len(asked))
    for number, stage in enumerate(stages):
        if stage is not None:
            response[number] = responses(whole, stage.intervention)[columns[number]]
    chosen = background.of(columns)
    return Inquiry(
        tests=tuple(item.test for item in asked),
        read=len(done),
        efforts=np.array([item.effort for item in asked]),
        staged=stages,
        background=replace(chosen, nominal=chosen.nominal + response),
        hypotheses=tuple(
            _after(item, columns, stages) for item in hypotheses if (item.cause.name, item.place) in here
        ),
        response=response,
        meter=bench_uncertainties(whole)[columns],
    )


def _after(item: Hypothesis, columns: Sequence[int], stages: Sequence[Staged | None]) -> Hypothesis:
    """A hypothesis in these columns, as far undone as the intervention of each undoes it."""
    result = item.of(columns)
    remaining = dict(item.cause.undone_by)
    shift = result.shift.copy()
    for name in remaining:
        own = [number for number, stage in enumerate(stages) if stage and stage.intervention.name == name]
        if own:
            shift[:, own] = relieved(item.of([columns[number] for number in own]), remaining[name])
    return replace(result, shift=shift)


@functools.lru_cache(maxsize=64)
def responses(design: Design, intervention: Intervention) -> FloatArray:
    """(T,) change of every transformed reading of a part as designed by the intervention's response."""
    changed = intervention.response(design)
    if changed == design:
        return np.zeros(len(design.tests))
    both = predict_many([design, changed], readings)
    plain, moved = transform(design.tests, both)
    return wrapped(design.tests, moved - plain)


@functools.lru_cache(maxsize=32)
def applicable(design: Design, catalogue: tuple[Cause, ...]) -> frozenset[tuple[str, str]]:
    """(cause, place) of all that may be wrong with a design, as far as its tests bear on it."""
    return frozenset((cause.name, place) for cause in catalogue for place in cause.places(design))


@functools.lru_cache(maxsize=32)
def bench_uncertainties(design: Design) -> FloatArray:
    """(T,) standard uncertainty of one reading of every test, relative (phase: rad), at its prediction."""
    plain = predict_bench(design)
    absolute = np.array(
        [
            float(handled_uncertainty(design, test, np.asarray(value), complex(impedance)))
            for test, value, impedance in zip(design.tests, plain.values, plain.impedance, strict=True)
        ]
    )
    return np.where(phases(design.tests), absolute, absolute / np.maximum(np.abs(plain.values), 1e-18))
